"""The clock laid by hand: segments, holds, what they cost and how unsure they leave it, each from a few numbers that can be added in the head.

Seconds after the scheduled T-0; count times in seconds.
"""

from __future__ import annotations

from dataclasses import replace
from math import erf, hypot, inf, nan, sqrt
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from aftercount.speech.entries import (
    CUE_EDGE_S,
    MACHINE_SIGMA_S,
    NOTE_DELAY_S,
    RESOLUTION_SHARE,
)
from aftercount.timeline import clock as clocks
from aftercount.timeline import frames
from aftercount.timeline.align import _prior, _stretches
from aftercount.timeline.brackets import mark_unsure
from aftercount.timeline.counted import Told, lay, passes, place
from aftercount.timeline.cues import longer
from aftercount.timeline.delays import Delay, machine, resolution, speech, typed
from aftercount.timeline.ends import begin_by_plan, lead_in, leave_last_hold, run_on
from aftercount.timeline.holds import forget_lengths, hold_rows, holds_frame, joined
from aftercount.timeline.lateness import MEANS_S, Residuals
from aftercount.timeline.model import COUNTING, HOLDING, JUMP, RESUME, Field
from aftercount.timeline.model import HOLD as TO_HOLD
from aftercount.timeline.outcome import ended, judge
from aftercount.timeline.pieces import Piece
from aftercount.timeline.scale import as_share, few, honest, scale
from aftercount.timeline.segments import lay as laid
from aftercount.timeline.slips import slips
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.staircase import Call, Hold, Prior, Segment, Staircase
from aftercount.timeline.sureness import Readings, sure

T0_US = 1_934_289_000_000_000
CERTAIN = 10.0


def segment(state: int, start: float, end: float, t: float, **more: Any) -> Segment:
    full = {"pass_": 1, "end_t": t + (end - start) if state == COUNTING else t, "sigma": 0.5} | more
    return Segment(full.pop("pass_"), state, start, end, t, full.pop("end_t"), full.pop("sigma"), **full)


def shown(segments: list[Segment]) -> list[tuple]:
    return [(s.pass_, "count" if s.state == COUNTING else "hold", s.start, s.end, s.start_t, s.end_t, s.sigma) for s in segments]


def call(u: float, what: str, to_t: float = nan, weight: float = CERTAIN, utterance: int = 0, row: int = 0) -> Call:
    return Call(u, what, nan, to_t, weight, utterance, row)


def piece(state: int, value: float, first: float, last: float, move: int = RESUME, **more: Any) -> Piece:
    return Piece(state, value, more.pop("sigma", 0.5), first, last, move, more.pop("marks", 2), more.pop("called", ()), **more)


# --- laying segments ---

def test_a_count_and_a_hold_meet_and_equal_neighbours_are_one() -> None:
    stairs = Staircase(u=-600.0, z=0.0)
    stairs.count_to(-540.0, 0.5)
    stairs.count_to(-300.0, 0.5)
    stairs.count_to(-301.0, 0.5)  # the past is laid
    stairs.hold_to(-100.0, -300.0, 0.5)
    stairs.count_to(0.0, 2.0)
    assert shown(stairs.segments) == [(1, "count", -600, -300, -600, -300, 0.5), (1, "hold", -300, -100, -300, -300, 0.5), (1, "count", -100, 0, -300, -200, 2.0)]
    assert (stairs.u, stairs.z) == (0.0, 200.0)
    stairs.holds.append(Hold(1, -200.0, 0.0, None, False, -200.0, -200.0))
    stairs.close_hold(50.0, -200.0, 2.0)
    assert stairs.holds[-1].end == 50.0 and stairs.z == 250.0


PRIOR = Prior(((-540.0, 600.0), (-240.0, 300.0)), -2000.0, 400.0)


def test_the_schedule_of_two_planned_holds() -> None:
    assert [PRIOR.z_before(t) for t in (-600.0, -540.0, -539.0, -538.0, -240.0, 0.0)] == [-900, -900, -900, -300, -300, 0]
    assert [PRIOR.planned(t) for t in (-541.0, -540.0, -538.9, -240.5, 0.0)] == [600, 600, 0, 300, 0]


def test_a_count_that_nobody_spoke_of_goes_as_planned() -> None:
    stairs = laid([], [], PRIOR)
    assert shown(stairs.segments) == [
        (1, "count", -2000, -1440, -1100, -540, 60.0), (1, "hold", -1440, -840, -540, -540, 60.0), (1, "count", -840, -540, -540, -240, 60.0),
        (1, "hold", -540, -240, -240, -240, 60.0), (1, "count", -240, 400, -240, 400, 60.0)]
    assert [(h.t, h.start, h.end, h.planned, h.inferred, h.low, h.high, h.pass_) for h in stairs.holds] == [(-540, -1440, -840, 600, True, -540, -540, 1), (-240, -540, -240, 300, True, -240, -240, 1)]


def test_logs_that_begin_inside_a_planned_hold_or_after_all_of_them() -> None:
    stairs = Staircase()
    begin_by_plan(stairs, Prior(PRIOR.holds, -1000.0, 0.0))
    assert shown(stairs.segments) == [(1, "hold", -1000, -840, -540, -540, 60.0)]
    assert [(h.start, h.end, h.planned) for h in stairs.holds] == [(-1440, -840, 600)]
    stairs = Staircase()
    begin_by_plan(stairs, Prior(PRIOR.holds, -100.0, 0.0))
    assert (stairs.segments, stairs.u, stairs.z) == ([], -100.0, 0.0)


