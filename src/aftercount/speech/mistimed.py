"""Which time was said, where a recogniser garbled it?

Conventions: tokens as `mending.mend` gives them, of a voice. Inside a time, that is beside its numbers and units, much less can have been meant than
elsewhere: 'forty ate minutes' is 48, what stands between a number and its unit was put in, 'one hair and twenty minutes' has an hour in it, and a
word that begins like 'minutes' behind 'minus twenty' is that. Where such a guess was needed it is said, so that the reading can be graded by it.

It does not read the time: `spans` does.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.speech.anchors import GLUED, MINUS
from aftercount.speech.mending import sound
from aftercount.speech.numbers import HOMOPHONES, NUMBER_WORDS, ONES, TEENS, TENS, digit, is_number
from aftercount.speech.spans import HOUR_S, MOST_HOURS, UNITS
from aftercount.speech.wordsets import word_set

_PUT_IN = word_set("the a an so okay is it on uh um er his as eh")  # words that recognisers put in, and what they make of them
_AND = word_set("and an end in hand emd amb amd on um anb")
_BEFORE_UNIT = _PUT_IN | _AND | word_set("to too")
_MISHEARD = {**HOMOPHONES, "heaven": 7, "eat": 8, "hate": 8}
_SAID = {**{number: word for word, number in reversed(ONES.items())}, 10: "ten"}
_NOT_HOURS = word_set("have has had he hold holding held his hand hangs he's how")
_HOURS = word_set("else her always are our owl ours")
_NOT_MINUTES = word_set("mark main mach more most many mission meter meters")
_THEN = word_set("and an end in now counting holding mark on okay")
_GOES_ON = (["and"], ["end"], ["an"], ["holding"], ["counting"])
_FOLDING = word_set("folding golding olding molding moulding")
_T = word_set("t tea tee")
_MINUS = (("my", "nose"), ("mine", "is"), ("my", "knows"), ("mine", "as"))
_OF_TIMES = MINUS | frozenset(GLUED) | frozenset(UNITS) | word_set("my mine")  # without one of them there is no time to mend
_OF_UNITS = NUMBER_WORDS | frozenset(UNITS)
_LED = 8  # tokens after 'minus' in which its time is said


def _by_sound() -> dict[str, str]:
    """Sound -> the number word that has it."""
    out: dict[str, str] = {}
    for word in (*ONES, *TEENS, *TENS):
        out.setdefault(sound(word), word)
    return out


_SOUNDS = _by_sound()


def mend_times(tokens: Sequence[str]) -> tuple[tuple[str, ...], bool]:
    """The tokens with the times among them put right, and whether that took a guess."""
    if _OF_TIMES.isdisjoint(tokens) or (_OF_UNITS.isdisjoint(tokens) and not any(t[0].isdigit() for t in tokens)):
        return tuple(tokens), False
    plain, guessed = _minus(tokens)
    plain = _unfilled(plain)
    for guess in (_numbers, _hours, _minutes):
        better = guess(plain)
        guessed |= better != plain
        plain = better
    return tuple(_held(_joined(_spoken(plain)))), guessed


def _held(tokens: list[str]) -> list[str]:
    """'folding at T minus nine', 'T minus nine minutes and folding': holding."""
    out = list(tokens)
    for at, token in enumerate(tokens):
        if token in _FOLDING and (not MINUS.isdisjoint(tokens[at + 1:at + 4]) or (at > 1 and tokens[at - 1] in _AND and (tokens[at - 2] in UNITS or is_number(tokens[at - 2])))):
            out[at] = "holding"
    return out


def _minus(tokens: Sequence[str]) -> tuple[list[str], bool]:
    """'my nose five' and 'mine is five' for 'minus five'; and no 's' behind the digits that a voice said."""
    out: list[str] = []
    at, guessed = 0, False
    while at < len(tokens):
        if tuple(tokens[at:at + 2]) in _MINUS and at + 2 < len(tokens) and is_number(tokens[at + 2]):
            out.append("minus")
            at, guessed = at + 2, True
            continue
        if tokens[at] != "s" or not out or not out[-1].isdecimal():
            out.append(tokens[at])
        at += 1
    return out, guessed


def _unfilled(tokens: list[str]) -> list[str]:
    """Without what was put in: between 'T' and 'minus', 'minus' and a number, a number and its unit, the two words of a number that has a unit."""
    out: list[str] = []
    at = 0
    while at < len(tokens):
        end = at
        while end < len(tokens) and tokens[end] in _BEFORE_UNIT:
            end += 1
        if out and at < end < len(tokens) and _one(out[-1], tokens[at:end], tokens[end:end + 2]):
            at = end
        out.append(tokens[at])
        at += 1
    return out


def _one(before: str, between: Sequence[str], behind: Sequence[str]) -> bool:
    """Whether the words on either side belong together, and what is between was put in."""
    put_in = _PUT_IN.issuperset(between)
    if behind[0] in MINUS:
        return put_in and before in _T
    if before in MINUS:
        return put_in and is_number(behind[0])
    if not is_number(before):
        return False
    if behind[0] in UNITS:
        return put_in or before not in TENS  # 'thirty to minutes' may be 32
    return put_in and before in TENS and len(behind) > 1 and ONES.get(behind[0], 0) > 0 and behind[1] in UNITS


def _numbers(tokens: list[str]) -> list[str]:
    """'minus twenty fave minutes', 'minus sevim minutes', 'minus ona hour': numbers by their sound, and 'one' where it was lost before 'hour'."""
    out: list[str] = []
    for at, token in enumerate(tokens):
        unit = tokens[at + 1] if at + 1 < len(tokens) and tokens[at + 1] in UNITS else ""
        unread = not is_number(token) and token not in UNITS and token not in _BEFORE_UNIT and token not in _MISHEARD and token.isalpha()
        if token == "hour" and out and out[-1] in MINUS:
            out += ["one", token]
        elif unit and unread and out and (out[-1] in TENS or out[-1] in MINUS or out[-1] in UNITS or out[-1] in _AND) and _led(out, len(out)):
            small = _SOUNDS.get(sound(token), token)
            out.append("one" if unit == "hour" and out[-1] in MINUS else small if out[-1] not in TENS or small in ONES else token)
        else:
            out.append(token)
    return out


def _hours(tokens: list[str]) -> list[str]:
    """'minus one hair and twenty minutes', 'minus two horse': hours."""
    out = list(tokens)
    for at in range(2, len(tokens)):
        word, small = tokens[at], _value(tokens[at - 1])
        if word in UNITS or not (word in _HOURS or (word[0] == "h" and word not in _NOT_HOURS)) or small is None or not 0 < small <= MOST_HOURS or not _led(tokens, at - 1):
            continue
        behind = [t for t in tokens[at + 1:at + 4] if t not in _AND and t not in _PUT_IN]
        if (behind and (is_number(behind[0]) or behind[0] in _MISHEARD)) or _goes_on(tokens, at + 1):
            out[at] = "hour"
    return out


def _minutes(tokens: list[str]) -> list[str]:
    """'minus twenty mother', 'minus one hour forty moment now': minutes."""
    out = list(tokens)
    for at in range(2, len(tokens)):
        word = tokens[at]
        if (word[0] == "m" and len(word) > 2 and word not in UNITS and word not in _NOT_MINUTES and word not in MINUS and is_number(tokens[at - 1])
                and (_goes_on(tokens, at + 1) or is_number(tokens[at + 1])) and _led(tokens, at - 1)):
            out[at] = "minutes"
    return out


def _goes_on(tokens: Sequence[str], at: int) -> bool:
    return at >= len(tokens) or tokens[at] in _THEN or not tokens[at][0].isalnum()


def _spoken(tokens: list[str]) -> list[str]:
    """With homophones as numbers where a unit follows: behind a word of tens, and behind a larger unit."""
    out: list[str] = []
    for at, token in enumerate(tokens):
        unit = at + 1 < len(tokens) and tokens[at + 1] in UNITS
        number = _MISHEARD.get(token, 0) if unit else 0
        small = 0 < number < 10 and bool(out) and out[-1] in TENS
        out.append(_SAID[number] if small or (number and _behind_larger(out, tokens[at + 1])) else token)
    return out


def _behind_larger(out: list[str], unit: str) -> bool:
    """Whether the last words are a larger unit than this one, with no more than an 'and' behind it."""
    last = [t for t in out[-2:] if t not in _AND and t not in _PUT_IN]
    return bool(last) and UNITS.get(last[-1], 0.0) > UNITS[unit]


def _joined(tokens: list[str]) -> list[str]:
    """With a plain 'and' for whatever stands between one part of a time and the next ('minutes an twenty seconds', 'minutes end twenty and holding')."""
    out: list[str] = []
    at = 0
    while at < len(tokens):
        end = at
        while end < len(tokens) and tokens[end] in _BEFORE_UNIT:
            end += 1
        if end > at and out and UNITS.get(out[-1], 1.0) > 1.0 and _goes_with(tokens, (at, end), UNITS[out[-1]]):
            out.append("and")
            at = end
        out.append(tokens[at])
        at += 1
    return out


def _goes_with(tokens: Sequence[str], between: tuple[int, int], unit: float) -> bool:
    """Whether a number of a smaller unit follows; 'in twenty seconds' is of the same time only if something goes on after it."""
    at, end = between
    if end >= len(tokens) or not is_number(tokens[end]):
        return False
    part = end + 2 if tokens[end] in TENS and end + 1 < len(tokens) and ONES.get(tokens[end + 1]) else end + 1
    smaller = part < len(tokens) and UNITS.get(tokens[part], unit) < unit
    if "in" in tokens[at:end] or "to" in tokens[at:at + 1]:
        return smaller and tokens[part + 1:part + 2] in _GOES_ON
    return smaller or (unit < HOUR_S and tokens[part:part + 1] in _GOES_ON)


def _value(token: str) -> float | None:
    return float(token) if token.isdecimal() else digit(token)


def _led(tokens: Sequence[str], at: int) -> bool:
    """Whether a 'minus' leads up to the number at `at`, with nothing but the words of a time between."""
    for before in range(at - 1, max(-1, at - _LED), -1):
        token = tokens[before]
        if token in MINUS or token in GLUED:
            return True
        if not (is_number(token) or token in UNITS or token in _AND or token in _PUT_IN or token in _MISHEARD):
            return False
    return False
