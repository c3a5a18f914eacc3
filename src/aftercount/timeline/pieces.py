"""What does the path say, in numbers: each stretch of one state, with its best Z or T and how sure it is?

Candidates are a grid; here each stretch gets the robust mean of the marks kept in it. Seconds after scheduled T-0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.evidence import Evidence
from aftercount.timeline.model import COUNTING, HOLDING, MARK, NEAR_S, Field, Floats, Path
from aftercount.timeline.nodes import Built

LEAST_SIGMA_S = 0.02  # whole stretches are never surer than this: logs are stamped to hundredths at best
SHARED_ERROR = 0.25  # share of a mark's sigma that its fellows share (one speaker's habit, one recogniser's lag)
ON_PLAN_SIGMA_S = 5.0  # a clock started as planned is started within some seconds of it
HUBER = 1.5  # sigmas beyond which a kept mark's pull stops growing


@dataclass(frozen=True)
class Piece:
    """A stretch in one state. value: Z if counting, T if holding. first, last: wall times of its kept evidence."""

    state: int
    value: float
    sigma: float
    first: float
    last: float
    move: int
    marks: int
    called: tuple[int, ...]  # evidence items (in time order) that are calls


def pieces(path: Path, built: Built, evidence: Evidence, u: Floats, field: Field) -> list[Piece]:
    """The path's stretches in order. A move ends a stretch even when the same state follows."""
    ordered, at = evidence.take(built.order), u[built.order]
    starts = np.searchsorted(built.node_of, np.arange(len(built.nodes)))
    ends = np.append(starts[1:], len(built.order))
    out: list[Piece] = []
    groups: list[tuple[int, int, list[int]]] = []
    for node, state, move in zip(path.node, path.state, path.move, strict=True):
        if not groups or move != 0:
            groups.append((state, move, []))
        groups[-1][2].extend(range(int(starts[node]), int(ends[node])))
    for state, move, items in groups:
        which = np.array(items)
        counting = state < len(field.z)
        candidate = float(field.z[state] if counting else field.t[state - len(field.z)])
        value, sigma, used = _estimate(ordered, at, which, counting, candidate)
        if not counting and len(field.builtin_t):
            planned = float(field.builtin_t[np.abs(field.builtin_t - value).argmin()])
            value = planned if abs(planned - value) <= max(NEAR_S, 2 * sigma) else value
        if counting:
            value, sigma = _as_planned(value, sigma, field)
        out.append(Piece(COUNTING if counting else HOLDING, value, sigma, float(at[which[0]]), float(at[which[-1]]), move,
                         used, tuple(int(i) for i in which[ordered.origin[which] == 2])))
    return out


def _as_planned(z: float, sigma: float, field: Field) -> tuple[float, float]:
    """A projected T-0 that poor marks leave within reach of the schedule's is the schedule's: holds end when planned."""
    planned = -field.remaining(np.append(field.builtin_t - 2 * NEAR_S, 0.0))
    nearest = float(planned[np.abs(planned - z).argmin()])
    if sigma > ON_PLAN_SIGMA_S and abs(nearest - z) <= 2 * sigma:
        return nearest, ON_PLAN_SIGMA_S
    return z, sigma


def _estimate(e: Evidence, at: Floats, which: np.ndarray, counting: bool, candidate: float) -> tuple[float, float, int]:
    marks = which[(e.kind[which] == MARK)]
    if not len(marks):
        return candidate, float(np.median(e.sigma[which])), 0
    seen = at[marks] - e.t[marks] if counting else e.t[marks]
    return (*robust_mean(seen, e.sigma[marks], candidate), len(marks))


def robust_mean(values: Floats, sigma: Floats, start: float) -> tuple[float, float]:
    """Weighted Huber mean by a few reweightings, and its sigma (with the error that all share)."""
    centre = start
    for _ in range(8):
        r = np.abs(values - centre) / sigma
        w = np.where(r <= HUBER, 1.0, HUBER / np.maximum(r, 1e-9)) / sigma**2
        centre = float((w * values).sum() / w.sum())
    spread = float(np.sqrt((w * (values - centre) ** 2).sum() / w.sum())) if len(values) > 1 else 0.0
    independent = max(1.0 / w.sum() ** 0.5, spread / len(values) ** 0.5)
    shared = SHARED_ERROR * float(np.median(sigma))
    return centre, float(max(LEAST_SIGMA_S, np.hypot(independent, shared)))