@pytest.mark.parametrize(("end", "last"), [(-240.0, -240.0), (-241.0, None)])
def test_a_planned_hold_that_the_logs_do_not_outlast_has_no_end(end: float, last: float | None) -> None:
    stairs = Staircase(u=-800.0, z=-300.0)
    run_on(stairs, Prior(PRIOR.holds, -2000.0, end), 0.5)
    assert [(h.t, h.start, h.end) for h in stairs.holds] == [(-240, -540, last)]
    assert shown(stairs.segments) == [(1, "count", -800, -540, -500, -240, 0.5), (1, "hold", -540, end, -240, -240, 60.0)]


def test_a_planned_hold_of_no_length_and_one_that_is_over_are_passed() -> None:
    stairs = Staircase(u=-540.5, z=-300.0)
    run_on(stairs, Prior(((-240.0, 300.0), (-100.0, 0.0)), -2000.0, 100.0), 0.5)
    assert stairs.holds == [] and shown(stairs.segments) == [(1, "count", -540.5, 100, -240.5, 400, 0.5)]


def test_before_the_first_evidence_the_count_went_as_planned() -> None:
    stairs = Staircase()
    lead_in(stairs, piece(COUNTING, 20.0, -100.0, 0.0), [], PRIOR)
    assert shown(stairs.segments) == [
        (1, "count", -2000, -1420, -1120, -540, 60.0), (1, "hold", -1420, -820, -540, -540, 60.0), (1, "count", -820, -520, -540, -240, 60.0),
        (1, "hold", -520, -220, -240, -240, 60.0), (1, "count", -220, -100, -240, -120, 0.5)]
    assert [(h.t, h.start, h.end) for h in stairs.holds] == [(-540, -1420, -820), (-240, -520, -220)] and stairs.z == 20.0


@pytest.mark.parametrize(("calls", "t", "first", "began"), [
    ([], -540.0, -1400.0, -1440.0), ([], -540.0, -1500.0, -1500.0), ([call(-1000.0, "hold")], -300.0, -1000.0, -1000.0), ([call(-1002.1, "hold")], -300.0, -1000.0, -1000.0),
    ([call(-500.0, "hold")], -300.0, -500.0, -500.0), ([], -300.0, -500.0, -600.0), ([call(-502.1, "hold")], -300.0, -500.0, -600.0), ([call(-500.0, "resume")], -300.0, -500.0, -600.0)])
def test_a_hold_that_the_logs_begin_with_began_when_it_was_called_or_when_the_plan_has_it(calls: list[Call], t: float, first: float, began: float) -> None:
    stairs = Staircase()
    lead_in(stairs, piece(HOLDING, t, first, first + 10), calls, PRIOR)
    assert (stairs.u, stairs.u - stairs.z) == (began, t)


def test_the_last_hold_of_the_logs() -> None:
    def left(planned: float, end: float, last: float = -500.0, recycled: float | None = None) -> tuple:
        stairs = Staircase(u=last, z=0.0)
        stairs.holds.append(Hold(1, -240.0, -540.0, None, False, -240.0, -240.0, planned=planned, recycled_to=recycled))
        leave_last_hold(stairs, piece(HOLDING, -240.0, -540.0, last), Prior((), -2000.0, end))
        assert all(s.sigma == (60.0 if stairs.holds[-1].end is not None else 0.5) for s in stairs.segments)  # as sure as the plan, once it rests on that
        return stairs.holds[-1].end, [s[1:4] for s in shown(stairs.segments)]

    assert left(300.0, 100.0) == (-240.0, [("hold", -500.0, -240.0), ("count", -240.0, 100.0)])
    assert left(20.0, 100.0) == (-500.0, [("count", -500.0, 100.0)])  # it lasted longer than planned: to its last evidence
    assert left(0.0, 100.0) == (None, [("hold", -500.0, 100.0)]) and left(300.0, -240.0) == (None, [("hold", -500.0, -240.0)])
    assert left(300.0, 100.0, recycled=-600.0) == (None, [("hold", -500.0, 100.0)])


def test_two_stretches_of_counting_with_a_silent_hold_between() -> None:
    parts = [piece(COUNTING, 0.0, -600.0, -500.0), piece(COUNTING, 60.0, -300.0, 0.0)]
    stairs = laid(parts, [], Prior((), -600.0, 0.0))
    [hold] = stairs.holds
    # the clock read T-500 and later T-360: it stood for a minute somewhere between, midway for want of better
    assert (hold.t, hold.start, hold.end, hold.low, hold.high, hold.inferred, hold.planned) == (-430.0, -430.0, -370.0, -500.0, -360.0, True, 0.0)
    assert [s[1:6] for s in shown(stairs.segments)] == [("count", -600, -430, -600, -430), ("hold", -430, -370, -430, -430), ("count", -370, 0, -430, -60)]
    told = laid(parts, [call(-450.0, "hold"), call(-440.0, "hold")], Prior((), -600.0, 0.0)).holds[0]
    assert (told.t, told.start) == (-440.0, -440.0)
    resumed = laid(parts, [call(-350.0, "resume")], Prior((), -600.0, 0.0)).holds[0]
    assert (resumed.t, resumed.end) == (-410.0, -350.0)
    assert laid(parts, [call(-550.0, "hold")], Prior((), -600.0, 0.0)).holds[0].t == -430.0  # called before the bracket


