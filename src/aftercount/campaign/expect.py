"""What is to be expected of a step in the next count, from how it went in the counts before?

A value is expected at the step's level (`levels`), with a spread that its own record and those of all steps tell
(`spreads`). A single value far from all its neighbours is set aside first: one bad day must not hide the next, and how often
such days come is counted, for people's lateness has a longer tail than any normal law.

Conventions: values are a matrix of steps by rehearsals in order of time, NaN where a step was not seen.
It does not decide which alarms to raise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.campaign.levels import COURSES, Levels, levels
from aftercount.campaign.spreads import LOG_SIGMAS, SIGMAS, common_spread, own_spread

# Earlier rehearsals say little of the team as it is.
WINDOW = 30
# Below this many values a step's own spread says next to nothing, and figures are said to be of few.
LEAST = 4
# No two clocks agree better than this, seconds: keeps a record of identical values from forbidding any other.
LEAST_SIGMA_S = 0.5
# A value further than this many spreads from each of its neighbours is set aside.
SET_ASIDE = 5.0
# Neighbours on either side that a value is held against.
_REACH = 2
# Halvings of the bracket in which a limit is sought: to a millisecond in half an hour.
_HALVINGS = 32


@dataclass(frozen=True)
class Expectation:
    """One entry a step: level, sigma of one value (middle of its distribution), how many values are behind it.

    common: the weights of SIGMAS in the plan; weights: each step's; floor: its least sigma; aside: values set aside, by
    step and count.
    """

    level: np.ndarray
    sigma: np.ndarray
    behind: np.ndarray
    course: np.ndarray
    common: np.ndarray
    weights: np.ndarray
    floor: np.ndarray
    level_variance: np.ndarray
    aside: np.ndarray

    @property
    def strays(self) -> np.ndarray:
        """How many steps of each count were set aside, the first counts left out: there a team that learns looks so too."""
        return np.asarray(self.aside[:, _REACH:].sum(axis=0))

    def chance(self, values: np.ndarray, averaged: int = 1) -> np.ndarray:
        """The chance that the mean of the next `averaged` values (1 or 2) is above `values`; NaN where unknown."""
        return self._above(values - self.level, averaged)

    def half_width(self, alpha: float | np.ndarray, averaged: int = 1) -> np.ndarray:
        """How far above its level the mean of the next `averaged` values goes with chance `alpha`, one for all or one a step."""
        low, high = np.zeros(len(self.level)), np.full(len(self.level), 60 * SIGMAS[-1])
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            above = self._above(middle, averaged) > alpha
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return np.where(np.isnan(self.level), np.nan, high)

    def of(self, rows: np.ndarray) -> Expectation:
        """The expectation of these steps alone."""
        return Expectation(self.level[rows], self.sigma[rows], self.behind[rows], self.course[rows], self.common, self.weights[rows],
                           self.floor[rows], self.level_variance[:, rows], self.aside[rows])

    def _above(self, off: np.ndarray, averaged: int) -> np.ndarray:
        from scipy.special import ndtr

        scale = np.sqrt(1 / averaged + self.level_variance[averaged - 1])
        sigmas = np.fmax(SIGMAS, self.floor[:, None])
        return np.asarray((self.weights * ndtr(-(off / scale)[:, None] / sigmas)).sum(axis=1))


def expect(values: np.ndarray, measured: np.ndarray | None = None, now: np.ndarray | None = None) -> Expectation:
    """The expectation after the last column.

    measured: each step's own uncertainty of measurement, seconds. now: the values to be judged; a record of one count
    has no spread of its own, which is then taken from how the two counts differ over all the steps.
    """
    recent = values[:, -WINDOW:]
    aside = spikes(recent)
    found = levels(np.where(aside, np.nan, recent), first=max(0, values.shape[1] - WINDOW) + 1)
    common = common_spread(found.squares, found.df)
    weights = own_spread(found.squares, found.df, common)
    if now is not None and not found.df.any():
        weights = _from_others(now - found.level)
    floor = np.full(len(values), LEAST_SIGMA_S) if measured is None else np.fmax(measured, LEAST_SIGMA_S)
    sigma = np.fmax(np.exp(weights @ LOG_SIGMAS), floor)
    return Expectation(np.where(found.count > 0, found.level, np.nan), sigma, found.count, _course(found), common, weights, floor,
                       np.array([found.variance_1, found.variance_2]), aside)


def _from_others(off: np.ndarray) -> np.ndarray:
    """Steps by SIGMAS from how two counts differ, each step's from the others': what is judged is no witness.

    Only the step that differs most can sway the rest, so it alone is judged without itself.
    """
    df = np.where(np.isnan(off), 0, 1)
    squares = np.where(np.isnan(off), 0.0, off**2 / 2)
    weights = np.tile(common_spread(squares, df), (len(off), 1))
    most = int(np.argmax(squares))
    rest = np.arange(len(off)) != most
    weights[most] = common_spread(squares[rest], df[rest])
    return weights


def spikes(values: np.ndarray) -> np.ndarray:
    """Where a value stands alone: far from every one of its neighbours in time. Two alike are no strays but a level."""
    columns = values.shape[1]
    if columns <= 2 * _REACH:
        return np.zeros(values.shape, dtype=bool)
    near = values[:, np.array([_neighbours(i, columns) for i in range(columns)])]
    own = _medians(np.abs(values - _medians(near.reshape(-1, 2 * _REACH)).reshape(values.shape)))
    usual = np.fmax(own, np.nanmedian(own) if (~np.isnan(own)).any() else 0.0) / _MEDIAN_OF_NORMAL
    nearest = np.sort(np.abs(near - values[:, :, None]), axis=2)[:, :, 0]
    with np.errstate(invalid="ignore"):
        return np.asarray(nearest > SET_ASIDE * np.fmax(usual, LEAST_SIGMA_S)[:, None])


def _neighbours(i: int, columns: int) -> list[int]:
    """The places beside i, as many on either side as there are."""
    start = min(max(0, i - _REACH), columns - 2 * _REACH - 1)
    return [j for j in range(start, start + 2 * _REACH + 1) if j != i]


# The median of |x| for a standard normal x.
_MEDIAN_OF_NORMAL = 0.6745


def _medians(values: np.ndarray) -> np.ndarray:
    """Row medians of the known values, NaN where there are none."""
    ordered = np.sort(values, axis=1)  # NaN last
    n = (~np.isnan(values)).sum(axis=1)
    rows = np.arange(len(values))
    low, high = ordered[rows, np.maximum(n - 1, 0) // 2], ordered[rows, np.minimum(n // 2, values.shape[1] - 1)]
    return np.asarray((low + high) / 2)


def _course(found: Levels) -> np.ndarray:
    return np.array(COURSES, dtype=object)[found.course]
