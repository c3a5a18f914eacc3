"""Logs that tell only the count: alone, and beside a log that tells the time."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from aftercount.timeline.counted import passes
from timeline.heard import Heard, seconds

ALONE = """
    pad T-00:30:00 | note
    pad T-00:24:00 | T-00:24:00 holding
    pad T-00:24:00 | note
    pad T-00:24:00 | note
    pad T-00:24:00 | note
    pad T-00:23:59 | resume
    pad T-00:20:00 | note
    pad T-00:12:00 | note
    pad T-00:11:35 | hold no continuity
    pad T-00:11:35 | T-00:11:35 holding
    pad T-00:11:35 | note
"""
PLAN = "-00:24:00 0:10:00"


def alone(more: str) -> Heard:
    return Heard("14:30:00", ALONE + more, PLAN, kinds={"pad": "count"}, steps=[{"step": "1", "t_s": -1800.0}, {"step": "2", "t_s": 0.0}])


def test_a_scrub_ends_the_count_where_it_stood() -> None:
    got = alone("pad T-00:11:35 | scrub").timeline()
    assert (got.outcome, got.utc_known) == ("scrub", False)
    # what all stretches of one log share is weighed in common, so a stretch read to the second may differ by a part of a hundredth
    assert got.holds["t_s"].tolist() == pytest.approx([-1440, -695], abs=0.005)
    assert got.holds["kind"].tolist() == ["built_in", "unplanned"]
    assert got.clock["end_t_s"].max() == pytest.approx(-695, abs=0.005)


def test_nobody_knows_how_long_an_unplanned_hold_was() -> None:
    got = alone("""
        pad T-00:11:35 | resume
        pad T-00:05:00 | note
        pad T-00:00:00 | liftoff
        pad T+00:00:30 | note
    """).timeline()
    assert (got.outcome, got.outcome_us) == ("liftoff", None)  # T-0 came, at no known time
    hold = got.holds.iloc[1]
    assert pd.isna(hold["duration_s"]) and pd.isna(hold["slip_s"]) and not pd.isna(hold["end_utc"])
    assert got.holds["planned_s"].tolist() == [600, 0]
    assert got.clock.iloc[-1]["state"] == "counting" and got.clock["pass"].max() == 1


def test_entries_of_a_hold_are_spread_over_it_and_said_to_be_unsure() -> None:
    of = alone("")
    got = of.timeline()
    inside = [seconds(v, of) for v in pd.to_datetime(got.utc_us[1:5].astype("int64"), unit="us", utc=True)]
    assert inside == pytest.approx([-2040, -1890, -1740, -1590], abs=1)
    assert (got.utc_sigma_s[2:5] > 150).all() and got.utc_sigma_s[6] < 100


def test_what_follows_the_call_of_a_hold_is_not_at_its_beginning() -> None:
    """The log's own count is two seconds behind: the hold is called at T-24:02, and what is noted in it stands at T-24:00."""
    of = Heard("14:30:00", """
        net 13:30:00 | T-01:00:00 counting
        net 13:56:00 | T-00:34:00 counting
        net 14:06:00 | T-00:24:00 holding
        net 14:16:00 | resume
        net 14:20:00 | T-00:20:00 counting
        pad T-00:24:02 | hold
        pad T-00:24:00 | note
        pad T-00:24:00 | note
        pad T-00:24:00 | note
        pad T-00:24:00 | resume
    """, PLAN, kinds={"pad": "count"}, steps=[{"step": "1", "t_s": -3600.0}, {"step": "2", "t_s": 0.0}])
    got = of.timeline()
    inside = [seconds(v, of) for v in pd.to_datetime(got.utc_us[6:10].astype("int64"), unit="us", utc=True)]
    assert inside == pytest.approx([-1290, -1140, -990, -840], abs=2)
    assert (got.utc_sigma_s[6:9] > 150).all()


def test_a_count_set_back_is_another_pass() -> None:
    got = alone("""
        pad T-00:11:35 | recycle T-00:20:00
        pad T-00:20:00 | resume
        pad T-00:15:00 | note
        pad T-00:05:00 | note
        pad T-00:00:00 | liftoff
        pad T+00:00:20 | note
    """).timeline()
    assert got.clock["pass"].max() == 2 and got.outcome == "liftoff"
    assert got.holds.iloc[1]["recycled_to_t_s"] == pytest.approx(-1200, abs=1)


def test_a_late_entry_is_no_recycle() -> None:
    t = np.array([-600, -580, -560, -590, -540, -520, -900, -890, -880.0])
    never = np.zeros(len(t), dtype=bool)
    assert passes(t, never).tolist() == [1, 1, 1, 0, 1, 1, 2, 2, 2]


def test_a_late_entry_of_several_sentences_is_no_recycle() -> None:
    t = np.array([-600, -580, -590, -590, -590, -540, -520.0])
    assert passes(t, np.zeros(len(t), dtype=bool)).tolist() == [1, 1, 0, 0, 0, 1, 1]
    assert passes(t[:5], np.zeros(5, dtype=bool)).tolist() == [1, 1, 2, 2, 2]  # nothing follows that is back


BESIDE = """
    loop 14:00:00 | T-00:20:00 counting
    loop 14:05:00 | hold
    loop 14:05:10 | T-00:15:00 holding
    loop 14:09:00 | resume
    loop 14:14:00 | T-00:10:00 counting
    loop 14:15:00 | hold
    loop 14:15:20 | T-00:09:00 holding
    loop 14:20:00 | recycle T-00:20:00
    loop 14:21:00 | T-00:20:00 holding
    loop 14:25:00 | resume
    loop 14:30:00 | T-00:15:00 counting
    loop 14:44:00 | T-00:01:00 counting
    loop 14:45:00 | liftoff
    loop 14:46:00 | note
    pad T-00:18:00 | note
    pad T-00:15:00 | note
    pad T-00:15:00 | note
    pad T-00:15:00 | note
    pad T-00:12:00 | note
    pad T-00:18:00 | note
    pad T-00:12:00 | note
    pad T-00:05:00 | note
"""


def test_the_order_of_a_log_tells_the_pass_and_the_place_in_a_hold() -> None:
    of = Heard("14:20:00", BESIDE, kinds={"pad": "count"})
    got = of.timeline()
    pad = [seconds(v, of) / 60 for v in pd.to_datetime(got.utc_us[14:].astype("int64"), unit="us", utc=True)]
    assert pad == pytest.approx([-18, -15, -15 + 4 / 3, -15 + 8 / 3, -8, 7, 13, 20], abs=0.1)
    assert (got.utc_sigma_s[16:18] > 60).all() and got.utc_sigma_s[18] < 10
