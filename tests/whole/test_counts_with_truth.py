"""Whole reviews held to the truth: the sample counts, and simulated counts whose seeds and scenarios were used for nothing else."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

import aftercount as ac
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.scenario import HELD_BACK

ROOT = Path(__file__).resolve().parents[2]
TRUTH = Path(__file__).parent / "truth"
SAMPLES = sorted(p.name for p in (ROOT / "sample_logs").iterdir())
# Seeds from here on are used by no fit and no table.
FIRST_SEED = 910_000
COUNTS = 20
# A hold that was called is found when its start and its length are within this of the truth.
HOLD_START_S, HOLD_LENGTH_S = 5.0, 2.0


def wrong_steps(review: ac.Review, truth: dict) -> list[str]:
    known = {(s["step"], s["pass"]): s["status"] for s in truth["steps"]}
    said = {(s, p): status for s, p, status in zip(*(review.steps[c] for c in ("step", "pass", "status")), strict=True)}
    return [f"{key}: {known[key]}, said {said.get(key)}" for key in known if said.get(key) != known[key]]


def lost_holds(review: ac.Review, truth: dict) -> list[str]:
    """Called holds of the truth with no row of the same start and length."""
    lost = []
    for hold in (h for h in truth["holds"] if h["called"] and h["end_utc"] is not None):
        start = (review.holds["start_utc"] - pd.Timestamp(hold["start_utc"])).dt.total_seconds().abs()
        length = (review.holds["duration_s"] - hold["duration_s"]).abs()
        if not ((start <= HOLD_START_S) & (length <= HOLD_LENGTH_S)).any():
            lost.append(f"T{hold['t_s']:.0f} of {hold['duration_s']:.0f} s")
    return lost


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_count(name: str) -> None:
    truth = json.loads((TRUTH / f"{name}.json").read_text("utf-8"))
    review = ac.review(ROOT / "sample_logs" / name)
    assert review.summary["outcome"] == truth["outcome"]
    assert lost_holds(review, truth) == []
    assert len(review.holds) == len(truth["holds"])
    assert review.summary["recycles"] == max(h["pass"] for h in truth["clock"]) - 1
    assert len(wrong_steps(review, truth)) <= 0.02 * len(truth["steps"]), wrong_steps(review, truth)


def test_simulated_counts_never_used_before(tmp_path: Path) -> None:
    steps = wrong = holds = 0
    told: list[str] = []
    for k in range(COUNTS):
        folder = tmp_path / f"count-{k}"
        truth = ac.rehearse(folder, seed=FIRST_SEED + k, options=RehearsalOptions(scenario=HELD_BACK[k % len(HELD_BACK)]))
        review = ac.review(folder)
        bad = wrong_steps(review, truth.data)
        steps, wrong = steps + len(truth.data["steps"]), wrong + len(bad)
        holds += sum(h["called"] for h in truth.data["holds"])
        lost = lost_holds(review, truth.data)
        told += [f"{folder.name} {b}" for b in bad] + [f"{folder.name} hold {h}" for h in lost]
    assert holds > COUNTS
    assert wrong <= 0.02 * steps, told
    assert not [t for t in told if " hold " in t], told
