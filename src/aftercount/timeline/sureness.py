"""How sure is the reading of each stretch of the clock, by how its marks agree?

Marks are stated with a sigma wide enough for the path to choose by. Here each log's marks are weighed by how they were found to scatter about
the stretches: some keep to the clock to the millisecond, some are late by seconds. Seconds; a reading is a Z or a T.
It does not decide which marks are true: the path did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.model import Floats, Ints
from aftercount.timeline.scale import as_share, few, scale

LEAST_SIGMA_S = 0.0005  # machines stamp to the millisecond, and cut off what is beyond
HUBER = 1.5  # sigmas beyond which a kept mark's pull stops growing
ENOUGH = 5  # marks from which a log's scatter is known
ROUNDS = 8
DIGITS = 6  # whole microseconds, as tables have them: what is beyond depends on the order in which logs are added up
NOTHING_S = 1e-6  # what is off by nothing, where a sigma is asked for
NEAR = 3.0  # scatters within which marks are of the bulk
PEOPLE_S = 0.5  # marks stated to be surer than this are machines'
# a machine that shows the whole second it last reached agrees with itself at those instants at which it writes on the second; where
# its marks scatter further than this, it does not, and they are cut by up to a second all one way
CUT_S, CUT_SIGMA_S = 0.1, 0.29
# a machine's records queue before they are stamped, never the other way: marks that scatter to one side as waiting times do (exponential:
# skewness by these quantiles 0.465, half of them later than 0.693 of the mean) are all late on average; evenly scattered marks are not
TAILS, WAITING, HALF = (0.02, 0.1, 0.5, 0.9), 0.465, 0.693
HABIT_S = 0.2  # one voice calls all its marks early, or late, by about a simple reaction time (value from memory)
COUNTED_S = 1.0  # people's marks stated to be surer than this are said with the clock
# share of a voice's habit that is left when it counts down second by second: who taps with a beat is some 50 ms early (value from memory)
WITH_THE_CLOCK = 0.25
MODE_OF = 8  # machine marks from which the value that most share is looked for


@dataclass(frozen=True)
class Readings:
    """The marks of one stretch. value: each one's Z or T; start: a first guess; cut: what coarse stamps cut off, of which a count that
    is read at whole minutes loses the same each time."""

    value: Floats
    sigma: Floats
    source: Ints
    start: float
    cut: Floats | float = 0.0


def sure(stretches: Sequence[Readings], lines: Sequence[float] = ()) -> list[tuple[float, float]]:
    """The reading of each stretch and its sigma. lines: by source, how sure the log's place in time is.

    What a person's readings are early or late by is one unknown of all stretches, and another of each, where another may read; so is what is left of it where
    they count down with the clock. Where both ways are in one stretch, the habit is known in the others too.
    """
    first = [_first(s) for s in stretches]
    return _settled(stretches, first, _gathered(stretches, _shares(stretches, first), lines)) if stretches else []


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
    for _ in range(ROUNDS):
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


@dataclass(frozen=True)
class _Marks:
    """All marks. stretch: of which; late: what its log's are late by together; known: from how many marks its scatter is; line: how sure its log's place is; cut: as in Readings."""

    value: Floats
    stated: Floats
    sigma: Floats
    source: Ints
    stretch: Ints
    late: Floats
    known: Floats
    line: Floats
    cut: Floats

    @property
    def people(self) -> NDArray[np.bool_]:
        return self.stated >= PEOPLE_S


def _gathered(stretches: Sequence[Readings], share: dict[int, tuple[float, int, float]], lines: Sequence[float]) -> _Marks:
    value, stated = (np.concatenate([getattr(s, name) for s in stretches]) for name in ("value", "sigma"))
    source = np.concatenate([s.source for s in stretches])
    factor, known, late = (np.array([share.get(k, (1.0, 0, 0.0))[i] for k in source.tolist()], dtype=float) for i in range(3))
    line = np.array([lines[k] if len(lines) else 0.0 for k in source.tolist()])
    stretch = np.repeat(np.arange(len(stretches)), [len(s.value) for s in stretches])
    cut = np.concatenate([np.broadcast_to(s.cut, s.value.shape) for s in stretches])
    return _Marks(value, stated, np.maximum(stated * factor, LEAST_SIGMA_S), source, stretch, late * stated, known, line, cut)


def _together(marks: _Marks) -> list[tuple[Ints, Floats]]:
    """Which marks are off together, and by how much: those of a log, by its place in time; those of its voice, by its habit, half of which is that of who reads
    in that stretch; those of a log in one stretch whose stamps are coarse, by what these cut off."""
    counted = marks.stated < COUNTED_S
    habit = np.where(marks.people, np.where(counted, WITH_THE_CLOCK, 1.0) * HABIT_S / 2**0.5, 0.0)
    voice = np.where(marks.people, counted, -1)
    return [(marks.source, marks.line), (voice, habit), (voice + (voice.max() + 2) * marks.stretch, habit),
            (2 * (marks.source + (marks.source.max() + 1) * marks.stretch) + (marks.cut > 0), marks.cut)]


def _settled(stretches: Sequence[Readings], first: list[float], marks: _Marks) -> list[tuple[float, float]]:
    """Each stretch's reading with its sigma: one robust ridge fit of all, with what marks are off by together."""
    size, at, ridge = len(stretches), [marks.stretch], [np.zeros(len(stretches))]
    for group, off in _together(marks):
        if off.max() <= NOTHING_S:
            continue
        names, one = np.unique(group, return_inverse=True)
        sigma = np.zeros(len(names))
        sigma[one] = np.maximum(off, NOTHING_S)
        at.append(size + one)
        ridge.append(sigma**-2)
        size += len(names)
    solved, held = np.append(first, np.zeros(size - len(first))), np.diag(np.concatenate(ridge))
    for _ in range(ROUNDS):
        r = np.abs(marks.value - solved[np.array(at)].sum(axis=0)) / marks.sigma
        weight = np.where(r <= HUBER, 1.0, HUBER / np.maximum(r, 1e-9)) / marks.sigma**2
        normal = held.copy()
        for j in at:
            for k in at:
                normal += np.bincount(j * size + k, weight, size * size).reshape(size, size)
        solved = np.linalg.solve(normal, np.sum([np.bincount(k, weight * marks.value, size) for k in at], axis=0))
    spread = np.sqrt(np.diag(np.linalg.inv(normal)))
    told = [(float(solved[k]), _sigma(float(spread[k]), weight, marks, marks.stretch == k)) for k in range(len(stretches))]
    return [(round(value, DIGITS), round(sigma, DIGITS)) for value, sigma in told]


def _sigma(spread: float, weight: Floats, marks: _Marks, mine: NDArray[np.bool_]) -> float:
    """With what the scatter itself is unsure by, and what a machine's marks are all late by."""
    w, most = weight[mine], int(marks.known[mine].max())
    unsure = w.sum() ** -0.5 * ((few(most, 1) if most else 1.0) ** 2 - 1) ** 0.5
    late = np.where(marks.people, 0.0, np.where(marks.sigma > CUT_S, CUT_SIGMA_S, marks.late))[mine]
    return float(max(LEAST_SIGMA_S, np.sqrt(spread**2 + unsure**2 + ((w * late).sum() / w.sum()) ** 2)))
