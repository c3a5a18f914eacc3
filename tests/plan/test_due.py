"""Which steps were due when: holds, recycles, and what the count never reached."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.counttime import format_utc
from aftercount.plan import due_steps, schedule_utc
from aftercount.tables import CLOCK, HOLDS
from folders import clock_of, load_plan

PLAN = """
    step,t,action,kind,duration,into_hold
    1,T-40:00,Load,,,
    2,T-20:00,At the hold,,,
    H,T-20:00,Built-in hold,hold,10:00,
    3,T-20:00,In the hold,,,4:00
    4,T-15:00,After the hold,,,
    5,T-10s,Arm,,,
    6,T+5,Clear,,,
"""
NOMINAL = """
    1 counting 13:40:00 14:00:00 T-40:00 T-20:00
    1 holding  14:00:00 14:10:00 T-20:00 T-20:00
    1 counting 14:10:00 14:31:00 T-20:00 T+1:00
"""


def due(folder: Path, clock: str, plan: str = PLAN) -> list[tuple[str, int, str]]:
    """(step, pass, time of day due or 'not reached')."""
    procedure, count = load_plan(folder, plan)
    frame = due_steps(procedure, count, *clock_of(clock))
    assert (frame["reached"] == frame["due_utc"].notna()).all()
    return [(step, number, "not reached" if pd.isna(at) else str(at)[11:19])
            for step, number, at in zip(frame["step"], frame["pass"], frame["due_utc"], strict=True)]


def test_a_count_that_ran_to_schedule_is_due_as_planned(tmp_path: Path) -> None:
    procedure, count = load_plan(tmp_path, PLAN)
    frame = due_steps(procedure, count, *clock_of(NOMINAL))
    assert frame["step"].tolist() == ["1", "2", "3", "4", "5", "6"]
    assert (frame["planned_utc"] == frame["due_utc"]).all()
    assert [str(t)[11:19] for t in frame["due_utc"]] == ["13:40:00", "14:00:00", "14:04:00", "14:15:00", "14:29:50", "14:30:05"]
    assert frame["in_hold"].tolist() == [False, False, True, False, False, False] and (frame["due_sigma_s"] == 0.5).all()


def test_an_unplanned_hold_makes_no_later_step_due_earlier_than_the_clock(tmp_path: Path) -> None:
    assert due(tmp_path, """
        1 counting 13:40:00 14:00:00 T-40:00 T-20:00
        1 holding  14:00:00 14:13:00 T-20:00 T-20:00
        1 counting 14:13:00 14:15:00 T-20:00 T-18:00
        1 holding  14:15:00 14:25:00 T-18:00 T-18:00 unplanned
        1 counting 14:25:00 14:44:00 T-18:00 T+1:00
    """)[2:5] == [("3", 1, "14:04:00"), ("4", 1, "14:28:00"), ("5", 1, "14:42:50")]


def test_a_hold_cut_short_makes_its_steps_due_at_its_end(tmp_path: Path) -> None:
    assert due(tmp_path, """
        1 counting 13:40:00 14:00:00 T-40:00 T-20:00
        1 holding  14:00:00 14:03:00 T-20:00 T-20:00
        1 counting 14:03:00 14:24:00 T-20:00 T+1:00
    """)[2] == ("3", 1, "14:03:00")


def test_a_hold_that_was_not_taken_makes_its_steps_due_as_the_clock_passes(tmp_path: Path) -> None:
    assert due(tmp_path, "1 counting 13:40:00 14:21:00 T-40:00 T+1:00")[2] == ("3", 1, "14:00:00")


def test_a_step_due_at_the_very_end_of_a_pass_may_have_been_reached_as_far_as_the_clock_can_tell(tmp_path: Path) -> None:
    """Stopped at T-10.8 by a clock that is good to a second at best; and at T-12, short of what was due at T-10."""
    for end, t, when in (("14:29:49.2", "T-10.8s", "14:29:49"), ("14:29:48", "T-12s", "not reached")):
        assert due(tmp_path, f"""
            1 counting 13:40:00 14:00:00 T-40:00 T-20:00
            1 holding  14:00:00 14:10:00 T-20:00 T-20:00
            1 counting 14:10:00 {end} T-20:00 {t}
        """)[4:] == [("5", 1, when), ("6", 1, "not reached")]


def test_a_hold_taken_a_little_off_its_time_is_still_that_hold(tmp_path: Path) -> None:
    assert due(tmp_path, """
        1 counting 13:40:00 14:00:05 T-40:00 T-19:55
        1 holding  14:00:05 14:10:05 T-19:55 T-19:55
        1 counting 14:10:05 14:31:00 T-19:55 T+1:00
    """)[1:3] == [("2", 1, "14:00:00"), ("3", 1, "14:04:05")]


def test_a_recycle_makes_steps_due_again_and_leaves_the_rest_of_its_pass_not_reached(tmp_path: Path) -> None:
    found = due(tmp_path, """
        1 counting 13:40:00 14:00:00 T-40:00 T-20:00
        1 holding  14:00:00 14:10:00 T-20:00 T-20:00
        1 counting 14:10:00 14:29:30 T-20:00 T-0:30
        1 holding  14:29:30 14:35:00 T-0:30  T-0:30  unplanned
        2 holding  14:35:00 14:40:00 T-15:00 T-15:00 unplanned
        2 counting 14:40:00 14:56:00 T-15:00 T+1:00
    """)
    assert found == [
        ("1", 1, "13:40:00"), ("2", 1, "14:00:00"), ("3", 1, "14:04:00"), ("4", 1, "14:15:00"), ("5", 1, "not reached"),
        ("6", 1, "not reached"), ("4", 2, "14:35:00"), ("5", 2, "14:54:50"), ("6", 2, "14:55:05"),
    ]


def test_a_scrub_in_the_hold_leaves_what_it_had_not_come_to(tmp_path: Path) -> None:
    scrub = "1 counting 13:40:00 14:00:00 T-40:00 T-20:00\n1 holding 14:00:00 14:{}:00 T-20:00 T-20:00"
    assert due(tmp_path / "a", scrub.format("02"))[1:] == [
        ("2", 1, "14:00:00"), ("3", 1, "not reached"), ("4", 1, "not reached"), ("5", 1, "not reached"), ("6", 1, "not reached")]
    assert due(tmp_path / "b", scrub.format("06"))[2] == ("3", 1, "14:04:00")


def test_the_stop_itself_is_reached(tmp_path: Path) -> None:
    assert due(tmp_path, "1 counting 13:40:00 14:05:00 T-40:00 T-15:00")[3:5] == [("4", 1, "14:05:00"), ("5", 1, "not reached")]


def test_after_a_lift_off_the_clock_runs_on_past_the_logs(tmp_path: Path) -> None:
    procedure, count = load_plan(tmp_path, PLAN)
    clock = clock_of("""
        1 counting 13:40:00 14:00:00 T-40:00 T-20:00
        1 holding  14:00:00 14:10:00 T-20:00 T-20:00
        1 counting 14:10:00 14:30:02 T-20:00 T+2
    """)
    ended, ran_on = due_steps(procedure, count, *clock), due_steps(procedure, count, *clock, lifted=True)
    assert not ended["reached"].iloc[-1] and ended["due_utc"].isna().iloc[-1]
    assert ran_on["reached"].all() and str(ran_on["due_utc"].iloc[-1])[11:19] == "14:30:05" and ran_on["due_sigma_s"].iloc[-1] == 0.5
    assert ran_on.iloc[:-1].equals(ended.iloc[:-1])


def test_steps_before_the_first_reading_are_dated_by_the_schedule_as_far_off_as_the_count_was(tmp_path: Path) -> None:
    on_time = "1 holding 14:05:00 14:10:00 T-20:00 T-20:00\n1 counting 14:10:00 14:31:00 T-20:00 T+1:00"
    assert due(tmp_path / "a", on_time)[:4] == [("1", 1, "13:40:00"), ("2", 1, "14:05:00"), ("3", 1, "14:04:00"), ("4", 1, "14:15:00")]
    late = "1 counting 14:18:00 14:34:00 T-15:00 T+1:00"
    assert due(tmp_path / "b", late)[:4] == [("1", 1, "13:43:00"), ("2", 1, "14:03:00"), ("3", 1, "14:07:00"), ("4", 1, "14:18:00")]


def test_without_a_clock_every_step_is_due_at_no_known_time(tmp_path: Path) -> None:
    procedure, count = load_plan(tmp_path, PLAN)
    frame = due_steps(procedure, count, CLOCK.empty(), HOLDS.empty())
    assert frame["reached"].all() and frame["due_utc"].isna().all() and len(frame) == 6


# NASA KSC, countdown milestones page of STS-92: T-0 19:17 EDT; wall times at which holds begin and end, EDT.
STS_92 = {"T-6:00:00": ("1:00:00", "09:22", "10:22"), "T-3:00:00": ("2:00:00", "13:22", "15:22"),
          "T-20:00": ("10:00", "18:02", "18:12"), "T-9:00": ("45:00", "18:23", "19:08")}


def test_the_wall_times_of_a_published_table_of_holds_follow_from_its_t_times(tmp_path: Path) -> None:
    rows = "".join(f"H{i},{t},Hold,hold,{held[0]}\n" for i, (t, held) in enumerate(STS_92.items()))
    plan = "step,t,action,kind,duration\n1,T-11:00:00,Resume,,\n" + rows
    toml = '[count]\nid = "table"\nt0 = 2000-10-11T19:17:00-04:00\n'
    procedure, count = load_plan(tmp_path, plan, toml)
    planned = schedule_utc(procedure, count, procedure.table["t_s"].to_numpy())
    zone = 4 * 3600 * 1_000_000
    found = [(format_utc(a - zone)[11:16], format_utc(b - zone)[11:16]) for a, b in zip(*planned, strict=True)]
    assert found == [("04:22", "04:22"), *[(begins, ends) for _, begins, ends in STS_92.values()]]


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plans")


@given(st.dictionaries(st.integers(1, 60), st.integers(1, 30), max_size=4), st.integers(-70, 20))
@settings(max_examples=40, deadline=None)
def test_the_schedule_is_what_a_walk_back_from_zero_finds(here: Path, holds: dict[int, int], t_s: int) -> None:
    rows = "".join(f"H{t},T-{t}s,Hold,hold,{length}\n" for t, length in holds.items())
    procedure, count = load_plan(here, "step,t,action,kind,duration\n1,T-0,Go,,\n" + rows)
    read_from, read_to, wall = {}, {}, 0
    for t in range(0, -71, -1):
        read_to[t] = wall
        wall -= holds.get(-t, 0)
        read_from[t] = wall
        wall -= 1
    planned = schedule_utc(procedure, count, t_s)
    wanted = (read_from.get(t_s, t_s), read_to.get(t_s, t_s))
    assert tuple((int(us[0]) - count.t0_us) / 1e6 for us in planned) == wanted
    assert isinstance(planned.earliest_us, np.ndarray)
