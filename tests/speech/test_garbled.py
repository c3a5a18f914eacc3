"""Calls on the count whose words were half right, on words that a recogniser of another make would choose."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech import understand
from speech.conftest import Heard, count, plan, records

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("text", "what"), [
    ("the coult has resumed", "resume"), ("clark is running", "resume"), ("resume with the count", "resume"), ("release of hold please", "resume"), ("picking up that count", "resume"),
    ("clock were restarted", "resume"), ("the clock now is gunning", "resume"),
    ("clock is stopt at T minus nine minutes", "hold"), ("glock is stopped", "hold"), ("stop a right clock", "hold"), ("hold in the clog", "hold"), ("hold cold hold", "hold"),
    ("we have in the planned hold", "hold"), ("we need to hold", "hold"), ("hold at this time we have a leak", "hold"),
    ("set a clock the back to T minus twenty minutes", "recycle"), ("resetting that clock to T minus twenty minutes", "recycle"), ("take the clock back to T minus twenty minutes", "recycle"),
    ("lead on all nets right the count to T minus twenty minutes", "recycle"), ("rifle the count back to T minus twenty minutes", "recycle"),
    ("all stations, TC, river to T minus twenty minutes", "recycle"), ("all nets are cycling to tea minors twenty minutes", "recycle"),
    ("race the count T minus twenty minutes chair is running", "resume"),
])
def test_what_was_likely_meant(hear: Hear, text: str, what: str) -> None:
    assert {w for w, grade in hear(text, medium="speech").calls().items() if grade != "doubtful"} == {what}


@pytest.mark.parametrize("text", [
    "the crane is running", "hold the lamp", "the court is closed", "the counter is cold", "is the coult running", "the coult will be resumed",
    "no glock is stopped", "set the chair back to the wall", "clock back to normal", "hold that door", "hold second me check", "hold on second and cheek", "hold it second okay", "if the glock is stopped call me", "the pick of the bunch",
    "they count to T minus twenty minutes", "we run the count to T minus twenty minutes", "right the count to T minus twenty minutes?", "we will right the count to T minus twenty minutes",
    "all stations, stand by to T minus twenty minutes", "all stations, to T minus twenty minutes", "all stations the tower crew will be back on station prior to T minus twenty minutes", "river to T minus twenty minutes", "the count T minus twenty minutes", "race count T minus twenty minutes water is running",
])
def test_other_talk(hear: Hear, text: str) -> None:
    assert {w for w, grade in hear(text, medium="speech").calls().items() if grade != "doubtful"} == set()


def test_only_a_voice_is_misheard_and_what_the_plan_does_is_no_call(hear: Hear) -> None:
    assert hear("glock is stopped", medium="typed").calls() == {}
    acts = plan(("1", -1200.0, "Pick up the counterweight", "step", "PROP", "TC"))
    assert understand(records(["picking up the counterweight"], "speech"), count(), acts).calls.empty


@pytest.mark.parametrize(("text", "says"), [
    ("T minus nine minutes and folding", "holding"), ("T minus nine minutes and county", "counting"), ("minus nine minutes ten seconds and mounting", "counting"), ("T minus nine minutes and county road", "counting"),
])
def test_what_ends_a_reading_is_its_state(hear: Hear, text: str, says: str) -> None:
    assert set(hear(text, medium="speech").speech.marks["says"]) == {says}


def test_what_ends_no_reading_is_left_alone(hear: Hear) -> None:
    assert hear("tables and folding chairs", medium="speech").speech.marks.empty
