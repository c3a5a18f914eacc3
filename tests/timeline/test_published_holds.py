"""Published counts, from what was heard of the clock alone: the figures are the publications', the words ours.

The whole tool is held to the same counts, log files in, in tests/whole.
"""

from __future__ import annotations

import pytest

from timeline.heard import Heard, seconds, utc

# Apollo 17, 6-7 Dec 1972: NASA MPR-SAT-FE-73-1 (1973) and the Apollo Flight Journal; hold lengths NASA SP-2000-4029.
APOLLO_17 = """
loop 01:53:00 | T-01:00:00
loop 02:23:00 | T-00:30:00 counting
loop 02:43:00 | T-00:10:00 counting
loop 02:48:00 | T-00:05:00 counting
loop 02:52:00 | T-00:01:00 counting
loop 02:52:30 | cutoff
loop 02:53:20 | T-00:00:30 holding
loop 03:10:00 | T-00:00:30 holding
loop 03:40:00 | recycle T-00:22:00
loop 03:42:00 | T-00:22:00 holding
loop 03:57:41 | resume
loop 03:59:41 | T-00:20:00 counting
loop 04:04:41 | T-00:15:00 counting
loop 04:08:00 | T-00:13:00 counting
loop 04:11:41 | hold
loop 04:12:30 | T-00:08:00 holding
loop 04:40:00 | T-00:08:00 holding
loop 05:25:00 | resume
loop 05:26:00 | T-00:07:00 counting
loop 05:28:00 | T-00:05:00 counting
loop 05:32:00 | T-00:01:00 counting
loop 05:33:00 | liftoff
"""


def test_apollo_17_two_passes_and_two_unplanned_holds() -> None:
    of = Heard("02:53:00", APOLLO_17, day="1972-12-07")
    got = of.timeline()
    unplanned = got.holds[got.holds["kind"] == "unplanned"]
    assert got.outcome == "liftoff"
    assert (got.outcome_us - of.t0_us) / 1e6 == pytest.approx(9600, abs=1)
    assert unplanned["duration_s"].tolist() == pytest.approx([3911, 4399], abs=1.5)
    assert unplanned["t_s"].tolist() == pytest.approx([-30, -480], abs=1)
    assert unplanned["recycled_to_t_s"].tolist()[0] == -1320
    assert got.clock["pass"].max() == 2
    assert unplanned["slip_s"].sum() == pytest.approx(9600, abs=1)


def test_apollo_14_one_weather_hold() -> None:
    # Apollo 14, 31 Jan 1971: NASA mission commentary, front matter.
    of = Heard("20:23:00", """
        loop 20:03:00 | T-00:20:00 counting
        loop 20:13:00 | T-00:10:00 counting
        loop 20:14:58 | hold
        loop 20:16:00 | T-00:08:02 holding
        loop 20:54:00 | T-00:08:02 holding
        loop 20:55:00 | resume
        loop 20:56:02 | T-00:07:00 counting
        loop 21:02:02 | T-00:01:00 counting
        loop 21:03:02 | liftoff
    """, day="1971-01-31")
    got = of.timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([2402], abs=1)
    assert got.holds["basis"].tolist() == ["called"]
    assert (got.outcome_us - of.t0_us) / 1e6 == pytest.approx(2402, abs=1)


STS_92 = """
-06:00:00 1:00:00
-03:00:00 2:00:00
-00:20:00 0:10:00
-00:09:00 0:45:00
"""


@pytest.mark.parametrize("heard", ["pad 08:22:00 | note", "pad 08:22:00 | T-07:00:00 counting", """
    pad 08:22:00 | T-07:00:00 counting
    pad 11:22:00 | T-05:00:00 counting
    pad 16:22:00 | T-02:00:00 counting
    pad 19:17:00 | liftoff"""])
