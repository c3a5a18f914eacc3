"""Each poll: who answered in what order, who was missing, who said no go, who changed the answer.

Conventions: answers are `go`, `no go`, `unclear` (something was said, no answer can be made out), or `missing` for a station
that was asked or expected and never heard. Expected are the stations that the plan names for the poll, those that were called
out, and those that answered in every other poll of the count. One answer on several logs is one answer. A poll is a run of
answers with no silence longer than `POLL_GAP_S`; it belongs to the plan's poll step begun nearest before it. It does not
decide what is an answer: speech and `rollcall` did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount import tables
from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, plain, seconds_between
from aftercount.findings.rollcall import ALL, Answer, Roll, ready_or_not
from aftercount.findings.steps import Timed
from aftercount.speech.words import words

# A roll of stations runs on; two minutes of silence between answers is another poll.
POLL_GAP_S = 120.0
# An answer heard by several logs is stamped within this many seconds, and three sigmas of their clocks.
ECHO_S = 8.0
ECHO_SIGMAS = 3.0
# A poll step and its first answer belong together within this many seconds either way (a roll takes a few minutes).
NEAR_STEP_S = 240.0
# A no go is settled, or a go withdrawn, within this many seconds of the poll; later it is another matter.
CHANGED_S = 1800.0
# Fewer stations answering than this is a remark, not a poll, unless the plan has a poll there.
FEWEST_STATIONS = 2
# The caller's own answer has no more words than this ('we are go'), or his name; what he makes of all answers has more.
OWN_ANSWER = 3
# Who answered every other poll is missed in this one when there were at least this many others.
OTHER_POLLS = 2


@dataclass(frozen=True, slots=True)
class Poll:
    """One poll in time order of its answers; `missing` answers last."""

    answers: tuple[Answer, ...]
    fact: Fact | None

    @property
    def first(self) -> Utterance | None:
        return next((a.heard for a in self.answers if a.heard is not None), None)


def find(poll_answers: pd.DataFrame, heard: Heard, facts: Sequence[Fact], times: Sequence[Timed],
         stations: dict[str, tuple[str, ...]]) -> list[Poll]:
    """Every poll of the count, in time order."""
    steps = [(f, t.begun) for f, t in zip(facts, times, strict=True) if f.plan.get("kind") == "poll" and t.begun]
    said = _answers(poll_answers, heard, _ready(heard, [u for _, u in steps if u is not None], stations))
    runs = [(run, _step_of(run, steps)) for run in _changed_later(_runs(said))]
    runs = [(_without_the_sum(run, fact, stations), fact) for run, fact in runs]
    runs = [(run, fact) for run, fact in runs if fact is not None or len({a.station for a in run}) >= FEWEST_STATIONS]
    usual = _usual([{a.station for a in run} for run, _ in runs])
    return [Poll(tuple(_completed(_own(run, roll), fact, roll, (stations, usual[k]))), fact)
            for k, (run, fact) in enumerate(runs) for roll in [Roll(run, heard, stations)]]


def _usual(polls: Sequence[set[str]]) -> list[set[str]]:
    """For each poll, the stations that answered in every other one, where there are `OTHER_POLLS` others at least."""
    out = []
    for k in range(len(polls)):
        others = [p for j, p in enumerate(polls) if j != k]
        out.append(set.intersection(*others) if len(others) >= OTHER_POLLS else set())
    return out


def _without_the_sum(run: list[Answer], fact: Fact | None, stations: dict[str, tuple[str, ...]]) -> list[Answer]:
    """The run without what its caller makes of the others' answers, in nobody's name: 'go for the fill'."""
    by = plain(fact.plan.get("by")) if fact is not None else None
    names = {w for form in (str(by), *stations.get(str(by), ())) for w in words(form)}
    kept = [a for a in run if a.station != by or a.heard is None or len(a.heard.text.split()) <= OWN_ANSWER or not names.isdisjoint(words(a.heard.text))]
    return kept or run


def _own(run: Sequence[Answer], roll: Roll) -> list[Answer]:
    """The run with the words of whoever calls the roll given to the station just called out: 'Go, ORD' is ORD's."""
    out = []
    for answer in run:
        u = answer.heard
        asked = roll.asked.get(u.to) if u is not None and u.to is not None else None
        theirs = asked is not None and u is not None and asked.station == answer.station and asked.source == u.source
        out.append(Answer(str(u.to), answer.answer, u) if theirs and u is not None else answer)
    return out


def _completed(run: Sequence[Answer], fact: Fact | None, roll: Roll,
               expected: tuple[dict[str, tuple[str, ...]], set[str]]) -> list[Answer]:
    """The run with replies to call-outs that speech could give to nobody, then the stations that are missing."""
    stations, usual = expected
    known = {a.station for a in run}
    silent = [s for s in roll.asked if s not in known]
    taken = {a.heard.event: a for a in run if a.heard is not None}
    found = {s: reply for s in silent if (reply := roll.reply(s)) is not None and _free(reply, taken, (run, roll))}
    unclear = {s: said for s in silent if s not in found and (said := roll.unclear(s)) is not None
               and said.heard is not None and said.heard.event not in taken}
    moved = {a.heard.event for a in found.values() if a.heard is not None}
    kept = [a for a in run if a.heard is None or a.heard.event not in moved]
    all_ = sorted([*kept, *found.values(), *unclear.values()], key=lambda a: (a.heard.us or 0, a.heard.event) if a.heard else (0, 0))
    heard_from = {a.station for a in all_}
    due = dict.fromkeys([*_expected(fact, stations), *roll.asked, *sorted(usual)])
    return [*all_, *(Answer(s, "missing", None) for s in due if s not in heard_from)]


