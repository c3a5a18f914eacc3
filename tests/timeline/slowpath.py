"""The path of least cost the slow, obvious way: every choice of kept nodes and states is tried and priced.

Written from the stated cost alone (the docstring of aftercount.timeline.path), with plain loops.
"""

from __future__ import annotations

from aftercount.timeline.keeping import ON_SCHEDULE_S
from aftercount.timeline.model import (
    ANY,
    BACK_S,
    CALL_NEAR_S,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    LATE_S,
    MARK,
    NEAR_S,
    ON_PLAN_S,
    PAST_S,
    RESUME_CALL,
    SHORT_S,
    TARGET,
    Costs,
    Field,
    Nodes,
)

State = tuple[str, float, float]  # counting C with its Z, holding H at its T, or P: in a planned hold at T that was entered from Z (the last) and ends as planned
NONE = float("nan")


def every_state(field: Field) -> list[State]:
    counting = [("C", float(z), NONE) for z in field.z]
    holding = [("H", float(t), NONE) for t in field.t]
    return counting + holding + [("P", t, z) for _, t, _ in holding if planned(t, field) for _, z, _ in counting]


def least_cost(nodes: Nodes, field: Field, costs: Costs) -> float:
    """The least stated cost over all paths."""
    states = every_state(field)
    best = float(nodes.weight.sum())

    def go_on(i: int, at: tuple[int, State] | None, cost: float) -> None:
        nonlocal best
        if cost - costs.skip * (len(nodes) - i) >= best:
            return  # no move takes off more than a hold that is not run past
        if i == len(nodes):
            best = min(best, cost + (unspent(at[1], field, costs) if at else 0.0))
            return
        go_on(i + 1, at, cost + float(nodes.weight[i]))
        for state in states:
            kept = price_kept(nodes, i, state, field, costs)
            if kept is None:
                continue
            moved = begin(nodes, i, state, field, costs) if at is None else price_move(nodes, at, (i, state), field, costs)
            if moved is not None:
                go_on(i + 1, (i, state), cost + kept + moved)

    go_on(0, None, 0.0)
    return best


def price_kept(nodes: Nodes, i: int, state: State, field: Field, costs: Costs) -> float | None:
    kind, value = "C" if state[0] == "C" else "H", state[1]
    if nodes.kind[i] == HOLD_CALL:
        if kind != "H":
            return None
        return costs.misnamed * float(nodes.weight[i]) if abs(value - nodes.t[i]) > CALL_NEAR_S else 0.0
    if nodes.kind[i] == RESUME_CALL:
        return 0.0 if kind == "C" else None
    if nodes.kind[i] == TARGET:
        if kind == "H":
            cost = costs.target_in_hold
        else:
            t = nodes.start[i] - value
            to_come = sum(s for at, s in zip(field.builtin_t, field.builtin_s, strict=True) if at >= t + NEAR_S + 1e-12)
            cost = ((nodes.t[i] - value - to_come) / nodes.sigma[i]) ** 2 / 2
        return cost if cost < nodes.weight[i] else None
    claimed = {ANY: kind, COUNTING: "C", HOLDING: "H"}[int(nodes.says[i])]
    if claimed != kind and nodes.strict[i]:
        return None
    seen = nodes.start[i] - nodes.t[i] if kind == "C" else nodes.t[i]
    cost = ((seen - value) / (nodes.sigma[i] if kind == "C" else nodes.read[i])) ** 2 / 2 + (max(costs.disagree, costs.disagree_sure * float(nodes.weight[i])) if claimed != kind else 0.0)
    if cost >= nodes.weight[i]:
        return None
    low, high = (count(nodes, i, state, leaving=leaving) for leaving in (False, True))
    return cost + skips(low, high, field, costs)  # a run may last past a planned hold


def count(nodes: Nodes, i: int, state: State, *, leaving: bool) -> float:
    at = nodes.end[i] if leaving else nodes.start[i]
    return float(at - state[1]) if state[0] == "C" else state[1]


def skips(low: float, high: float, field: Field, costs: Costs) -> float:
    """Planned holds run past between two count times."""
    passed = [sum(1 for b in field.builtin_t if b < t - NEAR_S) for t in (low, high)]
    return costs.skip * (passed[1] - passed[0])


def planned(t: float, field: Field) -> bool:
    return any(abs(t - b) <= NEAR_S for b in field.builtin_t)


def as_planned(t: float, length: float, field: Field) -> bool:
    """Whether a hold of this length is that planned at t, or nearest to it."""
    _, meant = min(zip(field.builtin_t, field.builtin_s, strict=True), key=lambda hold: abs(hold[0] - t))
    return bool(abs(length - meant) <= ON_PLAN_S)


def unspent(state: State, field: Field, costs: Costs) -> float:
    """A planned hold that the count does not go on from was not run past: what its price took off for that is due again."""
    return costs.skip if state[0] != "C" and planned(state[1], field) else 0.0


