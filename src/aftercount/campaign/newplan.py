"""The plan of the last count with the times and tolerances that the record suggests: a plan.csv to consider.

A step inside a built-in hold is moved within it. Each row that is changed says why in `evidence`, beside its planned time;
all else stays as it was planned. Reviews that carry no plan give the steps alone, with what is known of them.
"""

from __future__ import annotations

import csv
import io
from typing import Any

import pandas as pd

from aftercount.counttime import format_count, parse_duration
from aftercount.report.safe import cell

_ADDED = ("planned_t", "evidence")
_KNOWN = ("step", "t", "action", "by", "phase", "early_s", "late_s")  # of a step, where the reviews carry no plan


def suggested_plan(steps: pd.DataFrame, plan: str | None = None) -> str:
    """steps: TREND rows. plan: the last count's planned.csv, by the agreed columns."""
    told = {str(row["step"]): {str(k): v for k, v in row.items()} for row in steps.to_dict("records")}
    if plan is None:
        columns, rows = list(_KNOWN), [_from_trend(row) for row in told.values()]
    else:
        read = csv.DictReader(io.StringIO(plan))
        columns, rows = [name for name in read.fieldnames or () if name not in _ADDED], list(read)
    sink = io.StringIO()
    writer = csv.DictWriter(sink, [*columns, *_ADDED], lineterminator="\n", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(row | {"planned_t": row["t"]} | _suggested(row, told.get(row["step"])) for row in rows)
    return sink.getvalue()


def _from_trend(row: dict[str, Any]) -> dict[str, str]:
    texts = {name: "" if pd.isna(row[name]) else cell(str(row[name])) for name in ("step", "action", "by", "phase")}
    return {**texts, "t": format_count(row["planned_t_s"]), "early_s": "", "late_s": ""}


def _suggested(row: dict[str, str], told: dict[str, Any] | None) -> dict[str, str]:
    """The cells of a plan's row that the record would have otherwise; none where it suggests nothing."""
    if told is None or pd.isna(told["suggested_t_s"]):
        return {}
    move = told["suggested_t_s"] - told["planned_t_s"]
    into = parse_duration(row.get("into_hold") or "")
    place = {"t": format_count(told["suggested_t_s"])} if into is None else {"into_hold": f"{max(into + move, 0.0):.15g}"}
    evidence = f"median {told['median_deviation_s']:+.0f} s over {told['done']} of {told['n']} rehearsals, level now {told['level_s']:+.0f} s"
    return {**place, "early_s": f"{told['suggested_early_s']:.0f}", "late_s": f"{told['suggested_late_s']:.0f}", "evidence": evidence}
