"""Which length of time do these words say?

Conventions: seconds; tokens as `words.scan` gives them; a `Span` is one reading of the words from `at` up to `end`.
'five minutes thirty' is 330 s. Bare numbers have two readings: 'nine' is 9 s and 540 s, 'five thirty' 5:30 and 5 h 30;
each carries its form so that the caller can weigh it.

It does not decide whether the time is a count reading: see `marks`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from aftercount.counttime import parse_duration
from aftercount.speech.numbers import HOMOPHONES, digit, is_number, read_number

HOUR_S, MINUTE_S = 3600.0, 60.0
UNITS = {
    **dict.fromkeys(("hour", "hours", "hr", "hrs", "h", "our", "ours"), HOUR_S),
    **dict.fromkeys(("minute", "minutes", "min", "mins", "m", "minuets", "minuet", "minuted", "mints", "minutes'"), MINUTE_S),
    **dict.fromkeys(("second", "seconds", "sec", "secs", "s", "seconds'", "seconde", "sekonds"), 1.0),
    **dict.fromkeys(("day", "days"), 24 * HOUR_S),
}
_NO_UNIT = frozenset((",", ".", "-", "and", "to", "or", "in", "for", "of", "plus", "minus", "at", "?", ";", "is", "are"))
MOST_HOURS = 12  # of hours said with minutes; more would be said in days
_ENDING = frozenset((",", ".", ";", "and", "mark"))
_ALL_SAID = frozenset((*_ENDING, "counting", "holding"))
_ARTICLES = ("a", "an", "one")
# Forms, best known first.
UNITS_FORM, COLON_FORM, PAIR_FORM, BARE_FORM = "units", "colon", "pair", "bare"


@dataclass(frozen=True, slots=True)
class Span:
    """One reading: how long, where the words end, in what form, and the finest unit it was said in (s)."""

    seconds: float
    end: int
    form: str
    grain_s: float
    usual: bool = True  # the trade's usual reading of this form


def read_spans(tokens: Sequence[str], at: int, homophones: bool = False) -> list[Span]:
    """Every reading of the time that begins at `at`, the usual one first; none when no time begins there."""
    if at >= len(tokens):
        return []
    if ":" in tokens[at] and tokens[at] != ":":
        return _colon(tokens, at)
    united = _united(tokens, at, homophones)
    if united:
        return [united]
    return _bare(tokens, at, homophones)


def read_united(tokens: Sequence[str], at: int, homophones: bool = False) -> Span | None:
    """The time at `at` if it is said with its units."""
    return _united(tokens, at, homophones)


def _colon(tokens: Sequence[str], at: int) -> list[Span]:
    seconds = parse_duration(tokens[at])
    if seconds is None:
        return []
    spans = [Span(seconds, at + 1, COLON_FORM, 1.0)]
    if tokens[at].count(":") == 1 and "." not in tokens[at]:
        spans.append(Span(seconds * 60, at + 1, COLON_FORM, MINUTE_S, usual=False))
    return spans


def _united(tokens: Sequence[str], at: int, homophones: bool) -> Span | None:
    total, grain, end, last_unit = 0.0, 0.0, at, float("inf")
    while True:
        part = _part(tokens, _past_and(tokens, end) if end > at else at, homophones and end == at)
        if part is None or part[1] >= last_unit:
            break
        amount, unit, end = part
        total, grain, last_unit = total + amount * unit, unit, unit
        end, extra = _and_a_half(tokens, end, unit)
        total += extra
    if end == at:
        return None
    rest = _trailing(tokens, end, last_unit)
    if rest is not None:
        return Span(total + rest[0], rest[1], UNITS_FORM, max(1.0, last_unit / 60))
    return Span(total, end, UNITS_FORM, grain)


def _part(tokens: Sequence[str], at: int, homophones: bool) -> tuple[float, float, int] | None:
    """One number and its unit: (number, unit in seconds, next position)."""
    if at >= len(tokens):
        return None
    if tokens[at] == "half" and at + 2 < len(tokens) and tokens[at + 1] in _ARTICLES and tokens[at + 2] in UNITS:
        return 0.5, UNITS[tokens[at + 2]], at + 3
    read = read_number(tokens, at, homophones)
    digits = _spelled(tokens, at)
    if digits is not None and digits[1] < len(tokens) and tokens[digits[1]] in UNITS:
        read = digits
    if read is None and tokens[at] in ("a", "an") and at + 1 < len(tokens) and tokens[at + 1] in UNITS:
        read = (1.0, at + 1)
    if read is None:
        return None
    amount, after = read
    if after + 2 < len(tokens) and tuple(tokens[after:after + 3]) == ("and", "a", "half"):
        amount, after = amount + 0.5, after + 3
    if after < len(tokens) and tokens[after] == "-":
        after += 1
    if after < len(tokens) and tokens[after] in UNITS:
        return _plural(tokens, amount, after) or (amount, UNITS[tokens[after]], after + 1)
    if tokens[at] in HOMOPHONES:  # 'minus to twenty seconds': no number, or one that stands alone
        return None
    return _lost_minutes(tokens, amount, after) or _lost_hours(tokens, amount, after)


def _plural(tokens: Sequence[str], amount: float, after: int) -> tuple[float, float, int] | None:
    """'47s minutes' and '33s 49': minutes, the 's' but a plural."""
    if tokens[after] != "s" or after + 1 == len(tokens):
        return None
    if tokens[after + 1] in UNITS:
        return amount, UNITS[tokens[after + 1]], after + 2
    rest = read_number(tokens, after + 1) if is_number(tokens[after + 1]) else None
    if rest is None or not 10 <= rest[0] < 60 or not (rest[1] == len(tokens) or tokens[rest[1]] in _ENDING or UNITS.get(tokens[rest[1]]) == 1.0):
        return None
    return amount, MINUTE_S, after + 1


def _lost_minutes(tokens: Sequence[str], amount: float, after: int) -> tuple[float, float, int] | None:
    """'four might twenty seconds', 'four twenty seconds': a number, at most one word, then seconds; the word was 'minutes'."""
    if not 0 < amount < 60 or amount != int(amount):
        return None
    for begin in (after, after + 1):
        if begin >= len(tokens) or tokens[after] in _NO_UNIT:
            return None
        rest = read_number(tokens, begin) if is_number(tokens[begin]) else None
        if rest and 0 < rest[0] < 60 and rest[1] < len(tokens) and UNITS.get(tokens[rest[1]]) == 1.0 and (begin > after or rest[0] >= 10):
            return amount, MINUTE_S, begin
    return None


def _lost_hours(tokens: Sequence[str], amount: float, after: int) -> tuple[float, float, int] | None:
    """'one here fifteen minutes': a small number, one word, then minutes; the word was 'hours'."""
    if not 0 < amount <= MOST_HOURS or amount != int(amount) or after >= len(tokens) or tokens[after] in _NO_UNIT or is_number(tokens[after]):
        return None
    rest = read_number(tokens, after + 1) if after + 1 < len(tokens) and is_number(tokens[after + 1]) else None
    if rest and 0 < rest[0] < 60 and rest[1] < len(tokens) and UNITS.get(tokens[rest[1]]) == MINUTE_S:
        return amount, HOUR_S, after + 1
    return None


def _spelled(tokens: Sequence[str], at: int) -> tuple[float, int] | None:
    """'three one' said digit by digit is 31."""
    end, text = at, ""
    while end < len(tokens) and (d := digit(tokens[end])) is not None:
        text, end = text + str(d), end + 1
    return (float(text), end) if len(text) > 1 else None


def _past_and(tokens: Sequence[str], at: int) -> int:
    while at < len(tokens) and tokens[at] in ("and", ","):
        at += 1
    return at


def _and_a_half(tokens: Sequence[str], at: int, unit: float) -> tuple[int, float]:
    return (at + 3, unit / 2) if tuple(tokens[at:at + 3]) == ("and", "a", "half") else (at, 0.0)


def _trailing(tokens: Sequence[str], at: int, unit: float) -> tuple[float, int] | None:
    """The bare number after 'five minutes': seconds after minutes, minutes after hours; 'five minutes and thirty' where that is all."""
    if _next_is(tokens, at, ("and",)) and (found := _trailing(tokens, at + 1, unit)) is not None:
        return found if found[1] == len(tokens) or tokens[found[1]] in _ALL_SAID else None
    if unit not in (HOUR_S, MINUTE_S) or at >= len(tokens) or not is_number(tokens[at]) or ":" in tokens[at]:
        return None
    read = read_number(tokens, at)
    if read is None or read[0] >= 60 or _next_is(tokens, read[1], ("percent", "psi", "degrees", "knots", "volts")):
        return None
    if read[0] < 10 and tokens[at].isalpha() and read[1] < len(tokens) and tokens[read[1]] not in _ALL_SAID:
        return None  # 'five minutes two drop': 'to', misheard
    return read[0] * unit / 60, read[1]


def _next_is(tokens: Sequence[str], at: int, these: Sequence[str]) -> bool:
    return at < len(tokens) and tokens[at] in these


def _bare(tokens: Sequence[str], at: int, homophones: bool) -> list[Span]:
    spelled = _spelled(tokens, at)
    if spelled is not None and spelled[1] - at == 2:
        return _either(spelled[0], spelled[1])
    read = read_number(tokens, at, homophones)
    if read is None:
        return []
    value, end = read
    second = _second_of_pair(tokens, end)
    if second is not None and value == int(value) and value < 60:
        seconds = value * MINUTE_S + second[0]
        return [Span(seconds, second[1], PAIR_FORM, 1.0),
                Span(seconds * 60, second[1], PAIR_FORM, MINUTE_S, usual=False)]
    return _either(value, end)


def _either(value: float, end: int) -> list[Span]:
    if value == 0:
        return [Span(0.0, end, BARE_FORM, 1.0)]
    return [Span(value, end, BARE_FORM, 1.0), Span(value * MINUTE_S, end, BARE_FORM, MINUTE_S)]


def _second_of_pair(tokens: Sequence[str], at: int) -> tuple[float, int] | None:
    """The 'thirty' of 'five thirty', the 'oh five' of 'two oh five'."""
    if at >= len(tokens):
        return None
    if tokens[at] in ("oh", "o", "zero") and at + 1 < len(tokens) and (d := digit(tokens[at + 1])) is not None:
        return float(d), at + 2
    read = read_number(tokens, at)
    return read if read is not None and 10 <= read[0] < 60 and ":" not in tokens[at] else None
