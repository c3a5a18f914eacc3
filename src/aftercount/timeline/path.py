"""Which path through counting and holding explains the count evidence best?

States: `C(Z)` counting with projected T-0 at wall time Z, and `H(T)` holding at count time T. Every instant is in
seconds after the scheduled T-0; count times are seconds, negative before T-0. A path keeps some nodes (marks, calls),
each in one state, and rejects the rest. The stated cost, of which `solve` returns the exact minimum over the given
candidate Zs and Ts:

    sum of `weight` over rejected nodes
  + sum of `emission` over kept nodes (half the squared residual in sigmas; plus `disagree`, or `disagree_sure` of its weight if that is more, when
    the words said the other state), only below the weight
  + for each two kept nodes in a row, the cheapest move between their states that the times between allow:
      stay            0; `repeat` of its weight at a hold or resume call, which tells of a hold that begins or ends
      hold            C(Z) to H(T), which happens at Z + T: `hold`, or `builtin` at a planned hold; and if the second node begins later
                      than LATE_S and its slack after that, `late_call` of its weight if it is a hold call, at least `late` at a planned hold, `late_shout` at another
      resume          H(T) to C(Z), which happens at Z + T: `resume`, and `unheard` more unless at a resume call
                      (at a resume call it happens within `slack` of the call);
                      from a planned hold that was entered from C(Z'), within ON_PLAN_S of its planned length: `on_plan` instead
      silent hold     C(Z) to C(Z'), Z' > Z, a hold that no kept node saw, though its end may have been called: `silent`, or `silent_builtin` at a planned one,
                      `silent_on_plan` if as long as that, to ON_PLAN_S
      run             H(T) to H(T'), T' > T, with the count running unseen between: `resume`, `unheard` unless T is planned, and then as for `hold`
      jump            any to any, the count set to another T at the second node: `jump`; or at a recycle call between,
                      of which the first node is no reading: `jump_called`, at the last resume call before the second node, if the first is none after it: `jump_resumed`; and `forward` more unless it is set back by BACK_S, `running` more if it was not held,
                      and `past` more if it had counted PAST_S past T-0
    where a planned hold is only entered by a count whose last kept node began at least SHORT_S short of it; and `skip` for each that the
    count ran past, or had come to within BACK_S when it was set back on the run, though for none that it was set to and held at
  + of the first kept node's state: `off_schedule` unless the plan has the count there then, and if it is a hold as for
    moving into it.

What a node says of the states is decided in evidence.py, which candidates are worth trying in candidates.py.
Since what a planned hold's end costs depends on its beginning, the table has states P(T, Z) too: in the planned hold T, entered from C(Z), to end as
planned. The work is (nodes) x (states near a node) x (states), so it grows linearly with the log.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aftercount.timeline.keeping import emission, start_cost
from aftercount.timeline.model import (
    BACK_S,
    BEGIN,
    HOLD,
    HOLD_CALL,
    HOLDING,
    JUMP,
    LATE_S,
    MARK,
    NEAR_S,
    ON_PLAN_S,
    PAST_S,
    RESUME,
    RESUME_CALL,
    RUN,
    SHORT_S,
    SILENT,
    STAY,
    Costs,
    Field,
    Floats,
    Ints,
    Nodes,
    Path,
)


@dataclass
class _Arrivals:
    """By arriving state: the least cost, and the row of the table and the state it came from by which move."""

    value: Floats
    row: Ints
    prev: Ints
    move: Ints


class _Table:
    """The running optimum: `best[i, s]` is the least cost so far of having last kept a node <= i in state s,
    less the skips up to there (so that staying costs nothing); `last` is that node."""

    def __init__(self, nodes: Nodes, field: Field, costs: Costs) -> None:
        self.builtin = built = field.is_builtin(field.t)
        self.planned = np.flatnonzero(built)  # the Ts of planned holds
        self.length = field.planned(field.t[self.planned])
        self.kz, self.k = len(field.z), len(field.z) + len(field.t)
        n, k = len(nodes), self.k + len(self.planned) * self.kz  # C(Z), H(T), then P(T, Z) by T and Z
        self.nodes, self.field, self.costs = nodes, field, costs
        self.best = np.full((n + 1, k), np.inf)  # row i + 1 is after node i
        self.last = np.full((n + 1, k), -1, dtype=np.int32)
        self.least, self.least_at = 0.0, (-1, -1)  # of all paths so far; keeping nothing costs no more than the weights
        self.from_node = np.full((n, k), -1, dtype=np.int32)
        self.from_state = np.full((n, k), -1, dtype=np.int32)
        self.moves = np.full((n, k), BEGIN, dtype=np.int8)
        # the skip is charged when the count goes on past the hold, or is left in it (`in_planned`)
        self.hold_cost = np.where(built, costs.builtin - costs.skip, costs.hold)
        self.in_planned = np.concatenate([np.zeros(self.kz), built.astype(float)])
        # row of `best` that a move at Z + T may leave from; a planned hold is entered once, by a count that was short of it
        at = field.z[:, None] + field.t[None, :]
        self.leave = np.searchsorted(nodes.end, at + costs.slack_s, side="right")
        short = np.searchsorted(nodes.start, at - SHORT_S, side="right")
        self.enter_hold = np.where(built, np.minimum(short, self.leave), self.leave)
        past = field.z[:, None] + field.builtin_t[None, :]
        self.leave_built = np.minimum(np.searchsorted(nodes.start, past - SHORT_S, side="right"),
                                      np.searchsorted(nodes.end, past + costs.slack_s, side="right"))
        self.resume_row = np.searchsorted(nodes.end, field.resumes + costs.slack_s, side="right")
        self.recycle_row = np.minimum(np.searchsorted(nodes.end, field.recycles + costs.slack_s, side="right"), [_own(nodes, r) for r in field.recycles.tolist()])

    def enter(self, j: int, states: Ints, start: Floats) -> _Arrivals:
        """Least cost of arriving at node j in each of `states`, with whence (node row, state) and by which move."""
        counting = states < self.kz
        skipped = self.costs.skip * self.field.passed(self.count_time(j, states, at_end=False))
        n = len(states)
        into = _Arrivals(start - skipped, np.zeros(n, dtype=np.int64), np.full(n, -1), np.full(n, BEGIN))
        again = self.costs.repeat * self.nodes.weight[j] if self.nodes.kind[j] in (HOLD_CALL, RESUME_CALL) else 0.0
        stay = self.best[j, states] + again
        better = stay < into.value
        into.value[better], into.row[better] = stay[better], j
        into.prev[better], into.move[better] = states[better], STAY
        self._jump(j, states, into, skipped + self.costs.skip * self.in_planned[states])
        if counting.any():
            self._to_counting(j, states, np.flatnonzero(counting), into)
        if not counting.all():
            self._to_holding(j, states, np.flatnonzero(~counting), into)
        return into

    def count_time(self, j: int, states: Ints, *, at_end: bool) -> Floats:
        grid = np.concatenate([self.field.z, self.field.t])[states]
        at = self.nodes.end[j] if at_end else self.nodes.start[j]
        return np.where(states < self.kz, at - grid, grid)

    def _jump(self, j: int, states: Ints, into: _Arrivals, skipped: Floats) -> None:
        now = float(self.nodes.start[j])
        reached = self.count_time(j, states, at_end=False)
        self._jump_from(j, now, self.costs.jump, reached, into, skipped)
        called = self.field.recycles <= now + self.nodes.slack[j]
        for row, when in zip(np.minimum(self.recycle_row[called], j), self.field.recycles[called], strict=True):
            self._jump_from(int(row), float(when), self.costs.jump_called, reached, into, skipped)
        last = int(np.searchsorted(self.field.resumes, now + self.nodes.slack[j], side="right")) - 1
        if last >= 0:
            self._jump_from(min(int(self.resume_row[last]), j), float(self.field.resumes[last]), self.costs.jump_resumed, reached, into, skipped)

    def _jump_from(self, row: int, when: float, price: float, reached: Floats, into: _Arrivals, skipped: Floats) -> None:
        """Jumps at wall time `when` from whatever state is best at `row`: back from those that read a later count."""
        if row == 0:
            return
        read = np.concatenate([when - self.field.z, self.field.t])
        come = np.where(np.arange(self.k) < self.kz, read + BACK_S, read)
        cost = self.best[row, :self.k] + self.costs.skip * (self.field.passed(come) + self.in_planned) + self.costs.past * (read > PAST_S) + price
        cost[:self.kz] += self.costs.running
        order = np.argsort(-read, kind="stable")
        falling = cost[order]
        least = np.minimum.accumulate(falling)
        first = np.maximum.accumulate(np.where(falling == least, np.arange(len(order)), 0))
        later = np.searchsorted(-read[order], -(reached + BACK_S), side="right")
        back = np.where(later > 0, least[np.maximum(later - 1, 0)], np.inf)
        ahead = least[-1] + self.costs.forward
        found = np.minimum(back, ahead) - skipped
        whence = np.where(back <= ahead, order[first[np.maximum(later - 1, 0)]], order[first[-1]])
        better = found < into.value
        into.value[better], into.row[better] = found[better], row
        into.prev[better], into.move[better] = whence[better], JUMP

    def _to_counting(self, j: int, states: Ints, at: Ints, into: _Arrivals) -> None:
        z, costs = self.field.z[states[at]], self.costs
        now, slack, called = self.nodes.start[j], self.nodes.slack[j], self.nodes.kind[j] == RESUME_CALL
        if len(self.field.t):
            rows = np.minimum(self.leave[states[at]], j)
            cost = self.best[rows, self.kz + np.arange(len(self.field.t))[None, :]] + costs.resume + (0.0 if called else costs.unheard)
            off = z[:, None] + self.field.t[None, :] - now
            cost = np.where((off <= slack) & ((off >= -slack) | ~called), cost, np.inf)
            self._take(cost, rows, self.kz, RESUME, at, into)
            for m, h in enumerate(self.planned.tolist()):
                first = self.k + m * self.kz
                cost = self.best[rows[:, h], first:first + self.kz] + costs.on_plan
                asked = (off[:, h] <= slack) & ((off[:, h] >= -slack) | ~called)
                as_long = np.abs(z[:, None] - self.field.z[None, :] - self.length[m]) <= ON_PLAN_S
                cost = np.where(asked[:, None] & as_long, cost, np.inf)
                self._take(cost, np.broadcast_to(rows[:, h, None], cost.shape), first, RESUME, at, into)
        later = z[:, None] - self.field.z[None, :]
        allowed = later >= costs.least_hold_s
        if not allowed.any():
            return
        rows = np.minimum(np.searchsorted(self.nodes.end, now - later + slack, side="right"), j)
        all_z = np.arange(self.kz)[None, :]
        cost = np.where(allowed, self.best[rows, all_z] + costs.silent, np.inf)
        self._take(cost, rows, 0, SILENT, at, into)
        for b, (t, length) in enumerate(zip(self.field.builtin_t, self.field.builtin_s, strict=True)):
            reached = (now - z >= t - slack) & ((now - z <= t + slack) | ~called)
            if reached.any():
                rows = np.broadcast_to(np.minimum(self.leave_built[:, b], j)[None, :], allowed.shape)
                price = np.where(np.abs(later - length) <= ON_PLAN_S, costs.silent_on_plan, costs.silent_builtin)
                cost = self.best[rows, all_z] + price - costs.skip
                cost = np.where(allowed & reached[:, None], cost, np.inf)
                self._take(cost, rows, 0, SILENT, at, into)

    def _to_holding(self, j: int, states: Ints, at: Ints, into: _Arrivals) -> None:
        which = states[at] - self.kz
        t, slack = self.field.t[which], self.nodes.slack[j]
        ran = t[:, None] - self.field.t[None, :]
        rows = np.minimum(np.searchsorted(self.nodes.end, self.nodes.start[j] - ran + slack, side="right"), j)
        cost = self.best[rows, self.kz + np.arange(len(self.field.t))[None, :]] + self.costs.resume + np.where(self.builtin, 0.0, self.costs.unheard)
        cost = np.where(ran > NEAR_S, cost + self.hold_cost[which][:, None], np.inf)
        self._take(cost, rows, self.kz, RUN, at, into)
        if not self.kz:
            return
        rows = np.minimum(self.enter_hold[:, which].T, j)
        cost = self.best[rows, np.arange(self.kz)[None, :]] + self.hold_cost[which][:, None]
        off = self.field.z[None, :] + t[:, None] - self.nodes.start[j]
        cost = np.where(off <= slack, cost + self._late(j, off, self.builtin[which][:, None]), np.inf)
        self._take(cost, rows, 0, HOLD, at, into)

    def _late(self, j: int, off: Floats, built: NDArray[np.bool_]) -> Floats:
        """What it costs that nothing was heard of a hold before node j; off: from the node to the hold's beginning; built: whether it is planned."""
        call = self.costs.late_call * self.nodes.weight[j] if self.nodes.kind[j] == HOLD_CALL else 0.0
        return np.where(off < -max(LATE_S, self.nodes.slack[j]), np.where(built, max(self.costs.late, call), max(self.costs.late_shout, call)), 0.0)

    @staticmethod
    def _take(cost: Floats, rows: Ints, base: int, code: int, at: Ints, into: _Arrivals) -> None:
        least = np.argmin(cost, axis=1)
        each = np.arange(len(at))
        found = cost[each, least]
        better = found < into.value[at]
        hit = at[better]
        into.value[hit], into.row[hit] = found[better], rows[each, least][better]
        into.prev[hit], into.move[hit] = least[better] + base, code

    def keep(self, j: int, states: Ints, gain: Floats, start: Floats) -> None:
        """Enter node j into the table: gain is emission less weight."""
        self.best[j + 1], self.last[j + 1] = self.best[j], self.last[j]
        if not len(states):
            return
        into = self.enter(j, states, start)
        value = into.value + gain
        self._keep_planned(j, states, gain)
        self.from_node[j, states] = np.where(into.prev >= 0, self.last[into.row, np.maximum(into.prev, 0)], -1)
        self.from_state[j, states], self.moves[j, states] = into.prev, into.move
        better = value < self.best[j + 1, states]
        self.best[j + 1, states[better]] = value[better]
        self.last[j + 1, states[better]] = j
        full = value + self.costs.skip * (self.field.passed(self.count_time(j, states, at_end=True)) + self.in_planned[states])
        least = int(np.argmin(full))
        if full[least] < self.least:
            self.least, self.least_at = float(full[least]), (j, int(states[least]))

    def _keep_planned(self, j: int, states: Ints, gain: Floats) -> None:
        """The same for planned holds that will end as planned, each by the Z that it was entered from."""
        again = self.costs.repeat * self.nodes.weight[j] if self.nodes.kind[j] in (HOLD_CALL, RESUME_CALL) else 0.0
        slack, z = self.nodes.slack[j], np.arange(self.kz)
        for m, h in enumerate(self.planned.tolist()):
            at = np.flatnonzero(states == self.kz + h)
            if not len(at):
                continue
            mine = self.k + m * self.kz + z
            rows = np.minimum(self.enter_hold[:, h], j)
            off = self.field.z + self.field.t[h] - self.nodes.start[j]
            entered = self.best[rows, z] + self.hold_cost[h] + self._late(j, off, np.ones(len(off), dtype=bool))
            entered = np.where(off <= slack, entered, np.inf)
            stayed = self.best[j, mine] + again
            new = entered < stayed
            value = np.where(new, entered, stayed) + gain[at[0]]
            better = value < self.best[j + 1, mine]
            self.from_node[j, mine] = np.where(new, self.last[rows, z], self.last[j, mine])
            self.from_state[j, mine] = np.where(new, z, mine)
            self.moves[j, mine] = np.where(new, HOLD, STAY)
            self.best[j + 1, mine[better]] = value[better]
            self.last[j + 1, mine[better]] = j


