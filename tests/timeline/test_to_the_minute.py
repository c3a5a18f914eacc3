"""Notes whose stamps are cut to the minute tell the count of a hold as exactly as any others, and are its calls though they lie a minute off."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

import aftercount as ac
from aftercount.timeline.evidence import Evidence
from aftercount.timeline.lateness import Residuals, boxed
from aftercount.timeline.sureness import Readings, sure
from aftercount.timeline.untangled import untangled
from loglike import write_count
from timeline.heard import Heard

MINUTE_S = 60 / 12**0.5

NOTES = """
    desk 13:20:00 | T-01:00:00
    desk 13:40:00 | T-00:40:00
    desk 14:00:00 | hold
    desk 14:00:00 | T-00:20:00 holding
    desk 14:10:00 | resume
    desk 14:18:00 | hold
    desk 14:18:00 | T-00:11:25 holding
    desk 14:19:00 | resume
    desk 14:26:00 | T-00:05:00
    desk 14:29:00 | hold
    desk 14:29:00 | T-00:01:28 holding
    desk 14:36:00 | resume
    desk 14:38:00 | liftoff
"""


def test_holds_named_in_notes_to_the_minute_are_called_and_lie_where_they_are_named() -> None:
    got = Heard("14:30:00", NOTES, "-00:20:00 0:10:00", stamps={"desk": MINUTE_S}, sigma_s=1.5).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1200.0, -685.0, -88.0], abs=0.1)
    assert got.holds["basis"].tolist() == ["called"] * 3 and got.holds["kind"].tolist() == ["built_in", "unplanned", "unplanned"]
    assert got.holds["duration_s"].tolist() == pytest.approx([600.0, 60.0, 420.0], abs=31.0)
    assert got.outcome == "liftoff"


def test_two_holds_some_seconds_apart_in_the_count_are_two_though_the_stamps_are_coarser() -> None:
    got = Heard("14:30:00", """
        desk 13:20:00 | T-01:00:00
        desk 13:40:00 | T-00:40:00
        desk 13:50:00 | hold
        desk 13:50:00 | T-00:29:30 holding
        desk 13:54:00 | resume
        desk 13:54:00 | hold
        desk 13:54:00 | T-00:29:05 holding
        desk 13:58:00 | resume
        desk 14:18:00 | T-00:09:00
        desk 14:27:00 | liftoff
    """, stamps={"desk": MINUTE_S}, sigma_s=1.5).timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-1770.0, -1745.0], abs=0.1)


def test_a_hold_noted_in_the_minute_of_a_finer_reading_comes_before_or_after_it_as_the_count_has_it() -> None:
    """The sequencer reads T-14:00 at the very minute, and the keeper's note of the hold at T-13:22 has the same stamp and comes first in the files."""
    ran = "".join(f"    seq {13 + (30 + 2 * k) // 60}:{(30 + 2 * k) % 60:02}:00 | T-00:{60 - 2 * k:02}:00\n" for k in range(24))
    of = Heard("14:30:00", f"""
        desk 14:16:00 | hold
        desk 14:16:00 | T-00:13:22 holding
        desk 14:18:00 | T-00:13:22 holding
    {ran}
        desk 14:22:00 | scrub
    """, stamps={"desk": MINUTE_S}, sigma_s=1.5, media={"seq": "machine"}, reference="seq")
    got = of.timeline()
    assert got.holds["t_s"].tolist() == pytest.approx([-802.0], abs=0.5) and got.outcome == "scrub"


@pytest.mark.parametrize(("note", "moved_to"), [
    ((-241.0, -802.0), -240.0), ((-230.0, -870.0), -240.0), ((-241.0, -842.0), -241.0), ((-241.0, -500.0), -240.0), ((-600.0, -802.0), -600.0)])
def test_where_a_coarse_entry_is_put_among_finer_readings(note: tuple[float, float], moved_to: float) -> None:
    """Readings of T-16:00 to T-12:00, one a minute, the last at -120."""
    u = np.array([note[0], *(-360.0 + 60.0 * k for k in range(5))])
    t = np.array([note[1], *(-960.0 + 60.0 * k for k in range(5))])
    flat = {"own": u, "sigma": np.ones(6), "read": np.ones(6), "weight": np.full(6, 8.0), "slack": np.ones(6)}
    whole = {k: np.zeros(6, dtype=np.int64) for k in ("source", "kind", "says", "origin", "row")}
    evidence = Evidence(utterance=np.arange(6), t=t, **flat, **whole)
    got = untangled(evidence, u, np.array([MINUTE_S, *[0.3] * 5]))
    assert got[0] == pytest.approx(moved_to, abs=0.01) and got[1:].tolist() == u[1:].tolist()


