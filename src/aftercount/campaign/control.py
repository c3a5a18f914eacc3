"""Control charts for one value a rehearsal: individuals and moving range, EWMA, CUSUM.

Conventions: values in order of time, NaN where there is a gap; no moving range is taken across a gap. The constants for
ranges of two are exact (d2 = 2/sqrt(pi)), not the rounded 1.128 and 2.66 of printed tables.
It does not choose what a signal is worth: `signals` does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

D2 = 2 / np.sqrt(np.pi)
D3 = np.sqrt(2 - D2**2)
D4 = 1 + 3 * D3 / D2
# Limits at three sigma, and the usual memory of an EWMA chart.
SIGMAS = 3.0
LAMBDA = 0.3


@dataclass(frozen=True)
class Limits:
    """Centre and limits of an individuals chart, and of its moving ranges."""

    centre: float
    low: float
    high: float
    mean_range: float
    range_high: float


def moving_ranges(values: np.ndarray) -> np.ndarray:
    """|difference| of neighbours; NaN where either is a gap."""
    return np.abs(np.diff(values))


def individuals(values: np.ndarray) -> Limits:
    """The individuals and moving range chart; NaN limits when no two neighbours were seen."""
    ranges = moving_ranges(values)
    known = ranges[~np.isnan(ranges)]
    seen = values[~np.isnan(values)]
    centre = float(seen.mean()) if len(seen) else float("nan")
    if not len(known):
        return Limits(centre, float("nan"), float("nan"), float("nan"), float("nan"))
    mean_range = float(known.mean())
    half = SIGMAS / D2 * mean_range
    return Limits(centre, centre - half, centre + half, mean_range, float(D4 * mean_range))


def ewma(values: np.ndarray, start: float, weight: float = LAMBDA) -> np.ndarray:
    """The exponentially weighted moving average from a starting level; a gap leaves it where it was."""
    out, level = np.empty(len(values)), start
    for i, value in enumerate(values):
        level = level if np.isnan(value) else weight * value + (1 - weight) * level
        out[i] = level
    return out


def ewma_half_width(sigma: float, weight: float = LAMBDA, count: int | None = None) -> float:
    """Three sigma of the average after `count` values; None: in the long run."""
    grown = 1.0 if count is None else 1 - (1 - weight) ** (2 * count)
    return float(SIGMAS * sigma * np.sqrt(weight / (2 - weight) * grown))


def cusum(values: np.ndarray, target: float, allowance: float) -> tuple[np.ndarray, np.ndarray]:
    """Tabular CUSUM, upper and lower sums (both positive); a gap leaves them where they were."""
    high, low = np.empty(len(values)), np.empty(len(values))
    up = down = 0.0
    for i, value in enumerate(values):
        if not np.isnan(value):
            up = max(0.0, up + value - target - allowance)
            down = max(0.0, down + target - allowance - value)
        high[i], low[i] = up, down
    return high, low
