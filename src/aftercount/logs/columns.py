"""Which column of a table plays which part, and what instant does a cell of its time column mean?

Conventions: parts are time, text, station, to, net, count, end, duration, date, and detail (values that complete a
short text). Columns are found by name, then by content; `columns` of count.toml always wins. Cells are strings, as
every table reader hands them over. Numbers as times are seconds, milliseconds, microseconds or nanoseconds since 1970,
whichever lies nearest scheduled T-0; else seconds since the log's zero, or of count time when some are negative.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from aftercount.logs.walltime import DAY_US, US, Frame, Stamp, read_stamp, whole_date

PARTS = ("time", "text", "station", "to", "net", "count", "end", "duration", "date", "detail")
# Names by part, most telling first. Compared without case, blanks, underscores and units.
_NAMES: dict[str, tuple[str, ...]] = {
    "time": ("time", "timestamp", "stamp", "utc", "gmt", "timeutc", "utctime", "timegmt", "datetime", "ts", "at", "when", "start",
             "starttime", "begin", "logged", "loggedat", "eventtime", "occurred", "occurredat", "created", "createdat", "recorded",
             "recordedat", "received", "epoch", "unixtime", "posix", "walltime", "wallclock", "clock", "localtime", "local", "zulu",
             "elapsed", "offset", "met", "seconds", "t0", "secs", "timelocal", "timez", "timeofday", "tod", "entrytime", "isotime", "hora"),
    "text": ("text", "message", "msg", "event", "description", "desc", "remark", "remarks", "entry", "note", "notes", "comment",
             "comments", "words", "transcript", "utterance", "hyp", "hypothesis", "content", "body", "said", "line", "log", "eventdescription",
             "annotation", "caption", "action", "activity", "summary", "details", "eventname", "eventtext", "logentry", "what", "name", "title"),
    "station": ("station", "from", "source", "origin", "position", "speaker", "spk", "callsign", "console", "who", "sender", "caller", "src",
                "operator", "originator", "unit", "desk", "by", "user", "author", "host", "system", "subsystem", "app", "actor", "initiator"),
    "to": ("to", "dest", "destination", "recipient", "addressee", "target", "called", "receiver", "dst"),
    "net": ("net", "loop", "channel", "chan", "voiceloop", "circuit", "network", "ch"),
    "count": ("count", "counttime", "tminus", "tcount", "tclock", "t", "countdown", "tt", "tzero", "trel", "countclock", "timetot0",
              "reltime", "tminustime", "tpm", "tplus"),
    "end": ("end", "endtime", "stop", "finish", "ended", "until", "out", "t1"),
    "duration": ("duration", "dur", "length", "lasting"),
    "date": ("date", "day", "utcdate", "dateutc", "doy", "dayofyear", "yday", "julian", "localdate"),
    "detail": ("value", "state", "newstate", "result", "reading", "parameter", "param", "status", "measurement", "units"),
}
_BY_NAME = {name: (part, rank) for part, names in _NAMES.items() for rank, name in enumerate(names)}
# How many rows are looked at to tell what a column holds, and the share of its cells that must agree.
_SAMPLE, _AGREE = 200, 0.8
# An epoch number is taken as such when it falls within this of scheduled T-0: wrong clocks are off by hours or, when
# never set, decades; a wrong unit is off by a factor of a thousand.
_EPOCH_REACH_US = 40 * 366 * DAY_US
_EPOCH_UNITS = ((US, 1.0), (1000, 1e-3), (1, 1e-6))
_CALL_SIGN = re.compile(r"[A-Z][A-Z0-9./&-]{0,11}(?: [A-Z0-9]{1,10})?", re.ASCII)
NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)


class Roles(NamedTuple):
    """Column index by part (absent: not there), and what is odd about it."""

    at: dict[str, int]
    missing: list[str]  # configured columns that the table lacks


def plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", re.sub(r"\(.*?\)|\[.*?\]", "", name.casefold()))


def names_a_part(name: str) -> bool:
    """Is this one of the names that columns go by?"""
    return plain(name) in _BY_NAME


def roles(header: Sequence[str], sample: Sequence[Sequence[str]], wanted: dict[str, str], frame: Frame) -> Roles:
    """Assign columns to parts: as configured, by name, by content."""
    at: dict[str, int] = {}
    missing = []
    exact, folded = {h: i for i, h in reversed(list(enumerate(header)))}, {plain(h): i for i, h in reversed(list(enumerate(header)))}
    for part, name in wanted.items():
        index = exact.get(name, folded.get(plain(name)) if plain(name) else None)
        if index is None:
            missing.append(name)
        else:
            at[part] = index
    _by_name(header, at, sample, frame)
    _by_content(at, len(header), sample, frame)
    return Roles(at, missing)


def _by_name(header: Sequence[str], at: dict[str, int], sample: Sequence[Sequence[str]], frame: Frame) -> None:
    ranked = []
    for index, name in enumerate(header):
        for key in (plain(name), plain(name.rsplit(".", 1)[-1]), re.sub(r"(utc|gmt|s|ms|us|ns|z)$", "", plain(name))):
            if key in _BY_NAME:
                part, rank = _BY_NAME[key]
                ranked.append((rank, index, part))
                break
    for _, index, part in sorted(ranked):
        if index in at.values() or part in at:
            continue
        if part in ("time", "count") and not _timely(index, sample, frame, part):
            continue
        at[part] = index
    if "time" not in at and "count" not in at and "date" in at and _timely(at["date"], sample, frame, "time"):
        at["time"] = at.pop("date")


def _timely(index: int, sample: Sequence[Sequence[str]], frame: Frame, part: str) -> bool:
    """Do a column's cells read as times (of count, for `count`)?"""
    cells = [row[index] for row in sample if index < len(row) and row[index].strip()]
    if not cells:
        return False
    good = sum(1 for c in cells if NUMBER.fullmatch(c.strip()) or isinstance(read_stamp(c, frame), Stamp)
               or whole_date(c, frame) is not None
               or (part == "count" and isinstance(read_stamp(c, frame._replace(bare="count")), Stamp)))
    return good >= _AGREE * len(cells) or (part == "time" and good > 0)


