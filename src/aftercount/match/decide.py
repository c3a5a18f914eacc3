"""What a reviewer has settled by hand, as it bears on the match.

Question answered: which pairs are pinned, which are ruled out, which steps are settled. Conventions: `matched` pins a log line to a
step; `missed` rules out every utterance for it; `ignore` rules out the named line, or the step altogether when no line is named.
A decision always wins. One that fits nothing is a Problem, never silence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.errors import Problem

FILE = "decisions.csv"


@dataclass(frozen=True)
class Pins:
    """pinned, excluded: sets of (utterance row, DUE row); settled: DUE rows whose verdict is a decision; unseen: those decided missed."""

    pinned: frozenset[tuple[int, int]]
    excluded: frozenset[tuple[int, int]]
    settled: frozenset[int]
    unseen: frozenset[int]
    problems: tuple[Problem, ...]


def pins(decisions: pd.DataFrame, due: pd.DataFrame, utterances: pd.DataFrame) -> Pins:
    rows = {(s, int(p)): i for i, (s, p) in enumerate(zip(due["step"], due["pass"], strict=True))}
    lines: dict[tuple[str, int], list[int]] = {}
    if len(decisions):
        for i, key in enumerate(zip(utterances["source"].tolist(), utterances["line"].tolist(), strict=True)):
            lines.setdefault((key[0], int(key[1])), []).append(i)
    pinned: set[tuple[int, int]] = set()
    excluded: set[tuple[int, int]] = set()
    settled: set[int] = set()
    unseen: set[int] = set()
    problems: list[Problem] = []
    for row in decisions.to_dict("records"):
        d = rows.get((row["step"], int(row["pass"])))
        named = isinstance(row["source"], str) and not pd.isna(row["line"])
        found = lines.get((row["source"], int(row["line"])), []) if named else []
        problem = _unfit(row, d, named, found)
        if problem is not None:
            problems.append(problem)
        if d is None or (named and not found):
            continue
        if row["decision"] == "matched":
            pinned |= {(u, d) for u in found}
            settled.add(d)
        elif row["decision"] == "missed" or not named:
            settled.add(d)
            unseen.add(d)
        else:
            excluded |= {(u, d) for u in found}
    return Pins(frozenset(pinned), frozenset(excluded), frozenset(settled), frozenset(unseen), tuple(problems))


def _unfit(row: Mapping[Any, Any], d: int | None, named: bool, found: list[int]) -> Problem | None:
    line = int(str(row.get("row_line", 0)))
    if d is None:
        return Problem(FILE, line, "decision-step-not-due", f"step {row['step']} was not due in pass {row['pass']}",
                       "remove the decision or correct its pass")
    if named and not found:
        return Problem(FILE, line, "decision-no-such-line", f"{row['source']} has no usable line {row['line']}",
                       "the log may have changed since the decision was made")
    return None


def weigh(pairs: tuple[np.ndarray, np.ndarray], gain: np.ndarray, made: Pins, pin_gain: float) -> np.ndarray:
    """The gains with decisions in force: pins above everything, what is excluded never."""
    out = gain.copy()
    pinned_u = {u for u, _ in made.pinned}
    pinned_d = {d for _, d in made.pinned}
    for i, pair in enumerate(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True)):
        if pair in made.pinned:
            out[i] = pin_gain
        elif pair in made.excluded or pair[1] in made.unseen or pair[0] in pinned_u or pair[1] in pinned_d:
            out[i] = -pin_gain
    return out


def open_pairs(pairs: tuple[np.ndarray, np.ndarray], made: Pins) -> np.ndarray:
    """Which pairs a reviewer has left open: of a step and an utterance that nothing was decided of."""
    out = ~np.isin(pairs[1], sorted(made.settled)) & ~np.isin(pairs[0], sorted(u for u, _ in made.pinned))
    if made.excluded:
        out &= np.array([pair not in made.excluded for pair in zip(pairs[0].tolist(), pairs[1].tolist(), strict=True)], dtype=bool)
    return np.asarray(out)
