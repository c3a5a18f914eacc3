"""Which offset, drift and resets do a log's votes support best?

First the offset with the most votes near it, each vote bounded so that false marks cannot pull; then, where the votes left
over agree on another offset for a part of the log, a reset; then a robust fit of offset and drift. Seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.model import Floats, Ints
from aftercount.timeline.scale import as_share, few, scale
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.sureness import HABIT_S
from aftercount.timeline.votes import COUNTED, MARKED, OF_LOG, Votes

BAND_S = 1.0  # beside its sigma, how far a vote may be off through drift and delay before it counts less
MOST_OFFSETS = 500  # offsets tried; each is one that some vote names
HONEST_WEIGHT = 6.0  # nats: a log that tells UTC is likelier right than not
HONEST_S = 5.0  # and a right one is seldom further off than this
NEAR_HONEST = 2.0  # an offset of no more than this many times HONEST_S is that of an honest log
ZONE_WEIGHT = 2.0  # nats: if wrong, then by whole half hours rather than by any one other offset
RESET_COST = 14.0  # nats: two or three marks agreeing on another offset from there on
MOST_RESETS = 2
DRIFT = 30e-6  # quartz in a console: some tens of parts in a million
RANGE_S = 20.0  # a vote for a range this long is worth half of one for an instant
LONGEST_RANGE_S = 600.0  # and one for a range longer than this no less than one for this: many such marks together tell something
HUBER = 1.5
LEAST_FOR_SCATTER = 8  # votes from which their own scatter is known
LEAST_SHARE = 0.002  # of the stated sigma: the step of a machine's stamps
ITERATIONS = 14
LEAST_SIGMA_S, LEAST_DRIFT = 0.001, 1e-8
SAME_S = 3.0  # offsets closer than this are one offset with drift, not a reset
SAME_SIGMAS = 3.0  # nor such as are within so many sigmas of how sure the clock is


@dataclass(frozen=True)
class _Best:
    """Per item: how well each offset agrees with its nearest vote, and that vote's row. explained: the same with what a clock that ran on beyond its
    evidence reads."""

    gain: Floats  # items x offsets
    explained: Floats
    row: Ints


def align(votes: Votes, utc: bool, drift: float = DRIFT) -> SourceTime | None:
    """The log's time by its votes; None when they support nothing. drift: what is thought of it before, a sigma about none."""
    if not len(votes):
        return None
    offsets = _tried(votes, utc)
    best = _best(votes, offsets)
    prior = _prior(offsets, utc)
    first = int(np.argmax(best.gain.sum(axis=0) + prior))
    if best.gain[:, first].sum() <= 0:
        return None
    chosen, same = [first], _same(votes)
    for _ in range(MOST_RESETS):
        left = best.gain - best.explained[:, chosen].max(axis=1)[:, None]
        left[:, [k for k in range(len(offsets)) if np.abs(offsets[k] - offsets[chosen]).min() < same]] = -np.inf
        more = np.where(left > 0, left, 0.0).sum(axis=0)
        following = int(np.argmax(more))
        if not np.isfinite(left[0, following]) or more[following] < RESET_COST:
            break
        chosen.append(following)
    labels = _stretches(best.explained[:, chosen])
    used = [k for k in dict.fromkeys(labels.tolist())]
    return _fit(votes, best, [chosen[k] for k in used], np.array([used.index(k) for k in labels]), offsets, utc, drift)


def _same(votes: Votes) -> float:
    """Offsets closer than this are one offset: with drift, or on a clock that is off by more on one stretch than on another."""
    return float(max(SAME_S, SAME_SIGMAS * np.max(votes.sure)))


def _tried(votes: Votes, utc: bool) -> Floats:
    named = ~votes.beyond
    at = np.concatenate([votes.lo[named], votes.hi[named & (votes.hi > votes.lo)], [0.0] if utc else []])
    at = np.unique(np.round(at[np.isfinite(at)], 2))
    return at[np.unique(np.linspace(0, len(at) - 1, min(len(at), MOST_OFFSETS)).astype(int))]


