"""Times and numbers as people say, type and print them.

Conventions: count time in whole seconds, negative before T-0. Spoken texts are built with digits and turned into words by
`in_words` where a transcript spells numbers out. It does not decide which form is used where.
"""

from __future__ import annotations

import math
import re
from random import Random

_ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["_", "_", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def number_words(n: int) -> str:
    if n < 20:
        return _ONES[n]
    if n < 100:
        return _TENS[n // 10] + (f" {_ONES[n % 10]}" if n % 10 else "")
    if n < 1000:
        return f"{_ONES[n // 100]} hundred" + (f" {number_words(n % 100)}" if n % 100 else "")
    if n < 10_000 and n % 1000:
        return f"{number_words(n // 100)} {number_words(n % 100) if n % 100 >= 10 else 'oh ' + _ONES[n % 100]}"
    return f"{number_words(n // 1000)} thousand" + (f" {number_words(n % 1000)}" if n % 1000 else "")


def in_words(text: str) -> str:
    """Numbers spelled out, call signs and tags left alone."""
    return re.sub(r"(?<![\w.-])(\d{1,5})(?![\w.]*\d)", lambda m: number_words(int(m[1])), text)


def spoken_count(t: int, rng: Random, *, terse: float = 0.3) -> str:
    """A count reading as said: 'T minus 5 minutes 30 seconds', 'T minus 31', 'minus 2 minutes'."""
    lead = "T plus" if t > 0 else rng.choices(["T minus", "minus"], [0.9, 0.1])[0]
    s = abs(t)
    if s == 0:
        return "T zero"
    hours, minutes, seconds = s // 3600, s // 60 % 60, s % 60
    if s < 60:
        return f"{lead} {s}" if rng.random() < terse + 0.2 else f"{lead} {s} second" + ("s" if s != 1 else "")
    parts = []
    if hours:
        parts.append(f"{hours} hour" + ("s" if hours > 1 else ""))
    if minutes:
        parts.append(f"{minutes} minute" + ("s" if minutes > 1 else ""))
    if seconds:
        parts.append(f"{seconds} second" + ("s" if seconds > 1 else ""))
    if not hours and seconds >= 10 and rng.random() < terse:
        return f"{lead} {minutes} {seconds}"
    if len(parts) == 3 or rng.random() < 0.15:
        parts[-1] = "and " + parts[-1] if len(parts) > 1 else parts[-1]
    return f"{lead} {' '.join(parts)}"


def spoken_span(seconds: int) -> str:
    if seconds < 60:
        return f"{seconds} seconds"
    minutes = round(seconds / 60)
    return f"{minutes} minute" + ("s" if minutes > 1 else "")


def count_text(t: float, style: str = "hms") -> str:
    """A count time as a clock shows it: the last whole second it reached. style: hms | signed | short | minutes."""
    t = math.floor(t + 1e-6)
    whole = abs(t)
    sign = "-" if t < 0 else "+"
    h, m, s = whole // 3600, whole // 60 % 60, whole % 60
    if style == "signed":
        return f"{sign}{h:02d}:{m:02d}:{s:02d}"
    if style == "short" and whole < 60:
        return f"T{sign}{whole}s"
    if style == "short" and whole < 5400:
        return f"T{sign}{whole // 60}:{s:02d}"
    if style == "minutes":
        return f"T{sign}{h}:{m:02d}:{s:02d}" if h else f"T{sign}{m}:{s:02d}"
    return f"T{sign}{h:02d}:{m:02d}:{s:02d}"
