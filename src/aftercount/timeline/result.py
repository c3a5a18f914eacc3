"""What the timeline stage hands on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount.timeline.slips import Slip
from aftercount.timeline.timebase import Base


@dataclass(frozen=True)
class Timeline:
    """The count clock, its holds and the time base.

    clock, holds, sources, marks: CLOCK, HOLDS, SOURCES, MARKS frames (event = utterance id). utc_us, utc_sigma_s: the
    instant of each utterance (null unknown) and how sure. outcome: liftoff | scrub | cutoff | unresolved, at outcome_us.
    utc_known: False when no log tells wall time, and the count is laid on its schedule. base: what it was settled from, for `refine`.
    slips: what moved T-0, adding up to the delay. laid, laid_sigma_s: the clock, and the sigma of each utterance, as sure as they are beside each other, where both
    may be off UTC together.
    """

    clock: pd.DataFrame
    holds: pd.DataFrame
    sources: pd.DataFrame
    marks: pd.DataFrame
    utc_us: pd.Series
    utc_sigma_s: NDArray[np.float64]
    outcome: str
    outcome_us: int | None
    utc_known: bool
    base: Base | None = field(default=None, repr=False)
    slips: tuple[Slip, ...] = ()
    laid: pd.DataFrame = field(default_factory=pd.DataFrame, repr=False)
    laid_sigma_s: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0), repr=False)
