"""Steps that people have words of their own for: known by what passed between their stations, and is nothing else's.

Question answered: of the steps that no words show, which were nevertheless ordered, answered and reported? Model: logistic over FEATURES of a step and a
talk, weights in `weights.EXCHANGE`; the likeliest first, each talk for one step. It takes nothing from a step that words show, but where they show little.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import calibrate, doubt, weights
from aftercount.match.conflict import near_miss
from aftercount.match.likeness import Likeness
from aftercount.match.logodds import FAR
from aftercount.match.moments import Thread
from aftercount.match.signs import (
    CALL,
    PARTS,
    REPORT,
    RESPONSE,
    Planned,
    allowed_s,
    lateness_s,
    pace_s,
)
from aftercount.match.talks import (
    AHEAD,
    LATER,
    NAMELESS,
    NOBODY,
    Ends,
    Talk,
    free_talks,
    nameless,
    of_anyone,
)

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

FEATURES = tuple(weights.EXCHANGE)
NEAR_S = 90.0  # a talk with no word of a step is a candidate only this near to due, or within what the plan allows
SOME_WORDS, FAR_S = 0.3, 1800.0  # one with this much of its words, as far as this,
MOST_AFAR = 6  # ... and an order that so many steps or talks at most are rivals of
NAMELESS_S, MOST_NAMELESS = 40.0, 12  # what names nobody only this near, and where it is no mere babble
SCANT, UNSURE = 0.5, 0.95  # share of a step's words below which what was found of it says little, and confidence below which it is little believed
LEAST_DOUBT = 0.01  # of what was found
RIVAL_S = 120.0  # steps due and talks this near to each other are rivals


@dataclass(frozen=True)
class Exchanges:
    """The talks that are no other step's, and the pairs (row of DUE `d`, `talk`) that may be, with FEATURES of each."""

    talks: tuple[Talk, ...]
    d: np.ndarray
    talk: np.ndarray
    figures: np.ndarray


def find(scored: Scored, found: list[list[Thread]], confidence: np.ndarray) -> Exchanges:
    """Of the steps for which nothing was found, or little, and nothing was settled. found: for each row of DUE, its doings; confidence: in what was found."""
    said, planned = scored.said, scored.planned
    none = np.array([not f for f in found], dtype=bool)
    unseen = (none | weak(found, confidence)) & planned.reached & ~planned.is_poll & (planned.by >= 0)
    unseen[sorted(scored.made.settled)] = False
    may = planned.reached & ~planned.is_poll & (planned.by >= 0)
    own_ways = float(np.log((np.sum(none & may) + 1.0) / (np.sum(may) + 2.0)))
    caller = np.where(planned.to == planned.by, NOBODY, planned.to)
    ends = {d: (int(planned.by[d]), int(caller[d])) for d in np.flatnonzero(unseen).tolist()}
    talks, of = free_talks(scored, found, sorted(set(ends.values())))
    free = nameless(scored, found, talks)
    talks, of = talks + free, of + [NAMELESS] * len(free)
    begun = said.utc_s[np.array([t.members[0] for t in talks], dtype=np.int64)]
    rivals = _Rivals.of(planned, ends, of, begun)
    words = _Words(scored.alike, planned)
    pairs = list(_pairs(scored, words, ends, talks, of, rivals))
    logs = doubt.Logs.of(scored, found)
    rows = []
    for d, k in pairs:
        silent = logs.silent(float(planned.due_s[d]), np.unique(said.source[list(talks[k].members)]))
        known = float(-np.log(max(1.0 - confidence[d], LEAST_DOUBT))) if found[d] else 0.0
        near, far = (rivals.about(of[k], float(planned.due_s[d]), float(begun[k]), within) for within in (RIVAL_S, FAR_S))
        rows.append(_figures(scored, words, talks[k], d, _Around(*near, *far, silent, of[k] == NAMELESS, known, own_ways)))
    at = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return Exchanges(tuple(talks), at[:, 0], at[:, 1], np.array(rows, dtype=np.float64).reshape(-1, len(FEATURES)))


