"""Steps that people have words of their own for: known by what passed between their stations, and is nothing else's.

Question answered: of the steps that no words show, which were nevertheless ordered, answered and reported? Model: logistic over FEATURES of a step and a
talk, weights in `weights.EXCHANGE`; the likeliest first, each talk for one step. Conventions: a talk is an order of one station to another with what the other
said to it, or a report that nobody ordered, on every log that has it; members are rows of the utterances. It takes nothing from a step that words show.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import calibrate, doubt, weights
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
from aftercount.match.logodds import FAR
from aftercount.match.moments import Thread
from aftercount.match.signs import (
    CALL,
    PARTS,
    RECORD,
    REPORT,
    RESPONSE,
    Planned,
    Said,
    allowed_s,
    lateness_s,
    pace_s,
)

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

FEATURES = tuple(weights.EXCHANGE)
LATER = NOT_DONE | NOT_NOW  # what no report of a deed says ...
AHEAD = LATER | ABOUT | ASKED_ABOUT  # ... and no order
TALK = ("call", "response", "report", "note")  # kinds of what people say of things to do
ANSWERED_S, REPORTED_S = 20.0, 120.0  # an order is answered within the one, and reported done within the other, as a rule
NEAR_S = 90.0  # a talk with no word of a step is a candidate only this near to due, or within what the plan allows
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
    """The talks that are no other step's, and the pairs (row of DUE `d`, `talk`) that may be, with FEATURES of each."""

    talks: tuple[Talk, ...]
    d: np.ndarray
    talk: np.ndarray
    figures: np.ndarray


def find(scored: Scored, found: list[list[Thread]]) -> Exchanges:
    """Of the steps for which nothing was found and nothing was settled. found: for each row of DUE, its doings."""
    said, planned, texts = scored.said, scored.planned, scored.words
    unseen = np.array([not f for f in found], dtype=bool) & planned.reached & ~planned.is_poll & (planned.by >= 0)
    unseen[sorted(scored.made.settled)] = False
    caller = np.where(planned.to == planned.by, NOBODY, planned.to)
    ends = {d: (int(planned.by[d]), int(caller[d])) for d in np.flatnonzero(unseen).tolist()}
    talks, of = _free_talks(scored, found, sorted(set(ends.values())))
    order = np.array([t.members[0] for t in talks], dtype=np.int64)
    ahead = near_miss([texts[u] for u in order.tolist()]) & np.where([t.parts[0] == CALL for t in talks], AHEAD, LATER)
    barred, words = _barred(scored), _Words(scored.alike, planned)
    pairs: list[tuple[int, int]] = []
    for d, own_ends in ends.items():
        own = np.array([k for k, e in enumerate(of) if e == own_ends and not ahead[k] & ~scored.asked[planned.row[d]]], dtype=np.int64)
        late = lateness_s(said, planned, order[own], np.full(len(own), d))
        near = np.abs(late) <= np.maximum(NEAR_S, allowed_s(planned, np.full(len(own), d), late)) + said.sigma_s[order[own]] + planned.sigma_s[d]
        for k, close, far in zip(own.tolist(), near.tolist(), (np.abs(late) > FAR_S).tolist(), strict=True):
            some = close or not far and words.coverage(talks[k], d) >= SOME_WORDS
            if some and not words.clash(talks[k], d) and not barred(d, talks[k]):
                pairs.append((d, k))
    begun = said.utc_s[order]
    rivals = [(_steps_near(planned, ends, d, begun[k]), _talks_near(planned, of, begun, d, k)) for d, k in pairs]
    logs = doubt.Logs.of(scored, found)
    silent = [logs.silent(float(planned.due_s[d]), np.unique(said.source[list(talks[k].members)])) for d, k in pairs]
    rows = [_figures(scored, words, talks[k], d, (*among, lacking)) for (d, k), among, lacking in zip(pairs, rivals, silent, strict=True)]
    at = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return Exchanges(tuple(talks), at[:, 0], at[:, 1], np.array(rows, dtype=np.float64).reshape(-1, len(FEATURES)))


def _free_talks(scored: Scored, found: list[list[Thread]], ends: list[tuple[int, int]]) -> tuple[list[Talk], list[tuple[int, int]]]:
    """The talks of each of `ends` (who performs, who calls) that are no step's, and the ends of each."""
    said, texts = scored.said, scored.words
    used = np.zeros(len(said.part), dtype=bool)
    used[scored.u[[i for threads in found for thread in threads for i in thread.members if not scored.bare[i]]]] = True
    human = np.flatnonzero((said.part != RECORD) & np.isin(said.kind, TALK) & ~np.isnan(said.utc_s))
    human = human[np.argsort(said.utc_s[human], kind="stable")]
    talks: list[Talk] = []
    of: list[tuple[int, int]] = []
    for by, to in ends:
        every = _together(list(_on_one_log(said, human, scored.content, by, to)), said)
        free = _deeds([t for t in _first_of_all(every, said) if not used[list(t.members)].any()], texts)
        talks += free
        of += [(by, to)] * len(free)
    return talks, of


def _steps_near(planned: Planned, ends: Mapping[int, tuple[int, int]], d: int, begun: float) -> int:
    return sum(e == ends[d] and abs(float(planned.due_s[i]) - begun) <= RIVAL_S for i, e in ends.items())


