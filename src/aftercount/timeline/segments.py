"""Which segments does the count clock have, and which holds, given the path's stretches?

Fills in what no mark saw: where in its bracket a silent hold lay (at the plan's hold when there is one, else where a
call was heard, else midway), when the clock was stopped and set at a recycle, and how the count went before the first
and after the last evidence (by the plan). Seconds after the scheduled T-0; count times in seconds.
Causes and names of who called are put to the holds elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from aftercount.timeline.model import COUNTING, HOLDING, JUMP, NEAR_S
from aftercount.timeline.pieces import Piece

PLAN_SIGMA_S = 60.0  # how far a count may stray from its plan where no mark tells: about a minute
LEAST_HOLD_S = 2.0  # a hold nobody called or planned, shorter than this, is the spread of the marks
STOPS = ("hold", "cutoff")
CALL_REACH_S = 15.0  # a call this near the instant of a change names it


@dataclass(frozen=True)
class Call:
    """A call about the clock at wall time u. what: hold | resume | recycle | cutoff | scrub | liftoff."""

    u: float
    what: str
    t: float
    to_t: float
    weight: float
    utterance: int
    row: int


@dataclass(frozen=True)
class Prior:
    """The plan's holds (count time, length), and the span of wall time that the logs cover."""

    holds: tuple[tuple[float, float], ...]
    begin: float
    end: float

    def z_before(self, t: float) -> float:
        """Projected T-0 by the schedule before any hold at or after t."""
        return -sum(length for at, length in self.holds if at >= t - NEAR_S)

    def planned(self, t: float) -> float:
        return sum(length for at, length in self.holds if abs(at - t) <= NEAR_S)


@dataclass(frozen=True)
class Segment:
    pass_: int
    state: int
    start: float
    end: float
    start_t: float
    end_t: float
    sigma: float
    sure_from: float | None = None
    sure_to: float | None = None
    unsure: float | None = None


@dataclass(frozen=True)
class Hold:
    """One hold as the clock shows it. end None: never resumed. inferred: no mark or call was kept inside it."""

    pass_: int
    t: float
    start: float
    end: float | None
    inferred: bool
    low: float
    high: float
    recycled_to: float | None = None
    planned: float = 0.0
    shared: bool = False  # one of several planned holds among which a silent one was divided


@dataclass
class Staircase:
    """The clock while it is being laid, segment by segment."""

    segments: list[Segment] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    pass_: int = 1
    u: float = 0.0
    z: float = 0.0

    def count_to(self, u: float, sigma: float) -> None:
        if u > self.u:
            self._add(Segment(self.pass_, COUNTING, self.u, u, self.u - self.z, u - self.z, sigma))

    def hold_to(self, u: float, t: float, sigma: float) -> None:
        if u > self.u:
            self._add(Segment(self.pass_, HOLDING, self.u, u, t, t, sigma))
        self.z = self.u - t

    def _add(self, made: Segment) -> None:
        last = self.segments[-1] if self.segments else None
        if last and (last.pass_, last.state, last.sigma) == (made.pass_, made.state, made.sigma) and abs(
                last.end_t - made.start_t) < 1e-6:
            self.segments[-1] = replace(last, end=made.end, end_t=made.end_t)
        else:
            self.segments.append(made)
        self.u = made.end


def lay(parts: Sequence[Piece], calls: Sequence[Call], prior: Prior) -> Staircase:
    """The whole staircase from the logs' beginning to their end."""
    stairs = Staircase()
    if not parts:
        _begin_by_plan(stairs, prior)
        _run_on(stairs, prior, PLAN_SIGMA_S)
        return stairs
    _lead_in(stairs, parts[0], calls, prior)
    for k, part in enumerate(parts):
        before = parts[k - 1] if k else None
        _enter(stairs, before, part, calls, prior)
        if part.state == COUNTING:
            stairs.count_to(max(part.last, stairs.u), part.sigma)
        else:
            stairs.hold_to(max(part.last, stairs.u), part.value, part.sigma)
    last = parts[-1]
    if last.state == HOLDING:
        _leave_last_hold(stairs, last, prior)
    else:
        _run_on(stairs, prior, last.sigma)
    return stairs


