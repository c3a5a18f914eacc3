"""Words run together: 'umbilicalover' as recognition has it, 'VALVE2' as machines write.

Question answered: is this written word two words, one of them the plan's. Convention: a word that is itself one is left alone. It
does not mend what was misheard: see `wordlikeness`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

from aftercount.match import language

_NUMBERED = re.compile(r"([a-z]{3,})(\d{1,2})([a-d]?)")
LEAST_PART = 4  # letters of either word: shorter ones begin and end too many words


@lru_cache(maxsize=8)
def parting(known: frozenset[str]) -> Callable[[str], tuple[str, ...]]:
    """For a word that is none, the two it was run together from, one of them the plan's: 'umbilicalover' -> umbilical over."""
    stems = frozenset(language.stem(word) for word in known)

    def is_known(word: str) -> bool:
        return word in known or language.stem(word) in stems

    @lru_cache(maxsize=65536)
    def part(word: str) -> tuple[str, ...]:
        if not word.isalpha() or is_known(word):
            return (word,)
        for at in range(len(word) - LEAST_PART, LEAST_PART - 1, -1):
            one, other = is_known(word[:at]), is_known(word[at:])
            if (one or other) and (one or word[:at] in language.STOP) and (other or word[at:] in language.STOP):
                return word[:at], word[at:]
        return (word,)

    return part


def with_number(word: str, known: frozenset[str]) -> tuple[str, ...]:
    """A thing of the plan with the number of it, and the letter: 'valve2a' -> valve 2 a."""
    found = _NUMBERED.fullmatch(word)
    if found is None or word in known or found[1] not in known:
        return (word,)
    return tuple(part for part in found.groups() if part)
