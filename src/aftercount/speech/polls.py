"""Who answered a go/no-go poll, and how?

Conventions: answers are 'go' or 'no go', one row a station and utterance. The answering station is the one that speaks;
where nobody is named, the station whose call sign was just called out.

It does not decide which answers belong to one poll, or who should have answered.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from aftercount.speech.directory import Directory
from aftercount.speech.words import PUNCTUATION

LEAST_IN_ROLL = 2  # one 'STATION go' is an ordinary answer, unless a poll is named: 'poll results: PROP go'
_POLL_WORDS = frozenset(("poll", "polled", "roll"))

GO, NO_GO = "go", "no go"
_REST = r"(?: (?:for|with|at|on|and|to|here)\b.*)?"
MISHEARD_MOST = 5  # words of a sentence that is a misheard name and an answer
_BREAKS = frozenset(",.:;-/!")
# What comes after one of these is the reason, not the answer: 'go, boat is clear'; but not in 'go/no-go'.
_PAUSES = frozenset(",.:;-")
_ANSWER = re.compile(
    rf"^(?:(?:yes|now|back|to|changing|and|uh|um|ok|okay|sir|status|we|we're|i|i'm|he|team|side|is|are|am|we are|it's|that is|station|still|also|a|all|ready and|systems?) )*"
    rf"(?P<no>(?:not?|no -|know|nogo|negative|not a) ?)?(?P<go>go|nogo|goh|gogh|ago)(?! (?:ahead|to|back|for it|no|/|-? ?no)\b)(?: flight| launch| sir)?{_REST}$")
_GO_FOR_STEP = re.compile(r"go for (?:step|item|task|seq(?:uence)?|para(?:graph)?|dot|\d)")  # the word to begin it
_GO_WORDS = frozenset(("go", "nogo", "goh", "gogh", "ago"))
_NEGATIVE = re.compile(r"^(?:we are |is |are )?(?:no[ -]*go|nogo|know go|negative,? no go|not go|negative)\b")
LONGEST_ANSWER = 9  # words; longer sentences with 'go' in them speak of something else


def read_answer(body: Sequence[str]) -> str | None:
    """The answer a sentence gives, its call signs left out."""
    if len(body) > LONGEST_ANSWER or _GO_WORDS.isdisjoint(body) or not _POLL_WORDS.isdisjoint(body):
        return None  # 'go for launch poll' calls one
    whole = " ".join(t for t in body if t not in _BREAKS)
    if whole.endswith("?") or _GO_FOR_STEP.match(whole):
        return None
    if _NEGATIVE.match(whole) and "go" in whole.replace("nogo", "go").split():
        return NO_GO
    for said in (whole, _before_reason(body)):
        found = _ANSWER.match(said)
        if found is not None:
            return NO_GO if found["no"] or found["go"] == "nogo" else GO
    return None


def _before_reason(body: Sequence[str]) -> str:
    """The words up to the pause that follows the answer; none where 'no go' is offered beside it."""
    go = next(i for i, t in enumerate(body) if t in _GO_WORDS)
    end = next((i for i, t in enumerate(body) if i > go and t in _PAUSES), len(body))
    return "" if "/" in body or tuple(body[end + 1:end + 2]) == ("no",) else " ".join(t for t in body[:end] if t not in _BREAKS)


def read_roll(tokens: Sequence[str], directory: Directory) -> list[tuple[str, str]]:
    """Every 'STATION go' of a sentence that holds several, in order; 'go from STATION' is one."""
    if (told := _go_from(tokens, directory)) is not None:
        return [told]
    if len(tokens) <= LEAST_IN_ROLL or not {"go", "nogo"} & set(tokens):
        return []
    out: list[tuple[str, str]] = []
    at = 0
    while at < len(tokens):
        sign = directory.at(tokens, at) if tokens[at] not in PUNCTUATION else None
        if sign is None:
            at += 1
            continue
        answer, at = _after_sign(tokens, sign[1])
        if answer is not None:
            out.append((sign[0], answer))
    named = not _POLL_WORDS.isdisjoint(tokens[:next((i for i, t in enumerate(tokens) if t in _GO_WORDS), 0)])
    return out if len(out) >= (1 if named else LEAST_IN_ROLL) else []


def _go_from(tokens: Sequence[str], directory: Directory) -> tuple[str, str] | None:
    said = [t for t in tokens if t not in _BREAKS]
    answer = NO_GO if said[:2] == ["no", "go"] or said[:1] == ["nogo"] else GO
    at = 1 + (said[:1] == ["no"])
    if said[at - 1:at + 1] not in (["go", "from"], ["nogo", "from"]):
        return None
    sign = directory.at(said, at + 1) if len(said) > at + 1 else None
    return (sign[0], answer) if sign is not None and sign[1] == len(said) else None


def read_misheard(tokens: Sequence[str], directory: Directory) -> tuple[str, str] | None:
    """The answer of one station whose name was misheard, in a word or in two, where the sentence is nothing else: 'guess is go'."""
    said = [t for t in tokens if t not in PUNCTUATION]
    if len(said) > MISHEARD_MOST or _GO_WORDS.isdisjoint(said):
        return None
    for pieces in (2, 1):
        answer, end = _after_sign(said, pieces)
        if answer is not None and len(said) <= end + (answer == NO_GO) and (sign := directory.garbled(said[:pieces])) is not None:
            return sign, answer
    return None


def _after_sign(tokens: Sequence[str], at: int) -> tuple[str | None, int]:
    """The answer right after a call sign, and where it ends."""
    end = at
    while end < len(tokens) and (tokens[end] in PUNCTUATION or tokens[end] in ("is", "are", "status")):
        end += 1
    said = [t for t in tokens[end:end + 4] if t != "-"]
    if said[:2] in (["no", "go"], ["not", "go"]) or said[:1] == ["nogo"]:
        return NO_GO, end + 1
    if said[:1] == ["go"] and said[1:2] not in (["ahead"], ["no"], ["to"], ["/"]):
        return GO, end + 1
    return None, at
