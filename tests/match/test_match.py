"""The match on counts of a few lines: what must be found, and what must never pass for a step."""

from __future__ import annotations

import pandas as pd
import pytest

from aftercount.match import Matched
from aftercount.tables import BEGINNINGS, MATCHES, VERDICTS
from match.small import a_log, a_plan, due_of, joined, matched, seen_at

VENTS = a_plan(
    "2.1 | -600 | TC>PROP | Open stage 1 LOX vent valve",
    "2.2 | -540 | TC>PROP | Open stage 2 LOX vent valve",
    "2.3 | -480 | TC>PROP | Close stage 1 LOX vent valve",
    "2.4 | -420 | TC>PROP | Close stage 2 LOX vent valve",
    "2.5 | -360 | TC>GNC | Align guidance platform",
    "2.6 | -300 | TC>RNG | Arm receiver A",
    "2.7 | -240 | TC>RNG | Arm receiver B",
    "2.8 | -180 | TC>PROP | Start tank pressurization",
)


def one(step: str, line: str) -> list[str]:
    """What is taken for `step` when the log is this line and some talk."""
    log = a_log("-900 | RNG>TC | note | radio check on net two", line, "-30 | TC> | note | recorder is on tape three")
    return seen_at(matched(VENTS, log, LOX=("liquid oxygen",)), log)[step]


@pytest.mark.parametrize(("step", "line"), [
    ("2.1", "-598 | PROP>TC | report | stage 1 LOX vent valve opened"),
    ("2.1", "-598 | PROP>TC | report | stg 1 lox vent vlv open"),
    ("2.1", "-598 | TC>PROP | call | PROP, TC, open first stage liquid oxygen vent valve"),
    ("2.2", "-541 | PROP>TC | report | stage to locks vent valve open"),
    ("2.3", "-479 | PROP>TC | report | stage one locks bent valve closed"),
    ("2.5", "-355 | GNC>TC | report | guidance platform alignment complete"),
    ("2.6", "-299 | RNG>TC | report | receiver alpha armed"),
    ("2.8", "-178 | PROP>TC | report | tank press started"),
    ("2.8", "-178 | PROP>TC | report | tank pressurisation has begun"),
])
def test_a_step_is_found_however_it_is_worded(step: str, line: str) -> None:
    assert one(step, line) == [line.split("|")[3].strip()]


@pytest.mark.parametrize(("step", "line"), [
    ("2.1", "-600 | TC>PROP | call | stand by for stage 1 LOX vent valve open"),
    ("2.1", "-600 | PROP>TC | report | negative, stage 1 LOX vent valve not open yet"),
    ("2.1", "-600 | PROP>TC | report | stage 1 LOX vent valve closed"),
    ("2.1", "-600 | TC>PROP | call | coming up on open stage 1 LOX vent valve"),
    ("2.1", "-600 | PROP>TC | report | stage 2 fuel vent valve open"),
    ("2.6", "-300 | RNG>TC | report | receiver B armed"),
    ("2.5", "-360 | RNG>TC | note | the weather briefing is complete"),
    ("2.5", "-360 | GNC>TC | response | in work, guidance"),
])
def test_a_near_miss_is_not_the_step(step: str, line: str) -> None:
    assert one(step, line) == []


@pytest.mark.parametrize(("text", "told"), [
    ("receiver A armed and receiver B armed, RNG", ["2.6", "2.7"]), ("receiver A is armed and all is quiet here", ["2.6"])])
def test_a_line_with_an_and_may_tell_of_two_steps(text: str, told: list[str]) -> None:
    log = a_log("-900 | RNG>TC | note | radio check on net two", f"-270 | RNG>TC | report | {text}", "-30 | TC> | note | recorder is on tape three")
    assert [step for step, lines in seen_at(matched(VENTS, log), log).items() if lines] == told


@pytest.mark.parametrize("text", ["stand by um to open stage 1 LOX vent valve", "nagative do not open stage 1 LOX vent valve"])
def test_a_near_miss_is_none_the_less_one_for_being_garbled(text: str) -> None:
    assert one("2.1", f"-600 | TC>PROP | call | {text}") == []


def test_words_run_together_are_parted() -> None:
    assert one("2.5", "-355 | GNC>TC | report | guidanceplatform alignmentcomplete") == ["guidanceplatform alignmentcomplete"]


