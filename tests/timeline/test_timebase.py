"""Logs on clocks of their own, set on one time by what they share."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from aftercount import timeline
from aftercount.timeline.align import HONEST_S
from timeline.drawn import BASE, Drawn, Log
from timeline.heard import Heard

HOLDS = [(-3600.0, 1200.0, 600.0), (-540.0, 900.0, 600.0), (-120.0, 200.0, 0.0)]
SEQUENCER = Log("seq", marks=0, stamps=400, medium="machine")


def row(got: object, name: str) -> dict[str, object]:
    frame = got.sources  # type: ignore[attr-defined]
    return frame[frame["source"] == name].iloc[0].to_dict()


def off(got: object, of: Drawn, name: str, more: float = 0.0) -> float:
    """By how much the offset of a log is wrong at the instant that it is given for, in seconds; its sigma must own up to it."""
    mine, log = row(got, name), next(x for x in of.logs if x.name == name)
    since_middle = pd.Timestamp(str(mine["offset_at_utc"])).timestamp() - BASE.t0_us / 1e6 - (of.begin + of.end) / 2
    error = abs(float(str(mine["offset_s"])) - log.offset - more - log.ppm * 1e-6 * since_middle)
    assert error <= 2.5 * float(str(mine["offset_sigma_s"]))
    return error


@pytest.mark.parametrize("offset", [0.0, 2.4, -37.0, 3600.0, -7200.0 + 1.3])
def test_a_log_on_another_clock_is_set_right(offset: float) -> None:
    of = Drawn([SEQUENCER, Log("notes", offset=offset, ppm=40.0, false=0.3, sigma=0.4, lag=1.2)], HOLDS)
    got = of.timeline()
    assert off(got, of, "notes") <= 1.2
    assert np.quantile(of.clock_error(got), 0.95) < 0.2


def test_a_log_that_tells_utc_is_not_set_against_a_plan_of_the_clock() -> None:
    told = """
        valves 14:00:10 | vent shut
        valves 14:20:10 | vent open
        bridge 13:40:20 | T-00:50:00
        bridge 14:02:00 | hold
        bridge 14:12:00 | resume
        bridge 14:22:00 | T-00:18:20
    """
    got = Heard("14:30:00", told, media={"valves": "machine"}).timeline()
    bridge = row(got, "bridge")
    assert (row(got, "valves")["reference"], bridge["offset_s"]) == (True, 0.0)
    assert float(str(bridge["offset_sigma_s"])) <= HONEST_S


def test_a_log_near_utc_is_no_worse_known_than_an_honest_one() -> None:
    """Two marks against the sequencer's, each good to half a minute."""
    told = "".join(f"seq 14:{m:02}:00 | T-00:{30 - m}:00\n" for m in range(0, 20, 2)) + "pad 14:05:02 | T-00:25:00\npad 14:15:04 | T-00:15:00\n"
    of = Heard("14:30:00", told, media={"seq": "machine"})
    wide = of.speech()
    wide.marks["sigma_s"] = wide.marks["sigma_s"].where(wide.marks["utterance"] < 10, 30.0)
    made: Any = (wide, of.sources(), of.count(), of.plan())
    pad = row(timeline.rebuild(*made), "pad")
    assert 0.0 < float(str(pad["offset_s"])) < 3.0 and float(str(pad["offset_sigma_s"])) <= HONEST_S + 1.0


def test_a_transcript_without_a_start_is_placed() -> None:
    of = Drawn([SEQUENCER, Log("net", kind="elapsed", zero=-6543.2, false=0.33, medium="speech", marks=60)], HOLDS)
    got = of.timeline()
    assert row(got, "net")["offset_s"] == pytest.approx(BASE.t0_us / 1e6 - 6543.2, abs=0.5)


def test_a_clock_reset_half_way_is_found() -> None:
    of = Drawn([SEQUENCER, Log("notes", offset=3.0, reset=(-2000.0, 45.0), marks=60, false=0.1, sigma=0.4, lag=1.2)], HOLDS)
    got = of.timeline()
    assert "reset by" in str(row(got, "notes")["note"])
    assert off(got, of, "notes", more=45.0) <= 1.2


def test_drift_over_six_hours() -> None:
    holds = [(-14400.0, 3600.0, 3600.0), *HOLDS]
    of = Drawn([SEQUENCER, Log("notes", offset=1.0, ppm=60.0, marks=150, false=0.2)], holds, start_t=-18000.0)
    got = of.timeline()
    assert row(got, "notes")["drift_ppm"] == pytest.approx(60.0, abs=20.0)


def test_voice_alone_with_a_third_of_its_marks_false() -> None:
    errors = []
    for seed in range(12):
        of = Drawn([Log("net", marks=90, false=0.33, sigma=1.5, medium="speech")], HOLDS, seed=seed)
        errors.append(of.clock_error(of.timeline()))
    every = np.concatenate(errors)
    assert np.median(every) < 1.0
    assert np.quantile(every, 0.95) < 3.0


def test_no_utc_anywhere_is_laid_on_the_schedule() -> None:
    of = Drawn([Log("net", kind="elapsed", zero=-9000.0, medium="speech")], HOLDS[:2])
    got = of.timeline()
    assert not got.utc_known
    assert "no log tells UTC" in str(row(got, "net")["note"])
    assert got.holds["duration_s"].tolist() == pytest.approx([1200.0, 900.0], abs=3.0)


@pytest.mark.parametrize("third", ["loop 900.0 | T-00:45:00", ""])
def test_a_transcript_alone_is_laid_on_the_schedule_by_the_few_marks_of_its_first_stretch(third: str) -> None:
    """Three readings before a planned hold that lasted 15 min more, or two and the word of that hold, and many after it: the count began on time, T-0 came late."""
    later = "".join(f"loop {3000.0 + 60.0 * k} | T-00:{30 - k:02}:00\n" for k in range(10))
    of = Heard("14:30:00", f"""
        loop 0.0 | T-01:00:00
        loop 600.0 | T-00:50:00
        {third}
        loop 1200.0 | T-00:40:00 holding
        loop 2400.0 | resume
        {later}loop 4800.0 | liftoff
    """, "-00:40:00 0:05:00", kinds={"loop": "elapsed"}, media={"loop": "speech"}, sigma_s=1.5)
    got = of.timeline()
    assert got.outcome == "liftoff" and got.outcome_us is not None
    assert (got.outcome_us - of.t0_us) / 1e6 == pytest.approx(900.0, abs=3.0)


@pytest.mark.parametrize("seed", range(6))
def test_silent_holds_are_found_with_their_bracket(seed: int) -> None:
    of = Drawn([Log("notes", marks=50, sigma=1.0)], [(-2000.0, 90.0, 0.0)], called=False, seed=seed)
    got = of.timeline()
    assert len(got.holds) == 1
    hold = got.holds.iloc[0]
    assert hold["basis"] == "inferred"
    assert hold["duration_s"] == pytest.approx(90.0, abs=2.5)
    assert hold["t_low_s"] - 2 <= -2000.0 <= hold["t_high_s"] + 2
