"""How is a count time, a duration or an instant written, and how is it read back?

Conventions: count times are seconds relative to T-0, negative before it; durations are seconds, never negative;
instants are int64 microseconds, POSIX UTC. Readers take the whole string or nothing: they return None for anything
that is not exactly a time, so they may be asked about any cell. Hours are not capped at 24.

It does not find times inside free text (that is `speech` and `logs`) and does not read wall time.
"""

from __future__ import annotations

import datetime as dt
import re

# 'T-01:30:00', 'T-90:00' (minutes:seconds), 'T-31s', '-00:05:00', 'T+12', 'T-9.3', 'T-2h30m', 'T-0', 'T 0'
_SIGNED = re.compile(r"(?:T\s*)?([+-])\s*(.+)", re.IGNORECASE)
_ZERO = re.compile(r"T\s*(?:[+-]\s*)?0+(?:[:.]0+)*\s*s?", re.IGNORECASE)
# '00:10:00', '10:00', '1:02:03.5'
_CLOCK = re.compile(r"(\d+):(\d{2})(?::(\d{2})(\.\d+)?)?(?<!:)")
_CLOCK_FRACTION = re.compile(r"(\d+):(\d{2})(\.\d+)")
# '600', '9.3'
_NUMBER = re.compile(r"\d+(?:\.\d+)?|\.\d+")
# '1h30m', '90 s', '10 min', '2 hours 5 minutes', '1d'
_UNITS = re.compile(
    r"(?:(\d+(?:\.\d+)?)\s*(?:d|days?)\s*)?"
    r"(?:(\d+(?:\.\d+)?)\s*(?:h|hrs?|hours?)\s*)?"
    r"(?:(\d+(?:\.\d+)?)\s*(?:m|mins?|minutes?)\s*)?"
    r"(?:(\d+(?:\.\d+)?)\s*(?:s|secs?|seconds?)\s*)?",
    re.IGNORECASE,
)
# Typographic dashes and the minus sign that editors and spreadsheets put in place of a hyphen.
_DASHES = str.maketrans({"\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-", "\u2212": "-"})
# A longer text is no time that anyone wrote, and its digits would overflow a float.
_LONGEST = 60
_UNIT_S = (86400.0, 3600.0, 60.0, 1.0)
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


def parse_count(text: str) -> float | None:
    """Seconds relative to T-0, or None. A sign is required (or plain zero): 'T-90:00' is ninety minutes before T-0.

    >>> parse_count("T-01:30:00"), parse_count("T-90:00"), parse_count("T+12"), parse_count("soon")
    (-5400.0, -5400.0, 12.0, None)
    """
    cleaned = text.strip().translate(_DASHES)
    if _ZERO.fullmatch(cleaned) or cleaned == "0":
        return 0.0
    found = _SIGNED.fullmatch(cleaned)
    if not found:
        return None
    size = parse_duration(found[2])
    if size is None:
        return None
    return -size if found[1] == "-" and size else size


def parse_duration(text: str) -> float | None:
    """Seconds, or None.

    >>> [parse_duration(text) for text in ("00:10:00", "10:00", "600", "1h30m", "90 s", "long")]
    [600.0, 600.0, 600.0, 5400.0, 90.0, None]
    """
    cleaned = text.strip()
    if not cleaned.isascii():
        return None
    if len(cleaned) > _LONGEST:
        return None
    if _NUMBER.fullmatch(cleaned):
        return float(cleaned)
    if ":" in cleaned:
        return _colons(cleaned)
    found = _UNITS.fullmatch(cleaned)
    if not cleaned or not found:
        return None
    return sum(float(n) * unit for n, unit in zip(found.groups(), _UNIT_S, strict=True) if n)


def _colons(text: str) -> float | None:
    """'h:mm:ss[.f]' or 'm:ss[.f]'; only the first field may pass 59."""
    found = _CLOCK.fullmatch(text)
    if found and found[3]:
        hours, minutes, seconds = int(found[1]), int(found[2]), int(found[3]) + float(found[4] or 0)
    elif found or (found := _CLOCK_FRACTION.fullmatch(text)):
        fraction = float(found[3]) if found.re is _CLOCK_FRACTION else 0.0
        hours, minutes, seconds = 0, int(found[1]), int(found[2]) + fraction
        return None if seconds >= 60 else minutes * 60.0 + seconds
    else:
        return None
    return None if minutes > 59 or seconds >= 60 else hours * 3600.0 + minutes * 60.0 + seconds


def format_count(t_s: float) -> str:
    """To the tenth of a second, the tenth shown only when it is not zero.

    >>> format_count(-300), format_count(12.3)
    ('T-00:05:00', 'T+00:00:12.3')
    """
    sign = "-" if round(t_s * 10) <= 0 else "+"
    return f"T{sign}{_hms(abs(t_s))}"


def format_duration(s: float) -> str:
    """Hours, minutes, seconds; a negative difference keeps its sign.

    >>> format_duration(3911), format_duration(-20)
    ('01:05:11', '-00:00:20')
    """
    return ("-" if round(s * 10) < 0 else "") + _hms(abs(s))


def _hms(size_s: float) -> str:
    tenths = round(size_s * 10)
    whole, tenth = divmod(tenths, 10)
    text = f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{text}.{tenth}" if tenth else text


def format_utc(us: int) -> str:
    """RFC 3339 with Z; the fraction is shown only when there is one, without trailing zeros.

    >>> format_utc(1_934_288_703_500_000)
    '2031-04-18T14:25:03.5Z'
    """
    instant = _EPOCH + dt.timedelta(microseconds=int(us))
    text = instant.strftime("%Y-%m-%dT%H:%M:%S").rjust(19, "0")
    fraction = f".{instant.microsecond:06d}".rstrip("0") if instant.microsecond else ""
    return f"{text}{fraction}Z"


def datetime_us(instant: dt.datetime) -> int:
    """The microseconds of an aware datetime, exactly."""
    return (instant - _EPOCH) // dt.timedelta(microseconds=1)
