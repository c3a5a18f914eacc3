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
ON_T_S = 2.0  # a reading this near a hold's T may have been made in the hold
CALL_SIGMA_S = 3.0  # between the call and the clock's stopping or starting


@dataclass(frozen=True)
class Votes:
    """One row a vote. item: which evidence it is of (rising); order: its place in the log; lo, hi: offsets allowed."""

    item: Ints
    order: Ints
    own: Floats
    lo: Floats
    hi: Floats
    sigma: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.item)


Row = tuple[int, int, float, float, float, float, float]


def votes(evidence: Evidence, stairs: Staircase, shared: list[tuple[int, float, float, float]]) -> Votes:
    """The votes of one log's evidence. shared: (utterance, own, wall time elsewhere, sigma) of entries seen elsewhere."""
    order = np.lexsort((evidence.utterance,))
    chosen = order[np.unique(np.linspace(0, len(order) - 1, min(len(order), MOST_ITEMS)).astype(int))] if len(order) else order
    rows: list[Row] = []
    columns = [getattr(evidence, c)[chosen].tolist() for c in ("utterance", "own", "t", "sigma", "weight", "kind", "says")]
    stops = _changes(stairs.segments, HOLDING)
    starts = _changes(stairs.segments, COUNTING)
    n = 0
    for n, (utterance, own, t, sigma, weight, kind, says) in enumerate(zip(*columns, strict=True)):
        if kind == MARK:
            rows += [(n, utterance, own, lo - own, hi - own, sigma, weight) for lo, hi in _instants(stairs, t, says)]
        elif kind in (HOLD_CALL, RESUME_CALL):
            at = stops if kind == HOLD_CALL else starts
            rows += [(n, utterance, own, u - own, u - own, CALL_SIGMA_S, weight / 2) for u in at]
    for k, (utterance, own, u, sigma) in enumerate(shared):
        rows.append((n + 1 + k, utterance, own, u - own, u - own, sigma, 3.0))
    table = np.array(rows, dtype=float).reshape(-1, 7)
    return Votes(table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), *(table[:, k] for k in range(2, 7)))


def _changes(segments: list[Segment], state: int) -> list[float]:
    """Instants at which the clock went into `state`."""
    return [b.start for a, b in zip(segments, segments[1:], strict=False) if b.state == state != a.state]


def _instants(stairs: Staircase, t: float, says: int) -> list[tuple[float, float]]:
    """Instants, or spans of a hold, at which the clock read t; beyond its ends the clock is taken to run on."""
    out: list[tuple[float, float]] = []
    last = len(stairs.segments) - 1
    for k, s in enumerate(stairs.segments):
        if s.state == COUNTING:
            early = k == 0 and t < s.start_t
            late = k == last and t > s.end_t
            if early or late or s.start_t <= t <= s.end_t:
                u = s.start + (t - s.start_t)
                out.append((u, u))
        elif abs(t - s.start_t) <= ON_T_S and says != COUNTING:
            out.append((s.start, s.end))
    return out
