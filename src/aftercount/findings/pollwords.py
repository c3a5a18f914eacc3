"""What a poll shows: who said no go, who never answered, who changed the answer.

Conventions: one finding a station and kind; a no go that the same station later turned to go is `poll_changed` too. It
does not decide who should have been asked: `polls` did.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from aftercount.counttime import format_count
from aftercount.findings.finding import Finding
from aftercount.findings.heard import Utterance
from aftercount.findings.polls import Answer, Poll


def on_polls(polls: Sequence[Poll]) -> Iterator[Finding]:
    for poll in polls:
        by_station: dict[str, list[Answer]] = {}
        for answer in poll.answers:
            by_station.setdefault(answer.station, []).append(answer)
        for station, answers in by_station.items():
            yield from _station(poll, station, answers)


def _station(poll: Poll, station: str, answers: list[Answer]) -> Iterator[Finding]:
    first_no = next((a for a in answers if a.answer == "no go"), None)
    if answers[-1].answer == "missing":
        yield _make(poll, "poll_missing", "major", f"{station} was not heard in {_which(poll)}.", poll.first)
        return
    if first_no is not None:
        ends_go = answers[-1].answer == "go"
        text = f"{station} was no go in {_which(poll)}" + (", and go later." if ends_go else ".")
        yield _make(poll, "no_go", "minor" if ends_go else "major", text, first_no.heard)
    for before, now in zip(answers, answers[1:], strict=False):
        if before.answer != now.answer:
            text = f"{station} changed from {before.answer} to {now.answer} in {_which(poll)}."
            yield _make(poll, "poll_changed", "minor", text, now.heard)


def _which(poll: Poll) -> str:
    if poll.fact is not None:
        return f"the poll of step {poll.fact.step}"
    at = poll.first.t_s if poll.first is not None else None
    return f"the poll at {format_count(at)}" if at is not None else "a poll"


def _make(poll: Poll, kind: str, severity: str, text: str, heard: Utterance | None) -> Finding:
    fact = poll.fact
    in_pass = fact.in_pass if fact else (heard.in_pass if heard else None)
    return Finding(kind, severity, text, fact.step if fact else None, in_pass or None, None, heard,
                   fact.decided if fact else False, heard.us if heard else None)
