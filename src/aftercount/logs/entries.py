"""What does every reader hand over: the entries of one file, as columns, before their times are placed.

Conventions: `line` is the 1-based line of the file on which the entry's words start (a row number for Parquet).
An entry is one line with its continuation, one row, one cue or one message; an entry that several people share gives
several rows with `entry` shared. What cannot be used is in `rejects`, one each: rows' entries + rejects = entries in the file.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from aftercount.logs.walltime import Frame, Stamp

# A reject shows this much of the line: enough to find it, too little to fill a disk.
RAW_SHOWN = 500
# No person or machine writes an entry this long; a longer one is a broken file, and would make every later step slow.
LONGEST_ENTRY = 20_000


class Reject(NamedTuple):
    line: int
    reason: str
    raw: str


class Context(NamedTuple):
    """What a reader is told about the file: how to read a bare time, whom it may hear, where columns are."""

    frame: Frame
    stations: dict[str, str]  # folded call sign or spoken form -> call sign
    columns: dict[str, str]
    time: str | None  # as configured: utc | local | count | elapsed
    terms: frozenset[str] = frozenset()  # folded glossary terms: what is spoken of, not who speaks
    halves: bool = True  # AM and PM behind a time may be halves of the day, even where a station has that name
    offsets: bool = True  # a signed time set off behind a time of day may be its zone's offset


class Bulk(NamedTuple):
    """Entries read many at a time: lines of a few regular forms, as arrays (strings are Arrow's)."""

    line: np.ndarray
    raw_time: Any
    kind: list[str]  # of each stamp kind that occurs
    which: np.ndarray  # index into kind
    us: np.ndarray
    resolution_s: np.ndarray
    station: Any
    to: Any
    text: Any

    def take(self, at: np.ndarray) -> Bulk:
        import pyarrow as pa

        rows = pa.array(at)
        return Bulk(self.line[at], self.raw_time.take(rows), self.kind, self.which[at], self.us[at], self.resolution_s[at],
                    *(column.take(rows) for column in self[6:]))

    def keep(self, fine: np.ndarray) -> Bulk:
        return self if fine.all() else self.take(np.flatnonzero(fine))


@dataclass
class Entries:
    line: list[int] = field(default_factory=list)
    raw_time: list[str | None] = field(default_factory=list)
    stamp: list[Stamp | None] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    station: list[str | None] = field(default_factory=list)
    to: list[str | None] = field(default_factory=list)
    net: list[str | None] = field(default_factory=list)
    stamp_t_us: list[int | None] = field(default_factory=list)
    dur_us: list[int] = field(default_factory=list)
    rejects: list[Reject] = field(default_factory=list)
    shared: int = 0  # rows beyond the first of an entry that several people share
    medium: str = "typed"
    bulk: Bulk | None = None
    notes: list[str] = field(default_factory=list)

    def add(self, line: int, raw_time: str | None, stamp: Stamp | None, text: str, **more: object) -> None:
        """One row; `more` may give station, to, net, stamp_t_us, dur_us."""
        self.line.append(line)
        self.raw_time.append(raw_time)
        self.stamp.append(stamp)
        self.text.append(text)
        self.station.append(more.get("station"))  # type: ignore[arg-type]
        self.to.append(more.get("to"))  # type: ignore[arg-type]
        self.net.append(more.get("net"))  # type: ignore[arg-type]
        self.stamp_t_us.append(more.get("stamp_t_us"))  # type: ignore[arg-type]
        self.dur_us.append(more.get("dur_us", 0))  # type: ignore[arg-type]

    def reject(self, line: int, reason: str, raw: str) -> None:
        shown = raw if len(raw) <= RAW_SHOWN else raw[:RAW_SHOWN] + "…"
        self.rejects.append(Reject(line, reason, shown))
