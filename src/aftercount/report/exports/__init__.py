"""The tables in other people's formats: CSV, one Excel workbook, a Markdown summary. All from the same tables."""

from __future__ import annotations

from aftercount.report.exports.delimited import csv_bytes
from aftercount.report.exports.markdown import markdown
from aftercount.report.exports.workbook import xlsx_bytes

__all__ = ["csv_bytes", "markdown", "xlsx_bytes"]