def test_beside_the_clock_a_voice_that_tells_it_is_sure_though_utc_is_known_to_the_minute_alone() -> None:
    """Notes to the minute leave seconds of UTC open, of the clock and of the voice together: how late a thing was the voice tells all the same."""
    def count(t_s: int) -> str:
        return f"T-{-t_s // 3600:02d}:{-t_s // 60 % 60:02d}:{-t_s % 60:02d}"

    notes = "".join(f"desk {14 + (1820 + t_s) // 3600:02d}:{(1820 + t_s) // 60 % 60:02d}:00 | {count(t_s)}\n" for t_s in range(-1800, -60, 171))
    voice = "".join(f"net {1900 + t_s + t_s % 2 * 0.4:.1f} | {count(t_s)}\n" for t_s in range(-1790, -20, 113))
    got = Heard("14:30:00", notes + voice, stamps={"desk": MINUTE_S}, kinds={"net": "elapsed"}, media={"net": "speech"}).timeline()
    assert got.sources.set_index("source")["reference"].to_dict() == {"desk": True, "net": False}
    spoken = np.arange(len(got.utc_us)) >= notes.count("\n")
    assert got.clock["sigma_s"].median() > 5.0 > 2.0 > got.laid["sigma_s"].median()
    assert np.nanmedian(got.utc_sigma_s[spoken]) > 5.0 > 3.0 > np.nanmedian(got.laid_sigma_s[spoken])
    assert np.nanmedian(got.laid_sigma_s[~spoken]) > 10.0
    assert got.laid.drop(columns="sigma_s").equals(got.clock.drop(columns="sigma_s"))


def cut(u: float) -> str:
    """Seconds after 13:00:00 as a clock shows them that has no seconds."""
    return f"{13 + int(u) // 3600:02d}:{int(u) // 60 % 60:02d}:00"


def beside_a_voice(holds: list[tuple[int, int, bool]], fast: float = 9.0) -> Heard:
    """A count from T-90:00 at 13:00:00 to T-0, read by a voice each five minutes from T-89:00 and beside it noted by a keeper whose clock shows minutes and is `fast`.
    holds: count time, length, whether it is called."""
    def count(t: float) -> str:
        return f"T-{int(-t) // 3600:02d}:{int(-t) // 60 % 60:02d}:{int(-t) % 60:02d}"

    def at(t: float) -> float:
        return t + 5400 + sum(length for stop, length, _ in holds if stop < t)

    net, desk = [], []
    for k, t in enumerate(range(-5340, 0, 300)):
        net.append((at(t) + 0.3 * (k % 3), count(t)))
        desk += [(at(t) + 1, count(t))] if k % 2 == 0 else []
    for stop, length, called in holds:
        for when, what in [(0, "hold"), (1, f"{count(stop)} holding"), (length, "resume")] if called else []:
            net.append((at(stop) + when, what))
            desk.append((at(stop) + when + 1, what))
    lines = [f"net {u + 17.0:.1f} | {what}" for u, what in sorted(net)] + [f"desk {cut(u + fast)} | {what}" for u, what in sorted(desk)]
    return Heard("14:30:00", "\n".join(lines), "-00:30:00 0:12:00", stamps={"desk": 0.456 * 60}, kinds={"net": "elapsed"},
                 media={"net": "speech"}, sigma_s=1.5)


@pytest.mark.parametrize("holds", [
    [(-3526, 200, False), (-1800, 720, True)], [(-1800, 742, True), (-502, 266, True)], [(-4350, 95, True), (-1800, 720, True), (-777, 81, False)],
    [(-2152, 401, True), (-1800, 720, True)], [(-1800, 720, True)], [(-4350, 45, False), (-1800, 764, True)], [(-1800, 764, True), (-900, 75, False)]])
@pytest.mark.parametrize("fast", [9.0, -16.0])
def test_the_voice_beside_such_notes_tells_the_holds_to_the_second_and_no_clock_was_reset(holds: list[tuple[int, int, bool]], fast: float) -> None:
    """What the notes cut off differs from stretch to stretch by up to a minute, which is neither a hold nor a reset."""
    got = beside_a_voice(holds, fast).timeline()
    assert got.holds["duration_s"].tolist() == pytest.approx([length for _, length, _ in holds], abs=4.0)
    assert got.holds["basis"].tolist() == ["called" if called else "inferred" for _, _, called in holds]
    assert not got.sources["note"].fillna("").str.contains("reset").any()


@pytest.mark.parametrize("by", [-3600.0, -120.0, 90.0, 300.0])
def test_a_reset_by_more_than_such_notes_leave_open_is_found_beside_them(by: float) -> None:
    of, lines = beside_a_voice([(-1800, 720, True)]), []
    for line in of.heard.splitlines():
        source, at, what = line.split(" ", 2)
        lines.append(f"net {float(at) - by:.1f} {what}" if source == "net" and float(at) > 2600.0 else line)
    got = replace(of, heard="\n".join(lines)).timeline()
    note = got.sources.set_index("source")["note"]["net"]
    assert note.startswith("its clock was reset by ") and float(note.split()[-2]) == pytest.approx(-by, abs=1.0)
    assert got.holds["duration_s"].tolist() == pytest.approx([720.0], abs=4.0)