def test_a_silent_hold_where_the_plan_has_one_and_another() -> None:
    parts = [piece(COUNTING, -60.0, -660.0, -560.0), piece(COUNTING, 0.0, -300.0, 0.0)]
    one = laid(parts, [], Prior(((-400.0, 60.0),), -660.0, 0.0)).holds[0]
    assert (one.t, one.start, one.end, one.planned, one.shared, one.low, one.high) == (-400.0, -460.0, -400.0, 60.0, False, -500.0, -300.0)
    two = laid(parts, [], Prior(((-450.0, 40.0), (-400.0, 80.0)), -660.0, 0.0)).holds
    # a minute divided in proportion of 40 and 80
    assert [(h.t, h.start, h.end, h.planned, h.shared) for h in two] == [(-450.0, -510.0, -490.0, 40.0, True), (-400.0, -440.0, -400.0, 80.0, True)]
    long = laid([parts[0], piece(COUNTING, 40.0, -300.0, 0.0)], [], Prior(((-400.0, 60.0),), -660.0, 0.0)).holds
    assert [(h.t, h.end - h.start) for h in long] == [(-400.0, 100.0)]  # the rest is the last planned one's


def test_a_recycle_called_and_one_that_nobody_called() -> None:
    before, after = piece(COUNTING, 0.0, -600.0, -100.0), piece(COUNTING, 700.0, 300.0, 700.0, JUMP)
    stairs = laid([before, after], [call(-90.0, "hold"), call(50.0, "recycle", -600.0)], Prior((), -600.0, 700.0))
    [hold] = stairs.holds
    # stopped at T-90, set back at 50 s to T-600, resumed when the new count had to run: at 100 s
    assert (hold.t, hold.start, hold.end, hold.recycled_to, hold.inferred) == (-90.0, -90.0, 100.0, -600.0, False)
    assert shown(stairs.segments) == [(1, "count", -600, -90, -600, -90, 0.5), (1, "hold", -90, 50, -90, -90, 0.5), (2, "hold", 50, 100, -600, -600, 0.5), (2, "count", 100, 700, -600, 0, 0.5)]
    silent = laid([before, after], [], Prior((), -600.0, 700.0)).holds[0]
    assert (silent.t, silent.low, silent.high, silent.end, silent.recycled_to, silent.inferred) == (-50.0, -100.0, 0.0, 300.0, -400.0, True)  # somewhere short of T-0
    held = laid([before, piece(HOLDING, -600.0, 300.0, 400.0, JUMP)], [call(-90.0, "cutoff"), call(50.0, "recycle")], Prior((), -600.0, 700.0))
    assert [(s[0], s[1], s[2], s[3], s[4]) for s in shown(held.segments)] == [(1, "count", -600, -90, -600), (1, "hold", -90, 50, -90), (2, "hold", 50, 700, -600)]


@pytest.mark.parametrize(("calls", "length", "tail"), [([], 0.0, -440.0), ([call(-450.0, "resume")], 0.0, -440.0), ([], 120.0, -440.0)])
def test_a_hold_ends_when_the_count_had_to_run_again(calls: list[Call], length: float, tail: float) -> None:
    """Held at T-500 from -500 s; heard counting with T-0 at 60 s: it resumed at -440 s whatever was said."""
    parts = [piece(COUNTING, 0.0, -600.0, -510.0), piece(HOLDING, -500.0, -500.0, -480.0, TO_HOLD), piece(COUNTING, 60.0, -300.0, 0.0)]
    [hold] = laid(parts, [call(-500.0, "hold"), *calls], Prior(((-500.0, length),) if length else (), -600.0, 0.0)).holds
    assert (hold.t, hold.start, hold.end, hold.planned) == (-500.0, -500.0, tail, length)


# --- what a hold is and cost ---

def hold(t: float, start: float, end: float | None, **more: Any) -> Hold:
    return Hold(more.pop("pass_", 1), t, start, end, more.pop("inferred", False), more.pop("low", t), more.pop("high", t), **more)


def test_every_figure_of_a_hold_row() -> None:
    begun, resumed = call(-299.0, "hold", utterance=7, row=1), call(-121.0, "resume", utterance=9, row=2)
    [row] = hold_rows([hold(-300.0, -300.0, -120.0, planned=100.0, low=-310.0, high=-290.0)], [begun, resumed], [], 500.0)
    assert row == {"pass": 1, "t_s": -300.0, "start_u": -300.0, "end_u": -120.0, "duration_s": 180.0, "planned_s": 100.0, "excess_s": 80.0, "kind": "built_in", "basis": "called",
                   "t_low_s": None, "t_high_s": None, "recycled_to_t_s": None, "event": 7, "resume_event": 9, "slip_s": 80.0, "call": begun, "resume": resumed}
    [silent] = hold_rows([hold(-300.0, -300.0, -120.0, low=-310.0, high=-290.0)], [], [], 500.0)
    assert {k: silent[k] for k in ("kind", "basis", "t_low_s", "t_high_s", "event", "resume_event", "slip_s", "planned_s", "excess_s")} == {
        "kind": "unplanned", "basis": "inferred", "t_low_s": -310.0, "t_high_s": -290.0, "event": None, "resume_event": None, "slip_s": 180.0, "planned_s": 0.0, "excess_s": 180.0}
    [narrow] = hold_rows([hold(-300.0, -300.0, -120.0, low=-290.0, high=-310.0)], [], [], 500.0)
    assert (narrow["t_low_s"], narrow["t_high_s"]) == (-300.0, -300.0)


@pytest.mark.parametrize(("end", "until", "shown_end", "length"), [(-120.0, -120.0, -120.0, 180.0), (-120.0, -121.0, None, None), (None, 500.0, None, None)])
def test_a_hold_that_the_clock_does_not_outlast_has_no_length(end: float | None, until: float, shown_end: float | None, length: float | None) -> None:
    [row] = hold_rows([hold(-300.0, -300.0, end)], [call(-121.0, "resume", utterance=4)], [], until)
    assert (row["end_u"], row["duration_s"], row["excess_s"], row["slip_s"]) == (shown_end, length, length, length)
    assert row["resume_event"] == (4 if shown_end is not None else None)


