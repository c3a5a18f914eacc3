"""What each reading allows of a log's offset, which readings are one, what is worth trying for the clock, which log is the reference: small cases by hand.

Seconds after the scheduled T-0; count times in seconds. The staircase counts to T-300, holds there for 200 s and counts on.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from aftercount.timeline.align import _best, _tried, align
from aftercount.timeline.candidates import candidates
from aftercount.timeline.delays import Delay
from aftercount.timeline.evidence import STAMPED, Evidence, Spoken, _still_running
from aftercount.timeline.model import (
    ANY,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    MARK,
    RESUME_CALL,
    TARGET,
    Nodes,
)
from aftercount.timeline.nodes import build
from aftercount.timeline.offsets import Settled, entry_sigma
from aftercount.timeline.pieces import Piece
from aftercount.timeline.rebuild import calls_at, planned_holds, span
from aftercount.timeline.refining import anchors, moved
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.staircase import Segment, Staircase
from aftercount.timeline.votes import (
    CALLED,
    COUNTED,
    MARKED,
    OF_LOG,
    SHARED,
    Moment,
    Seen,
    Votes,
    votes,
)
from timeline.heard import Heard

STAIRS = Staircase(segments=[Segment(1, COUNTING, -900.0, -300.0, -900.0, -300.0, 0.5), Segment(1, HOLDING, -300.0, -100.0, -300.0, -300.0, 1.0),
                             Segment(1, COUNTING, -100.0, 200.0, -300.0, 0.0, 2.0)])
PARTS = [Piece(COUNTING, 0.0, 0.5, -900.0, -310.0, 6, 3, ()), Piece(COUNTING, 200.0, 0.5, -90.0, 200.0, 2, 3, ())]
CLOCK: Any = SimpleNamespace(stairs=STAIRS, parts=PARTS)


def said(*rows: dict[str, Any]) -> Evidence:
    base = {"utterance": 0, "source": 0, "own": 0.0, "t": 0.0, "sigma": 1.0, "weight": 8.0, "slack": 2.0, "kind": MARK, "says": ANY, "origin": 0, "row": 0}
    full = [base | {"utterance": k} | r for k, r in enumerate(rows)]
    columns = {c: np.array([r[c] for r in full], dtype=float if c in ("own", "t", "sigma", "weight", "slack") else np.int64) for c in base}
    return Evidence(**columns, read=columns["sigma"])


def cast(*rows: dict[str, Any], moments: tuple[Moment, ...] = (), clock: Any = CLOCK) -> list[tuple]:
    v = votes(said(*rows), clock, list(moments))
    columns = (v.item, v.order, v.lo, v.hi, v.sigma, v.weight, v.kind, v.common, v.stretch, v.sure)
    return [tuple(row) for row, beyond in zip(zip(*(c.tolist() for c in columns), strict=True), v.beyond, strict=True) if not beyond]


def spans(row: dict[str, Any], clock: Any = CLOCK) -> list[tuple[float, float]]:
    return [(v[2], v[3]) for v in cast(row, clock=clock)]


@pytest.mark.parametrize(("row", "expected"), [
    ({"own": -650.0, "t": -600.0}, [(50.0, 50.0)]), ({"own": -50.0, "t": -250.0}, [(0.0, 0.0)]), ({"own": 0.0, "t": -300.0, "says": HOLDING}, [(-300.0, -100.0)]),
    ({"own": 0.0, "t": -300.0}, [(-300.0, -100.0), (-300.0, -300.0), (-100.0, -100.0)]), ({"own": 0.0, "t": -300.0, "says": COUNTING}, [(-300.0, -300.0), (-100.0, -100.0)]),
    ({"own": 0.0, "t": -302.0, "says": HOLDING}, [(-300.0, -100.0)]), ({"own": 0.0, "t": -302.1, "says": HOLDING}, [(-302.1, -302.1)]),
    # past the evidence nobody knows whether the clock held: only a bound is told
    ({"own": 0.0, "t": 60.0}, [(260.0, inf)]), ({"own": 0.0, "t": -1000.0}, [(-inf, -1000.0)])])
def test_when_a_count_was_read(row: dict[str, Any], expected: list[tuple[float, float]]) -> None:
    assert np.array(spans(row)) == pytest.approx(np.array(expected))


def test_the_evidence_bounds_what_is_known() -> None:
    seen = Seen.of(CLOCK)
    assert (seen.first, seen.first_t, seen.last, seen.last_t) == (-900.0, -900.0, 200.0, 0.0)
    held: Any = SimpleNamespace(stairs=STAIRS, parts=[Piece(HOLDING, -300.0, 1.0, -250.0, -150.0, 6, 2, ())])
    seen = Seen.of(held)
    assert (seen.first, seen.first_t, seen.last, seen.last_t) == (-250.0, -300.0, -150.0, -300.0)
    assert seen.bounds(-240.0, -40.0, -40.0) == (-90.0, inf) and seen.bounds(-340.0, -340.0, -340.0) == (-inf, -290.0) and seen.bounds(-300.0, -200.0, -160.0) == (-200.0, -160.0)
    nothing = Seen.of(SimpleNamespace(parts=[]))  # type: ignore[arg-type]
    assert nothing.bounds(-240.0, -40.0, -40.0) == (-40.0, -40.0)


@pytest.mark.parametrize(("t", "beyond"), [(60.0, [(260.0, inf), (260.0, 260.0)]), (-1000.0, [(-inf, -1000.0), (-1000.0, -1000.0)]), (-600.0, [(-600.0, -600.0)])])
def test_where_a_reading_past_the_evidence_would_be_had_the_clock_run_on(t: float, beyond: list[tuple[float, float]]) -> None:
    v = votes(said({"own": 0.0, "t": t}), CLOCK, [])
    assert list(zip(v.lo.tolist(), v.hi.tolist(), strict=True)) == beyond and v.beyond.tolist() == [False, True][: len(beyond)]


@pytest.mark.parametrize(("sigma", "kind", "common"), [(0.4, MARKED, 0.0), (0.5, COUNTED, 0.05), (0.99, COUNTED, 0.05), (1.0, MARKED, 0.2)])
def test_what_all_marks_of_a_kind_may_be_off_by(sigma: float, kind: int, common: float) -> None:
    """A machine by no habit, a voice by two tenths of a second, and by a quarter of that where it counts second by second; and those on one stretch of the clock by its
    sigma."""
    [vote] = cast({"own": -600.0, "t": -600.0, "sigma": sigma})
    assert vote[4:] == (sigma, 8.0, kind, common, 0, 0.5)


def test_calls_vote_for_the_instants_at_which_the_clock_stopped_and_started() -> None:
    assert cast({"own": -310.0, "kind": HOLD_CALL, "weight": 10.0, "t": nan}) == [(0, 0, 10.0, 10.0, 3.0, 5.0, CALLED, 0.5, 1, 1.0)]
    assert cast({"own": -90.0, "kind": RESUME_CALL, "weight": 4.0, "t": nan}) == [(0, 0, -10.0, -10.0, 3.0, 2.0, CALLED, 0.5, 2, 2.0)]
    assert cast({"kind": TARGET}) == []


def test_one_record_is_one_witness_and_moments_come_in_the_order_of_the_log() -> None:
    rows = ({"utterance": 4, "own": -600.0, "t": -600.0}, {"utterance": 4, "own": -600.0, "t": -599.0}, {"utterance": 7, "own": -500.0, "t": -500.0})
    got = cast(*rows, moments=(Moment(2, -700.0, -690.0, 0.25),))
    assert [(v[0], v[1], v[2], v[6]) for v in got] == [(0, 2, 10.0, SHARED), (1, 4, 0.0, MARKED), (1, 4, 1.0, MARKED), (2, 7, 0.0, MARKED)]
    assert got[0][4:6] == (2.0, 3.0) and got[0][7:] == (0.0, OF_LOG, 0.25)
    assert cast() == []


def test_of_very_many_marks_some_are_enough() -> None:
    many = [{"own": -900.0 + k / 4, "t": -900.0 + k / 4} for k in range(1000)]
    got = cast(*many)
    assert len(got) == 250 and (got[0][1], got[-1][1]) == (0, 999)


# --- offsets ---

def ballot(*rows: tuple[float, float, float, float]) -> Votes:
    """rows: lo, hi, sigma, weight; each an item of its own."""
    lo, hi, sigma, weight = (np.array(c, dtype=float) for c in zip(*rows, strict=True))
    n, none = np.arange(len(rows)), np.zeros(len(rows))
    return Votes(n, n, none, lo, hi, sigma, weight, np.full(len(rows), MARKED), none, none > 0, 0 * n, none, none, none)


def test_what_a_vote_is_worth_at_an_offset() -> None:
    """Its weight less half the squared distance in units of its band, the root of sigma² + 1; a range of 20 s is worth half, one without end as one of ten minutes."""
    offsets = np.array([-2.0, 10.0, 11.0, 12.0, 13.0])
    got = _best(ballot((10.0, 10.0, 0.0, 3.0), (10.0, 10.0, 3.0**0.5, 3.0), (-10.0, 10.0, 0.0, 3.0), (12.0, inf, 0.0, 3.1)), offsets)
    assert got.gain.round(6).tolist() == [[0, 3, 2.5, 1, 0], [0, 3, 2.875, 2.5, 1.875], [1.5, 1.5, 1.0, 0, 0], [0, 0, 0, 0.1, 0.1]]
    assert got.row.tolist() == [[k] * 5 for k in range(4)]


def test_of_the_votes_of_one_item_the_best_counts_at_each_offset() -> None:
    both = ballot((0.0, 0.0, 0.0, 3.0), (10.0, 10.0, 0.0, 3.0), (4.0, 4.0, 0.0, 2.0))
    got = _best(replace(both, item=np.array([0, 0, 1])), np.array([0.0, 9.0, 10.0]))
    assert got.gain.tolist() == [[3.0, 2.5, 3.0], [0.0, 0.0, 0.0]] and got.row.tolist() == [[0, 1, 1], [2, 2, 2]]


def test_which_offsets_are_tried() -> None:
    votes_ = ballot((5.004, 5.004, 1.0, 1.0), (5.0, 5.0, 1.0, 1.0), (-3.0, 7.0, 1.0, 1.0), (-inf, 9.0, 1.0, 1.0))
    assert _tried(votes_, False).tolist() == [-3.0, 5.0, 7.0, 9.0] and _tried(votes_, True).tolist() == [-3.0, 0.0, 5.0, 7.0, 9.0]
    many = _tried(ballot(*((float(k), float(k), 1.0, 1.0) for k in range(2000))), False)
    assert (len(many), many[0], many[-1]) == (500, 0.0, 1999.0)


def test_readings_past_the_evidence_that_a_running_clock_explains_are_no_reset() -> None:
    """The count is set back from T-28 to T-420 at 300 s, and the log that tells so says nothing after: what another reads then, on its clock that is right all
    along, was read in the first pass as well, by a clock that would have been set by twelve minutes."""
    stairs = Staircase(segments=[Segment(1, COUNTING, -3600.0, -28.0, -3600.0, -28.0, 0.3), Segment(1, HOLDING, -28.0, 300.0, -28.0, -28.0, 0.3),
                                 Segment(2, COUNTING, 300.0, 1000.0, -420.0, 280.0, 0.3)])
    clock: Any = SimpleNamespace(stairs=stairs, parts=[Piece(COUNTING, 0.0, 0.3, -3600.0, -60.0, 6, 9, ()), Piece(COUNTING, 720.0, 0.3, 300.0, 330.0, 5, 2, ())])
    first = [{"own": t - 50.0, "t": t} for t in np.arange(-3000.0, -60.0, 240.0)]
    later = [{"own": t + 720.0 - 50.0, "t": t} for t in np.arange(-360.0, -10.0, 20.0)]
    found = align(votes(said(*first, *later), clock, []), utc=False)
    assert found is not None and found.offsets == pytest.approx([50.0], abs=0.1)
    held = [{"own": r["own"] + 900.0, "t": r["t"]} for r in later]  # past a hold of which nothing is known: neither is it, and no clock was set
    found = align(votes(said(*first, *held), clock, []), utc=False)
    assert found is not None and found.offsets[0] == pytest.approx(50.0, abs=0.1)


def test_what_the_logs_cover_and_the_calls_in_order() -> None:
    plan: Any = SimpleNamespace(steps=pd.DataFrame({"t_s": [-600.0, 30.0]}), holds=pd.DataFrame({"t_s": [-540.0, -700.0], "duration_s": [600.0, nan]}))
    assert planned_holds(plan) == ((-700.0, 0.0), (-540.0, 600.0))
    assert span(np.array([nan, 5.0, -7.0]), plan, ()) == (-7.0, 5.0)
    assert span(np.array([nan]), plan, ((-700.0, 50.0), (-600.0, 20.0), (-540.0, 600.0))) == (-1220.0, 30.0)
    empty: Any = SimpleNamespace(steps=pd.DataFrame({"t_s": []}))
    assert span(np.zeros(0), empty, ((-1.0, 50.0),)) == (-51.0, 0.0)
    calls = pd.DataFrame({"utterance": [2, 0, 1, 2], "what": ["resume", "hold", "scrub", "hold"], "grade": ["certain", "likely", "certain", "doubtful"], "t_s": [nan, -5.0, nan, nan], "to_t_s": [nan] * 4})
    got = calls_at(calls, np.array([9.0, nan, 4.0]), np.array([0.5, nan, nan]))
    assert [(c.u, c.what, c.weight, c.utterance, c.row) for c in got] == [(4.0, "resume", 10.0, 2, 0), (4.0, "hold", 1.5, 2, 3), (9.0, "hold", 4.0, 0, 1)]


def test_how_sure_an_entry_is_of_its_time() -> None:
    """A line good to 3 s, entries that scatter by 4 s, a frame that may be off by 12 s: 13 s. An entry whose words are read less well than the log's best has what it is worse by beside."""
    def sigma(own: list[float], single: float = nan, stamp: float = nan, whole: float = 0.0, known: bool = True, shared: int = 1, reference: int = 1) -> list[float]:
        n = len(own)
        heard = Spoken(np.zeros(n), np.array(own), np.zeros(n, dtype=np.int64), ["a", "b"], ["utc", "utc"], ["typed", "typed"], np.full(n, nan), np.zeros(n), np.full(n, nan), np.zeros(n, dtype=np.int64), np.full(n, nan))
        times = [SourceTime((0.0,), sigmas=(3.0,), shared=shared), SourceTime((0.0,))]
        late = [Delay(0.0, 0.0, 12.0, single, stamp), Delay(0.0, 0.0, whole)]
        return entry_sigma(heard, Settled(times, times, reference, known, late)).tolist()

    assert sigma([4.0]) == [5.0] and sigma([4.0], whole=12.0) == [13.0] and sigma([4.0], whole=12.0, known=False) == [5.0]
    assert sigma([1.0], single=4.0, stamp=9.0) == [5.0] and sigma([5.0, 3.0], single=0.0) == pytest.approx([5.0, 3.0])
    assert sigma([1.0], single=9.0, stamp=4.0, shared=0) == [5.0]  # by nothing but what it says itself: its mean lateness is not in its line
    assert sigma([1.0], single=9.0, stamp=4.0, reference=0) == [5.0]  # the frame's error is that of its own entries, and told once
    assert Settled([], [], None, True).frame_sigma == 0.0


