"""When, by the schedule, would the count clock read a given count time?

Conventions: int64 microseconds UTC; the scheduled T-0 is the count's `t0`, so every built-in hold between a count
time and T-0 moves that count time earlier by its planned length. At a hold's own T there are two answers, the instant
the hold begins and the instant it is over; elsewhere they are the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from aftercount.count.model import CountFolder
from aftercount.plan.model import Plan

_US = 1_000_000.0


class Scheduled(NamedTuple):
    """int64 microseconds: when the clock first reads the count time, and when it leaves it."""

    earliest_us: np.ndarray
    latest_us: np.ndarray


def schedule_utc(plan: Plan, count: CountFolder, t_s: Sequence[float] | np.ndarray | float) -> Scheduled:
    """Planned wall times of count times; a single count time gives arrays of one."""
    asked = np.atleast_1d(np.asarray(t_s, dtype=float))
    holds = plan.holds.sort_values("t_s", kind="stable")
    at = holds["t_s"].to_numpy(dtype=float)
    # still[i]: hold time to come from hold i on.
    still = np.append(np.cumsum(holds["duration_s"].to_numpy(dtype=float)[::-1])[::-1], 0.0)
    begins = asked - still[np.searchsorted(at, asked, side="left")]
    ends = asked - still[np.searchsorted(at, asked, side="right")]
    return Scheduled(_instant(count, begins), _instant(count, ends))


def _instant(count: CountFolder, offset_s: np.ndarray) -> np.ndarray:
    return count.t0_us + np.rint(offset_s * _US).astype(np.int64)