def begin(nodes: Nodes, i: int, state: State, field: Field, costs: Costs) -> float | None:
    if state[0] == "P":
        return None
    t, u = count(nodes, i, state, leaving=False), float(nodes.start[i])
    over = t - sum(s for at, s in zip(field.builtin_t, field.builtin_s, strict=True) if at >= t + NEAR_S + 1e-12)
    held = sum(s for at, s in zip(field.builtin_t, field.builtin_s, strict=True) if abs(t - at) <= NEAR_S)
    hold = 0.0 if state[0] == "C" else costs.builtin - costs.skip if planned(t, field) else costs.hold
    return hold + (0.0 if over - held - ON_SCHEDULE_S <= u <= over + ON_SCHEDULE_S else costs.off_schedule)


def own_reading(nodes: Nodes, r: float) -> int:
    """The first node that reads what the recycle call at r sets the clock to."""
    return min((k for k in range(len(nodes)) if nodes.start[k] == r and nodes.kind[k] == MARK and nodes.says[k] == HOLDING), default=len(nodes))


def price_move(nodes: Nodes, a: tuple[int, State], b: tuple[int, State], field: Field, costs: Costs) -> float | None:
    """The cheapest allowed move from node and state a to node and state b."""
    (i, (k1, v1, z1)), (j, (k2, v2, z2)) = a, b
    u1, u2, slack = float(nodes.end[i]), float(nodes.start[j]), float(nodes.slack[j])
    began = float(nodes.start[i])
    t1, t2 = count(nodes, i, a[1], leaving=True), count(nodes, j, b[1], leaving=False)
    skipped = skips(t1, t2, field, costs)
    hold = (costs.builtin - costs.skip if planned(v2, field) else costs.hold) if k2 != "C" else 0.0
    prices: list[float] = []
    if (k1, v1) == (k2, v2) and (k1 != "P" or z1 == z2):
        prices.append(skipped + (costs.repeat * float(nodes.weight[j]) if nodes.kind[j] in (HOLD_CALL, RESUME_CALL) else 0.0))
    if k1 == "C" and (k2 == "H" or (k2 == "P" and v1 == z2)):
        when = v1 + v2
        call = costs.late_call * float(nodes.weight[j]) if nodes.kind[j] == HOLD_CALL else 0.0
        late = max(costs.late if planned(v2, field) else costs.late_shout, call) if when < u2 - max(LATE_S, slack) else 0.0
        if when <= u2 + slack and u1 <= when + costs.slack_s and (not planned(v2, field) or began <= when - SHORT_S):
            prices.append(hold + late + skipped)
    if k1 in ("H", "P") and k2 == "C":
        when = v1 + v2
        near = abs(when - u2) <= slack if nodes.kind[j] == RESUME_CALL else when <= u2 + slack
        if near and u1 <= when + costs.slack_s:
            unheard = 0.0 if nodes.kind[j] == RESUME_CALL else costs.unheard
            if k1 == "H":
                prices.append(costs.resume + unheard + skipped)
            elif as_planned(v1, v2 - z1, field):
                prices.append(costs.on_plan + skipped)
    if "P" in (k1, k2):
        return min(prices, default=None)
    if (k1, k2) == ("H", "H") and v2 - v1 > NEAR_S and u1 <= u2 - (v2 - v1) + slack:
        prices.append(costs.resume + (0.0 if planned(v1, field) else costs.unheard) + hold + skipped)
    if (k1, k2) == ("C", "C") and v2 - v1 >= costs.least_hold_s:
        if u1 <= u2 - (v2 - v1) + slack:
            prices.append(costs.silent + skipped)
        for built in field.builtin_t:
            ended = t2 >= built - slack and (t2 <= built + slack or nodes.kind[j] != RESUME_CALL)
            if ended and u1 <= v1 + built + costs.slack_s and began <= v1 + built - SHORT_S:
                silent = costs.silent_on_plan if as_planned(float(built), v2 - v1, field) else costs.silent_builtin
                prices.append(silent - costs.skip + skipped)
    called = [(float(r), costs.jump_called) for r in field.recycles if u1 <= r + costs.slack_s and r <= u2 + slack and i < own_reading(nodes, float(r))]
    resumed = [(float(r), costs.jump_resumed) for r in [r for r in field.resumes if r <= u2 + slack][-1:] if u1 <= r + costs.slack_s]
    for when, price in [(u2, costs.jump), *called, *resumed]:
        read = when - v1 if k1 == "C" else v1
        price += (costs.running if k1 == "C" else 0.0) + (costs.past if read > PAST_S else 0.0)
        price -= costs.skip if k2 != "C" and planned(v2, field) else 0.0  # set to a planned hold: it is held there
        prices.append(price + skips(t1, read + (BACK_S if k1 == "C" else 0.0), field, costs) + unspent(a[1], field, costs) + (costs.forward if t2 > read - BACK_S else 0.0))
    return min(prices) if prices else None
