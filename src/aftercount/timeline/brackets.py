"""Where may an inferred hold have shifted the clock, and by how much?

A hold that no evidence saw lies somewhere in a bracket of count times. From the last mark before it to the first after it the clock
may be off by up to the hold's length; outside it is as sure as its marks. Seconds after the scheduled T-0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from aftercount.timeline.model import COUNTING
from aftercount.timeline.staircase import Hold, Segment

TOUCH_S = 1e-6
LEAST_WIDTH_S = 5.0  # a bracket narrower than this is within what marks are good to


def mark_unsure(segments: Sequence[Segment], holds: Sequence[Hold]) -> list[Segment]:
    """The segments with the unsure parts of those round inferred holds marked."""
    out = list(segments)
    for h in holds:
        if not h.inferred or h.end is None or h.high - h.low < LEAST_WIDTH_S or h.end - h.start <= 0:
            continue
        if h.planned and not h.shared:
            continue  # a planned hold in the bracket is the natural reading
        # placed midway (or by the plan) in the bracket, it is off by half the bracket at most, and shifts by its length at most
        unsure = min(h.high - h.low, h.end - h.start) / 2
        for k, s in enumerate(out):
            if abs(s.end - h.start) < TOUCH_S and s.state == COUNTING:
                out[k] = replace(s, sure_to=max(s.start, h.start - (h.t - h.low)), unsure=_most(s, unsure))
            elif s.start >= h.start - TOUCH_S and s.end <= h.end + TOUCH_S:
                out[k] = replace(s, sure_from=s.end, sure_to=s.end, unsure=_most(s, unsure))
            elif abs(s.start - h.end) < TOUCH_S and s.state == COUNTING:
                out[k] = replace(s, sure_from=min(s.end, h.end + (h.high - h.t)), unsure=_most(s, unsure))
    return out


def _most(segment: Segment, unsure: float) -> float:
    return max(unsure, segment.unsure or 0.0)