@pytest.mark.parametrize(("seconds", "reference"), [(4, "exact"), (3, "desk")])
def test_who_writes_seconds_is_the_reference_though_another_writes_more(seconds: int, reference: str) -> None:
    """Enough readings to tell the clock by are enough."""
    desk = [f"desk {cut(60.0 * k)} | T-{90 - k}:00" for k in range(0, 80, 5)]
    exact = [f"exact {13 + k // 60}:{k % 60:02d}:01 | T-{90 - k}:00" for k in range(8, 8 + 20 * seconds, 20)]
    got = Heard("14:30:00", "\n".join([*desk, *exact]), stamps={"desk": 0.456 * 60, "exact": 1.1}, sigma_s=1.5).timeline()
    assert got.sources.loc[got.sources["reference"], "source"].tolist() == [reference]


def test_readings_that_lose_the_same_each_time_are_no_surer_for_being_many() -> None:
    """At whole minutes of the count stamps of one stretch are all cut by as much; those of another stretch by something else."""
    mine = [Readings(np.full(12, z), np.full(12, 27.0), np.zeros(12, dtype=np.int64), z, np.full(12, MINUTE_S)) for z in (0.0, 700.0)]
    assert [off for _, off in sure(mine)] == pytest.approx([MINUTE_S] * 2, rel=0.05)
    assert max(off for _, off in sure([Readings(r.value, r.sigma, r.source, r.start) for r in mine])) < 5.0


@pytest.mark.parametrize("off", [-25.0, 0.0, 12.0])
def test_what_coarse_stamps_cut_off_is_bounded_by_the_most_and_the_least_that_they_cut(off: float) -> None:
    """Of entries at any second of the minute, noted a second late; two of other moments change little."""
    rng = np.random.default_rng(5)
    cut_off = rng.uniform(0.0, 60.0, 40)
    told = [Residuals(off - 30.0 + cut_off - 1.0), Residuals(np.array([off + 50.0, off - 45.0]))]
    late, weight = boxed(told, 60.0).whole()
    mean = float(late @ weight)
    assert mean == pytest.approx(off - 30.0 + 1.0, abs=2.5)
    assert float((late - mean) ** 2 @ weight) ** 0.5 < 3.0
    late, weight = boxed([], 60.0).whole()
    assert float((late - late @ weight) ** 2 @ weight) ** 0.5 == pytest.approx(MINUTE_S, rel=0.1)


def test_talk_noted_at_any_second_tells_what_readings_at_the_whole_minute_do_not(tmp_path: Path) -> None:
    """The count is read as the clock comes to whole minutes, so all of its stamps are cut by next to nothing; of what else was said they are cut by all manner of seconds."""
    begin = datetime(2031, 5, 6, 8, 0, tzinfo=UTC)
    things = ("spool", "lamp", "mooring", "gangway", "winch", "anchor", "bilge", "tiller", "halyard", "davit", "capstan", "bollard", "fender", "ballast", "rudder", "keel", "galley", "hatch")
    said = [(60.0 * k + 0.4, f"T minus {60 - k} minutes") for k in range(0, 55, 3)]
    said += [(150.0 + 171.7 * k, f"the {thing} crew has finished with the {thing} now") for k, thing in enumerate(things)]
    cues = [f"{begin - timedelta(hours=8) + timedelta(seconds=30 + u):%H:%M:%S.%f}"[:-3] + f" --> {begin - timedelta(hours=8) + timedelta(seconds=33 + u):%H:%M:%S}.000\n{what}\n" for u, what in sorted(said)]
    noted = [f"{begin + timedelta(seconds=u + 1.2):%H:%M} {what}" for u, what in sorted(said)]
    got = ac.review(write_count(tmp_path / "count", """
        [count]
        id = "quay"
        t0 = 2031-05-06T09:00:00Z
        [[log]]
        path = "loop.vtt"
        [[log]]
        path = "desk.txt"
        reference = true
        [stations]
        LEAD = []
        """, "step,t,action,by,to\n1,T-00:59:00,Ring the bell,LEAD,LEAD\n", {"loop.vtt": "WEBVTT\n\n" + "\n".join(cues), "desk.txt": "\n".join(noted) + "\n"}))
    first = got.clock.iloc[0]
    off = (first["start_utc"] - begin).total_seconds() - (first["start_t_s"] + 3600.0)
    assert abs(off) < 5.0 and first["sigma_s"] < 6.0
