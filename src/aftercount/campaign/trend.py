"""Are we getting better? The record of every step, station and phase over a season.

Conventions: shares are of the rehearsals in which the step was reached; deviations of those in which it was done, actual
minus due; slopes in seconds per rehearsal, negative is earlier. `small` marks figures from fewer than SMALL values.
It does not say what to do about them: `signals` and `suggest` follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.beside import ALONE, Beside
from aftercount.campaign import stats
from aftercount.campaign.changes import Changes, changes
from aftercount.campaign.control import individuals
from aftercount.campaign.expect import Expectation, expect
from aftercount.campaign.gather import gather
from aftercount.campaign.scores import Scores, scores
from aftercount.campaign.season import Season, build, hold_causes
from aftercount.campaign.shape import course, learning_curve
from aftercount.campaign.signals import find_signals, told_changes
from aftercount.campaign.suggest import suggest
from aftercount.campaign.tables import CONTROL, GROUPS, TREND
from aftercount.errors import UsageError

# Fewer rehearsals than this are few: intervals are wide, and the page says so.
SMALL = 8
# A learning curve flatter than this comes to no end that a season could show: what it tends to is not told.
LEAST_TO_TEND = 0.4


@dataclass(frozen=True)
class Trend:
    """The tables of a trend folder by name, its summary, and the last count's planned.csv where its review carries it."""

    tables: dict[str, pd.DataFrame]
    summary: dict[str, Any]
    plan: str | None = None

    def __getattr__(self, name: str) -> pd.DataFrame:
        try:
            return self.__dict__["tables"][name]
        except KeyError:
            raise AttributeError(name) from None


def trend(outs: Sequence[str], beside: Beside = ALONE) -> Trend:
    """The season of these review folders, in any order; beside: who does what can be done beside the rest. Raises InputError for those that are none."""
    if not outs:
        raise UsageError("a trend needs at least one review folder")
    return trend_of(build(gather([str(out) for out in outs])), beside)


def trend_of(season: Season, beside: Beside = ALONE) -> Trend:
    """The tables of a season."""
    groups = beside.begin(_groups, season.plan, season.history)
    deviations, measured = season.matrix("deviation_s"), season.measured()
    expected, scored = expect(deviations, measured), scores(deviations, measured)
    changed = changes(_without_strays(deviations, expected.aside), expected.common)
    steps = _with_changes(_steps(season, deviations, expected), changed, season.counts["count"].tolist())
    since = np.where(told_changes(steps), changed.first, 0)
    steps = suggest(steps, season.plan, deviations, since)
    found = find_signals(season, steps, deviations, scored, changed)
    made = {"trend": TREND.conform(steps), "signals": found, "control": _control(season, deviations, scored), "history": season.history,
            "counts": season.counts, "groups": groups(), "held": season.held, "hold_causes": hold_causes(season.held), "plan_changes": season.plan_changes}
    return Trend(made, _summary(made), season.plan_file)


def _steps(season: Season, deviations: np.ndarray, expected: Expectation) -> pd.DataFrame:
    history = season.history.astype({"status": object, "timing": object})  # once, not once a step
    by_step, empty = dict(tuple(history.groupby("step", sort=False))), history.iloc[:0]
    rows, rising = [], stats.kendall_of_rows(deviations)
    for i, plan_row in enumerate(season.plan[["step", "action", "by", "phase", "planned_t_s"]].to_dict("records")):
        row = {str(k): v for k, v in plan_row.items()} | shares(by_step.get(plan_row["step"], empty)) | _course(deviations[i], int(rising[i]))
        rows.append(row | {"level_s": expected.level[i], "sigma_s": expected.sigma[i]})
    frame = pd.DataFrame(rows)
    frame["q"] = stats.adjust(frame["p"].to_numpy(dtype=float))
    return frame.assign(suggested_t_s=np.nan, suggested_early_s=np.nan, suggested_late_s=np.nan)


def _without_strays(deviations: np.ndarray, aside: np.ndarray) -> np.ndarray:
    """The deviations but for the values that stand alone; `aside` is of the last columns."""
    out = deviations.copy()
    out[:, out.shape[1] - aside.shape[1]:][aside] = np.nan
    return out


def _with_changes(steps: pd.DataFrame, changed: Changes, counts: list[str]) -> pd.DataFrame:
    names = pd.Series([counts[first] if first >= 0 else None for first in changed.first], dtype="str")
    return steps.assign(change_count=names, change_s=changed.after - changed.before, change_q=stats.adjust(changed.p))


