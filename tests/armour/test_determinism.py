"""The same bytes whatever the number of workers, the hash seed, the zone and the locale, exports included."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from armour.scenes import own


def reviews(folders: list[Path], out: Path, jobs: int, **environment: str) -> dict[str, bytes]:
    command = [sys.executable, "-m", "aftercount", "review", *map(str, folders), "--out", str(out), "--jobs", str(jobs), "--xlsx", "--csv", "--md"]
    subprocess.run(command, check=True, capture_output=True, env={**os.environ, **environment})
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


def test_workers_seeds_zones_and_locales(tmp_path: Path) -> None:
    folders = [replace(own(), id=name).write(tmp_path / "in" / name) for name in ("grebe-3", "grebe-4")]
    one = reviews(folders, tmp_path / "one", 1, PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C")
    two = reviews(folders, tmp_path / "two", 2, PYTHONHASHSEED="99", TZ="Asia/Kathmandu", LC_ALL="C.UTF-8")
    assert {"grebe-3/report.html", "grebe-4/review.xlsx", "grebe-3/deviation.png"} <= one.keys() == two.keys()
    assert [name for name in one if one[name] != two[name]] == []
