"""Processes as /proc shows them: which run, and whose children they are."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

PATIENCE_S = 60.0


def _fields(process: int) -> list[str]:
    """State, parent and so on; none for a process that has gone."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return []


def alive(process: int) -> bool:
    """Whether a process runs: one that ended and was not waited for does not."""
    return bool(fields := _fields(process)) and fields[0] != "Z"


def children(parent: int) -> list[int]:
    every = (int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit())
    return [process for process in every if (fields := _fields(process)) and int(fields[1]) == parent]


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end
        time.sleep(0.05)
