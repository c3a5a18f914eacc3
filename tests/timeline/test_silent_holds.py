"""Holds that nobody was heard to call, and T-0s that moved for other reasons."""

from __future__ import annotations

import numpy as np
import pytest

from aftercount.timeline.evidence import Evidence
from aftercount.timeline.model import HOLD, MARK, RESUME_CALL, SILENT, Field
from aftercount.timeline.pieces import _one_stretch
from timeline.heard import Heard, seconds, utc

STEPS = [{"step": "1", "t_s": -3600.0}, {"step": "2", "t_s": 0.0}]


def count(heard: str, plan: str = "") -> Heard:
    return Heard("14:30:00", heard, plan, steps=STEPS)


def test_a_silent_hold_lies_between_the_marks_round_it() -> None:
    got = count("""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 14:03:00 | T-00:30:00 counting
        loop 14:23:00 | T-00:10:00 counting
        loop 14:33:00 | liftoff
    """).timeline()
    hold = got.holds.iloc[0]
    assert (len(got.holds), hold["basis"], hold["kind"]) == (1, "inferred", "unplanned")
    assert hold["duration_s"] == pytest.approx(180, abs=2)
    assert (hold["t_low_s"], hold["t_high_s"]) == (pytest.approx(-2400, abs=2), pytest.approx(-1800, abs=2))


def test_one_false_reading_does_not_place_a_silent_hold() -> None:
    got = count("""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 13:59:00 | T-00:32:00
        loop 14:05:00 | T-00:30:00 counting
        loop 14:25:00 | T-00:10:00 counting
        loop 14:35:00 | liftoff
    """).timeline()
    hold = got.holds.iloc[0]
    assert hold["basis"] == "inferred" and hold["duration_s"] == pytest.approx(300, abs=2)
    assert hold["t_low_s"] <= -2399 and hold["t_high_s"] >= -1801


def test_a_hold_called_later_than_the_count_stood_still_leaves_a_silent_one_before_it() -> None:
    got = count("""
        loop 13:30:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:40:00 counting
        loop 14:12:00 | hold
        loop 14:12:05 | T-00:20:00 holding
        loop 14:16:00 | resume
        loop 14:26:00 | T-00:10:00 counting
        loop 14:36:00 | liftoff
    """).timeline()
    assert got.holds["basis"].tolist() == ["inferred", "called"]
    assert got.holds["duration_s"].tolist() == pytest.approx([120, 240], abs=3)
    assert got.holds["t_low_s"][0] <= -2399 and got.holds["t_high_s"][0] >= -1201


def test_a_planned_hold_that_kept_its_length_had_not_begun_before_it_was_heard() -> None:
    got = count("""
        loop 13:20:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:30:00 counting
        loop 14:14:00 | T-00:09:00 holding
        loop 14:24:00 | T-00:09:00 counting
        loop 14:33:00 | liftoff
    """, "-00:09:00 0:10:00").timeline()
    assert got.holds["kind"].tolist() == ["unplanned", "built_in"]
    assert got.holds["duration_s"].tolist() == pytest.approx([180, 600], abs=3)


@pytest.mark.parametrize(("resumed", "length"), [("14:19:00", 300), ("14:31:00", 1020)])
def test_a_built_in_hold_released_early_or_late(resumed: str, length: float) -> None:
    late = length - 600
    of = count(f"""
        loop 13:20:00 | T-01:00:00 counting
        loop 14:14:00 | T-00:06:00 holding
        loop {resumed} | resume
        loop {resumed[:3]}{int(resumed[3:5]) + 2:02d}:00 | T-00:04:00 counting
        loop {resumed[:3]}{int(resumed[3:5]) + 6:02d}:00 | liftoff
    """, "-00:06:00 0:10:00")
    got = of.timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([length], abs=2)
    assert got.holds["excess_s"].tolist() == pytest.approx([late], abs=2)
    assert got.outcome_us is not None and (got.outcome_us - of.t0_us) / 1e6 == pytest.approx(late, abs=2)


def test_an_announced_t0_places_a_count_that_nobody_else_speaks_of() -> None:
    of = count("""
        loop 13:30:00 | T-01:00:00 counting
        loop 14:00:00 | T-00:30:00 counting
        loop 14:01:00 | hold
        loop 14:01:10 | T-00:29:00 holding
        loop 14:10:00 | T0 14:50:00
        loop 14:21:00 | resume
        loop 14:51:00 | note
    """)
    got = of.timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([1200], abs=2)
    assert seconds(got.clock["end_utc"].iloc[-1], of) - got.clock["end_t_s"].iloc[-1] == pytest.approx(1200, abs=2)


