"""The sample counts are of use: size, formats, no truth among them, and a truth for each kept with the tests."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent.parent
SAMPLES = sorted((HERE.parent / "sample_logs").glob("heron-7-r0?"))
MAX_BYTES = 150_000


def test_four_stories() -> None:
    outcomes = [json.loads((HERE / "whole" / "truth" / f"{s.name}.json").read_text(encoding="utf-8"))["outcome"] for s in SAMPLES]
    assert outcomes == ["liftoff", "liftoff", "liftoff", "scrub"]


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda p: p.name)
def test_sample_is_small_and_varied(folder: Path) -> None:
    count = tomllib.loads((folder / "count.toml").read_text(encoding="utf-8"))
    logs = [entry["path"] for entry in count["log"]]
    assert {p.name for p in folder.iterdir()} == {"count.toml", "plan.csv", *logs}
    assert len({Path(log.removesuffix(".gz")).suffix for log in logs}) >= 3
    assert all(p.stat().st_size < MAX_BYTES for p in folder.iterdir())
    with (folder / "plan.csv").open(encoding="utf-8", newline="") as f:
        plan = list(csv.DictReader(f))
    steps = {row["step"] for row in plan if row["kind"] != "hold"}
    assert len(steps) >= 45
    truth = json.loads((HERE / "whole" / "truth" / f"{folder.name}.json").read_text(encoding="utf-8"))
    assert {s["step"] for s in truth["steps"]} == steps and truth["count"] == count["count"]["id"]


def test_one_plan_for_all() -> None:
    assert len({(s / "plan.csv").read_bytes() for s in SAMPLES}) == 1
