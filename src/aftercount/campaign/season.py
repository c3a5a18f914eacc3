"""A season as tables and matrices: the counts, every step's history, joined to the steps of the last plan.

Conventions: `rehearsal` numbers counts from 1 in order of scheduled T-0. A step that was not reached, or not in that
count's plan, is a gap: it is in no share and no slope. It judges nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.gather import NUMBER, CountData, Gathered
from aftercount.campaign.join import Key, join, signature
from aftercount.campaign.tables import COUNTS, HELD, HISTORY, HOLD_CAUSES, PLAN_CHANGES

_CARRIED = ("pass", "status", "timing", "deviation_s", "deviation_sigma_s", "out_of_order", "response_s", "response", "must")


@dataclass(frozen=True)
class Season:
    """plan: the steps of the last count; plan_file: its planned.csv, where its review carries it. history, counts, held, plan_changes: by their schemas."""

    plan: pd.DataFrame
    history: pd.DataFrame
    counts: pd.DataFrame
    held: pd.DataFrame
    plan_changes: pd.DataFrame
    plan_file: str | None = None

    def matrix(self, column: str) -> np.ndarray:
        """Steps of the plan by rehearsals, NaN where there is no value; only steps that were done have one."""
        rows = {step: i for i, step in enumerate(self.plan["step"])}
        known = self.history[self.history[column].notna() & (self.history["status"] == "done")]
        out = np.full((len(rows), len(self.counts)), np.nan)
        at = known["step"].map(rows)
        out[at.to_numpy(dtype=int), known["rehearsal"].to_numpy(dtype=int) - 1] = known[column].to_numpy(dtype=float)
        return out

    def measured(self) -> np.ndarray:
        """Each step's median uncertainty of measurement, seconds; NaN where none is stated."""
        medians = self.history.groupby("step")["deviation_sigma_s"].median()
        return self.plan["step"].map(medians).to_numpy(dtype=float)

    def without(self, count: str) -> Season:
        """The season but for one count: a count is never held against itself."""
        counts = self.counts[self.counts["count"] != count]
        numbers = {old: new for new, old in enumerate(counts["rehearsal"], start=1)}
        history = self.history[self.history["count"] != count]
        return Season(self.plan, history.assign(rehearsal=history["rehearsal"].map(numbers)).reset_index(drop=True),
                      counts.assign(rehearsal=range(1, len(counts) + 1)).reset_index(drop=True), self.held, self.plan_changes)


def extend(season: Season, count: CountData) -> Season:
    """The season with one more count, last, its steps joined to those of the season's plan."""
    number = len(season.counts) + 1
    joined, changes = join(signature(count.steps), signature(season.plan))
    alone = Gathered.of([count])
    one = _numbered(alone, number)
    new = _history(one, [joined.get(step) for step in count.steps["step"]])
    history = HISTORY.conform(pd.concat([season.history, new], ignore_index=True))
    counts = COUNTS.conform(pd.concat([season.counts, _count_rows(alone, one, number)], ignore_index=True))
    rows = [{"count": count.id, **change} for change in changes]
    return Season(season.plan, history, counts, season.held, PLAN_CHANGES.from_rows(rows))


def build(counts: Sequence[CountData]) -> Season:
    """The season of these counts, already in order."""
    gathered = counts if isinstance(counts, Gathered) else Gathered.of(counts)
    last = gathered[-1].steps
    key = signature(last)
    known: dict[Key, tuple[dict[str, str], list[dict[str, Any]]]] = {}
    changes: list[dict[str, Any]] = []
    steps_here: list[str | None] = []
    plans = signature(gathered.steps)
    for (_, summary), start, size in zip(gathered.heads, gathered.starts, gathered.sizes, strict=True):
        mine = plans[start:start + size]
        if mine not in known:
            known[mine] = join(mine, key)
            changes += [{"count": str(summary["count"]), **change} for change in known[mine][1]]
        joined = known[mine][0]
        steps_here += [joined.get(there) for there, _ in mine]
    everything = _numbered(gathered)
    history = _history(everything, steps_here)
    return Season(last, history, _count_rows(gathered, everything), _held(gathered), PLAN_CHANGES.from_rows(changes), gathered.plan_file)


