"""Does a sentence begin with the number of the step that is read out: 'step two point four, ...', 'Eight. Valve closed.'?

Conventions: tokens as `words.scan` gives them; positions are token indices; a head ends where the words after it begin. A lone number is a
head only where a stop or colon parts it from words that it does not count. It does not decide whether the plan has such a step.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from aftercount.speech.address import led_up
from aftercount.speech.directory import ALPHABET
from aftercount.speech.numbers import is_number
from aftercount.speech.words import PUNCTUATION, scan, words
from aftercount.speech.wordsets import word_set

_NAMES = word_set("step steps item task para paragraph seq sequence")
_JOINS = word_set("point dot decimal dash tac")
_JOINED = re.compile(r" (point|dot|decimal|dash|tac) ")
_LETTERED = re.compile(r"\b([a-z]) (?=[a-z]\b|\d)")  # 'c 5' is c5
_LETTER_OF = {name: letter for letter, names in ALPHABET.items() if letter.isalpha() for name in names.split()}
_MOST_LETTERS = 3  # of an id that is read out letter by letter
_CODE = re.compile(r"[a-z]\d+")
_STOPS = frozenset(".:")
# A number before these counts them, or is the count itself: 'ten. mark', 'one. ignition'.
_COUNTED = word_set("mark and minute minutes second seconds hour hours lift liftoff ignition zero launch fire release cutoff percent psi bar degrees volts amps kilos")
_FEWEST = 2  # words after a lone number: 'Twenty. Copy.' answers something
_LONGEST = 4  # tokens of one number: 'one hundred twenty one'


def step_head(tokens: Sequence[str], at: int = 0) -> int:
    """Where the head that begins at `at` ends; `at` where none begins."""
    named = at < len(tokens) and tokens[at] in _NAMES
    begin = at + named
    begin += named and tuple(tokens[begin:begin + 1]) == ("number",)
    end = _lettered(tokens, begin) if named else begin
    end = end if end > begin else _number(tokens, begin)
    if end == begin:
        return at
    if named:
        return end
    after = end
    while after < len(tokens) and tokens[after] in PUNCTUATION:
        after += 1
    rest = [t for t in tokens[after:] if t not in PUNCTUATION]
    parted = end < len(tokens) and tokens[end] in _STOPS
    counts = rest[:1] != [] and (is_number(rest[0]) or rest[0] in _COUNTED) and rest[:2] not in (["zero", "the"], ["0", "the"])  # 'Three. Zero the cells.'
    return after if parted and len(rest) >= _FEWEST and not counts else at


def _lettered(tokens: Sequence[str], at: int) -> int:
    """Where an id of letters and a number that begins at `at` ('c five', 'c5', 'charlie dash oh five'), ends; `at` if none does."""
    if at < len(tokens) and _CODE.fullmatch(tokens[at]):
        return at + 1
    begin = at
    while begin < min(len(tokens), at + _MOST_LETTERS) and _is_letter(tokens[begin]):
        begin += 1
    if begin == at:
        return at
    begin += begin < len(tokens) and (tokens[begin] in _JOINS or tokens[begin] == "-")
    end = _number(tokens, begin)
    return end if end > begin else at


def _is_letter(token: str) -> bool:
    return token in _LETTER_OF or (len(token) == 1 and token.isalpha())


def step_numbers(text: str) -> list[str]:
    """The numbers of the steps that a text names, as ids are written: 'step two point oh four' is 2.04."""
    tokens = scan(text)
    return [_written(tokens[at:end]) for at, end in _heads(tokens)]


def without_numbers(text: str) -> str:
    """The text without the numbers of steps: 'step nine, close valve two' speaks of a valve two and of no nine."""
    tokens = scan(text)
    heads = _heads(tokens)
    return " ".join(t for i, t in enumerate(tokens) if not any(at <= i < end for at, end in heads)) if heads else text


def _heads(tokens: Sequence[str]) -> list[tuple[int, int]]:
    """Where each head begins and ends."""
    if not tokens or (_NAMES.isdisjoint(tokens) and not any(map(is_number, tokens))):
        return []
    first = led_up(tokens, 0)
    heads = ((at, step_head(tokens, at)) for at in range(len(tokens)) if at == first or tokens[at] in _NAMES)
    return [(at, end) for at, end in heads if end > at]


def _written(head: Sequence[str]) -> str:
    said = " ".join(words(" ".join(_LETTER_OF.get(t, t) for t in head if t not in _NAMES and t != "number")))
    said = _LETTERED.sub(r"\1", said)
    return _JOINED.sub(lambda found: "." if found[1] in ("dot", "decimal", "point") else "-", said)


def only_head(tokens: Sequence[str]) -> bool:
    """Whether the words are the number of a step and nothing else ('again, step nine')."""
    tokens = tokens[led_up(tokens, 0):]
    named = bool(tokens) and tokens[0] in _NAMES
    said = [t for t in tokens[named:] if t not in PUNCTUATION and t != "number"]
    return bool(said) and len(said) in (_number(said, 0), _lettered(said, 0) if named else 0)


def _number(tokens: Sequence[str], at: int) -> int:
    """Where the number that begins at `at`, with its parts ('two point four', '1 dot 07'), ends."""
    end = _plain(tokens, at)
    while end > at and end < len(tokens) and tokens[end] in _JOINS and _plain(tokens, end + 1) > end + 1:
        end = _plain(tokens, end + 1)
    return end


def _plain(tokens: Sequence[str], at: int) -> int:
    end = at
    while end < min(len(tokens), at + _LONGEST) and (is_number(tokens[end]) or (end > at and tokens[end] == "-") or tokens[end] in ("oh", "hundred")):
        end += 1
    return end
