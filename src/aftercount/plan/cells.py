"""plan.csv or plan.xlsx as one table of texts, with the line (row of the sheet) each row stands on.

A spreadsheet cell may hold a number, a time of day or a span where a person meant a count time or a duration: it
becomes the text that a person would have typed in a CSV. Only the first sheet that is not empty is read.
"""

from __future__ import annotations

import datetime as dt
import re
import warnings
from pathlib import Path
from typing import Any

from aftercount.count.textfile import MAX_BYTES, TextTable, read_csv_table
from aftercount.counttime import format_duration
from aftercount.errors import Problem

# A sheet's used range can claim a million empty rows; a plan has a few thousand at most.
MAX_ROWS = 200_000
# Unpacked size of a workbook, bytes: bounds a small file made to unpack without end.
MAX_UNPACKED = 512_000_000
_DECIMALS = re.compile(r"0\.(0+)")


def read_cells(path: Path) -> TextTable:
    """The plan's table of texts; its faults are in `problems`."""
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        return _read_xlsx(path)
    return read_csv_table(path, str(path), "plan")


def _read_xlsx(path: Path) -> TextTable:
    import zipfile

    table = TextTable(str(path))
    try:
        with zipfile.ZipFile(path) as packed:
            unpacked = sum(info.file_size for info in packed.infolist())
        if path.stat().st_size > MAX_BYTES or unpacked > MAX_UNPACKED:
            table.problems.append(Problem(table.file, 0, "plan-too-large", "this workbook is too large to be a plan"))
            return table
        _fill(table, path)
    except Exception as fault:  # openpyxl raises what its parsers raise on a damaged file
        table.problems.append(Problem(table.file, 0, "plan-xlsx", f"not readable as an XLSX workbook: {_first_line(fault)}"))
    return table


def _fill(table: TextTable, path: Path) -> None:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    try:
        for sheet in book.worksheets:
            for number, row in enumerate(sheet.iter_rows(max_row=MAX_ROWS), start=1):
                table.take(number, [cell_text(cell.value, getattr(cell, "number_format", "")) for cell in row], "plan")
            if table.header:
                return
    finally:
        book.close()


def cell_text(value: Any, number_format: str = "") -> str:
    """The text a person would have typed for a cell's value."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.timedelta):
        return format_duration(value.total_seconds())
    if isinstance(value, dt.datetime):
        # A span of a day and more, shown as [h]:mm:ss, arrives as a date counted from the sheet's epoch.
        epoch = dt.datetime(1899, 12, 30)
        return format_duration((value - epoch).total_seconds()) if value.year < 1901 else value.isoformat(sep=" ")
    if isinstance(value, dt.time):
        if _hides_seconds(number_format):
            # Typed as 10:00 and shown as 10:00: what a CSV saved from the sheet would hold, minutes and seconds.
            return f"{value.hour}:{value.minute:02d}"
        return format_duration(value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6)
    if isinstance(value, float):
        return _number(value, number_format)
    return str(value)


def _hides_seconds(number_format: str) -> bool:
    return "h" in number_format.lower() and "s" not in number_format.lower()


def _number(value: float, number_format: str) -> str:
    """'4.10' stays 4.10 where the cell shows two decimals: ids are often typed as numbers."""
    found = _DECIMALS.fullmatch(number_format)
    if found:
        return f"{value:.{len(found[1])}f}"
    return str(int(value)) if value.is_integer() else repr(value)


def _first_line(fault: Exception) -> str:
    text = str(fault).strip().splitlines()
    return text[0][:120] if text else type(fault).__name__
