"""Which step of an earlier plan is which step of the last one?

By id where the action is still alike; by likeness of the action where ids moved (a renumbered plan). Likeness is the
share of words in common, 0..1, station and count time kept out: those may change while the step stays the same.
What was joined by likeness, added or dropped is told, never silently assumed.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pandas as pd

# The same id with less in common than this was given to another step.
SAME_ID = 0.34
# Another id needs nearly the same words: a wrong join would mix two steps' records.
OTHER_ID = 0.75
_WORD = re.compile(r"[a-z0-9]+")

Key = tuple[tuple[str, str], ...]


def signature(steps: pd.DataFrame) -> Key:
    """What a plan is, as far as joining goes: ids and actions."""
    return tuple(zip(steps["step"].tolist(), steps["action"].tolist(), strict=True))


def join(earlier: Key, last: Key) -> tuple[dict[str, str], list[dict[str, Any]]]:
    """(earlier id -> last id, the changes as rows of PLAN_CHANGES without `count`)."""
    if earlier == last:
        return {step: step for step, _ in last}, []
    actions = dict(last)
    kept = {step for step, action in earlier if step in actions and likeness(action, actions[step]) >= SAME_ID}
    joined = {step: step for step in kept}
    changes = []
    for there, step, score in _by_likeness([s for s in earlier if s[0] not in kept], [s for s in last if s[0] not in kept]):
        joined[there] = step
        text = f"step {there} of this count is taken for step {step} of the last plan"
        changes.append({"what": "joined", "step": step, "step_there": there, "likeness": score, "text": text})
    for there, action in earlier:
        if there not in joined:
            changes.append({"what": "dropped", "step": None, "step_there": there, "text": f"only in earlier plans: {action}"})
    for step, action in last:
        if step not in joined.values():
            changes.append({"what": "added", "step": step, "step_there": None, "text": f"not yet in the plan of this count: {action}"})
    return joined, changes


def likeness(a: str, b: str) -> float:
    """Share of words in common: twice the common ones over all, repeated words once."""
    words_a, words_b = set(_WORD.findall(a.lower())), set(_WORD.findall(b.lower()))
    if not words_a or not words_b:
        return 1.0 if a.strip().lower() == b.strip().lower() else 0.0
    return 2 * len(words_a & words_b) / (len(words_a) + len(words_b))


def _by_likeness(earlier: list[tuple[str, str]], last: list[tuple[str, str]]) -> list[tuple[str, str, float]]:
    """The assignment of greatest likeness, pairs below OTHER_ID left out."""
    from scipy.optimize import linear_sum_assignment

    if not earlier or not last:
        return []
    scores = np.array([[likeness(a, b) for _, b in last] for _, a in earlier])
    rows, columns = linear_sum_assignment(np.where(scores >= OTHER_ID, scores, 0.0), maximize=True)
    return [(earlier[i][0], last[j][0], float(scores[i, j])) for i, j in zip(rows, columns, strict=True) if scores[i, j] >= OTHER_ID]
