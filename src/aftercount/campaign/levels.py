"""What level has a step's record come to, and how sure is that?

Each step's values follow one of a few courses: `steady` (a constant), `learning` (a + b x^-c, x the rehearsal from 1:
steep at first, then level), `changed` (one constant, then another: a new procedure) or `moving` (a level that wanders by a
share of the spread from count to count, so that the last counts say most). How common each course is among the steps is estimated from all of them; a step's own values
then have to outweigh that. Compared by the corrected Akaike criterion, so that a course with more freedom has to pay.

Conventions: values are steps by rehearsals in order of time, NaN where there is a gap; `squares` is the sum of squares of
what the course leaves, `df` its degrees of freedom; `variance_1`, `variance_2` are the variance of the level's error for
the next value, and for the mean of the next two, in units of the variance of one value.
A straight line is no course here: what worsens steadily must not be expected to go on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Exponents of a learning curve: slow, usual, nearly all learnt at the first repetition.
EXPONENTS = (0.4, 0.8, 1.5)
# A moving level: variance of its move from one count to the next, in units of the variance of one value.
MOVES = (0.1, 0.5)
# A learning curve, and a change of level, need this many values: with fewer they go through everything.
LEAST_FOR_LEARNING = 6
LEAST_FOR_MOVING = 5
# Counts that make a new level: two late ones in a row are a slip still, and the gate's to tell.
LEAST_SINCE = 3
# Two records closer than this are alike, seconds: keeps one of equal values from proving anything.
LEAST_SIGMA_S = 0.25
# Steps' worth of belief that a course not seen elsewhere may turn up, and how often the shares are estimated again.
_PRIOR_STEPS, _ROUNDS = 1.0, 10


@dataclass(frozen=True)
class Levels:
    """One entry a step. `course` indexes COURSES; `count` is the number of values behind it."""

    level: np.ndarray
    variance_1: np.ndarray
    variance_2: np.ndarray
    squares: np.ndarray
    df: np.ndarray
    count: np.ndarray
    course: np.ndarray


COURSES = ("steady", "changed", *("learning" for _ in EXPONENTS), *("moving" for _ in MOVES))


def levels(values: np.ndarray, first: int = 1) -> Levels:
    """The level of each step after the last column; `first` is the number of the first column's rehearsal."""
    count = (~np.isnan(values)).sum(axis=1)
    fits = [_steady(values, count), _changed(values, count), *(_learning(values, count, c, first) for c in EXPONENTS),
            *(_moving(values, count, move) for move in MOVES)]
    scores = np.array([_score(fit, fits[0], count, name) for fit, name in zip(fits, COURSES, strict=True)]).T
    chosen = _choose(scores)
    rows = np.arange(len(values))

    def picked(name: str) -> np.ndarray:
        return np.asarray(np.array([getattr(fit, name) for fit in fits])[chosen, rows])

    return Levels(picked("level"), picked("variance_1"), picked("variance_2"), picked("squares"), picked("df"), count, chosen)


@dataclass(frozen=True)
class _Fit:
    level: np.ndarray
    variance_1: np.ndarray
    variance_2: np.ndarray
    squares: np.ndarray
    df: np.ndarray
    log_scale: np.ndarray


def _steady(values: np.ndarray, count: np.ndarray) -> _Fit:
    known = ~np.isnan(values)
    n = np.maximum(count, 1)
    level = np.where(known, values, 0.0).sum(axis=1) / n
    squares = np.where(known, (values - level[:, None]) ** 2, 0.0).sum(axis=1)
    return _Fit(level, 1 / n, 1 / n, squares, np.maximum(count - 1, 0), np.zeros(len(values)))


def _changed(values: np.ndarray, count: np.ndarray) -> _Fit:
    """The likeliest split in two constants, of which the later holds."""
    known = ~np.isnan(values)
    filled = np.where(known, values, 0.0)
    n, total = np.maximum(count, 1), filled.sum(axis=1)
    mean = total / n
    whole = np.where(known, (values - mean[:, None]) ** 2, 0.0).sum(axis=1)
    level, since, squares = mean.copy(), n.astype(float), np.full(len(values), np.inf)
    for first in range(LEAST_SINCE, values.shape[1] - LEAST_SINCE + 1):
        before = known[:, :first].sum(axis=1)
        after = count - before
        usable = (before >= LEAST_SINCE) & (after >= LEAST_SINCE)
        later = (total - filled[:, :first].sum(axis=1)) / np.maximum(after, 1)
        within = np.maximum(whole - (later - mean) ** 2 * after * n / np.maximum(before, 1), 0.0)
        better = usable & (within < squares)
        level, since, squares = np.where(better, later, level), np.where(better, after, since), np.where(better, within, squares)
    return _Fit(level, 1 / since, 1 / since, squares, np.maximum(count - 3, 0), np.zeros(len(values)))


