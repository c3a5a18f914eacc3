"""Which offsets between one log and the common time does each piece of its evidence allow?

Each item votes: a count mark for every instant at which the staircase read that count, a hold call for each instant
at which the clock stopped, a resume for each at which it started, and an entry seen in another log for the time it has there. A
mark in a hold allows a range. Votes are offsets (wall time less own time), seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.evidence import Evidence
from aftercount.timeline.model import COUNTING, HOLD_CALL, HOLDING, MARK, RESUME_CALL, Floats, Ints
from aftercount.timeline.segments import Segment, Staircase

MOST_ITEMS = 250  # evenly chosen; more marks of one log tell no more of its offset
MARKED, CALLED, SHARED = 0, 1, 2  # what a vote rests on
SHARED_SIGMA_S = 2.0  # one log has the words as they are said, another when they were typed
SHARED_WEIGHT = 3.0  # nats: seldom are the same words in two logs of different moments
ON_T_S = 2.0  # a reading this near a hold's T may have been made in the hold
CALL_SIGMA_S = 3.0  # between the call and the clock's stopping or starting


@dataclass(frozen=True)
class Votes:
    """One row a vote. item: which evidence it is of, rising in order of the log; order: the utterance; lo, hi: offsets allowed.

    common: what all votes of the kind may be off by together.
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

    def __len__(self) -> int:
        return len(self.item)


@dataclass(frozen=True)
class Moment:
    """An entry of this log seen in another: its utterance and own time, the wall time there, and how sure the other log's clock is."""

    utterance: int
    own: float
    u: float
    sigma: float


Row = tuple[int, int, float, float, float, float, float, int, float]


def votes(evidence: Evidence, stairs: Staircase, moments: list[Moment]) -> Votes:
    """The votes of one log's evidence, and of its moments that other logs have too."""
    order = np.lexsort((evidence.utterance,))
    chosen = order[np.unique(np.linspace(0, len(order) - 1, min(len(order), MOST_ITEMS)).astype(int))] if len(order) else order
    rows: list[Row] = []
    columns = [getattr(evidence, c)[chosen].tolist() for c in ("utterance", "own", "t", "sigma", "weight", "kind", "says")]
    stops, starts = _changes(stairs.segments, HOLDING), _changes(stairs.segments, COUNTING)
    n = 0
    for n, (utterance, own, t, sigma, weight, kind, says) in enumerate(zip(*columns, strict=True), 1):
        if kind == MARK:
            rows += [(n, utterance, own, lo - own, hi - own, sigma, weight, MARKED, sure)
                     for lo, hi, sure in _instants(stairs, t, says)]
        elif kind in (HOLD_CALL, RESUME_CALL):
            at = stops if kind == HOLD_CALL else starts
            rows += [(n, utterance, own, u - own, u - own, CALL_SIGMA_S, weight / 2, CALLED, sure)
                     for u, sure in at]
    for k, m in enumerate(moments, n + 1):
        rows.append((k, m.utterance, m.own, m.u - m.own, m.u - m.own, SHARED_SIGMA_S, SHARED_WEIGHT, SHARED, m.sigma))
    return _in_order(rows)


def _in_order(rows: list[Row]) -> Votes:
    """The rows with their items numbered in order of the log."""
    table = np.array(rows, dtype=float).reshape(-1, 9)
    table = table[np.lexsort((table[:, 0], table[:, 1]))]
    item = np.cumsum(np.append(0, table[1:, 0] != table[:-1, 0])) if len(table) else table[:, 0]
    own, lo, hi, sigma, weight, kind, common = table[:, 2:].T
    return Votes(item.astype(np.int64), table[:, 1].astype(np.int64), own, lo, hi, sigma, weight, kind.astype(np.int64), common)


def _changes(segments: list[Segment], state: int) -> list[tuple[float, float]]:
    """Instants at which the clock went into `state`, and how sure."""
    return [(b.start, max(a.sigma, b.sigma)) for a, b in zip(segments, segments[1:], strict=False) if b.state == state != a.state]


def _instants(stairs: Staircase, t: float, says: int) -> list[tuple[float, float, float]]:
    """Instants, or spans of a hold, at which the clock read t, and how sure; beyond its ends the clock is taken to run on."""
    out: list[tuple[float, float, float]] = []
    last = len(stairs.segments) - 1
    for k, s in enumerate(stairs.segments):
        if s.state == COUNTING:
            early = k == 0 and t < s.start_t
            late = k == last and t > s.end_t
            if early or late or s.start_t <= t <= s.end_t:
                u = s.start + (t - s.start_t)
                out.append((u, u, s.sigma))
        elif abs(t - s.start_t) <= ON_T_S and says != COUNTING:
            out.append((s.start, s.end, s.sigma))
    return out
