"""What does it cost to keep one node in a state, and to begin there?

Two terms of the cost that path.py states. Instants are seconds after the scheduled T-0, count times seconds.
"""

from __future__ import annotations

import numpy as np

from aftercount.timeline.model import (
    ANY,
    CALL_NEAR_S,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    NEAR_S,
    RESUME_CALL,
    TARGET,
    Costs,
    Field,
    Floats,
    Ints,
    Nodes,
)

ON_SCHEDULE_S = 5.0  # s: spoken marks are good to a second or two


def emission(nodes: Nodes, i: int, field: Field, costs: Costs) -> tuple[Ints, Floats]:
    """States in which node i can be kept, and what keeping it there costs."""
    kz, kt = len(field.z), len(field.t)
    weight, sigma, kind = float(nodes.weight[i]), float(nodes.sigma[i]), int(nodes.kind[i])
    if kind == HOLD_CALL:
        elsewhere = np.abs(field.t - nodes.t[i]) > CALL_NEAR_S  # False when the call named no count time
        return np.arange(kz, kz + kt), np.where(elsewhere, costs.misnamed * weight, 0.0)
    if kind == RESUME_CALL:
        return np.arange(kz), np.zeros(kz)
    if kind == TARGET:
        counting = ((nodes.t[i] - field.z - field.remaining(nodes.start[i] - field.z)) / sigma) ** 2 / 2
        cost = np.concatenate([counting, np.full(kt, costs.target_in_hold)])
        states = np.flatnonzero(cost < weight)
        return states, cost[states]
    says, strict = int(nodes.says[i]), bool(nodes.strict[i])
    parts: list[tuple[Ints, Floats]] = []
    for state, grid, base, value, off in (
        (COUNTING, field.z, 0, float(nodes.start[i] - nodes.t[i]), sigma),
        (HOLDING, field.t, kz, float(nodes.t[i]), float(nodes.read[i])),
    ):
        reach = off * (2 * weight) ** 0.5
        against = says not in (ANY, state)
        if against and strict:
            continue
        lo, hi = np.searchsorted(grid, [value - reach, value + reach])
        cost = ((grid[lo:hi] - value) / off) ** 2 / 2 + (max(costs.disagree, costs.disagree_sure * weight) if against else 0.0)
        keep = cost < weight
        parts.append((np.arange(lo, hi)[keep] + base, cost[keep]))
    if not parts:
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])


def start_cost(t: Floats, u: float, field: Field, costs: Costs) -> Floats:
    """Nothing when the plan has the count at t at wall time u (give or take a planned hold at t), else off_schedule."""
    latest = t - field.remaining(t)
    held = np.zeros(len(t))
    for at, length in zip(field.builtin_t, field.builtin_s, strict=True):
        held = np.where(np.abs(t - at) <= NEAR_S, length, held)
    on = (u <= latest + ON_SCHEDULE_S) & (u >= latest - held - ON_SCHEDULE_S)
    return np.where(on, 0.0, costs.off_schedule)
