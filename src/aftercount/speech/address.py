"""Who speaks to whom in one sentence, by the discipline of the loop?

Conventions: the called station comes first, then the caller ('PROP, TC' is TC calling PROP); 'this is' and 'from' name the
speaker, 'go ahead TC' and 'copy, TC' end with the one spoken to. None is unknown. `body` is where the words after the
call signs begin, `stop` where closing call signs begin.

It does not look beyond the sentence: see `dialogue`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from aftercount.speech.directory import Directory
from aftercount.speech.words import PUNCTUATION
from aftercount.speech.wordsets import word_set

# A sentence that begins with one call sign and one of these is that station speaking of itself ...
ANSWERS = word_set("aye copy copies copied roger wilco affirm affirmative go no nogo negative is are in complete completed verified confirmed "
    "confirms reports reporting reported rpts rpt ready working here has standing good green nominal concurs acknowledges ack "
    "acknowledge understands calls called calling requests says advises was done started")
# ... unless it is one of these, which are said to it.
_TO_THEM = (("go", "ahead"), ("stand", "by"), ("in", "3"), ("is", "that"), ("are", "you"), ("is", "the"), ("go", "to"), ("ready", "to"))
# What somebody is told that a thing is in, but for what he is in himself: 'TC, in slow fill', 'TC in work'.
_IN_HAND = word_set("work progress")
# Two words that are an answer where the first alone is none.
_OF_THEMSELVES = (("now", "go"), ("now", "no"), ("not", "ready"), ("still", "no"))
_OF_US = word_set("go no not ready green")  # 'PROP, we are go'
_SPEAKER_MARKS = (("this", "is"), ("from",), ("it's",))
_CALLED_OUT = word_set("hold abort cutoff stop")
_CLOSING = word_set("copy roger ahead affirm affirmative wilco thanks you out over complete negative work again go")
# What people say before they call somebody: 'and PROP, open the vent', 'okay, PROP, TC here'.
_RUN_UP = word_set("and so now okay ok alright right well uh um er again repeat repeating correction")
_SAID_AGAIN = ("i", "say", "again")
_OF_AN_ORDER = 3  # words that an order has at least
_ON_NET = frozenset(("on", "net", "channel", "loop"))


@dataclass(frozen=True, slots=True)
class Address:
    speaker: str | None
    to: str | None
    body: int
    stop: int
    opening: int  # call signs it opens with


def _skip(tokens: Sequence[str], at: int) -> int:
    while at < len(tokens) and tokens[at] in PUNCTUATION and tokens[at] not in "?\"":
        at += 1
    return at


def read_address(tokens: Sequence[str], directory: Directory) -> Address:
    """The call signs at the two ends of a sentence and what their order says."""
    at = _run_up(tokens, _skip(tokens, 0), directory)
    named = _past_call(tokens, at)
    if tokens[named:named + 2] == ("this", "is") and (found := _sign(tokens, named + 2, directory)):
        return _after_this_is(tokens, found, directory)
    everyone = Directory.everyone(tokens, at)
    first = _sign(tokens, at, directory) if everyone == at else ("ALL", everyone)
    if first is None:
        return _closing(tokens, directory, None, None, at, 0)
    to, after = first
    mark = next((m for m in _SPEAKER_MARKS if tuple(tokens[_skip(tokens, after):][:len(m)]) == m), None)
    if mark and (second := _sign(tokens, _skip(tokens, after) + len(mark), directory)):
        return _closing(tokens, directory, second[0], to, second[1], 2)
    if (second := _half_named(tokens, _skip(tokens, after), directory)) and second[0] != to:
        return _closing(tokens, directory, second[0], to, second[1], 2)
    if after < len(tokens) and tokens[after] in ("to", ">", "for", "calling") and (second := _sign(tokens, after + 1, directory)):
        return _closing(tokens, directory, to, second[0], second[1], 2)
    second = _sign(tokens, _past_net(tokens, _skip(tokens, after)), directory)
    if second is not None and second[0] != to:
        return _closing(tokens, directory, second[0], to, _past_repeat(tokens, second[1], to, directory), 2)
    if to != "ALL" and _speaks_of_itself(tokens, _skip(tokens, after)):
        return _closing(tokens, directory, to, None, after, 1)
    return _closing(tokens, directory, None, to, after, 1)


def _half_named(tokens: Sequence[str], at: int, directory: Directory) -> tuple[str, int] | None:
    """The speaker behind a 'this is' of which recognition lost or changed a word: 'PROP this as TC', 'PROP his is TC', and 'PROP is TC open the vent', where the words are no
    question how TC is."""
    half = tuple(tokens[at:at + 1]) == ("this",)
    places = [p + 1 for p in range(at, min(at + 3, len(tokens) - 1)) if tokens[p] == "is" or (half and p < at + 2)]
    found = next((sign for place in places if (sign := directory.at(tokens, place))), None)
    if found is None or (tokens[at] == "is" and (len(tokens) - found[1] < _OF_AN_ORDER or tokens[found[1]] in ANSWERS)):
        return None
    return found


def _run_up(tokens: Sequence[str], at: int, directory: Directory) -> int:
    """Past the words that lead up to a call sign with words of its own behind it; 'okay, TC' alone is an answer to TC."""
    after = led_up(tokens, at)
    found = _sign(tokens, after, directory) if after > at else None
    return after if found and _skip(tokens, found[1]) < len(tokens) else at


def led_up(tokens: Sequence[str], at: int) -> int:
    """Where the words that lead up to a call end."""
    while at < len(tokens) and (tokens[at] in _RUN_UP or tuple(tokens[at:at + 3]) == _SAID_AGAIN):
        at = _skip(tokens, at + (1 if tokens[at] in _RUN_UP else len(_SAID_AGAIN)))
    return at


def _past_call(tokens: Sequence[str], at: int) -> int:
    """Past the call that comes before its caller's name: 'hold, hold, this is RANGE'."""
    while at < len(tokens) and (tokens[at] in _CALLED_OUT or tokens[at] in PUNCTUATION):
        at += 1
    return at


