"""What moved T-0 adds up to the delay, whatever became of the schedule."""

from __future__ import annotations

import numpy as np
import pytest

from timeline.drawn import BASE, Drawn, Log
from timeline.heard import Heard

PLAN = """
-00:09:00 0:10:00
-00:04:00 0:05:00
"""
STEPS = [{"step": "1", "t_s": -1800.0}, {"step": "2", "t_s": 0.0}]


def causes(heard: str, plan: str = PLAN) -> tuple[dict[tuple[str, float | None], float], float]:
    of = Heard("14:30:00", heard, plan, steps=STEPS)
    got = of.timeline()
    assert got.outcome == "liftoff" and got.outcome_us is not None
    delay = (got.outcome_us - of.t0_us) / 1e6
    assert sum(s.seconds for s in got.slips) == pytest.approx(delay, abs=1e-6)
    assert [s.seconds for s in got.slips if s.hold is not None] == pytest.approx(got.holds["slip_s"].tolist(), abs=1e-6)
    return {(s.cause, None if s.t_s is None else round(s.t_s)): s.seconds for s in got.slips if abs(s.seconds) >= 0.5}, delay


def test_a_count_that_kept_its_plan_moved_for_nothing() -> None:
    assert causes("""
        loop 13:45:00 | T-00:30:00 counting
        loop 14:06:00 | T-00:09:00 holding
        loop 14:16:00 | T-00:09:00 counting
        loop 14:21:00 | T-00:04:00 holding
        loop 14:26:00 | T-00:04:00 counting
        loop 14:30:00 | liftoff
        loop 14:31:00 | note
    """) == ({}, pytest.approx(0, abs=0.5))


def test_a_count_that_began_late() -> None:
    found, delay = causes("""
        loop 13:50:00 | T-00:30:00 counting
        loop 14:11:00 | T-00:09:00 holding
        loop 14:21:00 | T-00:09:00 counting
        loop 14:26:00 | T-00:04:00 holding
        loop 14:31:00 | T-00:04:00 counting
        loop 14:35:00 | liftoff
        loop 14:36:00 | note
    """)
    assert delay == pytest.approx(300, abs=0.5)
    assert found == {("began_late", -1800): pytest.approx(300, abs=0.5)}


def test_a_planned_hold_that_was_not_taken() -> None:
    found, delay = causes("""
        loop 13:45:00 | T-00:30:00 counting
        loop 14:06:00 | T-00:09:00 holding
        loop 14:18:00 | T-00:09:00 counting
        loop 14:22:00 | T-00:05:00 counting
        loop 14:24:00 | T-00:03:00 counting
        loop 14:26:00 | T-00:01:00 counting
        loop 14:27:00 | liftoff
        loop 14:28:00 | note
    """)
    assert delay == pytest.approx(-180, abs=0.5)
    assert found == {("hold", -540): pytest.approx(120, abs=0.5), ("hold_not_taken", -240): pytest.approx(-300, abs=0.5)}


def test_logs_that_begin_inside_a_planned_hold() -> None:
    found, delay = causes("""
        loop 14:10:00 | T-00:09:00 holding
        loop 14:18:00 | T-00:09:00 counting
        loop 14:23:00 | T-00:04:00 holding
        loop 14:28:00 | T-00:04:00 counting
        loop 14:32:00 | liftoff
        loop 14:33:00 | note
    """)
    assert delay == pytest.approx(120, abs=0.5)
    assert found == {("hold", -540): pytest.approx(120, abs=0.5)}


def test_logs_that_begin_as_a_planned_hold_ends() -> None:
    found, _ = causes("""
        loop 14:16:00 | T-00:09:00 counting
        loop 14:18:00 | T-00:07:00 counting
        loop 14:21:00 | T-00:04:00 holding
        loop 14:26:30 | T-00:04:00 counting
        loop 14:30:30 | liftoff
        loop 14:31:00 | note
    """)
    assert found == {("hold", -240): pytest.approx(30, abs=0.6)}


def test_a_recycle_counts_its_time_again() -> None:
    found, delay = causes("""
        loop 14:00:00 | T-00:30:00 counting
        loop 14:29:00 | T-00:01:00 counting
        loop 14:29:30 | hold
        loop 14:29:40 | T-00:00:30 holding
        loop 14:35:00 | recycle T-00:10:00
        loop 14:36:00 | T-00:10:00 holding
        loop 14:40:00 | resume
        loop 14:45:00 | T-00:05:00 counting
        loop 14:50:00 | liftoff
        loop 14:51:00 | note
    """, "")
    assert delay == pytest.approx(1200, abs=1)
    assert found == {("hold", -30): pytest.approx(1200, abs=1)}


def test_slips_of_drawn_counts_add_up() -> None:
    rng = np.random.default_rng(5)
    came = 0
    for seed in range(12):
        holds = [(-2400.0, float(rng.uniform(60, 900)), float(rng.choice([0.0, 600.0]))), (-900.0, float(rng.uniform(60, 600)), 0.0),
                 (-300.0, float(rng.choice([0.0, 200.0])), 200.0)]
        drawn = Drawn([Log("loop", marks=60)], holds, seed=seed)
        got = drawn.timeline()
        if got.outcome == "liftoff":
            assert got.outcome_us is not None
            came += 1
            delay = (got.outcome_us - BASE.t0_us) / 1e6
            assert sum(s.seconds for s in got.slips) == pytest.approx(delay, abs=1e-5), seed
    assert came >= 8
