"""One row of the plan file becomes one step; every fault in it becomes a problem with its line.

A row with a fault is still built as far as it goes, so that one bad cell never hides the faults of other rows.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from aftercount.count.document import suggestion
from aftercount.counttime import parse_count, parse_duration
from aftercount.errors import Problem
from aftercount.plan.model import KINDS

_YES = {"": True, "yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
# No countdown is longer than a year, seconds; a larger figure is a slip of the keyboard, and would overflow instants.
MOST_S = 366 * 86400.0
_IDS = re.compile(r"[\s,;]+")


@dataclass(frozen=True)
class RowReader:
    """What the rows of one file have in common: name, default tolerances, where problems go, the columns it has."""

    file: str
    early_s: float
    late_s: float
    problems: list[Problem]
    columns: frozenset[str]

    def read(self, row: int, line: int, cells: dict[str, str]) -> dict[str, Any]:
        """The step of one row, by the columns of Plan.table."""
        kind = self._kind(line, cells.get("kind", ""))
        out: dict[str, Any] = {"row": row, "line": line, "kind": kind, "step": self._id(line, cells.get("step", ""))}
        out["t_s"] = self._t(line, cells.get("t", ""))
        out["action"] = self._action(line, cells.get("action", ""), kind)
        for name in ("duration", "into_hold"):
            out[f"{name}_s"] = self._span(line, name, cells.get(name, ""), math.nan)
        out["early_s"] = self._span(line, "early_s", cells.get("early_s", ""), self.early_s)
        out["late_s"] = self._span(line, "late_s", cells.get("late_s", ""), self.late_s)
        out["response_s"] = self._span(line, "response_s", cells.get("response_s", ""), math.nan)
        out["after"] = [i for i in _IDS.split(cells.get("after", "")) if i]
        out["says"] = [w.strip() for w in cells.get("says", "").split(";") if w.strip()]
        out["must"] = self._must(line, cells.get("must", ""))
        for name in ("by", "to", "phase"):
            out[name] = cells.get(name) or None
        self._hold_cells(line, out)
        return out

    def add(self, line: int, code: str, text: str, hint: str = "", *, warn: bool = False) -> None:
        self.problems.append(Problem(self.file, line, f"plan-{code}", text, hint, "warning" if warn else "error"))

    def _id(self, line: int, text: str) -> str:
        if "step" not in self.columns:
            return text  # said once, of the header
        if not text:
            self.add(line, "no-step", "this row has no step id")
        elif len(text.split()) > 1:
            self.add(line, "bad-step", f"step id '{text[:60]}' has blanks in it", "ids are separated by blanks in `after`")
        return text

    def _t(self, line: int, text: str) -> float:
        t_s = parse_count(text)
        if t_s is not None and abs(t_s) > MOST_S:
            self.add(line, "bad-time", f"count time '{text[:40]}' is more than a year from T-0")
            return math.nan
        if t_s is not None or "t" not in self.columns:
            return math.nan if t_s is None else t_s
        unsigned = parse_duration(text)
        if unsigned == 0:  # '00:00:00' ends many a table of '-00:05:00', and zero has no other sign
            return 0.0
        if not text:
            self.add(line, "no-time", "this row has no planned count time", "e.g. T-01:30:00")
        elif unsigned is not None:
            self.add(line, "bad-time", f"count time '{text}' has no sign", f"write T-{text} or T+{text}")
        else:
            self.add(line, "bad-time", f"'{text[:60]}' is not a count time", "e.g. T-01:30:00, T-90:00 (min:s), T-31s, T+12")
        return math.nan

    def _span(self, line: int, name: str, text: str, blank: float) -> float:
        if not text:
            return blank
        size = parse_duration(text)
        if size is not None and size <= MOST_S:
            return size
        self.add(line, f"bad-{name.removesuffix('_s').replace('_', '-')}", f"{name} '{text[:60]}' is not a duration of up to a year",
                 "e.g. 00:10:00, 10:00 (min:s), 600, 10m")
        return blank

    def _kind(self, line: int, text: str) -> str:
        kind = text.lower() or "step"
        if kind not in KINDS:
            self.add(line, "unknown-kind", f"unknown kind '{text[:60]}'", suggestion(kind, KINDS))
        return kind

    def _action(self, line: int, text: str, kind: str) -> str:
        if not text and kind != "hold" and "action" in self.columns:
            self.add(line, "no-action", "this row does not say what is done")
        return text or "built-in hold"

    def _must(self, line: int, text: str) -> bool:
        if text.lower() not in _YES:
            self.add(line, "bad-must", f"must is 'yes' or 'no', not '{text[:60]}'")
        return _YES.get(text.lower(), True)

    def _hold_cells(self, line: int, step: dict[str, Any]) -> None:
        """What a hold needs, and what only a hold may have."""
        is_hold, has = step["kind"] == "hold", lambda name: not math.isnan(step[name])
        faults: tuple[tuple[bool, str, str], ...] = (
            (is_hold and not has("duration_s"), "hold-no-duration", "a hold needs its planned duration"),
            (is_hold and has("duration_s") and step["duration_s"] == 0, "hold-no-duration", "a hold of no length is not a hold"),
            (is_hold and step["t_s"] >= 0, "hold-after-zero", "a built-in hold must lie before T-0"),
            (is_hold and has("into_hold_s"), "hold-in-hold", "a hold cannot lie inside a hold"),
            (not is_hold and has("duration_s"), "duration-not-hold", "only a hold has a duration"),
        )
        for wrong, code, text in faults:
            if wrong:
                self.add(line, code, text)