@pytest.mark.parametrize(("holds", "kept"), [
    ([hold(-300.0, -300.0, -298.1)], 0), ([hold(-300.0, -300.0, -298.0)], 1), ([hold(-300.0, -300.0, -299.0, planned=60.0)], 1), ([hold(-300.0, -300.0, -299.0, recycled_to=-600.0)], 1),
    ([hold(-300.0, -300.0, None)], 1), ([hold(-300.0, 501.0, None)], 0), ([hold(-300.0, 500.0, None)], 1)])
def test_what_is_too_short_or_too_late_to_be_a_hold(holds: list[Hold], kept: int) -> None:
    assert len(hold_rows(holds, [], [], 500.0)) == kept


def test_a_planned_hold_is_owed_once_and_a_recycle_costs_the_count_again() -> None:
    rows = hold_rows([hold(-300.0, -300.0, -100.0, planned=150.0, recycled_to=-600.0), hold(-300.0, 200.0, 400.0, planned=150.0, pass_=2)], [], [], 900.0)
    assert [r["slip_s"] for r in rows] == [200.0 - 150.0 + 300.0, 200.0] and [r["excess_s"] for r in rows] == [50.0, 50.0]
    forget_lengths(rows)
    assert [r["duration_s"] for r in rows] == [200.0, 200.0]
    unplanned = hold_rows([hold(-300.0, -300.0, -100.0)], [], [], 900.0)
    forget_lengths(unplanned)
    assert [unplanned[0][k] for k in ("duration_s", "excess_s", "slip_s")] == [None] * 3


@pytest.mark.parametrize(("calls", "event"), [
    ([call(-315.0, "hold", utterance=1)], 1), ([call(-316.0, "hold", utterance=1)], None), ([call(-270.0, "cutoff", utterance=1)], 1), ([call(-269.0, "hold", utterance=1)], None),
    ([call(-300.0, "resume", utterance=1)], None), ([call(-305.0, "hold", utterance=1), call(-303.0, "hold", utterance=2)], 2), ([call(-305.0, "hold", utterance=1), call(-301.0, "hold", utterance=2, weight=4.0)], 1),
    ([call(-303.0, "hold", utterance=2), call(-297.0, "hold", utterance=1)], 1)])
def test_which_call_is_the_holds(calls: list[Call], event: int | None) -> None:
    """At most 15 s before it began and 30 s after; the surer, then the nearer, then the first."""
    assert hold_rows([hold(-300.0, -300.0, -100.0)], calls, [], 500.0)[0]["event"] == event


def test_a_call_stamped_to_the_minute_is_the_holds_from_further_off() -> None:
    row = hold_rows([hold(-300.0, -300.0, -100.0)], [replace(call(-345.0, "hold", utterance=1), sigma=17.3), replace(call(-60.0, "resume", utterance=2), sigma=17.3)], [], 500.0)[0]
    assert (row["event"], row["resume_event"], row["basis"]) == (1, 2, "called")


@pytest.mark.parametrize(("calls", "event"), [([call(-130.0, "resume", utterance=1)], 1), ([call(-131.0, "resume", utterance=1)], None), ([call(-85.0, "resume", utterance=1)], 1),
                                              ([call(-84.0, "resume", utterance=1)], None), ([call(-100.0, "hold", utterance=1)], None)])
def test_which_call_is_the_resume(calls: list[Call], event: int | None) -> None:
    assert hold_rows([hold(-300.0, -300.0, -100.0)], calls, [], 500.0)[0]["resume_event"] == event


@pytest.mark.parametrize(("announced", "event"), [
    ((-315.0, -300.0, 5, 0.0), 5), ((-316.0, -300.0, 5, 0.0), None), ((-240.0, -302.0, 5, 0.0), 5), ((-239.0, -300.0, 5, 0.0), None), ((-300.0, -303.0, 5, 0.0), None),
    ((-374.0, -300.0, 5, 17.3), 5), ((-376.0, -300.0, 5, 17.3), None)])
def test_a_hold_is_called_too_by_who_says_that_the_count_is_holding(announced: tuple[float, float, int, float], event: int | None) -> None:
    row = hold_rows([hold(-300.0, -300.0, -100.0)], [], [announced], 500.0)[0]
    assert (row["event"], row["basis"]) == (event, "called" if event else "inferred")


def test_holds_at_one_count_time_with_next_to_nothing_between_are_one() -> None:
    a, b = hold(-300.0, -300.0, -200.0, inferred=True), hold(-298.0, -198.0, -100.0, recycled_to=-600.0)
    assert [(h.t, h.start, h.end, h.recycled_to, h.inferred) for h in joined([b, a])] == [(-300.0, -300.0, -100.0, -600.0, False)]
    assert joined([a, hold(-300.0, -200.0, -100.0, inferred=True)])[0].inferred
    for other in (hold(-296.9, -198.0, -100.0), hold(-300.0, -197.9, -100.0), hold(-300.0, -198.0, -100.0, pass_=2)):
        assert len(joined([a, other])) == 2
    assert len(joined([hold(-300.0, -300.0, -200.0, recycled_to=-600.0), b])) == 2 and len(joined([hold(-300.0, -300.0, None), b])) == 2