def _talks_near(planned: Planned, of: list[tuple[int, int]], begun: np.ndarray, d: int, k: int) -> int:
    return sum(of[i] == of[k] for i in np.flatnonzero(np.abs(begun - planned.due_s[d]) <= RIVAL_S).tolist())


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


def _first_of_all(talks: list[Talk], said: Said) -> list[Talk]:
    """The talks, in order of time, but for those that follow an order so soon that they are of that order."""
    soon = [a.parts[0] == CALL and said.utc_s[b.members[0]] - said.utc_s[a.members[0]] <= AGAIN_S for a, b in pairwise(talks)]
    return talks[:1] + [t for t, again in zip(talks[1:], soon, strict=True) if not again]


def _deeds(talks: list[Talk], texts: Sequence[str]) -> list[Talk]:
    """The talks that begin with no lead-in, chase no answer and are not about the loop, without those in which it is said that nothing was done."""
    first = [texts[t.members[0]] for t in talks]
    led_in = (lead_in(first) >= LED_IN).tolist()
    kept = [t for t, text, led in zip(talks, first, led_in, strict=True) if not led and not CHASING.search(text) and not OF_THE_LOOP.search(text)]
    return [t for t in kept if not (near_miss([texts[u] for u in t.members[1:]]) & LATER).any()]


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


def _figures(scored: Scored, words: _Words, talk: Talk, d: int, among: tuple[int, int, float]) -> list[float]:
    """among: steps that no words show and talks, of the same stations, that are near to this one, itself too; logs that should tell of the step and do not."""
    said, planned, first = scored.said, scored.planned, talk.members[0]
    late = np.nan_to_num(lateness_s(said, planned, np.array([first]), np.array([d])))
    usual = pace_s(planned, np.array([d]), late)[0]
    pace = np.sqrt(usual**2 + said.sigma_s[first] ** 2 + planned.sigma_s[d] ** 2)
    distance = min(float(np.log1p((late[0] / pace) ** 2)), FAR)
    coverage = words.coverage(talk, d)
    value = {
        "bias": 1.0, "distance": distance, "early": distance if late[0] < 0 else 0.0, "words": coverage, "words_far": coverage * distance,
        "elsewhere": words.elsewhere(talk, d), "reported": float(REPORT in talk.parts), "accepted": float(RESPONSE in talk.parts),
        "logs": float(len(set(said.source[list(talk.members)].tolist())) - 1), "caller": float(said.station[first] >= 0),
        "optional": float(not planned.must[d]), "garbled": float(scored.garbled[first]), "content": float(np.log1p(scored.content[first])),
        "unordered": float(talk.parts[0] != CALL), "alone": float(len(talk.members) == 1), "call": float(said.kind[first] == "call"),
        "steps": float(np.log(max(among[0], 1))), "talks": float(np.log(max(among[1], 1))), "silent": among[2],
    }
    return [value[name] for name in FEATURES]


def _barred(scored: Scored) -> Callable[[int, Talk], bool]:
    """Whether one of a talk's lines says that the step is not done or not now, its first that it is only talked about, or a reviewer that it is not the step."""
    ruled_out = set(scored.made.excluded)
    never = np.flatnonzero(scored.refuted | scored.later)
    ruled_out |= set(zip(scored.u[never].tolist(), scored.d[never].tolist(), strict=True))
    about = set(zip(scored.u[scored.missed].tolist(), scored.d[scored.missed].tolist(), strict=True))
    return lambda d, talk: (talk.members[0], d) in about or any((u, d) in ruled_out for u in talk.members)


def taken(scored: Scored, found: list[list[Thread]]) -> tuple[Scored, dict[int, tuple[Thread, float]]]:
    """For steps for which nothing was found, the doing that its talk shows, and how likely it is to be one: rows of DUE. The pairs of those doings that were
    none yet are behind those of `scored`."""
    known = find(scored, found)
    likely = calibrate.probability(known.figures, weights.EXCHANGE)
    chosen: dict[int, tuple[int, int]] = {}
    spent: set[int] = set()
    for at in np.lexsort((known.talk, known.d, -likely)).tolist():
        d, k = int(known.d[at]), int(known.talk[at])
        if likely[at] >= calibrate.EVEN and d not in chosen and k not in spent:
            chosen[d] = k, at
            spent.add(k)
    place = {(u, d): i for i, (u, d) in enumerate(zip(scored.u.tolist(), scored.d.tolist(), strict=True)) if d in chosen}
    silent = [(u, d) for d, (k, _) in chosen.items() for u in known.talks[k].members if (u, d) not in place]
    place |= {pair: len(scored.u) + i for i, pair in enumerate(silent)}
    words = FEATURES.index("words")
    return scored.with_silent(silent), {
        d: (_thread([place[u, d] for u in known.talks[k].members], known.talks[k].parts, known.figures[at, words], likely[at]), float(likely[at]))
        for d, (k, at) in chosen.items()}


def _thread(members: list[int], parts: Sequence[int], coverage: float, likely: float) -> Thread:
    lead = tuple(next((m for m, p in zip(members, parts, strict=True) if p == part), -1) for part in range(len(PARTS)))
    by_pair = sorted(zip(members, parts, strict=True))
    return Thread(tuple(m for m, _ in by_pair), tuple(p for _, p in by_pair), lead, float(np.log(likely / max(1.0 - likely, 1e-9))), False, float(coverage))
