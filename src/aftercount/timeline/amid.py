"""When was an entry written that gives only the count, in a log that gives the time of day else?

It stands in order, so between the entries with a time before and behind it, and it reads the count then. Before the clock is known entries
between two times are laid in the middle as far apart as their counts are, if the counts go on and there is room, else evenly.
Where the clock then runs through that count within the same gap, that is when it was written; in a hold the place between the others stays.

Own times and count times in seconds; entries in the order of their log.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount.timeline import clock as clocks
from aftercount.timeline.model import Floats, Ints

EVEN = 12**-0.5  # standard deviation of an instant that may lie anywhere in a gap, as a share of it
HELD_S = 1.0  # a count so near that of a hold is that hold's


def between(own: Floats, told: Floats, source: Ints) -> tuple[Floats, Floats]:
    """Own times of entries that tell only the count (`told`, else NaN), from those before and behind them in their log, and how far they may be off (sigma)."""
    out, sigma = own.copy(), np.zeros(len(own))
    for s in np.unique(source[np.isfinite(told)]).tolist():
        mine = np.flatnonzero((source == s) & (np.isfinite(own) | np.isfinite(told)))
        timed = np.flatnonzero(np.isfinite(own[mine]))
        for a, b in zip(timed[:-1].tolist(), timed[1:].tolist(), strict=True):
            inside = mine[a + 1:b]
            low, high = float(own[mine[a]]), float(own[mine[b]])
            if len(inside) and high >= low:
                out[inside], sigma[inside] = _laid(told[inside], low, high)
    return out, sigma


def _laid(t: Floats, low: float, high: float) -> tuple[Floats, float]:
    room = high - low - (t[-1] - t[0])
    if (np.diff(t) >= 0).all() and room >= 0:
        return low + room / 2 + t - t[0], EVEN * room
    return low + (high - low) * (np.arange(len(t)) + 1) / (len(t) + 1), EVEN * (high - low)


def by_the_clock(u: Floats, off: Floats, told: Floats, clock: pd.DataFrame, t0_us: int) -> tuple[Floats, NDArray[np.bool_]]:
    """The entries' instants, by the clock where it read what they tell no further off than they may be (`off`, sigmas), and which those are."""
    mine = np.flatnonzero(np.isfinite(told) & np.isfinite(u))
    out, placed = u.copy(), np.zeros(len(u), dtype=bool)
    if not len(mine) or not len(clock):
        return out, placed
    passes = clocks.at(clock, pd.array(np.rint(u[mine] * 1e6).astype(np.int64) + t0_us, dtype="Int64"))[2]
    held = clock.loc[clock["state"] == "holding", "start_t_s"].to_numpy(dtype=float)
    for number in np.unique(passes[passes > 0]).tolist():
        these = mine[passes == number]
        read = clocks.utc_of(clock, told[these], int(number))
        at = np.where(read.isna(), np.nan, (read.fillna(0).to_numpy(dtype=np.int64) - t0_us) / 1e6)
        ran = np.abs(told[these][:, None] - held[None, :]).min(axis=1, initial=np.inf) > HELD_S
        right = ran & (np.abs(at - u[these]) <= np.maximum(off[these] / EVEN / 2, HELD_S))
        out[these[right]], placed[these[right]] = at[right], True
    return out, placed
