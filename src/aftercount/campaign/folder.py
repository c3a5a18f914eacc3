"""What is in a trend folder, and how is it written?

The tables as Parquet, summary.json, trend.html, three charts, and suggested_plan.csv: the plan's times with those that
the record suggests beside them, to consider. The same reviews give the same bytes; the folder appears whole or not at all.
"""

from __future__ import annotations

import csv
import io
import json
import tempfile
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as pq

from aftercount.beside import ALONE, Beside
from aftercount.campaign import places
from aftercount.campaign.tables import TREND_TABLES
from aftercount.campaign.trend import Trend
from aftercount.counttime import format_count
from aftercount.report.atomic import keep_foreign, replace_folder
from aftercount.report.safe import cell

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
    files["suggested_plan.csv"] = suggested_plan(trend.tables["trend"]).encode()
    files["trend.html"] = render_trend(trend).encode()
    return files | pictures()


def _pictures(tables: dict[str, pd.DataFrame]) -> dict[str, bytes]:
    from aftercount.campaign.charts import charts

    return charts(tables)


def suggested_plan(steps: pd.DataFrame) -> str:
    """The times and tolerances that the record suggests, with the evidence, one row a step; blank where none."""
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\n")
    writer.writerow(["step", "t", "action", "by", "phase", "early_s", "late_s", "planned_t", "evidence"])
    for row in steps.to_dict("records"):
        changed = pd.notna(row["suggested_t_s"])
        t_s = row["suggested_t_s"] if changed else row["planned_t_s"]
        evidence = (f"median {row['median_deviation_s']:+.0f} s over {row['done']} of {row['n']} rehearsals, level now {row['level_s']:+.0f} s"
                    if changed else "")
        early, late = (f"{row[c]:.0f}" if changed else "" for c in ("suggested_early_s", "suggested_late_s"))
        by, phase = ("" if pd.isna(row[c]) else cell(str(row[c])) for c in ("by", "phase"))
        writer.writerow([cell(row["step"]), format_count(t_s), cell(row["action"]), by, phase, early, late, format_count(row["planned_t_s"]), evidence])
    return sink.getvalue()


def is_trend_folder(folder: Path) -> bool:
    """Whether `trend` wrote this folder."""
    return all((folder / name).is_file() for name in ("summary.json", "trend.parquet", "signals.parquet", "history.parquet"))


def _parquet(table: Any) -> bytes:
    sink = io.BytesIO()
    pq.write_table(table, sink, compression="zstd", store_schema=False)
    return sink.getvalue()
