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
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

import numpy as np

from aftercount.logs.walltime import DAY_US, US, Stamp, is_leap

# A step back of up to this much is a note written down late; more is the next day. People log up to an hour or two
# behind; no team leaves its log for 22 hours and then carries on.
LATE_NOTE_US = 2 * 3600 * US
# A log that begins within the first minutes after zero, and stops or starts this far from T-0, is a stopwatch's.
_ZERO_US, _FAR_US = 600 * US, 3 * 3600 * US
_HOUR_US = 3600 * US
_EPOCH = dt.datetime(1970, 1, 1)
_BARE = {"day_utc": "utc", "day_local": "local"}


@dataclass
class Dated:
    """kind 'utc' | 'count' | 'elapsed' | 'none' and microseconds (None where none), one each; bad: index -> reason."""

    kinds: list[str]
    us: list[int | None]
    bad: dict[int, str] = field(default_factory=dict)


def place(stamps: list[Stamp | None], t0_us: int, zone: str) -> Dated:
    """Give every stamp its instant. `None` (no time) stays so."""
    kinds = [s.kind if s is not None else "none" for s in stamps]
    us: list[int | None] = [s.us if s is not None else None for s in stamps]
    out = Dated(kinds, us)
    seen = set(kinds)
    for bare, dated in _BARE.items():
        if bare in seen:
            _unwrap(out, bare, dated, _local(t0_us, zone) if dated == "local" else t0_us)
    if seen & {"local", "day_local"}:
        _localise(out, zone)
    for i in [i for i, s in enumerate(stamps) if s is not None and s.leap] if "none" not in seen or len(seen) > 1 else []:
        value = out.us[i]
        if value is not None and not is_leap(value):
            out.bad[i] = "no leap second was inserted then"
    return out


def _unwrap(out: Dated, bare: str, dated: str, anchor_us: int) -> None:
    """Turn times of day into dated ones of the same clock, each run following the dated entry before it."""
    if dated not in out.kinds:
        where = [i for i, k in enumerate(out.kinds) if k == bare]
        run = follow(np.fromiter((out.us[i] or 0 for i in where), dtype=np.int64, count=len(where)))
        run += nearest_day(run, anchor_us) * DAY_US
        for i, value in zip(where, run.tolist(), strict=True):
            out.us[i], out.kinds[i] = value, dated
        return
    first = next(i for i, k in enumerate(out.kinds) if k == dated)
    last = out.us[first] or 0
    for i in range(first - 1, -1, -1):
        if out.kinds[i] == bare:
            step = (last - (out.us[i] or 0) + LATE_NOTE_US) % DAY_US - LATE_NOTE_US
            last -= step
            out.us[i], out.kinds[i] = last, dated
    last = out.us[first] or 0
    for i in range(first, len(out.kinds)):
        if out.kinds[i] == bare:
            step = ((out.us[i] or 0) - last + LATE_NOTE_US) % DAY_US - LATE_NOTE_US
            out.us[i], out.kinds[i] = last + step, dated
        if out.kinds[i] == dated:
            last = out.us[i] or 0


def counts_from_zero(stamps: list[Stamp | None], t0_us: int) -> bool:
    """Are these times of day none, but time since the log began? They begin at nothing and end far from scheduled T-0."""
    bare = [s for s in stamps if s is not None and s.kind in _BARE]
    if len(bare) < 2 or any(s is not None and s.kind in _BARE.values() for s in stamps) or bare[0].us > _ZERO_US:
        return False
    run = follow(np.fromiter((s.us for s in bare), dtype=np.int64, count=len(bare)))
    run += nearest_day(run, t0_us) * DAY_US
    return bool(run.min() - t0_us > _FAR_US or t0_us - run.max() > _FAR_US)


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


def _localise(out: Dated, zone: str) -> None:
    """Local instants to UTC. A wall time that the clock showed twice is read so that it does not go back."""
    offsets: dict[int, tuple[int, int]] = {}
    info, last = ZoneInfo(zone), None
    for i, kind in enumerate(out.kinds):
        value = out.us[i]
        if kind != "local" or value is None:
            continue
        # Zones change by whole quarters of an hour, on one: all of a quarter has one offset.
        quarter = value // (_HOUR_US // 4)
        if quarter not in offsets:
            offsets[quarter] = _offsets(quarter * (_HOUR_US // 4), info)
        first, second = offsets[quarter]
        at = value - first
        if first != second and last is not None and last - at > _HOUR_US // 4:
            at = value - second
        out.us[i], out.kinds[i], last = at, "utc", at


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
