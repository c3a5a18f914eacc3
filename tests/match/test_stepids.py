"""Steps named by their ids, and numbers that are none."""

from __future__ import annotations

import pytest

from aftercount.match.stepids import named_steps

IDS = ["4.1", "4.12", "LOX-04", "7"]


@pytest.mark.parametrize(("text", "rows"), [
    ("step 4.12 complete", {1}), ("4.1 complete", {0}), ("vent closed (4.12)", {1}), ("LOX-04 done", {2}), ("Item 7 in work", {3}), ("4.12: vent closed", {1}),
    ("PROP, TC, step four point one two, open it", {1}), ("Step seven. Vent closed.", {3}), ("Seven. Vent valve closed.", {3}),
])
def test_ids_are_read(text: str, rows: set[int]) -> None:
    assert named_steps([text], IDS) == {0: rows}


@pytest.mark.parametrize("text", ["bus current 4.1 A", "7 valves closed", "pressure is 4.12", "4.12 A", "LOX-045 done", "step 4.123", "T-4.1"])
def test_readings_are_not(text: str) -> None:
    assert named_steps([text], IDS) == {}
