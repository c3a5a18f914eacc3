"""What differs from the plan: the steps, polls and findings of one review.

Conventions: see STEPS, POLLS and FINDINGS in `tables`; instants UTC, deviations in seconds on the count clock (inside a
built-in hold on the wall clock). It does not match and does not rebuild the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from aftercount.findings import (
    after,
    finding,
    holds,
    order,
    polls,
    pollwords,
    readback,
    responses,
    rows,
    whole,
    words,
)
from aftercount.findings.facts import Fact, gather
from aftercount.findings.heard import Heard
from aftercount.findings.steps import Timed, timed

if TYPE_CHECKING:
    from aftercount.count import CountFolder
    from aftercount.match import Matched
    from aftercount.plan import Plan
    from aftercount.timeline import Timeline


@dataclass(frozen=True)
class Findings:
    """The last stage's tables: `steps` (STEPS, with the plan's further columns), `polls`, `findings`."""

    steps: pd.DataFrame
    polls: pd.DataFrame
    findings: pd.DataFrame


def judge(
    due: pd.DataFrame, matched: Matched, utterances_with_time: pd.DataFrame, timeline: Timeline,
    poll_answers: pd.DataFrame, plan: Plan, count: CountFolder, decisions: pd.DataFrame,
) -> Findings:
    """Judge every step due, every poll and every hold.

    utterances_with_time: UTTERANCES with utc_us, utc_sigma_s, t_s, state, pass and clock_sigma_s.
    """
    heard = Heard(utterances_with_time, timeline.sources)
    facts = gather(due, matched, heard, plan, count, decisions)
    times = [timed(f) for f in facts]
    backs = readback.ReadBacks(heard, count.stations, plan, facts)
    judged = _judged(facts, times, heard, backs)
    taken = polls.find(poll_answers, heard, facts, times, count.stations)
    passes = max((f.in_pass for f in facts), default=1)
    found = [
        *words.on_steps(judged, passes), *pollwords.on_polls(taken), *holds.on_holds(timeline, heard, plan, count),
        *whole.on_whole(timeline, heard, count),
    ]
    return Findings(rows.steps(judged, plan), polls.table(taken), finding.table(found))


def _judged(facts: Sequence[Fact], times: Sequence[Timed], heard: Heard, backs: readback.ReadBacks) -> list[words.Judged]:
    strayed = _displaced(facts, times)
    broken = after.violations(facts, times)
    answers = responses.judge(facts, times, heard)
    return [
        words.Judged(f, t, o, tuple(v), r, backs.wrong(f) if t.done else None)
        for f, t, o, v, r in zip(facts, times, strayed, broken, answers, strict=True)
    ]


def _displaced(facts: Sequence[Fact], times: Sequence[Timed]) -> list[bool]:
    """Out of order, pass by pass."""
    out = [False] * len(facts)
    for in_pass in sorted({f.in_pass for f in facts}):
        seen = [i for i, f in enumerate(facts) if f.in_pass == in_pass and times[i].begun is not None]
        timed_us = [i for i in seen if _begun_us(times[i]) is not None]
        chosen = timed_us or [i for i in seen if _begun_t(times[i]) is not None]
        placed = [_placed(facts[i], times[i], bool(timed_us)) for i in chosen]
        for i, strayed in zip(chosen, order.displaced(placed), strict=True):
            out[i] = strayed
    return out


def _begun_us(time: Timed) -> int | None:
    return time.begun.us if time.begun is not None else None


def _begun_t(time: Timed) -> float | None:
    return time.begun.t_s if time.begun is not None else None


def _placed(fact: Fact, time: Timed, by_utc: bool) -> order.Placed:
    assert time.begun is not None
    actual = (time.begun.us or 0) / 1e6 if by_utc else float(time.begun.t_s or 0.0)
    planned = fact.planned_us / 1e6 if fact.planned_us is not None else fact.planned_t_s
    return order.Placed(planned, actual, fact.early_s, fact.late_s, time.begun.sigma_s, fact.confidence,
                        time.timing == "on_time", time.deviation_s or 0.0, time.begun.source, time.begun.own_sigma_s)
