"""One count told by logs whose clocks are wrong in every way that clocks are: hours off, set anew half way, started at no known time.

The count as it ran (UTC): T-45:00 at 13:35:00; the planned hold at T-10:00 from 14:10:00 to 14:20:00; a hold nobody planned at T-4:00 from
14:26:00 to 14:31:00; lift-off at 14:35:00, five minutes late.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import aftercount as ac
from loglike import write_count

TOML = """
    [count]
    id = "heron-wet-2"
    t0 = 2031-04-18T14:30:00Z
    {logs}
    [stations]
    LC = ["launch control"]
    FUEL = ["fuel farm"]
    GUIDE = ["guidance"]
"""
PLAN = """
    step,t,action,kind,duration,by,to
    10,T-43:00,Open the kerosene transfer line,,,FUEL,LC
    20,T-38:00,Align the inertial platform,,,GUIDE,LC
    30,T-33:00,Start chilldown of the upper tank,,,FUEL,LC
    40,T-27:00,Verify flight program checksum,,,GUIDE,LC
    50,T-22:00,Close the kerosene transfer line,,,FUEL,LC
    60,T-17:00,Retract the service platform,,,FUEL,LC
    70,T-12:00,Load wind profile,,,GUIDE,LC
    80,T-10:00,Planned hold,hold,10:00,,
    90,T-8:00,Switch guidance to inertial,,,GUIDE,LC
    100,T-6:00,Pressurize the kerosene tank,,,FUEL,LC
    110,T-2:00,Arm the igniters,,,LC,
"""
# wall time, what the keeper of the desk log writes, what is said on the loop, seconds by which the keeper is late
TOLD = [
    ("13:36:00", "T-44 and counting", "launch control, t minus forty four minutes and counting", 1),
    ("13:37:02", "FUEL open kero xfer line", "fuel farm, launch control, open the kerosene transfer line", 2),
    ("13:40:00", None, "t minus forty minutes and counting", 0),
    ("13:42:01", "GUIDE align the platform", "guidance, launch control, align the inertial platform", 1),
    ("13:45:00", "T-35 and counting", "t minus three five minutes and counting", 1),
    ("13:47:04", "FUEL start chilldown upper tank", "fuel farm, launch control, start chilldown of the upper tank", 2),
    ("13:50:00", None, "t minus thirty minutes and counting", 0),
    ("13:53:03", "GUIDE verify flight pgm checksum", "guidance, launch control, verify flight program checksum", 1),
    ("13:55:00", "T-25, counting", "t minus twenty five minutes and counting", 3),
    ("13:58:02", "FUEL close kero xfer line", "fuel farm, launch control, close the kerosene transfer line", 1),
    ("14:00:00", None, "t minus twenty minutes and counting", 0),
    ("14:03:01", "FUEL retract service platform", "fuel farm, launch control, retract the service platform", 2),
    ("14:05:00", "T-15 and counting", "t minus fifteen minutes and counting", 1),
    ("14:08:03", "GUIDE load wind profile", "guidance, launch control, load wind profile", 1),
    ("14:10:00", "holding at T-10 as planned", "t minus ten minutes and holding, this is the planned hold", 1),
    ("14:20:00", "count resumed, T-10 and counting", "the count is resumed, t minus ten minutes and counting", 2),
    ("14:22:02", "GUIDE switch guidance to inertial", "guidance, launch control, switch guidance to inertial", 1),
    ("14:23:00", "T-7 and counting", "t minus seven minutes and counting", 1),
    ("14:24:03", "FUEL pressurize the kero tank", "fuel farm, launch control, pressurize the kerosene tank", 2),
    ("14:26:00", "HOLD at T-4, sticky relief valve", "hold hold hold, holding at t minus four minutes, we have a sticky relief valve", 1),
    ("14:31:00", "resume, T-4 and counting", "resume the count, t minus four minutes and counting", 1),
    ("14:32:00", "T-3 and counting", "t minus three minutes and counting", 2),
    ("14:33:01", "igniters armed", "launch control, arm the igniters", 1),
    ("14:34:00", "T-1, counting", "t minus one minute and counting", 1),
    ("14:35:00", "LIFTOFF", "liftoff, we have a liftoff", 1),
]
Shift = Callable[[datetime], float]


def at(clock: str) -> datetime:
    return datetime.fromisoformat(f"2031-04-18T{clock}+00:00").astimezone(UTC)


def count_text(u: datetime) -> str:
    s = (u - at("14:30:00")).total_seconds()
    held = max(0.0, min(s + 1200, 600)) - 600 + max(0.0, min(s + 240, 300))  # the planned hold is part of the schedule
    t = round(s - held)
    return f"T{'-' if t < 0 else '+'}00:{abs(t) // 60:02d}:{abs(t) % 60:02d}"


def machine(off: float = 0.0) -> str:
    """A sequencer's file: the count every twenty seconds. off: seconds to add to its times to get UTC."""
    rows = ["utc,count,event"]
    u = at("13:35:00")
    while u <= at("14:36:00"):
        own = u - timedelta(seconds=off)
        rows.append(f"{own:%Y-%m-%dT%H:%M:%S}.{own.microsecond // 1000:03d}Z,{count_text(u)},CLK {count_text(u)}")
        u += timedelta(seconds=20)
    return "\n".join(rows) + "\n"


