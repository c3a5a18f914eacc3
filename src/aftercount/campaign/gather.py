"""Review folders into one season: what each step did in each count, in order of scheduled T-0.

Only the columns that a trend needs are read, never the events, so a thousand reviews fit in little memory. A path may
be a folder or anything pyarrow's file systems take (`s3://...`). Within one count the pass that decided a step is the
last in which it was reached. It does not join steps across plans (`join`) or judge anything.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.fs as pafs
import pyarrow.parquet as pq

from aftercount.errors import InputError, Problem

STEP_COLUMNS = ("step", "pass", "phase", "action", "by", "planned_t_s", "status", "timing", "deviation_s", "deviation_sigma_s",
                "out_of_order", "response_s", "response", "must", "early_s", "late_s")
HOLD_COLUMNS = ("kind", "duration_s", "excess_s", "reason")
# Reading waits on the disk or the network; more readers than this only wait on each other.
_READERS = 8


@dataclass(frozen=True)
class CountData:
    """What one review folder says of its count. steps: one row a step, the pass that decided it."""

    path: str
    summary: dict[str, Any]
    steps: pd.DataFrame
    holds: pd.DataFrame

    @property
    def id(self) -> str:
        return str(self.summary["count"])

    @property
    def t0(self) -> pd.Timestamp:
        return pd.Timestamp(self.summary["t0_scheduled"])


def gather(paths: Sequence[str]) -> list[CountData]:
    """The counts of the review folders, in order. Raises InputError with every folder that cannot be read."""
    with ThreadPoolExecutor(min(_READERS, max(1, len(paths)))) as pool:
        read = list(pool.map(_read_or_problem, paths))
    problems = [r for r in read if isinstance(r, Problem)]
    counts = sorted((r for r in read if isinstance(r, CountData)), key=lambda c: (c.t0, c.id))
    seen: dict[str, str] = {}
    for count in counts:
        other = seen.setdefault(count.id, count.path)
        if other != count.path:
            problems.append(Problem(count.path, 0, "trend-count-twice", f"count '{count.id}' is also in {other}"))
    if problems:
        raise InputError(problems)
    return counts


def read_count(path: str) -> CountData:
    """One review folder. Raises OSError, ValueError or KeyError when it is none."""
    filesystem, folder = pafs.FileSystem.from_uri(path) if "://" in path else (pafs.LocalFileSystem(), path)
    with filesystem.open_input_stream(f"{folder}/summary.json") as stream:
        summary = json.loads(stream.read())
    if not {"count", "outcome", "t0_scheduled"} <= summary.keys():
        raise ValueError("summary.json is not of a review")
    steps = pq.read_table(f"{folder}/steps.parquet", columns=list(STEP_COLUMNS), filesystem=filesystem, use_threads=False).to_pandas()
    holds = pq.read_table(f"{folder}/holds.parquet", columns=list(HOLD_COLUMNS), filesystem=filesystem, use_threads=False).to_pandas()
    return CountData(path, summary, deciding(steps), holds)


def deciding(steps: pd.DataFrame) -> pd.DataFrame:
    """One row a step: the last pass in which it was reached, else its first."""
    if steps["step"].is_unique:
        return steps
    reached = steps["status"] != "not_reached"
    ordered = steps.assign(_reached=reached).sort_values(["_reached", "pass"], kind="stable")
    kept = ordered.drop_duplicates("step", keep="last").sort_index()
    return kept.drop(columns="_reached").reset_index(drop=True)


def _read_or_problem(path: str) -> CountData | Problem:
    try:
        return read_count(path)
    except (OSError, ValueError, KeyError, AttributeError, pa.ArrowException) as fault:
        text = f"a review folder was expected: {str(fault).splitlines()[0] if str(fault) else type(fault).__name__}"
        return Problem(path, 0, "trend-no-review", text, "`review` writes one")