def test_a_call_of_the_count_did_not_begin_the_step_whose_words_it_has() -> None:
    plan = a_plan("1 | -40 | SEQ | Start drop sequence", "2 | -10 | SEQ | Ignite main engine")
    log = a_log("-50 | TC> | mark | T minus fifty to drop", "-38 | SEQ>TC | report | drop sequence started", "-9 | SEQ>TC | report | main engine ignited")
    assert verdict(matched(plan, log), "1")["event_report"] == 1 and seen_at(matched(plan, log), log)["1"] == ["drop sequence started"]


def test_a_repeat_heard_better_than_the_first_doing_is_still_the_repeat() -> None:
    log = a_log("-360 | TC>GNC | call | GNC, TC, align guidance plat farm", "-180 | TC>GNC | call | GNC, TC, align guidance platform", "-178 | GNC>TC | response | aligning guidance platform",
                "-160 | GNC>TC | report | guidance platform aligned")
    row = verdict(matched(VENTS, log), "2.5")
    assert row["event_call"] == 0 and row["times_seen"] == 2


def test_alike_steps_each_take_their_own_line() -> None:
    log = a_log(
        "-600 | PROP>TC | report | stage 1 LOX vent valve open", "-540 | PROP>TC | report | stage 2 LOX vent valve open",
        "-480 | PROP>TC | report | stage 1 LOX vent valve closed", "-420 | PROP>TC | report | stage 2 LOX vent valve closed",
        "-300 | RNG>TC | report | receiver A armed", "-240 | RNG>TC | report | receiver B armed",
    )
    found = seen_at(matched(VENTS, log), log)
    assert [found[s][0] if found[s] else None for s in ("2.1", "2.2", "2.3", "2.4", "2.6", "2.7")] == log["text"].tolist()
    assert found["2.5"] == found["2.8"] == []


def test_call_read_back_and_bare_completion_are_one_step() -> None:
    log = a_log(
        "-600 | TC>PROP | call | PROP, TC, open stage 1 LOX vent valve", "-596 | PROP>TC | response | opening stage 1 LOX vent valve, PROP",
        "-580 | PROP>TC | report | TC, PROP, complete", "-400 | RNG>TC | report | TC, RNG, complete", source="net1.vtt", medium="speech",
    )
    row = matched(VENTS, log).verdicts.iloc[0]
    assert (row["event_call"], row["event_response"], row["event_report"], row["times_seen"]) == (0, 1, 2, 1)


def test_talk_ahead_of_a_step_does_not_begin_it() -> None:
    log = a_log(
        "-620 | TC>PROP | note | how is the stage 1 LOX vent valve looking", "-600 | TC>PROP | call | PROP, TC, open stage 1 LOX vent valve",
        "-580 | PROP>TC | report | stage 1 LOX vent valve open", source="net1.vtt", medium="speech",
    )
    assert 0 not in matched(VENTS, log).matches.query("step == '2.1' and rank == 1")["event"].tolist()


@pytest.mark.parametrize(("asked", "later", "begins"), [
    ("status of relief valve lock?", -195, False), ("status of relief valve lock?", -255, True), ("confirm relief valve lock", -195, True),
])
def test_a_question_well_before_does_not_begin_a_step_that_is_to_ask(asked: str, later: int, begins: bool) -> None:
    log = a_log(f"-270 | TC>PROP | call | PROP, TC, {asked}", f"{later} | PROP>TC | report | TC, PROP, relief valve lock confirmed", medium="speech")
    got = matched(a_plan("1 | -200 | TC>PROP | Confirm relief valve lock", "2 | -100 | TC>RNG | Start beacon"), log)
    assert (f"PROP, TC, {asked}" in seen_at(got, log)["1"]) == begins


def test_one_moment_on_three_logs_is_seen_once() -> None:
    log = joined(
        a_log("-600 | TC>PROP | call | open stage 1 LOX vent valve", source="net1.vtt", medium="speech"),
        a_log("-598 | PROP>TC | report | stg 1 LOX vent vlv open", source="notes.txt"),
        a_log("-599 | PROP> | report | stage 1 LOX vent valve open", source="seq.log", medium="machine"),
    )
    result = matched(VENTS, log)
    assert result.verdicts["times_seen"].iloc[0] == 1
    assert sorted(result.matches.query("step == '2.1' and rank == 1")["event"].tolist()) == [0, 1, 2]