def test_the_holds_table_is_numbered_in_time_and_has_instants() -> None:
    frame = holds_frame([{"start_u": -300.0, "end_u": -120.5, "pass": 1, "t_s": -300.0, "planned_s": 0.0, "kind": "unplanned", "basis": "called"},
                         {"start_u": 10.0, "end_u": None, "pass": 2, "t_s": -90.0, "planned_s": 0.0, "kind": "unplanned", "basis": "called"}], T0_US)
    assert frame["hold"].tolist() == [0, 1] and frame["start_utc"].astype("int64").tolist() == [T0_US - 300_000_000, T0_US + 10_000_000]
    assert frame["end_utc"].iloc[0] == pd.Timestamp(T0_US - 120_500_000, unit="us", tz="UTC") and pd.isna(frame["end_utc"].iloc[1])
    assert holds_frame([], T0_US).empty


def moved(rows: list[dict[str, Any]], segments: list[Segment], t0: float | None, holds: tuple[tuple[float, float], ...] = ()) -> list[tuple]:
    return [(s.cause, s.t_s, s.seconds, s.hold) for s in slips(rows, segments, Prior(holds, 0.0, 0.0), t0)]


def test_what_moved_t0() -> None:
    ran = [segment(COUNTING, -900.0, 100.0, -1000.0)]
    assert moved([], ran, 100.0) == [("began_late", -1000.0, 100.0, None)]
    assert moved([], ran, None) == [] and moved([], [], 100.0) == []
    assert moved([{"t_s": -300.0, "slip_s": 40.0, "planned_s": 0.0, "start_u": 0.0}], ran, 150.0) == [
        ("began_late", -1000.0, 100.0, None), ("hold", -300.0, 40.0, 0), ("outside_holds", None, 10.0, None)]
    assert moved([{"t_s": -300.0, "slip_s": None, "planned_s": 0.0, "start_u": 0.0}], ran, None) == []
    assert moved([{"t_s": -300.0, "slip_s": 40.0, "planned_s": 0.0, "start_u": 0.0}], ran, None) == [("hold", -300.0, 40.0, 0)]


@pytest.mark.parametrize(("at", "taken", "counts"), [(-300.0, None, True), (-300.0, -301.0, False), (-300.0, -301.1, True), (-1001.0, None, False), (-1002.0, None, False), (0.0, None, True), (1.0, None, False)])
def test_a_planned_hold_that_was_run_past_brings_t0_forward(at: float, taken: float | None, counts: bool) -> None:
    """A clock that begins where a planned hold ends, after its length, ran past none."""
    rows = [] if taken is None else [{"t_s": taken, "slip_s": 0.0, "planned_s": 60.0, "start_u": 0.0}]
    got = moved(rows, [segment(COUNTING, -1000.0, 500.0, -1000.0)], -60.0, ((at, 60.0),))
    assert (("hold_not_taken", at, -60.0, None) in got) == counts


@pytest.mark.parametrize(("h", "first", "inside", "last"), [
    ({}, (None, -120.0), (-60.0, -60.0), (0.0, None)), ({"inferred": False}, None, None, None), ({"planned": 60.0}, None, None, None), ({"planned": 60.0, "shared": True}, (None, -120.0), (-60.0, -60.0), (0.0, None)),
    ({"low": -122.4, "high": -117.5}, None, None, None), ({"low": -122.5, "high": -117.5}, (None, -122.5), (-60.0, -60.0), (-57.5, None))])
def test_where_a_silent_hold_leaves_the_clock_unsure(h: dict, first: tuple | None, inside: tuple | None, last: tuple | None) -> None:
    """Held a minute at T-120, somewhere in its bracket: unsure by half the bracket, or half the hold, whichever is less."""
    span = {"low": -120.0, "high": -60.0} | h
    out = mark_unsure([segment(COUNTING, -600.0, -120.0, -600.0), segment(HOLDING, -120.0, -60.0, -120.0), segment(COUNTING, -60.0, 60.0, -120.0)],
                      [hold(-120.0, -120.0, -60.0, **({"inferred": True} | span))])
    assert [(s.sure_from, s.sure_to) for s in out] == [first or (None, None), inside or (None, None), last or (None, None)]
    most = min(span["high"] - span["low"], 60.0) / 2
    assert [s.unsure for s in out] == [most if x else None for x in (first, inside, last)]


def test_the_clock_table_and_what_it_reads_when() -> None:
    made = frames.clock_frame([segment(COUNTING, -600.0, -120.0, -600.0, sure_to=-200.0, unsure=9.0), segment(COUNTING, -120.0, -120.0 + 4e-7, -120.0),
                               segment(HOLDING, -120.0, -60.0, -120.0, sigma=1.5), segment(COUNTING, -60.0, 60.0, -120.0, pass_=2, sure_from=0.0, unsure=7.0)], T0_US)
    assert made[["segment", "pass", "state", "start_t_s", "end_t_s", "sigma_s"]].values.tolist() == [
        [0, 1, "counting", -600.0, -120.0, 0.5], [1, 1, "holding", -120.0, -120.0, 1.5], [2, 2, "counting", -120.0, 0.0, 0.5]]
    us = [T0_US + round(s * 1e6) for s in (-601, -600, -200, -199, -120, -60, -1, 0, 60, 61)]
    t, state, pass_, sigma = clocks.at(made, [*us, None])
    assert t.tolist() == pytest.approx([nan, -600, -200, -199, -120, -120, -61, -60, 0, nan, nan], nan_ok=True)
    assert state.tolist() == [None, "counting", "counting", "counting", "holding", "counting", "counting", "counting", "counting", None, None]
    assert pass_.tolist() == [0, 1, 1, 1, 1, 2, 2, 2, 2, 0, 0]
    assert sigma.tolist() == pytest.approx([nan, 0.5, 0.5, 9.0, 1.5, 7.0, 7.0, 0.5, 0.5, nan, nan], nan_ok=True)
    assert frames.utc_column([1.5, None, nan, inf], T0_US).isna().tolist() == [False, True, True, True]