def test_what_a_reference_is_late_by_is_in_its_sigma_once() -> None:
    """Left in, all of it is; taken out of all times, what is left."""
    late = [Delay(1.0, 0.2, 5.0, 3.0, 9.0, 4.0)]
    heard = Spoken(np.zeros(1), np.ones(1), np.zeros(1, dtype=np.int64), ["a"], ["utc"], ["typed"], np.full(1, nan), np.zeros(1), np.full(1, nan), np.zeros(1, dtype=np.int64), np.full(1, nan))
    times = [SourceTime((0.0,), sigmas=(0.0,))]
    kept, out = Settled(times, times, 0, True, late), Settled(times, times, 0, True, late, lag=1.0)
    assert (kept.frame_sigma, out.frame_sigma) == (5.0, 4.0)
    assert entry_sigma(heard, kept).tolist() == [9.0] and entry_sigma(heard, out).tolist() == [5.0]


# --- nodes ---

def nodes(*rows: dict[str, Any]) -> list[tuple]:
    e = said(*rows)
    made = build(e, e.own).nodes
    return [tuple(row) for row in zip(*(getattr(made, c).tolist() for c in ("start", "end", "t", "weight", "says", "strict")), strict=True)]


def test_a_run_of_equal_machine_marks_is_one_node() -> None:
    run = [{"own": float(k), "t": -100.0 + k + d, "sigma": 0.5} for k, d in enumerate((0.0, 0.2, 0.4, -0.2, 0.0))]
    assert nodes(*run) == [(0.0, 4.0, pytest.approx(-100.0), 32.0, COUNTING, True)]  # four marks' worth at most
    assert nodes(*run[:2]) == [(0.0, 1.0, pytest.approx(-99.9), 16.0, COUNTING, True)]
    held = [{"own": 60.0 * k, "t": -100.0, "sigma": 0.5, "origin": STAMPED} for k in range(3)]
    assert nodes(*held) == [(0.0, 120.0, -100.0, 24.0, HOLDING, True)]


