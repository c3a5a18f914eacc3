"""A table as CSV (RFC 4180, UTF-8): instants as RFC 3339 with Z, missing values empty, texts made safe."""

from __future__ import annotations

import csv
import io
from typing import Any

import pandas as pd

from aftercount.report.data import ReviewData, rows
from aftercount.report.safe import cell


def csv_bytes(data: ReviewData, name: str) -> bytes:
    sink = io.StringIO(newline="")
    frame = data.table(name)
    writer = csv.writer(sink, lineterminator="\r\n")
    writer.writerow([cell(c) for c in frame.columns])
    writer.writerows([_written(v) for v in row.values()] for row in rows(frame))
    return sink.getvalue().encode()


def _written(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, pd.Timestamp):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, list):
        return cell(" ".join(map(str, value)))
    return cell(value) if isinstance(value, str) else value
