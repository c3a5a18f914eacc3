"""How did the count go before the first evidence and after the last? As planned, as far as nothing tells otherwise.

Seconds after the scheduled T-0; count times in seconds.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from aftercount.timeline.model import COUNTING, HOLDING, NEAR_S
from aftercount.timeline.pieces import Piece
from aftercount.timeline.staircase import LEAST_HOLD_S, PLAN_SIGMA_S, STOPS, Call, Hold, Prior, Staircase


def begin_by_plan(stairs: Staircase, prior: Prior) -> None:
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


def lead_in(stairs: Staircase, first: Piece, calls: Sequence[Call], prior: Prior) -> None:
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


def leave_last_hold(stairs: Staircase, last: Piece, prior: Prior) -> None:
    """After the last evidence of a hold: a planned one ends as planned, any other goes on to the end of the logs."""
    held = stairs.holds[-1]
    end = max(last.last, held.start + held.planned) if held.planned and held.recycled_to is None else np.inf
    if end < prior.end:
        stairs.close_hold(end, last.value, PLAN_SIGMA_S)
        stairs.z = end - last.value
        run_on(stairs, prior, PLAN_SIGMA_S)
    else:
        stairs.hold_to(prior.end, last.value, last.sigma)


def run_on(stairs: Staircase, prior: Prior, sigma: float) -> None:
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
