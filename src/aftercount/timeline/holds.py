"""Which holds were there, who called and ended them, and what did each cost?

Conventions of the HOLDS table. `slip_s` is by how much a hold moved T-0: its length beyond what the schedule had for it, and the
count time set back by a recycle in it; the slips of a count that kept or passed every planned hold add up to its delay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from aftercount import tables
from aftercount.timeline.evidence import CALL_WEIGHT, CUT_SIGMAS
from aftercount.timeline.frames import utc_column
from aftercount.timeline.model import NEAR_S
from aftercount.timeline.staircase import CALL_REACH_S, LEAST_HOLD_S, Call, Hold

SAME_T_S = 3.0  # a count that stands still is read to a second or two
Announced = tuple[float, float, int, float]  # u, t and utterance of a holding mark, and how sure its log's own stamp is
ANNOUNCE_S = 60.0  # 'T minus nine and holding' is said within a minute of the stop


def hold_rows(holds: Sequence[Hold], calls: Sequence[Call], announced: Sequence[Announced], end: float) -> list[dict[str, Any]]:
    """HOLDS rows in seconds (start_u, end_u), less names and reasons. announced: the holding marks.

    Of a hold that may have lain elsewhere a doubtful call is no caller. What stops the count for good after T-0 is its end, not a hold.
    """
    firm = [c for c in calls if c.weight >= CALL_WEIGHT["likely"]]
    rows: list[dict[str, Any]] = []
    met: set[float] = set()
    for h in joined(holds):
        stop = None if h.end is None or h.end > end else h.end
        duration = None if stop is None else stop - h.start
        begun = _call(firm if h.inferred else calls, ("hold", "cutoff"), h.start, CALL_REACH_S, CALL_REACH_S * 2)
        told = next((a for a in announced if -CALL_REACH_S - CUT_SIGMAS * a[3] <= a[0] - h.start <= ANNOUNCE_S + CUT_SIGMAS * a[3] and abs(a[1] - h.t) <= 2.0), None)
        ended = None if stop is None else _call(calls, ("resume",), stop, CALL_REACH_S * 2, CALL_REACH_S)
        built_in = h.planned > 0
        if not built_in and h.recycled_to is None and duration is not None and duration < LEAST_HOLD_S:
            continue
        if h.start > end or (stop is None and h.t > 0):
            continue
        first_time = built_in and not any(abs(t - h.t) <= NEAR_S for t in met)
        met.add(h.t)
        back = 0.0 if h.recycled_to is None else h.t - h.recycled_to
        event = begun.utterance if begun else told[2] if told else None
        called = event is not None
        rows.append({
            "pass": h.pass_, "t_s": round(h.t, 3), "start_u": h.start, "end_u": stop, "duration_s": duration,
            "planned_s": h.planned, "excess_s": None if duration is None else duration - h.planned,
            "kind": "built_in" if built_in else "unplanned", "basis": "called" if called else "inferred",
            "t_low_s": None if called else min(h.low, h.t), "t_high_s": None if called else max(h.high, h.t),
            "recycled_to_t_s": h.recycled_to, "event": event, "resume_event": ended.utterance if ended else None,
            "slip_s": None if duration is None else duration - (h.planned if first_time else 0.0) + back,
            "call": begun, "resume": ended,
        })
    return rows


def forget_lengths(rows: list[dict[str, Any]]) -> None:
    """Where only the count was told nobody knows how long a hold lasted that the plan does not have; in place."""
    for row in rows:
        if not row["planned_s"]:
            row.update(duration_s=None, excess_s=None, slip_s=None)


def joined(holds: Sequence[Hold]) -> list[Hold]:
    """In order of time; holds at one count time with next to nothing between them are one."""
    out: list[Hold] = []
    for h in sorted(holds, key=lambda h: (h.start, np.inf if h.end is None else h.end)):
        last = out[-1] if out else None
        if (last and last.end is not None and last.recycled_to is None and last.pass_ == h.pass_ and abs(last.t - h.t) <= SAME_T_S
                and h.start - last.end <= LEAST_HOLD_S):
            out[-1] = replace(last, end=h.end, recycled_to=h.recycled_to, inferred=last.inferred and h.inferred)
        else:
            out.append(h)
    return out


def _call(calls: Sequence[Call], what: tuple[str, ...], u: float, before: float, after: float) -> Call | None:
    """The call nearest the instant u, within reach, the surer one first."""
    near = [c for c in calls if c.what in what and -before - CUT_SIGMAS * c.sigma <= c.u - u <= after + CUT_SIGMAS * c.sigma]
    return min(near, key=lambda c: (-c.weight, abs(c.u - u), c.utterance), default=None)


def holds_frame(rows: list[dict[str, Any]], t0_us: int) -> pd.DataFrame:
    """A HOLDS frame, numbered in order of time."""
    if not rows:
        return tables.HOLDS.empty()
    frame = pd.DataFrame(rows)
    frame["hold"] = range(len(frame))
    frame["start_utc"] = utc_column(frame["start_u"].tolist(), t0_us)
    frame["end_utc"] = utc_column([None if pd.isna(v) else v for v in frame["end_u"].tolist()], t0_us)
    return tables.HOLDS.conform(frame.reindex(columns=tables.HOLDS.columns))
