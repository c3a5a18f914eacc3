"""In which few shapes does a large notes file write its times, and which lines have one of them?

Samples:    14:25:03      [14:25:03.250]      2031-04-18T14:25:03Z      108/14:25 -
Conventions: a shape is a clock of fixed width, so many bytes from the line's start, and the exact bytes between it and the
words. What stands before the clock (a date, a bracket) is free within that width: whoever asks judges each distinct one.
Positions are bytes of the UTF-8 text; lines are looked at through arrays over all of them, never one by one.
It does not say what a time means: `notes` does, for an example of each.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import NamedTuple

import numpy as np

from aftercount.logs.walltime import US

# Lines looked at to find the shapes, and the share of them that makes one worth a pass over the file.
_SAMPLE, _WORTH = 400, 0.03
_MOST_SHAPES = 4
_WORD = 8  # bytes gathered at a time
_ZERO = ord("0")
_LONGEST = 64  # bytes of a line's head that are looked at
# Nothing after the end of the text is ever a line's; this much room lets every look go past it.
ROOM = "\n" * (_LONGEST + _WORD)
_LINE = re.compile(
    r"(?P<ahead>[^\n|]{0,30}?)(?<!\d)(?P<clock>\d\d:\d\d(?::\d\d(?:[.,]\d{1,6})?)?)"
    r"(?P<behind>(?:[zZ]| ?UTC|[+-]\d\d:?\d\d)?[\])>}]?(?: ?[-:;,|=]+)?[ \t]{1,3})(?=[A-Za-z])", re.ASCII)


class Shape(NamedTuple):
    ahead: int  # bytes before the clock
    clock: str  # 00:00, 00:00:00, 00:00:00.000
    behind: bytes

    @property
    def words_at(self) -> int:
        return self.ahead + len(self.clock) + len(self.behind)


class Found(NamedTuple):
    """The lines of one shape: index of each, and its time of day in microseconds."""

    at: np.ndarray
    us: np.ndarray


def shapes(sample: list[str]) -> list[Shape]:
    """The shapes that many of these lines have, the commonest first."""
    seen: Counter[Shape] = Counter()
    for line in sample:
        found = _LINE.match(line)
        if found and found.end() < _LONGEST:
            seen[Shape(len(found["ahead"].encode()), re.sub(r"\d", "0", found["clock"]), found["behind"].encode())] += 1
    often = [s for s, n in sorted(seen.items(), key=lambda x: (-x[1], x[0])) if n >= max(1, _WORTH * len(sample))]
    return often[:_MOST_SHAPES]


def sample_of(data: bytes, starts: np.ndarray, ends: np.ndarray) -> list[str]:
    """Lines from all over the file."""
    which = np.unique(np.linspace(0, len(starts) - 1, min(_SAMPLE, len(starts))).astype(np.int64))
    return [data[starts[i]:min(ends[i], starts[i] + 2 * _LONGEST)].decode("utf-8", errors="replace") for i in which]


def lines_of(shape: Shape, raw: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> Found:
    """Which lines have that shape: a clock that can be, the bytes behind it, and a word after them."""
    clock = bytes_at(raw, starts + shape.ahead, len(shape.clock))
    fits = starts + shape.words_at < ends
    us = np.zeros(len(starts), dtype=np.int64)
    for column, worth, limit in ((0, 3600, 24), (3, 60, 60), (6, 1, 60)):
        if column < len(shape.clock):
            tens, units = clock[:, column] - _ZERO, clock[:, column + 1] - _ZERO  # unsigned: what is no digit is large
            value = tens.astype(np.int16) * 10 + units
            fits &= (tens < 10) & (units < 10) & (value < limit)
            us += value.astype(np.int64) * (worth * US)
    for i, sign in enumerate(shape.clock.encode()):
        if sign != _ZERO:
            fits &= clock[:, i] == sign
    for place, column in enumerate(range(9, len(shape.clock)), 1):
        digit = clock[:, column] - _ZERO
        fits &= digit < 10
        us += digit.astype(np.int64) * (US // 10**place)
    for i, sign in enumerate(shape.behind):
        fits &= raw[starts + (shape.ahead + len(shape.clock) + i)] == sign
    letter = raw[starts + shape.words_at] | 32  # lower case
    fits &= (letter >= ord("a")) & (letter <= ord("z"))
    at = np.flatnonzero(fits)
    return Found(at, us[at])


def bytes_at(raw: np.ndarray, at: np.ndarray, count: int) -> np.ndarray:
    """The bytes from each position on: shape (positions, at least `count`)."""
    every = np.ndarray((len(raw) - _WORD + 1,), dtype="<u8", buffer=raw.data, strides=(1,))
    words = -(-count // _WORD)
    found = np.empty((len(at), words), dtype="<u8")
    for i in range(words):
        found[:, i] = every[at + i * _WORD]
    return found.view(np.uint8)

