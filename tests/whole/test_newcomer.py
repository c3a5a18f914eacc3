"""The newcomer's path: a plan, one file of typed notes and a count.toml of four lines give a useful review."""

from __future__ import annotations

import pytest

import aftercount as ac
from loglike import write_count

TOML = """
    [count]
    id = "kite-2"
    t0 = 2032-06-02T18:00:00Z
    plan = "plan.csv"
"""
PLAN = """
    step,t,action,kind,duration,into_hold,by,to,late_s,after,response_s
    1,T-00:40:00,Clear the pad of all non-essential personnel,,,,SAFETY,LCO,60,,60
    2,T-00:35:00,Power on avionics bay,,,,AVI,LCO,30,,
    3,T-00:30:00,Load oxidizer main valve A,,,,FILL,LCO,30,1,
    4,T-00:28:00,Load oxidizer main valve B,,,,FILL,LCO,30,1 3,
    5,T-00:20:00,Built-in hold for weather,hold,00:10:00,,,,,,
    6,T-00:20:00,Weather balloon reading,,,00:03:00,WX,LCO,60,,
    7,T-00:20:00,Go/no-go poll,poll,,00:07:00,LCO,,60,,
    8,T-00:15:00,Switch to internal power,,,,AVI,LCO,15,2,20
    9,T-00:10:00,Pressurize helium tank,,,,FILL,LCO,15,,20
    10,T-00:05:00,Arm ignition circuit,,,,IGN,LCO,10,8,10
    11,T-00:01:00,Start sequencer,,,,SEQ,LCO,5,,
    12,T+00:00:30,Confirm tower clear,,,,LCO,,10,,
    13,T-00:12:00,Close the vent on stage two,,,,FILL,LCO,15,,
"""
NOTES = """
    17:10:02 LCO on console, T-40 and counting
    17:10:10 LCO to SAFETY: clear the pad
    1711 SAFETY pad clear
    17:15:05 avionics on
    17:20:12 LCO to FILL, open ox main A and load
    17:21:40 FILL reports valve B loading already (!)
    17:22 ox main B loaded
    17:30:00 T-20 holding
    17:33:30 WX: balloon reading winds 12 kt, ok
    17:37 poll: SAFETY go, AVI go, FILL go, WX go, IGN go
    17:40 coming out of the hold
    17:44:58 AVI go to internal
    17:45:09 AVI internal power complete
    17:50:50 He tank press started
    17:52 HOLD HOLD - FILL sees helium leak at T-8
        smells like the quick disconnect
    17:58 leak fixed, resume count
    18:01:02 arm ignition
    18:01:08 IGN armed
    18:05:01 sequencer start
    18:06:00 liftoff
    18:06:28 tower clear
"""


@pytest.fixture(scope="module")
def review(tmp_path_factory: pytest.TempPathFactory) -> ac.Review:
    return ac.review(write_count(tmp_path_factory.mktemp("kite") / "kite-2", TOML, PLAN, {"notes.txt": NOTES}))


def test_the_count_and_its_holds(review: ac.Review) -> None:
    assert review.summary["outcome"] == "liftoff"
    assert review.summary["delay_s"] == pytest.approx(360, abs=2)
    built_in, leak = (review.holds.iloc[i] for i in (0, 1))
    assert built_in["kind"] == "built_in" and built_in["duration_s"] == pytest.approx(600, abs=60)
    assert leak["t_s"] == pytest.approx(-480, abs=60) and "helium leak" in leak["reason"]


def test_terse_notes_are_found_and_what_nobody_wrote_is_missed(review: ac.Review) -> None:
    status = review.steps.set_index("step")["status"]
    assert status["13"] == "missed"
    assert (status.drop("13") == "done").sum() >= 11, status.to_dict()


def test_the_late_step_is_late_and_the_rest_are_not(review: ac.Review) -> None:
    timing = review.steps.set_index("step")["timing"]
    assert timing["9"] == "late"
    assert timing.drop(["9", "13"]).ne("late").all()


def test_every_line_is_an_event_or_a_reject(review: ac.Review) -> None:
    assert int(review.sources["entries"].sum()) == 21 and review.rejects.empty
    assert set(review.events["line"]) <= set(range(1, 23))
