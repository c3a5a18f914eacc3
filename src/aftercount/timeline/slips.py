"""What moved T-0, and by how much each? The slips add up to the delay, exactly.

A hold moves T-0 by what it lasted beyond its plan, and by the count time that a recycle in it counted again. Besides holds: a count
that began late, a planned hold that it ran past (which brings T-0 forward), and what the clock was moved by in no hold at all.
Seconds, late is positive. A count that never came to T-0 has no delay, but its holds have their slips.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from aftercount.timeline.model import COUNTING, HOLDING, NEAR_S
from aftercount.timeline.staircase import Prior, Segment

BEGAN, HOLD, NOT_TAKEN, OTHER = "began_late", "hold", "hold_not_taken", "outside_holds"
LEAST_S = 1e-3  # the delay is given to the millisecond


@dataclass(frozen=True)
class Slip:
    """One cause. t_s: where in the count, None for one that has no place; hold: which row of the holds, if it is one."""

    cause: str
    t_s: float | None
    seconds: float
    hold: int | None = None


def slips(rows: Sequence[dict[str, Any]], segments: Sequence[Segment], prior: Prior, t0: float | None) -> tuple[Slip, ...]:
    """Every cause. rows: of the holds, whose slip_s is set here in place; t0: when T-0 came, None if it never did."""
    if not segments:
        return ()
    first = segments[0]
    z, low = _by_plan(first, prior)
    within = _within(first, prior)
    if within and rows and rows[0]["slip_s"] is not None and abs(rows[0]["start_u"] - first.start) < LEAST_S:
        rows[0]["slip_s"] += within  # the logs begin in a planned hold, of which that much was over
    made = [Slip(HOLD, row["t_s"], row["slip_s"], k) for k, row in enumerate(rows) if row["slip_s"] is not None]
    if t0 is None:
        return tuple(made)
    began = Slip(BEGAN, first.start_t, first.start - first.start_t - z - within)
    made = [began, *made] if abs(began.seconds) >= LEAST_S else made
    made += [Slip(NOT_TAKEN, t, -length) for t, length in _passed(rows, (low, max(s.end_t for s in segments)), prior)]
    rest = t0 - sum(s.seconds for s in made)
    return (*made, Slip(OTHER, None, rest)) if abs(rest) >= LEAST_S else tuple(made)


def _by_plan(first: Segment, prior: Prior) -> tuple[float, float]:
    """The projected T-0 that the plan has where the clock begins, and the count time from which its holds were still to come."""
    z, planned = prior.z_before(first.start_t), prior.planned(first.start_t)
    if first.state == COUNTING and first.start - first.start_t - z > planned / 2 > 0:
        return z + planned, first.start_t + 2 * NEAR_S  # it begins where a planned hold ends
    return z, first.start_t - NEAR_S


def _within(first: Segment, prior: Prior) -> float:
    """How much of a planned hold was over, by the schedule, when the clock begins in it."""
    if first.state != HOLDING:
        return 0.0
    due = prior.z_before(first.start_t) + first.start_t
    return min(max(first.start - due, 0.0), prior.planned(first.start_t))


def _passed(rows: Sequence[dict[str, Any]], ran: tuple[float, float], prior: Prior) -> list[tuple[float, float]]:
    """Planned holds that the count ran past and never took."""
    taken = [row["t_s"] for row in rows if row["planned_s"]]
    return [(t, length) for t, length in prior.holds
            if length > 0 and ran[0] <= t <= min(ran[1], 0.0) and not any(abs(t - at) <= NEAR_S for at in taken)]
