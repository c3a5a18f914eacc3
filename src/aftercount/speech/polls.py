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

LEAST_IN_ROLL = 2  # one 'STATION go' is an ordinary answer

GO, NO_GO = "go", "no go"
_REST = r"(?: (?:for|with|at|on|and|to)\b.*)?"
_ANSWER = re.compile(
    rf"^(?:(?:yes|and|uh|um|ok|okay|sir|status|we|we're|i|i'm|he|team|side|is|are|am|we are|it's|that is|station|still|also|a|all|ready and|systems?) )*"
    rf"(?P<no>(?:not?|no -|know|nogo|negative|not a) ?)?(?P<go>go|nogo|goh|gogh)(?! (?:ahead|to|back|for it|no|/|-? ?no)\b)(?: flight| launch| sir)?{_REST}$")
_GO_WORDS = frozenset(("go", "nogo", "goh", "gogh"))
_NEGATIVE = re.compile(r"^(?:we are |is |are )?(?:no[ -]*go|nogo|know go|negative,? no go|not go|negative)\b")
LONGEST_ANSWER = 9  # words; longer sentences with 'go' in them speak of something else


def read_answer(body: Sequence[str]) -> str | None:
    """The answer a sentence gives, its call signs left out."""
    if len(body) > LONGEST_ANSWER or _GO_WORDS.isdisjoint(body):
        return None
    said = " ".join(t for t in body if t not in ",.:;-/!")
    if _NEGATIVE.match(said) and "go" in said.replace("nogo", "go").split():
        return NO_GO
    found = _ANSWER.match(said)
    if found is None or said.endswith("?"):
        return None
    return NO_GO if found["no"] or found["go"] == "nogo" else GO


def read_roll(tokens: Sequence[str], directory: Directory) -> list[tuple[str, str]]:
    """Every 'STATION go' of a sentence that holds several, in order."""
    if len(tokens) < LEAST_IN_ROLL * 2 or not {"go", "nogo"} & set(tokens):
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
    return out if len(out) >= LEAST_IN_ROLL else []


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
