"""How late may a person's stamps be, and which of the laws of lateness do a log's entries speak for?

A person hears, looks up, reads a clock cut to the step, and writes. A law is a mean delay, a relative spread and a shape; before any entry is
seen all of them are possible, as is any shift of the log's line, which was fitted robustly and not to the law's mean. Entries weigh
them, some entries telling of another moment. Conventions: seconds; a residual is what happened less the log's line, so that lateness
lowers it. It does not decide what the entries tell of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import gammaincinv, ndtr, ndtri

from aftercount.timeline.model import Floats
from aftercount.timeline.scale import honest, scale

# what is thought of people before any entry is seen: about a second from hearing to reading the clock, give or take a factor of two
# (common practice, no source); and a delay of k steps, one after another and each as long as it happens to take, spreads by 1/sqrt(k) of
# its mean: to hear, to look up, to find the clock, to read it are between two and six
MEANS_S = np.geomspace(0.1, 10.0, 33)
MEAN_S, MEAN_FACTOR = 1.0, 2.0
SPREADS = np.arange(2, 7) ** -0.5  # standard deviation over mean
FALSE = (0.03, 0.1, 0.25)  # of the entries that fit a log's line some tell of another moment: hardly any, or one in four
FALSE_RANGE_S = 10.0  # and are then some seconds off
HEARD_S = 0.3  # how well the moment itself is known where nothing tells: speech starts some tenths of a second early or late
FINER = 1.4  # how well that is known is rounded to steps of this factor
PARTS = 64  # equal shares in which a law is looked up
# those that part it where noise blurs it: of four together, but singly at its ends, of which the spread is told
ROUGHLY = np.array([0, 1, 2, *range(4, PARTS, 4), PARTS - 2, PARTS - 1, PARTS])
MIDDLES = np.linspace(-1.0, 8.0, 500)  # of a normal law, in its sigmas above nothing, among which one is looked up
AT_ONCE = 0.02  # means: what is stamped without delay is stamped within this
BOX = 8  # and the step of a clock
FEW = 3  # entries from which they tell anything
LEAST_S = 0.1  # nothing that is heard is known better
REACH_S, STEP_S = 12.0, 0.1  # how far residuals are told apart, and how finely
SHIFTS = np.linspace(-4.0, 4.0, 17)  # of a line, in standard errors
BOX_STEP_S = 0.25  # and where stamps step by a minute
NEGLIGIBLE = 1e-3  # of the likeliest law: laws that count for nothing
_X = np.arange(-REACH_S, REACH_S + STEP_S / 2, STEP_S)


@dataclass(frozen=True)
class Residuals:
    """What happened less the log's line, of entries whose moments are known to `heard` seconds."""

    values: Floats
    heard: float = HEARD_S


@lru_cache(maxsize=1)
def laws() -> Floats:
    """Quantiles of the delay over its mean, at the edges of PARTS equal shares; one row a spread and shape. A delay that is the sum of steps
    is of a gamma law; one that is meant to be the same each time is of a normal law, cut where no stamp can be, at no delay, or, where things
    are seen coming, held there: what would be stamped before it happened is stamped as it happens."""
    levels = np.arange(PARTS + 1) / PARTS
    levels[[0, -1]] = 1 / (4 * PARTS), 1 - 1 / (4 * PARTS)
    return np.array([law(spread, levels) for spread in SPREADS for law in (_summed, _cut, _held)])


def _summed(spread: float, levels: Floats) -> Floats:
    shape = spread**-2
    return np.asarray(gammaincinv(shape, levels) / shape)


def _cut(spread: float, levels: Floats) -> Floats:
    density, above = _normal(MIDDLES)
    mean = MIDDLES + density / above
    at, unit = _looked_up(spread, mean, 1 - density / above * mean)
    low = ndtr(-at)
    return np.asarray(np.maximum((at + ndtri(low + levels * (1 - low))) / unit, 0.0))


def _held(spread: float, levels: Floats) -> Floats:
    density, above = _normal(MIDDLES)
    mean = MIDDLES * above + density
    at, unit = _looked_up(spread, mean, (1 + MIDDLES**2) * above + MIDDLES * density - mean**2)
    return np.asarray(np.maximum((at + ndtri(levels)) / unit, AT_ONCE * levels))


def _normal(middle: Floats) -> tuple[Floats, Floats]:
    """The density at nothing of a normal law so many of its sigmas above it, and how much of it is above."""
    return np.exp(-(middle**2) / 2) / (2 * np.pi) ** 0.5, ndtr(middle)


def _looked_up(spread: float, mean: Floats, variance: Floats) -> tuple[float, float]:
    """Which of MIDDLES gives that relative spread, and the mean there, both in sigmas."""
    at = float(np.interp(-spread, -np.sqrt(variance) / mean, MIDDLES))
    return at, float(np.interp(at, MIDDLES, mean))


