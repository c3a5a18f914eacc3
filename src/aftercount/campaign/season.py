"""A season as tables and matrices: the counts, every step's history, joined to the steps of the last plan.

Conventions: `rehearsal` numbers counts from 1 in order of scheduled T-0. A step that was not reached, or not in that
count's plan, is a gap: it is in no share and no slope. It judges nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.gather import CountData
from aftercount.campaign.join import Key, join, signature
from aftercount.campaign.tables import COUNTS, HISTORY, HOLD_CAUSES, PLAN_CHANGES

_CARRIED = ("pass", "status", "timing", "deviation_s", "deviation_sigma_s", "out_of_order", "response_s", "response", "must")


@dataclass(frozen=True)
class Season:
    """plan: the steps of the last count. history, counts, hold_causes, plan_changes: by their schemas."""

    plan: pd.DataFrame
    history: pd.DataFrame
    counts: pd.DataFrame
    hold_causes: pd.DataFrame
    plan_changes: pd.DataFrame

    def matrix(self, column: str) -> np.ndarray:
        """Steps of the plan by rehearsals, NaN where there is no value; only steps that were done have one."""
        rows = {step: i for i, step in enumerate(self.plan["step"])}
        known = self.history[self.history[column].notna() & (self.history["status"] == "done")]
        out = np.full((len(rows), len(self.counts)), np.nan)
        at = known["step"].map(rows)
        out[at.to_numpy(dtype=int), known["rehearsal"].to_numpy(dtype=int) - 1] = known[column].to_numpy(dtype=float)
        return out


    def without(self, count: str) -> Season:
        """The season but for one count: a count is never held against itself."""
        counts = self.counts[self.counts["count"] != count]
        numbers = {old: new for new, old in enumerate(counts["rehearsal"], start=1)}
        history = self.history[self.history["count"] != count]
        return Season(self.plan, history.assign(rehearsal=history["rehearsal"].map(numbers)).reset_index(drop=True),
                      counts.assign(rehearsal=range(1, len(counts) + 1)).reset_index(drop=True), self.hold_causes, self.plan_changes)


def extend(season: Season, count: CountData) -> Season:
    """The season with one more count, last, its steps joined to those of the season's plan."""
    number = len(season.counts) + 1
    joined, changes = join(signature(count.steps), signature(season.plan))
    history = HISTORY.conform(pd.concat([season.history, _history(count, number, joined)], ignore_index=True))
    counts = COUNTS.conform(pd.concat([season.counts, COUNTS.from_rows([_count_row(count, number)])], ignore_index=True))
    rows = [{"count": count.id, **change} for change in changes]
    return Season(season.plan, history, counts, season.hold_causes, PLAN_CHANGES.from_rows(rows))


def build(counts: list[CountData]) -> Season:
    """The season of these counts, already in order."""
    last = counts[-1].steps
    key = signature(last)
    known: dict[Key, tuple[dict[str, str], list[dict[str, Any]]]] = {}
    histories, changes, rows = [], [], []
    for number, count in enumerate(counts, start=1):
        mine = signature(count.steps)
        if mine not in known:
            known[mine] = join(mine, key)
            changes += [{"count": count.id, **change} for change in known[mine][1]]
        histories.append(_history(count, number, known[mine][0]))
        rows.append(_count_row(count, number))
    history = HISTORY.conform(pd.concat(histories, ignore_index=True))
    return Season(last, history, COUNTS.from_rows(rows), _hold_causes(counts), PLAN_CHANGES.from_rows(changes))


def _history(count: CountData, number: int, joined: dict[str, str]) -> pd.DataFrame:
    steps = count.steps
    out = steps[[*_CARRIED]].assign(rehearsal=number, count=count.id, step_there=steps["step"], step=steps["step"].map(joined))
    out["must"] = out["must"].astype("boolean").fillna(True)
    return out[out["step"].notna()]


def _count_row(count: CountData, number: int) -> dict[str, Any]:
    steps = count.steps
    done = steps[steps["status"] == "done"]
    answered = steps[steps["response"] == "answered"]
    return {
        "rehearsal": number, "count": count.id, "kind": count.summary.get("kind"), "outcome": count.summary["outcome"],
        "t0_scheduled": count.t0, "delay_s": count.summary.get("delay_s"), "steps": len(steps), "done": len(done),
        "unplanned_hold_s": float(count.summary.get("unplanned_hold_s") or 0.0),
        "built_in_hold_s": float(count.summary.get("built_in_hold_s") or 0.0),
        "missed": int((steps["status"] == "missed").sum()), "late": int((steps["timing"] == "late").sum()),
        "early": int((steps["timing"] == "early").sum()), "out_of_order": int(steps["out_of_order"].sum()),
        "unanswered": int((steps["response"] == "none").sum()), "median_deviation_s": _median(done["deviation_s"]),
        "median_response_s": _median(answered["response_s"]),
    }


def _hold_causes(counts: list[CountData]) -> pd.DataFrame:
    """Unplanned holds, and built-in ones that ran over, by the cause that was given."""
    held = []
    for number, count in enumerate(counts):
        for kind, duration, excess, reason in count.holds.itertuples(index=False, name=None):
            cost = duration if kind == "unplanned" else excess
            if pd.notna(cost) and cost > 0:
                cause = "no cause given" if pd.isna(reason) or not str(reason).strip() else str(reason).strip()
                held.append({"cause": cause, "kind": kind, "cost": float(cost), "number": number, "count": count.id})
    rows = []
    for _, group in pd.DataFrame(held, columns=["cause", "kind", "cost", "number", "count"]).groupby(["cause", "kind"]):
        rows.append({"cause": group["cause"].iloc[0], "kind": group["kind"].iloc[0], "holds": len(group), "counts": group["count"].nunique(), "total_s": group["cost"].sum(),
                     "first_count": group["count"].iloc[0], "last_count": group["count"].iloc[-1]})
    return HOLD_CAUSES.from_rows(sorted(rows, key=lambda r: (-r["total_s"], r["cause"], r["kind"])))


def _median(values: pd.Series) -> float | None:
    known = values.dropna()
    return float(known.median()) if len(known) else None
