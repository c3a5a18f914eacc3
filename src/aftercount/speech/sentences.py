"""Where does one speaker's sentence end and the next begin, inside one cue or note?

Conventions: a piece is (start, end) in characters of the entry's text. Speech is split at the ends of sentences and, for
recognisers that write none, where the call signs change hands; a head of call signs alone stays with the sentence it
opens. Typed notes are split at the ends of sentences only; a machine's line is one piece. A cue's time is shared out by words.

It does not decide who speaks.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from aftercount.speech.address import ANSWERS, led_up
from aftercount.speech.directory import Directory
from aftercount.speech.stepheads import only_head, step_numbers
from aftercount.speech.words import clean, scan
from aftercount.speech.wordsets import word_set

# The end of a sentence: a stop and a space that no abbreviation, initial or number ends with (a letter after a whole word
# names a unit: 'transponder B.'); or a new line.
_END = re.compile(r"(?:(?<![\s.][a-z])|(?<=[a-z]{4} [a-h]))(?<!\bno)(?<!\bapprox)(?<!^[a-z])(?<![.!?;])[.!?;]++[\"')]*+\s+|(?<!\s)\s*?\n\s*|(?<!\s)\s++(?:>>|--|—)\s*", re.MULTILINE)
_WORD = re.compile(r"[^\W_]+(?:[:.'][^\W_]+)*")
_FAST = re.compile(r"[.!?;\n>—]|--")
_LEAST_BEFORE = 1  # words before a hand-over inside a run of words without punctuation
_REPLIES = word_set("copy copies roger wilco affirm affirmative go in complete verified negative no is working ready reports")
# What a new speaker, or the same on a new subject, begins with.
_OPENERS = (("go", "ahead"),)
# Acceptance and amends that begin somebody else's turn after an order's words, unless these come before ('how copy', 'the roger').
_ACCEPTS = word_set("copy roger wilco sorry")
_NOT_ACCEPTED = word_set("how you do did please hard soft a an the to and or of say we i they go ahead copy roger wilco sorry okay ok yes oh that good")
_ORDER_WORDS = 3  # at the least, before such a word
_EVENT_WITHIN = 3  # words
_EVENT_WORDS = frozenset(("liftoff", "ignition"))
_OPENING = _EVENT_WORDS | _ACCEPTS | {"go", "lift"}
_COUNT_TAIL = word_set("one zero 1 0")


def pieces(text: str, medium: str, directory: Directory) -> list[tuple[int, int]]:
    """The sentences of one entry, as character ranges in order; always at least one."""
    if medium == "machine":
        return [(0, len(text))]
    lowered = clean(text)
    text = lowered if len(lowered) == len(text) else text  # some letters change length in lower case
    sentences = _join_numbers(text, _sentences(text)) if _FAST.search(text) else [(0, len(text))]
    if medium != "speech":
        return sentences
    out: list[tuple[int, int]] = []
    for start, end in sentences:
        out.extend(_handovers(text, start, end, directory))
    return _join_heads(text, out, directory)


def shares(text: str, parts: Sequence[tuple[int, int]]) -> list[tuple[float, float]]:
    """(begin, end) of each part as shares of the entry's time, by words."""
    counts = [max(1, len(_WORD.findall(text, a, b))) for a, b in parts]
    total, done, out = sum(counts), 0, []
    for count in counts:
        out.append((done / total, (done + count) / total))
        done += count
    return out


def _sentences(text: str) -> list[tuple[int, int]]:
    out, start = [], 0
    for found in _END.finditer(text):
        if _WORD.search(text, start, found.start()):
            out.append((start, found.end()))
            start = found.end()
    if _WORD.search(text, start) or not out:
        out.append((start, len(text)))
    return out


