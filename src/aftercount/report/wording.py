"""How are the review's values said in words? Short forms for labels, spoken forms for sentences.

Conventions: deviations are actual minus due, so positive is late; missing values read as a dash in tables.
It does not choose what is worth saying.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from aftercount.counttime import format_count, format_duration

DASH = "–"
OUTCOMES = {
    "liftoff": "lift-off", "scrub": "scrubbed", "cutoff": "cut off", "unresolved": "how it ended is not in the logs",
}
KINDS = {"rehearsal": "rehearsal", "wet-dress": "wet dress rehearsal", "attempt": "launch attempt"}
HOLD_KINDS = {"built_in": "built-in hold", "unplanned": "unplanned hold"}
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def count_time(t_s: float | None) -> str:
    return DASH if t_s is None else format_count(t_s)


def clock_time(utc: Any) -> str:
    """The time of day in UTC to the second, with the date left to the context."""
    return DASH if utc is None else f"{utc:%H:%M:%S}Z"


def wall_time(utc: Any) -> str:
    return DASH if utc is None else f"{utc:%Y-%m-%d %H:%M:%S}Z"


def instant(text: object) -> str:
    """An RFC 3339 instant to the nearest second, as it is read aloud or written on a board."""
    try:
        at = datetime.fromisoformat(str(text))
    except ValueError:
        return str(text)
    return (at + timedelta(microseconds=500_000)).strftime("%Y-%m-%dT%H:%M:%SZ")


def duration(seconds: float | None) -> str:
    return DASH if seconds is None else format_duration(seconds)


def spoken(seconds: float) -> str:
    """A duration as one says it: '2 hours 14 minutes', '12 minutes 5 seconds', '8 seconds', '0.4 seconds'."""
    size = abs(seconds)
    if round(size) < 10 and round(size, 1) != round(size):
        return f"{size:.1f} seconds"
    whole = round(size)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    parts = [_units(hours, "hour"), _units(minutes, "minute"), _units(rest, "second")]
    return " ".join(p for p in parts if p) or "0 seconds"


def _units(n: int, unit: str) -> str:
    return f"{n} {unit}{'' if n == 1 else 's'}" if n else ""


def deviation(seconds: float | None) -> str:
    """'+12.0 s', '-3.5 s', '+2 min 05 s', '+1 h 04 min'; the sign is always there, and the units."""
    if seconds is None:
        return DASH
    tenths = round(abs(seconds), 1)
    sign = "-" if seconds < 0 and tenths else "+"
    if tenths < 100:
        return f"{sign}{tenths:.1f} s"
    whole = round(abs(seconds))
    if whole < 3600:
        return f"{sign}{whole // 60} min {whole % 60:02d} s"
    return f"{sign}{whole // 3600} h {whole // 60 % 60:02d} min"


def spoken_deviation(seconds: float) -> str:
    return f"{spoken(seconds)} {'late' if seconds > 0 else 'early'}"


def number(n: int) -> str:
    return _SMALL[n] if 0 <= n < len(_SMALL) else str(n)


def counted(n: int, one: str, many: str | None = None) -> str:
    """'no steps', 'one step', '14 steps'."""
    return f"{number(n)} {one if n == 1 else many or one + 's'}"


def listed(items: list[str], most: int = 12) -> str:
    """'a, b and c'; a long list is cut and says by how much."""
    if len(items) > most:
        return f"{', '.join(items[:most])} and {len(items) - most} more"
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


def either(items: list[str]) -> str:
    """'a, b or c'."""
    return " or ".join([*([", ".join(items[:-1])] if len(items) > 1 else []), *items[-1:]])


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