def _prior(offsets: Floats, utc: bool) -> Floats:
    if not utc:
        return np.zeros(len(offsets))
    zone = np.abs(offsets - 1800 * np.round(offsets / 1800)) <= HONEST_S
    return HONEST_WEIGHT * np.exp(-((offsets / HONEST_S) ** 2) / 2) + np.where(zone, ZONE_WEIGHT, 0.0)


def _best(votes: Votes, offsets: Floats) -> _Best:
    band = np.hypot(np.hypot(votes.sigma, votes.sure), BAND_S)
    worth = votes.weight / (1 + np.minimum(votes.hi - votes.lo, LONGEST_RANGE_S) / RANGE_S)
    starts = np.flatnonzero(np.diff(votes.item, prepend=-1))
    off = np.maximum(votes.lo[:, None] - offsets, offsets - votes.hi[:, None])
    off = np.maximum(off, 0.0)
    gain = np.maximum(worth[:, None] - (off / band[:, None]) ** 2 / 2, 0.0)
    explained = np.maximum.reduceat(gain, starts, axis=0)
    gain[votes.beyond], off[votes.beyond] = 0.0, np.inf
    top = np.maximum.reduceat(gain, starts, axis=0)
    row = np.zeros(top.shape, dtype=np.int64)
    for k, (a, b) in enumerate(zip(starts, np.append(starts[1:], len(votes)), strict=True)):
        row[k] = a + np.argmin(off[a:b], axis=0)
    return _Best(top, explained, row)


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


@dataclass(frozen=True)
class _Chosen:
    """The vote that each item gives to the offset of its stretch. stretch: which of the offsets; read: on which stretch of the clock it rests."""

    y: Floats
    sigma: Floats
    own: Floats
    kind: Ints
    common: Floats
    order: Ints
    stretch: Ints
    width: Floats
    read: Ints
    sure: Floats
    tilt: Floats
    since: Floats


def _fit(votes: Votes, best: _Best, chosen: list[int], labels: Ints, offsets: Floats, utc: bool, drift: float) -> SourceTime:
    """Robust ridge fit of one offset a stretch and one drift; each offset is told where it is known best."""
    items = np.arange(len(labels))
    rows = best.row[items, np.array(chosen)[labels]]
    near = best.gain[items, np.array(chosen)[labels]] > 0
    at = offsets[np.array(chosen)][labels]
    width: Floats = np.minimum(votes.hi[rows] - votes.lo[rows], LONGEST_RANGE_S)
    every = _Chosen(np.clip(at, votes.lo[rows], votes.hi[rows]), np.hypot(votes.sigma[rows], width / 12**0.5), votes.own[rows], votes.kind[rows],
                    votes.common[rows], votes.order[rows], labels, width, votes.stretch[rows], votes.sure[rows], votes.tilt[rows],
                    votes.since[rows])
    kept = _Chosen(**{f.name: getattr(every, f.name)[near] for f in fields(_Chosen)})
    turns = [0] + [i for i in range(1, len(labels)) if labels[i] != labels[i - 1]]
    starts = (-np.inf, *(float(every.order[i]) for i in turns[1:]))
    pivots = np.array([_middle(kept, k) for k in range(len(chosen))])
    design = np.column_stack([*(kept.stretch == k for k in range(len(chosen))), kept.own - pivots[kept.stretch]]).astype(float)
    honest = utc & (np.abs(offsets[chosen]) <= NEAR_HONEST * HONEST_S)
    solution, spread, left, turn = _solve(kept, design, np.append(offsets[chosen], 0.0), honest, drift)
    pivots += turn
    instants = kept.width == 0
    ways = [int(labels[i]) for i in turns]
    return SourceTime(
        offsets=tuple(float(solution[k] + solution[-1] * turn[k]) for k in ways), starts=starts, pivots=tuple(float(pivots[k]) for k in ways),
        sigmas=tuple(float(max(LEAST_SIGMA_S, spread[k])) for k in ways), drift=float(solution[-1]),
        drift_sigma=float(spread[-1]), shared=len(kept.y), residuals=left[instants], kinds=kept.kind[instants])


def _middle(kept: _Chosen, k: int) -> float:
    mine = kept.own[kept.stretch == k]
    return float(mine.mean()) if len(mine) else 0.0


