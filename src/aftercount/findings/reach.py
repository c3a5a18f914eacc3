"""How sure is it that the count never reached a step?

Conventions: a probability, 0..1. A pass ends where its clock ends; a step planned beyond was not reached unless the clock is
wrong about where it ended. Where a recycle, a scrub or a cutoff ended the pass, that is all that can be wrong; where the logs just
stop, the count may have gone on unseen. It does not decide which steps were reached: `plan.due` did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import erf, sqrt

import pandas as pd

from aftercount.findings.facts import Fact
from aftercount.plan.due import LEAST_SIGMA_S

# However good the clock, a pass may have ended otherwise than the logs tell; and where they only stop, more likely so.
MOST_SURE, MOST_SURE_UNRESOLVED = 0.99, 0.8
# A step due so long into the hold in which the pass ended.
IN_HOLD = 0.9
STOPPED = ("cutoff", "scrub")
LIFTED = "liftoff"


def ends(clock: pd.DataFrame) -> dict[int, tuple[float, float]]:
    """(count time, its standard deviation) at which each pass ended."""
    out: dict[int, tuple[float, float]] = {}
    for in_pass, end, sigma in zip(clock["pass"].tolist(), clock["end_t_s"].tolist(), clock["sigma_s"].tolist(), strict=True):
        if int(in_pass) not in out or end >= out[int(in_pass)][0]:
            out[int(in_pass)] = float(end), max(LEAST_SIGMA_S, float(sigma))
    return out


def settled(facts: Sequence[Fact], clock: pd.DataFrame, outcome: str) -> list[Fact]:
    """The facts, those not reached with the confidence that they were not; marked, those planned past the end of the logs of a count
    that lifted off.

    A step that nobody did and that was due as its pass was stopped, as closely as the clock can tell, is not reached either:
    whoever should have done it heard the stop instead. Nor is one that nobody did past the end of any pass but a lift-off's.
    """
    passes = ends(clock)
    last = max(passes, default=1)
    out = []
    for f in facts:
        if f.seen or f.decided:
            out.append(f)
            continue
        stopped = f.in_pass in passes and (f.in_pass < last or outcome in STOPPED)
        ends_at, sigma = passes.get(f.in_pass, (float("inf"), 0.0))
        past = f.planned_t_s > ends_at and not (outcome == LIFTED and f.in_pass == last)
        if f.reached and f.into_hold_s is None and (past or (stopped and f.planned_t_s >= ends_at - sigma)):
            f = replace(f, reached=False)
        if f.reached and outcome == LIFTED and f.in_pass == last and last in passes and f.into_hold_s is None:
            f = replace(f, unlogged=f.planned_t_s > passes[last][0])
        out.append(f if f.reached else replace(f, confidence=confidence(f, passes, outcome)))
    return out


def confidence(fact: Fact, passes: dict[int, tuple[float, float]], outcome: str) -> float:
    """That this step was not reached in its pass."""
    if fact.in_pass not in passes:
        return 0.5
    end, sigma = passes[fact.in_pass]
    resolved = outcome != "unresolved" or fact.in_pass < max(passes)
    beyond = 0.5 * (1.0 + erf(max(0.0, fact.planned_t_s - end) / (sigma * sqrt(2.0))))
    if fact.into_hold_s is not None:  # the pass ended in its hold, on the wall clock, before it was due
        beyond = max(beyond, IN_HOLD)
    return min(beyond, MOST_SURE if resolved else MOST_SURE_UNRESOLVED)
