"""Steps that people have words of their own for: known by what passed between their stations, and is nothing else's.

Question answered: of the steps that no words show, which were nevertheless ordered, answered and reported? Model: logistic over FEATURES of a step and a
talk, weights in `weights.EXCHANGE`; the likeliest first, each talk for one step. Conventions: a talk is an order of one station to another with what the other
said to it, or a report that nobody ordered, on every log that has it; members are rows of the utterances. It takes nothing from a step that words show.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import calibrate, weights
from aftercount.match.conflict import (
    ABOUT,
    ASKED_ABOUT,
    NOT_DONE,
    NOT_NOW,
    lead_in,
    near_miss,
)
from aftercount.match.context import SAME_MOMENT_S
from aftercount.match.language import CHASING, OF_THE_LOOP
from aftercount.match.likeness import Likeness
from aftercount.match.logodds import FAR, PACE_S
from aftercount.match.moments import Thread
from aftercount.match.signs import (
    CALL,
    PARTS,
    RECORD,
    REPORT,
    RESPONSE,
    Planned,
    Said,
    lateness_s,
)

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

FEATURES = tuple(weights.EXCHANGE)
LATER = NOT_DONE | NOT_NOW  # what no report of a deed says ...
AHEAD = LATER | ABOUT | ASKED_ABOUT  # ... and no order
TALK = ("call", "response", "report", "note")  # kinds of what people say of things to do
ANSWERED_S, REPORTED_S = 20.0, 120.0  # an order is answered within the one, and reported done within the other, as a rule
NEAR_S = 90.0  # a talk with no word of a step is a candidate only this near to due, or within what the plan allows
TOLERANCE_SHARE = 0.4  # of what the plan allows, the distance from due that is nothing unusual
AGAIN_S = 20.0  # what is said to a station this soon after an order to it is of that order
SOME_WORDS, FAR_S = 0.3, 1800.0  # one with this much of its words, as far as this
SAYS_A_THING = 0.5  # weight of content words from which a line is about something
NAMES_A_THING = 0.2  # ... and from which an order to a station is an order for something
NOBODY = -1  # station not known, or none planned
LED_IN = 0.4  # likeness to a lead-in from which an order speaks of what is to come
RIVAL_S = 120.0  # steps due and talks this near to each other are rivals


@dataclass(frozen=True)
class Talk:
    """members: rows of the utterances, the order or else the report first; parts: what each is."""

    members: tuple[int, ...]
    parts: tuple[int, ...]


@dataclass(frozen=True)
class Exchanges:
    """The talks, and the pairs (step due, talk) that may be, with what is known of them but for their rivals; `ends`: who performs and who calls for it, of each talk."""

    talks: tuple[Talk, ...]
    ends: tuple[tuple[int, int], ...]
    d: np.ndarray
    talk: np.ndarray
    figures: np.ndarray

    def pairs(self) -> set[tuple[int, int]]:
        """(utterance, row of DUE) of every member."""
        return {(u, d) for d, k in zip(self.d.tolist(), self.talk.tolist(), strict=True) for u in self.talks[k].members}


def find(said: Said, planned: Planned, alike: Likeness, texts: Sequence[str], asked: np.ndarray) -> Exchanges:
    """asked: of each plan row, the bits of near misses that its own wording has."""
    open_ = np.flatnonzero(planned.reached & ~planned.is_poll & (planned.by >= 0))
    caller = np.where(planned.to == planned.by, NOBODY, planned.to)
    ends = sorted(set(zip(planned.by[open_].tolist(), caller[open_].tolist(), strict=True)))
    human = np.flatnonzero((said.part != RECORD) & np.isin(said.kind, TALK) & ~np.isnan(said.utc_s))
    human = human[np.argsort(said.utc_s[human], kind="stable")]
    talks, of = [], []
    for by, to in ends:
        found = _deeds(_together(list(_on_one_log(said, human, alike.content, by, to)), said), texts)
        talks += found
        of += [(by, to)] * len(found)
    order = np.array([t.members[0] for t in talks], dtype=np.int64)
    ahead = near_miss([texts[u] for u in order.tolist()]) & np.where([t.parts[0] == CALL for t in talks], AHEAD, LATER)
    group = np.array([ends.index(e) for e in of], dtype=np.int64)
    ds, ks = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    words = _Words(alike, planned)
    for d in open_.tolist():
        own = np.flatnonzero(group == ends.index((int(planned.by[d]), int(caller[d]))))
        own = own[(ahead[own] & ~asked[planned.row[d]]) == 0]
        late = lateness_s(said, planned, order[own], np.full(len(own), d))
        near = np.maximum(NEAR_S, _allowed(planned, d, late)) + said.sigma_s[order[own]] + planned.sigma_s[d]
        some = np.array([words.coverage(talks[k], d) >= SOME_WORDS for k in own.tolist()], dtype=bool)
        own = own[(np.abs(late) <= near) | (some & (np.abs(late) <= FAR_S))]
        own = own[[not words.clash(talks[k], d) for k in own.tolist()]] if len(own) else own
        ds.append(np.full(len(own), d, dtype=np.int64))
        ks.append(own)
    dues, talk = np.concatenate(ds), np.concatenate(ks)
    rows = [_figures(said, planned, words, talks[k], d, alike) for d, k in zip(dues.tolist(), talk.tolist(), strict=True)]
    return Exchanges(tuple(talks), tuple(of), dues, talk, np.array(rows, dtype=np.float64).reshape(len(dues), len(FEATURES)))


def _on_one_log(said: Said, human: np.ndarray, content: np.ndarray, by: int, to: int) -> Iterator[Talk]:
    """The orders of `to` to `by`, each with what `by` said to it, and what `by` reported to `to`, or to nobody named, besides; of or to anybody where the plan
    names no caller. human: in order of time."""
    for source in np.unique(said.source[human]).tolist():
        u = human[said.source[human] == source]
        station, kind, when, thing = said.station[u], said.kind[u], said.utc_s[u], content[u] >= SAYS_A_THING
        theirs = station == by
        caller = (station == to) if to >= 0 else ~theirs
        ordered = caller | ((station == NOBODY) & np.isin(kind, ("call", "note")))
        orders = np.flatnonzero((said.to[u] == by) & ordered & ~theirs & (content[u] >= NAMES_A_THING))
        answers = theirs | ((station == NOBODY) & np.isin(kind, ("response", "report")))
        alone = thing & theirs & (np.isin(said.to[u], (to, NOBODY)) | (to < 0)) & np.isin(kind, ("report", "note"))
        for at, i in enumerate(orders.tolist()):
            end = np.searchsorted(when, when[i] + REPORTED_S, side="right")
            rest = np.arange(i + 1, min(int(end), orders[at + 1] if at + 1 < len(orders) else len(u)))
            first = rest[answers[rest] & (when[rest] - when[i] <= ANSWERED_S)][:1]
            reports = rest[theirs[rest] & thing[rest] & np.isin(kind[rest], ("response", "report", "note"))]
            members = [i, *first.tolist(), *(k for k in reports.tolist() if k not in first)]
            parts = [CALL] + [RESPONSE if k in first and not thing[k] else REPORT for k in members[1:]]
            alone[members] = False
            yield Talk(tuple(u[members].tolist()), tuple(parts))
        yield from (Talk((i,), (REPORT,)) for i in u[alone].tolist())


def _together(talks: list[Talk], said: Said) -> list[Talk]:
    """Talks whose orders are one moment on several logs as one."""
    talks = sorted(talks, key=lambda t: (said.utc_s[t.members[0]], t.members))
    out: list[Talk] = []
    for talk in talks:
        if out:
            first, mine = out[-1].members[0], talk.members[0]
            apart = SAME_MOMENT_S + 2.0 * float(np.hypot(said.sigma_s[first], said.sigma_s[mine]))
            if said.source[mine] not in said.source[list(out[-1].members)] and said.utc_s[mine] - said.utc_s[first] <= apart:
                out[-1] = Talk(out[-1].members + talk.members, out[-1].parts + talk.parts)
                continue
        out.append(talk)
    return out


def _deeds(talks: list[Talk], texts: Sequence[str]) -> list[Talk]:
    """The talks that begin with no lead-in, chase no answer and are not about the loop, without those in which it is said that nothing was done."""
    first = [texts[t.members[0]] for t in talks]
    led_in = (lead_in(first) >= LED_IN).tolist()
    kept = [t for t, text, led in zip(talks, first, led_in, strict=True) if not led and not CHASING.search(text) and not OF_THE_LOOP.search(text)]
    return [t for t in kept if not (near_miss([texts[u] for u in t.members[1:]]) & LATER).any()]


def _allowed(planned: Planned, d: int, late: np.ndarray) -> np.ndarray:
    """Seconds that the plan allows the step to be off its time, on the side of `late`."""
    return np.nan_to_num(np.where(late < 0, planned.early_s[d], planned.late_s[d]))


@dataclass(frozen=True)
class _Words:
    alike: Likeness
    planned: Planned

    def coverage(self, talk: Talk, d: int) -> float:
        return float(self.alike.coverage[self.alike.text_of[list(talk.members)], self.planned.row[d]].max())

    def clash(self, talk: Talk, d: int) -> bool:
        """Whether one of its lines names the opposite act or another unit."""
        return bool((self.alike.conflict[self.alike.text_of[list(talk.members)], self.planned.row[d]] > 0).any())

    def elsewhere(self, talk: Talk, d: int) -> float:
        """How much of another step's words one of its lines says."""
        coverage = self.alike.coverage[self.alike.text_of[list(talk.members)]]
        return float(np.delete(coverage, self.planned.row[d], axis=1).max(initial=0.0))


