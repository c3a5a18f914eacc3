"""Which offsets between one log and the common time does each piece of its evidence allow?

Each item votes: a count mark for every instant at which the staircase read that count, a hold call for each instant
at which the clock stopped, a resume for each at which it started, and an entry seen in another log for the time it has there. A
mark in a hold allows a range. Past the last evidence of the clock, and before the first, nobody knows whether it held: a mark there
says only that it was read no sooner (or no later). Votes are offsets (wall time less own time), seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.evidence import Evidence, cut
from aftercount.timeline.fit import Fit
from aftercount.timeline.model import COUNTING, HOLD_CALL, HOLDING, MARK, RESUME_CALL, STEP, Floats, Ints
from aftercount.timeline.staircase import Segment, Staircase
from aftercount.timeline.sureness import COUNTED_S, HABIT_S, PEOPLE_S, WITH_THE_CLOCK

MOST_ITEMS = 250  # evenly chosen; more marks of one log tell no more of its offset
MARKED, COUNTED, CALLED, SHARED = 0, 1, 2, 3  # what a vote rests on: a reading, one of 'ten, nine, eight', a call, another log
CALL_HABIT_S = 0.5  # one way of working stops the clock before the call, another after it
SHARED_SIGMA_S = 2.0  # one log has the words as they are said, another when they were typed
SHARED_WEIGHT = 3.0  # nats: seldom are the same words in two logs of different moments
OF_LOG = -1
ON_T_S = 2.0  # a reading this near a hold's T may have been made in the hold
CALL_SIGMA_S = 3.0  # between the call and the clock's stopping or starting


@dataclass(frozen=True)
class Votes:
    """One row a vote. item: which evidence it is of, rising in order of the log; order: the utterance; lo, hi: offsets allowed,
    one of them infinite where only a bound is known.

    common: what all votes of the kind may be off by together; sure: all of one stretch of the clock, or (-1) of another log's line; tilt: how fast that line
    may drift away; since: how long after the instant at which it is known best. beyond: where the reading would be had the clock run on past its
    last evidence, or before the first, without a hold: that names no offset, but an offset found by others explains the reading by it.
    """

    item: Ints
    order: Ints
    own: Floats
    lo: Floats
    hi: Floats
    sigma: Floats
    weight: Floats
    kind: Ints
    common: Floats
    beyond: NDArray[np.bool_]
    stretch: Ints
    sure: Floats
    tilt: Floats
    since: Floats

    def __len__(self) -> int:
        return len(self.item)


@dataclass(frozen=True)
class Moment:
    """An entry of this log seen in another: its utterance and own time, the wall time there, and how sure the other log's line and its drift are, when
    it is known best, and how sure the two entries' own times are."""

    utterance: int
    own: float
    u: float
    sigma: float
    drift_sigma: float = 0.0
    best: float = 0.0
    stamps: float = 0.0


@dataclass(frozen=True)
class Seen:
    """From where to where there is evidence of a clock, and what it read there."""

    first: float
    first_t: float
    last: float
    last_t: float

    @classmethod
    def of(cls, clock: Fit) -> Seen:
        if not clock.parts:
            return cls(-np.inf, np.nan, np.inf, np.nan)
        a, b = clock.parts[0], clock.parts[-1]
        return cls(a.first, a.first - a.value if a.state == COUNTING else a.value, b.last, b.last - b.value if b.state == COUNTING else b.value)

    def bounds(self, t: float, lo: float, hi: float) -> tuple[float, float]:
        """When t can have been read, of a reading that the clock as laid has from lo to hi: past the evidence any time from
        when a clock that never held would have read it."""
        early, late = lo < self.first, hi > self.last
        return (-np.inf if early else min(lo, self.last + t - self.last_t) if late else lo,
                np.inf if late else max(hi, self.first + t - self.first_t) if early else hi)


Row = tuple[int, int, float, float, float, float, float, int, float, bool, int, float, float, float]  # as the fields of Votes
Read = tuple[float, float, int, float]  # from when to when a count was read, in which stretch, how sure that is