# --- how it ended ---

def outcome(calls: list[Call], last: float, end: float, kept: set[int] | None = None, lit: tuple[float, ...] = (), z: float = 0.0) -> tuple[str, float | None]:
    stairs = Staircase(segments=[segment(COUNTING, -600.0, end, -600.0 - z)])
    got = judge(stairs, [piece(COUNTING, z, -600.0, last)], calls, kept or set(), lit)
    return got.outcome, got.u


@pytest.mark.parametrize(("calls", "last", "end", "kept", "lit", "expected"), [
    ([], -30.0, 10.1, None, (), ("liftoff", 0.0)), ([], -31.0, 10.1, None, (), ("unresolved", None)), ([], -30.0, 10.0, None, (), ("unresolved", 0.0)), ([], -10.0, -3.0, None, (), ("unresolved", 0.0)),
    ([], -10.0, -3.1, None, (), ("unresolved", None)), ([call(0.0, "liftoff", row=4)], -5.0, 0.0, {4}, (), ("liftoff", 0.0)), ([call(0.0, "liftoff", row=4)], -5.0, 0.0, {3}, (), ("unresolved", 0.0)),
    ([], -100.0, -1.0, None, (-2.0,), ("liftoff", 0.0)), ([], -100.0, -1.0, None, (-2.1,), ("unresolved", None)), ([], -100.0, -1.0, None, (10.0,), ("liftoff", 0.0)), ([], -100.0, -1.0, None, (10.1,), ("unresolved", None)),
    ([call(5.0, "cutoff")], -5.0, 20.0, None, (-1.0,), ("cutoff", 5.0)), ([call(-36.0, "scrub")], -5.0, 20.0, None, (), ("liftoff", 0.0)), ([call(-35.0, "scrub")], -5.0, 20.0, None, (), ("scrub", -35.0)),
    ([call(5.0, "cutoff"), call(50.0, "scrub")], -5.0, 20.0, None, (), ("scrub", 50.0)), ([call(5.0, "scrub", weight=3.9)], -5.0, 20.0, None, (), ("liftoff", 0.0)), ([call(5.0, "scrub", weight=4.0)], -5.0, 20.0, None, (), ("scrub", 5.0)),
    ([call(5.0, "scrub"), call(9.0, "scrub")], -500.0, -400.0, None, (), ("scrub", 5.0)), ([call(5.0, "cutoff"), call(0.0, "liftoff", row=4)], -5.0, 20.0, {4}, (), ("liftoff", 0.0))])
def test_how_the_count_ended(calls: list[Call], last: float, end: float, kept: set[int] | None, lit: tuple[float, ...], expected: tuple) -> None:
    assert outcome(calls, last, end, kept, lit) == expected


def test_a_stretch_that_nobody_read_and_no_call_began_proves_nothing() -> None:
    stairs = Staircase(segments=[segment(COUNTING, -600.0, 60.0, -600.0)])
    assert judge(stairs, [piece(COUNTING, 0.0, -600.0, 0.0, marks=0)], [], set()).outcome == "unresolved"
    assert judge(stairs, [piece(COUNTING, 0.0, -600.0, 0.0, marks=0, called=(3,))], [], set()).outcome == "liftoff"
    assert judge(stairs, [piece(COUNTING, 0.0, -600.0, 0.0), piece(HOLDING, -1.0, 5.0, 9.0)], [], set()).outcome == "unresolved"
    assert judge(Staircase(), [piece(COUNTING, 0.0, -600.0, 0.0)], [], set()).u is None


def test_the_clock_ends_with_a_scrub() -> None:
    parts = [segment(COUNTING, -600.0, -100.0, -600.0), segment(HOLDING, -100.0, 50.0, -100.0), segment(COUNTING, 50.0, 90.0, -100.0)]
    assert [s[1:6] for s in shown(ended(parts, -200.0))] == [("count", -600, -200, -600, -200)]
    assert [s[1:6] for s in shown(ended(parts, 20.0))] == [("count", -600, -100, -600, -100), ("hold", -100, 20, -100, -100)]
    assert ended(parts, inf) == parts and [s.end for s in ended(parts, 50.0)] == [-100.0, 50.0]


# --- each log's own time ---

def test_a_logs_line_with_a_reset_and_a_drift() -> None:
    time = SourceTime((10.0, -50.0), (-inf, 5.0), (100.0, 1000.0), (0.3, 0.4), drift=0.01, drift_sigma=0.001)
    own, which = np.array([100.0, 300.0, 1000.0, 1200.0]), np.array([0, 4, 5, 9])
    assert time.to_u(own, which).tolist() == pytest.approx([110.0, 312.0, 950.0, 1152.0])
    assert time.sigma_at(own, which).tolist() == pytest.approx([0.3, hypot(0.3, 0.2), 0.4, hypot(0.4, 0.2)]) and time.sigma == 0.4
    assert np.isnan(SourceTime((0.0,), known=False).to_u(own, which)).all()
    assert time.same_as(SourceTime((10.5, -50.5), (-inf, 5.0)), 0.5) and not time.same_as(SourceTime((10.5, -50.6), (-inf, 5.0)), 0.5)
    assert not time.same_as(SourceTime((10.0, -50.0), (-inf, 6.0)), 0.5) and not SourceTime((0.0,)).same_as(SourceTime((0.0,), known=False), 9.0)