def _control(season: Season, deviations: np.ndarray, scored: Scores) -> pd.DataFrame:
    """CONTROL, step by step in plan order."""
    steps, counts = deviations.shape
    ranges = np.hstack([np.full((steps, 1), np.nan), np.abs(np.diff(deviations, axis=1))])
    return CONTROL.conform(pd.DataFrame({
        "step": np.repeat(season.plan["step"].to_numpy(dtype=object), counts), "rehearsal": np.tile(np.arange(1, counts + 1), steps),
        "count": np.tile(season.counts["count"].to_numpy(dtype=object), steps), "deviation_s": deviations.ravel(),
        "moving_range_s": ranges.ravel(), "score": scored.alone.ravel(), "ewma": scored.ewma.ravel(),
        "cusum_high": scored.cusum_high.ravel(), "cusum_low": scored.cusum_low.ravel(),
    }))


def shares(history: pd.DataFrame) -> dict[str, Any]:
    """Counts of what became of a step (or of many), with Wilson's intervals, over what was reached."""
    status = history["status"].to_numpy(dtype=object)
    reached = status != "not_reached"
    status, timing = status[reached], history["timing"].to_numpy(dtype=object)[reached]
    n, missed, late = len(status), int((status == "missed").sum()), int((timing == "late").sum())
    missed_low, missed_high = stats.wilson(missed, n)
    late_low, late_high = stats.wilson(late, n)
    return {"n": n, "done": int((status == "done").sum()), "missed": missed, "late": late,
            "early": int((timing == "early").sum()), "out_of_order": int(history["out_of_order"].to_numpy(dtype=bool)[reached].sum()),
            "missed_low": missed_low, "missed_high": missed_high, "late_low": late_low, "late_high": late_high}


def _course(values: np.ndarray, rising: int) -> dict[str, Any]:
    """Median, spread, slopes, limits and shape of one step's deviations; `rising` is their Kendall's S."""
    seen = np.flatnonzero(~np.isnan(values))
    x, y = seen + 1.0, values[seen]
    robust, line, limits, shape = stats.robust_slope(x, y), stats.line(x, y), individuals(values), course(x, y)
    curve = learning_curve(x, y) if shape == "learning" else None
    return {
        "median_deviation_s": float(np.median(y)) if len(y) else np.nan, "spread_s": stats.spread(y),
        "slope_s": robust.slope, "slope_low_s": robust.low, "slope_high_s": robust.high,
        "line_slope_s": line.slope, "line_low_s": line.low, "line_high_s": line.high,
        "p": stats.mann_kendall(y, rising), "limit_low_s": limits.low, "limit_high_s": limits.high, "range_high_s": limits.range_high,
        "course": shape, "learnt_to_s": curve.level if curve and curve.exponent >= LEAST_TO_TEND else np.nan, "learning_exponent": curve.exponent if curve else np.nan,
        "small": len(y) < SMALL,
    }


def _groups(plan: pd.DataFrame, history: pd.DataFrame) -> pd.DataFrame:
    """The same over all steps of a station, and of a phase."""
    rows = []
    for of, column in (("station", "by"), ("phase", "phase")):
        names = plan.set_index("step")[column]
        named = history.assign(name=history["step"].map(names)).astype({"status": object, "timing": object})
        for name, group in named.dropna(subset=["name"]).groupby("name"):
            medians = group[group["status"] == "done"].groupby("rehearsal")["deviation_s"].median().dropna()
            y = medians.to_numpy(dtype=float)
            robust = stats.robust_slope(medians.index.to_numpy(dtype=float), y)
            rows.append({"of": of, "name": name, "steps": int((names == name).sum()), **shares(group), "spread_s": stats.spread(y),
                         "median_deviation_s": float(np.median(y)) if len(y) else np.nan, "slope_s": robust.slope,
                         "slope_low_s": robust.low, "slope_high_s": robust.high, "p": stats.mann_kendall(y)})
    return GROUPS.from_rows(rows)


def _summary(made: dict[str, pd.DataFrame]) -> dict[str, Any]:
    counts, steps, found = made["counts"], made["trend"], made["signals"]
    drifting = steps[steps["q"] < stats.FALSE_DISCOVERY]
    y = counts["median_deviation_s"].to_numpy(dtype=float)
    season = stats.robust_slope(counts["rehearsal"].to_numpy(dtype=float)[~np.isnan(y)], y[~np.isnan(y)])
    return {
        "counts": counts["count"].tolist(), "rehearsals": len(counts), "steps": len(steps), "small": len(counts) < SMALL,
        "improving": drifting[drifting["slope_s"] < 0]["step"].tolist(), "worsening": drifting[drifting["slope_s"] > 0]["step"].tolist(),
        "signals": {str(k): int(v) for k, v in found["kind"].value_counts().sort_index().items()},
        "season_slope_s": None if np.isnan(season.slope) else round(season.slope, 3),
        "missed": counts["missed"].tolist(), "late": counts["late"].tolist(),
        "plan_changes": len(made["plan_changes"]),
    }
