"""Which segments does the count clock have, and which holds, given the path's stretches?

Fills in what no mark saw between them: where in its bracket a silent hold lay (at the plan's hold when there is one, else where a
call was heard, else midway), and when the clock was stopped and set at a recycle. Seconds after the scheduled T-0; count times in
seconds. What was before the first and after the last stretch is in `ends`; causes and names of who called are put to the holds elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from aftercount.timeline.ends import begin_by_plan, lead_in, leave_last_hold, run_on
from aftercount.timeline.evidence import CALL_WEIGHT
from aftercount.timeline.model import COUNTING, HOLDING, JUMP, NEAR_S, RESUME
from aftercount.timeline.pieces import Piece
from aftercount.timeline.staircase import CALL_REACH_S, PLAN_SIGMA_S, STOPS, Call, Hold, Prior, Staircase

AS_PLANNED_S = 10.0  # a hold that lasted as planned from its first word: as long as planned to ON_PLAN_S, and the word said as soon after it began
ROUNDS_S = (3600.0, 1800.0, 900.0, 600.0, 300.0, 60.0)  # what clocks are set to are multiples of these, the longest that can be
SET_S = 3.0  # a clock is said to be set within so long of its being set
LATE_CALL_S = 20.0  # a hold is called as it begins: within the time that a voice takes to call and a clock to stop, and some more


def lay(parts: Sequence[Piece], calls: Sequence[Call], prior: Prior) -> Staircase:
    """The whole staircase from the logs' beginning to their end."""
    stairs = Staircase()
    if not parts:
        begin_by_plan(stairs, prior)
        run_on(stairs, prior, PLAN_SIGMA_S)
        return stairs
    lead_in(stairs, parts[0], calls, prior)
    parts = [replace(p, as_heard=p.state == HOLDING and _as_heard(p, parts[k + 1:k + 2], calls, prior)) for k, p in enumerate(parts)]
    for k, part in enumerate(parts):
        before, laid = parts[k - 1] if k else None, len(stairs.holds)
        _enter(stairs, before, part, calls, prior)
        _not_read(stairs, laid, parts, k)
        if part.state == HOLDING and not part.sure and before is not None and k + 1 < len(parts):
            _widen(stairs, before, parts[k + 1])
        if part.state == COUNTING:
            stairs.count_to(max(part.last, stairs.u), part.sigma)
        else:
            stairs.hold_to(max(part.last, stairs.u), part.value, part.sigma)
    last = parts[-1]
    if last.state == HOLDING:
        leave_last_hold(stairs, last, prior)
    else:
        run_on(stairs, prior, last.sigma)
    return stairs


