"""Which changes over the season deserve a look?

    beyond_limit  one value further from the step's level than its spread explains
    shift         two rehearsals in a row whose mean is
    ewma, cusum   many small differences to the same side that add up: the charts of the scores pass their limits
    change        the step's level is another since some rehearsal (false ones held to 5 % over the steps)
    drift         a steady trend (Mann-Kendall, false ones held to 5 % over the steps)
    missed        a required step missed that was never missed before

Conventions: each count is judged by the counts before it only, as on the day; `count` is where the signal is seen, for a
change where the new level begins. A chart that stays beyond its limit is told once, when it passes it. Chances are shared
out over the steps, so that a steady season of any size raises few: see the constants. The usual three sigma of a chart
of individuals are in the tables and on the page, but raise no signal: over many steps they would raise one a count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.changes import Changes
from aftercount.campaign.control import cusum_limit, ewma_half_width
from aftercount.campaign.expect import Expectation
from aftercount.campaign.later import one_of_two
from aftercount.campaign.scores import ALLOWANCE, LEAST_BEFORE, Scores
from aftercount.campaign.season import Season
from aftercount.campaign.stats import FALSE_DISCOVERY
from aftercount.campaign.tables import SIGNALS
from aftercount.campaign.verdict import duration

# Chance that a count of a steady season raises any signal of one kind, in either direction.
COUNT_ALPHA = 0.02
# Counts in which a step was reached and never missed before a first miss is told.
LEAST_CLEAN = 4


def find_signals(season: Season, steps: pd.DataFrame, deviations: np.ndarray, found: Scores, changed: Changes) -> pd.DataFrame:
    """The SIGNALS table: by count, then in plan order."""
    beyond: list[_Beyond] = []
    for before, expected in found.expectations.items():
        tested = max(1, int((~np.isnan(deviations[:, before] - expected.level)).sum()))
        limit = _limit(tested)
        for i in np.flatnonzero(np.abs(found.alone[:, before]) > limit):
            beyond.append(_Beyond(expected, "beyond_limit", before, int(i), float(deviations[i, before]), tested))
        if before + 1 < deviations.shape[1]:
            each = _deviate(one_of_two(expected, COUNT_ALPHA / 2))
            for i in np.flatnonzero((np.abs(found.pair[:, before + 1]) > limit) & (np.abs(found.lesser[:, before + 1]) > each)):
                beyond.append(_Beyond(expected, "shift", before + 1, int(i), float(deviations[i, before : before + 2].mean()), tested))
    rows = [*_told(season, beyond), *_charted(season, found), *_missed(season), *_drifts(season, steps), *_changes(season, steps, changed)]
    order = {step: i for i, step in enumerate(season.plan["step"])}
    rows.sort(key=lambda r: (r["rehearsal"], order[r["step"]], r["kind"]))
    return SIGNALS.from_rows(rows)


def _deviate(chance: float) -> float:
    from scipy.special import ndtri

    return float(-ndtri(chance))


def _limit(tested: int) -> float:
    """The score that any of so many steps passes, in either direction, with chance COUNT_ALPHA."""
    return _deviate(COUNT_ALPHA / 2 / tested)


@dataclass(frozen=True)
class _Beyond:
    """One value, or the mean of two, that its step's expectation does not explain."""

    expected: Expectation
    kind: str
    number: int
    step: int
    value_s: float
    tested: int


def _told(season: Season, beyond: Sequence[_Beyond]) -> list[dict[str, Any]]:
    """Their rows; the limits of all that share an expectation are found at once, as each is a search."""
    alike: dict[tuple[int, str], list[_Beyond]] = defaultdict(list)
    for one in beyond:
        alike[id(one.expected), one.kind].append(one)
    steps, counts = season.plan["step"].tolist(), season.counts["count"].tolist()
    rows = []
    for (_, kind), group in alike.items():
        alphas = np.array([COUNT_ALPHA / 2 / one.tested for one in group])
        halves = group[0].expected.of(np.array([one.step for one in group])).half_width(alphas, 2 if kind == "shift" else 1)
        rows += [_row((steps[one.step], counts[one.number]), one, float(half)) for one, half in zip(group, halves, strict=True)]
    return rows


def _row(names: tuple[str, str], one: _Beyond, half: float) -> dict[str, Any]:
    level, value = float(one.expected.level[one.step]), one.value_s
    side = "later" if value > level else "earlier"
    what = "on average of the last two counts" if one.kind == "shift" else "in this count"
    step, count = names
    text = f"step {step}: {duration(abs(value - level))} {side} than its level {what}; up to {duration(half)} is usual"
    return {"step": step, "count": count, "kind": one.kind, "value_s": value,
            "limit_s": level + half if value > level else level - half, "text": text, "rehearsal": one.number + 1}


def _charted(season: Season, found: Scores) -> list[dict[str, Any]]:
    """Where the EWMA or the CUSUM of a step's scores passes its limit."""
    steps, counts = found.alone.shape
    high = cusum_limit(2 * steps / COUNT_ALPHA, ALLOWANCE)
    sums = {"later": found.cusum_high > high, "earlier": found.cusum_low > high}
    wide = np.array([ewma_half_width(1.0, count=max(1, i - LEAST_BEFORE + 1), sigmas=_limit(steps)) for i in range(counts)])
    averages = {"later": found.ewma > wide, "earlier": found.ewma < -wide}
    plan, names = season.plan["step"].tolist(), season.counts["count"].tolist()
    rows = []
    for kind, charts, words in (("ewma", averages, "the moving average of its scores"), ("cusum", sums, "the sum of its scores")):
        for side, passed in charts.items():
            new = passed & ~np.pad(passed, ((0, 0), (1, 0)))[:, :-1]
            for i, number in zip(*np.nonzero(new), strict=True):
                step = plan[i]
                text = f"step {step}: small differences add up to {side} than before ({words} passed its limit)"
                rows.append({"step": step, "count": names[number], "kind": kind, "text": text, "rehearsal": int(number) + 1})
    return rows


def told_changes(steps: pd.DataFrame) -> np.ndarray:
    """Which steps' changes of level are told."""
    return np.asarray((steps["change_q"] < FALSE_DISCOVERY) & (steps["course"] == "step"))


def _changes(season: Season, steps: pd.DataFrame, changed: Changes) -> list[dict[str, Any]]:
    """Changes of level that chance does not explain, where a step tells the course better than a line or a curve."""
    rows = []
    for i in np.flatnonzero(told_changes(steps)):
        number, size = int(changed.first[i]), float(changed.after[i] - changed.before[i])
        step, count = season.plan["step"].iloc[i], season.counts["count"].iloc[number]
        text = f"step {step}: {duration(abs(size))} {'later' if size > 0 else 'earlier'} since {count}"
        rows.append({"step": step, "count": count, "kind": "change", "value_s": float(changed.after[i]), "limit_s": float(changed.before[i]),
                     "text": text, "rehearsal": number + 1})
    return rows


def _missed(season: Season) -> list[dict[str, Any]]:
    """First misses of required steps that had been reached often enough to call it unusual."""
    rows = []
    reached = season.history[(season.history["status"] != "not_reached") & season.history["must"].astype(bool)]
    for step, group in reached.sort_values("rehearsal").groupby("step", sort=False):
        missed = np.flatnonzero((group["status"] == "missed").to_numpy())
        if len(missed) and missed[0] >= LEAST_CLEAN:
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
