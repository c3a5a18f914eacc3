"""Steps heard tell of the count where nothing else does: a hold that ended unheard, a silent one, and how little a few late steps prove."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from aftercount import timeline
from aftercount.timeline.candidates import candidates
from aftercount.timeline.evidence import spoken
from aftercount.timeline.keeping import emission
from aftercount.timeline.model import ANY, MARK, STEP, Costs, Nodes
from aftercount.timeline.stepped import STEP_WEIGHT, steps_heard
from timeline.heard import Heard, seconds

# A planned hold of five minutes at T-10:00 from 14:20:00 on. Nobody was heard to resume; by the next reading the count is 7 min 11 s behind.
MARKS = """
    loop 14:05:00 | T-00:25:00 counting
    loop 14:15:00 | T-00:15:00 counting
    loop 14:20:00 | T-00:10:00 holding
    loop 14:22:00 | T-00:10:00 holding
    loop 14:31:11 | T-00:06:00 counting
    loop 14:32:11 | T-00:05:00 counting
    loop 14:36:11 | T-00:01:00 counting
"""
PLAN = {"A": -570.0, "B": -540.0, "C": -510.0, "D": -480.0, "E": -450.0, "F": -330.0}
RESUMED = {"A": "14:25:30", "B": "14:26:01", "C": "14:26:32", "D": "14:27:00", "E": "14:27:31", "F": "14:31:42"}
HELD_ON = {"A": "14:27:41", "B": "14:28:12", "C": "14:28:42", "D": "14:29:12", "E": "14:29:42", "F": "14:31:42"}


def refined(heard: dict[str, str], part: str = "call", likeness: float = 0.95) -> tuple[Heard, timeline.Timeline]:
    of = Heard("14:30:00", MARKS + "".join(f"    loop {when} | {step}\n" for step, when in heard.items()), "-00:10:00 0:05:00")
    made: Any = (of.speech(), of.count(), of.plan())
    events = [n for n, (_, _, what) in enumerate(of.rows()) if what in PLAN]
    steps = [of.rows()[n][2] for n in events]
    matches = pd.DataFrame({"step": steps, "pass": 1, "event": events, "part": part, "text_score": likeness, "score": 0.5, "rank": 1})
    due = pd.DataFrame({"step": list(PLAN), "pass": 1, "planned_t_s": list(PLAN.values()), "in_hold": False})
    return of, timeline.refine(of.timeline(), timeline.Found(matches, due), *made)


def holds(of: Heard, got: timeline.Timeline) -> list[tuple[float, float]]:
    return [(row["t_s"], round(seconds(row["end_utc"], of) - seconds(row["start_utc"], of))) for row in got.holds.to_dict("records")]


def test_a_hold_ended_when_the_steps_after_it_began() -> None:
    of, got = refined(RESUMED)
    first, second = holds(of, got)
    assert first[0] == -600.0 and first[1] == pytest.approx(300, abs=6)
    low, high = got.holds["t_low_s"].iloc[1], got.holds["t_high_s"].iloc[1]
    assert second[1] == pytest.approx(131, abs=6) and low <= -445.0 and high >= -361.0 and got.holds["basis"].iloc[1] == "inferred"


def test_steps_that_waited_for_the_hold_leave_it_as_it_was() -> None:
    of, got = refined(HELD_ON)
    assert holds(of, got) == [(-600.0, 431)]


@pytest.mark.parametrize(("fewer", "likeness"), [({"A": RESUMED["A"]}, 0.95), (RESUMED, 0.6)])
def test_one_early_step_proves_nothing_nor_do_words_that_are_hardly_the_step_s(fewer: dict[str, str], likeness: float) -> None:
    of, got = refined(fewer, likeness=likeness)
    assert holds(of, got) == [(-600.0, 431)]


def test_a_machine_that_tells_the_count_is_not_corrected_by_steps() -> None:
    of = Heard("14:30:00", MARKS + "".join(f"    loop {when} | {step}\n" for step, when in RESUMED.items()), "-00:10:00 0:05:00", media={"loop": "machine"})
    made: Any = (of.speech(), of.count(), of.plan())
    before = of.timeline()
    events = range(len(of.rows()) - len(RESUMED), len(of.rows()))
    matches = pd.DataFrame({"step": list(RESUMED), "pass": 1, "event": events, "part": "call", "text_score": 0.95, "score": 0.5, "rank": 1})
    due = pd.DataFrame({"step": list(PLAN), "pass": 1, "planned_t_s": list(PLAN.values()), "in_hold": False})
    assert timeline.refine(before, timeline.Found(matches, due), *made) is before


def test_which_lines_of_a_step_tell_and_how_much() -> None:
    of = Heard("14:30:00", "\n".join(f"loop 14:{m:02}:00 | note" for m in range(8)))
    rows = [("A", 0, "call", 0.9), ("A", 1, "report", 0.9), ("A", 5, "report", 0.9), ("B", 2, "report", 0.95), ("C", 2, "call", 0.93), ("D", 3, "call", 0.7),
            ("E", 4, "call", 0.99), ("F", 6, "response", 0.9), ("F", 7, "call", 0.3)]
    matches = pd.DataFrame(rows, columns=["step", "event", "part", "text_score"]).assign(**{"pass": 1})
    due = pd.DataFrame({"step": list("ABCDEF"), "pass": 1, "planned_t_s": [-1800.0, -1700.0, -1690.0, -1600.0, -1500.0, -1400.0], "in_hold": [False] * 4 + [True, False]})
    made = steps_heard(matches, due, spoken(of.speech().utterances, of.sources(), of.t0_us))
    # A was told at 0 and, minutes later, again at 5: half the weight each; its report at 1 is of the first doing. B and C share a line, D's words are hardly its
    # own, E is inside a hold.
    assert made.utterance.tolist() == [0, 5, 6]
    assert made.t.tolist() == [-1800.0, -1788.0, -1397.0]
    assert np.allclose(made.weight, [STEP_WEIGHT / 2, STEP_WEIGHT / 2, STEP_WEIGHT])


def test_steps_that_agree_are_served_though_a_reading_lies_two_of_their_sigmas_from_them() -> None:
    """Notes to the minute: the last word of the count and the steps before it are of one silent hold, 40 s apart for how the minutes were cut."""
    z = np.array([0.0, 850.0, *[890.0] * 4])
    t = np.array([-600.0, 0.0, -300.0, -240.0, -180.0, -120.0])
    kind = np.array([MARK, MARK, *[STEP] * 4])
    order = np.argsort(z + t)
    start, sigma, n = (z + t)[order], np.where(kind == STEP, 21.0, 17.0)[order], len(t)
    nodes = Nodes(start, start, t[order], sigma, np.where(kind == STEP, STEP_WEIGHT, 4.0)[order], sigma, kind[order], np.full(n, ANY), np.zeros(n, dtype=bool), sigma)
    field = candidates(nodes, np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0))
    for i in np.flatnonzero(nodes.kind == STEP):
        states, _ = emission(nodes, int(i), field, Costs())
        assert any(s < len(field.z) and field.z[s] > 800 for s in states)


def test_no_steps_no_evidence() -> None:
    of = Heard("14:30:00", "loop 14:00:00 | note")
    empty = pd.DataFrame({"step": [], "pass": [], "event": [], "part": [], "text_score": []})
    due = pd.DataFrame({"step": ["A"], "pass": 1, "planned_t_s": [-600.0], "in_hold": [False]})
    assert len(steps_heard(empty, due, spoken(of.speech().utterances, of.sources(), of.t0_us))) == 0


def test_one_step_and_the_first_word_of_a_planned_hold_agree_on_a_silent_hold_before_it() -> None:
    """The hold was first spoken of 4 min after it should have begun, and a step just before was as much behind; without the step it was merely not heard."""
    marks = """
        loop 14:00:00 | T-00:25:00 counting
        loop 14:05:00 | T-00:20:00 counting
        loop 14:19:00 | T-00:10:00 holding
        loop 14:22:00 | T-00:10:00 holding
        loop 14:27:00 | T-00:09:00 counting
        loop 14:31:00 | T-00:05:00 counting
        loop 14:35:00 | T-00:01:00 counting
    """
    found = {}
    for steps in ({}, {"S": "14:17:02"}):
        of = Heard("14:25:00", marks + "".join(f"    loop {when} | {step}\n" for step, when in steps.items()), "-00:10:00 0:05:00")
        events = [n for n, (_, _, what) in enumerate(of.rows()) if what == "S"]
        matches = pd.DataFrame({"step": ["S"] * len(events), "pass": 1, "event": events, "part": "call", "text_score": 0.99, "score": 0.5, "rank": 1})
        due = pd.DataFrame({"step": ["S"], "pass": 1, "planned_t_s": [-720.0], "in_hold": False})
        made: Any = (of.speech(), of.count(), of.plan())
        found[len(events)] = [kind for kind in timeline.refine(of.timeline(), timeline.Found(matches, due), *made).holds["kind"].tolist()]
    assert found == {0: ["built_in"], 1: ["unplanned", "built_in"]}
