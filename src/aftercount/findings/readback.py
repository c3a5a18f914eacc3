"""Did the station read the order back as it was given?

Conventions: texts are compared as canonical words (`speech.words`). A read-back is an answer that repeats enough of the
call's words to be one; it is wrong when it names another designator (a number, a single letter) or the opposite action
where the call named one. Plain answers ('in work', 'copy') repeat nothing and are never wrong. It does not decide whether
an answer was due.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from aftercount.findings.heard import Heard, Utterance, seconds_between
from aftercount.speech.words import words

# Words an answer must share with its call to be a read-back, besides stations and designators.
SHARED_WORDS = 2
# A wrong read-back is corrected when the caller speaks up within this many seconds.
CORRECTION_S = 20.0
CORRECTIONS = frozenset({"negative", "correction", "incorrect", "disregard", "again"})
OPPOSITES = (
    ("open", "close"), ("opened", "closed"), ("on", "off"), ("enable", "disable"), ("enabled", "disabled"),
    ("start", "stop"), ("started", "stopped"), ("arm", "safe"), ("armed", "safed"), ("up", "down"), ("fill", "drain"),
    ("extend", "retract"), ("lock", "unlock"), ("connect", "disconnect"), ("raise", "lower"), ("increase", "decrease"),
)
_OPPOSITE = {a: b for pair in OPPOSITES for a, b in (pair, pair[::-1])}


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A wrong read-back: the word said for the word ordered."""

    ordered: str
    said: str
    corrected: bool


def wrong(call: Utterance, answer: Utterance, stations: Iterable[str], heard: Heard) -> ReadBack | None:
    """What was read back wrongly, or None."""
    if call.event == answer.event or call.source != answer.source:
        return None
    names = {w for s in stations for w in words(s)}
    ordered, said = [w for w in words(call.text) if w not in names], [w for w in words(answer.text) if w not in names]
    shared = {w for w in ordered if w in said and not _designator(w) and w not in _OPPOSITE}
    if len(shared) < SHARED_WORDS:
        return None
    swap = _swapped(ordered, said)
    return None if swap is None else ReadBack(swap[0], swap[1], _corrected(call, answer, heard))


def _designator(word: str) -> bool:
    return any(c.isdigit() for c in word) or (len(word) == 1 and word not in "ai")


def _swapped(ordered: list[str], said: list[str]) -> tuple[str, str] | None:
    """The first word that took the place of one ordered, after the same word before it (or before the same word)."""
    for i, word in enumerate(said):
        if word in ordered:
            continue
        if _OPPOSITE.get(word) in ordered:
            return _OPPOSITE[word], word
        if not _designator(word):
            continue
        for k, other in enumerate(ordered):
            if _designator(other) and other not in said and _same_slot(ordered, k, said, i):
                return other, word
    return None


def _same_slot(ordered: list[str], k: int, said: list[str], i: int) -> bool:
    before = k > 0 and i > 0 and ordered[k - 1] == said[i - 1]
    behind = k + 1 < len(ordered) and i + 1 < len(said) and ordered[k + 1] == said[i + 1]
    return before or behind


def _corrected(call: Utterance, answer: Utterance, heard: Heard) -> bool:
    """Whether somebody put it right straight after."""
    for other in heard.all:
        if other.source != answer.source or other.us is None or answer.us is None or other.event == answer.event:
            continue
        if other.line < answer.line or not 0.0 <= seconds_between(other.us, answer.us) <= CORRECTION_S:
            continue
        if CORRECTIONS & set(words(other.text)):
            return True
    return False