def _learning(values: np.ndarray, count: np.ndarray, exponent: float, first: int) -> _Fit:
    """Least squares on x^-c, predicted for the next rehearsal and for the mean of the next two."""
    known = ~np.isnan(values)
    n = np.maximum(count, 1)
    number = np.arange(first, first + values.shape[1] + 2, dtype=float) ** -exponent
    x = np.where(known, number[:-2], 0.0)
    x_mean, y_mean = x.sum(axis=1) / n, np.where(known, values, 0.0).sum(axis=1) / n
    off = np.where(known, number[:-2] - x_mean[:, None], 0.0)
    size = np.maximum((off**2).sum(axis=1), np.finfo(float).tiny)
    y_off = np.where(known, values - y_mean[:, None], 0.0)
    slope = (off * y_off).sum(axis=1) / size
    squares = ((y_off - slope[:, None] * off) ** 2).sum(axis=1)
    next_1, next_2 = number[-2], number[-2:].mean()
    return _Fit(y_mean + slope * (next_1 - x_mean), 1 / n + (next_1 - x_mean) ** 2 / size, 1 / n + (next_2 - x_mean) ** 2 / size,
                squares, np.maximum(count - 2, 0), np.zeros(len(values)))


def _moving(values: np.ndarray, count: np.ndarray, move: float) -> _Fit:
    """The local level model by its filter, from a level of which nothing is known at first."""
    size = len(values)
    level, variance, squares, logs = np.zeros(size), np.full(size, np.nan), np.zeros(size), np.zeros(size)
    for column in values.T:
        known = ~np.isnan(column)
        begun = ~np.isnan(variance)
        variance = variance + move
        total = np.where(begun, variance + 1, 1.0)
        off = column - level
        now, start = known & begun, known & ~begun
        squares += np.where(now, off**2 / total, 0.0)
        logs += np.where(now, np.log(total), 0.0)
        level = np.where(now, level + variance / total * off, np.where(start, column, level))
        variance = np.where(now, variance / total, np.where(start, 1.0, variance))
    variance = np.where(np.isnan(variance), 1.0, variance)
    # The next level has moved once; the mean of the next two once, and half of it once more.
    return _Fit(level, variance + move, variance + 1.25 * move, squares, np.maximum(count - 1, 0), logs)


def _score(fit: _Fit, steady: _Fit, count: np.ndarray, name: str) -> np.ndarray:
    """Minus half the corrected Akaike criterion, but for what all courses share."""
    n = np.maximum(count, 1).astype(float)
    if name == "steady":
        return -_cost(n, 2, 0.0)
    floor = n * LEAST_SIGMA_S**2
    gain = -0.5 * np.log(np.maximum(fit.squares, floor) / np.maximum(steady.squares, floor))
    if name in ("learning", "changed"):
        return np.where(count >= LEAST_FOR_LEARNING, n * gain - _cost(n, 4), -np.inf)
    # A mean of n is the same filter with no moves; the logs of its scales come to log n.
    return np.where(count >= LEAST_FOR_MOVING, (n - 1) * gain - 0.5 * (fit.log_scale - np.log(n)) - _cost(n, 3), -np.inf)


def _cost(n: np.ndarray, parameters: int, too_few: float = np.inf) -> np.ndarray:
    """Half the criterion's price of so many parameters, the variance included; `too_few` where it has none."""
    left = n - parameters - 1
    return np.where(left > 0, parameters + parameters * (parameters + 1) / np.maximum(left, 1.0), too_few)


def _choose(scores: np.ndarray) -> np.ndarray:
    """The likeliest course of each step, given how common each is among all of them."""
    best = scores.max(axis=1, keepdims=True)
    likelihood = np.exp(scores - best)
    shares = np.full(scores.shape[1], 1 / scores.shape[1])
    for _ in range(_ROUNDS):
        joint = likelihood * shares
        joint = joint / joint.sum(axis=1, keepdims=True)
        shares = (joint.sum(axis=0) + _PRIOR_STEPS / len(shares)) / (len(scores) + _PRIOR_STEPS)
    return np.asarray((likelihood * shares).argmax(axis=1))
