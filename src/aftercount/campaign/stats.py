"""Shares, slopes and tests over a handful of rehearsals.

Conventions: x is the number of the rehearsal, gaps left out, never filled; y is in the unit of what is measured; slopes
are y per rehearsal; intervals are 95 % and two-sided; p-values two-sided. Fewer values than a figure needs give NaN.
SciPy does the arithmetic; what it lacks, the exact Mann-Kendall distribution with ties, is counted here.
It does not decide what is worth telling: `signals` does.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

CONFIDENCE = 0.95
# Share of false ones among the trends that are told.
FALSE_DISCOVERY = 0.05
# A slope through fewer points has no interval worth the name.
LEAST_FOR_SLOPE = 4
# Up to here the distribution of Kendall's S is counted exactly; beyond, the normal approximation is good to 1e-4.
EXACT_MOST = 40
# Pairs grow with the square: beyond this many values the slope is taken over evenly spread ones.
SLOPE_MOST = 300


@dataclass(frozen=True)
class Slope:
    """A slope with its 95 % interval, and the y at x = 0."""

    slope: float
    low: float
    high: float
    intercept: float


NO_SLOPE = Slope(np.nan, np.nan, np.nan, np.nan)


@lru_cache(maxsize=4096)
def wilson(hits: int, n: int) -> tuple[float, float]:
    """Wilson's 95 % interval for a share; (0, 1) when nothing was seen."""
    from scipy.stats import binomtest

    if n == 0:
        return 0.0, 1.0
    # Only the interval is wanted: asked at its own share, the test itself costs next to nothing.
    interval = binomtest(hits, n, hits / n).proportion_ci(CONFIDENCE, method="wilson")
    return float(interval.low), float(interval.high)


def robust_slope(x: np.ndarray, y: np.ndarray) -> Slope:
    """Theil-Sen: the median of the slopes of all pairs, with Sen's interval."""
    from scipy.stats import theilslopes

    if len(y) < LEAST_FOR_SLOPE:
        return NO_SLOPE
    if len(y) > SLOPE_MOST:
        kept = np.unique(np.linspace(0, len(y) - 1, SLOPE_MOST).round().astype(int))
        x, y = x[kept], y[kept]
    found = theilslopes(y, x, CONFIDENCE)
    return Slope(float(found.slope), float(found.low_slope), float(found.high_slope), float(found.intercept))


def line(x: np.ndarray, y: np.ndarray) -> Slope:
    """Ordinary least squares, with the interval of Student's t."""
    from scipy.stats import linregress, t

    if len(y) < LEAST_FOR_SLOPE or np.ptp(x) == 0:
        return NO_SLOPE
    found = linregress(x, y)
    half = float(t.ppf((1 + CONFIDENCE) / 2, len(y) - 2)) * float(found.stderr)
    return Slope(float(found.slope), float(found.slope) - half, float(found.slope) + half, float(found.intercept))


def kendall_s(y: np.ndarray) -> int:
    """Pairs that rise less pairs that fall, in order of time."""
    return int(kendall_of_rows(y[None, :])[0])


def kendall_of_rows(values: np.ndarray) -> np.ndarray:
    """The same of every row at once; NaN is a gap."""
    found = np.zeros(len(values), dtype=np.int64)
    for lag in range(1, values.shape[1]):
        later, earlier = values[:, lag:], values[:, :-lag]
        found += (later > earlier).sum(axis=1) - (later < earlier).sum(axis=1)
    return found


def mann_kendall(y: np.ndarray, s: int | None = None) -> float:
    """The two-sided p-value of no trend, ties allowed: exact for small n. s: Kendall's S, where it is known already."""
    if len(y) < LEAST_FOR_SLOPE:
        return float("nan")
    s = kendall_s(y) if s is None else s
    ties = tuple(sorted(Counter(y.tolist()).values()))
    return _exact_p(abs(s), ties) if len(y) <= EXACT_MOST else normal_p(s, ties)


def normal_z(s: int, ties: tuple[int, ...]) -> float:
    """The normal score of S with the continuity correction; `ties` are the sizes of the groups of equal values."""
    n = sum(ties)
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    return 0.0 if s == 0 or variance == 0 else (s - np.sign(s)) / float(np.sqrt(variance))


def normal_p(s: int, ties: tuple[int, ...]) -> float:
    from scipy.stats import norm

    return float(2 * norm.sf(abs(normal_z(s, ties))))


def _exact_p(s: int, ties: tuple[int, ...]) -> float:
    """P(|S| >= s) over all orders of the values: S = pairs that differ - 2 x inversions."""
    counts = _inversions(ties)
    scores = len(counts) - 1 - 2 * np.arange(len(counts))
    return min(1.0, float(counts[np.abs(scores) >= s].sum() / counts.sum()))


@lru_cache(maxsize=512)
def _inversions(ties: tuple[int, ...]) -> np.ndarray:
    """How many orders of a multiset have k inversions, k = 0, 1, ...: the coefficients of a q-multinomial.

    Relative counts in doubles: sums of positive terms, so the relative error stays near machine precision.
    """
    out = np.ones(1)
    placed = 0
    for size in ties:
        for i in range(1, size + 1):
            placed += 1
            out = _divide(_multiply(out, placed), i)
    return out


def _multiply(poly: np.ndarray, n: int) -> np.ndarray:
    """poly x (1 + q + ... + q^(n-1))."""
    return np.convolve(poly, np.ones(n))


def _divide(poly: np.ndarray, n: int) -> np.ndarray:
    """poly / (1 + q + ... + q^(n-1)), which goes exactly."""
    if n == 1:
        return poly
    out = np.zeros(len(poly) - n + 1)
    window = 0.0
    for k in range(len(out)):
        out[k] = poly[k] - window
        window += out[k] - (out[k - n + 1] if k >= n - 1 else 0.0)
    return out


def adjust(p: np.ndarray) -> np.ndarray:
    """Benjamini-Hochberg q-values; NaN stays NaN and does not count as a test."""
    from scipy.stats import false_discovery_control

    out = np.full(len(p), np.nan)
    known = ~np.isnan(p)
    if known.any():
        out[known] = false_discovery_control(p[known])
    return out


def spread(y: np.ndarray) -> float:
    """The sample standard deviation; NaN below two values."""
    return float(np.std(y, ddof=1)) if len(y) > 1 else float("nan")
