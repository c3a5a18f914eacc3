"""How widely do measurements scatter, when some of them are wrong?

Conventions: one standard deviation of the good ones, for a bulk that is normal. It does not decide which are wrong.
"""

from __future__ import annotations

import numpy as np

from aftercount.timeline.model import Floats

LEVELS, LEVEL_SIGMAS = np.array([0.683, 0.95]), np.array([1.0, 1.96])  # how many errors are within so many sigmas of a normal law
TRIED = 33
NORMAL = 1.4826  # standard deviations in one median absolute deviation of a normal law
# by number of values, what the median absolute deviation of a few falls short by: Croux and Rousseeuw, Time-efficient algorithms for two
# highly robust estimators of scale, 1992 (values from memory; a test draws them again)
WIDEST = 2.0  # with hardly any freedom left no scatter is known: the stated sigma rules, and this is as far as it goes
_SHORT = {2: 1.196, 3: 1.495, 4: 1.363, 5: 1.206, 6: 1.200, 7: 1.140, 8: 1.129, 9: 1.107}


def scale(values: Floats, middle: float | None = None) -> float:
    """The robust standard deviation of values, about their median or about `middle`; NaN of none."""
    n = len(values)
    if not n:
        return np.nan
    mad = float(np.median(np.abs(values - (np.median(values) if middle is None else middle))))
    return NORMAL * mad * (_SHORT.get(n, n / (n - 0.8)) if n > 1 else 1.0)


def few(n: int, fitted: int) -> float:
    """What to widen a standard error by when its scatter was itself estimated from n values less `fitted`: the spread of Student's law."""
    free = n - fitted
    return float((free / (free - 2)) ** 0.5) if free > 2 else WIDEST


def as_share(found: float, n: int) -> float:
    """The scatter found in n values as a share of the stated sigma: n that agree to the last digit show no less than one n-th of it."""
    return float(np.hypot(found, 1 / n))


def honest(off: Floats, weight: Floats) -> float:
    """The sigma to state for an error whose size is one of `off`, each so likely: the one that claims of too few to lie within it, or of too many, as
    it claims of too many, or too few, to lie within 1.96 of it. Of a normal law it is the standard deviation."""
    order = np.argsort(off, axis=None)
    size = off.ravel()[order]
    share = np.cumsum(weight.ravel()[order])
    share /= share[-1]
    within = np.interp(LEVELS, share, size) / LEVEL_SIGMAS
    tried = np.linspace(within.min(), within.max(), TRIED)
    told = np.interp(tried[:, None] * LEVEL_SIGMAS, size, share) - LEVELS
    return float(np.interp(0.0, told.sum(axis=1), tried))
