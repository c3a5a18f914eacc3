"""Same input, same bytes: whatever the hash seed, the time zone, the locale and the order of the files."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def review(out: Path, **environment: str) -> dict[str, bytes]:
    command = [sys.executable, "-m", "aftercount", "review", str(ROOT / "sample_logs" / "heron-7-r02"), "--out", str(out), "--csv"]
    subprocess.run(command, check=True, capture_output=True, env={**os.environ, **environment})
    return {p.name: p.read_bytes() for p in sorted(out.iterdir())}


def test_two_runs_far_apart_give_the_same_folder(tmp_path: Path) -> None:
    here = review(tmp_path / "a", PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C")
    there = review(tmp_path / "b", PYTHONHASHSEED="77", TZ="Pacific/Kiritimati", LC_ALL="C.UTF-8")
    assert {"steps.parquet", "steps.csv", "report.html", "deviation.png", "summary.json"} <= set(here)
    assert [name for name in here if here[name] != there.get(name)] == []
    assert set(here) == set(there)
