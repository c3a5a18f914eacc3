"""Review folders into one record of a season: what each step did in each count, in order of scheduled T-0.

The folders are read as one partitioned Parquet dataset, a folder a partition, on a disk or in a store (`places`): only the
columns that a trend needs, never the events, so a thousand reviews fit in little memory. Within one count the pass that
decided a step is the last in which it was reached. It does not join steps across plans (`join`) or judge anything.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, overload

import pandas as pd
import pyarrow as pa
import pyarrow.dataset as pads

from aftercount.campaign.places import SEAL, Place, Whole, first_line, has, inner, place, shown
from aftercount.errors import InputError, Problem
from aftercount.tables import HOLDS, STEPS, Table

STEP_COLUMNS = ("step", "pass", "phase", "action", "by", "planned_t_s", "status", "timing", "deviation_s", "deviation_sigma_s",
                "out_of_order", "response_s", "response", "must", "early_s", "late_s")
HOLD_COLUMNS = ("kind", "duration_s", "excess_s", "reason")
_NO_REVIEW = "a review folder was expected"
# Which count of the season a row is of, from 0.
NUMBER = "count_number"


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


class Gathered(Sequence[CountData]):
    """Counts in order, their steps and holds one below the other; an item is one count's part of them."""

    def __init__(self, heads: Sequence[tuple[str, dict[str, Any]]], steps: pd.DataFrame, holds: pd.DataFrame, plan_file: str | None = None) -> None:
        """heads: path and summary of each count. steps, holds: in the same order, with NUMBER. plan_file: of the last count."""
        self.heads, self.steps, self.holds, self.plan_file = list(heads), steps, holds, plan_file
        self.sizes, self._held = _sizes(steps, len(heads)), _sizes(holds, len(heads))
        self.starts = [0, *accumulate(self.sizes)][:-1]

    @classmethod
    def of(cls, counts: Sequence[CountData]) -> Gathered:
        """The same from counts in memory."""
        steps, holds = (pd.concat([f.assign(**{NUMBER: i}) for i, f in enumerate(frames)], ignore_index=True)
                        for frames in ([c.steps for c in counts], [c.holds for c in counts]))
        return cls([(c.path, c.summary) for c in counts], steps, holds.astype({"reason": "str"}))

    def __len__(self) -> int:
        return len(self.heads)

    @overload
    def __getitem__(self, at: int) -> CountData: ...
    @overload
    def __getitem__(self, at: slice) -> list[CountData]: ...
    def __getitem__(self, at: int | slice) -> CountData | list[CountData]:
        if isinstance(at, slice):
            return [self[i] for i in range(*at.indices(len(self)))]
        i = range(len(self))[at]
        path, summary = self.heads[i]
        held_from = sum(self._held[:i])
        steps = self.steps.iloc[self.starts[i]:self.starts[i] + self.sizes[i]].drop(columns=NUMBER).reset_index(drop=True)
        holds = self.holds.iloc[held_from:held_from + self._held[i]].drop(columns=NUMBER).reset_index(drop=True)
        return CountData(path, summary, steps, holds)


def gather(paths: Sequence[str]) -> Gathered:
    """The counts of the review folders, in order. Raises InputError with every folder that cannot be read."""
    folders = _expanded(paths)
    whole = Whole([place(path) for path in folders])
    heads, problems = [], []
    for number, (path, seal) in enumerate(zip(folders, whole.seals, strict=True)):
        try:
            heads.append((_summary(seal), path, number))
        except (OSError, ValueError, AttributeError) as fault:
            problems.append(_no_review(path, fault))
    heads.sort(key=lambda head: (pd.Timestamp(head[0]["t0_scheduled"]), str(head[0]["count"])))
    problems += _twice([(str(summary["count"]), path) for summary, path, _ in heads])
    if problems:
        raise InputError(problems)
    steps, holds = (_dataset([(path, whole.places[n]) for _, path, n in heads], *what) for what in ((STEPS, STEP_COLUMNS), (HOLDS, HOLD_COLUMNS)))
    plan_file = _plan_file(whole.places[heads[-1][2]])
    if changed := whole.changed():
        raise InputError([Problem(shown(folders[n]), 0, "review-changed", "was written anew while it was read", "try again") for n in changed])
    return Gathered([(path, summary) for summary, path, _ in heads], deciding(steps, NUMBER), holds, plan_file)


