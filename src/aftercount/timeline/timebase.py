"""Which time does each log keep, against the reference?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount import tables
from aftercount.timeline.evidence import Evidence, Spoken
from aftercount.timeline.fit import Fit
from aftercount.timeline.sourcetime import SourceTime

if TYPE_CHECKING:
    from aftercount.count import CountFolder

Refit = Callable[[list[SourceTime], NDArray[np.bool_]], Fit]


def settle(evidence: Evidence, said: Spoken, sources: pd.DataFrame, count: CountFolder,
           refit: Refit) -> tuple[list[SourceTime], bool]:
    times = initial(said, count)
    return times, any(t.known and k == "utc" for t, k in zip(times, said.time_kind, strict=True))


def initial(said: Spoken, count: CountFolder) -> list[SourceTime]:
    """What the logs themselves say: UTC as it stands, elapsed time from a configured start, else not known."""
    starts = {spec.path: spec.start_us for spec in count.logs}
    out = []
    for name, kind in zip(said.names, said.time_kind, strict=True):
        start = starts.get(name)
        if kind == "utc":
            out.append(SourceTime((0.0,)))
        elif kind == "elapsed" and start is not None:
            out.append(SourceTime(((start - count.t0_us) / 1e6,)))
        else:
            out.append(SourceTime((0.0,), known=False))
    return out


def describe(sources: pd.DataFrame, said: Spoken, times: list[SourceTime], utc_known: bool) -> pd.DataFrame:
    frame = sources.copy()
    frame["offset_s"] = [t.offsets[-1] if t.known else np.nan for t in times]
    return tables.SOURCES.conform(frame)
