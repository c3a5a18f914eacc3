"""A machine's log that tells no count lies where the deeds that it records come after their orders and before their reports."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

import aftercount as ac
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse
from aftercount.timeline.bracketing import COMMON_S, ENOUGH_RANGES, shift
from aftercount.timeline.sourcetime import UNCHECKED_SIGMA_S
from loglike import write_count

FAST_S = 8.0


def test_the_shift_is_within_all_ranges_but_those_of_other_deeds() -> None:
    """Orders three to six seconds before the deed, reports four to nine after it, by a clock seven seconds slow: the ranges share -3..4 about it."""
    told = [(7.0 - a, 7.0 + b) for a, b in ((3, 9), (4, 5), (6, 4), (3, 8), (5, 6))]
    plain, astray = shift(np.array(told)), shift(np.array([*told, (-90.0, -80.0), (40.0, 45.0)]))
    assert 4.0 < plain.mean < 11.0 and COMMON_S < plain.sigma < UNCHECKED_SIGMA_S
    assert astray.mean == pytest.approx(plain.mean, abs=1.0)


def test_an_order_or_a_report_alone_bounds_one_side() -> None:
    got = shift(np.array([(20.0, np.inf)] * 3 + [(-np.inf, 26.0)] * 3))
    assert 20.0 < got.mean < 26.0
    assert shift(np.array([(20.0, np.inf)] * 3)).sigma > 2 * got.sigma


def test_with_too_few_a_log_is_where_its_own_clock_says_and_unchecked() -> None:
    assert shift(np.array([(6.0, 9.0)] * (ENOUGH_RANGES - 1))) == (0.0, UNCHECKED_SIGMA_S)


def without_count(log: Path) -> None:
    """The records of deeds alone, by a clock that is FAST_S fast."""
    kept = []
    for line in log.read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        if entry["station"] != "CLK" and not any(word in entry["message"] for word in ("T-", "T ", "HOLD", "RESUME")):
            stamp = datetime.fromisoformat(entry["utc"].replace("Z", "+00:00")) + timedelta(seconds=FAST_S)
            kept.append(json.dumps({"utc": stamp.isoformat(), "station": entry["station"], "message": entry["message"]}))
    log.write_text("\n".join(kept) + "\n", encoding="utf-8")


def test_a_machine_that_tells_no_count_is_laid_beside_the_talk(tmp_path: Path) -> None:
    truth = rehearse(tmp_path / "count", seed=1050001, options=RehearsalOptions(scenario="bittern", logs=("sequencer", "notes", "transcript"))).data
    machine = next((tmp_path / "count").rglob("sequencer.jsonl"))
    without_count(machine)
    got = ac.review(tmp_path / "count")
    sources = got.sources.set_index("source")
    true = {s["source"]: s["offset_s"] for s in truth["sources"] if s["offset_s"] is not None}
    assert sources.loc["sequencer.jsonl", "offset_sigma_s"] >= COMMON_S  # nothing ties it to the millisecond
    apart = sources.loc["notes.txt", "offset_s"] - (true["notes.txt"] + FAST_S)
    assert abs(apart) <= 2.5 * float(np.hypot(sources.loc["sequencer.jsonl", "offset_sigma_s"], sources.loc["notes.txt", "offset_sigma_s"])) < FAST_S
    done = {(s["step"], int(s["pass"])): s["deviation_s"] for s in truth["steps"] if s["deviation_s"] is not None}
    off = [r.deviation_s - done[r.step, r[2]] for r in got.steps[["step", "pass", "deviation_s"]].dropna().itertuples() if (r.step, r[2]) in done]
    assert abs(float(np.median(off))) <= 1.5


HELD_AT_S, HELD_FOR_S, BEHIND_S = -840, 700, 420
STEPS = ("open the spill gate", "start the feed pump", "close the bleed cock", "lower the boom", "charge the accumulator", "unlock the turntable", "raise the mast", "light the burner")


def wall(t: float) -> datetime:
    """When a count that began BEHIND_S late and was held once came to t."""
    return datetime(2031, 5, 6, 9, 0, tzinfo=UTC) + timedelta(seconds=BEHIND_S + t + (HELD_FOR_S if t > HELD_AT_S else 0))


def cue(at: datetime, words: str) -> str:
    begin = datetime(2000, 1, 1) + (at - datetime(2031, 5, 6, 8, 21, tzinfo=UTC))
    return f"{begin:%H:%M:%S}.000 --> {begin + timedelta(seconds=3):%H:%M:%S}.000\n{words}\n"


def test_talk_without_wall_time_lies_beside_the_deeds_of_a_machine_however_late_the_count_began(tmp_path: Path) -> None:
    """The talk is laid on the schedule as it began: a hold is no reset of its recorder, and the deeds tell what the schedule does not."""
    at = {step: -1500 + 180 * k for k, step in enumerate(STEPS)}
    said = [(wall(t), f"FIELD, LEAD, {step}") for step, t in at.items()] + [(wall(t + 12), f"LEAD, FIELD, {step}, done") for step, t in at.items()]
    said += [(wall(-t * 60), f"T minus {t} minutes and counting") for t in range(24, 2, -1)]
    said += [(wall(HELD_AT_S), "hold hold hold"), (wall(HELD_AT_S + 0.5), "T minus fourteen minutes and counting")]
    count = write_count(tmp_path / "count", """
        [count]
        id = "quay"
        t0 = 2031-05-06T09:00:00Z
        [stations]
        LEAD = []
        FIELD = []
        """, "step,t,action,by,to\n" + "".join(f"{k},T-{-t // 60}:{-t % 60:02d},{step.capitalize()},FIELD,LEAD\n" for k, (step, t) in enumerate(at.items(), 1)), {
        "loop.vtt": "WEBVTT\n\n" + "\n".join(cue(when, words) for when, words in sorted(said)),
        "plc.log": "".join(f"<14>1 {wall(t + 4):%Y-%m-%dT%H:%M:%S}.250Z plc - - - - FIELD {step} executed\n" for step, t in at.items())})
    got = ac.review(count)
    assert [(h.kind, round(h.t_s), round(h.duration_s)) for h in got.holds.itertuples()] == [("unplanned", HELD_AT_S, HELD_FOR_S)]
    assert not any("reset" in note for note in got.sources["note"])
    first = got.clock.iloc[0]
    assert (first["end_utc"] - wall(first["end_t_s"])).total_seconds() == pytest.approx(0.0, abs=8.0)
