"""Which step of an earlier plan is which step of the last one?

Steps with the same action are the same step, whatever their ids: a step that is dropped or added renumbers those behind it,
and the id of 'open stage 1 vent' goes to 'open stage 2 vent'. What is left is joined by id where the action is still alike,
and by likeness of the action where ids moved. Likeness is the share of words in common, 0..1, station and count time kept
out: those may change while the step stays the same. What was joined under another id, added or dropped is told, never
silently assumed.
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
# Worth of the same id beside the likeness: it decides between two that are nearly as like.
_ID_BONUS = 0.15
_WORD = re.compile(r"[a-z0-9]+")

Key = tuple[tuple[str, str], ...]


def signature(steps: pd.DataFrame) -> Key:
    """What a plan is, as far as joining goes: ids and actions."""
    return tuple(zip(steps["step"].tolist(), steps["action"].tolist(), strict=True))


def join(earlier: Key, last: Key) -> tuple[dict[str, str], list[dict[str, Any]]]:
    """(earlier id -> last id, the changes as rows of PLAN_CHANGES without `count`)."""
    if earlier == last:
        return {step: step for step, _ in last}, []
    joined = _same_action(earlier, last)
    taken = set(joined.values())
    like = _by_likeness([s for s in earlier if s[0] not in joined], [s for s in last if s[0] not in taken])
    joined |= {there: step for there, step, _ in like}
    scores = {there: score for there, _, score in like}
    changes = []
    for there, step in sorted(joined.items(), key=lambda pair: [s for s, _ in last].index(pair[1])):
        if there != step:
            text = f"step {there} of this count is taken for step {step} of the last plan"
            changes.append({"what": "joined", "step": step, "step_there": there, "likeness": scores.get(there, 1.0), "text": text})
    for there, action in earlier:
        if there not in joined:
            changes.append({"what": "dropped", "step": None, "step_there": there, "text": f"only in earlier plans: {action}"})
    taken = set(joined.values())
    for step, action in last:
        if step not in taken:
            changes.append({"what": "added", "step": step, "step_there": None, "text": f"not yet in the plan of this count: {action}"})
    return joined, changes


def _same_action(earlier: Key, last: Key) -> dict[str, str]:
    """Steps with the same words, by their ids; of several with the same, first those of one id, then in order."""
    there, here = _by_words(earlier), _by_words(last)
    joined: dict[str, str] = {}
    for words in there.keys() & here.keys():
        kept = set(there[words]) & set(here[words])
        moved = ([s for s in ids if s not in kept] for ids in (there[words], here[words]))
        joined |= {step: step for step in kept} | dict(zip(*moved, strict=False))
    return joined


def _by_words(steps: Key) -> dict[tuple[str, ...], list[str]]:
    found: dict[tuple[str, ...], list[str]] = {}
    for step, action in steps:
        found.setdefault(tuple(_WORD.findall(action.lower())) or (action.strip(),), []).append(step)
    return found


def likeness(a: str, b: str) -> float:
    """Share of words in common: twice the common ones over all, repeated words once."""
    words_a, words_b = _words(a), _words(b)
    if not words_a or not words_b:
        return 1.0 if a.strip().lower() == b.strip().lower() else 0.0
    return _share(words_a, words_b)


def _words(text: str) -> frozenset[str]:
    return frozenset(_WORD.findall(text.lower()))


def _share(a: frozenset[str], b: frozenset[str]) -> float:
    return 2 * len(a & b) / max(1, len(a) + len(b))


def _number_differs(a: frozenset[str], b: frozenset[str]) -> bool:
    """Whether each has a number or letter of its own: 'valve 1' and 'valve 2' are two steps, however like."""
    return all(any(len(word) == 1 or not word.isalpha() for word in own) for own in (a - b, b - a))


def _by_likeness(earlier: list[tuple[str, str]], last: list[tuple[str, str]]) -> list[tuple[str, str, float]]:
    """The assignment of greatest likeness, pairs that are too unlike left out."""
    from scipy.optimize import linear_sum_assignment

    if not earlier or not last:
        return []
    here = [(step, _words(action)) for step, action in last]
    scores = np.array([[_score(step, there, other, words) for other, words in here]
                       for step, there in ((step, _words(action)) for step, action in earlier)])
    rows, columns = linear_sum_assignment(scores, maximize=True)
    return [(earlier[i][0], last[j][0], likeness(earlier[i][1], last[j][1])) for i, j in zip(rows, columns, strict=True) if scores[i, j] > 0]


def _score(step: str, words: frozenset[str], other: str, other_words: frozenset[str]) -> float:
    """What it is worth to join two steps; 0 when they may not be."""
    share = _share(words, other_words)
    if step == other:
        return share + _ID_BONUS if share >= SAME_ID else 0.0
    return share if share >= OTHER_ID and not _number_differs(words, other_words) else 0.0
