"""How does one log's own time map to the common time?

`u = own + offset + drift * (own - pivot)`, with another offset after each reset of the log's clock. Seconds; drift in parts
of one. For logs that tell UTC own time is seconds after the scheduled T-0, so that an honest log has offset 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.model import Floats, Ints

UNCHECKED_SIGMA_S = 5.0  # a log that tells UTC but shares nothing with the others: consoles are seldom worse


@dataclass(frozen=True)
class SourceTime:
    """offsets: one a stretch of the log; starts: the utterance each begins with (the first -inf).

    known False: no wall time. shared: how many votes the estimate rests on.
    """

    offsets: tuple[float, ...]
    starts: tuple[float, ...] = (-np.inf,)
    drift: float = 0.0
    pivot: float = 0.0
    sigma: float = UNCHECKED_SIGMA_S
    known: bool = True
    shared: int = 0

    def to_u(self, own: Floats, utterance: Ints) -> Floats:
        if not self.known:
            return np.full(len(own), np.nan)
        which = np.searchsorted(self.starts, utterance, side="right") - 1
        return np.asarray(own + np.array(self.offsets)[which] + self.drift * (own - self.pivot))

    def same_as(self, other: SourceTime, within_s: float) -> bool:
        return (self.known, self.starts) == (other.known, other.starts) and bool(
            np.abs(np.array(self.offsets) - np.array(other.offsets)).max() <= within_s)
