"""Which staircase explains the evidence, given every log's wall time?

One pass of evidence -> nodes -> candidates -> path -> stretches -> staircase. Seconds after the scheduled T-0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.candidates import candidates
from aftercount.timeline.evidence import CALL_WEIGHT, Evidence
from aftercount.timeline.model import Costs, Field, Floats, Path
from aftercount.timeline.nodes import Built, build
from aftercount.timeline.path import solve
from aftercount.timeline.pieces import Piece, pieces
from aftercount.timeline.segments import lay
from aftercount.timeline.staircase import Call, Prior, Staircase


@dataclass(frozen=True)
class Fit:
    """The staircase and what it rests on. kept: by item of the evidence given, whether the path kept it."""

    stairs: Staircase
    parts: list[Piece]
    kept: NDArray[np.bool_]
    path: Path
    built: Built
    field: Field


def fit(evidence: Evidence, u: Floats, calls: list[Call], prior: Prior, costs: Costs, lines: Sequence[float] = ()) -> Fit:
    """The best staircase for evidence at wall times u (finite); calls in order of time. lines: how sure each log's place in time is, by source."""
    holds = sorted(h for h in prior.holds if h[1] > 0)
    at, lengths = np.array([h[0] for h in holds], dtype=float), np.array([h[1] for h in holds], dtype=float)
    built = build(evidence, u)
    recycles, resumes = (np.array([c.u for c in calls if c.what == what and c.weight >= CALL_WEIGHT["likely"]], dtype=float) for what in ("recycle", "resume"))
    field = candidates(built.nodes, at, lengths, recycles, resumes)
    path = solve(built.nodes, field, costs)
    parts = pieces(path, built, evidence, u, field, lines)
    kept = np.zeros(len(evidence), dtype=bool)
    kept[built.order] = np.isin(built.node_of, path.node)
    return Fit(lay(parts, calls, prior), parts, kept, path, built, field)