def test_an_l_time_runs_on_while_the_count_is_held() -> None:
    of = count("""
        loop 13:20:00 | T-01:00:00 counting
        loop 14:14:00 | T-00:06:00 holding
        loop 14:16:00 | L-00:14:00
        loop 14:20:00 | L-00:10:00
        loop 14:23:00 | L-00:07:00
        loop 14:24:00 | T-00:06:00 counting
        loop 14:28:00 | T-00:02:00 counting
        loop 14:30:00 | liftoff
    """, "-00:06:00 0:10:00")
    got = of.timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([600], abs=2) and got.clock["pass"].max() == 1
    assert got.outcome_us is not None and got.outcome_us == pytest.approx(of.t0_us, abs=2e6)


def test_a_clock_set_to_a_misheard_count_and_then_read_was_set_once() -> None:
    got = count("""
        loop 13:30:00 | T-01:00:00 counting
        loop 14:25:00 | T-00:05:00 counting
        loop 14:28:00 | hold
        loop 14:28:05 | T-00:02:00 holding
        loop 14:33:00 | recycle T-00:09:00
        loop 14:33:06 | T-00:09:20 holding
        loop 14:36:00 | T-00:09:20 holding
        loop 14:40:00 | resume
        loop 14:44:20 | T-00:05:00 counting
        loop 14:49:20 | liftoff
    """).timeline()
    assert got.clock["pass"].max() == 2
    assert got.clock.loc[got.clock["pass"] == 2, "start_t_s"].iloc[0] == pytest.approx(-560, abs=1)


@pytest.mark.parametrize(("read", "passes"), [("14:47:40 | T-00:05:00 counting", 2), ("14:42:20 | T-00:10:20 counting", 3)])
def test_a_clock_that_goes_on_from_where_it_was_set_was_set_once(read: str, passes: int) -> None:
    """The keeper stamps 'resume' most of a minute before the clock ran, which reads so; read at an earlier count it would have been set once more."""
    lines = f"""
        loop 13:30:00 | T-01:00:00 counting
        loop 14:25:00 | T-00:05:00 counting
        loop 14:28:00 | hold
        loop 14:28:05 | T-00:02:00 holding
        loop 14:33:00 | recycle T-00:10:00
        keeper 14:33:40 | recycle T-00:10:00
        keeper 14:41:50 | resume
        loop {read}
        loop 14:49:40 | T-00:03:00 counting
        loop 14:52:40 | liftoff
    """
    got = count(lines).timeline()
    assert got.clock["pass"].max() == passes
    assert got.holds["recycled_to_t_s"].dropna().tolist()[:1] == pytest.approx([-600], abs=1)


def test_a_planned_hold_announced_as_planned_began_then() -> None:
    """Nothing was heard between a silent hold and a planned one that was cut short; who says 'as planned' says it as the hold begins."""
    heard = """
        loop 13:20:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:30:00 counting
        loop 14:14:00 | {}
        loop 14:19:00 | T-00:09:00 counting
        loop 14:28:00 | liftoff
    """
    got = count(heard.format("hold"), "-00:09:00 0:10:00").timeline()
    assert got.holds["kind"].tolist() == ["unplanned", "built_in"]
    assert got.holds["duration_s"].tolist() == pytest.approx([180, 300], abs=3)
    late = count(heard.format("T-00:09:00 holding"), "-00:09:00 0:10:00").timeline()  # somebody reads it: it may long have stood there
    assert late.holds["kind"].tolist() == ["built_in"]


def test_a_planned_hold_that_was_longer_than_planned_by_more_than_a_breath_was_merely_not_heard_at_first() -> None:
    got = count("""
        loop 13:20:00 | T-01:00:00 counting
        loop 13:50:00 | T-00:30:00 counting
        loop 14:11:40 | T-00:09:00 holding
        loop 14:21:57 | T-00:09:00 counting
        loop 14:30:57 | liftoff
    """, "-00:09:00 0:10:00").timeline()
    assert got.holds["kind"].tolist() == ["built_in"]
    assert got.holds["duration_s"].tolist() == pytest.approx([657], abs=3)


