"""What did the rebuilt count clock read at an instant, and how sure is that?

As `countclock`, on a CLOCK frame of this stage: missing instants (null) have no reading, and the sigma is that of the
segment, or `unsure_s` where the instant lies in the part of a segment that an inferred hold may have moved
(outside `sure_from_utc` .. `sure_to_utc`).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from aftercount import countclock
from aftercount.countclock import utc_of as utc_of

__all__ = ["at", "utc_of"]


def at(clock: pd.DataFrame, utc_us: Any) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Count time, state, pass and sigma at each instant (int64 microseconds, null allowed).

    No reading is NaN, None, 0, NaN.
    """
    asked = pd.Series(pd.array(utc_us, dtype="Int64"))
    known = np.asarray(asked.notna())
    us = np.asarray(asked.fillna(0), dtype=np.int64)
    t_s, state, pass_, sigma = countclock.at(clock, us)
    if len(clock):
        sigma = _bracketed(clock, us, sigma)
    state[~known] = None
    return np.where(known, t_s, np.nan), state, np.where(known, pass_, 0), np.where(known, sigma, np.nan)


def _bracketed(clock: pd.DataFrame, us: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    unsure = clock["unsure_s"].to_numpy(dtype=float)
    if np.isnan(unsure).all():
        return sigma
    starts, ends = countclock.to_us(clock["start_utc"]), countclock.to_us(clock["end_utc"])
    which = np.clip(np.searchsorted(starts, us, side="right") - 1, 0, len(clock) - 1)
    sure_from = np.where(clock["sure_from_utc"].isna(), starts, countclock.to_us(clock["sure_from_utc"].fillna(clock["start_utc"])))
    sure_to = np.where(clock["sure_to_utc"].isna(), ends, countclock.to_us(clock["sure_to_utc"].fillna(clock["end_utc"])))
    outside = ((us < sure_from[which]) | (us > sure_to[which])) & ~np.isnan(unsure[which])
    return np.where(outside & ~np.isnan(sigma), np.fmax(unsure[which], sigma), sigma)
