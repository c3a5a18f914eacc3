"""Writes small count folders and clocks for tests, from text that reads like a user's own files."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

import pandas as pd

from aftercount import count as counts
from aftercount import plan as plans
from aftercount.count import CountFolder
from aftercount.counttime import parse_count
from aftercount.plan import Plan
from aftercount.tables import CLOCK, HOLDS

COUNT = """
[count]
id = "heron-7-t1"
t0 = 2031-04-18T14:30:00Z
"""
PLAN = """
step,t,action
1,T-10:00,Close the vent
2,T-5:00,Open the fill valve
"""


def write_folder(folder: Path, files: dict[str, str | bytes] | None = None) -> Path:
    """A count folder with count.toml, plan.csv and notes.txt, each replaced or joined by `files`."""
    folder.mkdir(parents=True, exist_ok=True)
    given = {"count.toml": COUNT, "plan.csv": PLAN, "notes.txt": "14:20:00 TC vent closed\n"} | (files or {})
    for name, text in given.items():
        if isinstance(text, bytes):
            (folder / name).write_bytes(text)
        else:
            (folder / name).write_text(dedent(text).lstrip("\n"), encoding="utf-8")
    return folder


def load_plan(folder: Path, plan: str, count: str = COUNT) -> tuple[Plan, CountFolder]:
    """The plan of a folder that has no fault."""
    loaded, problems = counts.load(write_folder(folder, {"plan.csv": plan, "count.toml": count}))
    assert loaded is not None and problems == []
    procedure, problems = plans.load(loaded)
    assert procedure is not None and problems == []
    return procedure, loaded


def clock_of(text: str, day: str = "2031-04-18") -> tuple[pd.DataFrame, pd.DataFrame]:
    """CLOCK and HOLDS frames from lines 'pass state from to T-start T-end [kind]' (wall times of one day)."""
    segments, holds = [], []
    for line in dedent(text).strip().splitlines():
        number, state, start, end, low, high, *kind = line.split()
        row = {"segment": len(segments), "pass": int(number), "state": state,
               "start_utc": pd.Timestamp(f"{day}T{start}Z"), "end_utc": pd.Timestamp(f"{day}T{end}Z"),
               "start_t_s": parse_count(low), "end_t_s": parse_count(high), "sigma_s": 0.5}
        segments.append(row)
        if state == "holding":
            holds.append({"hold": len(holds), "pass": int(number), "t_s": row["start_t_s"], "start_utc": row["start_utc"],
                          "end_utc": row["end_utc"], "planned_s": 0.0, "kind": (kind or ["built_in"])[0], "basis": "called"})
    return CLOCK.from_rows(segments), HOLDS.from_rows(holds)
