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
    answers,
    finding,
    holds,
    placing,
    polls,
    pollwords,
    reach,
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
    facts = reach.settled(gather(due, matched, heard, plan, count, decisions), timeline.clock, timeline.outcome)
    garbled = answers.garbled_logs(facts)
    times = [timed(f, garbled) for f in facts]
    backs = readback.ReadBacks(heard, count.stations, plan, zip(facts, times, strict=True))
    judged = _judged(facts, times, heard, backs, placing.Wordings(plan, count, facts))
    taken = polls.find(poll_answers, heard, facts, times, count.stations)
    passes = max((f.in_pass for f in facts), default=1)
    found = [
        *words.on_steps(judged, passes), *pollwords.on_polls(taken), *holds.on_holds(timeline, heard, plan, count),
        *whole.on_whole(timeline, heard, count),
    ]
    return Findings(rows.steps(judged, plan), polls.table(taken), finding.table(found))


def _judged(facts: Sequence[Fact], times: Sequence[Timed], heard: Heard, backs: readback.ReadBacks,
            says: placing.Says) -> list[words.Judged]:
    wrong = [backs.wrong(f) if t.done else None for f, t in zip(facts, times, strict=True)]
    misread = {b.heard.event for b in wrong if b is not None}  # such a line is no doing of the step that it names
    sure = [placing.sure(f, t, says) and not (t.begun and t.begun.event in misread) for f, t in zip(facts, times, strict=True)]
    strayed = placing.displaced(facts, times, sure)
    broken = after.violations(facts, times, sure)
    replies = responses.judge(facts, times, heard)
    return [
        words.Judged(f, t, o, tuple(v), r, b)
        for f, t, o, v, r, b in zip(facts, times, strayed, broken, replies, wrong, strict=True)
    ]
