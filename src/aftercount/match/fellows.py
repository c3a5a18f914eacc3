"""Steps worded alike but for one word, and texts that have the word of the other one.

Question answered: the plan has 'stop core topping' and 'stop upper topping'; does this text say 'core' where this step says 'upper'. Conventions:
texts x wordings, 0..1, the likeness by which the other's word is better heard than this step's own. It does not know opposites, nor numbers and
letters of units, which contradict in any plan: see `conflict`.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import permutations
from typing import Any

import numpy as np

from aftercount.match import language
from aftercount.match.lexicon import Lexicon

Slot = tuple[int, tuple[int, ...]]  # a word of a wording, and the words that others have instead


def instead(hits: Any, lexicon: Lexicon) -> np.ndarray:
    """texts x wordings (float32): by how much a word that a step worded alike has is better heard than this wording's own. hits: sparse, texts x vocabulary, 0..1."""
    out = np.zeros((hits.shape[0], len(lexicon.wordings)), dtype=np.float32)
    by_word = hits.tocsc()
    known: dict[Slot, np.ndarray] = {}
    for wording, slot in _slots(lexicon):
        if slot not in known:
            known[slot] = _better(by_word, *slot)
        np.maximum(out[:, wording], known[slot], out=out[:, wording])
    return out


def _better(by_word: Any, own: int, others: tuple[int, ...]) -> np.ndarray:
    best = by_word[:, list(others)].max(axis=1).toarray().ravel()
    return np.asarray(np.maximum(best - by_word[:, [own]].toarray().ravel(), 0.0))


def _slots(lexicon: Lexicon) -> list[tuple[int, Slot]]:
    """(wording, slot) for each word that any wording of the step has otherwise in another step; found by what is left without each word in turn."""
    column: Mapping[str, int] = {word: j for j, word in enumerate(lexicon.vocabulary)}
    step_of = lexicon.step_of.tolist()
    rests: dict[frozenset[str], set[tuple[int, str]]] = {}
    for step, wording in zip(step_of, lexicon.wordings, strict=True):
        for word in wording if len(wording) > 1 else ():
            rests.setdefault(frozenset(wording) - {word}, set()).add((step, word))
    others: dict[tuple[int, str], set[str]] = {}
    for rest in rests.values():
        for step, word in rest:
            others.setdefault((step, word), set()).update(w for row, w in rest if row != step and _parts(word, w))
    return [
        (i, (column[word], tuple(sorted(column[w] for w in found))))
        for i, (step, wording) in enumerate(zip(step_of, lexicon.wordings, strict=True)) for word in wording
        if (found := others.get((step, word), set()).difference(wording))]


def _parts(word: str, other: str) -> bool:
    """Whether the one word instead of the other names another thing, and nothing else says so already."""
    if word == other or min(len(word), len(other)) < 2 or word.isdigit() or other.isdigit():
        return False
    return not any(word in one and other in two for groups in language.OPPOSITE_STEMS for one, two in permutations(groups, 2))
