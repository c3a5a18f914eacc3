"""Which number do these words say?

Conventions: tokens are lower case words as `words.scan` gives them; positions are token indices; a reading is
(value, next position). 'forty five' is 45, 'one hundred twenty' 120, 'niner' 9, 'oh five' is left to the caller as two
digits. Homophones ('to', 'for', 'ate', 'won') are numbers only where the caller says the context is numeric.

It does not decide what the number counts: see `spans` for times.
"""

from __future__ import annotations

from collections.abc import Sequence

ONES = {
    "zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "niner": 9, "tree": 3, "fife": 5, "fower": 4,
}
TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16,
    "seventeen": 17, "eighteen": 18, "nineteen": 19,
}
TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90,
}
# What recognisers write for a number heard alone; words in their own right everywhere else.
HOMOPHONES = {
    "to": 2, "too": 2, "tu": 2, "for": 4, "fore": 4, "ate": 8, "won": 1, "tin": 10, "sex": 6, "sicks": 6, "nein": 9, "fine": 9,
    "hive": 5, "free": 3, "then": 10, "fourth": 4,
}
NUMBER_WORDS = frozenset(ONES) | frozenset(TEENS) | frozenset(TENS)
SCALES = {"hundred": 100, "thousand": 1000}


def is_number(token: str) -> bool:
    return token in NUMBER_WORDS or token[0].isdigit()


def digit(token: str) -> int | None:
    """The single digit this word says, or None; 'oh' counts as zero here."""
    if token == "oh" or token == "o":
        return 0
    return ONES.get(token)


def read_number(tokens: Sequence[str], at: int, homophones: bool = False) -> tuple[float, int] | None:
    """The number that begins at `at`, or None: digits, or number words put together by the rules of English."""
    if at >= len(tokens):
        return None
    token = tokens[at]
    if token[0].isdigit():
        return _read_digits(tokens, at)
    read = _below_hundred(tokens, at)
    if read is None:
        if homophones and token in HOMOPHONES:
            return float(HOMOPHONES[token]), at + 1
        return None
    value, at = read
    while at < len(tokens) and tokens[at] in SCALES:
        value, at = value * SCALES[tokens[at]], at + 1
        skip = at + 1 if at < len(tokens) and tokens[at] == "and" else at
        rest = _below_hundred(tokens, skip)
        if rest is not None:
            value, at = value + rest[0], rest[1]
    return _fraction(tokens, value, at)


def _read_digits(tokens: Sequence[str], at: int) -> tuple[float, int] | None:
    try:
        return float(tokens[at]), at + 1
    except ValueError:
        return None


def _below_hundred(tokens: Sequence[str], at: int) -> tuple[int, int] | None:
    token = tokens[at] if at < len(tokens) else ""
    if token in TENS:
        value = TENS[token]
        after = at + 2 if at + 2 < len(tokens) and tokens[at + 1] == "-" else at + 1
        ones = ONES.get(tokens[after], 0) if after < len(tokens) else 0
        return (value + ones, after + 1) if ones else (value, at + 1)
    if token in TEENS:
        return TEENS[token], at + 1
    if token in ONES:
        return ONES[token], at + 1
    return None


def _fraction(tokens: Sequence[str], value: float, at: int) -> tuple[float, int]:
    """'nine point three' is 9.3."""
    if at + 1 < len(tokens) and tokens[at] in ("point", "decimal"):
        digits, after = "", at + 1
        while after < len(tokens) and (d := digit(tokens[after])) is not None:
            digits, after = digits + str(d), after + 1
        if digits:
            return float(f"{value:g}.{digits}"), after
    return float(value), at
