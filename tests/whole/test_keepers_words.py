"""What a keeper's few words of the clock come to in the whole review: a hold told once, a count picked up by its reading, a log that ends with a cutoff."""

from __future__ import annotations

from pathlib import Path

import pytest

import aftercount as ac
from loglike import write_count

TOML = """
    [count]
    id = "kite-3"
    t0 = 2032-06-02T18:00:00Z
"""
PLAN = """
    step,t,action,kind,by,to,late_s
    1,T-00:30:00,Clear the pad,,SAFETY,LCO,60
    2,T-00:20:00,Power on avionics bay,,AVI,LCO,30
    3,T-00:15:00,Switch to internal power,,AVI,LCO,30
    4,T-00:08:00,Pressurize helium tank,,FILL,LCO,30
    5,T-00:04:00,Arm ignition circuit,,IGN,LCO,10
    6,T-00:01:00,Start sequencer,,SEQ,LCO,5
    7,T-00:00:10,Close the water main,,FILL,LCO,5
"""
BEGUN = """
    17:30:04 LCO to SAFETY: clear the pad
    17:32:00 T-28:00
    17:40:05 avionics on
    17:45:06 AVI internal power complete
    17:48:00 T-12:00
    17:52:09 he tank pressurized
"""


def reviewed(folder: Path, notes: str) -> ac.Review:
    return ac.review(write_count(folder / "kite-3", TOML, PLAN, {"notes.txt": BEGUN + notes}))


def status(review: ac.Review) -> dict[str, str]:
    return dict(zip(review.steps["step"], review.steps["status"], strict=True))


@pytest.mark.parametrize("words", ["holding T-6:26 for a stuck door", "T-6:26 and holding, a stuck door", "T-6:26 holding", "HOLD T-6:26, a stuck door"])
def test_a_hold_told_once_by_a_keeper_stands_though_a_step_is_done_in_it(tmp_path: Path, words: str) -> None:
    got = reviewed(tmp_path, f"""
    17:53:34 {words}
    17:55:40 LCO to IGN: arm ignition
    17:56:02 IGN armed
    18:10:00 scrubbed for the day
    """)
    assert got.holds["t_s"].tolist() == pytest.approx([-386.0], abs=2.0) and got.holds["basis"].tolist() == ["called"]
    assert got.summary["outcome"] == "scrub" and status(got)["6"] == status(got)["7"] == "not_reached"


def test_a_count_picked_up_by_its_reading_runs_to_its_cutoff(tmp_path: Path) -> None:
    """Nobody wrote 'resumed', and after the reading none of the count until the cutoff."""
    got = reviewed(tmp_path, """
    17:53:34 HOLD T-6:26, a stuck door
    18:01:34 T-6:26 and counting
    18:04:03 IGN armed
    18:07:02 sequencer start
    18:07:50 water main closed
    18:07:50 CUTOFF
    """)
    assert got.holds["duration_s"].tolist() == pytest.approx([480.0, float("nan")], abs=3.0, nan_ok=True)
    assert got.summary["outcome"] == "cutoff"
    assert status(got) == {str(n): "done" for n in range(1, 8)}
