"""Which T-0 does a sentence announce?

Conventions: POSIX microseconds UTC; a time of day without a date is the one nearest the scheduled T-0; 'Z', 'zulu', 'UTC' say
UTC, otherwise the count's zone holds. Only clock times count here ('new T-0 15:02:30', 'T zero is now sixteen thirty three').

It does not decide whether the clock was moved.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from zoneinfo import ZoneInfo

from aftercount.speech.marks import CERTAIN, DOUBTFUL, LIKELY
from aftercount.speech.words import words

DAY_US = 86_400_000_000
_ABOUT_T0 = re.compile(r"\b(?:t[\s-]*(?:0|zero)|t0|(?:lift ?-?off|launch) (?:time|target)|new (?:launch|lift ?-?off) time)\b", re.I)
_CLOCK = re.compile(r"\b(?P<h>[01]?\d|2[0-3]):?(?P<m>[0-5]\d)(?::?(?P<s>[0-5]\d)|\s+and\s+(?P<s2>[0-5]?\d)\s*sec\w*)?\s*(?P<z>z|zulu|utc|gmt|ut)?\b", re.I)
_SAID_CLOCK = re.compile(r"\b(?P<h>[01]?\d|2[0-3]) (?P<m>[0-5]?\d)(?: (?:and )?(?P<s>[0-5]?\d)(?: seconds)?)?\b(?: (?P<z>z|zulu|utc|gmt))?")
_DIGIT = re.compile(r"\d")
_FIRM = re.compile(r"\b(?:new|now|revised|moved|updated|reset|set|is|retarget\w*|target\w*)\b", re.I)
_WEAK = re.compile(r"\b(?:if|could|would|might|may|was|were|expect\w*|earlier|original\w*|possib\w*|propos\w*)\b|\?", re.I)
_LAST_DATE = re.compile(r"(?P<y>\d{4})-(?P<mo>\d\d)-(?P<d>\d\d)[T ](?P<h>\d\d):(?P<m>\d\d)(?::(?P<s>\d\d)(?:\.\d+)?)?\s*(?P<z>Z)?", re.I)


@lru_cache(maxsize=16)
def _zone(name: str) -> dt.tzinfo:
    return ZoneInfo(name)


def read_target(text: str, t0_us: int, zone: str) -> tuple[int, str] | None:
    """(announced T-0, grade), or None."""
    if not _DIGIT.search(text):
        text = " ".join(words(text))
    about = _ABOUT_T0.search(text) if _DIGIT.search(text) else None
    if about is None:
        return None
    tail = text[about.end():]
    grade = DOUBTFUL if _WEAK.search(text) else CERTAIN if _FIRM.search(text) else LIKELY
    dated = _LAST_DATE.search(tail)
    if dated:
        return _dated(dated, zone), grade
    found = _CLOCK.search(tail) or _SAID_CLOCK.search(" ".join(words(tail)))
    if found is None or not _is_time(found, tail):
        return None
    clock = (int(found["h"]), int(found["m"]), int(found["s"] or found.groupdict().get("s2") or 0))
    return _nearest(clock, t0_us, "UTC" if found["z"] else zone), grade


def _is_time(found: re.Match[str], tail: str) -> bool:
    """'T-0 in 20' or 'T-0 15 minutes' is no time of day; four digits, a colon or a zone are."""
    lead = tail[:found.start()] if found.string is tail else ""
    if re.search(r"\bin\s*(?:about\s*)?$|[-+:]\s*$", lead, re.I):
        return False
    rest = found.string[found.end():].lstrip().lower()
    return not rest.startswith(("min", "sec", "hour", "%", "psi"))


def _dated(found: re.Match[str], zone: str) -> int:
    tz = dt.UTC if found["z"] else _zone(zone)
    instant = dt.datetime(int(found["y"]), int(found["mo"]), int(found["d"]), int(found["h"]), int(found["m"]), int(found["s"] or 0), tzinfo=tz)
    return int(instant.timestamp()) * 1_000_000


def _nearest(clock: tuple[int, int, int], t0_us: int, zone: str) -> int:
    """That time of day on the day that puts it nearest to the scheduled T-0."""
    tz = dt.UTC if zone == "UTC" else _zone(zone)
    around = dt.datetime.fromtimestamp(t0_us // 1_000_000, tz)
    options = []
    for days in (-1, 0, 1):
        day = (around + dt.timedelta(days=days)).date()
        instant = dt.datetime(day.year, day.month, day.day, *clock, tzinfo=tz)
        options.append(int(instant.timestamp()) * 1_000_000)
    return min(options, key=lambda us: abs(us - t0_us))