OPENED = "PROP>TC | report | stage 2 LOX vent valve open"
FIRST = a_log(f"-540 | {OPENED}", "-300 | RNG>TC | note | radio check on net two")


@pytest.mark.parametrize(("more", "times"), [
    ([], 1),
    ([a_log(f"-538 | {OPENED}", source="net1.vtt", medium="speech"), a_log(f"-537 | {OPENED}", source="net2.vtt", medium="speech")], 1),
    ([a_log("-541 | PROP> | note | stage 2 LOX vent valve open", source="seq.log", medium="machine")], 1),
    ([a_log(f"-100 | {OPENED}", source="net1.vtt", medium="speech"), a_log(f"-99 | {OPENED}", source="other.txt")], 2),
    ([a_log(f"-538 | {OPENED}", f"-99 | {OPENED}", source="net1.vtt", medium="speech"), a_log(f"-100 | {OPENED}", source="other.txt")], 2),
], ids=["once", "two loops", "a machine too", "again on two logs", "each time on two logs"])
def test_a_moment_on_several_logs_is_one_and_a_true_repeat_is_two(more: list[pd.DataFrame], times: int) -> None:
    verdicts = matched(VENTS, joined(FIRST, *more)).verdicts
    seen = dict(zip(verdicts["step"], verdicts["times_seen"].tolist(), strict=True))
    assert seen["2.2"] == times and sum(seen.values()) == times


def decided(*rows: tuple[str, str, str | None, int | None]) -> pd.DataFrame:
    return pd.DataFrame([{"step": s, "pass": 1, "decision": d, "source": src, "line": line, "note": None, "row_line": i + 2}
                         for i, (s, d, src, line) in enumerate(rows)]).astype({"line": "Int64"})


LOG = a_log("-600 | PROP>TC | report | stage 1 LOX vent valve open", "-500 | PROP>TC | note | that thing is done too")


def verdict(result: Matched, step: str) -> dict[str, object]:
    return next(r for r in result.verdicts.to_dict("records") if r["step"] == step)


def test_a_decision_for_a_line_wins_over_any_likeness() -> None:
    row = verdict(matched(VENTS, LOG, decided(("2.1", "matched", "notes.txt", 2))), "2.1")
    assert row["event_report"] == 1 and row["decided"] and row["confidence"] == 1.0


def test_a_line_decided_for_one_step_is_no_other_steps() -> None:
    result = matched(VENTS, LOG, decided(("2.5", "matched", "notes.txt", 1)))
    assert verdict(result, "2.5")["event_report"] == 0
    assert not verdict(result, "2.1")["seen"]


def test_decided_missed_is_not_seen() -> None:
    row = verdict(matched(VENTS, LOG, decided(("2.1", "missed", None, None))), "2.1")
    assert not row["seen"] and row["decided"]


def test_an_ignored_line_is_not_taken() -> None:
    row = verdict(matched(VENTS, LOG, decided(("2.1", "ignore", "notes.txt", 1))), "2.1")
    assert not row["seen"]


@pytest.mark.parametrize(("decision", "code"), [
    (("9.9", "missed", None, None), "decision-step-not-due"), (("2.1", "matched", "notes.txt", 77), "decision-no-such-line"),
])
def test_a_decision_that_fits_nothing_is_a_problem(decision: tuple[str, str, str | None, int | None], code: str) -> None:
    problems = matched(VENTS, LOG, decided(decision)).problems
    assert [(p.code, p.line) for p in problems] == [(code, 2)]


def test_tables_fit_their_schemas_even_with_nothing_to_match() -> None:
    result = matched(VENTS, a_log("-30 | TC> | note | recorder is on tape three"))
    assert list(result.matches.columns) == MATCHES.columns and list(result.verdicts.columns) == VERDICTS.columns
    assert list(result.beginnings.columns) == BEGINNINGS.columns and result.beginnings.empty
    assert len(result.verdicts) == len(due_of(VENTS)) and not result.verdicts["seen"].any()


def test_scores_are_between_0_and_1() -> None:
    scores = matched(VENTS, LOG).matches[["text_score", "time_score", "station_score", "score"]]
    assert ((scores >= 0) & (scores <= 1)).all().all()


