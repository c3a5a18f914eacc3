"""Is the course of a figure a line, a learning curve or a step?

Conventions as in `stats`. A learning curve is y = a + b x^-c, x counted from the first rehearsal (1): steep, then level;
a step is one change from one level to another. A course with more parameters is preferred only when the corrected Akaike
criterion says so by a clear margin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.campaign.changes import LEAST_EACH

# Below this many rehearsals three parameters cannot be told from two.
LEAST_FOR_SHAPE = 7
# A difference in AICc under 2 is no evidence (Burnham and Anderson, Model Selection, 2002, section 2.6).
CLEAR_MARGIN = 2.0
# Exponents tried: 0.1 is nearly a straight decline over a dozen rehearsals, with 2 all is learnt after the second.
_EXPONENTS = np.linspace(0.1, 2.0, 39)


@dataclass(frozen=True)
class Curve:
    """y = level + gain x^-exponent."""

    level: float
    gain: float
    exponent: float


def course(x: np.ndarray, y: np.ndarray) -> str:
    """'learning', 'line', 'step' or 'level'; '' when there are too few values to say."""
    n = len(y)
    if n < LEAST_FOR_SHAPE:
        return ""
    order = _order(x)
    found = {
        "level": _aicc(float(((y - y.mean()) ** 2).sum()), n, 2), "line": _aicc(_residual(order, y), n, 3),
        "learning": _aicc(min(_residual(order**-c, y) for c in _EXPONENTS), n, 4), "step": _aicc(_stepped(y), n, 4),
    }
    best = "level"
    for name in ("line", "step", "learning"):
        # A course with as many parameters as the best so far has only to be better; one with more, clearly so.
        margin = 0.0 if (best, name) == ("step", "learning") else CLEAR_MARGIN
        if found[name] < found[best] - margin:
            best = name
    return best


def learning_curve(x: np.ndarray, y: np.ndarray) -> Curve:
    """The learning curve of least squares."""
    order = _order(x)
    _, exponent = min((_residual(order**-c, y), c) for c in _EXPONENTS)
    regressor = order**-exponent
    centred = regressor - regressor.mean()
    gain = float((centred * y).sum() / (centred**2).sum())
    return Curve(float(y.mean() - gain * regressor.mean()), gain, float(exponent))


def _order(x: np.ndarray) -> np.ndarray:
    return np.asarray(x - x.min() + 1.0)


def _stepped(y: np.ndarray) -> float:
    """Residual sum of squares of the best step in level, at least two values on either side."""
    n = np.arange(1, len(y))
    sums = np.cumsum(y - y.mean())[:-1]
    gained = sums**2 * len(y) / (n * (len(y) - n))
    return float(((y - y.mean()) ** 2).sum() - gained[LEAST_EACH - 1 : len(y) - LEAST_EACH].max())


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
