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
    """The exponentially weighted moving average along the last axis from a starting level; a gap leaves it where it was."""
    out, level = np.empty(values.shape), np.full(values.shape[:-1], float(start))
    for i in range(values.shape[-1]):
        value = values[..., i]
        level = np.where(np.isnan(value), level, weight * value + (1 - weight) * level)
        out[..., i] = level
    return out


def ewma_half_width(sigma: float, weight: float = LAMBDA, count: int | None = None, sigmas: float = SIGMAS) -> float:
    """So many sigmas of the average after `count` values; None: in the long run."""
    grown = 1.0 if count is None else 1 - (1 - weight) ** (2 * count)
    return float(sigmas * sigma * np.sqrt(weight / (2 - weight) * grown))


def cusum(values: np.ndarray, target: float, allowance: float) -> tuple[np.ndarray, np.ndarray]:
    """Tabular CUSUM along the last axis, upper and lower sums (both positive); a gap leaves them where they were."""
    high, low = np.empty(values.shape), np.empty(values.shape)
    up, down = np.zeros(values.shape[:-1]), np.zeros(values.shape[:-1])
    for i in range(values.shape[-1]):
        value = values[..., i]
        gap = np.isnan(value)
        up = np.where(gap, up, np.maximum(0.0, up + value - target - allowance))
        down = np.where(gap, down, np.maximum(0.0, down + target - allowance - value))
        high[..., i], low[..., i] = up, down
    return high, low


def cusum_limit(run_length: float, allowance: float) -> float:
    """The limit of a one-sided CUSUM of standard normal values that is passed once in `run_length` values on average.

    By Siegmund's approximation (Sequential Analysis, 1985, as in Montgomery, Introduction to Statistical Quality Control):
    run length = (exp(2 k b) - 2 k b - 1) / (2 k^2), b = limit + 1.166.
    """
    from scipy.optimize import brentq

    def excess(b: float) -> float:
        return float(np.log((np.exp(2 * allowance * b) - 2 * allowance * b - 1) / (2 * allowance**2)) - np.log(run_length))

    return max(0.0, float(brentq(excess, 1e-3, 100.0)) - 1.166)