def _own(nodes: Nodes, when: float) -> int:
    """The reading of what a recycle call sets the clock to: from there on the call has done what it said."""
    own = np.flatnonzero((nodes.start == when) & (nodes.kind == MARK) & (nodes.says == HOLDING))
    return int(own[0]) if len(own) else len(nodes)


def solve(nodes: Nodes, field: Field, costs: Costs) -> Path:
    """The path of least stated cost."""
    table = _Table(nodes, field, costs)
    for j in range(len(nodes)):
        states, cost = emission(nodes, j, field, costs)
        begin = start_cost(table.count_time(j, states, at_end=False), float(nodes.start[j]), field, costs)
        held = states >= table.kz
        begin[held] += table.hold_cost[states[held] - table.kz]
        table.keep(j, states, cost - nodes.weight[j], begin)
    return _trace(table, float(nodes.weight.sum()))


def _trace(table: _Table, rejected: float) -> Path:
    node, state, move = [], [], []
    at, s = table.least_at
    while at >= 0:
        node.append(at)
        state.append(s if s < table.k else table.kz + int(table.planned[(s - table.k) // table.kz]))
        move.append(int(table.moves[at, s]))
        at, s = int(table.from_node[at, s]), int(table.from_state[at, s])
    return Path(node[::-1], state[::-1], move[::-1], rejected + table.least)