def _plan_file(there: Place) -> str | None:
    """The plan that a review was held against; None where it carries none."""
    try:
        return there.read("planned.csv").decode("utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def deciding(steps: pd.DataFrame, of: str | None = None) -> pd.DataFrame:
    """One row a step (and value of `of`): the last pass in which it was reached, else its last."""
    keys = ["step"] if of is None else [of, "step"]
    if not steps.duplicated(keys).any():
        return steps
    reached = steps["status"] != "not_reached"
    ordered = steps.assign(_reached=reached).sort_values(["_reached", "pass"], kind="stable")
    kept = ordered.drop_duplicates(keys, keep="last").sort_index()
    return kept.drop(columns="_reached").reset_index(drop=True)


def _expanded(paths: Sequence[str]) -> list[str]:
    """Review folders: each as given, or, where one holds review folders instead of being one, those."""
    return [one for path in paths for one in (() if has(path, SEAL) else inner(path, SEAL)) or [path]]


def _summary(seal: bytes | OSError) -> dict[str, Any]:
    if isinstance(seal, OSError):
        raise seal
    summary = json.loads(seal)
    if not {"count", "outcome", "t0_scheduled"} <= summary.keys():
        raise ValueError("summary.json is not of a review")
    return dict(summary)


def _twice(named: Sequence[tuple[str, str]]) -> list[Problem]:
    seen: dict[str, str] = {}
    return [Problem(shown(path), 0, "trend-count-twice", f"count '{count}' is also in {shown(seen[count])}")
            for count, path in named if seen.setdefault(count, path) != path]


def _dataset(folders: Sequence[tuple[str, Place]], table: Table, columns: Sequence[str]) -> pd.DataFrame:
    """These columns of one table of every folder, in order of the folders."""
    files: dict[int, dict[str, int]] = {}
    stores = {id(there.filesystem): there.filesystem for _, there in folders}
    for number, (_, there) in enumerate(folders):
        files.setdefault(id(there.filesystem), {})[f"{there.path}/{table.name}.parquet"] = number
    schema = pa.schema([table.schema.field(name).with_nullable(True) for name in columns])
    parts = []
    for store, paths in files.items():
        try:
            parts.append(_read(stores[store], paths, schema))
        except (OSError, ValueError, pa.ArrowException):
            _name_culprits(folders, table, schema)
            raise
    frame = pa.concat_tables(parts).to_pandas()
    return frame.sort_values(NUMBER, kind="stable", ignore_index=True)


def _read(filesystem: Any, paths: dict[str, int], schema: pa.Schema) -> pa.Table:
    """One dataset of files that lie together, with the number of each row's file."""
    dataset = pads.dataset(list(paths), schema=schema, format="parquet", filesystem=filesystem)
    read = dataset.to_table(columns=[*schema.names, "__filename"])
    named = read["__filename"].combine_chunks().dictionary_encode()
    number = pa.array([paths[name] for name in named.dictionary.to_pylist()], pa.int64())
    return read.drop_columns("__filename").append_column(NUMBER, number.take(named.indices))


def _name_culprits(folders: Sequence[tuple[str, Place]], table: Table, schema: pa.Schema) -> None:
    """Raises InputError with the folders whose file cannot be read, one by one."""
    problems = []
    for path, there in folders:
        try:
            _read(there.filesystem, {f"{there.path}/{table.name}.parquet": 0}, schema)
        except (OSError, ValueError, pa.ArrowException) as fault:
            problems.append(_no_review(path, fault))
    if problems:
        raise InputError(problems)


def _no_review(path: str, fault: BaseException) -> Problem:
    text = "no such folder, or nothing that `review` wrote is in it" if isinstance(fault, FileNotFoundError) else first_line(fault)
    return Problem(shown(path), 0, "trend-no-review", f"{_NO_REVIEW}: {text}", "`review` writes one")


def _sizes(frame: pd.DataFrame, counts: int) -> list[int]:
    """Rows of each count."""
    return [int(n) for n in frame[NUMBER].value_counts().reindex(range(counts), fill_value=0)]