def _pairs(
    scored: Scored, words: _Words, ends: Mapping[int, Ends], talks: Sequence[Talk], of: Sequence[Ends], rivals: _Rivals,
) -> Iterator[tuple[int, int]]:
    """The steps and talks worth a look: near due, or an order with hardly another step or talk that it may be, or with some of the step's words."""
    said, planned = scored.said, scored.planned
    order = np.array([t.members[0] for t in talks], dtype=np.int64)
    ahead = near_miss([scored.words[u] for u in order.tolist()]) & np.where([t.parts[0] == CALL for t in talks], AHEAD, LATER)
    by_ends: dict[Ends, list[int]] = {}
    for k, e in enumerate(of):
        by_ends.setdefault(e, []).append(k)
    loose = np.array(by_ends.get(NAMELESS, []), dtype=np.int64)
    barred = _barred(scored)
    for d, own_ends in ends.items():
        theirs = [k for k in by_ends.get(own_ends, []) if not ahead[k] & ~scored.asked[planned.row[d]]]
        own = np.concatenate([np.array(theirs, dtype=np.int64), of_anyone(said, order, loose, own_ends)])
        late = lateness_s(said, planned, order[own], np.full(len(own), d))
        reach = np.where(np.arange(len(own)) < len(theirs), NEAR_S, NAMELESS_S)
        near = np.abs(late) <= np.maximum(reach, allowed_s(planned, np.full(len(own), d), late)) + said.sigma_s[order[own]] + planned.sigma_s[d]
        for k, close, far in zip(own.tolist(), near.tolist(), (np.abs(late) > FAR_S).tolist(), strict=True):
            most = max(rivals.about(of[k], float(planned.due_s[d]), float(said.utc_s[order[k]]), RIVAL_S if close else FAR_S))
            some = close and (of[k] != NAMELESS or most <= MOST_NAMELESS)
            some = some or (not far and of[k] != NAMELESS and ((talks[k].parts[0] == CALL and most <= MOST_AFAR) or words.coverage(talks[k], d) >= SOME_WORDS))
            if some and not words.clash(talks[k], d) and not barred(d, talks[k]):
                yield d, k


@dataclass(frozen=True)
class _Rivals:
    """When the steps that no words show are due, and when the talks began, of each ends, in order."""

    due: Mapping[Ends, np.ndarray]
    begun: Mapping[Ends, np.ndarray]

    @classmethod
    def of(cls, planned: Planned, ends: Mapping[int, Ends], of: Sequence[Ends], begun: np.ndarray) -> _Rivals:
        due: dict[Ends, list[float]] = {NAMELESS: [float(planned.due_s[d]) for d in ends]}
        for d, e in ends.items():
            due.setdefault(e, []).append(float(planned.due_s[d]))
        when: dict[Ends, list[float]] = {}
        for e, at in zip(of, begun.tolist(), strict=True):
            when.setdefault(e, []).append(at)
        return cls({e: np.sort(v) for e, v in due.items()}, {e: np.sort(v) for e, v in when.items()})

    def about(self, ends: Ends, due: float, begun: float, within: float) -> tuple[int, int]:
        """How many steps are due about when a talk began, and how many talks began about when a step is due."""
        return _within(self.due[ends], begun, within), _within(self.begun[ends], due, within)


def _within(times: np.ndarray, at: float, within: float) -> int:
    return int(np.searchsorted(times, at + within, side="right") - np.searchsorted(times, at - within))


def weak(found: list[list[Thread]], confidence: np.ndarray) -> np.ndarray:
    """The steps of which what was found says little, and is little believed."""
    return np.array([bool(f) and f[0].coverage < SCANT and c < UNSURE for f, c in zip(found, confidence.tolist(), strict=True)], dtype=bool)


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


@dataclass(frozen=True)
class _Around:
    """Of a pair: the steps that no words show and the talks, of the same stations, that are near to this one, itself too, and as far as FAR_S; logs that should tell of the step and do not; whether nobody is
    named; how sure what was found of the step is, in nats; log of the share of all steps that no words show: where it is small people keep to the plan's words, and a step that they do not say
    was hardly done."""

    steps: int
    talks: int
    far_steps: int
    far_talks: int
    silent: float
    nameless: bool
    found: float
    unseen: float


