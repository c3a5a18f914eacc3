"""Which words were said, in one canonical spelling?

Conventions: lower case; number words become digits ('one hundred twenty' -> 120, 'oh five' -> 05, 'two three' -> 23 as
designators are read out); letters and digits written as one ('gn2', 'v23') stay one; punctuation goes. A falling
count ('three two one') stays separate numbers. `scan` keeps the punctuation that times and questions need.

It does not decide what a word means: see `stations`, `marks`, `calls`.
"""

from __future__ import annotations

import re
from functools import lru_cache

from aftercount.speech.numbers import NUMBER_WORDS, digit, read_number
from aftercount.speech.wordsets import word_set

_CACHED = 32768  # texts; a long count has some 20,000 distinct ones
_DASHES = str.maketrans({
    "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-", "\u2212": "-", "\u2019": "'", "\u2018": "'",
    "\u201c": '"', "\u201d": '"', "_": " ",
})
# '00:05:00', '9.3', '1st', '31', "we're", 'gn2', or one mark of punctuation that matters.
_TOKEN = re.compile(r"\d+(?::\d+)+(?:\.\d+)?|\d+\.\d+|\d+(?:st|nd|rd|th)\b|\d+|[^\W\d]+(?:'[^\W\d]+)*(?:\d+[^\W_]*)?|[-+?,;!\"=/.:]")
PUNCTUATION = frozenset('-+?,;!"=/.:')
# A word that a number or letter names one of: 'stage to' is then 'stage two'.
_NUMBERED = word_set("stage number channel string engine bus phase unit pump valve tank bank leg loop side panel step item")
_NUMBERED_HOMOPHONES = {"too": "2", "won": "1", "ate": "8", "fore": "4", "tree": "3"}
_SHORT_HOMOPHONES = {"to": "2", "for": "4"}
_AFTER_TO = word_set("the a an internal external ground be open close full flight")
_UNITS = word_set("hour hours minute minutes second seconds percent psi degrees volts")


def clean(text: str) -> str:
    """Lower case, with typographic dashes and quotes made plain."""
    return text.translate(_DASHES).lower()


@lru_cache(maxsize=_CACHED)
def scan(text: str) -> tuple[str, ...]:
    """Lower-case words, numbers and the marks of punctuation that carry meaning, in order."""
    return tuple(_TOKEN.findall(clean(text)))


def offsets(text: str) -> list[int]:
    """Where each token of `scan` begins in the text."""
    return [m.start() for m in _TOKEN.finditer(clean(text))]


@lru_cache(maxsize=_CACHED)
def words(text: str) -> tuple[str, ...]:
    """Canonical words: what two spellings of the same speech have in common."""
    tokens = scan(text)
    if NUMBER_WORDS.isdisjoint(tokens) and _NUMBERED.isdisjoint(tokens) and _UNITS.isdisjoint(tokens):
        return tuple(t for t in tokens if t not in PUNCTUATION)
    return tuple(_canonical(tokens))


def _canonical(tokens: tuple[str, ...]) -> list[str]:
    out: list[str] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        if token in PUNCTUATION:
            at += 1
            continue
        run = _digit_run(tokens, at)
        if run > 1:
            digits = [str(digit(t)) for t in tokens[at:at + run]]
            out.extend(digits if _falling(digits) else ["".join(digits)])
            at += run
        elif token in NUMBER_WORDS and (read := read_number(tokens, at)):
            out.append(f"{read[0]:g}")
            at = read[1]
        else:
            out.append(_numbered(tokens, at))
            at += 1
    return out


def _digit_run(tokens: tuple[str, ...], at: int) -> int:
    """How many single digits are read out one after the other; 'oh' counts only among others."""
    end = at
    while end < len(tokens) and digit(tokens[end]) is not None:
        end += 1
    if end < len(tokens) and tokens[end] in ("hundred", "thousand", "point"):
        end -= 1
    run = end - at
    return run if any(t in NUMBER_WORDS for t in tokens[at:end]) else 0


def _falling(digits: list[str]) -> bool:
    return len(digits) > 2 and all(int(a) - int(b) == 1 for a, b in zip(digits, digits[1:], strict=False))


def _numbered(tokens: tuple[str, ...], at: int) -> str:
    """A homophone of a number, where something numbered or a unit of measure stands beside it."""
    token = tokens[at]
    before = tokens[at - 1] if at else ""
    after = tokens[at + 1] if at + 1 < len(tokens) else ""
    known = _NUMBERED_HOMOPHONES.get(token) or _SHORT_HOMOPHONES.get(token)
    if known is None:
        return token
    if before in ("minus", "number") or (after in _UNITS and before in ("minus", "in", "at", "")):
        return known
    if before in _NUMBERED and (token in _NUMBERED_HOMOPHONES or (before == "stage" and after not in _AFTER_TO)):
        return known
    return token