def test_people_who_say_one_count_twice_may_have_been_wrong_the_first_time() -> None:
    heard = [{"own": 60.0 * k, "t": -100.0} for k in range(3)]
    assert len(nodes(*heard)) == 3
    assert nodes(*(h | {"says": HOLDING} for h in heard)) == [(0.0, 120.0, -100.0, 24.0, HOLDING, True)]


@pytest.mark.parametrize(("second", "joined"), [
    ({}, True), ({"t": -98.25}, True), ({"t": -98.24}, False), ({"source": 1}, False), ({"kind": HOLD_CALL}, False), ({"says": COUNTING}, True), ({"says": HOLDING}, False)])
def test_which_marks_are_one(second: dict[str, Any], joined: bool) -> None:
    got = nodes({"own": 0.0, "t": -100.0, "sigma": 0.5}, {"own": 1.0, "t": -99.0, "sigma": 0.5} | second)
    assert len(got) == (1 if joined else 2)
    if not joined:
        assert [g[5] for g in got] == [False, False]


RESUMES = [{"kind": RESUME_CALL, "own": 20.0 * k, "t": nan} for k in range(5)]


@pytest.mark.parametrize(("rows", "still"), [
    (RESUMES, [1, 2, 3, 4]),
    (RESUMES[:4], []),
    ([*RESUMES[:3], {"kind": HOLD_CALL, "own": 45.0}, *RESUMES[3:]], []),
    ([*RESUMES[:3], {"says": HOLDING, "own": 45.0}, *RESUMES[3:]], []),
    ([*RESUMES[:3], {"says": COUNTING, "own": 45.0}, {"kind": TARGET, "own": 46.0}, *RESUMES[3:]], [1, 2, 5, 6]),
    ([r | {"own": 3.0 * r["own"]} for r in RESUMES], [1, 2, 3, 4]),
    ([r | {"own": 3.1 * r["own"]} for r in RESUMES], []),
    ([r | {"source": k % 2} for k, r in enumerate(RESUMES)], []),
    ([RESUMES[0] | {"own": -3600.0}, *RESUMES], [2, 3, 4, 5]),
])
def test_resumes_that_a_log_repeats_tell_that_the_count_runs(rows: list[dict[str, Any]], still: list[int]) -> None:
    assert np.flatnonzero(_still_running(said(*rows))).tolist() == still