def votes(evidence: Evidence, clock: Fit, moments: list[Moment]) -> Votes:
    """The votes of one log's evidence on a clock, and of its moments that other logs have too."""
    stairs, seen = clock.stairs, Seen.of(clock)
    evidence = evidence.take(evidence.kind != STEP)
    order = np.lexsort((evidence.utterance,))
    chosen = order[np.unique(np.linspace(0, len(order) - 1, min(len(order), MOST_ITEMS)).astype(int))] if len(order) else order
    rows: list[Row] = []
    columns = [*(getattr(evidence, c)[chosen].tolist() for c in ("utterance", "own", "t", "sigma", "weight", "kind", "says")), cut(evidence, chosen).tolist()]
    stops, starts = ([c for c in _changes(stairs.segments, s) if seen.first <= c[0] <= seen.last] for s in (HOLDING, COUNTING))
    n, before = 0, (-1, -1)
    for utterance, own, t, sigma, weight, kind, says, off in zip(*columns, strict=True):
        n += (utterance, kind) != before  # a record that shows the count twice is one witness
        before = (utterance, kind)
        if kind == MARK:
            counted = PEOPLE_S <= sigma < COUNTED_S
            habit = 0.0 if sigma < PEOPLE_S else HABIT_S * WITH_THE_CLOCK if counted else HABIT_S
            rows += [(n, utterance, own, lo - own, hi - own, sigma, weight, COUNTED if counted else MARKED, habit, beyond, stretch, float(np.hypot(sure, off)), 0.0, 0.0)
                     for (lo, hi, stretch, sure), beyond in _instants(stairs, t, says, seen)]
        elif kind in (HOLD_CALL, RESUME_CALL):
            at = stops if kind == HOLD_CALL else starts
            rows += [(n, utterance, own, u - own, u - own, CALL_SIGMA_S, weight / 2, CALLED, CALL_HABIT_S, False, stretch, sure, 0.0, 0.0)
                     for u, stretch, sure in at]
    for k, m in enumerate(moments, n + 1):
        rows.append((k, m.utterance, m.own, m.u - m.own, m.u - m.own, max(SHARED_SIGMA_S, m.stamps), SHARED_WEIGHT, SHARED, 0.0, False, OF_LOG, m.sigma, m.drift_sigma,
                     m.u - m.best))
    return _in_order(rows)


def _in_order(rows: list[Row]) -> Votes:
    """The rows with their items numbered in order of the log."""
    table = np.array(rows, dtype=float).reshape(-1, 14)
    table = table[np.lexsort((table[:, 0], table[:, 1]))]
    item = np.cumsum(np.append(0, table[1:, 0] != table[:-1, 0])) if len(table) else table[:, 0]
    own, lo, hi, sigma, weight, kind, common, beyond, stretch, sure, tilt, since = table[:, 2:].T
    return Votes(item.astype(np.int64), table[:, 1].astype(np.int64), own, lo, hi, sigma, weight, kind.astype(np.int64), common, beyond > 0,
                 stretch.astype(np.int64), sure, tilt, since)


def _changes(segments: list[Segment], state: int) -> list[tuple[float, int, float]]:
    """Instants at which the clock went into `state`, the stretch that began so, and how sure."""
    pairs = enumerate(zip(segments, segments[1:], strict=False), 1)
    return [(b.start, k, max(a.sigma, b.sigma)) for k, (a, b) in pairs if b.state == state != a.state]


def _instants(stairs: Staircase, t: float, says: int, seen: Seen) -> list[tuple[Read, bool]]:
    """Instants, or spans of a hold, at which the clock read t; beyond its ends the clock is taken to run on, and True says that this is all that
    names them."""
    out = [(s.start, s.end, k, s.sigma) for k, s in enumerate(stairs.segments) if s.state != COUNTING and abs(t - s.start_t) <= ON_T_S and says != COUNTING]
    counted = [] if out and says == HOLDING else stairs.segments
    for k, s in enumerate(counted):
        early, late = k == 0 and t < s.start_t, k == len(counted) - 1 and t > s.end_t
        if s.state == COUNTING and (early or late or s.start_t <= t <= s.end_t):
            u = s.start + (t - s.start_t)
            out.append((u, u, k, s.sigma))
    known = [((*seen.bounds(t, *read[:2]), *read[2:]), read) for read in out]
    return [(bounded, False) for bounded, _ in known] + [(read, True) for bounded, read in known if bounded != read]
