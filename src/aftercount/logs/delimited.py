"""Tables in text: comma, semicolon, tab or bar between cells (RFC 4180 where it speaks).

Samples:   time,station,text                     2031-04-18T14:25:03Z;PROP;"tank press; complete"
           2031-04-18T14:25:03Z,PROP,tank press complete
Conventions: the first row is a header unless it holds a time; without one, columns are found by what is in them. A row
starts on the line that is reported. Quoted cells may hold line ends and doubled quotes; blanks belong to the cell.
A quote that is never closed spoils its own line only.
"""

from __future__ import annotations

import csv
import re
from collections import Counter

from aftercount.logs.columns import names_a_part, plain
from aftercount.logs.entries import Context, Entries
from aftercount.logs.tabular import Rows
from aftercount.logs.tabular import read as read_rows
from aftercount.logs.walltime import Stamp, read_stamp

DELIMITERS = (",", ";", "\t", "|")
# A cell that runs over more lines than this is a quote that somebody forgot to close.
_LONGEST_ROW_LINES = 60
_SAMPLE_LINES = 40


def read(text: str, context: Context) -> Entries:
    """All rows of a delimited file."""
    out = Entries()
    lines = text.split("\n")
    delimiter = delimiter_of(lines) or ","
    rows = _rows(lines, delimiter, out)
    if not rows:
        return out
    first = rows[0][1]
    if has_header(first, context):
        header, body = first, rows[1:]
    else:
        header, body = [f"column {i + 1}" for i in range(max(len(r) for _, r in rows))], rows
        out.notes.append("no header row")
    doubled = [n for n, times in Counter(plain(h) for h in header if plain(h)).items() if times > 1]
    if doubled:
        out.notes.append(f"column name given twice: {', '.join(doubled)[:100]}")
    return read_rows(Rows(list(header), [n for n, _ in body], [r for _, r in body], delimiter), context, out)


def delimiter_of(lines: list[str]) -> str | None:
    """The delimiter that cuts most lines into the same number of cells, at least two; None if none does."""
    sample = [x for x in lines[:_SAMPLE_LINES * 3] if x.strip()][:_SAMPLE_LINES]
    best: tuple[float, int, str] | None = None
    for delimiter in DELIMITERS:
        counts = Counter(re.sub(r'"[^"]*"', "", x).count(delimiter) for x in sample)
        counts.pop(0, None)
        if not counts:
            continue
        cells, times = max(counts.items(), key=lambda c: (c[1], c[0]))
        # The header row is the best witness: a delimiter that it lacks cuts words, not columns.
        witness = sample[0].count(delimiter) >= 1
        key = (times / len(sample) + witness, cells, delimiter)
        if best is None or key[:2] > best[:2]:
            best = key
    return best[2] if best else None


def has_header(first: list[str], context: Context) -> bool:
    """A first row without any time in it, and with names rather than numbers, is a header ('t0' can be either)."""
    return not any(re.fullmatch(r"-?\d[\d.:]*", c.strip()) or (isinstance(read_stamp(c, context.frame), Stamp) and not names_a_part(c)) for c in first)


def _rows(lines: list[str], delimiter: str, out: Entries) -> list[tuple[int, list[str]]]:
    """(line, cells) of every row that is not blank; rows that cannot be cut are rejects."""
    rows: list[tuple[int, list[str]]] = []
    at = 0
    while at < len(lines):
        at = _run(lines, at, delimiter, rows, out)
    return rows


class _Feed:
    """Gives the lines to the csv module one by one, and stops it when one row has swallowed too many."""

    def __init__(self, lines: list[str], start: int) -> None:
        self.lines, self.at, self.row = lines, start, start

    def __iter__(self) -> _Feed:
        return self

    def __next__(self) -> str:
        if self.at >= len(self.lines):
            raise StopIteration
        if self.at - self.row > _LONGEST_ROW_LINES:
            raise csv.Error("a quote that is never closed")
        self.at += 1
        return self.lines[self.at - 1] + "\n"


def _run(lines: list[str], start: int, delimiter: str, rows: list[tuple[int, list[str]]], out: Entries) -> int:
    """Read rows from a line on until the end or a fault; the line to go on from."""
    feed = _Feed(lines, start)
    reader = csv.reader(feed, delimiter=delimiter)
    while True:
        feed.row = line = feed.at
        try:
            cells = next(reader)
        except StopIteration:
            return len(lines)
        except csv.Error as error:
            out.reject(line + 1, f"not a row: {error}", lines[line])
            return line + 1
        if feed.at - line > 1 and feed.at >= len(lines) and not _closed(lines[line:feed.at]):
            out.reject(line + 1, "not a row: a quote that is never closed", lines[line])
            return line + 1
        if any(c.strip() for c in cells):
            rows.append((line + 1, cells))


def _closed(lines: list[str]) -> bool:
    return sum(x.count('"') for x in lines) % 2 == 0
