"""How sure is the reading of each stretch of the clock, by how its marks agree?

Marks are stated with a sigma wide enough for the path to choose by. Here each log's marks are weighed by how they were found to scatter about
the stretches: some keep to the clock to the millisecond, some are late by seconds. Seconds; a reading is a Z or a T.
It does not decide which marks are true: the path did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aftercount.timeline.model import Floats, Ints
from aftercount.timeline.scale import as_share, few, scale

LEAST_SIGMA_S = 0.0005  # machines stamp to the millisecond, and cut off what is beyond
HUBER = 1.5  # sigmas beyond which a kept mark's pull stops growing
ENOUGH = 5  # marks from which a log's scatter is known
NEAR = 3.0  # scatters within which marks are of the bulk
PEOPLE_S = 0.5  # marks stated to be surer than this are machines'
# a machine that shows the whole second it last reached agrees with itself at those instants at which it writes on the second; where
# its marks scatter further than this, it does not, and they are cut by up to a second all one way
CUT_S, CUT_SIGMA_S = 0.1, 0.29
# a machine's records queue before they are stamped, never the other way: marks that scatter to one side as waiting times do (exponential:
# skewness by these quantiles 0.465, half of them later than 0.693 of the mean) are all late on average; evenly scattered marks are not
TAILS, WAITING, HALF = (0.02, 0.1, 0.5, 0.9), 0.465, 0.693
HABIT_S = 0.2  # one voice calls all its marks early, or late, by about a simple reaction time (value from memory)
MODE_OF = 8  # machine marks from which the value that most share is looked for


@dataclass(frozen=True)
class Readings:
    """The marks of one stretch. value: each one's Z or T; start: a first guess."""

    value: Floats
    sigma: Floats
    source: Ints
    start: float


def sure(stretches: Sequence[Readings]) -> list[tuple[float, float]]:
    """The reading of each stretch and its sigma."""
    first = [_first(s) for s in stretches]
    share = _shares(stretches, first)
    return [_settled(s, at, share) for s, at in zip(stretches, first, strict=True)]


def _first(s: Readings) -> float:
    machine = s.value[s.sigma < PEOPLE_S]
    return _mode(machine) if len(machine) >= MODE_OF else _huber(s.value, s.sigma, s.start)[0]


def _mode(values: Floats) -> float:
    """The half-sample mode: the middle of the shortest half, of its shortest half, and so on."""
    v = np.sort(values)
    while len(v) > 2:
        half = (len(v) + 1) // 2
        at = int(np.argmin(v[half - 1:] - v[:len(v) - half + 1]))
        if half == len(v):
            break
        v = v[at:at + half]
    return float(v.mean())


def _huber(value: Floats, sigma: Floats, start: float) -> tuple[float, Floats]:
    """Weighted Huber mean by a few reweightings, and the weights."""
    centre, weight = start, 1 / sigma**2
    for _ in range(8):
        r = np.abs(value - centre) / sigma
        weight = np.where(r <= HUBER, 1.0, HUBER / np.maximum(r, 1e-9)) / sigma**2
        centre = float((weight * value).sum() / weight.sum())
    return centre, weight


def _shares(stretches: Sequence[Readings], first: list[float]) -> dict[int, tuple[float, int, float]]:
    """By log: its scatter as a share of the stated sigma, from how many marks it is known, and how late its marks are together."""
    if not stretches:
        return {}
    source = np.concatenate([s.source for s in stretches])
    r = np.concatenate([(s.value - at) / s.sigma for s, at in zip(stretches, first, strict=True)])
    out = {}
    for k in np.unique(source).tolist():
        mine = r[source == k]
        if len(mine) < ENOUGH:
            continue
        found = scale(mine, 0.0)
        for _ in range(3):
            near = mine[np.abs(mine) <= NEAR * found]
            found = scale(near, 0.0) if len(near) >= ENOUGH else found
        out[k] = (as_share(found, len(mine)), len(mine), _late(mine[np.abs(mine) <= 2 * NEAR * found]))
    return out


def _late(values: Floats) -> float:
    """By how much marks are late together if they scatter to one side; nothing if evenly."""
    if len(values) < MODE_OF:
        return 0.0
    first, low, middle, high = np.quantile(values, TAILS)
    chance = 1 / len(values) ** 0.5  # about the skewness that so many evenly scattered values show
    one_sided = np.clip(((high + low - 2 * middle) / (high - low) - chance) / (WAITING - chance), 0.0, 1.0) if high > low else 0.0
    return float(one_sided * (middle - first) / HALF)


def _settled(s: Readings, first: float, share: dict[int, tuple[float, int, float]]) -> tuple[float, float]:
    known = [share.get(k, (1.0, 0, 0.0)) for k in s.source.tolist()]
    sigma = np.maximum(s.sigma * np.array([k[0] for k in known]), LEAST_SIGMA_S)
    centre, weight = _huber(s.value, sigma, first)
    people = s.sigma >= PEOPLE_S
    most = max(n for _, n, _ in known)
    alone = weight.sum() ** -0.5 * (few(most, 1) if most else 1.0)
    common = np.where(people, HABIT_S, np.where(sigma > CUT_S, CUT_SIGMA_S, s.sigma * np.array([k[2] for k in known])))
    return centre, float(max(LEAST_SIGMA_S, np.hypot(alone, (weight * common).sum() / weight.sum())))
