"""A small CSV table as a person or a spreadsheet wrote it: header, rows of texts, and the line each row begins on.

Lenient where spreadsheets differ (byte order mark, UTF-16, Windows-1252, `;` or tab between cells, blank rows,
quoted line breaks); strict about nothing: what the cells must hold is for the caller. Lines are 1-based.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from pathlib import Path

from aftercount.errors import Problem

# Plans and decisions are written by hand; 5,000 steps are under 1 MB. A cap keeps a wrong file from filling memory.
MAX_BYTES = 64_000_000
# A cell may hold a few lines of text; a row of more lines than this is a quote left open.
MAX_ROW_LINES = 12
# No plan has more columns; a row of more cells is data of another kind, and each column costs a look for misspellings.
MAX_COLUMNS = 500
_NOTHING = " ,;\t|\""
_DELIMITERS = ",;\t|"


@dataclass
class TextTable:
    """header as written; rows: (line, cells), each padded to the header's width."""

    file: str
    header: list[str] = field(default_factory=list)
    header_line: int = 0
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def take(self, line: int, cells: list[str], code: str) -> None:
        """The next row of the file: blank rows are passed over, the first other one is the header."""
        trimmed = [c.strip() for c in cells]
        if not any(trimmed) or (not self.header and not any(c.strip(_NOTHING) for c in trimmed)):
            return
        if not self.header:
            width = max(i for i, c in enumerate(trimmed, 1) if c)  # a sheet may claim more columns than it has
            if width > MAX_COLUMNS:
                text = f"the header has {width} cells; at most {MAX_COLUMNS} are read"
                self.problems.append(Problem(self.file, line, f"{code}-too-wide", text))
            self.header, self.header_line = trimmed[:min(width, MAX_COLUMNS)], line
            return
        width = len(self.header)
        if any(trimmed[width:]):
            text = f"{len(trimmed)} cells where the header has {width}"
            self.problems.append(Problem(self.file, line, f"{code}-row-width", text, "quote a cell that holds the delimiter"))
        self.rows.append((line, (trimmed + [""] * width)[:width]))


def read_csv_table(path: Path, file: str, code: str) -> TextTable:
    """The table of a CSV file; `code` begins the codes of its problems, `file` is how they name it."""
    table = TextTable(file)
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            table.problems.append(Problem(file, 0, f"{code}-too-large", f"{size} bytes; at most {MAX_BYTES} are read"))
            return table
        text = _decode(path.read_bytes(), table, code)
    except OSError as fault:
        table.problems.append(Problem(file, 0, f"{code}-unreadable", f"cannot be read: {fault.strerror or fault}"))
        return table
    if "\0" in text:
        table.problems.append(Problem(file, 0, f"{code}-not-text", "a CSV text was expected; this file is binary"))
        return table
    _parse(text, table, code)
    return table


def _decode(raw: bytes, table: TextTable, code: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw[: fault.start].count(b"\n") + 1
        text = "not UTF-8; read as Windows-1252"
        table.problems.append(Problem(table.file, line, f"{code}-encoding", text, "save it as UTF-8", "warning"))
        return raw.decode("cp1252", errors="replace")


def _open_quote(table: TextTable, lines: tuple[int, int], code: str) -> None:
    """A quote that is never closed swallows the rows below it: nothing may vanish without a word."""
    text = f"one row from line {lines[0]} to line {lines[1]}: is a quote not closed?"
    table.problems.append(Problem(table.file, lines[0], f"{code}-open-quote", text, 'write a quote inside quotes as ""'))


def _parse(text: str, table: TextTable, code: str) -> None:
    head = next((line for line in text.splitlines() if line.strip(_NOTHING)), "")
    delimiter = max(_DELIMITERS, key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    begins, total, odd = 1, text.count("\n"), text.count('"') % 2 == 1
    try:
        for cells in reader:
            # An odd number of quotes in a row of several lines at the end: the last quote was never closed.
            ends = reader.line_num
            at_end = ends >= total and ends > begins and odd
            if at_end or ends - begins >= MAX_ROW_LINES:
                _open_quote(table, (begins, ends), code)
            table.take(begins, cells, code)
            begins = reader.line_num + 1
    except csv.Error as fault:
        table.problems.append(Problem(table.file, begins, f"{code}-csv", f"not readable as CSV: {fault}"))
