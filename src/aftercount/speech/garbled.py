"""Which call on the count was likely meant by words of a voice that a recogniser got half right: 'the county has resumed', 'set clock the back to'?

The call's phrase is laid along the sentence: words of it that sound alike, small ones lost, and others put in between, each at a price; one of its
words of weight must have been heard as it is. Conventions: tokens as `mending.mend` gives them; a call is told with the tokens that it spans. It does
not weigh tense, condition or denial: see `calls`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from aftercount.speech.mending import sound
from aftercount.speech.numbers import is_number
from aftercount.speech.triggers import HOLD, RECYCLE, RESUME
from aftercount.speech.words import PUNCTUATION
from aftercount.speech.wordsets import word_set

ALIKE, ALIKE_SHORT, SHORT = 0.7, 0.75, 5  # share of a word's sounds that another has from which it may be that word; of one shorter than SHORT letters
MISHEARD, SMALL_MISHEARD, SMALL_LOST, SMALL_IN, OTHER_IN = 0.4, 0.2, 0.2, 0.25, 0.4
MOST = 0.65  # that a phrase may cost: two small things, or a word misheard and one small thing
_LOST = 9.0  # a word of weight may not be lost

_SMALL = word_set("the is has are we been to a in and of on it was that you they with at by from this have be up out so then now just like one some get well right okay see all two too my")
_OTHER_SENSE = word_set("will would not no to can if when extend extending extended")  # put in, these make it another thing
_PHRASES = {
    HOLD: (
        "hold the count", "hold the clock", "stop the count", "stop the clock", "clock is stopped", "clock stopped", "count has stopped", "count is holding", "clock is holding",
        "calling a hold", "entering the planned hold", "we are in the planned hold", "hold hold hold"),
    RESUME: (
        "resume the count", "resuming the count", "count has resumed", "count resumes", "clock is running", "count is running", "clock restarted", "picking up the count", "pick up the count",
        "release the hold", "we are counting again"),
    RECYCLE: ("recycle the count to", "set the clock back to", "turn the clock back to", "clock back to", "clock has been reset to", "resetting the clock to", "reset the clock to", "we are recycling to"),
}
_UNITS = word_set("hour hours minute minutes second seconds")
_SAYS = ("holding", "counting")
_TO, _CLOCKS, _LITTLE = word_set("to two too"), word_set("count clock countdown"), word_set("the a back that our")
_RUNS = "running"
LED_TO = 3  # words, names among them, between 'all stations' and that 'to'
_ALL, _TO_ALL = "all", word_set("stations nets desks consoles positions hands loops")
# What else is done up to a reading: the count runs there, is held there, is read there.
_NOT_SET = word_set("hold holding held holds stop stopped stopping run runs running ran counts counting counted carry carrying continue continues continuing down up ahead through come coming comes "
    "get gets getting go goes going stand standing standby stay staying wait waiting resume resumes resuming resumed release pick picking picks from until till prior close closer near next listen listening "
    "ready watch watching follow following proceed proceeding move moving bring bringing brings read reading reads now minute minutes second seconds due late early that's it's")
_MISSAID = word_set("folding molding moulding golding bolding olding holden mounting courting county counted")


@dataclass(frozen=True, slots=True)
class Guess:
    """what was likely meant by tokens[begin:end]."""

    what: str
    begin: int
    end: int


def guesses(tokens: Sequence[str]) -> Iterator[Guess]:
    """The likeliest call of each kind."""
    heard = frozenset(tokens)
    for what, phrases in _laid().items():
        found = [laid for phrase, heavy in phrases if heavy & heard and _all_there(heavy, heard) and (laid := _lay(phrase, tokens)) is not None]
        if found:
            _, begin, end = min(found)
            yield Guess(what, begin, end)


def _all_there(heavy: frozenset[str], heard: frozenset[str]) -> bool:
    """Whether each word of weight, of which none may be lost, is heard or sounds like one that is: quicker than laying the phrase."""
    return all(word in heard or any(_misheard(word, token) < _LOST for token in heard) for word in heavy)


def set_to(tokens: Sequence[str], reading: int) -> Guess | None:
    """The clock set to the reading at tokens[reading:], by a word that is lost: 'right the count to T minus five', 'all stations, river to T minus five minutes'; or
    gone on from there, 'race the count T minus five clock is running'."""
    end = reading - 1
    if end < 1:
        return None
    if tokens[end] in _CLOCKS and tokens[end - 1] in _LITTLE and _RUNS in tokens[reading:]:
        return Guess(RESUME, end - 1, reading)
    if tokens[end] not in _TO:
        return None
    begin = end
    while begin and tokens[begin - 1] in _LITTLE:
        begin -= 1
    if begin > 1 and tokens[begin - 1] in _CLOCKS and tokens[begin - 2] in _LITTLE:  # a count that has an article is no 'they count to'
        begin = max(0, begin - 3)
    else:
        led = next((i + 2 for i in range(begin - 1) if tokens[i] == _ALL and tokens[i + 1] in _TO_ALL), begin)
        words = [t for t in tokens[led:begin] if t not in PUNCTUATION]
        if not 0 < len(words) <= LED_TO:
            return None
        begin = led
    return Guess(RECYCLE, begin, reading) if _NOT_SET.isdisjoint(tokens[begin:end]) else None


def mend_says(tokens: tuple[str, ...]) -> tuple[str, ...]:
    """'... minutes and folding' is holding: of the words that end a reading, and are nothing there."""
    out = list(tokens)
    for at in range(2, len(tokens)):
        if tokens[at - 1] == "and" and tokens[at] in _MISSAID and (is_number(tokens[at - 2]) or tokens[at - 2] in _UNITS or ":" in tokens[at - 2]):
            out[at] = max(_SAYS, key=lambda said: alike(said, tokens[at]))
    return tuple(out)


@lru_cache(maxsize=1)
def weighty() -> frozenset[str]:
    """Words, one of which every phrase needs to have been heard as it is."""
    return frozenset().union(*(heavy for phrases in _laid().values() for _, heavy in phrases))


@lru_cache(maxsize=1)
def _laid() -> dict[str, tuple[tuple[tuple[str, ...], frozenset[str]], ...]]:
    """Each phrase with its words of weight."""
    return {what: tuple((words := tuple(phrase.split()), frozenset(words) - _SMALL) for phrase in phrases) for what, phrases in _PHRASES.items()}


def _lay(phrase: tuple[str, ...], tokens: Sequence[str]) -> tuple[float, int, int] | None:
    """Cost, begin and end of the phrase where it lies best, None where it costs too much."""
    row = [(0.0, j) for j in range(len(tokens) + 1)]
    for i, word in enumerate(phrase):
        lost = SMALL_LOST if word in _SMALL and 0 < i < len(phrase) - 1 else _LOST
        new = [(row[0][0] + lost, row[0][1])]
        for j, token in enumerate(tokens, 1):
            ways = [(row[j][0] + lost, row[j][1]), (row[j - 1][0] + _misheard(word, token), row[j - 1][1])]
            if i < len(phrase) - 1:
                ways.append((new[j - 1][0] + _put_in(token), new[j - 1][1]))
            new.append(min(ways))
        row = new
    cost, begin, end = min((cost, begin, j) for j, (cost, begin) in enumerate(row))
    return (cost, begin, end) if cost <= MOST else None


def _put_in(token: str) -> float:
    if is_number(token) or token in _OTHER_SENSE:
        return _LOST
    return SMALL_IN if token in _SMALL or token in PUNCTUATION else OTHER_IN


@lru_cache(maxsize=65536)
def _misheard(word: str, token: str) -> float:
    if word == token:
        return 0.0
    if word in _SMALL:
        return SMALL_MISHEARD if token in _SMALL else _LOST
    return MISHEARD if token.isalpha() and token not in _UNITS and alike(word, token) >= (ALIKE_SHORT if len(word) < SHORT else ALIKE) else _LOST


@lru_cache(maxsize=65536)
def alike(word: str, token: str) -> float:
    """Share of the sounds of the longer that the two have in common, in order (one less the edits over the length)."""
    a, b = sound(word), sound(token)
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (x != y))
    return 1 - row[-1] / max(len(a), len(b), 1)
