"""A log whose times are another zone's, or far off in any other way, is set right and told of in plain words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import aftercount as ac
from aftercount.report.summary_text import summary_text
from loglike import write_count

PLAN = """
    step,t,action,kind,by,to
    1,T-00:40:00,Open the fill valve,,FILL,LCO
    2,T-00:20:00,Start the purge,,GAS,LCO
    3,T-00:05:00,Arm the igniter,,IGN,LCO
"""
NOTES = """
    17:15:01 T-45 and counting
    17:20:02 LCO to FILL: open the fill valve
    17:30:01 T-30 and counting
    17:40:03 LCO to GAS: start the purge
    17:45:02 T-15 and counting
    17:55:02 LCO to IGN: arm the igniter
    17:56:01 T-4 and counting
    18:00:01 liftoff
"""
CLOCK = "time,station,message\n" + "".join(f"2032-06-02T17:{m:02d}:00.000Z,SEQ,COUNT T-00:{60 - m:02d}:00\n" for m in range(12, 60))


def reviewed(folder: Path, zone: str, time: str, ahead_s: int, with_clock: bool = True) -> ac.Review:
    def moved(match: re.Match[str]) -> str:
        at = int(match[1]) * 3600 + int(match[2]) * 60 + int(match[3]) + ahead_s
        return f"{at // 3600 % 24:02d}:{at // 60 % 60:02d}:{at % 60:02d}"

    toml = f"""
        [count]
        id = "kite-2"
        t0 = 2032-06-02T18:00:00Z
        plan = "plan.csv"
        zone = "{zone}"

        [[log]]
        path = "notes.txt"
        time = "{time}"
    """ + ("\n        [[log]]\n        path = \"clock.csv\"\n" if with_clock else "")
    notes = re.sub(r"(\d\d):(\d\d):(\d\d)", moved, NOTES)
    return ac.review(write_count(folder / "kite-2", toml, PLAN, {"notes.txt": notes, **({"clock.csv": CLOCK} if with_clock else {})}))


@pytest.mark.parametrize(("zone", "time", "ahead_s", "told"), [
    ("Europe/Stockholm", "local", 7200, None), ("UTC", "utc", 0, None), ("UTC", "utc", 45, None), ("America/New_York", "local", -14400, None),
    ("Europe/Stockholm", "local", 3600, "1 h behind"),  # as in winter
    ("America/New_York", "utc", -14400, "4 h behind"),  # what is local is said to be UTC
    ("America/New_York", "local", 0, "4 h ahead of"),  # and the other way about
    ("Asia/Kolkata", "utc", 19820, "5 h 30 min ahead of"),  # with a clock that is twenty seconds fast
    ("UTC", "utc", 754, "12 min 3[3-5] s ahead of")])
def test_a_log_that_is_far_off_is_told_of(tmp_path: Path, zone: str, time: str, ahead_s: int, told: str | None) -> None:
    got = reviewed(tmp_path, zone, time, ahead_s)
    text, note = summary_text(got.summary, got.tables), got.sources.set_index("source")["note"]["notes.txt"]
    assert got.summary["delay_s"] == pytest.approx(0.0, abs=2.0)
    if told is None:
        assert got.summary["cautions"] == [] and "the other logs" not in text and "wrong by" not in note
    else:
        assert len(got.summary["cautions"]) == 1 and got.summary["cautions"][0] in text and "wrong by" in note
        assert re.search(f"notes.txt was taken to be {told} the other logs", text)
        assert ("another zone" in text) == ("another zone" in note) == (told != "12 min 3[3-5] s ahead of")


@pytest.mark.parametrize(("ahead_s", "told"), [(0, None), (400, None), (1200, None), (3600, "1 h late"), (-7220, "2 h early")])
def test_a_count_that_seems_to_have_begun_whole_hours_off_by_its_only_clock(tmp_path: Path, ahead_s: int, told: str | None) -> None:
    got = reviewed(tmp_path, "UTC", "utc", ahead_s, with_clock=False)
    assert [caution for caution in got.summary["cautions"] if f"began {told}" in caution] == got.summary["cautions"] and bool(got.summary["cautions"]) == bool(told)
