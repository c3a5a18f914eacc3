"""How unusual was each value of a season, judged as on the day by the counts before it?

A value's score is the standard normal deviate of its chance under the expectation from the counts before: about
independent from count to count and alike for all steps, so that EWMA and CUSUM charts can start themselves, without a
baseline of their own; a single stray is cut for them. The pair's score is that of the mean of the last two values under
the expectation before both; `lesser` is the score of the nearer of the two, zero when they lie on either side.

Conventions: steps by rehearsals; positive is later; NaN where there was too little before, or a gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.campaign.control import cusum, ewma
from aftercount.campaign.expect import Expectation, expect

# Rehearsals before the first that is scored.
LEAST_BEFORE = 4
# An expectation serves until the counts before have grown by a twentieth: each count in any season people hold, every
# fiftieth in one of a thousand, where the level of the last hundreds is the same and each estimate costs milliseconds.
SERVES = 20
# The allowance of the CUSUM in sigmas: half the shift of one sigma that it is quickest to find.
ALLOWANCE = 0.5
# What one value may count for in EWMA and CUSUM, sigmas: one stray alone must not carry them over their limits.
MOST = 3.5
# Chances are cut here, both ways: no value proves more than eight sigmas.
_LEAST_CHANCE = 6e-16


@dataclass(frozen=True)
class Scores:
    """expectations: by the number of counts before, from LEAST_BEFORE on."""

    expectations: dict[int, Expectation]
    alone: np.ndarray
    pair: np.ndarray
    lesser: np.ndarray
    ewma: np.ndarray
    cusum_high: np.ndarray
    cusum_low: np.ndarray


def scores(deviations: np.ndarray, measured: np.ndarray) -> Scores:
    """The scores of every count from the LEAST_BEFORE-th on."""
    shape, counts = deviations.shape, deviations.shape[1]
    alone, pair, lesser = np.full(shape, np.nan), np.full(shape, np.nan), np.full(shape, np.nan)
    expectations: dict[int, Expectation] = {}
    until = 0
    for before in range(LEAST_BEFORE, counts):
        if before >= until:
            found, until = expect(deviations[:, :before], measured), before + max(1, before // SERVES)
        expectations[before] = found
        alone[:, before] = deviate(found.chance(deviations[:, before]))
        if before + 1 < counts:
            second = deviate(found.chance(deviations[:, before + 1]))
            pair[:, before + 1] = deviate(found.chance(deviations[:, before : before + 2].mean(axis=1), averaged=2))
            lesser[:, before + 1] = _lesser(alone[:, before], second)
    cut = np.clip(alone, -MOST, MOST)
    high, low = cusum(cut, 0.0, ALLOWANCE)
    return Scores(expectations, alone, pair, lesser, ewma(cut, 0.0), high, low)


def _lesser(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.where(a * b > 0, np.sign(a) * np.minimum(np.abs(a), np.abs(b)), 0.0)


def deviate(chance: np.ndarray) -> np.ndarray:
    """The standard normal value that is passed with this chance."""
    from scipy.special import ndtri

    return np.asarray(-ndtri(np.clip(chance, _LEAST_CHANCE, 1 - _LEAST_CHANCE)))