def test_what_is_thought_of_an_offset_before_it_is_measured() -> None:
    """A log that tells UTC is likely right to within five seconds, or wrong by whole half hours."""
    bump = [6 * np.exp(-x**2 / 2) for x in (0.0, 1.0, 2.0)]
    assert _prior(np.array([0.0, 5.0, -10.0, 1800.0, -3595.0, 900.0]), True).tolist() == pytest.approx([bump[0] + 2, bump[1] + 2, bump[2], 2.0, 2.0, 0.0], abs=1e-9)
    assert _prior(np.array([0.0, 1800.0]), False).tolist() == [0.0, 0.0]


def test_a_log_is_taken_to_be_reset_where_the_votes_outweigh_the_cost() -> None:
    """Fourteen nats a change: five items of three nats each pay for one, four do not."""
    def gain(first: int, then: int) -> np.ndarray:
        return np.array([[3.0, 0.0]] * first + [[0.0, 3.0]] * then)

    assert _stretches(gain(5, 5)).tolist() == [0] * 5 + [1] * 5 and _stretches(gain(5, 4)).tolist() == [0] * 9 and _stretches(gain(4, 5)).tolist() == [1] * 9
    back = np.concatenate([gain(10, 10), gain(10, 0)])
    assert _stretches(back).tolist() == [0] * 10 + [1] * 10 + [0] * 10


def test_scatter_of_a_few_values() -> None:
    assert scale(np.array([1.0, 2.0, 9.0])) == pytest.approx(1.4826 * 1.0 * 1.495) and scale(np.array([1.0, 2.0, 9.0]), 0.0) == pytest.approx(1.4826 * 2.0 * 1.495)
    assert scale(np.array([4.0])) == 0.0 and scale(np.array([4.0]), 1.0) == pytest.approx(1.4826 * 3.0) and np.isnan(scale(np.zeros(0)))
    assert scale(np.array([0.0, 2.0])) == pytest.approx(1.4826 * 1.196) and scale(np.arange(10.0)) == pytest.approx(1.4826 * 2.5 * 10 / 9.2)
    assert [few(n, f) for n, f in ((5, 1), (4, 1), (3, 1), (12, 2))] == pytest.approx([sqrt(2), sqrt(3), 2.0, sqrt(10 / 8)]) and few(1, 1) == 2.0
    assert as_share(0.3, 4) == pytest.approx(hypot(0.3, 0.25))


def stretch(values: list[float], sigma: float, source: int = 0, start: float = 0.0) -> Readings:
    n = len(values)
    return Readings(np.array(values), np.full(n, sigma), np.full(n, source), start)


def test_how_sure_a_stretch_is() -> None:
    [(value, sigma)] = sure([stretch([10.0, 12.0], 1.0)])
    assert value == pytest.approx(11.0) and sigma == pytest.approx(hypot(2**-0.5, 0.2))  # two marks of a person, and one voice's habit
    [(one, s1)] = sure([stretch([7.0], 2.0, start=7.0)])
    assert (one, s1) == pytest.approx((7.0, hypot(2.0, 0.2)))
    [(machine, s2)] = sure([stretch([7.0], 0.05, start=7.0)])
    assert (machine, s2) == pytest.approx((7.0, 0.05))
    [(cut, s3)] = sure([stretch([7.0], 0.2, start=7.0)])
    assert (cut, s3) == pytest.approx((7.0, hypot(0.2, 0.29)))
    # a mark three sigmas off pulls like one of one and a half
    [(pulled, _)] = sure([stretch([0.0, 0.0, 0.0, 30.0], 1.0)])
    assert pulled == pytest.approx(0.5)
    assert sure([]) == []


def test_a_logs_marks_are_as_sure_as_they_agree() -> None:
    """Five marks of a stated second that scatter by a fifth: median absolute deviation 0.2, of five values 1.206 times 1.4826."""
    values = [-0.4, -0.2, 0.0, 0.2, 0.4]
    [(value, sigma)] = sure([stretch(values, 1.0)])
    share = hypot(1.4826 * 1.206 * 0.2, 0.2)
    assert value == pytest.approx(0.0, abs=1e-9) and sigma == pytest.approx(hypot(share / 5**0.5 * 2**0.5, 0.2))
    eight = sure([stretch([0.0] * 8 + [0.3], 0.05)])[0]
    assert eight[0] == pytest.approx(0.0, abs=0.01)  # most machine marks agree to the last digit


def test_cues_are_compared_with_those_of_as_many_words() -> None:
    length = np.array([1.0, 1.2, 1.1, 1.3, 0.9, 5.0, nan, 2.0, 2.0, 2.5, 2.0, 2.0, 9.0])
    words = np.array([3, 3, 3, 3, 3, 9, 3, 4, 4, 4, 4, 4, 5])
    assert longer(length, words).tolist() == pytest.approx([-0.1, 0.1, 0.0, 0.2, -0.2, 0.0, 0.0, 0.5, 0.0, 0.0])
    assert not len(longer(np.full(4, nan), np.full(4, 3)))


def of_keeper(residuals: list[float], step: float) -> Delay:
    return typed([Residuals(np.array(residuals))], step)


