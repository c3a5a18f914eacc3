"""What a poll shows: who said no go, who never answered, who could not be made out, who changed the answer.

Conventions: one finding a station: `no_go` when that was its last word, `poll_changed` when it turned to go. An answer
that could not be made out is worth a note, not a fault; beside a plain answer of the same station it is nothing. It
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
    plain = [a for a in answers if a.answer != "unclear"]
    if not plain:
        text = f"What {station} answered in {_which(poll)} could not be made out."
        yield _make(poll, "poll_unclear", "note", text, answers[0].heard)
        return
    answers = plain
    first_no = next((a for a in answers if a.answer == "no go"), None)
    if answers[-1].answer == "missing":
        yield _make(poll, "poll_missing", "major", f"{station} was not heard in {_which(poll)}.", poll.first)
    elif answers[-1].answer == "no go":
        before = "changed from go to no go" if answers[0].answer == "go" else "was no go"
        yield _make(poll, "no_go", "major", f"{station} {before} in {_which(poll)}; no later go was heard.", answers[-1].heard)
    elif first_no is not None:
        yield _make(poll, "poll_changed", "minor", f"{station} was no go in {_which(poll)}, and go later.", first_no.heard)


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
