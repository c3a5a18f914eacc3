"""At which rehearsal did a step's level change, if it did at any?

Every split of a step's record in two is tried; the difference of the two means is held against the spread within the
parts, told from the step's own values and from those of all steps (`spreads`). The likeliest split's chance is
multiplied by the number of splits tried. It does not decide which changes are told: `signals` holds the share of false
ones down over the steps.
Conventions: values are steps by rehearsals, NaN where there is a gap; places are indices of columns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.campaign.spreads import SIGMAS, own_spread

# Values on either side of a change: one alone is a stray, not a level.
LEAST_EACH = 2


@dataclass(frozen=True)
class Changes:
    """One entry a step: the first column of the new level (-1: none can be told), the levels, and the chance of as clear a one."""

    first: np.ndarray
    before: np.ndarray
    after: np.ndarray
    p: np.ndarray


def changes(values: np.ndarray, common: np.ndarray) -> Changes:
    """The likeliest change of level in each step; `common` is the plan's distribution of spreads."""
    steps, columns = values.shape
    known = ~np.isnan(values)
    filled = np.where(known, values, 0.0)
    total, n = filled.sum(axis=1), known.sum(axis=1)
    middle = total / np.maximum(n, 1)
    whole = np.where(known, (values - middle[:, None]) ** 2, 0.0).sum(axis=1)
    best = Changes(np.full(steps, -1), np.full(steps, np.nan), np.full(steps, np.nan), np.full(steps, np.inf))
    tried = np.zeros(steps)
    known_to, sum_to = known.cumsum(axis=1), filled.cumsum(axis=1)
    for first in range(LEAST_EACH, columns - LEAST_EACH + 1):
        a, sum_a = known_to[:, first - 1], sum_to[:, first - 1]
        b = n - a
        usable = (a >= LEAST_EACH) & (b >= LEAST_EACH) & known[:, first]
        before, after = sum_a / np.maximum(a, 1), (total - sum_a) / np.maximum(b, 1)
        size = 1 / np.maximum(a, 1) + 1 / np.maximum(b, 1)
        within = np.maximum(whole - (after - before) ** 2 / size, 0.0)
        p = np.where(usable, _chance((after - before) / np.sqrt(size), within, np.maximum(n - 2, 0), common), np.inf)
        tried += usable
        better = p < best.p
        best = Changes(np.where(better, first, best.first), np.where(better, before, best.before), np.where(better, after, best.after),
                       np.where(better, p, best.p))
    return Changes(best.first, best.before, best.after, np.where(tried > 0, np.minimum(1.0, best.p * np.maximum(tried, 1)), np.nan))


def _chance(off: np.ndarray, within: np.ndarray, df: np.ndarray, common: np.ndarray) -> np.ndarray:
    """The two-sided chance of a difference as large, over what each step's sigma may be."""
    from scipy.special import ndtr

    weights = own_spread(within, df, common)
    return np.asarray(2 * (weights * ndtr(-np.abs(off)[:, None] / SIGMAS)).sum(axis=1))
