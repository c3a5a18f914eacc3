"""What only the whole plan shows: duplicate ids, `after` that is unknown or circular, holds, stations.

Each check takes the rows and adds its problems; none changes a row.
"""

from __future__ import annotations

import graphlib
import math
from typing import Any

from aftercount.count.document import closest, suggestion
from aftercount.plan.model import KINDS
from aftercount.plan.rows import RowReader

Rows = list[dict[str, Any]]
# Different ids are often alike (4.1, 4.10), so past this many a 'did you mean' costs more than it helps.
_MAX_SUGGEST = 50


def check_plan(rows: Rows, reader: RowReader, stations: dict[str, tuple[str, ...]]) -> None:
    """Every fault that shows between rows."""
    _ids(rows, reader)
    _after(rows, reader)
    _cycles(rows, reader)
    _holds(rows, reader)
    if stations:
        _stations(rows, reader, stations)
    if not any(row["kind"] in KINDS and row["kind"] != "hold" for row in rows):
        reader.add(0, "no-steps", "the plan has no steps", "it needs at least one row that is not a hold")


def _ids(rows: Rows, reader: RowReader) -> None:
    first: dict[str, int] = {}
    for row in rows:
        if row["step"] and first.setdefault(row["step"], row["line"]) != row["line"]:
            reader.add(row["line"], "duplicate-step", f"step '{row['step']}' is already on line {first[row['step']]}")


def _after(rows: Rows, reader: RowReader) -> None:
    ids = {row["step"] for row in rows}
    asked = 0
    for row in rows:
        for before in row["after"]:
            if before == row["step"]:
                reader.add(row["line"], "after-itself", f"step '{before}' comes after itself")
            elif before not in ids:
                asked += 1
                near = closest(before, sorted(ids)) if asked <= _MAX_SUGGEST else None
                hint = f"did you mean '{near}'?" if near else ""
                reader.add(row["line"], "unknown-after", f"after names step '{before}', which is not in the plan", hint)


def _cycles(rows: Rows, reader: RowReader) -> None:
    lines = {row["step"]: row["line"] for row in rows}
    graph = {row["step"]: [a for a in row["after"] if a in lines and a != row["step"]] for row in rows}
    # Each round names one circle and cuts it, so that every circle is reported at once.
    for _ in range(len(graph)):
        try:
            graphlib.TopologicalSorter(graph).prepare()
            return
        except graphlib.CycleError as fault:
            circle = [str(step) for step in fault.args[1]]
            start = min(circle[:-1], key=lambda step: lines[step])
            shown = " after ".join(reversed(circle[:12])) + (" ..." if len(circle) > 12 else "")
            reader.add(lines[start], "after-circle", f"steps wait for each other: {shown}")
            for step, before in zip(circle[1:], circle, strict=False):
                graph[step] = [a for a in graph[step] if a != before]


def _holds(rows: Rows, reader: RowReader) -> None:
    """into_hold needs a hold at that T; two holds at one T make it unclear which."""
    holds: dict[float, dict[str, Any]] = {}
    for row in rows:
        if row["kind"] == "hold" and not math.isnan(row["t_s"]):
            other = holds.setdefault(row["t_s"], row)
            if other is not row:
                reader.add(row["line"], "hold-twice", f"there is already a hold at this count time, on line {other['line']}")
    for row in rows:
        if row["kind"] == "hold" or math.isnan(row["into_hold_s"]) or math.isnan(row["t_s"]):
            continue
        hold = holds.get(row["t_s"])
        if hold is None:
            reader.add(row["line"], "into-no-hold", "into_hold is given, but the plan has no hold at this count time")
        elif row["into_hold_s"] > hold["duration_s"]:
            reader.add(row["line"], "into-past-hold", "into_hold is longer than the hold", f"the hold is on line {hold['line']}", warn=True)


def _stations(rows: Rows, reader: RowReader, stations: dict[str, tuple[str, ...]]) -> None:
    known = {s.lower() for s in stations} | {form.lower() for forms in stations.values() for form in forms}
    told: set[str] = set()
    for row in rows:
        for name in (row["by"], row["to"]):
            if name and name.lower() not in known and name not in told:
                told.add(name)
                reader.add(row["line"], "unknown-station", f"station '{name}' is not in [stations]", suggestion(name, stations), warn=True)