def _join_numbers(text: str, parts: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """'Step nine.' or 'Nine.' and what is read out under it are one sentence; the numbers of a falling count are not."""
    out: list[tuple[int, int]] = []
    for start, end in parts:
        begun = out[-1][0] if out else start
        if out and only_head(scan(text[begun:start])) and step_numbers(text[begun:end]) and not _happens(text[start:end]) and not (out[:-1] and only_head(scan(text[slice(*out[-2])]))):
            out[-1] = (begun, end)
        else:
            out.append((start, end))
    return out


def _happens(text: str) -> bool:
    """'(One.) We have ignition.': what a count comes down to, whatever number was the last."""
    told = _WORD.findall(text)[:_EVENT_WITHIN]
    return not _EVENT_WORDS.isdisjoint(told) or "lift off" in " ".join(told)


def _handovers(text: str, start: int, end: int, directory: Directory) -> list[tuple[int, int]]:
    """Split a run of words where a call sign pair or a station's answer begins."""
    tokens = tuple(_WORD.findall(text, start, end))
    if len(tokens) <= _LEAST_BEFORE or (directory.leads.isdisjoint(tokens[1:]) and _OPENING.isdisjoint(tokens[1:])):
        return [(start, end)]
    turns = _cuts(tokens, directory)
    if not turns:
        return [(start, end)]
    found = list(_WORD.finditer(text, start, end))
    cuts = [found[i].start() for i in turns]
    edges = [start, *cuts, end]
    return list(zip(edges, edges[1:], strict=False))


def _cuts(tokens: tuple[str, ...], directory: Directory) -> list[int]:
    """Where turns begin after the first, as positions of words."""
    signs = _signs(tokens, directory)
    out: list[int] = []
    body = 0  # where the words after the current turn's call signs begin
    for at in range(len(tokens)):
        if at < body:
            continue
        pair = _pair_end(signs, at)
        begins = at >= _LEAST_BEFORE and not _inside_head(tokens, at) and led_up(tokens, 0) < at
        if at and begins and (_opens_turn(signs, at, len(tokens)) or _answers(tokens, at, signs) or (at not in signs and (_opens(tokens, at) or _takes_up(tokens, at, signs)))):
            out.append(at)
        body = pair or (signs[at][1] if at in signs else at + 1)
    return out


def _pair_end(signs: dict[int, tuple[str, int]], at: int) -> int:
    """Where two different call signs in a row, the first at `at`, end; 0 if there are none."""
    first = signs.get(at)
    second = signs.get(first[1]) if first else None
    return second[1] if first and second and second[0] != first[0] else 0


def _opens_turn(signs: dict[int, tuple[str, int]], at: int, words: int) -> bool:
    """Call signs with words after them: two that end a run are a thing named and the speaker's own sign."""
    return 0 < _pair_end(signs, at) < words


def _answers(tokens: tuple[str, ...], at: int, signs: dict[int, tuple[str, int]]) -> bool:
    sign = signs.get(at)
    return sign is not None and sign[1] < len(tokens) and tokens[sign[1]] in _REPLIES and _new_turn(tokens, at, sign[1])


def _signs(tokens: tuple[str, ...], directory: Directory) -> dict[int, tuple[str, int]]:
    """Position -> call sign; a near spelling counts at the beginning and right after another call sign."""
    out: dict[int, tuple[str, int]] = {}
    at = due = 0
    while at < len(tokens):
        if at != due and tokens[at] not in directory.leads:
            at += 1
            continue
        found = directory.at(tokens, at, near=at == due)
        if found is None:
            at += 1
            continue
        out[at] = found
        at = due = found[1]
    return out


def _inside_head(tokens: tuple[str, ...], at: int) -> bool:
    return tokens[at - 1] in ("this", "is", "from", "and", "to", "for")


def _new_turn(tokens: tuple[str, ...], at: int, after: int) -> bool:
    """'... range go' begins a turn; 'the range is clear' and 'go ahead' to a station do not."""
    if tokens[at - 1] in ("the", "a", "for", "to", "of", "and", "from", "this", "is", "at", "on", "with", "by", "ahead", "copy", "roger"):
        return False
    if tokens[after] == "is":
        return after + 1 < len(tokens) and tokens[after + 1] in ("go", "no", "ready")
    if tokens[after] == "in":
        return after + 1 < len(tokens) and tokens[after + 1] == "work"
    return tuple(tokens[after:after + 2]) != ("go", "ahead")


def _opens(tokens: tuple[str, ...], at: int) -> bool:
    if tuple(tokens[at:at + 2]) in _OPENERS and tuple(tokens[at + 2:at + 3]) not in (("and",), ("with",)):  # these order
        return tokens[at - 1] not in ("a", "the", "is", "you're")
    event = tokens[at] in _EVENT_WORDS or tuple(tokens[at:at + 2]) == ("lift", "off")
    return event and tokens[at - 1] in _COUNT_TAIL


def _takes_up(tokens: tuple[str, ...], at: int, signs: dict[int, tuple[str, int]]) -> bool:
    """'... open the vent copy open the vent': who accepts is another; one who is named first begins by his name."""
    if tokens[at] not in _ACCEPTS or at < _ORDER_WORDS or tokens[at - 1] in _NOT_ACCEPTED or not tokens[at + 1:]:
        return False
    return all(end != at for _, end in signs.values())


def _join_heads(text: str, parts: list[tuple[int, int]], directory: Directory) -> list[tuple[int, int]]:
    """'PROP, TC.' and what follows are one sentence; a lone call sign of a roll call is not joined to its answer."""
    if len(parts) == 1:
        return parts
    out: list[tuple[int, int]] = []
    head: int | None = None
    for start, end in parts:
        begin = start if head is None else head
        tokens = tuple(_WORD.findall(text, start, end))
        if head is None and (start, end) != parts[-1] and _only_pair(tokens, directory):
            head = start
            continue
        if head is not None and tokens and _another_turn(tokens, tuple(_WORD.findall(text, head, start)), directory):
            out.append((head, start))
            begin = start
        out.append((begin, end))
        head = None
    return out


def _another_turn(tokens: tuple[str, ...], head: tuple[str, ...], directory: Directory) -> bool:
    """Whether the words after a lone pair of call signs are somebody else's; who names the station called once more goes on: 'PROP, TC. PROP, open it.'"""
    sign = directory.at(tokens, 0)
    if sign is None:
        return tokens[0] in ANSWERS and tokens[:2] != ("go", "for")
    called = directory.at(head, led_up(head, 0), near=True)
    return called is None or called[0] != sign[0] or tokens[sign[1]:sign[1] + 1] == () or (
        tokens[sign[1]] in ANSWERS and tokens[sign[1]:sign[1] + 2] not in (("go", "for"), ("go", "to")))


def _only_pair(tokens: tuple[str, ...], directory: Directory) -> bool:
    tokens = tokens[led_up(tokens, 0):]
    first = directory.at(tokens, 0, near=True) if tokens else None
    if first is None or first[1] >= len(tokens):
        return False
    second = directory.at(tokens, first[1], near=True)
    return second is not None and second[1] == len(tokens)