def _figures(scored: Scored, words: _Words, talk: Talk, d: int, around: _Around) -> list[float]:
    said, planned, first = scored.said, scored.planned, talk.members[0]
    late = np.nan_to_num(lateness_s(said, planned, np.array([first]), np.array([d])))
    usual = pace_s(planned, np.array([d]), late)[0]
    pace = np.sqrt(usual**2 + said.sigma_s[first] ** 2 + planned.sigma_s[d] ** 2)
    distance = min(float(np.log1p((late[0] / pace) ** 2)), FAR)
    coverage = words.coverage(talk, d)
    far = float(abs(late[0]) > max(NEAR_S, float(allowed_s(planned, np.array([d]), late)[0])))
    nameless, typed = float(around.nameless), float(said.medium[first] == "typed")
    value = {
        "bias": 1.0, "distance": distance, "early": distance if late[0] < 0 else 0.0, "words": coverage, "words_far": coverage * distance,
        "elsewhere": words.elsewhere(talk, d), "reported": float(REPORT in talk.parts), "accepted": float(RESPONSE in talk.parts),
        "logs": float(len(set(said.source[list(talk.members)].tolist())) - 1), "caller": float(said.station[first] >= 0),
        "optional": float(not planned.must[d]), "garbled": float(scored.garbled[first]), "content": float(np.log1p(scored.content[first])),
        "unordered": float(talk.parts[0] != CALL), "alone": float(len(talk.members) == 1), "call": float(said.kind[first] == "call"),
        "steps": float(np.log(max(around.steps, 1))), "talks": float(np.log(max(around.talks, 1))), "silent": around.silent,
        "far": far, "far_steps": far * float(np.log(max(around.far_steps, 1))), "far_talks": far * float(np.log(max(around.far_talks, 1))),
        "nameless": nameless, "nameless_typed": nameless * typed, "nameless_distance": nameless * distance, "typed": typed, "found": around.found,
        "unseen": around.unseen,
    }
    return [value[name] for name in FEATURES]


def _barred(scored: Scored) -> Callable[[int, Talk], bool]:
    """Whether one of a talk's lines says that the step is not done or not now, its first that it is only talked about, or a reviewer that it is not the step."""
    ruled_out = set(scored.made.excluded)
    never = np.flatnonzero(scored.refuted | scored.later)
    ruled_out |= set(zip(scored.u[never].tolist(), scored.d[never].tolist(), strict=True))
    about = set(zip(scored.u[scored.missed].tolist(), scored.d[scored.missed].tolist(), strict=True))
    return lambda d, talk: (talk.members[0], d) in about or any((u, d) in ruled_out for u in talk.members)


def taken(scored: Scored, found: list[list[Thread]], confidence: np.ndarray) -> tuple[Scored, dict[int, tuple[Thread, float]], np.ndarray]:
    """For steps for which nothing was found, or less than is likely here, the doing that its talk shows, and how likely it is to be one: rows of DUE. The pairs of those doings that were
    none yet are behind those of `scored`. And how likely a talk that was not taken is each row's after all."""
    known = find(scored, found, confidence)
    likely = calibrate.probability(known.figures, weights.EXCHANGE)
    chosen: dict[int, tuple[int, int]] = {}
    spent: set[int] = set()
    for at in np.lexsort((known.talk, known.d, -likely)).tolist():
        d, k = int(known.d[at]), int(known.talk[at])
        if likely[at] >= max(calibrate.EVEN, confidence[d] if found[d] else 0.0) and d not in chosen and k not in spent:
            chosen[d] = k, at
            spent.add(k)
    may_be = np.zeros(len(found))
    free = ~np.isin(known.talk, sorted(spent))
    np.maximum.at(may_be, known.d[free], likely[free])
    place = {(u, d): i for i, (u, d) in enumerate(zip(scored.u.tolist(), scored.d.tolist(), strict=True)) if d in chosen}
    silent = [(u, d) for d, (k, _) in chosen.items() for u in known.talks[k].members if (u, d) not in place]
    place |= {pair: len(scored.u) + i for i, pair in enumerate(silent)}
    words = FEATURES.index("words")
    return scored.with_silent(silent), {
        d: (_thread([place[u, d] for u in known.talks[k].members], known.talks[k].parts, known.figures[at, words], likely[at]), float(likely[at]))
        for d, (k, at) in chosen.items()}, may_be


def _thread(members: list[int], parts: Sequence[int], coverage: float, likely: float) -> Thread:
    lead = tuple(next((m for m, p in zip(members, parts, strict=True) if p == part), -1) for part in range(len(PARTS)))
    by_pair = sorted(zip(members, parts, strict=True))
    return Thread(tuple(m for m, _ in by_pair), tuple(p for _, p in by_pair), lead, float(np.log(likely / max(1.0 - likely, 1e-9))), False, float(coverage))