def test_the_delay_of_a_logs_stamps() -> None:
    assert (machine(1.0).mean, machine(1.0).sigma, machine(1.0).whole) == pytest.approx((-0.5, 12**-0.5, hypot(0.5, 12**-0.5)))
    cues = speech(1.0, 0.3)
    assert (cues.mean, cues.sigma, cues.single) == pytest.approx((-0.5, hypot(12**-0.5, 0.1), hypot(12**-0.5, 0.3)))
    before = of_keeper([], 0.0)
    share = np.exp(-((np.log(MEANS_S) / np.log(2)) ** 2) / 2)
    share /= share.sum()
    middle = float((share * MEANS_S).sum())
    off = stats.lognorm(np.log(2)).rvs(200_000, random_state=1)
    off = np.abs(off - off.mean())
    assert (before.mean, before.sigma) == pytest.approx((middle, honest(off, np.ones(len(off)))), rel=0.06)
    assert of_keeper([], 1.0).mean == pytest.approx(middle - 0.5) and of_keeper([], 1.0).sigma == pytest.approx(before.sigma)
    cut_off = np.abs(np.linspace(-30.0, 30.0, 601)[:, None] + MEANS_S - middle)  # anything from none to all of a minute
    assert of_keeper([], 60.0).sigma == pytest.approx(honest(cut_off.ravel(), np.broadcast_to(share, cut_off.shape).ravel()), rel=0.01)
    tight, wide = of_keeper([0.0, 0.1, -0.1] * 9, 0.0), of_keeper([0.0, 3.0, -3.0] * 9, 0.0)
    assert tight.mean < 0.6 < 3.0 < wide.mean and tight.sigma < before.sigma  # delays spread as wide as they are long
    assert of_keeper([0.0, 3.0], 0.0).mean == pytest.approx(middle) and of_keeper([0.0, 3.0, -3.0] * 9, 6.0).mean == pytest.approx(middle - 3.0, abs=0.2)
    for medium, least in (("machine", MACHINE_SIGMA_S), ("typed", NOTE_DELAY_S), ("speech", CUE_EDGE_S)):
        assert resolution(medium, hypot(least, 60 * RESOLUTION_SHARE)) == pytest.approx(60.0) and resolution(medium, 0.0) == 0.0


def test_the_share_of_a_normal_law_that_the_scale_stands_for() -> None:
    """1.4826 median absolute deviations are one standard deviation: half of a normal law lies within 1/1.4826 of the middle."""
    assert erf(1 / 1.4826 / sqrt(2)) == pytest.approx(0.5, abs=1e-4)


# --- logs that tell only the count ---

def told(t: list[float], hold: list[int] | None = None, resume: list[int] | None = None, recycle: list[int] | None = None) -> Told:
    def flags(at: list[int] | None) -> np.ndarray:
        return np.isin(np.arange(len(t)), at or [])

    return Told(np.array(t, dtype=float), flags(hold), flags(resume), flags(recycle))


@pytest.mark.parametrize(("t", "recycle", "expected"), [
    ([-600, -500, -400], [], [1, 1, 1]), ([-600, -500, -504.9, -400], [], [1, 1, 1, 1]), ([-600, -500, -505.1, -400], [], [1, 1, 0, 1]), ([-600, -500, -550, -540], [], [1, 1, 2, 2]),
    ([-600, -500, -550], [], [1, 1, 2]), ([-600, -500, -550, -400], [1], [1, 1, 2, 2]), ([-600, -500, -490, -480, -470, -550, -400], [1], [1, 1, 1, 1, 1, 0, 1]), ([-600, -500, -490, -480, -550, -400], [1], [1, 1, 1, 1, 2, 2])])
def test_which_pass_an_entry_was_made_in(t: list[float], recycle: list[int], expected: list[int]) -> None:
    assert passes(np.array(t, dtype=float), np.isin(np.arange(len(t)), recycle)).tolist() == expected


def test_entries_on_the_schedule() -> None:
    got = lay(told([-900, -540, -540, -540, -300, -200, -200, -100], hold=[5], resume=[3, 6]), ((-540.0, 600.0),))
    # a planned ten minutes at T-540 for three entries, the last of which resumes; an unplanned hold of two entries stands for twice 15 s
    assert got.u.tolist() == [-1500, -1140, -840, -540, -300, -200, -170, -70]
    even = 12**-0.5
    assert got.sigma.tolist() == pytest.approx([0, 0, even * 600, 0, 0, 0, 0, 0])
    late = lay(told([-900, -700, -800, -600, -500], hold=[]), ())
    assert late.u.tolist() == [-900, -700, -800, -600, -500]
    again = lay(told([-900, -700, -850, -600], recycle=[1]), ())
    assert again.u.tolist() == [-900, -700, -685, -435]  # set back: a quarter of a minute later


def test_entries_on_a_known_clock() -> None:
    clock = frames.clock_frame([segment(COUNTING, -600.0, -300.0, -600.0), segment(HOLDING, -300.0, -100.0, -300.0), segment(COUNTING, -100.0, 200.0, -300.0)], T0_US)
    got = place(told([-500, -300, -300, -300, -200, 50], resume=[3]), clock, T0_US)
    assert got.u.tolist() == pytest.approx([-500, -300, -200, -100, 0, nan], nan_ok=True)
    assert got.sigma.tolist() == pytest.approx([0, 0, 12**-0.5 * 200, 0, 0, 0])
    alone = place(told([-300]), clock, T0_US)
    assert (alone.u.tolist(), alone.sigma.tolist()) == ([-300.0], [0.0])
    open_ = place(told([-300, -300]), clock, T0_US)
    assert open_.u.tolist() == [-300.0, -200.0]


def test_planned_time_still_to_come() -> None:
    field = Field(np.zeros(0), np.zeros(0), np.array([-540.0, -240.0]), np.array([600.0, 300.0]), np.zeros(0), np.zeros(0))
    assert field.remaining(np.array([-600.0, -540.0, -542.0, -400.0, -240.0, 0.0])).tolist() == [900, 300, 900, 300, 0, 0]
    assert field.passed(np.array([-600.0, -540.0, -538.5, -240.0, 0.0])).tolist() == [0, 0, 1, 1, 2]
    assert field.is_builtin(np.array([-541.0, -540.0, -538.9, -240.5])).tolist() == [True, True, False, True]
