"""The season as tables for the page: steps by rehearsals, rehearsal by rehearsal, and what the counts held for.

Conventions: a cell has its words and its class; deviations are rounded to whole seconds, and to minutes from a hundred on.
Where there are too many steps the most telling are shown, of the counts the last. It measures nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.charts import telling

Tables = dict[str, pd.DataFrame]
# What still can be read: rows of the picture, columns of it, causes of holds.
MOST_STEPS, MOST_COUNTS, MOST_CAUSES = 60, 24, 20
# Shades of the picture, seconds off the due time, for what is out of its tolerance.
SHADES_S = (30.0, 120.0)
# A deviation from here on is written in minutes and seconds.
_MINUTES_FROM_S = 100.0
_SIGNS = {"missed": "\N{MULTIPLICATION X}", "not_reached": "\N{EN DASH}", "skipped": "\N{WHITE SQUARE}"}
_WORDS = {"missed": "missed", "not_reached": "not reached", "skipped": "optional, not seen"}
PER_COUNT = (("missed", "steps missed"), ("late", "late"), ("early", "early"), ("out_of_order", "out of order"),
             ("unanswered", "not answered"), ("unplanned_hold_s", "unplanned hold, min"), ("median_deviation_s", "middle deviation, s"),
             ("median_response_s", "middle answer, s"))


@dataclass(frozen=True)
class Cell:
    text: str
    css: str = ""
    words: str = ""
    share: float = 0.0


@dataclass(frozen=True)
class Row:
    name: str
    words: str
    cells: tuple[Cell, ...]


def shown_counts(tables: Tables) -> pd.DataFrame:
    """The last counts, where there are too many."""
    return tables["counts"].tail(MOST_COUNTS)


def signed(value: Any, digits: int = 1) -> str:
    """A signed number for a cell; a dash where there is none."""
    return "\N{EN DASH}" if value is None or pd.isna(value) else f"{value:+.{digits}f}".replace("-", "\N{MINUS SIGN}")


def picture(tables: Tables) -> tuple[Row, ...]:
    """Steps by rehearsals."""
    counts = shown_counts(tables)["rehearsal"].tolist()
    actions = tables["trend"].set_index("step")["action"]
    steps = telling(tables, MOST_STEPS)
    history = tables["history"]
    mine = history[history["step"].isin(set(steps)) & history["rehearsal"].isin(set(counts))]
    found = {(r["step"], r["rehearsal"]): _cell(r) for r in mine.to_dict("records")}
    absent = Cell("", "absent", "not in that plan")
    return tuple(Row(step, str(actions[step]), tuple(found.get((step, number), absent) for number in counts)) for step in steps)


def _cell(row: dict[Any, Any]) -> Cell:
    status, value = str(row["status"]), row["deviation_s"]
    frame = " displaced" if row["out_of_order"] else ""
    if status in _SIGNS:
        return Cell(_SIGNS[status], status + frame, _WORDS[status])
    if pd.isna(value):
        return Cell("\N{LOZENGE}", "untimed" + frame, "done, not measured")
    timing = "on_time" if pd.isna(row["timing"]) else str(row["timing"])
    depth = int(np.searchsorted(SHADES_S, abs(value), side="right")) + 1
    css = timing if timing == "on_time" else f"{timing} shade{depth}"
    return Cell(brief(float(value)), css + frame, timing.replace("_", " ") + (", out of order" if frame else ""))


def brief(value: float) -> str:
    """'+12', or '+2:05' from a hundred seconds on."""
    if abs(value) < _MINUTES_FROM_S:
        return signed(round(value), 0) if round(value) else "0"
    minutes, seconds = divmod(round(abs(value)), 60)
    return f"{'+' if value > 0 else chr(0x2212)}{minutes}:{seconds:02d}"


def per_count(tables: Tables) -> tuple[Row, ...]:
    """What differed in each count, each figure with its share of the largest."""
    counts = shown_counts(tables)
    rows = []
    for column, words in PER_COUNT:
        values = counts[column].to_numpy(dtype=float) / (60 if column == "unplanned_hold_s" else 1)
        digits = 0 if counts[column].dtype.kind in "iu" or str(counts[column].dtype) == "Int64" else 1
        rows.append(Row(column, words, _measured(values, digits, column == "median_deviation_s")))
    return tuple(rows)


def _measured(values: np.ndarray, digits: int, with_sign: bool) -> tuple[Cell, ...]:
    known = np.abs(values[~np.isnan(values)])
    most = float(known.max()) if len(known) and known.max() > 0 else 1.0
    return tuple(Cell("\N{EN DASH}") if np.isnan(v) else Cell(signed(v, digits) if with_sign else f"{v:.{digits}f}", share=abs(float(v)) / most)
                 for v in values)


def held_for(tables: Tables) -> tuple[Row, ...]:
    """Minutes that each count held for each cause, the dearest cause first."""
    counts, held = shown_counts(tables)["rehearsal"].tolist(), tables["held"]
    rows = []
    cost = held.groupby(["cause", "kind", "rehearsal"])["cost_s"].sum() / 60
    most = float(cost.max()) if len(cost) else 1.0
    for cause in tables["hold_causes"].head(MOST_CAUSES).to_dict("records"):
        cells = [float(cost.get((cause["cause"], cause["kind"], number), 0.0)) for number in counts]
        kind = "unplanned" if cause["kind"] == "unplanned" else "built in, ran over"
        words = f"{kind}; {cause['holds']} hold{'' if cause['holds'] == 1 else 's'}, {cause['total_s'] / 60:.1f} min in all"
        rows.append(Row(str(cause["cause"]), words, tuple(Cell(f"{v:.1f}", share=v / most) if v else Cell("") for v in cells)))
    return tuple(rows)


def short_names(counts: list[str]) -> list[str]:
    """The ids of counts without what all of them begin with, cut at the last mark between words."""
    if len(counts) < 2:
        return counts
    first, last = min(counts), max(counts)
    same = next((i for i, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), min(len(first), len(last)))
    cut = max(first[:same].rfind(mark) for mark in "-_ .") + 1
    return [count[cut:] or count for count in counts]