def _figures(said: Said, planned: Planned, words: _Words, talk: Talk, d: int, alike: Likeness) -> list[float]:
    u = np.array(talk.members[:1], dtype=np.int64)
    late = np.nan_to_num(lateness_s(said, planned, u, np.array([d])))
    usual = np.maximum(PACE_S, TOLERANCE_SHARE * _allowed(planned, d, late))[0]
    pace, late = np.sqrt(usual**2 + said.sigma_s[u[0]] ** 2 + planned.sigma_s[d] ** 2), float(late[0])
    distance = min(float(np.log1p((late / pace) ** 2)), FAR)
    coverage = words.coverage(talk, d)
    value = {
        "bias": 1.0, "distance": distance, "early": distance if late < 0 else 0.0, "words": coverage, "words_far": coverage * distance,
        "elsewhere": words.elsewhere(talk, d), "reported": float(REPORT in talk.parts),
        "accepted": float(RESPONSE in talk.parts), "logs": float(len(set(said.source[list(talk.members)].tolist())) - 1),
        "caller": float(said.station[u[0]] >= 0), "optional": float(not planned.must[d]), "garbled": float(alike.garbled[u[0]]),
        "content": float(np.log1p(alike.content[u[0]])), "unordered": float(talk.parts[0] != CALL), "alone": float(len(talk.members) == 1),
        "call": float(said.kind[u[0]] == "call"), "steps": 0.0, "talks": 0.0,
    }
    return [value[name] for name in FEATURES]