def test_a_machine_that_goes_on_from_an_earlier_count_was_recycled() -> None:
    """Nobody is heard, and the clock would have passed T-0 by then; it stopped before that."""
    got = count("""
        machine 14:00:00 | T-00:30:00 counting
        machine 14:10:00 | T-00:20:00 counting
        machine 14:20:00 | T-00:10:00 counting
        machine 14:26:00 | T-00:04:00 counting
        machine 14:41:00 | T-00:10:00 counting
        machine 14:43:00 | T-00:08:00 counting
        machine 14:45:00 | T-00:06:00 counting
        machine 14:47:00 | T-00:04:00 counting
        machine 14:49:00 | T-00:02:00 counting
        machine 14:51:00 | liftoff
    """).timeline()
    hold = got.holds.iloc[0]
    assert got.clock["pass"].max() == 2 and hold["recycled_to_t_s"] == pytest.approx(-600, abs=2)
    assert (hold["t_low_s"], hold["t_high_s"]) == (pytest.approx(-240, abs=2), pytest.approx(0, abs=2))


def test_a_planned_hold_lies_where_it_was_planned_though_the_readings_on_either_side_of_it_cross() -> None:
    """The last before it is right; who reads the count as it is picked up does so three seconds early."""
    got = Heard("14:30:00", """
        loop 14:00:00 | T-00:25:00 counting
        loop 14:10:00 | T-00:15:00 counting
        loop 14:14:59 | T-00:10:00
        loop 14:19:57 | T-00:10:00 counting
        loop 14:25:00 | T-00:05:00 counting
        loop 14:27:00 | T-00:03:00 counting
        loop 14:29:00 | T-00:01:00 counting
    """, "-00:10:00 0:05:00", media={"loop": "speech"}, sigma_s=1.5).timeline()
    assert got.holds["kind"].tolist() == ["built_in"] and got.holds["t_s"].tolist() == [-600.0]


@pytest.mark.parametrize(("later", "kind", "move", "planned", "same"), [
    (4.0, MARK, SILENT, [], True), (4.3, MARK, SILENT, [], False), (4.0, RESUME_CALL, SILENT, [], False), (4.0, MARK, HOLD, [], False),
    (4.0, MARK, SILENT, [-450.0], False), (4.0, MARK, SILENT, [-650.0], True)])
def test_readings_no_further_apart_than_they_are_unsure_are_of_one_stretch(later: float, kind: int, move: int, planned: list[float], same: bool) -> None:
    """Of Z = 0, one second unsure, and of a little later as unsure: three times 1.41 s is no hold, unless one was called or planned between."""
    flat, whole = np.zeros(2), np.zeros(2, dtype=np.int64)
    e = Evidence(whole, whole, flat, flat, flat, flat, flat, flat, np.array([MARK, kind]), whole, whole, whole)
    field = Field(np.array([0.0, later]), np.array([]), np.array(planned), np.full(len(planned), 60.0), np.array([]), np.array([]))
    groups = [(0, SILENT, [0]), (1, move, [1])]
    assert _one_stretch(e, np.array([-500.0, -400.0]), groups, [(0.0, 1.0, 1), (later, 1.0, 1)], field) == ([1] if same else [])


@pytest.mark.parametrize("garbled", ["T-00:09:08", "T-00:39:00", "T-00:19:20"])
@pytest.mark.parametrize("apart", [3, 25, 75])
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("heard", [{"resume"}, {"held"}, {"held", "resume"}, set()])
def test_a_target_misheard_beside_the_right_one_is_one_recycle(garbled: str, apart: int, first: bool, heard: set[str]) -> None:
    """Held at T-4:50 at 14:25:20, set back to T-20:00 two minutes later as one log has it, to something else as another does, and resumed there at 14:31:00."""
    def at(u: int) -> str:
        return f"14:{25 + u // 60:02d}:{u % 60:02d}"

    right, other = (140 + apart, 140) if first else (140, 140 + apart)
    lines = ["net 13:30:10 | T-01:00:00", "net 13:50:10 | T-00:40:00", "net 14:20:10 | T-00:10:00", f"net {at(20)} | hold",
             f"net {at(23)} | T-00:04:50 holding", f"net {at(other)} | recycle {garbled}", f"desk {at(right)} | recycle T-00:20:00"]
    lines += [f"net {at(280)} | T-00:20:00 holding"] * ("held" in heard) + [f"net {at(360)} | resume"] * ("resume" in heard)
    lines += [f"net {at(360 + 60 * k)} | T-{20 - k}:00" for k in range(2, 20, 3)] + [f"net {at(360 + 1200)} | liftoff"]
    got = count("\n".join(lines)).timeline()
    assert got.clock["pass"].max() == 2 and got.holds["t_s"].tolist() == pytest.approx([-290.0], abs=3.0) and got.outcome == "liftoff"
    assert got.clock.loc[got.clock["pass"] == 2, "end_t_s"].iloc[-1] == pytest.approx(0.0, abs=3.0)
    if heard or garbled != "T-00:19:20":  # with nothing else to tell, a count from either fits what was read afterwards
        assert got.holds["recycled_to_t_s"].tolist() == pytest.approx([-1200.0], abs=3.0)


