"""What entries do the rows of a table hold (CSV, JSON lines, Parquet alike)?

Conventions: a row is its line and its cells as strings in header order. A row without words, or whose time cannot be
read, is a reject; one whose time cell is empty is an entry without time. When no column holds words, all cells that
play no other part are the words.
It does not decide how a file is cut into rows.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from aftercount.counttime import parse_duration
from aftercount.logs.columns import NUMBER, TimeColumn, joined, plain, roles
from aftercount.logs.entries import LONGEST_ENTRY, Context, Entries
from aftercount.logs.media import fine_share, is_paced, is_talk
from aftercount.logs.names import Names
from aftercount.logs.walltime import DAY_US, US, Frame, Stamp

_SAMPLE = 200
# A table is a machine's when most times are written finer than a person types, or it has columns only machines keep.
_FINE_SHARE = 0.1  # of the stamps: nobody types hundredths, but a machine's marks fall on whole seconds
_MACHINE_COLUMNS = frozenset((
    "severity", "level", "facility", "pid", "procid", "host", "hostname", "seq", "sequence", "msgid", "tag", "point",
    "channelid", "code", "quality", "value", "state", "newstate",
))
_SPEECH_COLUMNS = frozenset((
    "confidence", "conf", "logprob", "probability", "wordcount", "speaker", "avglogprob", "nospeechprob", "hyp", "hypothesis", "transcript", "utterance", "spk", "speakerid", "asr",
))
_IDENTIFIER = re.compile(r"[A-Za-z0-9]+(?:[._=-][A-Za-z0-9]+)+|[A-Z0-9_]+")


@dataclass
class Rows:
    header: list[str]
    lines: list[int]
    cells: list[list[str]]
    delimiter: str = " "


def read(rows: Rows, context: Context, out: Entries) -> Entries:
    """Rows to entries."""
    sample = rows.cells[:_SAMPLE]
    found = roles(rows.header, sample, context.columns, context.frame)
    for name in found.missing:
        out.notes.append(f"no column '{name}'")
    _by_the_recording(rows, found.at, context)
    table = _Table(rows, found.at, context)
    if not rows.cells:
        return out
    if not ({"time", "count"} & set(found.at)) and "text" not in found.at:
        out.notes.append(f"no column of times or words among: {', '.join(rows.header)[:200]}")
    for line, cells in zip(rows.lines, rows.cells, strict=True):
        table.entry(line, cells, out)
    out.medium = _medium(rows.header, out)
    return out


class _Table:
    """One table's columns, ready to read its rows."""

    def __init__(self, rows: Rows, at: dict[str, int], context: Context) -> None:
        self.at, self.frame, self.names = at, context.frame, Names(context.stations, context.terms)
        self.width = len(rows.header)
        taken = set(at.values())
        self.rest = [i for i in range(self.width) if i not in taken]
        self.header, self.delimiter = rows.header, rows.delimiter
        self.time = TimeColumn(self._column(rows, "time"), _bare(rows, at, context))
        self.count = TimeColumn(self._column(rows, "count"), context.frame, bare="count")
        self.names.learn(self._column(rows, "text"))

    def _column(self, rows: Rows, part: str) -> list[str]:
        index = self.at.get(part)
        return [] if index is None else [r[index] for r in rows.cells[:_SAMPLE * 5] if index < len(r)]

    def _cell(self, cells: list[str], part: str) -> str:
        index = self.at.get(part)
        return cells[index].strip() if index is not None and index < len(cells) else ""

    def _mend(self, cells: list[str]) -> list[str]:
        """A row with cells too many has a delimiter in its words: only they are free text. Put them together again."""
        extra, at = len(cells) - self.width, self.at.get("text")
        if extra <= 0 or at is None or not any(c.strip() for c in cells[self.width:]):
            return cells
        return [*cells[:at], self.delimiter.join(cells[at:at + extra + 1]), *cells[at + extra + 1:]]

    def entry(self, line: int, cells: list[str], out: Entries) -> None:
        cells = self._mend(cells)
        raw_time = self._cell(cells, "time")
        stamp = self._stamp(raw_time, self._cell(cells, "date"))
        text = self._words(cells)
        if not isinstance(stamp, Stamp) and stamp is not None:
            out.reject(line, stamp, " | ".join(cells))
            return
        if raw_time and stamp is None:
            out.reject(line, f"not a time: {raw_time[:60]}", " | ".join(cells))
            return
        if not text:
            out.reject(line, "no words in this row", " | ".join(cells))
            return
        if len(text) > LONGEST_ENTRY:
            out.reject(line, f"an entry of {len(text)} characters; at most {LONGEST_ENTRY} are read", text)
            return
        self._put(line, raw_time, stamp, text, cells, out)

    def _put(self, line: int, raw_time: str, stamp: Stamp | None, text: str, cells: list[str], out: Entries) -> None:
        count = self.count.read(self._cell(cells, "count")) if "count" in self.at else None
        if stamp is None and isinstance(count, Stamp):
            stamp, raw_time = count._replace(kind="count"), self._cell(cells, "count")
        station, to = self._cell(cells, "station"), self._cell(cells, "to")
        if not station:
            head = self.names.head(text)
            if head.who and head.end < len(text):
                station, to, text = head.who, to or head.to or "", text[head.end:]
        elif ">" in station and not to:
            station, _, to = (p.strip(" -=") for p in station.partition(">"))
        out.add(line, raw_time or None, stamp, text, station=self.names.sign(station) if station else None,
                to=self.names.sign(to) if to else None, net=self._cell(cells, "net") or None,
                stamp_t_us=count.us if isinstance(count, Stamp) and stamp is not None and stamp.kind != "count" else None,
                dur_us=self._duration(stamp, cells))

    def _stamp(self, cell: str, date: str) -> Stamp | str | None:
        if not cell:
            return None
        return self.time.read(joined(date, cell, self.frame) if date else cell)

    def _words(self, cells: list[str]) -> str:
        """The text cell on one line, with what completes it; or all that is left when there is no text column."""
        if "text" in self.at:
            parts = [self._cell(cells, "text"), self._cell(cells, "detail")]
        else:
            parts = [cells[i] for i in self.rest if i < len(cells)] + [self._cell(cells, "detail")]
        return " ".join(" ".join(parts).split())

    def _duration(self, stamp: Stamp | None, cells: list[str]) -> int:
        if length := self._cell(cells, "duration"):
            seconds = parse_duration(length)
            return round(seconds * US) if seconds is not None and seconds * US < DAY_US else 0
        end = self._cell(cells, "end")
        last = self.time.read(end) if end and stamp is not None else None
        if isinstance(last, Stamp) and stamp is not None and last.kind == stamp.kind:
            gap = (last.us - stamp.us) % DAY_US if stamp.kind.startswith("day_") else last.us - stamp.us
            return gap if 0 <= gap < DAY_US else 0
        return 0


