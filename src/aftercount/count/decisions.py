"""decisions.csv: what a reviewer has settled by hand. A decision always wins, so a wrong one is an error.

One row a decision: step, pass, decision (matched | missed | ignore), and for 'matched' the source and line.
`row_line` is the line of decisions.csv. Several rows may match one step (a call and its report).
It does not check that the line exists in that log: the match does, when it has read it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from aftercount.count.document import suggestion
from aftercount.count.model import CountFolder
from aftercount.count.textfile import TextTable, read_csv_table
from aftercount.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Collection

COLUMNS = ("step", "pass", "decision", "source", "line", "note")
REQUIRED = ("step", "decision")
DECISIONS = ("matched", "missed", "ignore")


def load_decisions(count: CountFolder, plan: Any) -> tuple[pd.DataFrame, list[Problem]]:
    """The decisions and every problem in them; `plan` is a Plan (its table names the steps)."""
    if count.decisions_file is None:
        return _frame([]), []
    table = read_csv_table(count.decisions_file, str(count.decisions_file), "decisions")
    _check_header(table)
    if any(p.severity == "error" for p in table.problems):
        return _frame([]), table.problems
    steps = list(plan.table["step"])
    sources = [log.path for log in count.logs]
    rows = [_row(table, line, dict(zip(_names(table), cells, strict=False)), (steps, sources)) for line, cells in table.rows]
    good = [row for row in rows if row is not None]
    _check_contradictions(table, good)
    return _frame(good), table.problems


def _names(table: TextTable) -> list[str]:
    return [name.lower() for name in table.header]


def _check_header(table: TextTable) -> None:
    names = _names(table)
    for name in names:
        if name and name not in COLUMNS:
            _add(table, table.header_line, "unknown-column", f"unknown column '{name}'", suggestion(name, COLUMNS))
    for name in REQUIRED:
        if name not in names and not any(p.severity == "error" for p in table.problems):
            _add(table, table.header_line, "no-column", f"there is no column '{name}'", f"columns: {', '.join(COLUMNS)}")


def _row(
    table: TextTable, line: int, cells: dict[str, str], known: tuple[Collection[str], Collection[str]],
) -> dict[str, Any] | None:
    steps, sources = known
    before = len(table.problems)
    step, decision = cells["step"], cells["decision"].lower()
    if step not in steps:
        _add(table, line, "unknown-step", f"step '{step}' is not in the plan", _near(step, steps))
    if decision not in DECISIONS:
        _add(table, line, "unknown-decision", f"unknown decision '{decision}'", suggestion(decision, DECISIONS))
    pass_ = _whole(table, line, "pass", cells.get("pass", ""))
    at = _whole(table, line, "line", cells.get("line", ""))
    source = cells.get("source", "")
    if source and source not in sources:
        _add(table, line, "unknown-source", f"source '{source}' is not a log of this count", suggestion(source, sources))
    if decision == "matched" and not (source and cells.get("line")):
        _add(table, line, "no-line", "'matched' needs the source and the line it is matched to")
    if len(table.problems) > before:
        return None
    return {"step": step, "pass": 1 if pass_ is None else pass_, "decision": decision, "source": source or None,
            "line": at, "note": cells.get("note") or None, "row_line": line}


def _whole(table: TextTable, line: int, name: str, text: str) -> int | None:
    """A whole number from 1; None for a blank cell."""
    if not text:
        return None
    # Spreadsheets save whole numbers as 12.0 at times.
    digits = text.removesuffix(".0")
    if digits.isascii() and digits.isdigit() and 0 < int(digits) < 2**53:
        return int(digits)
    _add(table, line, f"bad-{name}", f"{name} must be a whole number from 1, not '{text[:40]}'")
    return None


def _check_contradictions(table: TextTable, rows: list[dict[str, Any]]) -> None:
    """A step cannot be both matched and missed in one pass."""
    first: dict[tuple[str, int], dict[str, Any]] = {}
    for row in rows:
        other = first.setdefault((row["step"], row["pass"]), row)
        if other["decision"] != row["decision"]:
            text = f"step '{row['step']}' is '{other['decision']}' on line {other['row_line']} and '{row['decision']}' here"
            _add(table, row["row_line"], "contradiction", text)


def _near(step: str, steps: Collection[str]) -> str:
    hint = suggestion(step, steps)
    return hint if hint.startswith("did") else ""


def _add(table: TextTable, line: int, code: str, text: str, hint: str = "") -> None:
    table.problems.append(Problem(table.file, line, f"decisions-{code}", text, hint))


def _frame(rows: list[dict[str, Any]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=[*COLUMNS, "row_line"])
    kinds = {"step": "str", "pass": "int64", "decision": "str", "source": "str", "line": "Int64", "note": "str", "row_line": "int64"}
    return frame.astype(kinds)