@lru_cache(maxsize=16)
def _told(step: float, finer: int) -> Floats:
    """The log likelihood of residuals at _X, by law (each mean of each spread and shape), share that is false and residual. finer: how well the
    moments are known, in steps of FINER from one second."""
    x, noise = _X, float(np.hypot(step / 12**0.5, FINER**finer))
    edges, share = 1 - laws()[:, ROUGHLY], np.diff(ROUGHLY)[:, None] / PARTS  # sooner than the mean, in means
    density = np.empty((len(edges), len(MEANS_S), len(x)))
    for k, law in enumerate(edges):
        for m, mean in enumerate(MEANS_S):
            below = ndtr((x - mean * law[:, None]) / noise)
            width = np.maximum(-np.diff(mean * law), 1e-9)
            density[k, m] = (share * np.diff(below, axis=0) / width[:, None]).sum(axis=0)
    flat = density.reshape(-1, 1, len(x))
    false = np.array(FALSE)[:, None]
    return np.asarray(np.log((1 - false) * flat + false / FALSE_RANGE_S))


@dataclass(frozen=True)
class Lateness:
    """What entries tell of their keeper. weight: of each law (by spread and shape, and mean) and shift of the line; shift: those tried.

    step: of the clock, which shows the last it reached, and so is early by half of it on average. error: of the line, by so many entries.
    """

    weight: Floats
    shift: Floats
    step: float
    error: float

    def whole(self) -> tuple[Floats, Floats]:
        """By how much the stamps are late on average against the line as it is, and how likely each."""
        late = MEANS_S[None, :, None] - self.step / 2 + self.shift
        return np.broadcast_to(late, self.weight.shape).ravel(), self.weight.ravel()

    def single(self, about_mean: bool) -> float:
        """The sigma of one entry: about the line, or (not `about_mean`) about the instant that it tells of."""
        by_law = self.weight.sum(axis=2)
        law, mean = np.nonzero(by_law > NEGLIGIBLE * by_law.max())
        edges = laws()[law]
        late = MEANS_S[mean][:, None] * (edges[:, 1:] + edges[:, :-1]) / 2
        cut = self.step * ((np.arange(BOX) + 0.5) / BOX - 0.5)
        off = late - (late.mean(axis=1, keepdims=True) if about_mean else self.step / 2)
        every = (off[:, :, None] - cut).reshape(len(law), -1)
        return honest(np.abs(every), np.broadcast_to(by_law[law, mean][:, None], every.shape))


def lateness(told: Sequence[Residuals], step: float) -> Lateness:
    """What is thought of a keeper whose clock shows steps of so many seconds, after residuals; with few of them little but what was thought before."""
    prior = np.exp(-((np.log(MEANS_S / MEAN_S) / np.log(MEAN_FACTOR)) ** 2) / 2)
    count, every = len(laws()), np.concatenate([np.zeros(0), *(one.values for one in told)])
    if len(every) < FEW:
        weight = np.broadcast_to(prior[None, :, None], (count, len(MEANS_S), 1))
        return Lateness(weight / weight.sum(), np.zeros(1), step, np.inf)
    error, middle = max(scale(every), HEARD_S) / len(every) ** 0.5, float(np.median(every))
    shift = SHIFTS * error
    likely = sum(_told(round(step, 3), round(np.log(max(one.heard, LEAST_S)) / np.log(FINER))) @ _spread(one.values - middle, shift) for one in told)
    shared = np.exp(likely - np.max(likely)).mean(axis=1).reshape(count, len(MEANS_S), len(shift))  # laws x false x shifts
    weight = shared * prior[None, :, None]
    return Lateness(weight / weight.sum(), shift + middle, step, error)


def boxed(told: Sequence[Residuals], step: float) -> Lateness:
    """The same of a keeper whose clock shows steps so long that what is cut off hides how he is late: what was cut is anything from none to all of a step, so that the entry
    that was cut most and the one that was cut least bound the line. His lateness is what is thought of people."""
    every, half = [one for one in told if len(one.values)], step / 2
    prior = np.exp(-((np.log(MEANS_S / MEAN_S) / np.log(MEAN_FACTOR)) ** 2) / 2)
    shift = np.arange(-half, half + BOX_STEP_S / 2, BOX_STEP_S)
    likely = np.zeros((len(FALSE), len(MEANS_S), len(shift)))
    for one in every:
        off, noise = one.values[:, None] - shift, np.hypot(max(one.heard, LEAST_S), MEANS_S * float(np.mean(SPREADS)))[:, None, None]
        within = (ndtr((off + half) / noise) - ndtr((off - half) / noise)) / step  # means x entries x shifts
        for k, false in enumerate(FALSE):
            likely[k] += np.log((1 - false) * within + false / (step + 2 * FALSE_RANGE_S)).sum(axis=1)
    weight = np.exp(likely - likely.max()).mean(axis=0) * prior[:, None]
    weight = np.broadcast_to(weight, (len(laws()), *weight.shape))
    return Lateness(weight / weight.sum(), shift, step, 0.0)


def _spread(residuals: Floats, shift: Floats) -> Floats:
    """How many residuals stand at each of _X, by shift: each shared between the two that it lies between."""
    at = np.clip((residuals[:, None] - shift - _X[0]) / STEP_S, 0, len(_X) - 1.001)
    low = at.astype(np.int64)
    out = np.zeros((len(_X), len(shift)))
    column = np.broadcast_to(np.arange(len(shift)), low.shape)
    np.add.at(out, (low, column), 1 - (at - low))
    np.add.at(out, (low + 1, column), at - low)
    return out
