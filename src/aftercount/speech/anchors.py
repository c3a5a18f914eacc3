"""Where in a sentence might a count reading begin?

Conventions: an anchor is 'T minus', 'T-', 'L minus', 'T plus', bare 'minus', well heard or badly ('tea minus', 'thirteen
minus', 'tminus'). `begin` is the first token of the anchor, `at` the first after it. `heard` is False for a guess.

It does not decide what time is said, nor whether it is a reading: see `marks`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from aftercount.speech.spans import read_united
from aftercount.speech.wordsets import word_set

MINUS = word_set("minus minuss minis minas minors minor mines minuses")
PLUS = word_set("plus pluss")
_T = word_set("t tea tee ti t's tt")
# What recognisers have made of a 'T' before 'minus'; 'thirteen minus' is on record for Apollo 17.
_T_LIKE = word_set("thirteen 13 ten 10 team the teen d dee key he three 3 p pee to two 2 2 c see g b test tv eighteen cheap")
_L = word_set("l el ell elle")
_L_LIKE = word_set("hell launch al all tell")
_LOST_WORDS = 2  # words that may stand where 'minus' was said
_SPOKEN_FOR = MINUS | PLUS | frozenset(("-", "+", "zero", "0", "time", "in", "=", ".", ",", "?", "for", "at"))
_KEYS = frozenset(("t", "count", "clock", "countdown", "cdt", "s", "time"))
# What a count without its letter is typed behind: 'holding at -18:05', 'count -12:00'.
_BEFORE_SIGN = frozenset(("", "at", "count", "clock", "clk", "hold", "holding", "held", "stopped", "resumed", "resume", "mark", "from", "to", ",", "is", "now"))
GLUED = {"tminus": "T", "teaminus": "T", "teeminus": "T", "timinus": "T", "lminus": "L", "tplus": "+", "terminus": "T"}


@dataclass(frozen=True, slots=True)
class Anchor:
    clock: str  # 'T' | 'L'
    sign: int  # -1 before zero, +1 after
    begin: int
    at: int
    heard: bool  # the letter was heard as itself
    bare: bool  # 'minus' with no letter at all
    keyed: bool = False  # a machine's 't=-540': a bare number is seconds


def anchors(tokens: Sequence[str]) -> list[Anchor]:
    """Every anchor of the sentence, in order."""
    out: list[Anchor] = []
    for i, token in enumerate(tokens):
        if token in MINUS or token in PLUS:
            found = _at_word(tokens, i, -1 if token in MINUS else 1)
        elif token in "-+" and i + 1 < len(tokens):
            found = _at_sign(tokens, i)
        elif token in _T and i + 1 < len(tokens):
            found = _at_letter(tokens, i)
        elif token in GLUED and i + 1 < len(tokens):
            clock = GLUED[token]
            found = Anchor("T" if clock == "+" else clock, 1 if clock == "+" else -1, i, i + 1, True, False)
        else:
            continue
        if found is not None:
            out.append(found)
    return out


def _at_letter(tokens: Sequence[str], i: int) -> Anchor | None:
    """'T my nose five minutes', 'T five minutes and counting': the 'minus' lost, but a time with its units close by."""
    for at in range(i + 1, min(i + 2 + _LOST_WORDS, len(tokens))):
        if tokens[at] in _SPOKEN_FOR:
            return None
        if read_united(tokens, at, homophones=True) is not None:
            return Anchor("T", -1, i, at, False, False)
    return None


def _at_word(tokens: Sequence[str], i: int, sign: int) -> Anchor | None:
    before = tokens[i - 1] if i else ""
    if before in ("-", ".") and i > 1:
        before, first = tokens[i - 2], i - 2
    else:
        first = i - 1
    if before in _T or (before == "time" and sign < 0):
        return Anchor("T", sign, first, i + 1, before in _T, False)
    if before in _L:
        return Anchor("L", sign, first, i + 1, True, False)
    if sign > 0:
        return None
    if before in _L_LIKE:
        return Anchor("L", sign, first, i + 1, False, False)
    if before in _T_LIKE:
        return Anchor("T", sign, first, i + 1, False, False)
    return Anchor("T", sign, i, i + 1, False, True)


def _at_sign(tokens: Sequence[str], i: int) -> Anchor | None:
    """'T-31', 'L-2', 'T+12'; the sign must stand before a number, and 'T' or 'L' before it."""
    if not (tokens[i + 1][0].isdigit() or tokens[i + 1] == "zero"):
        return None
    sign = -1 if tokens[i] == "-" else 1
    before = tokens[i - 1] if i else ""
    if before in ("=", ":") and i > 1 and tokens[i - 2] in _KEYS:
        return Anchor("T", sign, i - 2, i + 1, True, False, keyed=True)
    if before in ("t", "tee", "tea"):
        return Anchor("T", sign, i - 1, i + 1, True, False)
    if before == "l":
        return Anchor("L", sign, i - 1, i + 1, True, False)
    if sign < 0 and ":" in tokens[i + 1] and before in _BEFORE_SIGN:
        return Anchor("T", sign, i, i + 1, False, True)
    return None
