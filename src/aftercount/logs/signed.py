"""Is a signed time behind a time of day its zone's offset, the end of a span, or a count without its letter ('14:25:03 -5:00 and counting')?

Conventions: an offset that is set off by a blank is one where most lines of the file have one. The 'to' of a span stands alone or touches both
its times; a minus that touches only what follows leads the words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_SET_OFF = re.compile(r"\d [+-]\d\d:?\d\d(?![\d:])", re.ASCII)
_MINUS_FIRST = re.compile(r".?\s[-\u2013]\d")
_HABIT = 0.5


def may_have_offsets(text: str) -> bool:
    """Whether any such time is in the file: looking for one is much quicker than reading the heads of lines."""
    return bool(_SET_OFF.search(text))


def offsets_habit(heads: Iterable[re.Match[str] | None]) -> bool:
    """Do most lines have an offset behind the time of day? heads: of its lines."""
    found = [head for head in heads if head]
    return sum(1 for head in found if set_off(head)) > _HABIT * len(found)


def set_off(head: re.Match[str]) -> bool:
    """Whether what was read as the offset stands behind a blank."""
    return (head["zone"] or "")[:2] in (" -", " +")


def leads_words(rest: str) -> bool:
    """Whether a minus leads the words; rest: of the line, from the last character of its time on."""
    return bool(_MINUS_FIRST.match(rest))
