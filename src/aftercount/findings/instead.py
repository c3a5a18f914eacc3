"""Which words tell the steps of a plan apart, so that one said for another is a slip?

Conventions: wordings as stems of canonical words (`speech.words`, `match.language`). Words that stand in the same place of two otherwise equal wordings of
different steps are such ('core', 'upper stage'), and so are opposites ('open', 'close'). It does not decide what was read back.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from aftercount.match.language import OPPOSITE_STEMS

Stems = tuple[str, ...]


def wordings(plan: Any) -> dict[str, list[str]]:
    """Every wording of every step, by step."""
    columns = (plan.table[c].tolist() for c in ("step", "action", "says"))
    return {str(step): [text for text in (action, *(says or ())) if isinstance(text, str)]
            for step, action, says in zip(*columns, strict=True)}


def alternatives(worded: Iterable[tuple[str, Stems]]) -> dict[str, set[str]]:
    """Words that stand in the same place of two otherwise equal wordings of different steps: one for one, or one for two ('core', 'upper stage')."""
    places: dict[Stems, dict[Stems, set[str]]] = {}
    for step, wording in worded:
        for i in range(len(wording)):
            for end in range(i + 1, min(i + 2, len(wording)) + 1):
                if len(wording) > end - i:
                    places.setdefault(wording[:i] + ("",) + wording[end:], {}).setdefault(wording[i:end], set()).add(step)
    out: dict[str, set[str]] = {}
    for together in places.values():
        for run, steps in together.items():
            for other, theirs in together.items():
                if steps.isdisjoint(theirs) and min(len(run), len(other)) == 1 and set(run).isdisjoint(other):
                    for word in run:
                        out.setdefault(word, set()).update(other)
    return out


def opposed(word: str, other: str) -> bool:
    for groups in OPPOSITE_STEMS:
        sides = [k for k, group in enumerate(groups) for w in (word, other) if w in group]
        if len(sides) == 2 and sides[0] != sides[1]:
            return True
    return False
