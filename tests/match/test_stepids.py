"""Steps named by their ids, and numbers that are none."""

from __future__ import annotations

import pytest

from aftercount.match.stepids import labelled, named_steps

IDS = ["4.1", "4.12", "LOX-04", "7", "140", "B3", "3-014"]


@pytest.mark.parametrize(("text", "rows"), [
    ("step 4.12 complete", {1}), ("4.1 complete", {0}), ("vent closed (4.12)", {1}), ("LOX-04 done", {2}), ("Item 7 in work", {3}), ("4.12: vent closed", {1}),
    ("PROP, TC, step four point one two, open it", {1}), ("Step seven. Vent closed.", {3}), ("Seven. Vent valve closed.", {3}),
    ("item B three. Ground, set it", {5}), ("go for step bravo three", {5}), ("step bravo zero three in work", {5}), ("perform step lima oscar xray four", {2}), ("Step one hundred forty, ramp the tanks", {4}), ("7 cplt", {3}), ("at 18:14 4.1 cplt", {0}), ("at 18:14:20 140 complete", {4}), ("@18:14 B3 ok", {5}), ("140 tks at ramp press", {4}), ("140 complete", {4}), ("TC, PROP, 4.12 complete, valve shut", {1}), ("PROP, TC, perform 4.1, shut the valve", {0}), ("PROP, 3-014, hose off", {6}), ("hose is off for 3-014", {6}), ("B3 settings AZ150", {5}), ("b3 ok", {5}), ("4.1 ok", {0}),
])
def test_ids_are_read(text: str, rows: set[int]) -> None:
    assert named_steps([text], IDS) == {0: rows}


@pytest.mark.parametrize("text", ["bus current 4.1 A", "7 valves closed", "pressure is 4.12", "4.12 A", "LOX-045 done", "step 4.123", "T-4.1", "4.12 bar in the tank", "140 psi",
                                  "140 degrees and rising", "140 seconds to go", "7 done with the check", "valve B3 closed", "tank at 140 cplt", "step bravo", "PROP, perform 4.1 bar check", "level, 4.1 ok", "bravo three is open"])
def test_readings_are_not(text: str) -> None:
    assert named_steps([text], IDS) == {}


def test_a_machines_label_that_the_plan_gives_one_step_names_it() -> None:
    wordings = [["Shut the bilge cock", "BLG_CK SHUT"], ["Rig the boom", "BOOM OUT"], ["Rig it again", "BOOM OUT"]]
    records = ["BLG CK_SHUT", "BOOM OUT", "PUMP ON", None, "BLG_CK OPEN"]
    assert labelled(records, wordings) == {0: {0}}  # two steps are called 'boom out'
    assert labelled(["BLG_CK SHUT"] * 9, wordings) == {}  # a state told over and over
