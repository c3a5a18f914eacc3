"""Each poll: who answered in what order, who was missing, who said no go, who changed the answer.

Conventions: answers are `go`, `no go`, or `missing` for a station that was asked or expected and never answered. One
answer on several logs is one answer. A poll is a run of answers with no silence longer than `POLL_GAP_S`; it belongs to
the plan's poll step begun nearest before it. It does not decide what is an answer: speech did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount import tables
from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, seconds_between
from aftercount.findings.steps import Timed
from aftercount.speech.words import words

# A roll of stations runs on; two minutes of silence between answers is another poll.
POLL_GAP_S = 120.0
# An answer heard by several logs is stamped within this many seconds, and three sigmas of their clocks.
ECHO_S = 8.0
ECHO_SIGMAS = 3.0
# A poll step and its first answer belong together within this many seconds either way (a roll takes a few minutes).
NEAR_STEP_S = 240.0
# The first station is called out at most this long before the first answer, one that stays silent as long after the last.
ASK_S = 20.0
# Straight after a call-out: within this many sentences, and short.
REPLY_SENTENCES = 2
REPLY_WORDS = 6
REPLY_S = 8.0
# A word to all stations ('all stations are go') sums a poll up; it is nobody's answer.
ALL = "ALL"
# Fewer stations answering than this is a remark, not a poll, unless the plan has a poll there.
FEWEST_STATIONS = 2


@dataclass(frozen=True, slots=True)
class Answer:
    station: str
    answer: str
    heard: Utterance | None


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
    said = _answers(poll_answers, heard)
    steps = [(f, t.begun) for f, t in zip(facts, times, strict=True) if f.plan.get("kind") == "poll" and t.begun]
    polls = []
    for run in _runs(said):
        fact = _step_of(run, steps)
        if fact is None and len({a.station for a in run}) < FEWEST_STATIONS:
            continue
        polls.append(Poll(tuple(_completed(run, fact, heard, stations)), fact))
    return polls


def _completed(run: Sequence[Answer], fact: Fact | None, heard: Heard,
               stations: dict[str, tuple[str, ...]]) -> list[Answer]:
    """The run with replies to call-outs that speech could give to nobody, then the stations that are missing."""
    answered = {a.station for a in run}
    asked = _asked(run, heard, stations)
    replies = [r for s, call_out in asked.items() if s not in answered and (r := _reply(call_out, heard)) is not None]
    taken = {a.heard.event for a in run if a.heard is not None}
    replies = [r for r in replies if r.heard is not None and r.heard.event not in taken]
    all_ = sorted([*run, *replies], key=lambda a: (a.heard.us or 0, a.heard.event) if a.heard else (0, 0))
    answered |= {r.station for r in replies}
    expected = dict.fromkeys([*_expected(fact, stations), *asked])
    unread = {s for s, call_out in asked.items() if _said_something(call_out, heard)}
    return [*all_, *(Answer(s, "missing", None) for s in expected if s not in answered | unread)]


def _answers(frame: pd.DataFrame, heard: Heard) -> list[Answer]:
    """Timed answers in time order, echoes on other logs left out."""
    rows = zip(frame["utterance"].tolist(), frame["station"].tolist(), frame["answer"].tolist(), strict=True)
    found = [(heard.get(int(u)), str(s), str(a)) for u, s, a in rows]
    timed = sorted(((u.us, u.event, s, a, u) for u, s, a in found if u is not None and u.us is not None and u.to != ALL),
                   key=lambda row: row[:4])
    out: list[Answer] = []
    for _, _, station, answer, utterance in timed:
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


def _step_of(run: Sequence[Answer], steps: Sequence[tuple[Fact, Utterance | None]]) -> Fact | None:
    first = run[0].heard
    if first is None or first.us is None:
        return None
    near = [(abs(seconds_between(first.us, u.us)), f.row, f) for f, u in steps if u is not None and u.us is not None]
    near = [n for n in near if n[0] <= NEAR_STEP_S]
    return min(near, key=lambda n: n[:2])[2] if near else None


def _expected(fact: Fact | None, stations: dict[str, tuple[str, ...]]) -> list[str]:
    """The stations the plan names for this poll: in `to` and `by` lists or in the action's words."""
    if fact is None:
        return []
    text = " ".join(str(fact.plan.get(c) or "") for c in ("action", "says", "stations"))
    asked = str(fact.plan.get("to") or "") + " " + str(fact.plan.get("by") or "")
    tokens = text.replace(",", " ").replace(";", " ").replace(":", " ").replace("'", " ").split()
    several = asked.replace(",", " ").split()
    named = set(tokens) | (set(several) if len(several) > 2 else set())
    return [s for s in stations if s in named and s not in several[:1]]


def _asked(run: Sequence[Answer], heard: Heard, stations: dict[str, tuple[str, ...]]) -> dict[str, Utterance]:
    """Stations whose bare call sign was called out while the poll ran, and where."""
    first, last = run[0].heard, run[-1].heard
    if first is None or last is None:
        return {}
    names = {s: {w for form in (s, *forms) for w in words(form)} for s, forms in stations.items()}
    asked: dict[str, Utterance] = {}
    for u in heard.all:
        if u.us is None or u.to not in names or u.station == u.to or u.kind not in ("call", "poll"):
            continue
        during = seconds_between(u.us, first.us or 0) >= -ASK_S and seconds_between(u.us, last.us or 0) <= ASK_S
        if during and set(words(u.text)) <= names[u.to]:
            asked.setdefault(u.to, u)
    return asked


def _reply(call_out: Utterance, heard: Heard) -> Answer | None:
    """What was said straight after a call-out, if it is a go or a no go: nobody else was asked."""
    for event in range(call_out.event + 1, call_out.event + 1 + REPLY_SENTENCES):
        reply = heard.get(event)
        if reply is None or reply.source != call_out.source:
            return None
        said = words(reply.text)
        if "go" in said and len(said) <= REPLY_WORDS and (reply.to != ALL):
            no = any(a in ("no", "not") and b == "go" for a, b in zip(said, said[1:], strict=False))
            return Answer(str(call_out.to), "no go" if no else "go", reply)
        if reply.kind in ("call", "poll"):
            return None
    return None


def _said_something(call_out: Utterance, heard: Heard) -> bool:
    """Whether a sentence that nobody else claims follows the call-out: a garbled reply is no silence."""
    reply = heard.get(call_out.event + 1)
    if reply is None or reply.source != call_out.source or reply.kind in ("poll", "mark", "hold", "resume"):
        return False
    apart = apart_s(reply, call_out)
    return apart is not None and apart <= REPLY_S and reply.station in (None, call_out.to) and reply.to in (None, call_out.to)


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
