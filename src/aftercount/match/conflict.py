"""What a text says that contradicts a step, and whether it speaks of something not done or not now.

Question answered: does this text name the opposite state or another unit than the step does; is it a near miss. Conventions:
clashes count 1 each, texts x wordings; near-miss signs are booleans relative to a step (a plan may itself say 'stand by for').
It does not decide what a clash costs: see `logodds`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from aftercount.match import language
from aftercount.match.lexicon import Lexicon

MAX_DESIGNATOR_DIGITS = 2  # longer numbers are readings (psi, volts), not names of units
NOT_DONE, NOT_NOW, ABOUT = 1, 2, 4  # bits of `near_miss`


def clashes(said: Sequence[tuple[str, ...]], lexicon: Lexicon) -> np.ndarray:
    """Opposite words and other designators, texts x wordings (float32)."""
    from scipy.sparse import csr_matrix

    sides = _Sides()
    text = csr_matrix(sides.columns(said, of_text=True))
    step = sides.columns(lexicon.wordings, of_text=False)
    out = np.asarray(text @ step.T)
    for is_letter in (False, True):
        out += _other_designator(said, lexicon, is_letter)
    return out.astype(np.float32)


class _Sides:
    """Ordered pairs of opposed groups as columns: a text has (b, not a) where a wording has (a, not b)."""

    def __init__(self) -> None:
        self.of_word: dict[str, list[tuple[int, int]]] = {}
        self.pairs: list[tuple[int, int, int]] = []
        for family, groups in enumerate(language.OPPOSITE_STEMS):
            for side, group in enumerate(groups):
                for word in group:
                    self.of_word.setdefault(word, []).append((family, side))
            self.pairs += [(family, a, b) for a in range(len(groups)) for b in range(len(groups)) if a != b]
        self.column = {pair: j for j, pair in enumerate(self.pairs)}
        self.families = [len(groups) for groups in language.OPPOSITE_STEMS]

    def columns(self, said: Sequence[tuple[str, ...]], *, of_text: bool) -> np.ndarray:
        out = np.zeros((len(said), len(self.pairs)), dtype=np.float32)
        for row, tokens in enumerate(said):
            present: dict[int, set[int]] = {}
            for token in tokens:
                for family, side in self.of_word.get(token, ()):
                    present.setdefault(family, set()).add(side)
            for family, has in present.items():
                for mine in has:
                    for other in set(range(self.families[family])) - has:
                        pair = (family, other, mine) if of_text else (family, mine, other)
                        out[row, self.column[pair]] = 1.0
        return out


def _other_designator(said: Sequence[tuple[str, ...]], lexicon: Lexicon, is_letter: bool) -> np.ndarray:
    """1 where text and wording both name units and share none: stage 1 for stage 2, A for B."""
    from scipy.sparse import csr_matrix

    known = sorted({w for wording in lexicon.wordings for w in wording if _is_designator(w, is_letter)})
    if not known:
        return np.zeros((len(said), len(lexicon.wordings)), dtype=np.float32)
    column = {word: j for j, word in enumerate(known)}
    names = np.array([any(_is_designator(w, is_letter) and (not is_letter or w in column) for w in tokens) for tokens in said], dtype=bool)
    text = _incidence(said, column)
    step = _incidence(lexicon.wordings, column)
    shared = np.asarray(csr_matrix(text) @ step.T)
    return (names[:, None] & (step.sum(axis=1) > 0)[None, :] & (shared == 0)).astype(np.float32)


@lru_cache(maxsize=65536)
def _is_designator(word: str, is_letter: bool) -> bool:
    if is_letter:
        return len(word) == 1 and word.isalpha()
    return word.isdigit() and len(word) <= MAX_DESIGNATOR_DIGITS


def _incidence(said: Sequence[tuple[str, ...]], column: dict[str, int]) -> np.ndarray:
    out = np.zeros((len(said), len(column)), dtype=np.float32)
    for row, tokens in enumerate(said):
        for token in tokens:
            j = column.get(token)
            if j is not None:
                out[row, j] = 1.0
    return out


def near_miss(texts: Sequence[str]) -> np.ndarray:
    """Bits for each text: it says that something is not done (NOT_DONE), is not now (NOT_NOW), or is only
    talked about (ABOUT: 'looks steady')."""
    out = np.zeros(len(texts), dtype=np.int8)
    for i, text in enumerate(texts):
        lowered = text.lower()
        not_now = bool(language.NOT_NOW.search(lowered)) or "?" in lowered
        out[i] = NOT_DONE * bool(language.NOT_DONE.search(lowered)) + NOT_NOW * not_now + ABOUT * bool(language.ABOUT.search(lowered))
    return out
