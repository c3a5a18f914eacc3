"""What a checked plan holds.

Conventions: `t_s` is count time in seconds, negative before T-0; `line` is the 1-based line (CSV) or row (XLSX) of the
plan file; a blank cell is null, except that tolerances have the plan's default.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

KINDS = ("step", "hold", "poll")
# The contract's columns, in its order.
COLUMNS = ("step", "t", "action", "kind", "duration", "into_hold", "by", "to", "early_s", "late_s", "after",
           "response_s", "says", "must", "phase")
REQUIRED = ("step", "t", "action")
DTYPES = {
    "row": "int64", "line": "int64", "step": "str", "t_s": "float64", "action": "str", "kind": "str",
    "duration_s": "float64", "into_hold_s": "float64", "by": "str", "to": "str", "early_s": "float64",
    "late_s": "float64", "after": "object", "response_s": "float64", "says": "object", "must": "bool", "phase": "str",
}


@dataclass(frozen=True)
class Plan:
    """table: one row a plan row, in file order, columns as in DTYPES and then `extra` (carried as text)."""

    table: pd.DataFrame
    file: str
    extra: tuple[str, ...] = ()

    @property
    def steps(self) -> pd.DataFrame:
        """The rows that are done by someone: all but the built-in holds."""
        return self.table[self.table["kind"] != "hold"]

    @property
    def holds(self) -> pd.DataFrame:
        """The built-in holds."""
        return self.table[self.table["kind"] == "hold"]
