"""What did the count clock read at an instant, and when did it first read a given count time?

Conventions: a clock is a CLOCK frame: contiguous segments in time order, a `pass` column that rises at a recycle.
Instants are int64 microseconds POSIX UTC, count times seconds relative to T-0. Pure arithmetic, vectorised.
Where two segments share an instant the later one rules: at the instant a hold begins the state is 'holding', and at
the instant of a recycle the new pass has begun. Before the first segment and after the last there is no reading.

It does not estimate the clock (that is `timeline`) and knows nothing of the plan.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

_US = 1_000_000.0
# Count times that differ by less than half a microsecond are the same reading: instants are whole microseconds.
_SAME_S = 5e-7


def to_us(times: pd.Series) -> np.ndarray:
    """The int64 microseconds of a column of UTC timestamps; a null is the least int64."""
    return times.to_numpy(dtype="datetime64[us]").astype(np.int64)


def from_us(us: Any) -> pd.Series:
    """UTC timestamps from integer microseconds (an array, a column, a list); a null stays null."""
    values = pd.Series(us, dtype="Int64").reset_index(drop=True)
    plain = values.fillna(0).to_numpy(dtype=np.int64).astype("datetime64[us]")
    return pd.Series(plain).dt.tz_localize("UTC").mask(values.isna())


def at(clock: pd.DataFrame, utc_us: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Count time, state, pass and sigma at each instant: (float, object, int, float) arrays.

    Outside the clock: NaN, None, 0, NaN. The last segment includes its own end.
    """
    asked = np.asarray(utc_us, dtype=np.int64)
    none = np.full(len(asked), None, dtype=object)
    nan = np.full(len(asked), np.nan)
    if clock.empty:
        return nan, none, np.zeros(len(asked), dtype=np.int64), nan.copy()
    start, end = to_us(clock["start_utc"]), to_us(clock["end_utc"])
    which = np.searchsorted(start, asked, side="right") - 1
    inside = (which >= 0) & (asked <= end[-1])
    which = np.clip(which, 0, len(start) - 1)
    runs = np.where(clock["state"].to_numpy() == "counting", 1.0, 0.0)
    t_s = clock["start_t_s"].to_numpy(dtype=float)[which] + runs[which] * (asked - start[which]) / _US
    state = clock["state"].to_numpy(dtype=object)[which]
    pass_ = clock["pass"].to_numpy(dtype=np.int64)[which]
    sigma = clock["sigma_s"].to_numpy(dtype=float)[which]
    return (np.where(inside, t_s, np.nan), np.where(inside, state, none),
            np.where(inside, pass_, 0), np.where(inside, sigma, np.nan))


def utc_of(clock: pd.DataFrame, t_s: np.ndarray, pass_: np.ndarray | int) -> pd.arrays.IntegerArray:
    """The first instant at which the clock read `t_s`, or had passed it, in that pass; null where it never did.

    At a hold's own T that is the instant the hold began; where the clock was set ahead over a count time, the instant
    of the setting.
    """
    asked = np.asarray(t_s, dtype=float)
    passes = np.broadcast_to(np.asarray(pass_, dtype=np.int64), asked.shape)
    out = np.zeros(len(asked), dtype=np.int64)
    open_ = np.ones(len(asked), dtype=bool)
    found = np.zeros(len(asked), dtype=bool)
    columns = (clock["pass"].astype("int64"), to_us(clock["start_utc"]), clock["start_t_s"], clock["end_t_s"])
    begun: set[int] = set()
    for number, start, low, high in zip(*columns, strict=True):
        mine = open_ & (passes == number)
        if number not in begun:
            open_ &= ~(mine & (asked < low - _SAME_S))  # before the pass began: never read in it
            mine &= open_
            begun.add(number)
        hit = mine & (asked <= high + _SAME_S)
        out[hit] = start + np.rint((np.clip(asked[hit], low, high) - low) * _US).astype(np.int64)
        found |= hit
        open_ &= ~hit
    return pd.arrays.IntegerArray(out, ~found)
