"""What do the answers of stations, one after another, show of what was said before them?

Conventions: utterances by id, in the order of their logs; own clock in seconds. A roll is answers of `FEWEST` stations and more on
one log, none more than `GAP_S` after the one before. One that nobody announced, or whose announcement was not understood, begins with what was said to everybody
right before its first call-outs and answers ('status to leave the hold'), else with the first call-out, else with the first answer. Whatever its words,
what was said shortly before a roll may have called it. It does not decide which poll of the plan it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from aftercount.speech.words import words

FEWEST = 3
GAP_S = 30.0
# An announcement goes before the first answer by no more than this, seconds, and a call-out by no more than this.
ANNOUNCED_S, CALLED_OUT_S = 60.0, 10.0
_CALLED_OUT_WORDS = 4  # 'Launch weather officer?'
_OPENED_BY = ("call", "note")  # what opens a roll without naming it


class Line(NamedTuple):
    """One utterance: on which log and when by it, what kind, its words, whose and to whom, if known."""

    source: Any
    own_s: float | None
    kind: str
    text: str
    station: str | None = None
    to: str | None = None


def unannounced(lines: Sequence[Line], answers: Sequence[tuple[int, str]]) -> list[int]:
    """The utterances that begin rolls that no utterance known as a poll does. answers: (utterance, station), in order of utterances."""
    return [_begins(lines, first) if (named := _named(lines, first)) is None else named
            for first, _ in _rolls(lines, answers) if not _announced(lines, first)]


def opened_by(lines: Sequence[Line], answers: Sequence[tuple[int, str]]) -> dict[int, int]:
    """How many stations answer in the roll that each utterance may have called: those within `GAP_S` before its first answer, after the answers of the roll before, and
    that answer's own; none from before the first of them that names a poll."""
    out: dict[int, int] = {}
    end = -1
    for first, stations in _rolls(lines, answers):
        at = first
        while at > end and _within(lines[at], lines[first], GAP_S):
            at -= 1
        may = range(at + 1, first + 1)
        begins = next((i for i in may if _names_poll(lines[i])), at + 1)
        out |= dict.fromkeys(range(begins, first + 1), stations)
        end = first
    return out


def _rolls(lines: Sequence[Line], answers: Sequence[tuple[int, str]]) -> Iterator[tuple[int, int]]:
    """(first answer, how many stations) of each roll."""
    for run in _runs(lines, answers):
        stations = len({station for _, station in run})
        if stations >= FEWEST:
            yield run[0][0], stations


def _runs(lines: Sequence[Line], answers: Sequence[tuple[int, str]]) -> Iterator[list[tuple[int, str]]]:
    run: list[tuple[int, str]] = []
    for answer in answers:
        if run and not _within(lines[run[-1][0]], lines[answer[0]], GAP_S):
            yield run
            run = []
        run.append(answer)
    if run:
        yield run


def _within(one: Line, other: Line, seconds: float) -> bool:
    return one.source == other.source and one.own_s is not None and other.own_s is not None and 0.0 <= other.own_s - one.own_s <= seconds


def _announced(lines: Sequence[Line], first: int) -> bool:
    return any(_names_poll(lines[at]) for at in _shortly_before(lines, first))


def _names_poll(line: Line) -> bool:
    return line.kind == "poll" or "poll" in words(line.text)


def _named(lines: Sequence[Line], first: int) -> int | None:
    """What named a poll before the first answer, in words run together: 'gopoll'."""
    return next((at for at in _shortly_before(lines, first) if "poll" in lines[at].text.lower()), None)


def _shortly_before(lines: Sequence[Line], first: int) -> Iterator[int]:
    at = first
    while at >= 0 and (at == first or _within(lines[at], lines[first], ANNOUNCED_S)):
        yield at
        at -= 1


def _begins(lines: Sequence[Line], first: int) -> int:
    called = first
    before = first - 1
    if before >= 0 and _within(lines[before], lines[first], CALLED_OUT_S) and lines[before].kind == "call" and _brief(lines[before]):
        called = before
    opened = _opened(lines, first, called)
    return called if opened is None else opened


def _opened(lines: Sequence[Line], first: int, called: int) -> int | None:
    """What was said to all before the call-outs, back over those and over answers that could not be made out."""
    at = first
    while at > 0 and _within(lines[at - 1], lines[at], CALLED_OUT_S) and _brief(lines[at - 1]):
        at -= 1
    said = lines[at - 1] if at else None
    if said is None or not _within(said, lines[at], CALLED_OUT_S) or said.kind not in _OPENED_BY or said.to is not None:
        return None
    return at - 1 if said.station is None or said.station == lines[called].station or lines[called].kind != "call" else None


def _brief(line: Line) -> bool:
    return len(line.text.split()) <= _CALLED_OUT_WORDS
