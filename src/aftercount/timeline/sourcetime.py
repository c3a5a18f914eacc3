"""How does one log's own time map to the common time, and how sure is that?

`u = own + offset + drift * (own - pivot)` is when what an entry tells of happened, with another offset and pivot after each reset of the
log's clock. People and recognisers stamp late, so that the log's clock itself is off by that as well (see delays).
Seconds; drift in parts of one. For logs that tell UTC own time is seconds after the scheduled T-0: an honest log has offset 0.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.model import Floats, Ints

UNCHECKED_SIGMA_S = 5.0  # a log that tells UTC but shares nothing with the others: consoles are seldom worse
FAR_OFF_S = 600.0  # no clock that anybody looks at is off by more
ZONE_STEP_S, ZONE_NEAR_S = 1800.0, 60.0  # zones are whole half hours apart; a clock, or a stamp to the minute, is off by less than a minute beside


def by_zone(off: float) -> bool:
    """Whether a log that is off by so much keeps another zone's time."""
    return abs(off) > FAR_OFF_S and abs(off - ZONE_STEP_S * round(off / ZONE_STEP_S)) <= ZONE_NEAR_S


@dataclass(frozen=True)
class SourceTime:
    """offsets, pivots, sigmas: one a stretch of the log; starts: the utterance each begins with (the first -inf).

    pivots: where an offset is known best: what it is off by there has no part in what the drift is off by; sigmas: of the offset there.
    known False: no wall time. shared: how many votes the estimate rests on. residuals: of those that name an instant, what happened less the
    line, in order of the log; kinds: what each rests on (votes).
    """

    offsets: tuple[float, ...]
    starts: tuple[float, ...] = (-np.inf,)
    pivots: tuple[float, ...] = (0.0,)
    sigmas: tuple[float, ...] = (UNCHECKED_SIGMA_S,)
    drift: float = 0.0
    drift_sigma: float = 0.0
    known: bool = True
    shared: int = 0
    residuals: Floats = field(default_factory=lambda: np.zeros(0), compare=False, repr=False)
    kinds: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64), compare=False, repr=False)

    @property
    def sigma(self) -> float:
        """Of the offset as it is after the last reset, where it is known best."""
        return self.sigmas[-1]

    def to_u(self, own: Floats, utterance: Ints) -> Floats:
        if not self.known:
            return np.full(len(own), np.nan)
        k = self._stretch(utterance)
        return np.asarray(own + np.array(self.offsets)[k] + self.drift * (own - np.array(self.pivots)[k]))

    def sigma_at(self, own: Floats, utterance: Ints) -> Floats:
        """Of the line at each entry."""
        k = self._stretch(utterance)
        return np.asarray(np.hypot(np.array(self.sigmas)[k], self.drift_sigma * (own - np.array(self.pivots)[k])))

    def best(self, utterance: Ints) -> Floats:
        """The instant at which the offset is known best that rules at each entry."""
        return (np.array(self.pivots) + np.array(self.offsets))[self._stretch(utterance)]

    def _stretch(self, utterance: Ints) -> NDArray[np.intp]:
        return np.searchsorted(self.starts, utterance, side="right") - 1

    def same_as(self, other: SourceTime, within_s: float) -> bool:
        return (self.known, self.starts) == (other.known, other.starts) and bool(
            np.abs(np.array(self.offsets) - np.array(other.offsets)).max() <= within_s)