def test_nodes_come_in_order_of_time_and_remember_their_items() -> None:
    e = said({"own": 50.0, "t": -10.0}, {"own": 0.0, "t": -100.0, "sigma": 0.5}, {"own": 1.0, "t": -99.0, "sigma": 0.5})
    built = build(e, e.own)
    assert built.order.tolist() == [1, 2, 0] and built.node_of.tolist() == [0, 0, 1] and built.nodes.start.tolist() == [0.0, 50.0]


# --- what is worth trying ---

def tried(*rows: dict[str, Any], holds: tuple[tuple[float, float], ...] = (), recycles: tuple[float, ...] = (), resumes: tuple[float, ...] = ()) -> tuple[list[float], list[float]]:
    base = {"start": 0.0, "t": nan, "sigma": 1.0, "weight": 8.0, "kind": MARK, "says": ANY, "strict": False}
    full = [base | r for r in rows]
    kinds = {"kind": np.int64, "says": np.int64, "strict": bool}
    made = {c: np.array([r[c] for r in full], dtype=kinds.get(c, float)) for c in base}
    field = candidates(Nodes(made["start"], made["start"], made["t"], made["sigma"], made["weight"], made["sigma"], made["kind"], made["says"], made["strict"], made["sigma"]),
                       np.array([h[0] for h in holds], dtype=float), np.array([h[1] for h in holds], dtype=float), np.array(recycles, dtype=float), np.array(resumes, dtype=float))
    assert (field.recycles.tolist(), field.resumes.tolist()) == (sorted(recycles), sorted(resumes))
    return field.z.tolist(), field.t.tolist()


