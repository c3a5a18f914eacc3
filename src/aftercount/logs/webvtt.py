"""WebVTT transcripts, by the parser rules of the W3C specification.

Sample:    WEBVTT

           12
           00:12:31.500 --> 00:12:34.000 align:left
           <v Test Conductor>PROP, TC, go for step 4
Conventions: times count from the start of the recording. Cue settings, styles and regions are read over; comments and
blocks that hold no cue are rejects. A first line that is not the signature is a reject, and the rest is still read.
"""

from __future__ import annotations

import re

from aftercount.logs.cues import Cue, gather
from aftercount.logs.entries import Context, Entries

_TIMING = re.compile(r"[ \t\f]*([\d:.]+)[ \t\f]*-->[ \t\f]*([\d:.]+)(?![\d:.,])", re.ASCII)
_SIGNATURE = re.compile(r"\ufeff?WEBVTT(?:[ \t]|$)")
# Hours beyond this are no recording; larger numbers would not fit the tables.
_MOST_HOURS_DIGITS = 6


def seconds_us(text: str) -> int | None:
    """A WebVTT timestamp by the parser's rules, in microseconds; None if it is none."""
    fields = text.split(":")
    last = re.fullmatch(r"(\d\d)\.(\d{3})", fields[-1], re.ASCII)
    if last is None or len(fields) not in (2, 3) or not all(f.isascii() and f.isdigit() for f in fields[:-1]):
        return None
    hours, minutes = (fields[0], fields[1]) if len(fields) == 3 else ("0", fields[0])
    if len(minutes) != 2 or len(hours) > _MOST_HOURS_DIGITS or int(minutes) > 59 or int(last[1]) > 59:
        return None
    return ((int(hours) * 60 + int(minutes)) * 60 + int(last[1])) * 1_000_000 + int(last[2]) * 1000


def timing(line: str) -> tuple[str, int, int] | None:
    """(as written, start, end) of a timing line."""
    found = _TIMING.match(line)
    if not found:
        return None
    start, end = seconds_us(found[1]), seconds_us(found[2])
    return None if start is None or end is None else (found[1], start, end)


def read(text: str, context: Context) -> Entries:
    """All cues of a WebVTT file."""
    out = Entries()
    lines = text.split("\n")
    at = 0
    if lines and _SIGNATURE.match(lines[0]):
        at = 1
        while at < len(lines) and lines[at] != "" and "-->" not in lines[at]:
            at += 1
    elif text.strip():
        out.reject(1, "not the WEBVTT signature", lines[0])
        at = 0 if "-->" in lines[0] else 1
    found: list[Cue] = []
    while at < len(lines):
        if lines[at] == "":
            at += 1
        else:
            at = _block(lines, at, found, out)
    return gather(found, context, out)


def _block(lines: list[str], start: int, found: list[Cue], out: Entries) -> int:
    """Read one block; the line after it."""
    at, times, first_text = start, None, start
    while at < len(lines) and lines[at] != "":
        if "-->" in lines[at]:
            if at > start + 1 or (at == start + 1 and "-->" in lines[start]):
                break
            times, first_text = timing(lines[at]), at + 1
        at += 1
    if times is not None:
        found.append(Cue(start + 1, times[0], times[1], times[2], lines[first_text:at]))
    else:
        kind = lines[start].split(" ")[0].strip()
        reason = f"a {kind} block, not a cue" if kind in ("NOTE", "STYLE", "REGION") else "a block without readable times"
        out.reject(start + 1, reason, " ".join(lines[start:min(at, start + 20)]))
    return at
