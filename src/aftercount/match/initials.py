"""Which letters stand for several words of a plan: 'HV' or 'h v' for its 'high voltage', 'S2' for its 'second stage'?

Conventions: words and letters are lower case; letters may be written as one ('hv') or read out ('h', 'v'). Only words that stand side by side
in one wording have initials, and letters that could be those of different words stand for none. It does not know the glossary: see `lexicon`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Set
from itertools import pairwise

from aftercount.match import language

LONGEST = 4  # letters
LONGEST_NUMBER = 2  # digits of a number that names one of several things; longer ones are readings
_RUN = re.compile(r"(?<![^\W\d_])[^\W\d_]+(?: [^\W\d_]+)+")  # words with nothing but a space between them
# Two letters that are a word or a unit of their own wherever they are written.
_WORDS = frozenset(["am", "pm", "ft", "kg", "hz", "mm", "cm", "km", "kw", "kv", "mw", "ma", "db", "hr", "no", "up", "go", "hi", "lo", "oh", "ok", "id", "tv", "if", "or", "ed", "re", "vs"])


def initials(wordings: Iterable[str], taken: Set[tuple[str, ...]] = frozenset()) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Letters, as one word and one by one, to the stems of the words they begin. `taken`: phrases that mean something else."""
    found: dict[str, set[tuple[str, ...]]] = {}
    written: set[str] = set()
    for text in wordings:
        lowered = text.lower()
        written.update(re.findall(r"[^\W\d_]+", lowered))
        for run in _RUN.findall(lowered):
            words = run.split()
            for length in range(2, LONGEST + 1):
                for at in range(len(words) - length + 1):
                    part = words[at:at + length]
                    if all(len(w) > 1 and w not in language.STOP for w in part):
                        found.setdefault("".join(w[0] for w in part), set()).add(tuple(map(language.stem, part)))
    out: dict[tuple[str, ...], tuple[str, ...]] = {}
    for letters, words_of in found.items():
        known = letters in written or letters in language.STOP or letters in _WORDS or letters in language.ABBREVIATIONS
        if len(words_of) == 1 and not known:
            meant = next(iter(words_of))
            out.update({way: meant for way in ((letters,), tuple(letters)) if way not in taken})
    return out


def numbered(wordings: Iterable[Sequence[str]]) -> dict[tuple[str, ...], tuple[str, ...]]:
    """'s2' to the stems of a plan's only 'stage 2', whichever stands first. wordings: as stems."""
    found: dict[str, set[tuple[str, str]]] = {}
    stems: set[str] = set()
    for wording in wordings:
        stems.update(wording)
        for one, other in pairwise(wording):
            word, number = (one, other) if other.isdigit() else (other, one)
            if number.isdigit() and len(number) <= LONGEST_NUMBER and len(word) > 1 and word.isalpha() and word not in language.STOP_STEMS:
                found.setdefault(word[0] + number, set()).add((word, number))
    return {(short,): next(iter(meant)) for short, meant in found.items() if len(meant) == 1 and short not in stems}


def spelled_out(stems: Sequence[str], known: Mapping[tuple[str, ...], tuple[str, ...]]) -> tuple[str, ...]:
    """The stems with the letters that stand for words of the plan replaced by those, the longest run of letters first."""
    if not any(len(stem) == 1 or (stem,) in known for stem in stems):
        return tuple(stems)
    out: list[str] = []
    at = 0
    while at < len(stems):
        single = 0
        while at + single < len(stems) and len(stems[at + single]) == 1 and stems[at + single].isalpha():
            single += 1
        way = tuple(stems[at:at + max(single, 1)])
        meant = known.get(way)
        out.extend(meant or way)
        at += len(way)
    return tuple(out)
