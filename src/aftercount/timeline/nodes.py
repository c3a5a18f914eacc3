"""How is the evidence put to the path: in order of time, with runs of equal machine marks as one node each?

A log that writes the count with every line gives thousands of marks that say the same thing. Marks of one source that
follow one another with nothing else between, and agree on Z (or on T, in a hold) within their sigma, are one node that
lasts from the first to the last. It loses nothing: a hold inside the run would have moved Z. People are not so surely right:
their readings of one T are one node only if each says that the count holds, for a false reading may name what the clock comes to read a
minute later, and a doubtful reading is always a node of its own. A step heard within a run adds nothing to it; any other is a node.
Seconds after the scheduled T-0 throughout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.evidence import AMID, SPOKEN, Evidence
from aftercount.timeline.model import (
    ANY,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    MARK,
    RESUME_CALL,
    STEP,
    Floats,
    Ints,
    Nodes,
)
from aftercount.timeline.sureness import PEOPLE_S

RUN_SIGMAS = 1.5  # marks further apart than this from the run's first are another run
WORTH = 2.5  # nats: more than a doubtful reading weighs
# a run counts as at most so many marks: they come from one clock and are right or wrong together. More than a recycle of a running clock costs that
# nobody was heard to call (path.Costs), even if it would have passed T-0 by then: a machine that goes on from an earlier count is a recycle.
RUN_WEIGHTS = 4.0


@dataclass(frozen=True)
class Built:
    """The nodes, and for each item of evidence (in time order, `order`) the node it went into."""

    nodes: Nodes
    order: Ints
    node_of: Ints


def build(evidence: Evidence, u: Floats) -> Built:
    """Nodes of the evidence at wall times u."""
    order = np.lexsort((_first_said(evidence), evidence.utterance, u))
    e, at = evidence.take(order), u[order]
    spans = _spans(e, at)
    node_of = np.zeros(len(e), dtype=np.int64)
    first = np.array([s[0] for s in spans], dtype=np.int64)
    last = np.array([s[1] for s in spans], dtype=np.int64)
    says = np.array([s[2] for s in spans], dtype=np.int64)
    strict = last > first
    weight, t = e.weight[first].copy(), e.t[first].copy()
    for k, (a, b, state) in enumerate(spans):
        node_of[a:b + 1] = k
        if b > a:
            run = np.arange(a, b + 1)[e.kind[a:b + 1] != STEP]
            weight[k] = min(e.weight[run].sum(), RUN_WEIGHTS * e.weight[run].max())
            t[k] = at[a] - np.median(at[run] - e.t[run]) if state == COUNTING else np.median(e.t[run])
    nodes = Nodes(at[first], at[last], t, e.sigma[first], weight, e.slack[first], e.kind[first],
                  np.where(strict, says, e.says[first]), strict, e.read[first])
    return Built(nodes, order, node_of)


def _first_said(e: Evidence) -> Ints:
    """The order of what one utterance says: who calls a hold begins it, and 'resume, T minus nine and counting' resumes and then counts."""
    counts = (e.kind == MARK) & (e.says == COUNTING)
    return np.select([e.kind == HOLD_CALL, e.kind == RESUME_CALL, counts], [0, 2, 3], default=1)


def _spans(e: Evidence, at: Floats) -> list[tuple[int, int, int]]:
    """(first, last, state) of each node: the runs, and the steps outside them."""
    told = np.flatnonzero(e.kind != STEP)
    spans = [(int(told[a]), int(told[b]), state) for a, b, state in _runs(e.take(told), at[told])]
    inside = np.zeros(len(e) + 1, dtype=np.int64)
    for a, b, _ in spans:
        inside[a] += 1
        inside[b + 1] -= 1
    alone = np.flatnonzero((np.cumsum(inside)[:-1] == 0) & (e.kind == STEP))
    return sorted([*spans, *((i, i, ANY) for i in alone.tolist())])


def _runs(e: Evidence, at: Floats) -> list[tuple[int, int, int]]:
    """(first, last, state) of each node, by taking the longer of a run of equal Z and one of equal T."""
    u, t, sigma = at.tolist(), e.t.tolist(), {COUNTING: e.sigma.tolist(), HOLDING: e.read.tolist()}
    source, says = e.source.tolist(), e.says.tolist()
    mark = (e.kind == MARK).tolist()
    doubtful = (e.weight < WORTH).tolist()
    heard = ((e.origin == SPOKEN) & (e.sigma >= PEOPLE_S)).tolist()
    alone = (e.origin == AMID).tolist()  # whose own time is too poor to tell counting from holding
    out: list[tuple[int, int, int]] = []
    i, n = 0, len(u)
    while i < n:
        ends = {}
        for state in (COUNTING, HOLDING):
            j = i
            while (j + 1 < n and mark[i] and mark[j + 1] and not alone[i] and not alone[j + 1] and source[j + 1] == source[i]
                   and says[j + 1] in (0, state) and says[i] in (0, state)
                   and (not heard[j + 1] or (not doubtful[i] and not doubtful[j + 1] and (state == COUNTING or says[i] == says[j + 1] == HOLDING)))
                   and _apart(u, t, i, j + 1, state) <= RUN_SIGMAS * sigma[state][i]):
                j += 1
            ends[state] = j
        state = COUNTING if ends[COUNTING] >= ends[HOLDING] else HOLDING
        out.append((i, ends[state], state))
        i = ends[state] + 1
    return out


def _apart(u: list[float], t: list[float], i: int, j: int, state: int) -> float:
    return abs((u[j] - t[j]) - (u[i] - t[i])) if state == COUNTING else abs(t[j] - t[i])
