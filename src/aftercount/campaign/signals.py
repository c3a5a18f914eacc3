"""Which changes over the season deserve a look?

    beyond_limit  one value further from the step's level than its spread, and the record of all steps, explain
    shift         two rehearsals in a row whose mean is
    drift         a steady trend (Mann-Kendall, false discoveries held to 5 % over the steps)
    missed        a required step missed that was never missed before

Conventions: each count is judged by the counts before it only, as on the day; `count` is where the signal is seen.
Chances are shared out over the steps, so that a steady season of any size raises few: see the constants.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.expect import LEAST, expect
from aftercount.campaign.season import Season
from aftercount.campaign.stats import FALSE_DISCOVERY
from aftercount.campaign.tables import SIGNALS
from aftercount.counttime import format_duration

# Chance that a count of a steady season raises any signal of one kind, in either direction.
COUNT_ALPHA = 0.02
# Rehearsals before a first signal can be raised.
LEAST_BEFORE = 5


def find_signals(season: Season, steps: pd.DataFrame, deviations: np.ndarray) -> pd.DataFrame:
    """The SIGNALS table: by count, then in plan order."""
    rows: list[dict[str, Any]] = []
    measured = season.history.groupby("step")["deviation_sigma_s"].median()
    sigma = season.plan["step"].map(measured).to_numpy(dtype=float)
    for number in range(LEAST_BEFORE, deviations.shape[1]):
        rows += _beyond(season, deviations, sigma, number)
        rows += _shifted(season, deviations, sigma, number)
    rows += _missed(season) + _drifts(season, steps)
    order = {step: i for i, step in enumerate(season.plan["step"])}
    rows.sort(key=lambda r: (r["rehearsal"], order[r["step"]], r["kind"]))
    return SIGNALS.from_rows(rows)


def _beyond(season: Season, deviations: np.ndarray, sigma: np.ndarray, number: int) -> list[dict[str, Any]]:
    """Single values of one count against the counts before it."""
    before, now = expect(deviations[:, :number], sigma), deviations[:, number]
    tested = max(1, int((~np.isnan(now) & ~np.isnan(before.level)).sum()))
    half = before.half_width(COUNT_ALPHA / 2 / tested)
    return [_signal(season, number, int(i), "beyond_limit", (now[i], before.level[i], half[i]))
            for i in np.flatnonzero(np.abs(now - before.level) > half)]


def _shifted(season: Season, deviations: np.ndarray, sigma: np.ndarray, number: int) -> list[dict[str, Any]]:
    """The mean of two counts in a row against the counts before both."""
    if number - 1 < LEAST_BEFORE:
        return []
    before, mean = expect(deviations[:, : number - 1], sigma), deviations[:, number - 1 : number + 1].mean(axis=1)
    tested = max(1, int((~np.isnan(mean) & ~np.isnan(before.level)).sum()))
    half = before.half_width(COUNT_ALPHA / 2 / tested, averaged=2)
    one_alone = before.half_width(0.5 * COUNT_ALPHA, averaged=1)
    both = np.abs(deviations[:, number - 1 : number + 1] - before.level[:, None]).min(axis=1) > one_alone / 2
    return [_signal(season, number, int(i), "shift", (mean[i], before.level[i], half[i]))
            for i in np.flatnonzero((np.abs(mean - before.level) > half) & both)]


def _signal(season: Season, number: int, i: int, kind: str, figures: tuple[float, float, float]) -> dict[str, Any]:
    value, level, half = (float(f) for f in figures)
    side = "later" if value > level else "earlier"
    what = "on average of the last two counts" if kind == "shift" else "in this count"
    step = season.plan["step"].iloc[i]
    text = f"step {step}: {format_duration(abs(value - level))} {side} than its level {what}; up to {format_duration(half)} is usual"
    return {"step": step, "count": season.counts["count"].iloc[number], "kind": kind, "value_s": value,
            "limit_s": level + half if value > level else level - half, "text": text, "rehearsal": number + 1}


def _missed(season: Season) -> list[dict[str, Any]]:
    """First misses of required steps that had been reached often enough to call it unusual."""
    rows = []
    reached = season.history[(season.history["status"] != "not_reached") & season.history["must"].astype(bool)]
    for step, group in reached.sort_values("rehearsal").groupby("step", sort=False):
        missed = np.flatnonzero((group["status"] == "missed").to_numpy())
        if len(missed) and missed[0] >= LEAST:
            row = group.iloc[missed[0]]
            text = f"step {step}: missed, after {missed[0]} counts in which it never was"
            rows.append({"step": step, "count": row["count"], "kind": "missed", "text": text, "rehearsal": int(row["rehearsal"])})
    return rows


def _drifts(season: Season, steps: pd.DataFrame) -> list[dict[str, Any]]:
    rows = []
    last = len(season.counts)
    for row in steps[steps["q"] < FALSE_DISCOVERY].to_dict("records"):
        way = "later" if row["slope_s"] > 0 else "earlier"
        text = f"step {row['step']}: {abs(row['slope_s']):.1f} s {way} each rehearsal ({row['slope_low_s']:.1f} to {row['slope_high_s']:.1f})"
        rows.append({"step": row["step"], "count": season.counts["count"].iloc[-1], "kind": "drift", "value_s": row["slope_s"],
                     "limit_s": 0.0, "text": text, "rehearsal": last})
    return rows
