"""Has a count more of a kind, or a larger figure, than the counts before it by more than chance explains?"""

from __future__ import annotations

import numpy as np

# Counts a clean record needs before a first one breaks it: fewer prove nothing.
CLEAN_COUNTS = 6
# Values from which the next can be foretold.
LEAST_VALUES = 4


def more_than_before(new: int, before: int, counts: int, alpha: float) -> bool:
    """Whether a count has more of a kind than the counts before: each of all is as likely in any count.

    A first one after CLEAN_COUNTS counts without any is more.
    """
    from scipy.stats import binomtest

    if before == 0 and counts >= CLEAN_COUNTS:
        return True
    return float(binomtest(new, new + before, 1 / (counts + 1), alternative="greater").pvalue) < alpha


def prediction(values: np.ndarray, alpha: float) -> float:
    """What the next value passes with chance `alpha`, by Student's t, never below the largest seen; infinite where too few are known."""
    from scipy.stats import t

    known = values[~np.isnan(values)]
    if len(known) < LEAST_VALUES:
        return float("inf")
    half = float(t.isf(alpha, len(known) - 1)) * float(np.std(known, ddof=1)) * float(np.sqrt(1 + 1 / len(known)))
    return max(float(known.mean()) + half, float(known.max()))


def mean(values: np.ndarray) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if len(known) else float("nan")
