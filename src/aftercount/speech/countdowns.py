"""Which numbers are counted down, and to what?

Conventions: tokens as for `marks`; numbers in count seconds. It does not say what they make of the clock: `marks` and `calls` do.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.speech.numbers import is_number, read_number

MAX_COUNTDOWN = 60  # 'sixty, fifty-nine' is counted down; higher numbers are read out for other reasons
WORDS_A_SECOND = 2.5  # spoken on a loop
_MARKED = (["mark"], ["marc"], ["marks"], ["mart"])  # counted down to, and how recognisers hear that


def counted_to_mark(after: Sequence[str]) -> bool:
    """'resume on my mark, three, two, one, mark': the mark came."""
    return to_mark_s(after, 0) is not None


def to_mark_s(tokens: Sequence[str], at: int) -> float | None:
    """Seconds from the first of the words to the mark that is counted down to; None when none is."""
    for begin in range(at, len(tokens)):
        many, first, end = fall(tokens, begin)
        if many > 1 and [t for t in tokens[end:] if t.isalnum()] in _MARKED:
            return first + sum(t.isalnum() for t in tokens[:begin]) / WORDS_A_SECOND
    return None


def falls(tokens: Sequence[str], at: int) -> int:
    """How many falling numbers are read out from `at`, a dropped one allowed."""
    return fall(tokens, at)[0]


def fall(tokens: Sequence[str], at: int) -> tuple[int, float, int]:
    """(how many, the first, where they end)"""
    count, last, first, end = 0, 0.0, 0.0, at
    while at < len(tokens):
        if tokens[at] in (",", "-", "."):
            at += 1
            continue
        read = read_number(tokens, at) if is_number(tokens[at]) and ":" not in tokens[at] else None
        if read is None and count and at + 1 < len(tokens) and tokens[at].isalpha() and is_number(tokens[at + 1]) and ":" not in tokens[at + 1]:
            again = read_number(tokens, at + 1)  # 'ten nine eigt seven': one of them garbled
            at, read = (at + 1, again) if again is not None and last - again[0] == 2 else (at, None)
        if read is None or read[0] > MAX_COUNTDOWN or (count and not 0 < last - read[0] <= 2):
            break
        count, last, first = count + 1, read[0], first if count else read[0]
        at = end = read[1]
    return count, first, end
