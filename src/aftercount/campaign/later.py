"""Which steps of a count are later than those before explain?

A step is, when its deviation alone lies beyond what its level and spread allow, or when it and the count before do
together. Where the record has lone late values too, a lone one in this count proves nothing and is only noted; the
second in a row does.

Conventions: the last count of the season is judged, by the counts before it; chances are shared out over the steps, so
that a steady season fails with the chance stated whatever the number of steps.
"""

from __future__ import annotations

import numpy as np

from aftercount.campaign.expect import Expectation, expect
from aftercount.campaign.more import more_than_before
from aftercount.campaign.season import Season
from aftercount.campaign.verdict import Worse, duration

# Chances of a false alarm in a steady season. Two late counts in a row are the surer sign, and get more.
LATER_ALPHA = 0.006
TWICE_ALPHA = 0.01
# Counts before both of the two: fewer have no spread of their own.
LEAST_BEFORE_TWO = 2
# Each of two late values must be at least this unlikely by itself.
LIKELIEST_OF_TWO = 0.3


def later(both: Season) -> tuple[list[Worse], list[Worse]]:
    """(what fails, what is only noted), in plan order."""
    deviations, measured = both.matrix("deviation_s"), both.measured()
    now = deviations[:, -1]
    before = expect(deviations[:, :-1], measured, now)
    alpha = LATER_ALPHA / _tested(now, before)
    once = _named(both, before, now, np.flatnonzero(before.chance(now) < alpha), alpha)
    strays = before.strays
    fails = not strays.any() or more_than_before(len(once), int(strays.sum()), len(strays), LATER_ALPHA)
    twice = _twice(both, deviations, measured)
    told = sorted((twice | once if fails else once | twice).items())
    return [w for i, w in told if fails or i in twice], [w for i, w in told if not fails and i not in twice]


def _twice(both: Season, deviations: np.ndarray, measured: np.ndarray) -> dict[int, Worse]:
    """Steps late in the last two counts alike, against those before both, by place."""
    if deviations.shape[1] - 2 < LEAST_BEFORE_TWO:
        return {}
    before, two = expect(deviations[:, :-2], measured), deviations[:, -2:]
    mean, least = two.mean(axis=1), two.min(axis=1)
    alpha = TWICE_ALPHA / _tested(mean, before)
    late = (before.chance(mean, averaged=2) < alpha) & (before.chance(least) < one_of_two(before, TWICE_ALPHA))
    return _named(both, before, mean, np.flatnonzero(late), alpha, averaged=2)


def one_of_two(before: Expectation, alpha: float) -> float:
    """How unlikely each of two late values has to be, so that a lone stray beside a usual value seldom passes for two.

    The rarer strays are in the record, the less is asked.
    """
    strays = before.strays
    rate = (int(strays.sum()) + 0.5) / max(1, len(strays))
    return min(LIKELIEST_OF_TWO, alpha / (2 * rate))


def _tested(values: np.ndarray, before: Expectation) -> int:
    return max(1, int((~np.isnan(values - before.level)).sum()))


def _named(both: Season, before: Expectation, values: np.ndarray, late: np.ndarray, alpha: float, averaged: int = 1) -> dict[int, Worse]:
    half = before.of(late).half_width(alpha, averaged)
    return {int(i): _worse_step(both, int(i), (float(values[i]), float(before.level[i]), float(width)))
            for i, width in zip(late, half, strict=True)}


def _worse_step(both: Season, i: int, figures: tuple[float, float, float]) -> Worse:
    now, level, half = figures
    step = str(both.plan["step"].iloc[i])
    text = f"step {step}: {duration(now - level)} later than its level; up to {duration(half)} is usual"
    return Worse("later", step, now, level + half, text)
