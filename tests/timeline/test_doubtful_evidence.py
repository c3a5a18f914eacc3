"""What a garbled word, or one that nobody else bears out, may not do to the clock."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount import tables, timeline
from aftercount.timeline.holds import joined
from aftercount.timeline.staircase import Hold
from timeline.heard import Heard

STEPS = [{"step": "1", "t_s": -3600.0}, {"step": "2", "t_s": 0.0}]


def loop(heard: str, plan: str = "") -> Heard:
    """Heard by a recogniser on one voice loop."""
    return Heard("14:30:00", heard, plan, steps=STEPS, media={"loop": "speech", "net": "speech"})


@pytest.mark.parametrize("word", ["~hold", "~T-00:32:00 holding"])
def test_a_doubtful_word_neither_places_nor_calls_a_silent_hold(word: str) -> None:
    got = loop(f"""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 13:58:00 | {word}
        loop 14:05:00 | T-00:30:00 counting
        loop 14:25:00 | T-00:10:00 counting
        loop 14:35:00 | liftoff
    """).timeline()
    hold = got.holds.iloc[0]
    assert (len(got.holds), hold["basis"]) == (1, "inferred")
    assert hold["duration_s"] == pytest.approx(300, abs=2)
    assert hold["t_low_s"] <= -2399 and hold["t_high_s"] >= -1801


def test_two_doubtful_words_of_one_hold_place_it() -> None:
    got = loop("""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 13:57:00 | T-00:35:00 holding
        loop 13:59:00 | ~hold
        loop 14:05:00 | T-00:30:00 counting
        loop 14:25:00 | T-00:10:00 counting
        loop 14:35:00 | liftoff
    """).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-2100], abs=2)


def test_a_planned_hold_of_which_only_its_end_is_called() -> None:
    got = loop("""
        loop 13:20:00 | T-01:00:00 counting
        loop 13:40:00 | T-00:40:00 counting
        loop 14:05:00 | ~T-00:20:00
        loop 14:08:00 | ~T-00:20:00
        loop 14:10:02 | resume
        loop 14:20:00 | T-00:10:20 counting
        loop 14:29:20 | T-00:01:00 counting
        loop 14:30:20 | liftoff
    """, "-00:20:20 0:10:00").timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1220], abs=1)
    assert got.holds["duration_s"].tolist() == pytest.approx([620], abs=3)


def test_logs_that_begin_together_to_tell_of_a_planned_hold_heard_it_begin() -> None:
    """Cut short by a minute, after four that the clock stood still unseen."""
    got = loop("""
        loop 13:20:00 | T-01:00:00 counting
        loop 13:40:00 | T-00:40:00 counting
        loop 14:14:00 | T-00:10:00 holding
        net 14:14:01 | T-00:10:00 holding
        loop 14:23:00 | resume
        loop 14:28:00 | T-00:05:00 counting
        loop 14:33:00 | liftoff
    """, "-00:10:00 0:10:00").timeline()
    assert got.holds["kind"].tolist() == ["unplanned", "built_in"]
    assert got.holds["duration_s"].tolist() == pytest.approx([240, 540], abs=3)
    assert got.holds["t_low_s"][0] <= -2399 and got.holds["t_high_s"][0] >= -601


def test_two_false_readings_that_agree_are_no_recycle() -> None:
    got = loop("""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 13:55:00 | T-00:45:00
        loop 13:57:00 | T-00:43:00 counting
        loop 13:58:00 | ~T-00:42:00
        loop 14:05:00 | T-00:25:00 counting
        loop 14:25:00 | T-00:05:00 counting
        loop 14:30:00 | liftoff
    """).timeline()
    assert got.clock["pass"].max() == 1
    assert got.holds.empty


def test_a_call_and_the_reading_in_its_words_are_misread_once() -> None:
    """'Cutoff at T-5', taken for minutes by two notes of one keeper, is no recycle to T-5:00."""
    of = loop("""
        net 13:30:00 | T-01:00:00 counting
        net 14:00:00 | T-00:30:00 counting
        net 14:28:00 | T-00:02:00 counting
        net 14:29:30 | T-00:00:30 counting
        net 14:29:55 | cutoff
        net 14:29:55 | T-00:00:05 holding
        desk 14:29:56 | T-00:05:00 holding
        desk 14:30:02 | T-00:05:00 holding
    """)
    speech = of.speech()
    desk = speech.utterances.loc[speech.utterances["source"] == "desk", "utterance"].tolist()
    speech.marks.loc[speech.marks["utterance"].isin(desk), "grade"] = "likely"
    more = [{"utterance": n, "what": what, "grade": "certain", "t_s": -300.0} for n, what in zip(desk, ("cutoff", "hold"), strict=True)]
    speech.calls = tables.CLOCK_CALLS.conform(pd.concat([speech.calls, tables.CLOCK_CALLS.from_rows(more)], ignore_index=True))
    made: Any = (speech, of.sources(), of.count(), of.plan())
    got = timeline.rebuild(*made)
    assert got.clock["pass"].max() == 1
    assert got.holds["t_s"].tolist() == pytest.approx([-5], abs=1)


def test_a_recycle_that_nobody_was_heard_to_call_needs_the_count_to_go_on_from_there() -> None:
    got = loop("""
        loop 13:30:00 | T-01:00:00 counting
        loop 14:00:00 | T-00:30:00 counting
        loop 14:10:00 | T-00:30:00 counting
        loop 14:15:00 | T-00:25:00 counting
        loop 14:20:00 | T-00:20:00 counting
        loop 14:30:00 | T-00:10:00 counting
        loop 14:35:00 | T-00:05:00 counting
        loop 14:40:00 | liftoff
    """).timeline()
    assert got.outcome == "liftoff" and got.holds["duration_s"].sum() == pytest.approx(600, abs=3)


def test_one_reading_does_not_end_a_hold_past_t0() -> None:
    """'T minus ten' of a count that stands at T-3:20 and is set back later: it would have had to reach T-0 in between."""
    got = loop("""
        loop 13:30:00 | T-01:00:00 counting
        loop 14:20:00 | T-00:10:00 counting
        loop 14:26:40 | hold
        loop 14:26:50 | T-00:03:20 holding
        loop 14:34:00 | T-00:00:10
        loop 14:40:00 | recycle T-00:10:00
        loop 14:40:10 | T-00:10:00 holding
        loop 14:45:00 | resume
        loop 14:50:00 | T-00:05:00 counting
        loop 14:55:00 | liftoff
    """).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-200], abs=1)
    assert got.holds["duration_s"].tolist() == pytest.approx([1100], abs=2)


def test_holds_with_nothing_between_them_are_one_whichever_comes_first() -> None:
    """A hold call a moment before the clock stopped leaves a hold of no length; their count times differ in the last digit."""
    none, whole = (Hold(1, t, -240.0, end, False, t, t) for t, end in ((-240.0, -240.0), (-240.00000000000006, 60.0)))
    assert [(h.start, h.end) for h in joined([none, whole])] == [(h.start, h.end) for h in joined([whole, none])] == [(-240.0, 60.0)]


def test_a_recording_without_wall_time_is_laid_by_a_stretch_and_not_by_its_first_misheard_readings() -> None:
    readings = "\n".join(f"net {13 + m // 60:02d}:{m % 60:02d}:00 | T-00:{60 - m:02d}:00 counting" for m in range(12, 58, 5))
    of = Heard("14:30:00", f"""
        net 13:01:00 | T-00:29:00
        net 13:03:00 | T-00:27:00
        net 13:05:00 | T-00:25:00
        {readings}
        net 14:00:00 | liftoff
    """, steps=STEPS, kinds={"net": "elapsed"}, media={"net": "speech"})
    got = of.timeline()
    assert got.outcome_us is not None and (got.outcome_us - of.t0_us) / 1e6 == pytest.approx(0, abs=5)


def test_a_keeper_who_still_has_the_count_held_seconds_after_a_machine_resumed_it_moves_nothing() -> None:
    machine = """
        seq 14:15:00 | stamp T-00:15:00
        seq 14:16:00 | stamp T-00:14:00
        seq 14:18:00 | stamp T-00:12:00
        seq 14:20:00 | hold
        seq 14:20:00 | stamp T-00:10:00
        seq 14:25:00 | resume
        seq 14:25:00 | stamp T-00:10:00
    """
    late = """
        notes 14:25:03 | T-00:10:00 holding
        notes 14:25:05 | T-00:10:00 holding
        notes 14:26:01 | T-00:09:00 counting
    """
    got = Heard("14:30:00", machine + late, media={"seq": "machine"}).timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([300], abs=1.5)
    assert got.clock["state"].tolist() == ["counting", "holding", "counting"]
