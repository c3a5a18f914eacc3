"""What is in a review folder, and how is it written?

The tables as Parquet (no time stamps, no library metadata), summary.json (sorted keys), two charts, the page, the plan that
the count was held against (planned.csv), and the exports asked for. The same review gives the same bytes. The folder appears whole or not at all (`atomic`).
It does not decide where findings come from; every file is drawn from the same tables.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq

from aftercount.beside import ALONE, Beside
from aftercount.report.atomic import Content, keep_foreign, replace_folder
from aftercount.report.data import SCHEMAS, TABLE_NAMES, ReviewData, data_of, plain, rows
from aftercount.report.notes import FILE_NAME

_FIXED = {"summary.json", "planned.csv", "report.html", "report.pdf", "deviation.png", "count_profile.png", "review.xlsx", "summary.md"}
DECISION_COLUMNS = ("step", "pass", "decision", "source", "line", "note")  # of decisions.csv
_ROW_GROUP = 65_536  # rows; one group for any one count, and bounded memory for a reader of many


@dataclass(frozen=True)
class WriteOptions:
    """What to write beside the agreed files.

    notes: a notes.toml exported from the page, shown in the new one; without it, one in the count folder or left in the
    earlier review folder is taken. baseline: an earlier review folder to compare with.
    extra: further files by name, which the next run replaces.
    """

    csv: bool = False
    xlsx: bool = False
    md: bool = False
    pdf: bool = False
    notes: Path | None = None
    baseline: Path | None = None
    extra: Mapping[str, bytes] = field(default_factory=dict)


def write_folder(review: Any, out: Path | str, options: WriteOptions | None = None, beside: Beside = ALONE) -> Path:
    """Write the review folder `out` whole, replacing an earlier one; returns its path. beside: who draws the charts.

    Raises UsageError when `out` holds something that no review wrote, InputError when it cannot be written or the
    notes or baseline cannot be read.
    """
    options = options or WriteOptions()
    target = Path(out)
    data = _with_decisions(data_of(review), review)
    if options.notes is None:
        options = replace(options, notes=_notes_at_hand(review, target))
    files: dict[str, Content] = {**folder_files(data, options, beside), **_plan(review)}
    if is_review_folder(target):
        files |= {n: c for n, c in keep_foreign(target, lambda n: is_review_file(n, options)).items() if n not in files}
    replace_folder(target, files, is_review_folder)
    return target


def _plan(review: Any) -> dict[str, bytes]:
    """The plan that the count was held against, for whoever has only the review; not as plan.csv, so that no count folder is taken for a review."""
    from aftercount.report.exports.plan import plan_csv

    plan = getattr(review, "plan", None)
    return {} if plan is None else {"planned.csv": plan_csv(plan)}


def _with_decisions(data: ReviewData, review: Any) -> ReviewData:
    """The data with what was settled by hand in its summary, so that the page can save it again with more."""
    count, plan = getattr(review, "count", None), getattr(review, "plan", None)
    if count is None or plan is None or count.decisions_file is None:
        return data
    from aftercount.count import load_decisions

    settled, _ = load_decisions(count, plan)
    made = plain([{k: v for k, v in row.items() if k in DECISION_COLUMNS} for row in rows(settled)])
    return replace(data, summary=data.summary | {"decisions": made})


def _notes_at_hand(review: Any, out: Path) -> Path | None:
    """Where the page tells people to put their notes, or where they may have left them."""
    count_folder = getattr(getattr(review, "count", None), "folder", None)
    places = [Path(p) / FILE_NAME for p in (count_folder, out) if p is not None]
    return next((p for p in places if p.is_file()), None)


def folder_files(data: ReviewData, options: WriteOptions, beside: Beside = ALONE) -> dict[str, bytes]:
    """Every file of the folder by name, as bytes."""
    from aftercount.report.page import render_page

    charts = beside.begin(_charts, data)
    page = render_page(data, notes=options.notes, baseline=options.baseline)
    files = {f"{name}.parquet": parquet_bytes(data, name) for name in TABLE_NAMES}
    files["summary.json"] = json_bytes(data.summary)
    files["report.html"] = page.encode()
    return files | _exports(data, options, page) | charts() | dict(options.extra)


def _charts(data: ReviewData) -> dict[str, bytes]:
    from aftercount.report.charts import deviation_png, profile_png

    return {"deviation.png": deviation_png(data), "count_profile.png": profile_png(data)}


def _exports(data: ReviewData, options: WriteOptions, page: str) -> dict[str, bytes]:
    from aftercount.report import exports

    files: dict[str, bytes] = {}
    if options.csv:
        files |= {f"{name}.csv": exports.csv_bytes(data, name) for name in TABLE_NAMES}
    if options.xlsx:
        files["review.xlsx"] = exports.xlsx_bytes(data)
    if options.md:
        files["summary.md"] = exports.markdown(data).encode()
    if options.pdf:
        from aftercount.report.pdf import pdf_bytes

        files["report.pdf"] = pdf_bytes(page)
    return files


def parquet_bytes(data: ReviewData, name: str) -> bytes:
    sink = io.BytesIO()
    table = SCHEMAS[name].to_arrow(data.table(name))
    pq.write_table(table, sink, compression="zstd", row_group_size=_ROW_GROUP, store_schema=False)
    return sink.getvalue()


def json_bytes(summary: dict[str, Any]) -> bytes:
    return (json.dumps(summary, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n").encode()


def is_review_folder(folder: Path) -> bool:
    """Whether a review wrote this folder: its summary and its tables are there and read as ours."""
    try:
        summary = json.loads((folder / "summary.json").read_bytes())
    except (OSError, ValueError):
        return False
    has_tables = all((folder / f"{name}.parquet").is_file() for name in ("steps", "clock", "events"))
    return isinstance(summary, dict) and {"count", "outcome"} <= summary.keys() and has_tables


def is_review_file(name: str, options: WriteOptions) -> bool:
    """Names that a review writes, with or without today's options: never carried over from the folder before."""
    stem, _, ending = name.rpartition(".")
    return name in _FIXED or name in options.extra or (stem in TABLE_NAMES and ending in {"parquet", "csv"})
