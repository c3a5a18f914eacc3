"""How does one log's own time map to the common time?

`u = own + offset + drift * (own - pivot)`, piecewise when the log's clock was reset half way. Seconds; drift in parts of one.
For logs that tell UTC own time is seconds after the scheduled T-0, so that an honest log has offset 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.path import Floats

UTC_SIGMA_S = 0.0  # the reference defines the time
UNCHECKED_SIGMA_S = 5.0  # a log that tells UTC but shares nothing with the others: consoles are seldom worse


@dataclass(frozen=True)
class SourceTime:
    """offsets: one a stretch of own time; starts: where each begins (the first -inf). known False: no wall time."""

    offsets: tuple[float, ...]
    starts: tuple[float, ...] = (-np.inf,)
    drift: float = 0.0
    pivot: float = 0.0
    sigma: float = UNCHECKED_SIGMA_S
    known: bool = True
    shared: int = 0
    note: str = ""

    def to_u(self, own: Floats) -> Floats:
        if not self.known:
            return np.full(len(own), np.nan)
        which = np.clip(np.searchsorted(self.starts, np.nan_to_num(own), side="right") - 1, 0, len(self.offsets) - 1)
        return np.asarray(own + np.array(self.offsets)[which] + self.drift * (own - self.pivot))
