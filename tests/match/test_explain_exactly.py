"""Every sentence of the case for and against a step, from tables written by hand: the figures, the words and where one gives way to the next."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount import tables
from aftercount.match.explain import explain_step

T0 = pd.Timestamp("2031-04-18T14:30:00Z")
STEP = {"step": "1", "pass": 1, "action": "Open vent valve", "by": "PROP", "planned_t_s": -600.0, "due_utc": T0 - pd.Timedelta(seconds=600),
        "actual_utc": T0 - pd.Timedelta(seconds=598), "actual_t_s": -598.0, "deviation_s": 2.0, "status": "done", "timing": "on_time", "out_of_order": False,
        "violates": [], "times_seen": 1, "confidence": 0.97, "review": False, "decided": False, "event": 0, "source": "net.vtt", "line": 3,
        "deviation_sigma_s": 0.42, "early_s": 5.0, "late_s": 10.0}
EVENT = {"event": 0, "source": "net.vtt", "line": 3, "utc": T0 - pd.Timedelta(seconds=598), "t_s": -598.0, "pass": 1, "station": "TC", "kind": "call",
         "text": "PROP, TC, open vent valve", "medium": "speech"}
MATCH = {"step": "1", "pass": 1, "event": 0, "part": "call", "text_score": 0.9, "time_score": 0.8, "station_score": 0.8, "score": 0.95, "rank": 1}
COUNTING = {"segment": 1, "pass": 1, "state": "counting", "start_utc": T0 - pd.Timedelta(seconds=1200), "end_utc": T0, "start_t_s": -1200.0, "end_t_s": 0.0, "sigma_s": 0.26}
HEAD = ["Step 1, pass 1: Open vent valve by PROP", "  planned T-00:10:00, due 14:20:00Z"]
CLOCK = ["  the clock there: counting, T-00:20:00 to T-00:00:00 (good to 0.3 s)"]
DONE = ["  verdict: done on time (2 s after due, good to 0.4 s; 5 s early and 10 s late are allowed), confidence 0.97"]
CALLED = ['    0.95 call net.vtt:3 14:20:02Z TC: "PROP, TC, open vent valve"']
FITS = ["         for: its words fit this step (0.90); for: 2 s after due (0.80); for: the planned station spoke (0.80)"]


def lines(step: dict[str, Any] | None = None, events: list[dict[str, Any]] | None = None, matches: list[dict[str, Any]] | None = None,
          clock: list[dict[str, Any]] | None = None) -> list[str]:
    """The case of step 1: each argument says what differs from a plain call on time."""
    return explain_step({
        "steps": tables.STEPS.from_rows([STEP | (step or {})]), "clock": tables.CLOCK.from_rows([COUNTING] if clock is None else clock),
        "events": tables.EVENTS.from_rows([EVENT | e for e in ([{}] if events is None else events)]),
        "matches": tables.MATCHES.from_rows([MATCH | m for m in ([{}] if matches is None else matches)])}, "1")


def reasons(**more: Any) -> str:
    """The reasons given for the one line taken: arguments of the step as step_x, of the event as event_x, of the match bare."""
    step = {k[5:]: v for k, v in more.items() if k.startswith("step_")}
    event = {k[6:]: v for k, v in more.items() if k.startswith("event_")}
    match = {k: v for k, v in more.items() if not k.startswith(("step_", "event_"))}
    told = lines(step, [event], [match])
    return told[next(k for k, line in enumerate(told) if "net.vtt:3" in line) + 1].strip()


def test_the_whole_case_of_a_step_on_time() -> None:
    assert lines() == [*HEAD, *CLOCK, "  taken for it:", *CALLED, *FITS, *DONE]


def test_each_pass_has_its_case_and_no_other_steps_lines() -> None:
    two = {"steps": tables.STEPS.from_rows([STEP, STEP | {"pass": 2, "by": None, "status": "missed", "timing": None, "deviation_s": None, "actual_utc": None, "event": None},
                                            STEP | {"step": "2"}]),
           "clock": tables.CLOCK.from_rows([COUNTING]), "events": tables.EVENTS.from_rows([EVENT]), "matches": tables.MATCHES.from_rows([MATCH, MATCH | {"step": "2"}])}
    assert explain_step(two, "1") == [
        *HEAD, *CLOCK, "  taken for it:", *CALLED, *FITS, *DONE,
        "Step 1, pass 2: Open vent valve", "  planned T-00:10:00, due 14:20:00Z", *CLOCK, "  nothing was taken for it",
        "  no line came near its words at any time near its due time", "  verdict: missed, confidence 0.97"]


def test_a_step_that_never_fell_due() -> None:
    told = lines({"due_utc": None, "actual_utc": None, "status": "not_reached", "timing": None, "deviation_s": None}, matches=[])
    assert told == [HEAD[0], "  planned T-00:10:00, never due by the clock as it ran", "  nothing was taken for it",
                    "  no line came near its words at any time near its due time", "  verdict: not_reached, confidence 0.97"]


@pytest.mark.parametrize(("clock", "told"), [
    ([COUNTING | {"state": "holding", "start_t_s": -600.0, "end_t_s": -600.0}], "holding at T-00:10:00 (good to 0.3 s)"),
    ([COUNTING | {"start_utc": T0 - pd.Timedelta(seconds=597)}], None), ([COUNTING | {"end_utc": T0 - pd.Timedelta(seconds=599)}], None),
    ([COUNTING | {"start_utc": T0 - pd.Timedelta(seconds=598)}], "counting, T-00:20:00 to T-00:00:00 (good to 0.3 s)"),
    ([COUNTING | {"end_utc": T0 - pd.Timedelta(seconds=598), "end_t_s": -598.0}, COUNTING | {"start_utc": T0 - pd.Timedelta(seconds=598), "start_t_s": -598.0}],
     "counting, T-00:20:00 to T-00:09:58 (good to 0.3 s)")])
def test_the_clock_where_the_step_was_begun(clock: list[dict[str, Any]], told: str | None) -> None:
    assert lines(clock=clock)[2] == f"  the clock there: {told or 'not known'}"


def test_the_clock_where_a_step_fell_due_that_was_not_begun() -> None:
    told = lines({"actual_utc": None, "status": "missed", "timing": None}, matches=[], clock=[COUNTING | {"end_utc": T0 - pd.Timedelta(seconds=599)}])
    assert told[2] == "  the clock there: counting, T-00:20:00 to T-00:00:00 (good to 0.3 s)"


def test_rivals_come_after_what_was_taken_the_likeliest_first() -> None:
    events = [{}, {"event": 1, "line": 9, "station": None, "text": "vent valve", "utc": None, "t_s": None, "pass": None}, {"event": 2, "line": 12, "text": "open it"}]
    matches = [{"event": 1, "rank": 2, "score": 0.2}, {"event": 2, "rank": 2, "score": 0.31}, {}]
    told = lines(events=events, matches=matches)
    assert told[3:-1] == ["  taken for it:", *CALLED, *FITS, "  also considered:", '    0.31 call net.vtt:12 14:20:02Z TC: "open it"', *FITS,
                          '    0.20 call net.vtt:9 at no known time "vent valve"',
                          "         for: its words fit this step (0.90); its time is not known; for: the planned station spoke (0.80)"]
    assert lines(events=events, matches=matches[:1], step={"status": "missed", "timing": None})[3:-1] == [
        "  nothing was taken for it", "  also considered:", '    0.20 call net.vtt:9 at no known time "vent valve"',
        "         for: its words fit this step (0.90); its time is not known; for: the planned station spoke (0.80)"]


@pytest.mark.parametrize(("score", "told"), [
    (0.8, "for: its words fit this step (0.80)"), (0.79, "its words fit in part (0.79)"), (0.4, "its words fit in part (0.40)"), (0.39, "against: its words hardly fit (0.39)")])
def test_how_well_the_words_fit(score: float, told: str) -> None:
    assert reasons(text_score=score).split("; ")[0] == told


def test_a_line_without_any_word_of_the_step_is_an_answer_or_what_passed_between_its_stations() -> None:
    assert reasons(text_score=0.0) == "no word of the step: it passed between its stations near due, and is no other step's"
    assert reasons(text_score=0.0, part="response", step_event=9) == "no word of the step: it answers what was said just before on its log"


@pytest.mark.parametrize(("text", "action", "told"), [
    ("vent valve is not open", "Open vent valve", "it says that it is not done"), ("we will open the vent valve", "Open vent valve", "it speaks of something to come or gone"),
    ("vent valve looks steady", "Open vent valve", "it is talk about it"), ("close vent valve", "Open vent valve", "it says 'close' where the step says 'open'"),
    ("close vent valve 2", "Open vent valve 1", "it says 'close' where the step says 'open' and it says '2' where the step says '1'"),
    ("vent valve is not closed", "Open vent valve", "it says 'close' where the step says 'open' and it says that it is not done"),
    ("stand by to open vent valve", "Stand by to open vent valve", None)])
def test_what_the_words_say_against_the_step(text: str, action: str, told: str | None) -> None:
    got = reasons(text_score=0.6, event_text=text, step_action=action).split("; ")[0]
    assert got == (f"against: {told} (0.60)" if told else "its words fit in part (0.60)")
    assert reasons(text_score=0.8, event_text=text, step_action=action).split("; ")[0] == "for: its words fit this step (0.80)"


@pytest.mark.parametrize(("score", "told"), [(0.61, "for: the planned station spoke (0.61)"), (0.6, None), (0.4, None), (0.39, "against: another station spoke (0.39)")])
def test_who_spoke(score: float, told: str | None) -> None:
    assert reasons(station_score=score).split("; ")[2:] == ([told] if told else [])


@pytest.mark.parametrize(("utc_s", "t_s", "in_pass", "score", "told"), [
    (-598.0, -598.0, 1, 0.4, "for: 2 s after due (0.40)"), (-598.0, -598.0, 1, 0.39, "against: 2 s after due (0.39)"), (-603.4, -603.4, 1, 0.8, "for: 3 s before due (0.80)"),
    (-600.0, -600.0, 1, 0.8, "for: 0 s after due (0.80)"), (-481.0, -481.0, 1, 0.8, "for: 119 s after due (0.80)"), (-480.0, -480.0, 1, 0.8, "for: 2 min 00 s after due (0.80)"),
    (-725.0, -725.0, 1, 0.8, "for: 2 min 05 s before due (0.80)"),
    (-300.0, -590.0, 1, 0.8, "for: 10 s after due (0.80; 5 min 00 s by the wall, through a hold)"), (-590.0, -594.0, 1, 0.8, "for: 6 s after due (0.80)"),
    (-590.0, -595.0, 1, 0.8, "for: 5 s after due (0.80; 10 s by the wall, through a hold)"), (-300.0, -590.0, 2, 0.8, "for: 5 min 00 s after due (0.80)"),
    (-300.0, None, 1, 0.8, "for: 5 min 00 s after due (0.80)"), (-590.0, -400.0, 1, 0.8, "for: 10 s after due (0.80)")])
def test_how_far_from_due(utc_s: float, t_s: float | None, in_pass: int, score: float, told: str) -> None:
    """By the count where it ran, by the wall in a hold: whichever is nearer."""
    assert reasons(event_utc=T0 + pd.Timedelta(seconds=utc_s), event_t_s=t_s, event_pass=in_pass, time_score=score).split("; for: the planned")[0].split("; ", 1)[1] == told


@pytest.mark.parametrize(("match", "told"), [
    ({"part": "report"}, "15 s after the step was begun"), ({"part": "response"}, "15 s after the step was begun"), ({"part": "call"}, "for: 15 s after due (0.80)"),
    ({"part": "report", "rank": 2}, "for: 15 s after due (0.80)")])
def test_an_answer_or_a_report_is_told_from_when_the_step_was_begun(match: dict[str, Any], told: str) -> None:
    got = reasons(**match, event_utc=T0 - pd.Timedelta(seconds=585), event_t_s=-585.0, step_actual_utc=T0 - pd.Timedelta(seconds=600))
    assert got.split("; ")[1] == told
    same = reasons(part="report", event_utc=T0 - pd.Timedelta(seconds=600), event_t_s=-600.0, step_actual_utc=T0 - pd.Timedelta(seconds=600))
    assert same.split("; ")[1] == "for: 0 s after due (0.80)"


def test_times_that_nobody_knows() -> None:
    assert reasons(step_due_utc=None).split("; ")[1] == "its time is not known"
    assert reasons(part="report", event_utc=None).split("; ")[1] == "its time is not known"


@pytest.mark.parametrize(("step", "told"), [
    ({"timing": "late", "deviation_s": 31.0}, "done late (31 s after due, good to 0.4 s; 5 s early and 10 s late are allowed), confidence 0.97"),
    ({"timing": "early", "deviation_s": -131.0}, "done early (2 min 11 s before due, good to 0.4 s; 5 s early and 10 s late are allowed), confidence 0.97"),
    ({"deviation_s": 23.0}, "done on time (23 s after due, good to 0.4 s; 5 s early and 10 s late are allowed; only its completion is known, and in this log the order for it may have been lost), confidence 0.97"),
    ({"deviation_s": 0.0}, "done on time (0 s after due, good to 0.4 s; 5 s early and 10 s late are allowed), confidence 0.97"),
    ({"timing": None}, "done, confidence 0.97"), ({"deviation_s": None}, "done, confidence 0.97"), ({"confidence": 1.0}, DONE[0].split(": ", 1)[1][:-4] + "1.00")])
def test_the_verdict(step: dict[str, Any], told: str) -> None:
    assert lines(step)[-1] == f"  verdict: {told}"


RIVAL = {"event": 1, "rank": 2}


@pytest.mark.parametrize(("matches", "doubt"), [
    ([], "no line is like it, and its lines may be lost or garbled"), ([RIVAL | {"score": 0.24}], "no line is like it, and its lines may be lost or garbled"),
    ([RIVAL | {"score": 0.25}], "a line that may be it was not taken"), ([{"score": 0.79}], "the line that began it is not surely about this step"),
    ([{"score": 0.8}], "one line alone speaks for it"), ([{"event": 1, "score": 0.3}], "one line alone speaks for it"),
    ([{}, {"event": 1, "part": "report"}, RIVAL | {"score": 0.25}], "another line could be it as well"),
    ([{}, {"event": 1, "part": "report"}, RIVAL | {"score": 0.24}], "its signs do not fit together as well as those of other steps"),
    ([{}, {"event": 1, "part": "report"}], "its signs do not fit together as well as those of other steps"),
    ([{"score": 0.5}, {"event": 1, "part": "report"}], "the line that began it is not surely about this step")])
def test_the_weakest_point_of_a_doubtful_case(matches: list[dict[str, Any]], doubt: str) -> None:
    told = lines({"review": True}, [{}, {"event": 1, "line": 9}], matches)
    assert told[-1] == f"  a person should look, among the least sure verdicts of this count: {doubt}"


def test_a_reviewers_decision_is_told_and_no_doubt_beside_it() -> None:
    told = lines({"review": True, "decided": True})
    assert told[-2:] == [*DONE, "  settled by a decision of a reviewer (decisions.csv)"]