def _numbered(counts: Gathered, first: int = 1) -> pd.DataFrame:
    """The steps of all counts, one below the other, with the number and id of their count."""
    number = np.repeat(np.arange(len(counts)), counts.sizes)
    ids = pd.Series([str(summary["count"]) for _, summary in counts.heads], dtype="str")
    return counts.steps[["step", *_CARRIED]].assign(rehearsal=number + first, count=ids.take(number).array)


def _history(everything: pd.DataFrame, steps_here: list[str | None]) -> pd.DataFrame:
    """HISTORY: the steps under their ids in the last plan; those that it does not have are left out."""
    out = everything.rename(columns={"step": "step_there"}).assign(step=pd.Series(steps_here, dtype="str"))
    out["must"] = out["must"].astype("boolean").fillna(True)
    return HISTORY.conform(out[out["step"].notna()])


def _count_rows(counts: Gathered, everything: pd.DataFrame, first: int = 1) -> pd.DataFrame:
    """COUNTS: what each summary says, and how many of each count's steps came to what."""
    numbers = pd.RangeIndex(first, first + len(counts))
    summaries = [summary for _, summary in counts.heads]
    out = pd.DataFrame({
        "rehearsal": numbers, "count": [str(s["count"]) for s in summaries], "kind": [s.get("kind") for s in summaries],
        "outcome": [s["outcome"] for s in summaries], "t0_scheduled": [pd.Timestamp(s["t0_scheduled"]) for s in summaries], "steps": counts.sizes,
        "delay_s": pd.Series([s.get("delay_s") for s in summaries], dtype="float64"),
        **{key: [float(s.get(key) or 0.0) for s in summaries] for key in ("unplanned_hold_s", "built_in_hold_s")},
    })
    rehearsal, done = everything["rehearsal"], everything["status"] == "done"
    marks = {"done": done, "missed": everything["status"] == "missed", "late": everything["timing"] == "late",
             "early": everything["timing"] == "early", "out_of_order": everything["out_of_order"].astype(bool),
             "unanswered": everything["response"] == "none"}
    for name, mark in marks.items():
        out[name] = rehearsal[mark.to_numpy(dtype=bool, na_value=False)].value_counts().reindex(numbers, fill_value=0).to_numpy()
    for name, column, mark in (("median_deviation_s", "deviation_s", done), ("median_response_s", "response_s", everything["response"] == "answered")):
        seen = everything[mark.to_numpy(dtype=bool, na_value=False)]
        out[name] = seen.groupby("rehearsal")[column].median().reindex(numbers).to_numpy()
    return COUNTS.conform(out)


def _held(counts: Gathered) -> pd.DataFrame:
    """HELD: unplanned holds, and built-in ones that ran over, by the cause that was given."""
    ids = pd.Series([str(summary["count"]) for _, summary in counts.heads], dtype="str")
    number = counts.holds[NUMBER].to_numpy()
    held = counts.holds.assign(count=ids.take(number).array, rehearsal=number + 1)
    held["cost_s"] = held["duration_s"].where(held["kind"] == "unplanned", held["excess_s"])
    held["cause"] = held["reason"].str.strip().replace("", None).fillna("no cause given")
    return HELD.conform(held[held["cost_s"] > 0])


def hold_causes(held: pd.DataFrame) -> pd.DataFrame:
    """HOLD_CAUSES: the same over the season, the dearest first."""
    rows = []
    for (cause, kind), group in held.groupby(["cause", "kind"]):
        rows.append({"cause": cause, "kind": kind, "holds": len(group), "counts": group["count"].nunique(), "total_s": group["cost_s"].sum(),
                     "first_count": group["count"].iloc[0], "last_count": group["count"].iloc[-1]})
    return HOLD_CAUSES.from_rows(sorted(rows, key=lambda r: (-r["total_s"], r["cause"], r["kind"])))
