"""SubRip transcripts, in all the ways they are written.

Sample:    12
           00:12:31,500 --> 00:12:34,000
           TC: PROP, go for step 4
Conventions: a timing line starts a cue, whatever stands before it; the number line is not needed. Fractions are decimal
(`,5` is half a second), with comma or full stop, or absent. Blank lines inside a cue are read over. Times count from
the start of the recording. A timing line that cannot be read is a reject, with the words that follow it.
"""

from __future__ import annotations

import re

from aftercount.logs.cues import Cue, gather
from aftercount.logs.entries import Context, Entries

_TIME = r"(?:(\d{1,4}):)?(\d{1,2}):(\d{1,2})(?:[,.](\d{1,9}))?"
_TIMING = re.compile(rf"\s*({_TIME})\s*--?>\s*({_TIME})(?![\d:.,])", re.ASCII)
_COUNTER = re.compile(r"\s*\d+\s*", re.ASCII)


def _us(hours: str | None, minutes: str, seconds: str, fraction: str | None) -> int | None:
    if int(minutes) > 59 or int(seconds) > 59:
        return None
    whole = (int(hours or 0) * 60 + int(minutes)) * 60 + int(seconds)
    return whole * 1_000_000 + int((fraction or "0")[:6].ljust(6, "0"))


def timing(line: str) -> tuple[str, int, int] | None:
    """(as written, start, end) of a timing line."""
    found = _TIMING.match(line)
    if not found:
        return None
    start, end = _us(*found.group(2, 3, 4, 5)), _us(*found.group(7, 8, 9, 10))
    return None if start is None or end is None else (found[1], start, end)


def read(text: str, context: Context) -> Entries:
    """All cues of an SRT file."""
    out = Entries()
    lines = text.lstrip("\ufeff").split("\n")
    arrows = [i for i, x in enumerate(lines) if "->" in x and _looks_timed(x)]
    _before(lines[:arrows[0]] if arrows else lines, out)
    found: list[Cue] = []
    for at, following in zip(arrows, [*arrows[1:], len(lines)], strict=False):
        end = following
        if following < len(lines) and following - 1 > at and _COUNTER.fullmatch(lines[following - 1]):
            end = following - 1
        times = timing(lines[at])
        body = lines[at + 1:end]
        if times is None:
            out.reject(at + 1, "not a timing line", " ".join(lines[at:end]))
            continue
        numbered = at > 0 and bool(_COUNTER.fullmatch(lines[at - 1]))
        found.append(Cue(at if numbered else at + 1, times[0], times[1], times[2], body))
    return gather(found, context, out)


def _looks_timed(line: str) -> bool:
    return "-->" in line or bool(_TIMING.match(line))


def _before(lines: list[str], out: Entries) -> None:
    """What precedes the first cue, but for its number, belongs to none."""
    filled = [(i, x) for i, x in enumerate(lines, 1) if x.strip()]
    if filled and filled[-1][0] >= len(lines) - 1 and _COUNTER.fullmatch(filled[-1][1]):
        filled.pop()
    for number, line in filled:
        out.reject(number, "stands before the first cue", line)
