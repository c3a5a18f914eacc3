"""What is in a trend folder, and how is it written?

The tables as Parquet, summary.json, trend.html, three charts, and suggested_plan.csv: the plan with the times and
tolerances that the record suggests, to consider. The same reviews give the same bytes; the folder appears whole or not at all.
"""

from __future__ import annotations

import io
import json
import tempfile
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as pq

from aftercount.beside import ALONE, Beside
from aftercount.campaign import places
from aftercount.campaign.newplan import suggested_plan
from aftercount.campaign.tables import TREND_TABLES
from aftercount.campaign.trend import Trend
from aftercount.report.atomic import keep_foreign, replace_folder

_NAMES = {t.name for t in TREND_TABLES}
_DRAWN = ("trend", "signals", "history", "counts")  # what charts are drawn from
_FIXED = {"summary.json", "trend.html", "season.png", "control.png", "counts.png", "suggested_plan.csv"}


def write_trend(trend: Trend, out: Path | str, beside: Beside = ALONE) -> None:
    """Write the trend folder whole, replacing an earlier one; beside: who draws the charts. Raises UsageError when `out` holds something else."""
    files: dict[str, Any] = dict(trend_files(trend, beside))
    if places.is_remote(str(out)):
        with tempfile.TemporaryDirectory(prefix="aftercount-") as temporary:
            made = Path(temporary) / "trend"
            replace_folder(made, files, is_trend_folder)
            places.put(made, str(out), _is_known)
        return
    target = places.local(str(out))
    if is_trend_folder(target):
        files |= keep_foreign(target, _is_known)
    replace_folder(target, files, is_trend_folder)


def _is_known(name: str) -> bool:
    return name in _FIXED or name.removesuffix(".parquet") in _NAMES


def trend_files(trend: Trend, beside: Beside = ALONE) -> dict[str, bytes]:
    """Every file of the folder by name, as bytes."""
    from aftercount.campaign.page import render_trend

    pictures = beside.begin(_pictures, {name: trend.tables[name] for name in _DRAWN})
    files = {f"{table.name}.parquet": _parquet(table.to_arrow(trend.tables[table.name])) for table in TREND_TABLES}
    files["summary.json"] = (json.dumps(trend.summary, indent=2, sort_keys=True, ensure_ascii=False) + "\n").encode()
    files["suggested_plan.csv"] = suggested_plan(trend.tables["trend"], trend.plan).encode()
    files["trend.html"] = render_trend(trend).encode()
    return files | pictures()


def _pictures(tables: dict[str, pd.DataFrame]) -> dict[str, bytes]:
    from aftercount.campaign.charts import charts

    return charts(tables)


def is_trend_folder(folder: Path) -> bool:
    """Whether `trend` wrote this folder."""
    return all((folder / name).is_file() for name in ("summary.json", "trend.parquet", "signals.parquet", "history.parquet"))


def _parquet(table: Any) -> bytes:
    sink = io.BytesIO()
    pq.write_table(table, sink, compression="zstd", store_schema=False)
    return sink.getvalue()