def test_a_plan_alone_names_its_own_t0s_and_holds() -> None:
    assert tried(holds=((-540.0, 600.0), (-240.0, 300.0)), recycles=(9.0, 4.0), resumes=(8.0, 2.0)) == ([-900.0, -300.0, 0.0], [-540.0, -240.0])
    assert tried() == ([0.0], [])


def test_a_mark_names_a_t0_and_a_lone_one_a_hold_too() -> None:
    assert tried({"start": -500.0, "t": -560.0}) == ([0.0, 60.0], [-560.0])
    assert tried({"start": -500.0, "t": -560.0, "says": COUNTING}) == ([0.0, 60.0], [])
    assert tried({"start": -500.0, "t": -560.0, "weight": 2.5}) == ([0.0, 60.0], []) and tried({"start": -500.0, "t": -560.0, "weight": 2.6})[1] == [-560.0]
    assert tried({"start": -500.0, "t": -560.0, "says": HOLDING, "strict": True}) == ([0.0], [-560.0])
    shared = [{"start": -500.0 + k, "t": -560.0 + k + d} for k, d in enumerate((0.0, 1.0, 2.0))]
    assert tried(*shared) == ([0.0, 58.0, 59.0, 60.0], []) and tried(*shared[:2])[1] == [-560.0, -558.0]


