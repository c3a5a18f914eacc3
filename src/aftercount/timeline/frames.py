"""The staircase, the holds and the marks as tables: seconds after the scheduled T-0 become instants.

It decides nothing but the rounding: whole microseconds, and segments that meet exactly.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from aftercount import tables
from aftercount.countclock import from_us
from aftercount.timeline.model import COUNTING
from aftercount.timeline.staircase import Segment


def instant_us(u: float, t0_us: int) -> int:
    return t0_us + round(u * 1e6)


def clock_frame(segments: list[Segment], t0_us: int) -> pd.DataFrame:
    """A CLOCK frame. Segments that would last less than a microsecond are left out."""
    rows: list[dict[str, Any]] = []
    for s in segments:
        start, end = instant_us(s.start, t0_us), instant_us(s.end, t0_us)
        if end <= start:
            continue
        counting = s.state == COUNTING
        start_t = round(s.start_t, 6)
        rows.append({
            "segment": len(rows), "pass": s.pass_, "state": "counting" if counting else "holding",
            "start_utc": start, "end_utc": end, "start_t_s": start_t,
            "end_t_s": round(start_t + (end - start) / 1e6, 6) if counting else start_t, "sigma_s": s.sigma,
            "sure_from_utc": None if s.sure_from is None else instant_us(s.sure_from, t0_us),
            "sure_to_utc": None if s.sure_to is None else instant_us(s.sure_to, t0_us), "unsure_s": s.unsure,
        })
    frame = pd.DataFrame(rows, columns=tables.CLOCK.columns)
    for column in ("start_utc", "end_utc", "sure_from_utc", "sure_to_utc"):
        frame[column] = from_us(pd.array(frame[column].tolist(), dtype="Int64"))
    return tables.CLOCK.conform(frame)


def utc_column(values: list[float | None], t0_us: int) -> pd.Series:
    """Instants from seconds after the scheduled T-0; None and NaN are null."""
    whole = [None if v is None or not np.isfinite(v) else instant_us(v, t0_us) for v in values]
    return from_us(pd.array(whole, dtype="Int64"))