@pytest.mark.parametrize("read", [(40, 39, 38, 36, 35), (40, 38), (44, 43, 41, 40, 37, 36, 35)])
def test_a_hold_that_nobody_read_lies_where_it_was_called(read: tuple[int, ...]) -> None:
    """It may have begun seconds before the call; nothing says that it did."""
    heard = [f"net {14 * 3600 - 60 * t} | T-00:{t}:00" for t in read] + [f"net {14 * 3600 - 1948} | hold", f"net {14 * 3600 - 1948 + 420} | resume"]
    heard += [f"net {14 * 3600 + 420 - 60 * t} | T-00:{t:02}:00" for t in (30, 27, 24, 20)] + [f"net {14 * 3600 - 60 * 34} | T-00:34:08"]  # misread
    got = Heard("14:00:00", "\n".join(heard), kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("00:00:00")}).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1948.0], abs=1.5) and got.holds["basis"].tolist() == ["called"]


def test_a_count_that_came_to_a_planned_hold_before_it_was_set_back_was_in_it() -> None:
    """Nobody was heard to say that it held, and the clock is set as it should stand there."""
    heard = [f"desk {14 + (30 - t) // 60:02d}:{(30 - t) % 60:02d}:00 | T-00:{t:02}:00" for t in (30, 28, 25, 22)]
    heard += ["desk 14:16:00 | recycle T-00:30:00", "desk 14:16:04 | T-00:30:00 holding", "desk 14:21:00 | resume", "desk 14:23:00 | T-00:28:00", "desk 14:27:00 | T-00:24:00", "desk 14:28:00 | T-00:23:00"]
    got = Heard("14:40:00", "\n".join(heard), "-00:20:00 0:10:00").timeline()
    first = got.holds.iloc[0]
    assert (first["t_s"], first["kind"], first["recycled_to_t_s"]) == (pytest.approx(-1200.0), "built_in", pytest.approx(-1800.0))
    assert got.clock["pass"].max() == 2


def test_a_hold_called_seconds_after_a_resume_is_another() -> None:
    """Nobody read the count between; that it was picked up at T-19:55 was."""
    heard = [f"net {60 * (40 - m)} | T-00:{m}:00" for m in (39, 36, 33, 30, 27, 24, 22)]
    heard += ["net 1200 | hold", "net 1200 | T-00:20:00 holding", "net 1800 | resume", "net 1805 | hold", "net 2705 | resume", "net 2705 | T-00:19:55"]
    heard += [f"net {2705 + 1195 - 60 * m} | T-00:{m}:00" for m in (18, 16, 13, 11)]
    got = Heard("00:50:00", "\n".join(heard), "-00:20:00 0:10:00", kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("00:00:00")}).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1200.0, -1195.0], abs=1.0)
    assert got.holds["kind"].tolist() == ["built_in", "unplanned"] and got.holds["duration_s"].tolist() == pytest.approx([600.0, 900.0], abs=3.0)


def test_a_clock_that_was_heard_to_run_was_not_held_until_it_could_have_come_from_where_a_false_call_set_it() -> None:
    """'If we recycle we go to T-30', misheard as done, in the hold before the clock is set back to T-60, of which nobody was heard to call that."""
    heard = [f"net {60 * (40 - m)} | T-00:{m}:00" for m in (39, 36, 33, 30, 27, 24, 22)] + ["net 1140 | hold", "net 1142 | T-00:21:00 holding", "net 1500 | recycle T-00:30:00"]
    heard += [f"net {1700 + 60 * (60 - m)} | T-00:{m}:00 counting" for m in (59, 57, 54, 52, 50, 47)]
    got = Heard("02:00:00", "\n".join(heard), kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("00:00:00")}).timeline()
    after = got.clock[got.clock["pass"] > 1]
    counting = after[after["state"] == "counting"].iloc[0]
    assert counting["start_t_s"] <= -3540.0 and counting["end_t_s"] >= -2820.0