def test_readings_that_repeat_after_four_seconds_name_a_hold() -> None:
    again = ({"start": -500.0, "t": -560.0, "says": COUNTING}, {"start": -496.0, "t": -559.6, "says": COUNTING})
    assert tried(*again)[1] == [-560.0] and tried(again[0], again[1] | {"start": -496.1})[1] == [] and tried(again[0], again[1] | {"t": -559.4})[1] == []


def test_calls_name_holds_and_their_ends() -> None:
    mark = {"start": -600.0, "t": -600.0, "says": COUNTING}
    assert tried(mark, {"start": -500.0, "kind": HOLD_CALL}) == ([0.0], [-500.0])
    assert tried(mark, {"start": -500.0, "kind": HOLD_CALL, "t": -505.0}) == ([0.0], [-505.0, -500.0])
    assert tried(mark, {"start": -500.0, "kind": HOLD_CALL, "weight": 2.5}) == ([0.0], [])
    held = {"start": -480.0, "t": -500.0, "says": HOLDING}
    assert tried(held, {"start": -400.0, "kind": RESUME_CALL}) == ([0.0, 20.0, 100.0], [-500.0])
    assert tried({"start": -400.0, "kind": RESUME_CALL}, held | {"start": -380.0})[0] == [0.0, 120.0]  # a hold spoken of later is not what it ends
    assert tried({"start": -400.0, "kind": RESUME_CALL}, holds=((-540.0, 60.0),))[0] == [-60.0, 0.0, 140.0]
    many = [{"start": -900.0 + 10 * k, "t": -500.0 - 20 * k, "says": HOLDING, "strict": True} for k in range(6)]
    assert tried(*many, {"start": -400.0, "kind": RESUME_CALL})[0] == [0.0, 140.0, 160.0, 180.0, 200.0]  # the four last spoken of


