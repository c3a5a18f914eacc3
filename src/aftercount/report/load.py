"""What does a review folder say? Its tables and summary, read back as they were written.

It reads only the folder: no logs, no plan. A folder of an older version may lack tables or columns that came later;
those come back empty. It does not check that the figures are right.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from aftercount import tables
from aftercount.errors import InputError, Problem
from aftercount.report.data import ReviewData

_OPTIONAL = {"marks", "polls", "findings"}


def load_folder(out: Path | str) -> tuple[dict[str, pd.DataFrame], dict[str, Any]]:
    """The tables by name, and the summary, of the review in `out`.

    Raises InputError naming the file that is missing or cannot be read.
    """
    folder = Path(out)
    frames = {t.name: _read_table(folder / f"{t.name}.parquet", t) for t in tables.REVIEW_TABLES}
    return frames, read_summary(folder)


def load_review(out: Path | str) -> ReviewData:
    """The review in `out`, as every renderer takes it."""
    frames, summary = load_folder(out)
    return ReviewData(**frames, summary=summary)


def read_summary(folder: Path) -> dict[str, Any]:
    path = folder / "summary.json"
    try:
        summary = json.loads(path.read_bytes())
    except OSError as error:
        raise _unusable(path, "review-missing", f"no summary.json here: {error.strerror}") from error
    except ValueError as error:
        raise _unusable(path, "review-unreadable", f"expected JSON: {error}") from error
    if not isinstance(summary, dict):
        raise _unusable(path, "review-unreadable", "expected a JSON object")
    return summary


def _read_table(path: Path, table: tables.Table) -> pd.DataFrame:
    if not path.is_file():
        if table.name in _OPTIONAL:
            return table.empty()
        raise _unusable(path, "review-missing", "the file is missing")
    try:
        # Without a file system's partition discovery, and without threads' order mattering.
        return table.from_arrow(_with_later_columns(pq.ParquetFile(path).read(), table))
    except (pa.ArrowException, OSError, ValueError) as error:
        raise _unusable(path, "review-unreadable", f"expected a {table.name} table: {error}") from error


def _with_later_columns(read: pa.Table, table: tables.Table) -> pa.Table:
    """Columns that may be empty and that the writer did not know yet, as empty."""
    for column in table.schema:
        if column.nullable and column.name not in read.column_names:
            read = read.append_column(column, pa.nulls(len(read), column.type))
    return read


def _unusable(path: Path, code: str, text: str) -> InputError:
    hint = "expected a folder written by 'aftercount review'"
    return InputError([Problem(str(path), 0, code, text, hint)])
