"""One Excel workbook: summary, steps, holds, findings, events; headers frozen, real dates, filters on.

Conventions: instants are UTC (a worksheet has no zones; the header says so). Texts are written as texts, never as
formulas. The same review gives the same bytes: the workbook carries no time of writing.
"""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

import pandas as pd

from aftercount.report.data import ReviewData, rows
from aftercount.report.safe import cell, visible
from aftercount.report.summary_text import text_of

_SHEETS = ("steps", "holds", "findings", "events")
_LONGEST = 32_000  # characters; a worksheet cell holds 32767
_MOST_ROWS = 1_048_575  # of a worksheet, without the header
_STAMP = (2000, 1, 1, 0, 0, 0)  # instead of the time of writing
_WIDTHS = {"text": 60, "action": 44, "evidence": 60, "reason": 40, "source": 16, "step": 9}
_DATE = "yyyy-mm-dd hh:mm:ss.000"


def xlsx_bytes(data: ReviewData) -> bytes:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.created = book.properties.modified = dt.datetime(*_STAMP)
    book.properties.creator = "aftercount"
    _summary_sheet(book, data)
    for name in _SHEETS:
        _table_sheet(book, name, data)
    sink = io.BytesIO()
    book.save(sink)
    return _without_times(sink.getvalue())


def _summary_sheet(book: Any, data: ReviewData) -> None:
    sheet = book.create_sheet("summary")
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["B"].width = 90
    for name, value in sorted(data.summary.items()):
        if not isinstance(value, dict | list):
            sheet.append([_head(sheet, name), _cell(sheet, value)])
    sheet.append([])
    for line in text_of(data).splitlines():
        sheet.append([None, _cell(sheet, line)])


def _table_sheet(book: Any, name: str, data: ReviewData) -> None:
    from openpyxl.utils import get_column_letter

    frame = data.table(name)
    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    last = get_column_letter(len(frame.columns))
    sheet.auto_filter.ref = f"A1:{last}{min(len(frame), _MOST_ROWS) + 1}"
    for i, column in enumerate(frame.columns, 1):
        dated = str(frame[column].dtype).startswith("datetime")
        sheet.column_dimensions[get_column_letter(i)].width = _WIDTHS.get(column, 24 if dated else 13)
    sheet.append([_head(sheet, f"{c} (UTC)" if c == "utc" else c) for c in frame.columns])
    for row in rows(frame)[:_MOST_ROWS]:
        sheet.append([_cell(sheet, v) for v in row.values()])


def _head(sheet: Any, text: str) -> Any:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    made = WriteOnlyCell(sheet, cell(text))
    made.font = Font(bold=True)
    return made


def _cell(sheet: Any, value: Any) -> Any:
    """Numbers, truths and instants as they are; anything else as text that is only ever text."""
    from openpyxl.cell import WriteOnlyCell

    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, pd.Timestamp):
        made = WriteOnlyCell(sheet, value.tz_convert(None).to_pydatetime(warn=False))
        made.number_format = _DATE
        return made
    text = " ".join(map(str, value)) if isinstance(value, list) else str(value)
    made = WriteOnlyCell(sheet, cell(visible(text)[:_LONGEST]))
    made.data_type = "s"
    return made


def _without_times(book: bytes) -> bytes:
    """The same archive with fixed member times, and without the time of saving in its properties."""
    sink = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            fixed = zipfile.ZipInfo(info.filename, _STAMP)
            fixed.compress_type, fixed.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
            new.writestr(fixed, _unstamped(info.filename, old.read(info)))
    return sink.getvalue()


def _unstamped(name: str, content: bytes) -> bytes:
    import re

    if name != "docProps/core.xml":
        return content
    return re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", content)