def _by_content(at: dict[str, int], width: int, sample: Sequence[Sequence[str]], frame: Frame) -> None:
    """Find what names did not tell: a column of times, of count times, and the wordiest one."""
    free = [i for i in range(width) if i not in at.values()]
    columns = {i: [row[i].strip() for row in sample if i < len(row) and row[i].strip()] for i in free}
    kinds = {i: [s.kind for c in cells if isinstance(s := read_stamp(c, frame), Stamp)] for i, cells in columns.items()}
    for part, wants_count in (("time", False), ("count", True)):
        for i in free:
            fits = sum(1 for k in kinds[i] if (k == "count") == wants_count)
            if part not in at and i not in at.values() and columns[i] and fits >= _AGREE * len(columns[i]):
                at[part] = i
    if "text" not in at:
        wordy = {i: sum(c.count(" ") for c in columns[i]) / max(len(columns[i]), 1) for i in free if i not in at.values()}
        best = max(wordy, key=lambda i: wordy[i], default=None)
        if best is not None and wordy[best] >= 1:
            at["text"] = best
    for i in free:
        open_part = next((p for p in ("station", "to") if p not in at), None)
        if open_part and "text" in at and i not in at.values() and i < at["text"] and columns[i] and all(_CALL_SIGN.fullmatch(c) for c in columns[i]):
            at[open_part] = i


class TimeColumn:
    """Reads the cells of one time column, numbers by one unit throughout."""

    def __init__(self, cells: Sequence[str], frame: Frame, *, bare: str | None = None) -> None:
        self.frame = frame if bare is None else frame._replace(bare=bare)
        self.scale = self._scale([float(c) for c in map(str.strip, cells[:_SAMPLE]) if NUMBER.fullmatch(c)])

    def _scale(self, numbers: list[float]) -> tuple[str, int, float]:
        """(kind, microseconds a unit, resolution): of epoch numbers, count time, or elapsed time."""
        finite = sorted(n for n in numbers if abs(n) < 1e30)
        if finite:
            middle = finite[len(finite) // 2]
            for unit, step in _EPOCH_UNITS:
                if abs(middle * unit - self.frame.t0_us) < _EPOCH_REACH_US and abs(middle * unit) > DAY_US * 366:
                    return "utc", unit, step
            if abs(middle / 1000 - self.frame.t0_us) < _EPOCH_REACH_US and middle > 1e17:
                return "utc", 0, 1e-6
            if min(finite) < 0 or self.frame.bare == "count":
                return "count", US, 1.0
        return "elapsed", US, 1.0

    def read(self, cell: str) -> Stamp | str | None:
        text = cell.strip()
        if not NUMBER.fullmatch(text):
            return read_stamp(text, self.frame)
        if len(text) == 6 and text.isdigit() and self.scale[0] == "elapsed" and self.frame.bare in ("utc", "local"):
            return read_stamp(text, self.frame)
        return self._number(text)

    def _number(self, text: str) -> Stamp | str:
        kind, unit, step = self.scale
        try:
            if unit == 0:
                us = int(float(text)) // 1000 if not text.isdigit() else int(text[:30]) // 1000
            else:
                us = exact_us(text, unit)
        except (OverflowError, ValueError):
            return f"not a time: {text[:40]}"
        if abs(us) > 10_000 * 366 * DAY_US:
            return f"a time beyond the year 9999: {text[:40]}"
        _, _, fraction = text.partition(".")
        return Stamp(kind, us, max(step * 10.0 ** -len(fraction), 1e-6) if fraction else step)


def exact_us(text: str, unit: int) -> int:
    """A decimal number of units as whole microseconds, without going through floating point where that would round."""
    if "e" in text.lower():
        return round(float(text) * unit)
    whole, _, fraction = text.lstrip("+-").partition(".")
    size = int(whole or "0") * unit + (int(fraction[:9].ljust(9, "0")) * unit // 10**9 if fraction else 0)
    return -size if text.startswith("-") else size


def joined(date: str, clock: str, frame: Frame) -> str:
    """A date cell and a time cell as one stamp text."""
    text = date.strip()
    if not text:
        return clock
    if text.isdigit() and len(text) <= 3:
        return f"{int(text):03d}/{clock.strip()}"
    # Spreadsheets and data frames write a bare date as midnight of it.
    day = re.split(r"T| 00:00", text)[0]
    return f"{day} {clock.strip()}" if whole_date(day, frame) is not None else clock
