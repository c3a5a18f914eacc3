"""What does every renderer draw from: the review's tables by their schemas, and its summary.

Conventions: tables conform to `aftercount.tables`; the summary holds only what JSON can say, so a review that was
just made and one read back from its folder are the same thing here. It does not compute findings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import pandas as pd

from aftercount import tables


@dataclass(frozen=True, eq=False)
class ReviewData:
    """The ten tables of one review, and its summary."""

    events: pd.DataFrame
    clock: pd.DataFrame
    holds: pd.DataFrame
    steps: pd.DataFrame
    matches: pd.DataFrame
    sources: pd.DataFrame
    rejects: pd.DataFrame
    marks: pd.DataFrame
    polls: pd.DataFrame
    findings: pd.DataFrame
    summary: dict[str, Any]

    def table(self, name: str) -> pd.DataFrame:
        frame: pd.DataFrame = getattr(self, name)
        return frame


TABLE_NAMES = tuple(t.name for t in tables.REVIEW_TABLES)
SCHEMAS = {t.name: t for t in tables.REVIEW_TABLES}


def data_of(review: Any) -> ReviewData:
    """The tables and summary of anything that has them as attributes, conformed and made plain."""
    if isinstance(review, ReviewData):
        return review
    frames = {t.name: t.conform(getattr(review, t.name)) for t in tables.REVIEW_TABLES}
    return ReviewData(**frames, summary=plain(dict(review.summary)))


def plain(value: Any) -> Any:
    """The value in JSON's own types: numpy scalars unboxed, missing values None, instants RFC 3339, keys strings."""
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, np.ndarray):
        return [plain(v) for v in value.tolist()]
    if isinstance(value, np.generic):
        return plain(value.item())
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if hasattr(value, "isoformat"):
        return pd.Timestamp(value).isoformat().replace("+00:00", "Z")
    return value


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """One plain dict a row: None for every missing value, `pd.Timestamp` for instants."""
    columns = {}
    for name in frame.columns:
        column = frame[name]
        if column.dtype == object:
            columns[name] = [_unboxed(v) for v in column.tolist()]
            continue
        values, missing = column.tolist(), column.isna().to_numpy()
        columns[name] = [None if m else v for v, m in zip(values, missing.tolist(), strict=True)] if missing.any() else values
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)] if columns else []


def hold_rows(holds: pd.DataFrame) -> list[dict[str, Any]]:
    """The holds with `number`: counted from 1 as they came, which is how people speak of them."""
    return [h | {"number": i} for i, h in enumerate(rows(holds), 1)]


def _unboxed(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    return value.item() if isinstance(value, np.generic) else value


assert {f.name for f in fields(ReviewData)} == {*TABLE_NAMES, "summary"}
