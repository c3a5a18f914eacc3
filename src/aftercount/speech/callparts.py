"""What does a sentence that calls a hold or another stop say of it besides: how long, at which count, and on whose word?

Conventions: tokens as for `calls`; `begin` and `end` are where the words of the call are. Lengths and count times in seconds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from aftercount.speech.directory import Directory
from aftercount.speech.numbers import is_number
from aftercount.speech.spans import UNITS_FORM, read_spans, read_united
from aftercount.speech.words import scan
from aftercount.speech.wordsets import word_set

_BY = re.compile(r"\b(?:called|declared|requested|initiated|ordered|directed|released|issued|scrubbed|aborted)\s+by\s+(?:the\s+)?|\bper\s+|\bby\s+(?:the\s+)?|\breq(?:uest)?\s+of\s+")
# A name that stands beside the call by itself, as people type it: 'HOLD T-4:00 (PROP): ...', 'clock stopped T-4:00, PROP, ...', 'hold called by PROP, ...'.
_BESIDE = tuple(re.compile(p, re.IGNORECASE) for p in (
    r"\((?P<who>[^()]{1,30})\)", r"[,;] ?(?P<who>[^,;:()]{1,30})(?=[,;:] )", r"\b(?:called|requested|declared) by (?:the )?(?P<who>[^,;:()]{1,30}?)(?= ?[,;:])",
))
_CALLS_FOR = word_set("calls called calling declares declared requests requested calls initiates initiated orders ordered")
_AT = (("hold", "at"), ("holding", "at"))
_ODD = frozenset(("some", "something", "odd"))


def held_at(tokens: Sequence[str], begin: int) -> float | None:
    """The count time of 'hold at four minutes and ten seconds', said without the 'T minus'; 'four minutes and some' is none."""
    for i in range(begin, len(tokens) - 2):
        if tuple(tokens[i:i + 2]) in _AT and (span := read_united(tokens, i + 2)):
            return None if _ODD & set(tokens[span.end:span.end + 2]) else -span.seconds
    return None


def length(tokens: Sequence[str], begin: int, end: int) -> float | None:
    """'for ten minutes', 'a ten minute hold', 'duration 00:10:00'."""
    for i in range(begin, len(tokens)):
        if tokens[i] in ("for", "of", "duration", "length", "lasting", "planned") and i + 1 < len(tokens):
            at = i + 1
            while at < len(tokens) and tokens[at] in ("about", "approximately", "another", "up", "to", "=", ":", "of", "a"):
                at += 1
            spans = read_spans(tokens, at)
            if spans and (spans[0].form == UNITS_FORM or ":" in tokens[at]):
                return spans[0].seconds
    for i in range(max(0, begin - 4), end):
        joined = [t for t in tokens[i:i + 6] if t != "-"]
        span = read_united(joined, 0) if is_number(tokens[i]) else None
        if span and span.end < len(joined) and joined[span.end] in ("hold", "built", "planned"):
            return span.seconds
    return None


def named_by(text: str, tokens: Sequence[str], begin: int, directory: Directory) -> str | None:
    lowered = text.lower()
    for found in _BY.finditer(lowered):
        tail = re.findall(r"[a-z0-9]+", lowered[found.end():])[:4]
        if tail and (sign := directory.at(tail, 0, near=True)):
            return sign[0]
    for i in range(min(begin + 1, len(tokens))):
        if tokens[i] in _CALLS_FOR and i and (named := _ending_at(tokens, i, directory)):
            return named
    return None


def beside(text: str, at: int, directory: Directory) -> tuple[str, str] | None:
    """Who is named beside the call that begins at character `at`, and the text without the name."""
    for pattern in _BESIDE:
        for found in pattern.finditer(text, at):
            name = scan(found["who"])
            sign = directory.at(name, 0) if name else None
            if sign is not None and sign[1] == len(name):
                return sign[0], text[:found.start()] + text[found.end():]
    return None


def leading(tokens: Sequence[str], begin: int, directory: Directory) -> str | None:
    """Whose hold a keeper writes it was: 'PROP hold at T-4:00'."""
    sign = directory.at(tokens, 0) if tokens else None
    return sign[0] if sign is not None and sign[1] == begin else None


def _ending_at(tokens: Sequence[str], end: int, directory: Directory) -> str | None:
    for start in range(max(0, end - 3), end):
        found = directory.at(tokens, start)
        if found is not None and found[1] == end:
            return found[0]
    return None
