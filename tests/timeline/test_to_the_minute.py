"""Notes whose stamps are cut to the minute tell the count of a hold as exactly as any others, and are its calls though they lie a minute off."""

from __future__ import annotations

import pytest

from timeline.heard import Heard

MINUTE_S = 60 / 12**0.5

NOTES = """
    desk 13:20:00 | T-01:00:00
    desk 13:40:00 | T-00:40:00
    desk 14:00:00 | hold
    desk 14:00:00 | T-00:20:00 holding
    desk 14:10:00 | resume
    desk 14:18:00 | hold
    desk 14:18:00 | T-00:11:25 holding
    desk 14:19:00 | resume
    desk 14:26:00 | T-00:05:00
    desk 14:29:00 | hold
    desk 14:29:00 | T-00:01:28 holding
    desk 14:36:00 | resume
    desk 14:38:00 | liftoff
"""


def test_holds_named_in_notes_to_the_minute_are_called_and_lie_where_they_are_named() -> None:
    got = Heard("14:30:00", NOTES, "-00:20:00 0:10:00", stamps={"desk": MINUTE_S}, sigma_s=1.5).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1200.0, -685.0, -88.0], abs=0.1)
    assert got.holds["basis"].tolist() == ["called"] * 3 and got.holds["kind"].tolist() == ["built_in", "unplanned", "unplanned"]
    assert got.holds["duration_s"].tolist() == pytest.approx([600.0, 60.0, 420.0], abs=31.0)
    assert got.outcome == "liftoff"


def test_two_holds_some_seconds_apart_in_the_count_are_two_though_the_stamps_are_coarser() -> None:
    got = Heard("14:30:00", """
        desk 13:20:00 | T-01:00:00
        desk 13:40:00 | T-00:40:00
        desk 13:50:00 | hold
        desk 13:50:00 | T-00:29:30 holding
        desk 13:54:00 | resume
        desk 13:54:00 | hold
        desk 13:54:00 | T-00:29:05 holding
        desk 13:58:00 | resume
        desk 14:18:00 | T-00:09:00
        desk 14:27:00 | liftoff
    """, stamps={"desk": MINUTE_S}, sigma_s=1.5).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1770.0, -1745.0], abs=0.1)
