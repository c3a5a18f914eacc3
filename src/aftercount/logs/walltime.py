"""What instant does one written time mean, as far as it alone can say?

Conventions: a `Stamp` has microseconds in one of these kinds:
    utc, local            since 1970-01-01T00:00:00, of UTC or of the count's zone (not yet converted)
    day_utc, day_local    since midnight of a day that the stamp does not give
    count                 count time, negative before T-0; written in L-time, where no hold of the plan sets the two apart
    elapsed               since the log's own zero
`resolution_s` is what one step of the last written digit is worth. A second numbered 60 keeps `leap` and is placed in
the last microsecond of the second before, so that it lies between its neighbours.
A reader gives None for what is no time at all and a reason (str) for what is written as a time but cannot be one.

It does not decide which day a bare time of day belongs to (`dating` does), and guesses no date from free text.
Samples: 2031-04-18T14:25:03.5Z  2031-108T14:25:03Z  108/14:25:03Z  2031-04-18 14:25:03  1425:03Z  14:25Z  142503  14.25.03  T-5:00  L-40:00
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from typing import NamedTuple

from aftercount.counttime import parse_count, parse_duration
from aftercount.logs.leapseconds import INSERTED

US = 1_000_000
DAY_US = 86_400 * US
_EPOCH_DAY = dt.date(1970, 1, 1).toordinal()
# A two-digit year is of this century: no count logged by this tool is older.
_CENTURY = 2000
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


class Stamp(NamedTuple):
    kind: str
    us: int
    resolution_s: float
    leap: bool = False


class Frame(NamedTuple):
    """What a stamp needs from its surroundings: the scheduled T-0 for a missing year, and what a bare time means."""

    t0_us: int
    bare: str = "utc"  # utc | local | elapsed | count
    held: bool = True  # whether the plan holds the count, so that L-time (to scheduled lift-off) is another clock than T


_RFC3339 = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[Tt ](\d\d):(\d\d):(\d\d)(?:\.(\d+))?(?:([Zz])|([+-])(\d\d):(\d\d))", re.ASCII
)
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]{0,6}"
DATE = (
    r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]{0,6},? {1,2})?(?:"
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{4}[-/:.]\d{3}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d\d)"
    rf"|\d{{1,2}}[ -]?{_MONTH}[ ,-]{{0,2}}(?:\d{{4}}|\d\d(?!:))|{_MONTH}\.? {{1,2}}\d{{1,2}},? \d{{4}}|{_MONTH} {{1,2}}\d{{1,2}})"
)
_CLOCK = (
    r"(?:\d\d\.\d\d\.\d\d(?:,\d{1,12})?(?!\.\d)|\d{1,3}:\d\d(?P<sec>:\d\d(?:[.,]\d{1,12})?)?|\d{4}:\d\d(?:\.\d{1,12})?|\d{1,2}h\d\d(?:m?\d\ds?)?"
    r"|\d{6}(?:\.\d{1,12})?|\d{4})"
)
# An offset follows only a clock with seconds: after hours and minutes it would be the end of a range (14:25-14:30).
_ZONE = (
    r"(?: ?(?:Z|UTC|GMT|UT)(?![A-Za-z])| ?(?:local|LT|L(?! ?/)(?<! L(?= ?[-+]\d))|hours|hrs?|h)(?![A-Za-z])"
    r"|(?(sec) ?[+-]\d\d:?\d\d(?![\d:])|(?!)))"
)
# One written time at the head of a line. The gap after a date is a T, blanks, or one of / : , @ -
WALL = (
    rf"(?:(?P<date>{DATE})(?:[Tt]|[ ]?[/:,@-][ ]?| {{1,3}}(?:at )?))?(?P<ahead>(?:GMT|UTC|Zulu)[ :=]{{1,2}})?"
    rf"(?:(?<![\d/:-])(?:(?P<doy>\d{{3}})[/:T-]|(?:DOY|day|D) ?(?P<named_doy>\d{{3}})[ ,/:-]{{1,2}}))?(?P<clock>{_CLOCK})"
    rf"(?P<half> ?[ap]\.?m\.?(?![a-z]))?(?P<zone>{_ZONE})?(?![A-Za-z\d])(?!:\d)"
)
COUNT = r"(?:[TL] ?(?:[-+\u2010-\u2013\u2212] ?|minus |plus )(?:\d{1,3}h ?\d{1,2}m(?: ?\d{1,2}s)?|\d{1,4}m ?\d{1,2}s|\d[\d:]{0,14}(?:\.\d{1,9})?)(?: ?(?:s|secs?|seconds?|m|mins?|minutes?|h|hrs?|hours?)(?![A-Za-z]))?|T ?= ?0)(?![:.]?[A-Za-z\d])"
_LAUNCH = re.compile(r"[Ll] ?(?=[-+\u2010-\u2013\u2212]|minus |plus )")
_DOTTED = re.compile(r"\d\d\.\d\d\.\d\d")
_WALL = re.compile(WALL, re.IGNORECASE | re.ASCII)
_DATE_ONLY = re.compile(DATE, re.IGNORECASE | re.ASCII)
# A count or a recording of more than ten years is a slip of the finger.
LONGEST_COUNT_S = 10 * 366 * 86_400.0


def day_number(year: int, month: int, day: int) -> int | None:
    """Days since 1970-01-01, or None when there is no such day."""
    try:
        return dt.date(year, month, day).toordinal() - _EPOCH_DAY
    except ValueError:
        return None


def ordinal_day(year: int, day_of_year: int) -> int | None:
    """Days since 1970-01-01 of day 1..365 (366 in a leap year), or None."""
    first = day_number(year, 1, 1)
    if first is None or day_of_year < 1:
        return None
    days = 366 if year % 4 == 0 and (year % 100 != 0 or year % 400 == 0) else 365
    return first + day_of_year - 1 if day_of_year <= days else None


def rfc3339(text: str) -> Stamp | None:
    """A full RFC 3339 date-time, with the space its section 5.6 allows; None for anything else."""
    found = _RFC3339.fullmatch(text)
    if not found:
        return None
    year, month, day, hour, minute, second = (int(found[i]) for i in range(1, 7))
    days = day_number(year, month, day)
    offset = 0 if found[8] else (int(found[10]) * 60 + int(found[11])) * (-1 if found[9] == "-" else 1)
    if days is None or hour > 23 or minute > 59 or second > 60 or (not found[8] and (int(found[10]) > 23 or int(found[11]) > 59)):
        return None
    us = days * DAY_US + _clock_us(hour, minute, second, found[7]) - offset * 60 * US
    if second == 60 and not is_leap(us):
        return None
    return Stamp("utc", us, _step(found[7], 1.0), second == 60)


def is_leap(us: int) -> bool:
    """Is this the microsecond in which we keep a leap second that was really inserted?"""
    return us // US + 1 in INSERTED


def _clock_us(hour: int, minute: int, second: int, fraction: str | None) -> int:
    if second == 60:
        return (hour * 3600 + minute * 60 + 60) * US - 1
    return (hour * 3600 + minute * 60 + second) * US + int((fraction or "0")[:6].ljust(6, "0"))


def _step(fraction: str | None, whole_s: float) -> float:
    return whole_s if not fraction else 10.0 ** -min(len(fraction), 6)


@lru_cache(maxsize=16384)  # the same instants are read again within a log, never in the next count
def read_stamp(text: str, frame: Frame) -> Stamp | str | None:
    """One whole written time: wall time in any of its forms, or count time. For cells and for heads cut from lines."""
    cleaned = text.strip()
    if cleaned[:1] in "Ll" and (found := _LAUNCH.match(cleaned)):
        return None if frame.held else _count("T" + cleaned[found.end():])
    if cleaned[:1] in "Tt" or (frame.bare == "count" and cleaned[:1] in "+-\u2212\u2013"):
        return _count(cleaned)
    if frame.bare in ("elapsed", "count") and (seconds := parse_duration(cleaned.replace(",", "."))) is not None:
        if seconds > LONGEST_COUNT_S:
            return f"longer than ten years: {cleaned[:40]}"
        us = round(seconds * US)
        return Stamp(frame.bare, us if frame.bare == "elapsed" else -us, written_step(cleaned))
    found = _WALL.fullmatch(cleaned)
    return _wall(found, frame) if found else None


def _count(text: str) -> Stamp | str | None:
    plain = re.sub(r"(?i)^t ?(minus|plus) ", lambda m: "T-" if m[1].lower() == "minus" else "T+", text)
    seconds = parse_count(plain.replace("=", ""))
    if seconds is not None and abs(seconds) < LONGEST_COUNT_S:
        return Stamp("count", round(seconds * US), written_step(plain))
    return f"not a count time: {text[:40]}" if re.match(r"[Tt]? ?[-+\u2212\u2013] ?\d", text) else None


def written_step(text: str) -> float:
    """What the last digit of a duration or count time is worth: 0.1 for 9.3, 60 for 5m, else 1 second."""
    if found := re.search(r"[.,](\d++)\s*+(?:s\s*+)?$", text):
        return _step(found[1], 1.0)
    if re.search(r"\d\s*(?:h|hrs?|hours?)$", text, re.IGNORECASE):
        return 3600.0
    return 60.0 if re.search(r"\d\s*(?:m|mins?|minutes?)$", text, re.IGNORECASE) else 1.0


def _wall(found: re.Match[str], frame: Frame) -> Stamp | str | None:
    clock = _clock(found["clock"], found["half"])
    if clock is None:
        return f"not a time of day: {found[0].strip()}"
    us, step, leap = clock
    day: int | None = None
    ordinal = found["doy"] or found["named_doy"]
    if found["date"] or ordinal:
        day = read_date(found["date"], frame) if found["date"] else _near_ordinal(int(ordinal), frame)
        if day is None:
            return f"no such day: {found[0].strip()}"
    zone, shift = _zone(found["zone"] or ("Z" if found["ahead"] else None), frame)
    if shift is None:
        return f"no such zone offset: {found[0].strip()}"
    if day is None:
        return Stamp(f"day_{zone}", us - shift, step, leap)
    at = day * DAY_US + us - shift
    if leap and zone == "utc" and not is_leap(at):
        return f"no leap second was inserted then: {found[0].strip()}"
    return Stamp(zone, at, step, leap)


def _zone(text: str | None, frame: Frame) -> tuple[str, int | None]:
    """The kind of clock, and how far it is ahead of that (microseconds); None for an offset that cannot be."""
    mark = (text or "").strip().upper()
    if mark in ("Z", "UTC", "GMT", "UT"):
        return "utc", 0
    if mark[:1] in ("+", "-") and mark:
        hours, minutes = int(mark[1:3]), int(mark[-2:])
        size = (hours * 60 + minutes) * 60 * US
        return "utc", None if hours > 23 or minutes > 59 else (-size if mark[0] == "-" else size)
    return ("local" if mark in ("L", "LT", "LOCAL") or frame.bare == "local" else "utc"), 0


def read_hour(text: str) -> int:
    """The hour as written on a clock that a wall time holds."""
    return int(_parts(text)[0][0])


def _parts(text: str) -> tuple[list[str], str]:
    """Hours, minutes and perhaps seconds as written, and the digits of the fraction."""
    dotted = _DOTTED.match(text)  # '14.25.03,5'
    body, _, fraction = (text.replace(".", ":", 2) if dotted else text).replace(",", ".").partition(".")
    parts = [p for p in re.split(r"[:hms]", body.lower()) if p]
    digits = "".join(parts)
    if len(parts) == 1 or len(parts[0]) >= 4 or len(parts[-1]) == 4:
        parts = [digits[i:i + 2] for i in range(0, len(digits), 2)]
    return parts, fraction


def _clock(text: str, half: str | None) -> tuple[int, float, bool] | None:
    """Microseconds since midnight, resolution, leap; None when no clock shows that."""
    parts, fraction = _parts(text)
    hour, minute = int(parts[0]), int(parts[1])
    second = int(parts[2]) if len(parts) > 2 else 0
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.strip()[0] in "pP" else 0)
    if hour > 23 or minute > 59 or second > 60:
        return None
    return _clock_us(hour, minute, second, fraction or None), _step(fraction, 1.0 if len(parts) > 2 else 60.0), second == 60


@lru_cache(maxsize=4096)
def read_date(text: str, frame: Frame) -> int | None:
    """Days since 1970 of a written date. A missing year, and day-month order, are taken nearest scheduled T-0."""
    named = re.search(_MONTH, text, re.IGNORECASE)
    body = re.sub(r"(?i)^(mon|tue|wed|thu|fri|sat|sun)[a-z]*,? +", "", text)
    numbers = [int(n) for n in re.findall(r"\d+", body)]
    if named and not re.match(r"(?i)(mon|sun|sat)", named[0]):
        month = _MONTHS.index(named[0][:3].lower()) + 1
        if len(numbers) == 1:
            return _nearest([day_number(y, month, numbers[0]) for y in _years(frame)], frame)
        return day_number(_full_year(numbers[1]), month, numbers[0])
    if len(numbers) == 2:
        return ordinal_day(numbers[0], numbers[1])
    if re.match(r"\d{4}", body):
        return day_number(numbers[0], numbers[1], numbers[2])
    year = _full_year(numbers[2])
    return _nearest([day_number(year, numbers[0], numbers[1]), day_number(year, numbers[1], numbers[0])], frame)


def whole_date(text: str, frame: Frame) -> int | None:
    """The day of a text that is a date and nothing else."""
    return read_date(text.strip(), frame) if _DATE_ONLY.fullmatch(text.strip()) else None


def is_date(text: str) -> bool:
    """Is this text written as a date and nothing else, whether or not there is such a day?"""
    return bool(_DATE_ONLY.fullmatch(text.strip()))


def _full_year(year: int) -> int:
    return year + _CENTURY if year < 100 else year


def _years(frame: Frame) -> tuple[int, int, int]:
    year = (dt.date(1970, 1, 1) + dt.timedelta(days=frame.t0_us // DAY_US)).year
    return year - 1, year, year + 1


def _near_ordinal(day_of_year: int, frame: Frame) -> int | None:
    return _nearest([ordinal_day(y, day_of_year) for y in _years(frame)], frame)


def _nearest(days: list[int | None], frame: Frame) -> int | None:
    real = [d for d in days if d is not None]
    return min(real, key=lambda d: abs(d * DAY_US + DAY_US // 2 - frame.t0_us), default=None)
