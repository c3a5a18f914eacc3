"""How late are the entries of a log stamped, on average, after what they tell of?

A person hears, looks up, reads a clock cut to the second, and writes. No log shares an undelayed moment with itself, so the mean delay cannot be
told from its clock's offset by the times alone; but delays are never negative and spread about as wide as they are long, so their spread
tells of their length. The answer is the mean and standard deviation of the posterior over mean delay and relative spread, given how far the
entries scatter about the log's line; with few entries it is the prior. Seconds. It does not decide what the entries tell of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from aftercount.speech.entries import CUE_EDGE_S, MACHINE_SIGMA_S, NOTE_DELAY_S, RESOLUTION_SHARE
from aftercount.timeline.model import Floats

# what is thought of people before any entry is seen: about a second from hearing to reading the clock, give or take a factor of two
# (common practice, no source); and a delay of k steps, one after another and each as long as it happens to take, spreads by 1/sqrt(k) of
# its mean: to hear, to look up, to find the clock, to read it are between two and six
MEANS_S = np.geomspace(0.1, 10.0, 60)
MEAN_S, MEAN_FACTOR = 1.0, 2.0
SPREADS = np.arange(2, 7) ** -0.5  # standard deviation over mean
HEARD_S = 0.3  # how well the moment itself is known: speech starts some tenths of a second early or late
CUES_S = 0.1  # what all cues of a recogniser may start early or late by: a third of what one may
LEVELS = (np.arange(16) + 0.5) / 16  # at which a law of delays is looked up
FALSE, FALSE_RANGE_S = 0.15, 10.0  # of the entries that fit a log's line some tell of another moment: one in seven or so, some seconds off
COARSE_S = 5.0  # a log whose stamps step by more than this says nothing of seconds


@dataclass(frozen=True)
class Delay:
    """mean: stamps are this late; sigma: how sure that is."""

    mean: float
    sigma: float


def resolution(medium: str, sigma: float) -> float:
    """The step of a log's stamps in seconds, from the sigma that its best entry was read with."""
    own = {"machine": MACHINE_SIGMA_S, "typed": NOTE_DELAY_S}.get(medium, CUE_EDGE_S)
    return float(max(sigma**2 - own**2, 0.0) ** 0.5) / RESOLUTION_SHARE


def unevenness(step: float) -> float:
    """How a person's stamps scatter about their mean lateness, before any is seen. step: what the clock cuts to."""
    return float(np.sqrt((MEAN_S * SPREADS.mean()) ** 2 + HEARD_S**2 + step**2 / 12))


def delay(medium: str, step: float, residuals: Floats) -> Delay:
    """The delay of a log's stamps. step: their resolution; residuals: what happened less the log's line, entry by entry."""
    cut = Delay(-step / 2, step / 12**0.5)  # a clock shows the last whole step it reached
    if medium == "machine":
        return cut
    if medium == "speech":
        return Delay(cut.mean, float(np.hypot(cut.sigma, CUES_S)))
    return typed(residuals, step)


def typed(residuals: Floats, step: float) -> Delay:
    """The posterior of a person's mean delay, less what the clock cuts off."""
    cut = step / 12**0.5
    mean, spread = np.meshgrid(MEANS_S, SPREADS, indexing="ij")
    odds = -((np.log(mean / MEAN_S) / np.log(MEAN_FACTOR)) ** 2) / 2
    if len(residuals) > 2 and step <= COARSE_S:
        odds = odds + _told(residuals - np.median(residuals), cut)
    share = np.exp(odds - odds.max())
    share /= share.sum()
    middle = float((share * mean).sum())
    return Delay(middle - step / 2, float(np.hypot(np.sqrt((share * (mean - middle) ** 2).sum()), cut if step > COARSE_S else 0.0)))


def _told(residuals: Floats, cut: float) -> Floats:
    """Log likelihood of residuals about their median, by mean delay (row) and spread (column): delays of a gamma law, seen through a clock
    that cuts and ears that err, but for the entries that tell of another moment."""
    noise = float(np.hypot(cut, HEARD_S))
    out = np.zeros((len(MEANS_S), len(SPREADS)))
    for column, spread in enumerate(SPREADS):
        shape = spread**-2
        sooner = 1 - gammaincinv(shape, LEVELS) / shape  # than the mean, in means
        sooner -= np.median(sooner)
        off = residuals[None, :, None] - MEANS_S[:, None, None] * sooner[None, None, :]
        true = np.exp(-((off / noise) ** 2) / 2).mean(axis=2) / (noise * (2 * np.pi) ** 0.5)
        out[:, column] = np.log((1 - FALSE) * true + FALSE / FALSE_RANGE_S).sum(axis=1)
    return out