def _by_the_recording(rows: Rows, at: dict[str, int], context: Context) -> None:
    """Where the only column of times is one of seconds that never fall below zero, nor fall, and is called no more than 't' or said to be elapsed, it runs from the recording's start: a
    count runs up to zero from below."""
    index = at.get("count")
    if index is None or "time" in at or "count" in context.columns or context.time not in (None, "elapsed"):
        return
    if context.time is None and plain(rows.header[index]) != "t":
        return
    cells = [r[index].strip() for r in rows.cells if index < len(r) and r[index].strip()]
    if cells and all(NUMBER.fullmatch(c) for c in cells):
        numbers = [float(c) for c in cells]
        if numbers[0] >= 0.0 and all(b >= a for a, b in pairwise(numbers)):
            at["time"] = at.pop("count")


def _bare(rows: Rows, at: dict[str, int], context: Context) -> Frame:
    """The frame for the time column: its name may say what a bare time is."""
    index = at.get("time")
    name = plain(rows.header[index]) if index is not None and index < len(rows.header) else ""
    frame = context.frame
    if context.time is None:
        if "utc" in name or "gmt" in name or "zulu" in name:
            return frame._replace(bare="utc")
        if "elapsed" in name or name in ("offset", "met"):
            return frame._replace(bare="elapsed")
    return frame


def _medium(header: Sequence[str], out: Entries) -> str:
    """machine, typed or speech, by the columns, the fineness of the times and the look of the words.

    Talk whose times are finer than a person types, or count from a recording's start, or that has lengths, is a transcript; so is
    what lasts as long as its words take to say, be it ever so terse.
    """
    names = {plain(h) for h in header}
    steps = [s.resolution_s for s in out.stamp[:_SAMPLE] if s is not None]
    texts = out.text[:_SAMPLE]
    codes = sum(1 for t in texts if _IDENTIFIER.match(t.split(" ", 1)[0]) and ("_" in t or "." in t.split(" ", 1)[0] or "=" in t))
    if (names & _SPEECH_COLUMNS and any(out.dur_us)) or is_paced(texts, out.dur_us[:_SAMPLE]):
        return "speech"
    fine = fine_share(steps) > _FINE_SHARE
    if is_talk(texts):
        elapsed = any(s is not None and s.kind == "elapsed" for s in out.stamp[:_SAMPLE])
        return "speech" if fine or elapsed or any(out.dur_us) or names & _SPEECH_COLUMNS else "typed"
    if fine or names & _MACHINE_COLUMNS or 2 * codes > len(texts):
        return "machine"
    return "typed"