def examples(scored: Scored, found: list[list[Thread]]) -> tuple[np.ndarray, np.ndarray]:
    """(pairs of `scored.talks` that are open: of a step for which nothing was found and a talk that is no other step's, their FEATURES)."""
    known = scored.talks
    used = np.zeros(len(scored.said.part), dtype=bool)
    told = [i for threads in found for thread in threads for i in thread.members if not scored.bare[i]]
    used[scored.u[told]] = True
    begun = np.array([scored.said.utc_s[t.members[0]] for t in known.talks])
    free = np.array([not used[list(t.members)].any() for t in known.talks], dtype=bool) & ~_again(known, begun)
    unseen = np.array([not f for f in found], dtype=bool)
    unseen[sorted(scored.made.settled)] = False
    open_ = unseen[known.d] & free[known.talk] if len(known.d) else np.zeros(0, dtype=bool)
    barred = _barred(scored)
    kept = np.array([i for i in np.flatnonzero(open_).tolist() if not barred(int(known.d[i]), known.talks[known.talk[i]])], dtype=np.int64)
    rows = known.figures[kept].copy()
    planned = scored.planned
    for at, i in enumerate(kept.tolist()):
        d, k = int(known.d[i]), int(known.talk[i])
        ends = (planned.by == planned.by[d]) & (planned.to == planned.to[d])
        steps = unseen & ends & planned.reached & (np.abs(planned.due_s - begun[k]) <= RIVAL_S)
        same = np.array([e == known.ends[k] for e in known.ends], dtype=bool)
        talks = free & same & (np.abs(begun - planned.due_s[d]) <= RIVAL_S)
        rows[at, FEATURES.index("steps")] = np.log(max(int(steps.sum()), 1))
        rows[at, FEATURES.index("talks")] = np.log(max(int(talks.sum()), 1))
    return kept, rows