def _sign(tokens: Sequence[str], at: int, directory: Directory) -> tuple[str, int] | None:
    if at >= len(tokens) or tokens[at] in PUNCTUATION:
        return None
    return directory.at(tokens, at, near=True)


def _past_repeat(tokens: Sequence[str], at: int, to: str, directory: Directory) -> int:
    """Past the station called, named once more: 'PROP, TC. PROP, open it'."""
    again = _skip(tokens, at)
    found = directory.at(tokens, again) if again < len(tokens) and tokens[again] not in PUNCTUATION else None
    return found[1] if found is not None and found[0] == to and found[1] < len(tokens) else at


def _past_net(tokens: Sequence[str], at: int) -> int:
    """Past 'on net one' between the two call signs."""
    if at < len(tokens) and tokens[at] == "on":
        end = at + 1
        while end < len(tokens) and end < at + 4 and (tokens[end] in _ON_NET or end == at + 2):
            end += 1
        return _skip(tokens, end)
    return at


def _after_this_is(tokens: Sequence[str], found: tuple[str, int], directory: Directory) -> Address:
    return _closing(tokens, directory, found[0], None, found[1], 1)


def _speaks_of_itself(tokens: Sequence[str], at: int) -> bool:
    pair = tuple(tokens[at:at + 2])
    we = 2 * (pair == ("we", "are")) or int(pair[:1] in (("we",), ("we're",)))
    if we:
        return tuple(tokens[at + we:at + we + 1]) != () and tokens[at + we] in _OF_US and pair != ("we", "no")
    told = pair[:1] == ("in",) and tokens[at - 1] == "," and _IN_HAND.isdisjoint(pair)
    return pair in _OF_THEMSELVES or (at < len(tokens) and tokens[at] in ANSWERS and pair not in _TO_THEM and not told)


def _closing(tokens: Sequence[str], directory: Directory, speaker: str | None, to: str | None, body: int, opening: int) -> Address:
    """The call sign a sentence ends with is the one spoken to: 'go ahead TC', 'that's complete, TC'."""
    body, stop = _skip(tokens, body), len(tokens)
    while stop > body and tokens[stop - 1] in PUNCTUATION:
        stop -= 1
    for at in range(max(body + 1, stop - 4), stop):
        found = directory.at(tokens, at)
        if found is not None and found[1] >= stop and (tokens[at - 1] == "," or tokens[at - 1] in _CLOSING):
            return Address(speaker, to or found[0], body, at, opening) if found[0] != speaker else Address(speaker, to, body, stop, opening)
    return Address(speaker, to, body, stop, opening)