def _enter(stairs: Staircase, before: Piece | None, part: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """From one stretch to the first evidence of the next."""
    if before is not None and part.move == JUMP:
        _recycle(stairs, before, part, calls, prior)
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


def _widen(stairs: Staircase, before: Piece, after: Piece) -> None:
    """A hold seen by one reading that may be false lies somewhere between what was counted before it and after."""
    if before.state == after.state == COUNTING and after.move != JUMP:
        low, high = before.last - before.value, after.first - after.value
        stairs.holds[-1] = replace(stairs.holds[-1], inferred=True, low=min(low, stairs.holds[-1].low), high=max(high, stairs.holds[-1].high))


def _not_read(stairs: Staircase, laid: int, parts: Sequence[Piece], k: int) -> None:
    """Where only steps tell of the stretch before stretch k or of k itself, a hold laid between them lies anywhere between what was read: steps are
    early and late. laid: how many holds there were before."""
    low, high = k - 1, k
    while low > 0 and not parts[low].read and parts[low].move != JUMP:
        low -= 1
    while high + 1 < len(parts) and not parts[high].read and parts[high + 1].move != JUMP:
        high += 1
    if low < 0 or (low, high) == (k - 1, k):
        return
    least, most = _count(parts[low], parts[low].last), _count(parts[high], parts[high].first)
    stairs.holds[laid:] = [replace(h, low=min(h.low, least), high=max(h.high, most)) if h.inferred else h for h in stairs.holds[laid:]]


def _count(part: Piece, u: float) -> float:
    return u - part.value if part.state == COUNTING else part.value


def _between(stairs: Staircase, before: Piece, part: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """Divides the time for which the clock stood still, unseen, among the end of the hold before, the planned holds on
    the way, a silent hold and the beginning of the hold after."""
    low, high = _count(before, before.last), _count(part, part.first)
    still = max(0.0, (part.first - before.last) - (high - low))
    edges = [-NEAR_S if p.state == HOLDING else NEAR_S for p in (before, part)]
    met = [h.t for h in stairs.holds if h.pass_ == stairs.pass_]
    planned = [(t, length) for t, length in prior.holds if min(low, high) - edges[0] <= t <= max(low, high) + edges[1] and length > 0
               and not any(abs(t - m) <= NEAR_S for m in met)]
    tail = _tail(stairs, before, still, calls, bool(planned) or part.state == HOLDING)
    shares = _shares(still - tail, [length for _, length in planned])
    rest = max(0.0, still - tail - sum(shares))
    stops = [(t, share, length) for (t, length), share in zip(planned, shares, strict=True) if share > 0]
    if rest > 0 and (part.state == COUNTING or (rest > LATE_CALL_S + part.step and part.as_heard)):
        if before.state == HOLDING:
            tail += rest
        elif stops:
            stops[-1] = (stops[-1][0], stops[-1][1] + rest, stops[-1][2])
        else:
            stops = [(_place((low, high), before, part, calls), rest, 0.0)]
    sigma = max(before.sigma, part.sigma)
    if before.state == HOLDING:
        stairs.close_hold(max(stairs.u, before.last + tail), before.value, sigma)
    for t, share, length in stops:
        stairs.count_to(max(stairs.u, stairs.z + t), before.sigma)
        start = stairs.u
        stairs.hold_to(start + share, t, sigma)
        stairs.z = stairs.u - t
        stairs.holds.append(Hold(stairs.pass_, t, start, stairs.u, True, min(low, t), max(high, t), planned=length,
                                 shared=len(stops) > 1 or before.state == HOLDING or part.state == HOLDING))
    if part.state == HOLDING:
        stairs.count_to(max(stairs.u, stairs.z + part.value), before.sigma if before.state == COUNTING else sigma)


def _as_heard(part: Piece, after: Sequence[Piece], calls: Sequence[Call], prior: Prior) -> bool:
    """Whether a hold began where its evidence begins: it was called there, beyond doubt, or from there on it lasted as planned, or several logs
    begin to tell of it together."""
    planned = prior.planned(part.value)
    called = any(c.what in STOPS and c.weight >= CALL_WEIGHT["certain"] and abs(c.u - part.first) <= LATE_CALL_S for c in calls)
    if part.voices > 1 or called or not planned:
        return part.voices > 1 or called
    ends = [p.value + part.value for p in after if p.state == COUNTING and p.move == RESUME]
    return any(abs(end - part.first - planned) <= AS_PLANNED_S for end in ends)


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


def _place(bracket: tuple[float, float], before: Piece, part: Piece, calls: Sequence[Call]) -> float:
    """The count time in the bracket where a hold or a resume was called; if none was, midway, as far as the steps heard leave room."""
    low, high = bracket
    for what, ref in (("hold", before.value), ("cutoff", before.value), ("resume", part.value)):
        told = [c.u - ref for c in calls if c.what == what and c.weight >= CALL_WEIGHT["likely"] and low <= c.u - ref <= high]
        if told:
            return told[-1]
    if before.state == part.state == COUNTING and before.stepped and part.stepped:
        narrower = max(low, _count(before, before.stepped[1])), min(high, _count(part, part.stepped[0]))
        low, high = narrower if narrower[0] <= narrower[1] else bracket
    return (low + high) / 2


def _recycle(stairs: Staircase, before: Piece, part: Piece, calls: Sequence[Call], prior: Prior) -> None:
    """The clock set to another T, somewhere between the last evidence before and the first after; the count that came to a planned hold by then was in it."""
    between = [c for c in calls if before.last - CALL_REACH_S <= c.u <= part.first + CALL_REACH_S]
    told = [c for c in between if c.what == "recycle"]
    when = min(max(told[0].u, before.last), part.first) if told else part.first
    to_t = _set_to([c for c in told if np.isfinite(c.to_t)], part, when)
    resume = part.value + to_t if np.isfinite(to_t) else _started(when, part, calls, prior) if part.state == COUNTING else when
    when = max(min(when, resume), min(when, before.last))
    if before.state == COUNTING:
        stops = [c.u for c in between if c.what in ("hold", "cutoff") and before.last <= c.u <= when]
        read, reached = before.last - before.value, when - before.value
        planned = [t for t, length in prior.holds if length > 0 and read + NEAR_S < t < reached]
        unseen = not stops and not planned and read < 0.0 < reached  # a count that comes to T-0 is over: it stopped before, nobody saw where
        stop = stops[0] if stops else before.value + planned[0] if planned else before.value + read / 2 if unseen else when
        stairs.count_to(stop, before.sigma)
        t = stairs.u - before.value
        stairs.holds.append(Hold(stairs.pass_, t, stairs.u, None, not stops, read if unseen else t, 0.0 if unseen else t, planned=prior.planned(t)))
    held = stairs.holds[-1]
    stairs.hold_to(when, held.t, before.sigma)
    stairs.pass_ += 1
    if part.state == HOLDING:
        new_t = part.value
        stairs.holds[-1] = replace(held, recycled_to=new_t)
        stairs.hold_to(when, new_t, part.sigma)
        return
    new_t = resume - part.value
    stairs.hold_to(resume, new_t, part.sigma)
    stairs.holds[-1] = replace(held, recycled_to=new_t, end=resume)


def _started(when: float, part: Piece, calls: Sequence[Call], prior: Prior) -> float:
    """When a clock that was set to nobody heard what was started: at a resume call, else from the count of a planned hold, or the roundest, that it can have been set to.
    A clock that was read within a minute ran from where it was set."""
    called = [c.u for c in calls if c.what == "resume" and c.weight >= CALL_WEIGHT["likely"] and when < c.u <= part.first]
    if called:
        return called[-1]
    low, high = when - SET_S - part.value, part.first - part.value
    planned = [t for t, length in prior.holds if length > 0 and low <= t <= high]
    if high - low <= ROUNDS_S[-1] + SET_S:
        return when
    return part.value + (planned[-1] if planned else next(t for step in ROUNDS_S if (t := high // step * step) >= low))


def _set_to(told: Sequence[Call], part: Piece, when: float) -> float:
    """The count time that the clock was set to: by the surest call, of several as sure the last, from which the count that was heard afterwards can have gone
    on; NaN if it can from none."""
    latest = min(part.first_read, part.last) + LATE_CALL_S
    right = [c for c in told if when - SET_S <= part.value + c.to_t <= latest]
    return max(right, key=lambda c: (c.weight, c.u)).to_t if right else np.nan
