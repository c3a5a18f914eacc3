"""How are the review's values said in words? Short forms for labels, spoken forms for sentences.

Conventions: deviations are actual minus due, so positive is late; missing values read as a dash in tables.
It does not choose what is worth saying.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from aftercount.counttime import format_count

DASH = "–"
OUTCOMES = {
    "liftoff": "lift-off", "scrub": "scrubbed", "cutoff": "cut off", "unresolved": "how it ended is not in the logs",
}
KINDS = {"rehearsal": "rehearsal", "wet-dress": "wet dress rehearsal", "attempt": "launch attempt"}
HOLD_KINDS = {"built_in": "built-in hold", "unplanned": "unplanned hold"}
_HOUR_S = 3600.0
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def count_time(t_s: float | None) -> str:
    return DASH if t_s is None else format_count(t_s)


def second(utc: Any) -> Any:
    """The instant to its nearest second: what every time of day in the words is told to."""
    return (utc + timedelta(microseconds=500_000)).replace(microsecond=0)


def clock_time(utc: Any) -> str:
    """The time of day in UTC to the nearest second, with the date left to the context."""
    return DASH if utc is None else f"{second(utc):%H:%M:%S}Z"


def tenth_time(utc: Any) -> str:
    """The time of day in UTC to the tenth of a second, for times that are subtracted."""
    if utc is None:
        return DASH
    at = utc + timedelta(microseconds=50_000)
    return f"{at:%H:%M:%S}.{at.microsecond // 100_000}Z"


def wall_time(utc: Any) -> str:
    return DASH if utc is None else f"{second(utc):%Y-%m-%d %H:%M:%S}Z"


def instant(text: object) -> str:
    """An RFC 3339 instant to the nearest second, as it is read aloud or written on a board."""
    try:
        at = datetime.fromisoformat(str(text))
    except ValueError:
        return str(text)
    return second(at).strftime("%Y-%m-%dT%H:%M:%SZ")


def duration(seconds: float | None) -> str:
    """'2 h 14 min', '12 min 5 s', '8 s', '0.4 s': lengths of time, in every table and every sentence."""
    if seconds is None:
        return DASH
    size = abs(seconds)
    tenths = round(size, 1)
    if tenths < 10 and tenths != round(tenths):
        return f"{tenths:.1f} s"
    whole = round(size)
    parts = [(whole // 3600, "h"), (whole // 60 % 60, "min"), (whole % 60, "s")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) or "0 s"


def signed(seconds: float | None) -> str:
    """A length with its sign: '+4 min', '-12 s', '0 s'."""
    if seconds is None:
        return DASH
    words = duration(seconds)
    return words if words == "0 s" else ("-" if seconds < 0 else "+") + words


def deviation(seconds: float | None) -> str:
    """'+12.0 s', '-3.5 s', '+2 min 5.3 s', '+1 h 4 min'; the sign is always there, the tenths up to an hour."""
    if seconds is None:
        return DASH
    tenths = round(abs(seconds), 1)
    sign = "-" if seconds < 0 and tenths else "+"
    if tenths >= _HOUR_S:
        return sign + duration(seconds)
    minutes = int(tenths // 60)
    return sign + (f"{minutes} min " if minutes else "") + f"{tenths - 60 * minutes:.1f} s"


def spoken_deviation(seconds: float) -> str:
    return f"{duration(seconds)} {'late' if seconds > 0 else 'early'}"


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
