"""The plan of a count: read, checked, every problem at once; a plan only when none of them is an error."""

from __future__ import annotations

from typing import Any

import pandas as pd

from aftercount.count.document import closest, suggestion
from aftercount.count.model import CountFolder
from aftercount.count.textfile import TextTable
from aftercount.errors import Problem
from aftercount.plan.cells import read_cells
from aftercount.plan.checks import check_plan
from aftercount.plan.model import COLUMNS, DTYPES, REQUIRED, Plan
from aftercount.plan.rows import RowReader
from aftercount.tables import STEPS

# difflib's ratio from which a column of the user's own is taken for a misspelling of ours ('phse', not 'status').
_MISSPELT = 0.75
# Names a carried column may not take: they are ours in the steps table.
_TAKEN = frozenset(DTYPES) | frozenset(STEPS.columns)


def load(count: CountFolder) -> tuple[Plan | None, list[Problem]]:
    """The plan and every problem of its file; None when it cannot be used."""
    table = read_cells(count.plan_file)
    names = _header(table)
    if not table.header:
        return None, table.problems
    reader = RowReader(table.file, count.early_s, count.late_s, table.problems, frozenset(names))
    texts = [dict(zip(names, cells, strict=True)) for _, cells in table.rows]
    rows = [reader.read(i, line, texts[i]) for i, (line, _) in enumerate(table.rows)]
    check_plan(rows, reader, count.stations)
    problems = sorted(table.problems, key=lambda p: p.line)
    if any(p.severity == "error" for p in problems):
        return None, problems
    extra = {name: _carried(name) for name in names if name and name not in COLUMNS}
    return Plan(_frame(rows, texts, extra), table.file, tuple(extra.values())), problems


def _header(table: TextTable) -> list[str]:
    """Column names: the contract's in lower case, others as written; '' for one that is not used."""
    at = table.header_line
    if not table.header and not table.problems:
        _add(table, 0, "empty", "the plan is empty; a header row was expected", f"at least {', '.join(REQUIRED)}")
    names = [n.lower() if n.lower() in COLUMNS else n for n in table.header]
    for i, name in enumerate(names):
        if name in names[:i] and name:
            _add(table, at, "column-twice", f"column '{name}' is there twice")
        near = closest(name, COLUMNS, _MISSPELT) if name and name not in COLUMNS else None
        if near and near not in names:
            missing = near in REQUIRED
            _add(table, at, "unknown-column", f"column '{name}' is not known and is only carried along", f"did you mean '{near}'?", warn=not missing)
    lost = [n for n in REQUIRED if n not in names]
    if lost and table.header:
        hint = suggestion(lost[0], [n for n in names if n and n not in COLUMNS])
        _add(table, at, "no-column", f"there is no column {', '.join(repr(n) for n in lost)}", hint.replace("known", "found"))
    for (line, cells) in table.rows:
        if any(c and not n for n, c in zip(names, cells, strict=True)):
            _add(table, line, "nameless-column", "a cell stands in a column without a name", warn=True)
            break
    return names


def _carried(name: str) -> str:
    """A carried column keeps its name unless one of ours has it."""
    return f"plan_{name}" if name in _TAKEN else name


def _frame(rows: list[dict[str, Any]], texts: list[dict[str, str]], extra: dict[str, str]) -> pd.DataFrame:
    frame = pd.DataFrame({name: [row[name] for row in rows] for name in DTYPES}).astype(DTYPES)
    for given, name in extra.items():
        frame[name] = pd.Series([text[given] or None for text in texts], dtype="str")
    return frame


def _add(table: TextTable, line: int, code: str, text: str, hint: str = "", *, warn: bool = False) -> None:
    table.problems.append(Problem(table.file, line, f"plan-{code}", text, hint, "warning" if warn else "error"))
