"""Which offset, drift and resets do a log's votes support best?

First the offset with the most votes near it, each vote bounded so that false marks cannot pull; then, where the votes left
over agree on another offset for a part of the log, a reset; then a robust fit of offset and drift. Seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from aftercount.timeline.model import Floats, Ints
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.votes import Votes

BAND_S = 1.0  # beside its sigma, how far a vote may be off through drift and delay before it counts less
MOST_OFFSETS = 500  # offsets tried; each is one that some vote names
HONEST_WEIGHT = 6.0  # nats: a log that tells UTC is likelier right than not
HONEST_S = 5.0  # and a right one is seldom further off than this
ZONE_WEIGHT = 2.0  # nats: if wrong, then by whole half hours rather than by any one other offset
RESET_COST = 14.0  # nats: two or three marks agreeing on another offset from there on
MOST_RESETS = 2
DRIFT_SIGMA = 30e-6  # quartz in a console: some tens of parts in a million
RANGE_S = 20.0  # a vote for a range this long is worth half of one for an instant
HUBER = 1.5
LEAST_FOR_SCATTER = 8  # votes from which their own scatter is known
SCATTER = (0.2, 2.0)  # as a share of the stated sigma, no further from it than this
LEAST_SIGMA_S = 0.01
SAME_S = 3.0  # offsets closer than this are one offset with drift, not a reset


@dataclass(frozen=True)
class _Best:
    """Per item: distance of each offset's nearest vote, and that vote's row."""

    gain: Floats  # items x offsets
    row: Ints


def align(votes: Votes, utc: bool, lag: float) -> SourceTime | None:
    """The log's time by its votes; None when they support nothing. lag: what all its entries may be late by, seconds."""
    if not len(votes):
        return None
    offsets = _tried(votes, utc)
    best = _best(votes, offsets)
    prior = _prior(offsets, utc)
    first = int(np.argmax(best.gain.sum(axis=0) + prior))
    if best.gain[:, first].sum() <= 0:
        return None
    chosen = [first]
    for _ in range(MOST_RESETS):
        left = best.gain - best.gain[:, chosen].max(axis=1)[:, None]
        left[:, [k for k in range(len(offsets)) if np.abs(offsets[k] - offsets[chosen]).min() < SAME_S]] = -np.inf
        more = np.where(left > 0, left, 0.0).sum(axis=0)
        following = int(np.argmax(more))
        if not np.isfinite(left[0, following]) or more[following] < RESET_COST:
            break
        chosen.append(following)
    labels = _stretches(best.gain[:, chosen])
    used = [k for k in dict.fromkeys(labels.tolist())]
    return _fit(votes, best, [chosen[k] for k in used], np.array([used.index(k) for k in labels]), offsets, lag)


def _tried(votes: Votes, utc: bool) -> Floats:
    at = np.concatenate([votes.lo, votes.hi[votes.hi > votes.lo], [0.0] if utc else []])
    at = np.unique(np.round(at, 2))
    return at[np.unique(np.linspace(0, len(at) - 1, min(len(at), MOST_OFFSETS)).astype(int))]


def _prior(offsets: Floats, utc: bool) -> Floats:
    if not utc:
        return np.zeros(len(offsets))
    zone = np.abs(offsets - 1800 * np.round(offsets / 1800)) <= HONEST_S
    return HONEST_WEIGHT * np.exp(-((offsets / HONEST_S) ** 2) / 2) + np.where(zone, ZONE_WEIGHT, 0.0)


def _best(votes: Votes, offsets: Floats) -> _Best:
    band = np.hypot(votes.sigma, BAND_S)
    worth = votes.weight / (1 + (votes.hi - votes.lo) / RANGE_S)
    starts = np.flatnonzero(np.diff(votes.item, prepend=-1))
    off = np.maximum(votes.lo[:, None] - offsets, offsets - votes.hi[:, None])
    off = np.maximum(off, 0.0)
    gain = np.maximum(worth[:, None] - (off / band[:, None]) ** 2 / 2, 0.0)
    top = np.maximum.reduceat(gain, starts, axis=0)
    row = np.zeros(top.shape, dtype=np.int64)
    for k, (a, b) in enumerate(zip(starts, np.append(starts[1:], len(votes)), strict=True)):
        row[k] = a + np.argmin(off[a:b], axis=0)
    return _Best(top, row)


def _stretches(gain: Floats) -> Ints:
    """Which of the chosen offsets rules at each item, with RESET_COST a change (Viterbi)."""
    n, k = gain.shape
    total, came = gain[0].copy(), np.zeros((n, k), dtype=np.int64)
    for i in range(1, n):
        switch = int(np.argmax(total))
        moved = total[switch] - RESET_COST
        came[i] = np.where(moved > total, switch, np.arange(k))
        total = np.maximum(total, moved) + gain[i]
    labels = np.zeros(n, dtype=np.int64)
    labels[-1] = int(np.argmax(total))
    for i in range(n - 1, 0, -1):
        labels[i - 1] = came[i, labels[i]]
    return labels


def _fit(votes: Votes, best: _Best, chosen: list[int], labels: Ints, offsets: Floats, lag: float) -> SourceTime:
    """Robust ridge fit of one offset a stretch and one drift."""
    items = np.arange(len(labels))
    near = best.gain[items, np.array(chosen)[labels]] > 0
    rows = best.row[items, np.array(chosen)[labels]]
    at = offsets[np.array(chosen)][labels]
    value = np.clip(at, votes.lo[rows], votes.hi[rows])
    width = votes.hi[rows] - votes.lo[rows]
    sigma = np.hypot(np.hypot(votes.sigma[rows], 0.05), width / 12**0.5)
    own = votes.own[rows]
    pivot = float(own[near].mean())
    design = np.column_stack([*(labels == k for k in range(len(chosen))), own - pivot]).astype(float)[near]
    ridge = np.diag([*(1e-12 for _ in chosen), 1 / DRIFT_SIGMA**2])
    y, s = value[near], sigma[near]
    solution, weight = np.append(offsets[chosen], 0.0), 1 / s**2
    for step in range(12):
        if step == 6 and len(y) > LEAST_FOR_SCATTER:  # marks are often better than they claim, which the drift needs
            s = s * float(np.clip(1.4826 * np.median(np.abs(y - design @ solution) / s), *SCATTER))
        r = np.abs(y - design @ solution) / s
        weight = np.where(r <= HUBER, 1.0, HUBER / np.maximum(r, 1e-9)) / s**2
        normal = design.T @ (design * weight[:, None]) + ridge
        solution = np.linalg.solve(normal, design.T @ (weight * y))
    spread = float(np.linalg.inv(normal)[0, 0]) ** 0.5
    sure = float(np.hypot(spread, lag))
    order = votes.order[rows]
    starts = [-np.inf] + [float(order[i]) for i in range(1, len(labels)) if labels[i] != labels[i - 1]]
    runs = [0] + [i for i in range(1, len(labels)) if labels[i] != labels[i - 1]]
    return SourceTime(tuple(float(solution[labels[i]]) for i in runs), tuple(starts), float(solution[-1]), pivot,
                      max(sure, LEAST_SIGMA_S), True, int(near.sum()))
