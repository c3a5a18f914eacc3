"""Holds, endings and clocks told to the word: what kind, how serious, how long, who called it, and which line says so."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

PLAN = "1.1 | T-00:30:00 | open the vent\n1.2 | T-00:20:00 | start the pump\n1.3 | T-00:01:00 | arm the igniter | must=no"
BUILT_IN = PLAN + "\n2.0 | T-00:10:00 | built-in hold | kind=hold; duration_s=600"
OPEN = "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open\nnet.vtt:90 | T-00:20:00 | TC | call | 1.2:call | pump\n"
AT = "T-00:25:00"


def told(r) -> list[tuple[Any, ...]]:
    """(kind, severity, deviation, text, source:line) of every finding."""
    columns = (r.findings[c].tolist() for c in ("kind", "severity", "deviation_s", "text", "source", "line"))
    return [(k, sev, None if pd.isna(d) else round(d, 3), text, None if pd.isna(s) else f"{s}:{n}") for k, sev, d, text, s, n in zip(*columns, strict=True)]


@pytest.mark.parametrize(("made", "text"), [
    ({}, "Unplanned hold of 5 min at T-00:25:00."),
    ({"called_by": "TC"}, "Unplanned hold of 5 min at T-00:25:00, called by TC."),
    ({"reason": "boat in the box"}, "Unplanned hold of 5 min at T-00:25:00: boat in the box."),
    ({"called_by": "TC", "reason": "boat in the box"}, "Unplanned hold of 5 min at T-00:25:00, called by TC: boat in the box."),
    ({"basis": "inferred"}, "Unplanned hold of 5 min at T-00:25:00; nobody was heard to call it."),
    ({"basis": "inferred", "reason": "wind"}, "Unplanned hold of 5 min at T-00:25:00; nobody was heard to call it: wind."),
    ({"length_s": 138.4}, "Unplanned hold of 2 min 18 s at T-00:25:00."),
])
def test_an_unplanned_hold(count, hold, made: dict, text: str) -> None:
    length = made.get("length_s", 300.0)
    r = count(PLAN, OPEN, holds=[hold(-1500.0, **{"length_s": length} | made)], end_s=-500.0).judge()
    assert told(r) == [("hold_unplanned", "major", length, text, None)]
    assert r.findings["pass"].tolist() == [1]


@pytest.mark.parametrize(("low", "high", "text"), [
    (-1600.0, -1400.0, "; nobody was heard to call it, it lies somewhere from T-00:26:40 to T-00:23:20: wind."),
    (None, -1400.0, "; nobody was heard to call it: wind."), (-1600.0, None, "; nobody was heard to call it: wind.")])
def test_a_hold_that_nobody_called_is_told_with_where_it_can_lie(count, hold, low: float | None, high: float | None, text: str) -> None:
    made = count(PLAN, OPEN, holds=[hold(-1500.0, 300.0, basis="inferred", reason="wind")], end_s=-500.0)
    table = made._holds().assign(t_low_s=low, t_high_s=high)
    made._holds = lambda: table
    assert [t for *_, t, _ in told(made.judge())] == ["Unplanned hold of 5 min at T-00:25:00" + text]


def test_a_hold_of_unknown_length_claims_none(count, hold) -> None:
    made = count(PLAN, OPEN, holds=[hold(-1500.0, 300.0)], end_s=-500.0)
    table = made._holds().assign(duration_s=float("nan"), excess_s=float("nan"))
    made._holds = lambda: table
    assert told(made.judge()) == [("hold_unplanned", "major", None, "Unplanned hold at T-00:25:00.", None)]


def test_the_length_told_is_the_difference_of_the_instants_told(count, hold) -> None:
    """From 14:05:00.4 to 14:10:00.6 is told as 14:05:00 and 14:10:01: five minutes and a second, though it lasted 300.2 s."""
    r = count(PLAN, OPEN, holds=[hold(-1499.6, 300.2)], end_s=-500.0).judge()
    assert [t for *_, t, _ in told(r)] == ["Unplanned hold of 5 min 01 s at T-00:24:59.6."]


@pytest.mark.parametrize(("lines", "by", "text", "place"), [
    ("net.vtt:9 | {}+1 | TC | hold | | hold, hold, hold", "TC", ", called by TC", "net.vtt:9"),
    ("net.vtt:9 | {}+1 | TC | hold | | hold, seq called it", "TC", ", called by TC", "net.vtt:9"),  # SEQ speaks nowhere in this count
    ("net.vtt:9 | {}+1 | TC | hold | | hold, prop called it\nnet.vtt:10 | {}+20 | PROP | note | | leak", "TC",
     ", announced by TC; the words name PROP", "net.vtt:9"),
    ("net.vtt:9 | {}+1 | TC | hold | | hold hold\nnet.vtt:10 | {}+29 | PROP | note | | prop called it", "TC", ", announced by TC; the words name PROP", "net.vtt:9"),
    ("net.vtt:9 | {}+1 | TC | hold | | hold hold\nnet.vtt:10 | {}+31 | PROP | note | | prop called it", "TC", ", called by TC", "net.vtt:9"),
    ("seq.log:7 | {}+0.1 | CLK | hold | | COUNT HOLD", "CLK", ", called by CLK", None),
    ("net.vtt:9 | {}+30 | TC | hold | | we are holding", "TC", ", called by TC", "net.vtt:9"),
    ("net.vtt:9 | {}+31 | TC | hold | | we are holding", "TC", ", called by TC", None),
    ("net.vtt:9 | T-00:25:05 | TC | hold | | hold at T minus twenty five", "TC", ", called by TC", "net.vtt:9"),
    ("net.vtt:9 | T-00:25:06 | TC | hold | | hold at T minus twenty five", "TC", ", called by TC", None),
    ("net.vtt:9 | {}+4 | TC | hold | | hold it\nnet.vtt:8 | {}+2 | TC | hold | | hold", "TC", ", called by TC", "net.vtt:8"),
])
def test_who_called_a_hold_and_where_it_is_heard(count, hold, lines: str, by: str, text: str, place: str | None) -> None:
    r = count(PLAN, OPEN + lines.replace("{}", AT), holds=[hold(-1500.0, 300.0, called_by=by)], end_s=-500.0).judge()
    assert told(r) == [("hold_unplanned", "major", 300.0, f"Unplanned hold of 5 min at T-00:25:00{text}.", place)]


@pytest.mark.parametrize(("outcome", "ending"), [("scrub", "; it was never resumed; the count ended in a scrub."), ("cutoff", "; it was never resumed; the count ended in a cutoff."),
                                                 ("unresolved", "; it was never resumed.")])
def test_an_unplanned_hold_without_an_end(count, hold, outcome: str, ending: str) -> None:
    r = count(PLAN, OPEN, holds=[hold(-1195.0, 700.4, resumed=False)], end_s=-1195.0, outcome=outcome).judge()
    held = [x for x in told(r) if x[0] == "hold_unplanned"]
    assert held == [("hold_unplanned", "major", 700.4, f"Unplanned hold of 11 min 40 s at T-00:19:55{ending}", None)]


@pytest.mark.parametrize(("length", "options", "expected"), [
    (600.0, {}, []), (610.0, {}, []), (610.1, {}, []), (610.2, {}, ("hold_extended", 10.2, "was extended by 10 s beyond its 10 min.")),
    (590.0, {}, []), (589.9, {}, []), (589.8, {}, ("hold_cut_short", -10.2, "was cut short by 10 s of its 10 min.")),
    (900.0, {"called_by": "TC", "reason": "wind"}, ("hold_extended", 300.0, "was extended by 5 min beyond its 10 min, called by TC: wind.")),
    (400.0, {"called_by": "TC"}, ("hold_cut_short", -200.0, "was cut short by 3 min 20 s of its 10 min.")),
])
def test_a_built_in_hold_against_its_length(count, hold, length: float, options: dict, expected: Any) -> None:
    """Ten seconds either way are allowed, and two standard deviations of the clock at both ends: 2 x 0.05 s x the root of two is 0.14 s."""
    r = count(BUILT_IN, OPEN, holds=[hold(-600.0, length, 600.0, **options)], end_s=-30.0).judge()
    assert told(r) == ([(expected[0], "minor", expected[1], f"The built-in hold at T-00:10:00 {expected[2]}", None)] if expected else [])


@pytest.mark.parametrize(("outcome", "severity", "ending"), [("scrub", "note", "; the count ended in a scrub"), ("cutoff", "note", "; the count ended in a cutoff"),
                                                            ("unresolved", "minor", "")])
def test_a_built_in_hold_that_was_never_resumed(count, hold, outcome: str, severity: str, ending: str) -> None:
    r = count(BUILT_IN, OPEN, holds=[hold(-600.0, 600.0, 600.0, resumed=False)], end_s=-600.0, outcome=outcome).judge()
    held = [x for x in told(r) if x[0] != "outcome"]
    assert held == [("hold_not_resumed", severity, None, f"The built-in hold at T-00:10:00 was never resumed{ending}.", None)]


def test_a_recycle_out_of_a_built_in_hold(count, hold) -> None:
    heard = OPEN + "net.vtt:9 | T-00:10:00+1 | TC | hold | | built-in hold\n"
    r = count(BUILT_IN, heard, holds=[hold(-600.0, 600.0, 600.0, recycle_to_s=-900.0), hold(-600.0, 600.0, 600.0)], end_s=-30.0).judge()
    assert told(r) == [("recycle", "major", None, "The count was recycled from T-00:10:00 to T-00:15:00; steps from there on were due again.", "net.vtt:9")]


@pytest.mark.parametrize(("ran", "found"), [((-1500.0, 0.0), ["T-00:10:00", "T-00:05:00"]), ((-1500.0, -310.0), ["T-00:10:00"]), ((-1500.0, -604.0), [])])
def test_built_in_holds_that_the_clock_ran_through(count, hold, ran: tuple[float, float], found: list[str]) -> None:
    plan = BUILT_IN + "\n3.0 | T-00:05:00 | built-in hold | kind=hold\n4.0 | T-01:00:02 | built-in hold | kind=hold; duration_s=60"
    r = count(plan, OPEN, end_s=ran[1]).judge()
    rows = [x for x in told(r) if x[0] == "hold_not_taken"]
    of = {"T-00:10:00": (-600.0, " of 10 min"), "T-00:05:00": (None, "")}
    assert rows == [("hold_not_taken", "major", of[t][0], f"The built-in hold{of[t][1]} at {t} was not taken.", None) for t in found]


@pytest.mark.parametrize(("held_at", "sigma", "taken"), [(-604.5, 0.05, True), (-606.0, 0.05, False), (-606.0, 4.0, True), (-594.0, 0.05, False)])
def test_a_hold_within_five_seconds_or_two_sigmas_of_a_built_in_one_is_that_one(count, hold, held_at: float, sigma: float, taken: bool) -> None:
    r = count(BUILT_IN, OPEN, holds=[hold(held_at, 600.0, 600.0)], end_s=-30.0, clock_sigma_s=sigma).judge()
    assert [x[0] for x in told(r)] == ([] if taken else ["hold_not_taken"])


def test_a_built_in_hold_not_taken_in_the_second_pass_is_told_of_that_pass(count, hold) -> None:
    r = count(BUILT_IN, OPEN, holds=[hold(-600.0, 600.0, 600.0), hold(-300.0, 60.0, recycle_to_s=-900.0)], end_s=-30.0).judge()
    missed = r.findings[r.findings["kind"] == "hold_not_taken"]
    assert missed["pass"].tolist() == [2]


@pytest.mark.parametrize(("what", "by", "text"), [
    ("hold", {"called_by": "PROP"}, "The hold at T-00:25:00 was called by PROP; only TC or RSO may."),
    ("resume", {"called_by": "TC", "resumed_by": "PROP"}, "The hold at T-00:25:00 was resumed by PROP; only TC or RSO may."),
    ("hold", {"called_by": "RSO"}, None), ("hold", {}, None), ("resume", {"resumed_by": "TC"}, None)])
def test_who_may_hold_and_resume(count, hold, what: str, by: dict, text: str | None) -> None:
    r = count(PLAN, OPEN, holds=[hold(-1500.0, 300.0, **by)], end_s=-500.0, authority={what: ("TC", "RSO")}).judge()
    found = [x for x in told(r) if x[0] == "authority"]
    assert found == ([("authority", "major", None, text, None)] if text else [])


def test_a_resume_without_authority_cites_the_resume(count, hold) -> None:
    heard = OPEN + "net.vtt:14 | T-00:25:00+300 | PROP | resume | | resume the count"
    made = count(PLAN, heard, holds=[hold(-1500.0, 300.0, resumed_by="PROP")], end_s=-500.0, authority={"resume": ("TC",)})
    table = made._holds().assign(resume_event=2)
    made._holds = lambda: table
    assert [x[-1] for x in told(made.judge()) if x[0] == "authority"] == ["net.vtt:14"]


@pytest.mark.parametrize(("outcome", "expected"), [
    ("scrub", ("major", "The count was scrubbed at 2031-04-19T14:10:00Z.")), ("cutoff", ("major", "The count ended in a cutoff at 2031-04-19T14:10:00Z.")),
    ("unresolved", ("minor", "The count ran to T-0 at 2031-04-19T14:10:00Z; what followed is not in the logs.")), ("liftoff", None)])
def test_how_the_count_ended(count, outcome: str, expected: tuple[str, str] | None) -> None:
    r = count(PLAN, OPEN, end_s=-1200.0, outcome=outcome).judge()
    assert [x[1:4:2] for x in told(r) if x[0] == "outcome"] == ([expected] if expected else [])


@pytest.mark.parametrize(("outcome", "text"), [("scrub", "The count was scrubbed."), ("cutoff", "The count ended in a cutoff."),
                                               ("unresolved", "The logs do not show how the count ended.")])
def test_an_end_at_no_known_time(count, outcome: str, text: str) -> None:
    made = count(PLAN, OPEN, end_s=-1200.0, outcome=outcome, authority={outcome: ("TC",)})
    made._wall = lambda clock, t_s, *rest: None if (t_s, rest) == (-1200.0, ()) else type(made)._wall(made, clock, t_s, *rest)
    assert [x[3] for x in told(made.judge()) if x[0] in ("outcome", "authority")] == [text]


@pytest.mark.parametrize(("line", "found"), [
    ("net.vtt:5 | T-00:20:10 | PROP | scrub | | scrub for today", True), ("net.vtt:5 | T-00:20:31 | PROP | scrub | | scrub for today", False),
    ("net.vtt:5 | T-00:20:10 | TC | scrub | | scrub for today", False), ("net.vtt:5 | T-00:20:10 | | scrub | | scrub for today", False),
    ("net.vtt:5 | T-00:20:10 | TC | scrub | | scrub\nnet.vtt:6 | T-00:20:05 | PROP | scrub | | scrub", False),  # the first call ended it
    ("net.vtt:5 | T-00:20:05 | TC | scrub | | scrub\nnet.vtt:6 | T-00:20:10 | PROP | scrub | | scrub", True)])
def test_who_may_end_the_count(count, line: str, found: bool) -> None:
    r = count(PLAN, OPEN + line, end_s=-1200.0, outcome="scrub", authority={"scrub": ("TC", "RSO")}).judge()
    rows = [x[1:4:2] for x in told(r) if x[0] == "authority"]
    assert rows == ([("major", "The scrub was called by PROP; only TC or RSO may.")] if found else [])


def test_who_may_set_the_count_back(count, hold) -> None:
    heard = OPEN + "net.vtt:7 | T-00:25:00+299 | PROP | recycle | | recycle to T minus thirty\nnet.vtt:8 | T-00:29:50 #2 | PROP | recycle | | we recycled"
    r = count(PLAN, heard, holds=[hold(-1500.0, 300.0, recycle_to_s=-1799.0)], end_s=-500.0, authority={"recycle": ("TC",)}).judge()
    assert [x[1:] for x in told(r) if x[0] == "authority"] == [("major", None, "The recycle was called by PROP; only TC may.", "net.vtt:7")]


@pytest.mark.parametrize(("source", "text"), [
    ({"offset_s": 12.0}, "The clock of a.txt was 12 s slow; its times were put right."),
    ({"offset_s": -12.0}, "The clock of a.txt was 12 s fast; its times were put right."),
    ({"offset_s": 2.0, "offset_sigma_s": 0.1}, None), ({"offset_s": 2.1, "offset_sigma_s": 0.1}, "The clock of a.txt was 2.1 s slow; its times were put right."),
    ({"offset_s": 9.0, "offset_sigma_s": 3.0}, None), ({"offset_s": 9.1, "offset_sigma_s": 3.0}, "The clock of a.txt was 9.1 s slow; its times were put right."),
    ({"offset_s": 12.0, "reference": True}, None), ({"offset_s": 12.0, "time": "elapsed"}, None), ({"offset_s": 12.0, "time": "count"}, None),
    ({"offset_s": 12.0, "time": "local"}, "The clock of a.txt was 12 s slow; its times were put right."), ({"offset_s": None}, None),
    ({"offset_s": 12.0, "offset_sigma_s": None}, "The clock of a.txt was 12 s slow; its times were put right."),
    ({"offset_s": 0.0, "note": "Reset by 40 s at 14:02"}, "The clock of a.txt was reset during the count (Reset by 40 s at 14:02); its times were put right."),
    ({"offset_s": 12.0, "note": "reset at 14:02"}, "The clock of a.txt was 12 s slow (reset at 14:02); its times were put right."),
    ({"offset_s": 12.0, "note": "laid on the schedule"}, "The clock of a.txt was 12 s slow; its times were put right."),
    ({"offset_s": 0.0, "note": "laid on the schedule"}, None)])
def test_a_log_whose_clock_misleads(count, source: dict, text: str | None) -> None:
    row = {"source": "a.txt", "format": "notes", "time": "utc", "entries": 1, "rejected": 0, "drift_ppm": 0.0, "offset_sigma_s": 0.5, "reference": False} | source
    r = count("1.1 | T-00:30:00 | open", "a.txt:1 | T-00:30:00 | TC | call | 1.1:call | open", sources=[row]).judge()
    assert [x[:4] for x in told(r)] == ([("clock_disagrees", "note", None, text)] if text else [])
