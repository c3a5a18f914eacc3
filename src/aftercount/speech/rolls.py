"""Where does a roll call begin that nobody announced, or whose announcement was not written down?

Conventions: utterances by id, in the order of their logs; own clock in seconds. A roll is answers of `FEWEST` stations and more on
one log, none more than `GAP_S` after the one before. It begins with the call-out before its first answer, else with
that answer. It does not decide which poll of the plan it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

FEWEST = 3
GAP_S = 30.0
# An announcement goes before the first answer by no more than this, seconds, and a call-out by no more than this.
ANNOUNCED_S, CALLED_OUT_S = 60.0, 10.0
_CALLED_OUT_WORDS = 4  # 'Launch weather officer?'


class Line(NamedTuple):
    """One utterance: on which log and when by it, what kind, its words."""

    source: Any
    own_s: float | None
    kind: str
    text: str


def unannounced(lines: Sequence[Line], answers: Sequence[tuple[int, str]]) -> list[int]:
    """The utterances that begin such rolls. answers: (utterance, station), in order of utterances."""
    return [_begins(lines, run[0][0]) for run in _runs(lines, answers)
            if len({station for _, station in run}) >= FEWEST and not _announced(lines, run[0][0])]


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
    at = first
    while at >= 0 and (at == first or _within(lines[at], lines[first], ANNOUNCED_S)):
        if lines[at].kind == "poll" or "poll" in lines[at].text.lower():
            return True
        at -= 1
    return False


def _begins(lines: Sequence[Line], first: int) -> int:
    before = first - 1
    if before < 0 or not _within(lines[before], lines[first], CALLED_OUT_S):
        return first
    said = lines[before]
    return before if said.kind == "call" and len(said.text.split()) <= _CALLED_OUT_WORDS else first