def test_the_order_of_lines_within_a_second_does_not_matter() -> None:
    log = a_log("-600 | PROP>TC | report | stage 1 LOX vent valve open", "-600 | PROP>TC | report | stage 2 LOX vent valve open")
    turned = joined(log.iloc[::-1])
    first, second = (seen_at(matched(VENTS, frame), frame) for frame in (log, turned))
    assert first == second


def test_a_named_step_id_counts() -> None:
    assert one("2.5", "-350 | GNC>TC | report | 2.5 complete") == ["2.5 complete"]


def test_a_word_about_the_thing_beforehand_is_no_doing_of_the_step() -> None:
    plan = a_plan("4.7 | -1560 | TC>GNC | align primary navigation unit", "4.8 | -1500 | TC>GNC | align backup navigation unit")
    log = a_log(
        "-1488 | GNC>TC | report | the backup unit wants a restart, it tripped on a range check", "-1423 | TC>GNC | call | run alignment on the backup navigation unit",
        "-1417 | SEQ> | note | backup navigation unit aligned", "-1403 | GNC>TC | report | backup navigation unit aligned")
    row = verdict(matched(plan, log), "4.8")
    assert row["event_call"] == 1 and row["event_report"] in (2, 3) and row["times_seen"] == 1


@pytest.mark.parametrize(("line", "candidate"), [("-590 | PROP>TC", True), ("-590 | >", True), ("-590 | RNG>GNC", False), ("-300 | PROP>TC", False)])
def test_a_few_of_a_step_s_words_are_enough_near_due_and_of_its_own_station(line: str, candidate: bool) -> None:
    """Who performs a step reports it in words of his own: one of five that the plan has, within minutes of due."""
    plan = a_plan("1 | -600 | TC>PROP | Confirm float altitude reached over northern range", "2 | -300 | TC>GNC | Align platform")
    found = matched(plan, a_log(f"{line} | report | float steady, all good")).matches
    assert (found["step"] == "1").any() == candidate


@pytest.mark.parametrize(("line", "candidate"), [
    ("-590 | RNG>GNC | report | somebody left the kettle boiling in the hut", False), ("-590 | PROP>TC | report | somebody left the kettle boiling in the hut", True),
    ("-590 | RNG>GNC | report | left the platform", True),
])
def test_a_word_amid_another_station_s_talk_of_something_else_is_no_step(line: str, candidate: bool) -> None:
    plan = a_plan("1 | -600 | TC>PROP | Leave platform", "2 | -300 | TC>GNC | Align antenna")
    assert (matched(plan, a_log(line)).matches["step"] == "1").any() == candidate


@pytest.mark.parametrize(("line", "found"), [("-2 | PROP>TC | report | Geyser", True), ("-2 | GNC>TC | report | Geyser", False), ("-400 | PROP>TC | report | Geyser", False)])
def test_one_word_that_is_the_steps_when_it_is_due(line: str, found: bool) -> None:
    plan = a_plan("1 | 0 | TC>PROP | Marble dolphin obelisk lantern geyser", "2 | -600 | TC>PROP | Fill fountain basin", "3 | -300 | TC>PROP | Light harbour lamps", "4 | -900 | TC>PROP | Warm pipe",
                  "5 | -800 | TC>GNC | Polish geyser", "6 | -700 | TC>PROP | Flush drain", "7 | -650 | TC>RNG | Hoist pennant", "8 | -200 | TC>RNG | Ring bell")
    log = a_log("-590 | PROP>TC | report | fountain basin filled", line, "-298 | PROP>TC | report | harbour lamps lit")
    assert bool(seen_at(matched(plan, log), log)["1"]) == found


def test_what_says_a_polls_words_called_the_answers_not_what_was_said_before_it() -> None:
    plan = a_plan("1 | -400 | TC>PROP | Rig the boom", "2 | -300 | >TC | Poll for harbour departure")
    log = a_log("-322 | GNC> | note | nice morning for it", "-303 | > | report | tis is the toll for harbor departure answer by station", "-296 | PROP> | response | PROP go", "-293 | GNC> | response | GNC go",
                "-290 | RNG> | response | RNG go", medium="speech").assign(roll=[3.0, 3.0, 3.0, None, None])
    assert seen_at(matched(plan, log), log)["2"][0].startswith("tis is the toll")
