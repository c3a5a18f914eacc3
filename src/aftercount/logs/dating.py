"""Which day does each time of day belong to, and what instant is each stamp then?

Conventions: stamps come in file order; instants go out as int64 microseconds, POSIX UTC (for `count` and `elapsed`
kinds, as they are). Local time is read by the count's IANA zone; in the hour that a clock going back repeats, the
reading that keeps the file in order is taken.
A log may step back a little (a late note) without a new day; otherwise time of day only goes forward. Where no entry
of the file gives a date, the days are those nearest scheduled T-0.

It does not correct the log's clock: `timeline` does.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from aftercount.logs.walltime import DAY_US, US, Stamp, is_leap

# A step back of up to this much is a note written down late; more is the next day. People log up to an hour or two
# behind; no team leaves its log for 22 hours and then carries on.
LATE_NOTE_US = 2 * 3600 * US
# A log that begins within the first minutes after zero, and stops or starts this far from T-0, is a stopwatch's.
_ZERO_US, _FAR_US = 600 * US, 3 * 3600 * US
_QUARTER_US = 900 * US
_EPOCH = dt.datetime(1970, 1, 1)
KINDS = ("none", "utc", "local", "day_utc", "day_local", "count", "elapsed")
_CODE = {name: code for code, name in enumerate(KINDS)}
_BARE = {"day_utc": "utc", "day_local": "local"}


@dataclass
class Times:
    """One kind (index into KINDS) and microseconds a stamp, as arrays; `leap`: where a second was numbered 60."""

    kind: np.ndarray
    us: np.ndarray
    leap: np.ndarray

    @classmethod
    def of(cls, stamps: list[Stamp | None]) -> Times:
        size = len(stamps)
        kind = np.fromiter((_CODE[s.kind] if s is not None else 0 for s in stamps), dtype=np.int8, count=size)
        us = np.fromiter((s.us if s is not None else 0 for s in stamps), dtype=np.int64, count=size)
        leap = np.flatnonzero(np.fromiter((s is not None and s.leap for s in stamps), dtype=bool, count=size))
        return cls(kind, us, leap)

    def has(self, name: str) -> bool:
        return bool((self.kind == _CODE[name]).any())


def place(times: Times, t0_us: int, zone: str) -> dict[int, str]:
    """Give every stamp its instant, in place; afterwards kinds are none, utc, count or elapsed. The bad ones, with reasons."""
    for bare, dated in _BARE.items():
        if times.has(bare):
            _unwrap(times, _CODE[bare], _CODE[dated], _local(t0_us, zone) if dated == "local" else t0_us)
    if times.has("local"):
        _localise(times, zone)
    return {int(i): "no leap second was inserted then" for i in times.leap
            if times.kind[i] == _CODE["utc"] and not is_leap(int(times.us[i]))}


def _unwrap(times: Times, bare: int, dated: int, anchor_us: int) -> None:
    """Turn times of day into dated ones of the same clock, each run following the dated entry before it."""
    where = np.flatnonzero((times.kind == bare) | (times.kind == dated))
    known = times.kind[where] == dated
    us = times.us[where]
    run = follow(us % DAY_US)
    if not known.any():
        run += nearest_day(run, anchor_us) * DAY_US
    else:
        # Between two dated entries the run counts on from the first; before the first it counts back from that.
        at = np.maximum.accumulate(np.where(known, np.arange(len(us)), -1))
        at[at < 0] = int(np.argmax(known))
        run += us[at] - run[at]
    times.us[where] = np.where(known, us, run)
    times.kind[where] = dated


def counts_from_zero(times: Times, t0_us: int, zone: str) -> bool:
    """Are these times of day none, but time since the log began? They begin at nothing and end far from scheduled T-0, by UTC or by the zone's clocks as they say."""
    bare = times.us[(times.kind == _CODE["day_utc"]) | (times.kind == _CODE["day_local"])]
    if len(bare) < 2 or times.has("utc") or times.has("local") or bare[0] > _ZERO_US:
        return False
    anchor = _local(t0_us, zone) if times.has("day_local") else t0_us
    run = follow(bare)
    run += nearest_day(run, anchor) * DAY_US
    return bool(run.min() - anchor > _FAR_US or anchor - run.max() > _FAR_US)


def to_elapsed(times: Times) -> None:
    times.kind[(times.kind == _CODE["day_utc"]) | (times.kind == _CODE["day_local"])] = _CODE["elapsed"]


def follow(day_us: np.ndarray) -> np.ndarray:
    """Times of day in file order, as one run from the first one's midnight: midnight rolls over, small steps back stay."""
    if len(day_us) == 0:
        return day_us.astype(np.int64)
    steps = (np.diff(day_us) + LATE_NOTE_US) % DAY_US - LATE_NOTE_US
    return day_us[0] + np.concatenate(([0], np.cumsum(steps)))


def nearest_day(run_us: np.ndarray, anchor_us: int) -> int:
    """The day number to add so that the run covers the anchor, or ends or begins as near to it as can be."""
    if len(run_us) == 0:
        return 0
    low, high = int(run_us.min()), int(run_us.max())
    guess = (anchor_us - high) // DAY_US

    def distance(day: int) -> tuple[int, int]:
        start, end = low + day * DAY_US, high + day * DAY_US
        return max(start - anchor_us, anchor_us - end, 0), abs(end - anchor_us)

    return min(range(guess - 1, guess + 3), key=distance)


def _local(us: int, zone: str) -> int:
    """What the zone's clocks show at a UTC instant, as microseconds since 1970 on those clocks."""
    at = (_EPOCH + dt.timedelta(microseconds=us)).replace(tzinfo=dt.UTC)
    try:
        return (at.astimezone(ZoneInfo(zone)).replace(tzinfo=None) - _EPOCH) // dt.timedelta(microseconds=1)
    except OverflowError:
        return us


def _localise(times: Times, zone: str) -> None:
    """Local instants to UTC. A wall time that the clock showed twice is read so that the file does not go back."""
    where = np.flatnonzero(times.kind == _CODE["local"])
    us, info = times.us[where], ZoneInfo(zone)
    # Zones change on a quarter of an hour: all of a quarter has one offset.
    quarters, which = np.unique(us // _QUARTER_US, return_inverse=True)
    offsets = np.array([_offsets(int(q) * _QUARTER_US, info) for q in quarters], dtype=np.int64)
    at = us - offsets[which, 0]
    for i in np.flatnonzero((offsets[:, 0] != offsets[:, 1])[which]):
        if i and at[i - 1] - at[i] > _QUARTER_US:
            at[i] = us[i] - offsets[which[i], 1]
    times.us[where], times.kind[where] = at, _CODE["utc"]


def _offsets(local_us: int, info: ZoneInfo) -> tuple[int, int]:
    """Microseconds ahead of UTC at that local time, at its first and its second occurrence."""
    try:
        at = _EPOCH + dt.timedelta(microseconds=local_us)
        first, second = (info.utcoffset(at.replace(fold=f)) or dt.timedelta() for f in (0, 1))
    except OverflowError:
        return 0, 0
    if first < second:  # a local time that the clock skipped, not one it repeated
        second = first
    return tuple(d // dt.timedelta(microseconds=1) for d in (first, second))  # type: ignore[return-value]
