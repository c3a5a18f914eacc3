"""Which word of the count was meant by one that was heard badly or typed short?

Conventions: only the few words that carry count readings and calls, and those that tell a forecast from a reading, are
mended: by sound (letters of one place in the mouth are one: p b, t d k g c, m n, s z f v, l r, all vowels), by one letter, by
taking apart words run together and joining words that were split. Words of their own standing are left alone.

It does not mend call signs (`directory`) or the words of steps (`match`).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from string import ascii_lowercase

from aftercount.speech.numbers import NUMBER_WORDS
from aftercount.speech.wordsets import word_set

LEAST_BY_SOUND = 5  # letters: shorter words sound like too many others
LEAST_BY_LETTER = 6  # letters: one letter off is still nearer to the long word than to others
LEAST_JOINED = 7  # letters in two words run together
LONG = 8  # letters of a word that is known whatever it was run together with

_COUNT_WORDS = word_set(
    "minutes minute seconds counting holding resume resumed resuming recycle recycled recycling scrubbed scrubbing liftoff cutoff countdown released "
    "minus expect planned coming approaching scheduled")
_UNITS = word_set("minutes minute seconds second hours hour minus")
_WHOLE = _COUNT_WORDS | NUMBER_WORDS | word_set("hold count clock hours hour again")
_PARTS = NUMBER_WORDS | _UNITS | word_set("counting holding mark hold count cutoff liftoff scrub resume recycle")
_LONG = frozenset(w for w in _COUNT_WORDS if len(w) >= LONG)
_JOINED = _PARTS | _LONG
_LAST = "recycle"  # known also at the end of a word that it was run together with
_FILLED = word_set("uh um er erm")  # pauses that a recogniser writes down
_SMALL = word_set("the is are at and to of we on in now one was as from")
# Near those above by letter or by sound, and words of their own.
_OWN = word_set(
    "mounting courting folding molding moulding golding bolding presume resumes rescued recycles scrubbers scrubber minuses hour thirsty plenty eighth even "
    "release releases sounding counted weighty eights elevens three there second minutes seconds third thirds inspect except gaming planner plants camping "
    "coding cutting getting dating letting setting sitting testing going doing saving having savings loading reading heading scheduled closing "
    "raising reason reasons using losing racing facing phasing noting nothing minding sunday monday safety seventh sixth fifth forth force fourth "
    "stripped stripping timing tuning schedule schedules names venting sending finding fitting vented sealed failed filled rolled called pulled recalled")
_LISTED = {
    "minced": "minutes", "minuets": "minutes", "minuet": "minute", "segments": "seconds", "secants": "seconds", "olding": "holding", "holden": "holding",
    "hldg": "holding", "hldng": "holding", "cntg": "counting", "cntng": "counting", "accounting": "counting", "rsmd": "resumed", "resmd": "resumed",
    "rsm": "resume", "rcycl": "recycle", "recyc": "recycle", "wun": "one", "nein": "nine", "clk": "clock", "ct": "count", "cnt": "count", "hld": "hold",
    "heaven": "seven", "sicks": "six", "fife": "five", "minas": "minus", "minis": "minus", "cuto": "cutoff", "cutov": "cutoff", "cutovf": "cutoff",
}
_SOUNDS = str.maketrans({
    **dict.fromkeys("pb", "p"), **dict.fromkeys("tdkgcq", "t"), **dict.fromkeys("mn", "n"), **dict.fromkeys("szfv", "s"), **dict.fromkeys("lr", "l"),
    **dict.fromkeys("aeiou", "a"),
})


def sound(word: str) -> str:
    """The word with letters that are easily taken for each other made the same."""
    return word.translate(_SOUNDS)


def _one_letter_off(word: str) -> set[str]:
    cuts = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    changed = {a + c + b[1:] for a, b in cuts if b for c in ascii_lowercase}
    added = {a + c + b for a, b in cuts for c in ascii_lowercase}
    dropped = {a + b[1:] for a, b in cuts if b}
    return changed | added | dropped


@lru_cache(maxsize=1)
def _by_letter() -> dict[str, str]:
    out: dict[str, str] = {}
    for meant in sorted(w for w in _COUNT_WORDS | NUMBER_WORDS if len(w) >= LEAST_BY_LETTER):
        for heard in sorted(_one_letter_off(meant)):
            out.setdefault(heard, meant)
    for word in _COUNT_WORDS | _OWN | NUMBER_WORDS:
        out.pop(word, None)
    return out | _LISTED


@lru_cache(maxsize=1)
def _by_sound() -> dict[str, str]:
    """Sound -> the one word that has it."""
    out: dict[str, str] = {}
    twice: set[str] = set()
    for meant in sorted(w for w in _COUNT_WORDS | NUMBER_WORDS if len(w) >= LEAST_BY_SOUND):
        key = sound(meant)
        if out.setdefault(key, meant) != meant:
            twice.add(key)
    return {key: meant for key, meant in out.items() if key not in twice}


@lru_cache(maxsize=65536)
def _meant(token: str) -> tuple[str, ...]:
    """What one token stands for: itself, a mended word, or the words that were run together."""
    if token in _PARTS or token in _OWN or token in _COUNT_WORDS or not token.isalpha():
        return (token,)
    if (mended := _by_letter().get(token)) is not None:
        return (mended,)
    if len(token) >= LEAST_BY_SOUND and (mended := _by_sound().get(sound(token))) is not None:
        return (mended,)
    if len(token) >= LEAST_JOINED:
        for cut in range(2, len(token) - 1):
            parts = token[:cut], token[cut:]
            if _PARTS.issuperset(parts) or any(a in _WHOLE and b in _SMALL for a, b in (parts, parts[::-1])):
                return parts
        for part in _LONG:
            if token.startswith(part):
                return part, token[len(part):]
        if token.endswith(_LAST) and len(token) > len(_LAST) + 1:
            return token[:-len(_LAST)], _LAST
    return (token,)


def mend(tokens: Sequence[str]) -> tuple[str, ...]:
    """The tokens with the count's own words put right; there may be more or fewer of them."""
    out: list[str] = []
    for at, token in enumerate(tokens):
        twice = token == "a" and at + 1 < len(tokens) and tokens[at + 1] == "the"
        if token in _FILLED or twice or (token == "a" and out and out[-1] in NUMBER_WORDS and not _UNITS.isdisjoint(_meant(tokens[min(at + 1, len(tokens) - 1)]))):
            continue
        if out and token.isalpha() and out[-1] + token in _JOINED and out[-1] not in _JOINED:
            out[-1] += token
        else:
            out.extend(_meant(token))
    return tuple(out)
