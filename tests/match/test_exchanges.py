"""Steps ordered and reported in words that share none with the plan's: who speaks to whom, and when, tells of them."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from aftercount.match import match
from match.small import (
    NO_DECISIONS,
    STATIONS,
    a_count,
    a_log,
    a_plan,
    due_of,
    joined,
    matched,
    seen_at,
)

BARGE = a_plan(
    "1 | -600 | TC>PROP | Flood the forward ballast cell",
    "2 | -480 | TC>GNC | Confirm mooring tension",
    "3 | -300 | TC>RNG | Sound the foghorn",
)
TALK = ("-900 | RNG>TC | note | radio check on net two", "-478 | TC>GNC | call | GNC, TC, confirm mooring tension", "-470 | GNC>TC | report | mooring tension confirmed",
        "-30 | TC> | note | recorder is on tape three")
ORDER, REPORT = "PROP, TC, let her drink her fill now", "TC, PROP, she has drunk her fill"


def heard(*lines: str) -> pd.DataFrame:
    return a_log(*sorted((*TALK, *lines), key=lambda line: float(line.split("|")[0])))


def found(*lines: str, decisions: pd.DataFrame = NO_DECISIONS) -> list[str]:
    """What is taken for step 1."""
    log = heard(*lines)
    return seen_at(matched(BARGE, log, decisions), log)["1"]


def test_an_order_its_answer_and_its_report_are_the_step() -> None:
    lines = (f"-598 | TC>PROP | call | {ORDER}", "-594 | PROP>TC | response | TC, PROP, wilco", f"-585 | PROP>TC | report | {REPORT}")
    assert found(*lines) == [ORDER, "TC, PROP, wilco", REPORT]


def test_a_doing_in_own_words_is_less_sure_than_one_in_the_plans() -> None:
    own, plain = (matched(BARGE, heard(f"-598 | TC>PROP | call | {text}")).verdicts["confidence"].iloc[0] for text in (ORDER, "PROP, TC, flood the forward ballast cell"))
    assert 0.5 < own < plain


@pytest.mark.parametrize("line", [f"-598 | TC>PROP | call | {ORDER}", "-605 | TC>PROP | note | okay PROP, pour the water in", f"-598 | >PROP | call | {ORDER}"])
def test_an_order_that_nobody_was_heard_to_answer(line: str) -> None:
    assert found(line) == [line.split("|", 3)[3].strip()]


@pytest.mark.parametrize("line", [f"-598 | PROP>TC | report | {REPORT}", f"-598 | PROP> | report | {REPORT}", f"-598 | PROP>TC | response | {REPORT}"])
def test_a_report_of_the_performer_that_nobody_was_heard_to_order(line: str) -> None:
    assert found(line) == [REPORT]


@pytest.mark.parametrize("line", [
    f"-1500 | TC>PROP | call | {ORDER}",                                  # far from due
    "-598 | TC>RNG | call | RNG, TC, let her drink her fill now",         # to another
    f"-598 | GNC>PROP | call | {ORDER}",                                  # of another
    "-598 | TC>PROP | call | PROP, TC, stand by to let her drink",        # not now
    "-598 | TC>PROP | call | PROP, TC, do not let her drink yet",         # not at all
    "-598 | TC>PROP | call | PROP, TC, did you get that",                 # chasing an answer
    "-598 | TC>PROP | call | PROP, TC, radio check on two",               # about the loop
    "-598 | TC>PROP | call | PROP, TC",
    "-590 | PROP>TC | report | TC, PROP, she is not drinking yet",
    "-598 | PROP> | report | did anyone bring her bottle and the spare cup",  # asking round
])
def test_what_is_said_otherwise_is_not_the_step(line: str) -> None:
    assert found(line) == []


@pytest.mark.parametrize("text", ["PROP, TC, close hatch nine", "PROP, TC, open hatch four"])
def test_the_opposite_act_and_another_unit_are_not_the_step(text: str) -> None:
    log = a_log(TALK[0], f"-598 | TC>PROP | call | {text}", TALK[3])
    assert seen_at(matched(a_plan("1 | -600 | TC>PROP | Open hatch nine"), log), log) == {"1": []}


@pytest.mark.parametrize(("line", "taken"), [
    ("-598 | > | note | let her drink her fill now, every drop", True),           # a keeper who names nobody
    ("-598 | TC> | note | let her drink her fill now, every drop", True),         # ... but who called
    ("-520 | > | note | let her drink her fill now, every drop", False),          # not near
    ("-598 | RNG> | note | let her drink her fill now, every drop", False),       # of one who calls for nothing
    ("-598 | > | note | we will let her drink her fill later", False),
])
def test_a_line_that_names_nobody_is_a_step_that_was_due_at_that_moment(line: str, taken: bool) -> None:
    assert bool(found(line)) == taken


AFAR = (f"-490 | TC>PROP | call | {ORDER}", "-487 | PROP>TC | response | TC, PROP, wilco, on our way", f"-475 | PROP>TC | report | {REPORT}")


def test_a_whole_talk_minutes_off_is_the_only_step_that_it_can_be() -> None:
    assert found(*AFAR)[0] == ORDER
    orders = [f"{t} | TC>PROP | call | PROP, TC, see to the {thing}" for t, thing in ((-820, "kitchen"), (-780, "cat"), (-740, "flag"), (-380, "bell"), (-340, "lamp"), (-260, "rug"), (-220, "stove"))]
    assert found(*AFAR, *orders) == []  # one of many


def test_a_step_said_to_be_missed_is_less_sure_beside_a_talk_that_may_be_it() -> None:
    may_be, nothing = (matched(BARGE, heard(*lines)).verdicts.iloc[0] for lines in ((f"-330 | TC>PROP | call | {ORDER}", "-325 | PROP>TC | report | she is at it now"), ()))
    assert not may_be["seen"] and may_be["confidence"] < nothing["confidence"] - 0.1


def test_what_another_step_s_report_is_takes_no_order_from_a_talk_with_a_report_of_its_own() -> None:
    lines = (f"-598 | TC>PROP | call | {ORDER}", "-594 | PROP>TC | report | TC, PROP, chain is stowed", f"-585 | PROP>TC | report | {REPORT}")
    plan = a_plan("1 | -600 | TC>PROP | Flood the forward ballast cell", "2 | -610 | TC>PROP | Stow chain")
    log = a_log(*lines, TALK[3])
    assert seen_at(matched(plan, log), log)["1"] == [ORDER, REPORT]
    log = a_log(*lines[:2], TALK[3])
    assert seen_at(matched(plan, log), log)["1"] == []  # that order was the other's


def test_a_question_put_before_it_leaves_an_order_the_first() -> None:
    assert ORDER in found("-612 | TC>PROP | call | PROP, TC, is the bucket ashore yet?", f"-598 | TC>PROP | call | {ORDER}")


def test_a_name_that_reads_like_a_near_miss_is_a_name() -> None:
    plan = a_plan("1 | -600 | TC>WATCH | Flood the forward ballast cell")
    log = a_log("-598 | TC>WATCH | call | fire watch, TC, let her drink her fill now", "-590 | WATCH>TC | report | TC, WATCH, she has drunk her fill", TALK[3])
    made = match(due_of(plan), log, plan, replace(a_count(), stations={**STATIONS, "WATCH": ("fire watch",)}), NO_DECISIONS)
    assert len(seen_at(made, log)["1"]) == 2


def test_codes_at_the_head_of_every_action_name_no_units() -> None:
    plan = a_plan("1 | -600 | TC>PROP | RB-03 Flood cell A", "2 | -480 | TC>GNC | RB-04 Confirm mooring", "3 | -300 | TC>RNG | RB-05 Foghorn", "4 | -200 | TC>RNG | RB-06 Lower flag")
    log = heard("-598 | TC>PROP | call | PROP, TC, let the first one drink her fill")
    assert len(seen_at(matched(plan, log), log)["1"]) == 1


def test_a_few_words_far_off_give_way_to_the_talk_of_the_moment() -> None:
    plan = a_plan("1 | -600 | TC>PROP | Pilot takes leeward position", "2 | -480 | TC>GNC | Confirm mooring tension")
    stray = "-520 | PROP> | note | position lamps went dim"
    log = heard(stray)
    assert seen_at(matched(plan, log), log)["1"] == ["position lamps went dim"]
    log = heard(f"-598 | TC>PROP | call | {ORDER}", "-594 | PROP>TC | response | TC, PROP, wilco", f"-585 | PROP>TC | report | {REPORT}", stray)
    assert seen_at(matched(plan, log), log)["1"][0] == ORDER


def test_what_follows_up_an_order_just_given_is_of_that_order() -> None:
    plan = a_plan("1 | -600 | TC>PROP | Flood the forward ballast cell", "2 | -590 | TC>PROP | Trim the stern anchor")
    log = a_log("-600 | TC>PROP | call | PROP, TC, flood the forward ballast cell", "-592 | TC>PROP | call | PROP, TC, get on with the bucket", TALK[3])
    assert seen_at(matched(plan, log), log)["2"] == []


def test_a_talk_is_one_step_only() -> None:
    plan = a_plan("1 | -600 | TC>PROP | Flood the forward ballast cell", "2 | -600 | TC>PROP | Trim the stern anchor")
    log = heard(f"-600 | TC>PROP | call | {ORDER}")
    assert sorted(map(len, seen_at(matched(plan, log), log).values())) in ([0, 0], [0, 1])


def test_one_order_on_two_logs_is_one_doing() -> None:
    log = joined(heard(f"-598 | TC>PROP | call | {ORDER}"), a_log(f"-597 | TC>PROP | call | {ORDER}", source="net.vtt", medium="spoken"))
    made = matched(BARGE, log)
    taken = made.matches[(made.matches["step"] == "1") & (made.matches["rank"] == 1)]
    assert sorted(log.loc[taken["event"], "source"]) == ["net.vtt", "notes.txt"] and made.verdicts["times_seen"].iloc[0] == 1


def test_a_reviewer_who_says_that_it_was_missed_has_the_last_word() -> None:
    decided = pd.DataFrame({"step": ["1"], "pass": [1], "decision": ["missed"], "source": [None], "line": [None], "note": [None], "row_line": [2]})
    assert found(f"-598 | TC>PROP | call | {ORDER}", decisions=decided) == []


OTHERS = ("Grease winch", "Coil hawser", "Test bilge alarm", "Trim anchor lamp", "Log barometer", "Stow gangway", "Prime fire hose", "Wind chronometer")


@pytest.mark.parametrize("said", [len(OTHERS), 0])
def test_where_people_keep_to_the_plans_words_a_step_that_they_do_not_say_was_hardly_done(said: int) -> None:
    """The same talk near a step, with the others said in the plan's words, or by nobody in any."""
    due = [1000 + 60 * k for k in range(len(OTHERS))]
    plan = a_plan("1 | -600 | TC>PROP | Flood the forward ballast cell", *(f"x{k} | -{t} | TC>GNC | {what}" for k, (t, what) in enumerate(zip(due, OTHERS, strict=True))))
    lines = [f"-{t} | TC>GNC | call | GNC, TC, {what.lower()}" for t, what in list(zip(due, OTHERS, strict=True))[:said]]
    log = a_log(*sorted((*lines, "-520 | TC>PROP | call | PROP, TC, let her drink her fill now"), key=lambda line: float(line.split("|")[0])))
    assert bool(seen_at(matched(plan, log), log)["1"]) == (said == 0)