def _begin_by_plan(stairs: Staircase, prior: Prior) -> None:
    """Where the schedule has the count when the logs begin."""
    stairs.u = prior.begin
    for t, length in prior.holds:
        stairs.z = prior.z_before(t)
        if prior.begin < stairs.z + t:
            return
        if prior.begin < stairs.z + t + length:
            start, end = stairs.z + t, stairs.z + t + length
            stairs.hold_to(end, t, PLAN_SIGMA_S)
            stairs.holds.append(Hold(1, t, start, end, True, t, t, planned=length))
            return
    stairs.z = prior.z_before(np.inf)


def _lead_in(stairs: Staircase, first: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """Before the first evidence: back to the logs' beginning as planned."""
    spans: list[tuple[int, float, float, float]] = []  # state, start, end, Z or T, latest first
    if first.state == COUNTING:
        u, z = first.first, first.value
    else:
        told = any(c.what in STOPS and abs(c.u - first.first) <= LEAST_HOLD_S for c in calls)
        by_plan = prior.z_before(first.value) + first.value
        # nobody plans a hold that is called: the count ran until then
        u = first.first if told and not prior.planned(first.value) else min(first.first, max(prior.begin, by_plan))
        z = u - first.value
    stairs.u = u
    while u > prior.begin:
        held = [(t, length) for t, length in prior.holds if t < u - z - NEAR_S]
        stop = z + held[-1][0] if held else -np.inf
        spans.append((COUNTING, max(prior.begin, stop), u, z))
        if stop <= prior.begin:
            break
        t, length = held[-1]
        spans.append((HOLDING, max(prior.begin, stop - length), stop, t))
        stairs.holds.insert(0, Hold(1, t, stop - length, stop, True, t, t, planned=length))
        u, z = stop - length, stop - length - t
    if spans:
        stairs.u = spans[-1][1]
    for state, _, end, value in reversed(spans):
        sure = first.sigma if state == first.state == COUNTING and value == first.value else PLAN_SIGMA_S
        if state == COUNTING:
            stairs.z = value
            stairs.count_to(end, sure)
        else:
            stairs.hold_to(end, value, PLAN_SIGMA_S)
    stairs.z = first.value if first.state == COUNTING else stairs.u - first.value


def _enter(stairs: Staircase, before: Piece | None, part: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """From one stretch to the first evidence of the next."""
    if before is not None and part.move == JUMP:
        _recycle(stairs, before, part, calls)
        if part.state == COUNTING:
            stairs.z = part.value
        return
    if before is not None:
        _between(stairs, before, part, calls, prior)
    if part.state == COUNTING:
        stairs.z = part.value
    else:
        reach = 2 * part.sigma
        stairs.holds.append(Hold(stairs.pass_, part.value, stairs.u, None, False, part.value - reach, part.value + reach,
                                 planned=prior.planned(part.value)))


def _between(stairs: Staircase, before: Piece, part: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """Divides the time for which the clock stood still, unseen, among the end of the hold before, the planned holds on
    the way, a silent hold and the beginning of the hold after."""
    low = before.value if before.state == HOLDING else before.last - before.value
    high = part.value if part.state == HOLDING else part.first - part.value
    still = max(0.0, (part.first - before.last) - (high - low))
    edges = [-NEAR_S if p.state == HOLDING else NEAR_S for p in (before, part)]
    met = [h.t for h in stairs.holds if h.pass_ == stairs.pass_]
    planned = [(t, length) for t, length in prior.holds if low - edges[0] <= t <= high + edges[1] and length > 0
               and not any(abs(t - m) <= NEAR_S for m in met)]
    tail = _tail(stairs, before, still, calls, bool(planned) or part.state == HOLDING)
    shares = _shares(still - tail, [length for _, length in planned])
    rest = max(0.0, still - tail - sum(shares))
    stops = [(t, share, length) for (t, length), share in zip(planned, shares, strict=True) if share > 0]
    if part.state == COUNTING and rest > 0:
        if before.state == HOLDING:
            tail += rest
        elif stops:
            stops[-1] = (stops[-1][0], stops[-1][1] + rest, stops[-1][2])
        else:
            stops = [(_place(low, high, before.value, part.value, calls), rest, 0.0)]
    sigma = max(before.sigma, part.sigma)
    if before.state == HOLDING:
        _close_hold(stairs, max(stairs.u, before.last + tail), before.value, sigma)
    for t, share, length in stops:
        stairs.count_to(max(stairs.u, stairs.z + t), before.sigma)
        start = stairs.u
        stairs.hold_to(start + share, t, sigma)
        stairs.z = stairs.u - t
        stairs.holds.append(Hold(stairs.pass_, t, start, stairs.u, True, min(low, t), max(high, t), planned=length,
                                 shared=len(stops) > 1 or before.state == HOLDING or part.state == HOLDING))
    if part.state == HOLDING:
        stairs.count_to(max(stairs.u, stairs.z + part.value), before.sigma if before.state == COUNTING else sigma)


def _tail(stairs: Staircase, before: Piece, still: float, calls: Sequence[Call], others: bool) -> float:
    """How long the hold before went on after its last evidence: to a resume call, else to its planned end; all, if there
    is nothing else to take the time."""
    if before.state != HOLDING:
        return 0.0
    if not others:
        return still
    told = [c.u - before.last for c in calls if c.what == "resume" and 0 <= c.u - before.last <= still]
    held = stairs.holds[-1]
    return told[0] if told else min(still, max(0.0, held.start + held.planned - before.last))


def _shares(still: float, lengths: list[float]) -> list[float]:
    """The planned holds' shares of the time: their planned lengths, in proportion when there is less."""
    total = sum(lengths)
    return [length * min(1.0, still / total) if total else 0.0 for length in lengths]


def _close_hold(stairs: Staircase, end: float, t: float, sigma: float) -> None:
    """The open hold ends here."""
    stairs.hold_to(end, t, sigma)
    stairs.holds[-1] = replace(stairs.holds[-1], end=stairs.u)


def _place(low: float, high: float, z: float, z_after: float, calls: Sequence[Call]) -> float:
    """The count time in the bracket where a hold or a resume was called; midway if none was."""
    for what, ref in (("hold", z), ("cutoff", z), ("resume", z_after)):
        told = [c.u - ref for c in calls if c.what == what and low <= c.u - ref <= high]
        if told:
            return told[-1]
    return (low + high) / 2


def _recycle(stairs: Staircase, before: Piece, part: Piece, calls: Sequence[Call]) -> None:
    """The clock set to another T, somewhere between the last evidence before and the first after."""
    between = [c for c in calls if before.last - CALL_REACH_S <= c.u <= part.first + CALL_REACH_S]
    told = [c for c in between if c.what == "recycle"]
    to_t = next((c.to_t for c in told if np.isfinite(c.to_t)), np.nan)
    when = min(max(told[0].u, before.last), part.first) if told else part.first
    if before.state == COUNTING:
        stops = [c.u for c in between if c.what in ("hold", "cutoff") and before.last <= c.u <= when]
        stop = stops[0] if stops else when
        stairs.count_to(stop, before.sigma)
        t = stairs.u - before.value
        stairs.holds.append(Hold(stairs.pass_, t, stairs.u, None, not stops, t, t))
    held = stairs.holds[-1]
    stairs.hold_to(when, held.t, before.sigma)
    stairs.pass_ += 1
    if part.state == HOLDING:
        new_t = part.value
        stairs.holds[-1] = replace(held, recycled_to=new_t)
        stairs.hold_to(when, new_t, part.sigma)
        return
    resume = part.value + to_t if np.isfinite(to_t) and part.value + to_t >= when else when
    new_t = resume - part.value
    stairs.hold_to(resume, new_t, part.sigma)
    stairs.holds[-1] = replace(held, recycled_to=new_t, end=resume)


def _leave_last_hold(stairs: Staircase, last: Piece, prior: Prior) -> None:
    """After the last evidence of a hold: a planned one ends as planned, any other goes on to the end of the logs."""
    held = stairs.holds[-1]
    end = max(last.last, held.start + held.planned) if held.planned and held.recycled_to is None else np.inf
    if end < prior.end:
        _close_hold(stairs, end, last.value, PLAN_SIGMA_S)
        stairs.z = end - last.value
        _run_on(stairs, prior, PLAN_SIGMA_S)
    else:
        stairs.hold_to(prior.end, last.value, last.sigma)


def _run_on(stairs: Staircase, prior: Prior, sigma: float) -> None:
    """Counting on to the end of the logs, through the planned holds still to come."""
    for t, length in prior.holds:
        start = stairs.z + t
        if t <= stairs.u - stairs.z + NEAR_S or start >= prior.end or length <= 0:
            continue
        stairs.count_to(start, sigma)
        end = min(start + length, prior.end)
        stairs.hold_to(end, t, PLAN_SIGMA_S)
        stairs.holds.append(Hold(stairs.pass_, t, start, start + length if start + length <= prior.end else None, True,
                                 t, t, planned=length))
        stairs.z, sigma = stairs.u - t, PLAN_SIGMA_S
    stairs.count_to(prior.end, sigma)