def test_sts_92_holds_fall_where_its_milestones_say(heard: str) -> None:
    # NASA KSC countdown milestones of STS-92, 11 Oct 2000 (local time as printed).
    of = Heard("19:17:00", heard + "\npad 19:20:00 | note", STS_92, day="2000-10-11")
    got = of.timeline()
    starts = [seconds(v, of) for v in got.holds["start_utc"]]
    ends = [seconds(v, of) for v in got.holds["end_utc"]]
    wanted = [("09:22:00", "10:22:00"), ("13:22:00", "15:22:00"), ("18:02:00", "18:12:00"), ("18:23:00", "19:08:00")]
    assert starts == pytest.approx([(utc(a, of.day) - of.t0_us) / 1e6 for a, _ in wanted], abs=2)
    assert ends == pytest.approx([(utc(b, of.day) - of.t0_us) / 1e6 for _, b in wanted], abs=2)


def test_eft_1_stops_and_is_scrubbed() -> None:
    # Orion EFT-1, 4 Dec 2014, NASA blog: last try (EST as printed) stopped at T-3:09, scrub at 09:35.
    of = Heard("07:05:00", """
        loop 06:40:00 | T-00:10:00 counting
        loop 06:46:00 | T-00:04:00 holding
        loop 08:22:00 | T-00:04:00 counting
        loop 08:22:51 | hold
        loop 08:23:30 | T-00:03:09 holding
        loop 09:00:00 | T-00:03:09 holding
        loop 09:35:00 | scrub
        loop 09:50:00 | note
    """, "-00:04:00 0:15:00", day="2014-12-04")
    got = of.timeline()
    assert got.outcome == "scrub"
    assert (got.outcome_us - utc("09:35:00", of.day)) == 0
    assert got.holds["t_s"].tolist() == pytest.approx([-240, -189], abs=1)
    assert got.holds["end_utc"].isna().tolist() == [False, True]
    assert got.holds["excess_s"].tolist()[0] == pytest.approx(96 * 60 - 15 * 60, abs=2)


def test_terminal_count_demonstration_recycles_and_counts_again() -> None:
    # Artemis I wet dress rehearsal plan, NASA Countdown 101: T-10:00 at 0, 3:00 hold at T-1:30, stop at T-33 s,
    # recycle to T-10:00 and a second count to T-9.3 s.
    of = Heard("12:10:00", """
        net 12:00:00 | T-00:10:00 counting
        net 12:05:00 | T-00:05:00 counting
        net 12:08:30 | T-00:01:30 holding
        net 12:11:30 | resume
        net 12:12:00 | T-00:01:00 counting
        net 12:12:27 | cutoff
        net 12:13:00 | T-00:00:33 holding
        net 12:30:00 | recycle T-00:10:00
        net 12:31:00 | T-00:10:00 holding
        net 12:40:00 | resume
        net 12:45:00 | T-00:05:00 counting
        net 12:49:00 | T-00:01:00 counting
        net 12:49:50.7 | cutoff
        net 12:52:00 | note
    """)
    got = of.timeline()
    assert got.outcome == "cutoff"
    stops = got.clock[got.clock["state"] == "holding"]
    assert stops["start_t_s"].tolist() == pytest.approx([-90, -33, -600, -9.3], abs=1.0)
    assert got.clock["pass"].max() == 2


def thinned(log: str, keep: int, calls: bool) -> str:
    """Every keep-th reading of the clock, with or without what was called."""
    out, marks = [], 0
    for line in log.strip().splitlines():
        mark = line.partition("|")[2].strip().startswith("T-")
        marks += mark
        if (mark and marks % keep == 0) or (not mark and calls):
            out.append(line)
    return "\n".join(out)


@pytest.mark.parametrize(("keep", "calls"), [(1, True), (2, True), (3, True), (1, False)])
def test_apollo_17_from_less_and_less(keep: int, calls: bool) -> None:
    """The same figures from every second or third reading, and from the readings alone, no hold or resume said."""
    of = Heard("02:53:00", thinned(APOLLO_17, keep, calls) + "\nloop 05:34:00 | note", day="1972-12-07")
    got = of.timeline()
    assert got.clock["pass"].max() == 2
    last = got.clock.iloc[-1]
    assert seconds(last["end_utc"], of) - last["end_t_s"] == pytest.approx(9600, abs=2)
    lengths = got.holds["duration_s"].tolist()
    # with no call the first hold ends where the clock was seen set back, and the second lies between two readings
    assert lengths[0] == pytest.approx(3911, abs=90) and lengths[-1] == pytest.approx(4399, abs=3)
    assert got.holds["t_s"].tolist()[0] == pytest.approx(-30, abs=2)
