"""The plan that a count was held against, as a plan again: plan.csv by its agreed columns, then those carried along.

Times and durations are written in one form, defaults filled in; texts made safe for a spreadsheet.
"""

from __future__ import annotations

import csv
import io
import math
from typing import Any

from aftercount.counttime import format_count
from aftercount.plan import Plan
from aftercount.plan.model import COLUMNS
from aftercount.report.safe import cell


def plan_csv(plan: Plan) -> bytes:
    sink = io.StringIO(newline="")
    writer = csv.writer(sink, lineterminator="\n")
    writer.writerow([*COLUMNS, *map(cell, plan.extra)])
    writer.writerows([_written(name, row) for name in (*COLUMNS, *plan.extra)] for row in plan.table.to_dict("records"))
    return sink.getvalue().encode()


def _written(name: str, row: dict[Any, Any]) -> str:
    if name == "t":
        return format_count(row["t_s"])
    if name == "must":
        return "yes" if row["must"] else "no"
    value = row[f"{name}_s" if name in ("duration", "into_hold") else name]
    if isinstance(value, (list, tuple)):
        return cell(("; " if name == "says" else " ").join(map(str, value)))
    if isinstance(value, float):
        return "" if math.isnan(value) else f"{value:.15g}"
    return "" if value is None else cell(str(value))