def test_a_log_that_repeats_that_it_holds_names_one_hold() -> None:
    running = {"start": -600.0, "t": -600.0, "says": COUNTING}
    repeated = [{"start": -500.0 + 10 * k, "kind": HOLD_CALL, "weight": 4.0} for k in range(20)]
    assert tried(running, *repeated)[1] == [*np.arange(-500.0, -460.0, 10.0), *np.arange(-340.0, -300.0, 10.0)]  # the first four and the last four
    between = [*repeated[:3], {"start": -475.0, "kind": RESUME_CALL}, *repeated[3:7], {"start": -435.0, "t": -435.0, "says": COUNTING}, *repeated[7:9]]
    assert tried(running, *between)[1] == np.arange(-500.0, -410.0, 10.0).tolist()
    named = [c | {"t": -500.0} for c in repeated[:2]]
    assert tried(running, *named)[1] == [-500.0]
    assert tried(running, named[0], named[1] | {"t": -490.0})[1] == [-500.0, -490.0]
    read = [{"start": float(c["start"]), "t": -500.0, "says": HOLDING, "strict": True} for c in repeated[:2]]  # the call names nothing that the reading beside it does not
    assert tried(running, repeated[0], read[0], repeated[1], read[1])[1] == [-500.0]
    assert tried(running, repeated[0], read[0], repeated[1], read[1] | {"t": -490.0})[1] == [-500.0, -490.0]


def test_an_announced_t0_has_the_planned_holds_still_to_come() -> None:
    assert tried({"kind": TARGET, "t": 900.0}, holds=((-540.0, 600.0), (-240.0, 300.0)))[0] == [-900.0, -300.0, 0.0, 600.0, 900.0]


def test_candidates_closer_than_half_a_sigma_are_one_and_the_plans_come_first() -> None:
    def zs(*at: float) -> list[float]:
        return tried(*({"start": z - 100.0, "t": -100.0, "says": COUNTING, "strict": True} for z in at))[0]

    assert zs(50.0, 50.4, 50.5) == [0.0, 50.0, 50.5] and zs(50.0, 50.0) == [0.0, 50.0]
    assert tried({"start": 0.0, "t": -541.9, "says": HOLDING, "strict": True}, holds=((-540.0, 600.0),))[1] == [-540.0]
    assert tried({"start": 0.0, "t": -542.1, "says": HOLDING, "strict": True}, holds=((-540.0, 600.0),))[1] == [-542.1, -540.0]


# --- moments that logs share ---

def shared(*rows: tuple[int, str, str, float, int, float]) -> list[tuple[int, str]]:
    """rows: event, step, part, score, rank, words; events 0..3 are of a.vtt, 4..7 of b.txt, 8 and on a machine's."""
    matches = pd.DataFrame([{"event": e, "step": s, "pass": 1, "part": p, "score": sc, "rank": r, "text_score": w} for e, s, p, sc, r, w in rows])
    utterances = pd.DataFrame([{"utterance": k, "source": "a.vtt" if k < 4 else "b.txt" if k < 8 else "seq.log", "medium": "machine" if k > 7 else "typed"} for k in range(12)])
    return [(int(u), m) for u, m in anchors(matches, utterances).itertuples(index=False, name=None)]