def desk(off: Shift = lambda u: 0.0) -> str:
    """The typed log. off: seconds to add to its times to get UTC, at each instant."""
    lines = []
    for clock, note, _, late in TOLD:
        if note:
            lines.append(f"{at(clock) + timedelta(seconds=late - off(at(clock))):%H:%M:%S}Z {note}")
    return "\n".join(lines) + "\n"


def counted() -> str:
    """The typed log of a keeper who looks at the count clock only."""
    return "".join(f"{count_text(at(clock) + timedelta(seconds=late))} {note}\n" for clock, note, _, late in TOLD if note)


def loop(zero: str = "13:34:11", drift: float = 0.0) -> str:
    """The recording of the loop, from `zero`. drift: parts in a million by which its clock is fast."""
    cues = ["WEBVTT"]
    for clock, _, words, _ in TOLD:
        s = (at(clock) - at(zero)).total_seconds() * (1 + drift * 1e-6)
        stamps = [f"{int(x) // 3600:02d}:{int(x) // 60 % 60:02d}:{x % 60:06.3f}" for x in (s, s + 4)]
        cues.append(f"{stamps[0]} --> {stamps[1]}\n{words}")
    return "\n\n".join(cues) + "\n"


def reviewed(folder: Path, files: dict[str, str], logs: str = "") -> ac.Review:
    return ac.review(write_count(folder / "heron-wet-2", TOML.replace("{logs}", logs), PLAN, files))


def source(got: ac.Review, name: str) -> dict[str, object]:
    row: dict[str, object] = got.sources[got.sources["source"] == name].iloc[0].to_dict()
    return row


def as_it_ran(got: ac.Review, within_s: float) -> None:
    """Both holds, the lift-off, and every step done on time."""
    assert got.summary["outcome"] == "liftoff"
    assert got.holds["t_s"].tolist() == pytest.approx([-600.0, -240.0], abs=within_s)
    assert got.holds["duration_s"].tolist() == pytest.approx([600.0, 300.0], abs=2 * within_s)
    assert (got.steps["status"] == "done").all()
    assert got.steps["deviation_s"].abs().max() <= 5.0 + within_s


@pytest.mark.parametrize(("hours", "said"), [(1, "-1.0 h"), (-5, "+5.0 h"), (5.5, "-5.5 h")])
def test_a_desk_log_in_another_zone(tmp_path: Path, hours: float, said: str) -> None:
    got = reviewed(tmp_path, {"seq.csv": machine(), "desk.txt": desk(lambda u: hours * 3600.0)})
    row = source(got, "desk.txt")
    assert row["offset_s"] == pytest.approx(hours * 3600.0, abs=1.5)
    assert f"wrong by {said}" in str(row["note"])
    as_it_ran(got, 1.0)


def test_a_desk_clock_set_anew_half_way(tmp_path: Path) -> None:
    got = reviewed(tmp_path, {"seq.csv": machine(), "desk.txt": desk(lambda u: 4.0 if u < at("14:04:00") else -47.0), "net.vtt": loop()})
    row = source(got, "desk.txt")
    assert "its clock was reset by +51" in str(row["note"]) or "its clock was reset by +50" in str(row["note"])
    assert row["offset_s"] == pytest.approx(-47.0, abs=1.5)
    as_it_ran(got, 1.0)
    notes = got.events[got.events["source"] == "desk.txt"].sort_values("line")
    true = [at(clock).timestamp() for clock, note, _, _ in TOLD if note]
    assert [u.timestamp() for u in notes["utc"]] == pytest.approx(true, abs=2.5)


def test_a_recording_started_nobody_knows_when(tmp_path: Path) -> None:
    got = reviewed(tmp_path, {"seq.csv": machine(), "net.vtt": loop(drift=60.0)})
    row = source(got, "net.vtt")
    assert row["offset_s"] == pytest.approx(at("13:34:11").timestamp(), abs=0.7)
    assert row["drift_ppm"] == pytest.approx(-60.0, abs=60.0)
    as_it_ran(got, 0.5)


def test_a_recording_and_a_desk_log_without_a_machine(tmp_path: Path) -> None:
    got = reviewed(tmp_path, {"desk.txt": desk(), "net.vtt": loop()})
    assert source(got, "desk.txt")["reference"]
    assert source(got, "net.vtt")["offset_s"] == pytest.approx(at("13:34:11").timestamp(), abs=1.5)
    as_it_ran(got, 2.0)


def test_no_wall_time_in_any_log(tmp_path: Path) -> None:
    got = reviewed(tmp_path, {"net.vtt": loop(), "desk.txt": counted()}, '[[log]]\npath = "net.vtt"\n    [[log]]\n    path = "desk.txt"\n    time = "count"')
    assert "no log tells UTC" in str(source(got, "net.vtt")["note"]) and "no log tells UTC" in str(source(got, "desk.txt")["note"])
    as_it_ran(got, 2.0)
    assert got.summary["delay_s"] == pytest.approx(300.0, abs=3.0)


def test_two_machines_each_sure_of_itself(tmp_path: Path) -> None:
    logs = '[[log]]\npath = "seq.csv"\n    reference = true\n    [[log]]\n    path = "backup.csv"'
    got = reviewed(tmp_path, {"seq.csv": machine(), "backup.csv": machine(off=-2.25), "desk.txt": desk()}, logs + '\n    [[log]]\n    path = "desk.txt"')
    row = source(got, "backup.csv")
    assert row["offset_s"] == pytest.approx(-2.25, abs=0.02)
    assert row["offset_sigma_s"] < 0.1  # type: ignore[operator]
    as_it_ran(got, 1.0)
