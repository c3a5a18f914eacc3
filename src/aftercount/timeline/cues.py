"""How far off the voice does a transcript put its cues?

A reading of the count is off the clock by what the voice is off and by what its cue is, and no log tells the two apart. But each thing that a
cue's edges have a part in scatters by more than they do: readings made now and then, readings that count down with the clock, and the lengths of cues
of as many words. What is thought of each of their other parts before is broad; that of an edge is broader, from aligners good to some
hundredths of a second to captions typed along. Seconds. It does not decide which readings are true.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from aftercount.speech.entries import CUE_EDGE_S
from aftercount.timeline.lateness import FALSE, FALSE_RANGE_S
from aftercount.timeline.model import Floats, Ints
from aftercount.timeline.scale import honest
from aftercount.timeline.votes import COUNTED, MARKED

JITTERS_S = np.geomspace(0.01, 3.0, 25)
EDGE_FACTOR = 3.0  # one transcript's edges are so many times better or worse than the middle one's
OTHER_FACTOR = 2.0  # and so are voices
# root mean squares over voices, no source: who reads the clock now and then is off by half a second; who counts with it keeps it as people do a beat, or
# nearly; and a cue of so many words is as long as its other edge and the pace make it
OTHER_S = {MARKED: 0.5, COUNTED: 0.15}
LENGTH_S = 0.42
SHORT, LONG = 3, 8  # words of the cues whose lengths are compared: shorter ones are often given a least length, longer ones differ by pace
FEW = 5  # values from which their scatter tells anything
MOST = 200  # lengths that are looked at
LEVELS = (np.arange(32) + 0.5) / 32


def jitter(residuals: Floats, kinds: Ints, lengths: Floats) -> float:
    """The sigma of a cue. residuals: what is left of the log's readings once its line is fitted; kinds: what those rest on (votes);
    lengths: what cues are longer than others of as many words."""
    odds = np.log(_likely(CUE_EDGE_S, EDGE_FACTOR))
    for told, other in [*((residuals[kinds == kind], other) for kind, other in OTHER_S.items()), (lengths, LENGTH_S)]:
        if len(told) >= FEW:
            odds = odds + _told(told - np.median(told), _likely(other, OTHER_FACTOR))
    weight = np.exp(odds - odds.max())
    off = np.abs(JITTERS_S[:, None] * ndtri(LEVELS))
    return honest(off, np.broadcast_to(weight[:, None], off.shape))


def longer(length: Floats, words: Ints) -> Floats:
    """By how much each cue is longer than the middle one of as many words."""
    out = [np.zeros(0)]
    for n in range(SHORT, LONG + 1):
        mine = length[np.isfinite(length) & (words == n)]
        if len(mine) >= FEW:
            out.append(mine - np.median(mine))
    every = np.concatenate(out)
    return every[np.linspace(0, len(every) - 1, min(len(every), MOST)).astype(int)] if len(every) else every


def _likely(square: float, factor: float) -> Floats:
    """How likely each jitter is: some times more or less than the middle one, and all of them together of the given root mean square."""
    middle = square * np.exp(-(np.log(factor) ** 2))
    return np.asarray(np.exp(-((np.log(JITTERS_S / middle) / np.log(factor)) ** 2) / 2))


def _told(values: Floats, other: Floats) -> Floats:
    """Log likelihood of values by how much of their scatter is the cues'; other: how likely each scatter of the rest is."""
    sigma = np.hypot(JITTERS_S[:, None], JITTERS_S)  # cue x other
    density = np.exp(-((values / sigma[..., None]) ** 2) / 2) / (sigma[..., None] * (2 * np.pi) ** 0.5)
    told = np.stack([np.log((1 - share) * density + share / FALSE_RANGE_S).sum(axis=-1) for share in FALSE])
    most = told.max()
    return np.asarray(np.log((np.exp(told - most) * other).sum(axis=(0, 2)) + 1e-300) + most)
