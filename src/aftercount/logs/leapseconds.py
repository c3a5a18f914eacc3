"""At which instants was a leap second inserted?

Convention: POSIX seconds of the 00:00:00Z that follows the inserted 23:59:60Z. Source: the leap second table kept by
the IERS as the time zone database distributes it (28 rows, the first of which, 1972-01-01, starts the count at 10 s
and inserted nothing). It says nothing of leap seconds announced later: none has been since 2016-12-31.
"""

from __future__ import annotations

from bisect import bisect_right

# POSIX second from which TAI-UTC has the value beside it.
TABLE: tuple[tuple[int, int], ...] = (
    (63072000, 10), (78796800, 11), (94694400, 12), (126230400, 13), (157766400, 14), (189302400, 15),
    (220924800, 16), (252460800, 17), (283996800, 18), (315532800, 19), (362793600, 20), (394329600, 21),
    (425865600, 22), (489024000, 23), (567993600, 24), (631152000, 25), (662688000, 26), (709948800, 27),
    (741484800, 28), (773020800, 29), (820454400, 30), (867715200, 31), (915148800, 32), (1136073600, 33),
    (1230768000, 34), (1341100800, 35), (1435708800, 36), (1483228800, 37),
)
_STARTS = [start for start, _ in TABLE]
INSERTED = frozenset(_STARTS[1:])


def tai_minus_utc(posix_s: float) -> int | None:
    """Whole seconds from 1972 on; None before."""
    at = bisect_right(_STARTS, posix_s)
    return TABLE[at - 1][1] if at else None


def elapsed_si(start_us: int, end_us: int) -> float | None:
    """Seconds that a good stopwatch shows between two POSIX instants, leap seconds counted; None before 1972."""
    first, last = tai_minus_utc(start_us / 1e6), tai_minus_utc(end_us / 1e6)
    if first is None or last is None:
        return None
    return (end_us - start_us) / 1e6 + (last - first)