@pytest.mark.parametrize(("resumed", "holds", "to_t"), [(None, "", -2700.0), ("net 2120 | resume", "", -2680.0), (None, "-00:43:00 0:10:00", -2580.0)])
def test_a_clock_set_to_nobody_heard_what_ran_from_a_resume_call_a_planned_hold_or_the_roundest_count(resumed: str | None, holds: str, to_t: float) -> None:
    """Set back at 1500 and read as T-41:00 at 2340, it may have stood at any count between T-55:00 and that until it ran."""
    heard = [f"net {60 * (40 - m)} | T-00:{m}:00" for m in (39, 36, 33, 30, 27, 24, 22)] + ["net 1140 | hold", "net 1142 | T-00:21:00 holding", "net 1500 | recycle"]
    heard += [resumed] * bool(resumed) + [f"net {2340 + 60 * (41 - m)} | T-00:{m}:00 counting" for m in (41, 39, 38, 36, 34)]
    got = Heard("02:00:00", "\n".join(heard), holds, kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("00:00:00")}).timeline()
    held = got.holds.iloc[0]
    assert (held["t_s"], held["recycled_to_t_s"]) == (pytest.approx(-1260.0, abs=2.0), pytest.approx(to_t, abs=2.0))


@pytest.mark.parametrize("taken_back", ["    loop 14:10:12 | ~resume\n", "    loop 14:10:12 | resume\n", ""])
def test_a_stop_that_was_called_and_taken_back_was_none(taken_back: str) -> None:
    """'Abort!', on two loops, then 'negative, still counting': the count is read every half minute and lost nothing."""
    read = [(60 * m + s, f"    loop 14:{m:02d}:{s:02d} | T-00:{(1800 - 60 * m - s) // 60:02d}:{-s % 60:02d} counting") for m in range(2, 28) for s in (0, 30)]
    told = "    loop 14:10:04 | cutoff\n    pad 14:10:06 | cutoff\n" + taken_back
    lines = [*[line for at, line in read if at <= 600], *told.splitlines(), *[line for at, line in read if at > 600]]
    of = Heard("14:30:00", "\n".join(lines), media={"loop": "speech"})
    got = of.timeline()
    assert got.holds.empty and got.clock["state"].tolist() == ["counting"] * len(got.clock)


@pytest.mark.parametrize("held_s", [12, 40])
def test_a_short_stop_is_one(held_s: int) -> None:
    lines = [f"    loop 14:{m:02d}:00 | T-00:{30 - m:02d}:00 counting" for m in range(2, 11)]
    after = [f"    loop 14:{m:02d}:{held_s:02d} | T-00:{30 - m:02d}:00 counting" for m in range(11, 28)]
    of = Heard("14:30:00", "\n".join([*lines, "    loop 14:10:04 | hold", f"    loop 14:10:{4 + held_s:02d} | resume", *after]), media={"loop": "speech"})
    hold, = of.timeline().holds.to_dict("records")
    assert hold["duration_s"] == pytest.approx(held_s, abs=1.5) and hold["t_s"] == pytest.approx(-1196, abs=1.5)


HELD_AT_NINE = [f"net {60 * (30 - m)} | T-00:{m:02d}:00" for m in (29, 26, 23, 20, 17, 14, 11)] + ["net 1260 | hold", "net 1262 | T-00:09:00 holding"]


@pytest.mark.parametrize(("told", "passes"), [("net 1560 | resume", 2), ("net 1560 | ~resume", 1), ("", 1)])
def test_a_count_that_goes_on_from_an_earlier_count_as_it_is_resumed_was_recycled(told: str, passes: int) -> None:
    """Held at T-9:00; all that is heard of its being set back to T-15:00 is that it goes on, and two readings behind that."""
    heard = [*HELD_AT_NINE, *[told] * bool(told), "net 1680 | T-00:13:00", "net 1800 | T-00:11:00"]
    got = Heard("02:00:00", "\n".join(heard), kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("01:30:00")}).timeline()
    assert got.clock["pass"].max() == passes
    assert got.holds["recycled_to_t_s"].dropna().tolist() == [pytest.approx(-900.0, abs=2.0)] * (passes - 1)


@pytest.mark.parametrize(("to", "later"), [("T-00:15:00", 0.9), ("T-00:50:00", 0.9), ("T-00:15:00", -0.9)])
def test_a_clock_may_be_said_to_be_set_a_moment_after_it_was(to: str, later: float) -> None:
    """Set to T-15:00 at 1560 and running at once; the count of it said a moment later or before, or misheard: the next that is read is T-11:00."""
    heard = [*HELD_AT_NINE, f"net {1560 + later} | recycle {to}", *[f"net {1560 + 60 * (15 - m)} | T-00:{m:02d}:00" for m in (11, 10, 8, 7, 5)]]
    got = Heard("02:00:00", "\n".join(heard), kinds={"net": "elapsed"}, media={"net": "speech"}, starts={"net": utc("01:30:00")}).timeline()
    assert got.holds["recycled_to_t_s"].tolist() == [pytest.approx(-900.0, abs=2.0)]
