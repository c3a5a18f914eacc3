"""Steps shared between logs set their clocks again; a hold's cause is what was said of it."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount import timeline
from timeline.heard import Heard

HELD = """
    loop 14:20:00 | T-00:10:00 counting
    loop 14:22:00 | hold leaking valve
    loop 14:23:00 | T-00:08:00 holding
    loop 14:25:00 | T-00:08:00 holding
    loop 14:27:00 | resume
    loop 14:28:00 | T-00:07:00 counting
    loop 14:34:00 | T-00:01:00 counting
    loop 14:35:00 | liftoff
"""


def test_the_call_names_the_cause_and_who_called() -> None:
    got = Heard("14:30:00", HELD, stations={"loop": "TC"}).timeline()
    hold = got.holds.iloc[0]
    assert (hold["reason"], hold["reason_basis"]) == ("leaking valve", "called")
    assert (hold["called_by"], hold["resumed_by"]) == ("TC", "TC")
    assert hold["slip_s"] == pytest.approx(300.0, abs=1.0)


def test_what_is_wrong_is_the_cause_and_the_step_reported_of_it_is_waited_for() -> None:
    told = HELD.replace("hold leaking valve", "hold").replace("loop 14:23:00", "loop 14:22:30 | umbilical mast jammed, crew on the way\n    loop 14:23:00")
    told = told.replace("loop 14:27:00", "loop 14:26:00 | mast swings clear\n    loop 14:27:00")
    steps = [{"step": "A", "t_s": -900.0, "action": "Fill the tank"}, {"step": "B", "t_s": -450.0, "action": "Swing the mast"}]
    of = Heard("14:30:00", told, steps=steps)
    speech = of.speech()
    speech.utterances.loc[speech.utterances["text"] == "mast swings clear", "kind"] = "report"
    made: Any = (speech, of.sources(), of.count(), of.plan())
    hold = timeline.rebuild(*made).holds.iloc[0]
    assert (hold["reason"], hold["reason_basis"], hold["waiting_for"]) == ("umbilical mast jammed", "reported", "B")


@pytest.mark.parametrize(("begun_s", "step"), [(-485.0, "C"), (-900.0, "B")])
def test_a_step_begun_just_before_the_hold_is_meant_rather_than_a_later_or_older_one(begun_s: float, step: str) -> None:
    steps = [{"step": "A", "t_s": -1500.0, "action": "Chill main engine"}, {"step": "C", "t_s": begun_s, "action": "Chill main engine down"},
             {"step": "B", "t_s": -460.0, "action": "Ready main engine"}]
    told = HELD.replace("hold leaking valve", "hold main engine over limits")
    assert Heard("14:30:00", told, steps=sorted(steps, key=lambda s: s["t_s"])).timeline().holds.iloc[0]["waiting_for"] == step


@pytest.mark.parametrize(("at", "told", "why"), [
    ("14:22:10", "reason: swell at the barge", "swell at the barge"), ("14:22:10", "reason why we wait comes later", None),
    ("14:21:40", "vent flow dropping", "vent flow dropping"), ("14:21:00", "vent flow dropping", None),
])
def test_a_cause_told_beside_the_call(at: str, told: str, why: str | None) -> None:
    heard = HELD.replace("hold leaking valve", "hold") + f"    pad {at} | {told}\n"
    reason = Heard("14:30:00", heard).timeline().holds["reason"].iloc[0]
    assert (reason if isinstance(reason, str) else None) == why


@pytest.mark.parametrize(("said", "why"), [
    ("we have a truck inside the fence", "a truck inside the fence"),
    ("we've got several cows on the crawlerway, standing by", "several cows on the crawlerway"),
    ("the old is for a truck inside the fence", "a truck inside the fence"), ("the hold uh was for ice on the duct", "ice on the duct"),
    ("we have a good picture", None), ("we have no issue here", None), ("we have the hold", None), ("we have some minutes", None),
])
def test_what_there_is_after_the_call_is_the_cause(said: str, why: str | None) -> None:
    heard = HELD.replace("hold leaking valve", "hold") + f"    pad 14:22:10 | {said}\n"
    reason = Heard("14:30:00", heard).timeline().holds["reason"].iloc[0]
    assert (reason if isinstance(reason, str) else None) == why


def test_slips_add_up_to_the_delay() -> None:
    of = Heard("14:30:00", HELD, "-00:02:00 0:05:00")
    of.heard = HELD.replace("14:34:00 | T-00:01:00", "14:41:00 | T-00:01:00").replace("14:35:00 | liftoff", "14:42:00 | liftoff")
    of.heard = of.heard.replace("14:20:00 | T-00:10:00", "14:15:00 | T-00:10:00").replace("14:22:00", "14:17:00")
    got = of.timeline()
    assert got.outcome == "liftoff"
    assert got.holds["slip_s"].sum() == pytest.approx((got.outcome_us - of.t0_us) / 1e6, abs=1e-3)


def test_shared_steps_place_a_log_that_heard_no_mark() -> None:
    of = Heard("14:30:00", HELD + """
        pad 14:21:20 | note
        pad 14:24:20 | note
        pad 14:28:20 | note
        pad 14:33:20 | note
        loop 14:21:00 | note
        loop 14:24:00 | note
        loop 14:28:00 | note
        loop 14:33:00 | note
    """)
    before = of.timeline()
    made: Any = (of.speech(), of.count(), of.plan())
    steps = ["1.1", "1.2", "1.3", "1.4"]
    matches = pd.DataFrame({"step": steps * 2, "pass": 1, "event": range(8, 16), "part": "call", "text_score": 0.5, "score": 0.99, "rank": 1})
    due = pd.DataFrame({"step": steps, "pass": 1, "planned_t_s": [-900.0, -800.0, -700.0, -600.0], "in_hold": False})
    after = timeline.refine(before, timeline.Found(matches, due), *made)
    pad = after.sources.set_index("source").loc["pad"]
    assert pad["offset_s"] == pytest.approx(-20.0, abs=0.5)
    assert timeline.refine(before, timeline.Found(matches[matches["step"] < "1.3"], due), *made) is before
