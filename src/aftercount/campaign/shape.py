"""Is the course of a figure a line, a learning curve or a step?

Conventions as in `stats`. A learning curve is y = a + b x^-c, x counted from the first rehearsal (1): steep, then level.
It is preferred to a line, and a line to a constant, only when the corrected Akaike criterion says so by a clear margin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Below this many rehearsals three parameters cannot be told from two.
LEAST_FOR_SHAPE = 7
# A difference in AICc under 2 is no evidence (Burnham and Anderson, Model Selection, 2002, section 2.6).
CLEAR_MARGIN = 2.0
# Exponents tried: 0.1 is nearly a straight decline over a dozen rehearsals, with 2 all is learnt after the second.
_EXPONENTS = np.linspace(0.1, 2.0, 39)
# Pettitt's approximate p-value below which the course is told to have a step.
CHANGE_P = 0.05


@dataclass(frozen=True)
class Change:
    """A step in level: `after` is the index of the last value before it."""

    after: int
    before_level: float
    after_level: float
    p: float


def course(x: np.ndarray, y: np.ndarray) -> str:
    """'learning', 'line' or 'level'; '' when there are too few values to say."""
    if len(y) < LEAST_FOR_SHAPE:
        return ""
    order = x - x.min() + 1.0
    level = _aicc(float(((y - y.mean()) ** 2).sum()), len(y), 2)
    straight = _aicc(_residual(order, y), len(y), 3)
    curves = [(_residual(order**-c, y), c) for c in _EXPONENTS]
    curve = _aicc(min(curves)[0], len(y), 4)
    best = "level"
    if straight < level - CLEAR_MARGIN:
        best = "line"
    if curve < min(straight, level) - CLEAR_MARGIN:
        best = "learning"
    return best


def change_point(y: np.ndarray) -> Change | None:
    """The likeliest step in level by Pettitt's rank test; None when it is not clear."""
    from scipy.stats import rankdata

    n = len(y)
    if n < LEAST_FOR_SHAPE:
        return None
    ranks = rankdata(y)
    u = 2 * np.cumsum(ranks)[:-1] - np.arange(1, n) * (n + 1)
    at = int(np.argmax(np.abs(u)))
    p = float(min(1.0, 2 * np.exp(-6 * float(u[at]) ** 2 / (n**3 + n**2))))
    if p >= CHANGE_P:
        return None
    return Change(at, float(np.median(y[: at + 1])), float(np.median(y[at + 1 :])), p)


def _residual(regressor: np.ndarray, y: np.ndarray) -> float:
    """Residual sum of squares of y = a + b regressor."""
    centred = regressor - regressor.mean()
    size = float((centred**2).sum())
    slope = float((centred * y).sum()) / size if size else 0.0
    return float(((y - y.mean() - slope * centred) ** 2).sum())


def _aicc(residual: float, n: int, parameters: int) -> float:
    """Akaike's criterion with the small-sample correction; `parameters` counts the variance."""
    k = parameters
    floor = np.finfo(float).tiny
    return float(n * np.log(max(residual, floor) / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1))