def _solve(kept: _Chosen, design: Floats, start: Floats, honest: NDArray[np.bool_], drift: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Solution, its standard errors, what is left of each vote, and how long after its pivot each offset is known best: its standard error is of
    there, where the drift's error has no part in it. What votes may be off by together is a column of its own (_together), held near nothing by its
    sigma: those that are off by little then place the log, and all of them tell its drift. An offset that may be an honest log's is held near none."""
    together, common = _together(kept)
    wide = np.column_stack([design, together])
    ridge = np.diag([*np.where(honest, 1 / HONEST_S**2, 1e-12), 1 / drift**2, *(1 / common**2)])
    solution, sigma = np.append(start, np.zeros(len(common))), kept.sigma
    measured = len(kept.y) >= LEAST_FOR_SCATTER
    for step in range(ITERATIONS):
        left = kept.y - wide @ solution
        if measured and step >= ITERATIONS // 2:
            sigma = _as_found(kept, left)
        r = np.abs(left) / sigma
        weight = np.where(r <= HUBER, 1.0, HUBER / np.maximum(r, 1e-9)) / sigma**2
        normal = wide.T @ (wide * weight[:, None]) + ridge
        solution = np.asarray(np.linalg.solve(normal, wide.T @ (weight * kept.y)), dtype=np.float64)
    inverse = np.linalg.inv(normal)[:len(start), :len(start)]
    turn = -inverse[:-1, -1] / inverse[-1, -1]
    spread = np.sqrt(np.diag(inverse) - np.append(turn**2 * inverse[-1, -1], 0.0))
    if measured:
        spread[:-1] *= few(len(kept.y), len(start))
        spread[:-1] = np.where(honest, np.minimum(spread[:-1], HONEST_S), spread[:-1])
    return solution[:len(start)], spread, kept.y - wide @ solution, turn


def _together(kept: _Chosen) -> tuple[Floats, Floats]:
    """Columns for what votes of a kind, votes on a stretch of the clock, and those that rest on another log's line and drift are off by together, and the
    sigma of each. What is left of a voice's habit in the line of a log that was set by its readings is in readings of that voice in this log too."""
    other = kept.read == OF_LOG
    voiced = np.isin(kept.kind, (MARKED, COUNTED)) & (kept.common > 0)
    habit = min(HABIT_S, float(np.median(kept.sure[other]))) if other.any() and voiced.any() else 0.0
    common, sure = (np.where(which, np.maximum(size**2 - habit**2, 0.0) ** 0.5, size) for which, size in ((voiced, kept.common), (other, kept.sure)))
    groups = [(kept.kind == one, common) for one in np.unique(kept.kind)] + [(kept.read == one, sure) for one in np.unique(kept.read)]
    if habit:
        groups.append((voiced | other, np.full(len(kept.y), habit)))
    columns = [group for group, _ in groups]
    sigmas = [max(LEAST_SIGMA_S, float(np.median(size[group]))) for group, size in groups]
    if other.any():
        columns.append(np.where(other, kept.since, 0.0))
        sigmas.append(max(LEAST_DRIFT, float(np.median(kept.tilt[other]))))
    return np.array(columns, dtype=float).reshape(-1, len(kept.y)).T, np.array(sigmas)


def _as_found(kept: _Chosen, left: Floats) -> Floats:
    """Sigmas scaled, kind by kind, to how the votes scatter about their own middle: some keep closer to the clock than their words promise, some less.
    A few votes show little of that themselves, and are taken to scatter as the log's others do."""
    kinds = np.unique(kept.kind)
    middles = np.array([float(np.median(left[kept.kind == kind])) for kind in kinds])
    r = (left - middles[np.searchsorted(kinds, kept.kind)]) / kept.sigma
    instant = kept.width == 0
    pooled = scale(r[instant], 0.0)
    sigma = kept.sigma.copy()
    for kind in kinds.tolist():
        mine = instant & (kept.kind == kind)
        n = int(mine.sum())
        if n:
            found = scale(r[mine], 0.0) if n > 1 else pooled
            found = float(((n * found**2 + LEAST_FOR_SCATTER * pooled**2) / (n + LEAST_FOR_SCATTER)) ** 0.5)
            sigma[kept.kind == kind] *= max(as_share(found, n + LEAST_FOR_SCATTER), LEAST_SHARE)
    return sigma
