"""Which steps were out of order? The least set that, taken away, leaves the rest in planned order.

Conventions: positions in seconds on one axis (planned: the schedule's wall time; actual: UTC, else count time).
Two steps are ordered by the plan when neither is planned within the other's tolerance, and they conflict when they were
begun the other way round by more than the uncertainty of both, unless both were on time. What stays is the heaviest set
without a conflict. Two beginnings in one log share that log's clock error, so only their own reading errors blur their
order; what follows through a third step (surely before it, and it surely before) counts as sure too. Conflicts form a
strict partial order, so the set that stays is a heaviest antichain, found exactly as the complement of a least weighted
vertex cover (Dilworth and König); where every pair is ordered and certain it is the weighted longest increasing
subsequence. It does not decide `after` pairs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# How many standard deviations each side of a beginning counts as its span: two spans that overlap settle no order.
# Applied to both sides, 1.5 each is about two standard deviations of the difference.
SPAN_SIGMAS = 1.5
# Confidences are compared in steps of this much: 0.97 against 0.99 says nothing about which of two steps strayed...
CONFIDENCE_STEP = 0.1
# ...so that between equals the one that was on time stays, and then the one nearer its due time.
ON_TIME_BONUS = 0.04
NEARNESS_BONUS = 0.005
# Weights become integers for the flow; a millionth resolves the bonuses.
WEIGHT_SCALE = 1_000_000


@dataclass(frozen=True, slots=True)
class Placed:
    """A step seen: where the plan puts it, where it was begun, and how much it weighs.

    sigma_s: of the beginning in UTC. own_sigma_s: of its reading on its own log's clock (None: as sigma_s). ahead_s: how much
    earlier it may have begun, beside that.
    """

    planned_s: float
    actual_s: float
    early_s: float = 0.0
    late_s: float = 0.0
    sigma_s: float = 0.0
    confidence: float = 1.0
    on_time: bool = False
    deviation_s: float = 0.0
    source: str = ""
    own_sigma_s: float | None = None
    ahead_s: float = 0.0


def weight(placed: Placed) -> float:
    """What losing this step costs: its confidence first, then whether it kept its time."""
    confidence = max(CONFIDENCE_STEP, round(placed.confidence / CONFIDENCE_STEP) * CONFIDENCE_STEP)
    nearness = NEARNESS_BONUS / (1.0 + abs(placed.deviation_s))
    return confidence + (ON_TIME_BONUS if placed.on_time else 0.0) + nearness


def conflicts(steps: Sequence[Placed]) -> list[tuple[int, int]]:
    """Pairs (i, j): the plan puts i before j, and j was begun first."""
    if len(steps) < 2:
        return []
    planned = np.array([s.planned_s for s in steps])
    late = np.array([s.late_s for s in steps])
    early = np.array([s.early_s for s in steps])
    on_time = np.array([s.on_time for s in steps])
    gap = planned[None, :] - planned[:, None]
    ordered = (gap > late[:, None]) & (gap > early[None, :])
    excused = on_time[:, None] & on_time[None, :]
    return [(int(i), int(j)) for i, j in np.argwhere(ordered & _surely_before(steps).T & ~excused)]


def _surely_before(steps: Sequence[Placed]) -> np.ndarray:
    """[i, j]: i was begun before j beyond the uncertainty of both, directly or through steps between."""
    actual = np.array([s.actual_s for s in steps])
    span = SPAN_SIGMAS * np.array([s.sigma_s for s in steps])
    own = SPAN_SIGMAS * np.array([s.sigma_s if s.own_sigma_s is None else s.own_sigma_s for s in steps])
    sources = np.array([s.source for s in steps])
    least = actual - np.array([s.ahead_s for s in steps])
    before = (actual + span)[:, None] < (least - span)[None, :]
    before |= (sources[:, None] == sources[None, :]) & ((actual + own)[:, None] < (least - own)[None, :])
    if len(set(sources.tolist())) < 2:
        return before
    while True:  # close it under 'and then': log2 of the longest chain rounds
        further = before | ((before.astype(np.float32) @ before.astype(np.float32)) > 0)
        if (further == before).all():
            return before
        before = further


def displaced(steps: Sequence[Placed]) -> list[bool]:
    """For each step, whether it is outside the heaviest set in order."""
    pairs = conflicts(steps)
    out = [False] * len(steps)
    if pairs:
        for index in _least_cover([weight(s) for s in steps], pairs):
            out[index] = True
    return out


def _least_cover(weights: Sequence[float], pairs: list[tuple[int, int]]) -> set[int]:
    """Steps with a copy in the least weighted cover of the bipartite graph of conflicts, by a minimum cut."""
    from scipy.sparse import csr_matrix
    from scipy.sparse.csgraph import breadth_first_order, maximum_flow

    nodes = sorted({i for pair in pairs for i in pair})
    at = {node: k for k, node in enumerate(nodes)}
    n = len(nodes)
    source, sink = 2 * n, 2 * n + 1
    caps = [int(round(weights[node] * WEIGHT_SCALE)) for node in nodes]
    unlimited = min(sum(caps) + 1, int(np.iinfo(np.int32).max))
    edges = [(source, k, caps[k]) for k in range(n)] + [(n + k, sink, caps[k]) for k in range(n)]
    edges += [(at[i], n + at[j], unlimited) for i, j in pairs]
    rows, cols, values = zip(*edges, strict=True)
    graph = csr_matrix((np.array(values, dtype=np.int32), (rows, cols)), shape=(2 * n + 2, 2 * n + 2))
    residual = graph - maximum_flow(graph, source, sink).flow
    residual.eliminate_zeros()
    reached = set(breadth_first_order(residual, source, return_predecessors=False).tolist())
    return {nodes[k] for k in range(n) if k not in reached or n + k in reached}