def _free(reply: Answer, taken: dict[int, Answer], given: tuple[Sequence[Answer], Roll]) -> bool:
    """Whether that sentence is not the only answer of another station whose turn it was."""
    run, roll = given
    other = taken.get(reply.heard.event) if reply.heard is not None else None
    if other is None or other.station not in roll.asked:
        return True
    return sum(a.station == other.station and a.answer == other.answer for a in run) > 1


def _answers(frame: pd.DataFrame, heard: Heard, more: Sequence[tuple[Utterance, str, str]]) -> list[Answer]:
    """Timed answers in time order (those of one entry as it gives them), echoes on other logs left out."""
    rows = zip(frame["utterance"].tolist(), frame["station"].tolist(), frame["answer"].tolist(), strict=True)
    found = [(heard.get(int(u)), str(s), str(a)) for u, s, a in rows] + list(more)
    timed = sorted(((u.us, u.event, n, s, a, u) for n, (u, s, a) in enumerate(found) if u is not None and u.us is not None and u.to != ALL),
                   key=lambda row: row[:3])
    out: list[Answer] = []
    for _, _, _, station, answer, utterance in timed:
        if not any(_echo(a, station, answer, utterance) for a in reversed(out[-60:])):
            out.append(Answer(station, answer, utterance))
    return out


def _echo(known: Answer, station: str, answer: str, utterance: Utterance) -> bool:
    other = known.heard
    if other is None or known.station != station or known.answer != answer:
        return False
    apart = seconds_between(utterance.us or 0, other.us or 0)
    if other.source == utterance.source:
        return apart <= ECHO_S
    return apart <= max(ECHO_S, ECHO_SIGMAS * (other.sigma_s**2 + utterance.sigma_s**2) ** 0.5)


def _runs(answers: Sequence[Answer]) -> list[list[Answer]]:
    runs: list[list[Answer]] = []
    for answer in answers:
        assert answer.heard is not None
        last = runs[-1][-1].heard if runs else None
        if last is None or seconds_between(answer.heard.us or 0, last.us or 0) > POLL_GAP_S:
            runs.append([])
        runs[-1].append(answer)
    return runs


def _changed_later(runs: Sequence[list[Answer]]) -> list[list[Answer]]:
    """A lone answer well after a poll, other than that station's last one in it, belongs to that poll: its answer changed."""
    out: list[list[Answer]] = []
    for run in runs:
        last = {a.station: a.answer for a in out[-1]} if out else {}
        later = seconds_between(_us(run[0]), _us(out[-1][-1])) if out else 0.0
        lone = len({a.station for a in run}) == 1 and last.get(run[0].station) not in (None, run[0].answer)
        if lone and later <= CHANGED_S:
            out[-1].extend(run)
        else:
            out.append(list(run))
    return out


def _us(answer: Answer) -> int:
    return (answer.heard.us or 0) if answer.heard is not None else 0


def _ready(heard: Heard, polls: Sequence[Utterance], stations: dict[str, tuple[str, ...]]) -> list[tuple[Utterance, str, str]]:
    """'PROP ready', 'MET not ready, wind': answers too, in the minutes after a poll was called."""
    starts = [u.us for u in polls if u.us is not None]
    out = []
    for u in heard.all if starts else ():
        if u.us is None or u.station is None or u.kind not in ("response", "report", "note") or u.medium == "machine":
            continue
        answer = ready_or_not(u.text, {w for form in (u.station, *stations.get(u.station, ())) for w in words(form)})
        if answer is not None and any(0.0 <= seconds_between(u.us, s) <= NEAR_STEP_S for s in starts):
            out.append((u, u.station, answer))
    return out


def _step_of(run: Sequence[Answer], steps: Sequence[tuple[Fact, Utterance | None]]) -> Fact | None:
    first = run[0].heard
    if first is None or first.us is None:
        return None
    near = [(abs(seconds_between(first.us, u.us)), f.row, f) for f, u in steps if u is not None and u.us is not None]
    near = [n for n in near if n[0] <= NEAR_STEP_S]
    return min(near, key=lambda n: n[:2])[2] if near else None


def _expected(fact: Fact | None, stations: dict[str, tuple[str, ...]]) -> list[str]:
    """The stations the plan names for this poll, by id or spoken form: in `to` and `by` lists or in the action's words."""
    if fact is None:
        return []
    text = " ".join(str(fact.plan.get(c) or "") for c in ("action", "says", "stations"))
    asked = (str(fact.plan.get("to") or "") + " " + str(fact.plan.get("by") or "")).replace(",", " ").split()
    said = " ".join(["", *words(text + (" ; " + " ; ".join(asked) if len(asked) > 2 else "")), ""])
    named = [s for s, forms in stations.items() if any(f" {' '.join(words(form))} " in said for form in (s, *forms) if words(form))]
    return [s for s in named if s not in asked[:1]]


def table(polls: Sequence[Poll]) -> pd.DataFrame:
    """The POLLS table."""
    rows: list[dict[str, Any]] = []
    for number, poll in enumerate(polls, start=1):
        for order, a in enumerate(poll.answers, start=1):
            rows.append({
                "poll": number, "step": poll.fact.step if poll.fact else None,
                "pass": poll.fact.in_pass if poll.fact else (poll.first.in_pass if poll.first else None),
                "order": order, "station": a.station, "answer": a.answer,
                "utc": pd.Timestamp(a.heard.us, unit="us", tz="UTC") if a.heard and a.heard.us is not None else None,
                "event": a.heard.event if a.heard else None,
            })
    return tables.POLLS.from_rows(rows)