def _barred(scored: Scored) -> Callable[[int, Talk], bool]:
    """Whether one of a talk's lines says that the step is not done or not now, its first that it is only talked about, or a reviewer that it is not the step."""
    ruled_out = set(scored.made.excluded)
    never = np.flatnonzero(scored.refuted | scored.later)
    ruled_out |= set(zip(scored.u[never].tolist(), scored.d[never].tolist(), strict=True))
    about = set(zip(scored.u[scored.missed].tolist(), scored.d[scored.missed].tolist(), strict=True))
    return lambda d, talk: (talk.members[0], d) in about or any((u, d) in ruled_out for u in talk.members)


def _again(known: Exchanges, begun: np.ndarray) -> np.ndarray:
    """Which talks follow an order between the same stations so soon that they are of that order."""
    order = sorted(range(len(known.talks)), key=lambda k: (known.ends[k], begun[k]))
    out = np.zeros(len(order), dtype=bool)
    for before, k in pairwise(order):
        out[k] = known.ends[before] == known.ends[k] and known.talks[before].parts[0] == CALL and begun[k] - begun[before] <= AGAIN_S
    return out


def taken(scored: Scored, found: list[list[Thread]]) -> dict[int, tuple[Thread, float]]:
    """For steps for which nothing was found, the doing that its talk shows, and how likely it is to be one: rows of DUE."""
    known = scored.talks
    kept, rows = examples(scored, found)
    likely = calibrate.probability(rows, weights.EXCHANGE)
    out: dict[int, tuple[Thread, float]] = {}
    spent: set[int] = set()
    for at in np.lexsort((kept, -likely)).tolist():
        d, k = int(known.d[kept[at]]), int(known.talk[kept[at]])
        if likely[at] < calibrate.EVEN or d in out or k in spent:
            continue
        out[d] = _thread(scored, d, known.talks[k], rows[at, FEATURES.index("words")], float(likely[at])), float(likely[at])
        spent.add(k)
    return out


def _thread(scored: Scored, d: int, talk: Talk, coverage: float, likely: float) -> Thread:
    a, b = np.searchsorted(scored.d, [d, d + 1])
    members = [int(a + np.flatnonzero(scored.u[a:b] == u)[0]) for u in talk.members]
    lead = [next((m for m, p in zip(members, talk.parts, strict=True) if p == part), -1) for part in range(len(PARTS))]
    by_pair = sorted(zip(members, talk.parts, strict=True))
    return Thread(tuple(m for m, _ in by_pair), tuple(p for _, p in by_pair), tuple(lead), float(np.log(likely / max(1.0 - likely, 1e-9))), False, coverage)