@pytest.mark.parametrize(("other", "found"), [
    ((4, "1", "call", 0.9, 1, 0.5), True), ((4, "1", "call", 0.89, 1, 0.5), False), ((4, "1", "report", 0.95, 1, 0.5), False), ((4, "2", "call", 0.95, 1, 0.5), False), ((1, "1", "call", 0.95, 1, 0.5), False),
    ((4, "1", "call", 0.1, 2, 0.9), True), ((4, "1", "call", 0.1, 2, 0.89), False), ((8, "1", "call", 0.95, 1, 0.9), False)])
def test_which_entries_of_two_logs_are_of_one_moment(other: tuple, found: bool) -> None:
    assert shared((0, "1", "call", 0.95, 1, 0.9), other) == ([(0, "1/1/call"), (other[0], "1/1/call")] if found else [])


def test_what_a_log_tells_twice_or_has_otherwise_taken_tells_no_time() -> None:
    assert shared((0, "1", "call", 0.95, 1, 0.9), (4, "1", "call", 0.95, 1, 0.9), (5, "1", "call", 0.95, 1, 0.9)) == []
    assert shared((0, "1", "call", 0.95, 1, 0.9), (4, "1", "report", 0.95, 1, 0.9), (5, "1", "call", 0.1, 2, 0.95)) == []
    assert shared((8, "1", "report", 0.95, 1, 0.9), (0, "1", "report", 0.95, 1, 0.9)) == []


def test_when_a_timeline_has_moved() -> None:
    def line(us: list[int | None], sigma: list[float]) -> Any:
        return SimpleNamespace(utc_us=pd.Series(us, dtype="Int64"), utc_sigma_s=np.array(sigma))

    before = line([0, None, 5_000_000], [1.0, nan, 2.0])
    assert not moved(before, line([1_000_000, None, 3_000_000], [9.0] * 3)) and moved(before, line([1_000_001, None, 5_000_000], [9.0] * 3)) and moved(before, line([0, 4, 5_000_000], [1.0] * 3))


# --- the reference ---

MARKS = "".join(f"    {{0}} 14:{20 + k}:00 | T-00:{10 - k:02d}:00 counting\n" for k in range(6))


@pytest.mark.parametrize(("heard", "options", "reference"), [
    (MARKS.format("a") + "    b 14:21:00 | T-00:09:00 counting\n", {}, "a"), ("    a 14:21:00 | T-00:09:00 counting\n" + MARKS.format("b"), {}, "b"),
    (MARKS.format("a") + "    b 14:21:00 | T-00:09:00 counting\n", {"media": {"b": "machine"}}, "b"), (MARKS.format("a") + "    b 14:21:00 | T-00:09:00 counting\n", {"reference": "b"}, "b"),
    (MARKS.format("a") + "    b 60 | T-00:09:00 counting\n", {"kinds": {"b": "elapsed"}, "reference": "b"}, "a"), ("    a 14:21:00 | note\n    b 14:21:00 | note\n    b 14:22:00 | note\n", {}, "b"),
    ("    a 14:21:00 | note\n    b 14:21:00 | note\n", {}, "a"), ("    a T-00:05:00 | note\n    b 14:21:00 | note\n", {"kinds": {"a": "count"}}, "b"),
    ("    a 60 | T-00:09:00 counting\n    b 70 | note\n", {"kinds": {"a": "elapsed", "b": "elapsed"}, "starts": {"b": 1_934_289_000_000_000}}, "b")])
def test_which_logs_clock_is_the_reference(heard: str, options: dict[str, Any], reference: str) -> None:
    sources = Heard("14:30:00", heard, **options).timeline().sources
    assert sources.loc[sources["reference"], "source"].tolist() == [reference]
