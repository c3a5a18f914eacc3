"""How did the count end, and when: lift-off, scrub, cutoff, or is it not resolved?

Seconds after the scheduled T-0. A lift-off is T-0 passed while counting, on evidence; a scrub or a cutoff is a call after which the
count was not heard to run. The clock ends with a scrub; after T-0 and after a cutoff it goes on to the end of the logs.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from aftercount.timeline.evidence import CALL_WEIGHT
from aftercount.timeline.model import COUNTING, Floats
from aftercount.timeline.pieces import Piece
from aftercount.timeline.staircase import Call, Segment, Staircase

_IGNITION = re.compile(r"^(?!.*\b(?:no|not|didn't|did not|failed|misfire|standing by|ready|for|until|before|to) (?:\w+ )?ignit).*\bignit(?:ion|ed)\b", re.IGNORECASE)
PAST_T0_S = 10.0  # logs that end sooner after T-0 do not go on past it
COUNTED_DOWN_S = 15.0  # a count read, or counted down, so shortly before T-0 got there
AND_ON_S = 4.0  # where logs go on so long after it with no word of a stop, however doubtful
AFTER_S = 30.0  # a count still heard running so long after 'scrub' or 'cutoff' was not ended by it
AT_ONCE_S = 20.0  # who hears of a stop says so within so long
IGNITION_BEFORE_S = 2.0  # 'ignition' is said with T-0; sooner, it is of engines that may yet be stopped
AT_T0_S = 3.0  # logs that end so close to T-0 with the count running told of it
NEAR_T0_S = 30.0  # a count heard running this close to T-0, in logs that go on past it with no word of a stop, got there


@dataclass(frozen=True)
class Outcome:
    """u: when the count ended; for one not resolved, when it came to T-0, if it did."""

    outcome: str
    u: float | None


def judge(stairs: Staircase, parts: Sequence[Piece], calls: Sequence[Call], kept_calls: set[int], ignitions: Sequence[float] = ()) -> Outcome:
    """The outcome by the path and the calls. kept_calls: rows of calls that the path kept; ignitions: when somebody said 'ignition'.

    A count that ran to its T-0 in logs that end there is not resolved, but T-0 is known.
    """
    counted = [p for p in parts if p.state == COUNTING and (p.marks or p.called)]  # read, or resumed by a call
    ran_until = max((p.last for p in counted), default=-float("inf"))
    stops = _stops([c for c in calls if c.what in ("scrub", "cutoff") and c.u >= ran_until - AFTER_S])
    if counted and parts[-1] is counted[-1] and stairs.segments:  # one reading alone lays no stretch
        last, end = counted[-1], stairs.segments[-1]
        lifted = any(c.what == "liftoff" and c.row in kept_calls for c in calls)
        lit = any(-IGNITION_BEFORE_S <= u - last.value <= PAST_T0_S for u in ignitions)
        passed = lit or last.last - last.value >= -NEAR_T0_S
        stopped = any(c.what in ("scrub", "cutoff", "hold") and c.u >= last.last - AFTER_S for c in calls)
        close = not stopped and last.last - last.value >= -COUNTED_DOWN_S
        went_on = end.state == COUNTING and end.end_t > (AND_ON_S if close else PAST_T0_S)
        if passed and (lifted or (not stops and (went_on or lit))):
            return Outcome("liftoff", last.value)
        if passed and not stops and end.state == COUNTING and end.end_t >= -AT_T0_S:
            return Outcome("unresolved", last.value)
    for what in ("scrub", "cutoff"):
        told = [c for c in stops if c.what == what]
        if told:
            return Outcome(what, told[0].u)
    return Outcome("unresolved", None)


def _stops(told: Sequence[Call]) -> list[Call]:
    """The stops that are believed: said beyond doubt, or by several in doubtful words at once."""
    return [c for c in told if c.weight >= CALL_WEIGHT["likely"] or len({d.utterance for d in told if d.what == c.what and abs(d.u - c.u) <= AT_ONCE_S}) > 1]


def ignitions(utterances: pd.DataFrame, u: Floats) -> list[float]:
    """When ignition was told of as it happened."""
    told = zip(utterances["text"].tolist(), utterances["kind"].tolist(), u.tolist(), strict=True)
    # Few lines have the word, and the expression is slow to find that one has not.
    return sorted(at for text, kind, at in told if "ignit" in text.lower() and kind != "call" and np.isfinite(at) and _IGNITION.search(text))


def ended(segments: Sequence[Segment], end: float) -> list[Segment]:
    """The segments up to a scrub."""
    kept = [s for s in segments if s.start < end]
    if kept and kept[-1].end > end:
        last = kept[-1]
        end_t = last.end_t if last.state != COUNTING else last.start_t + (end - last.start)
        kept[-1] = replace(last, end=end, end_t=end_t)
    return kept
