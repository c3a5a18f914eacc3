"""What differs from the plan: the steps, polls and findings of one review.

Conventions: see STEPS, POLLS and FINDINGS in `tables`; instants UTC, deviations in seconds on the count clock (inside a
built-in hold on the wall clock). It does not match and does not rebuild the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
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
from aftercount.findings.facts import Fact, begun_by, gather
from aftercount.findings.heard import Heard
from aftercount.findings.steps import Timed, timed
from aftercount.match.calibrate import review_flags

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

    utterances_with_time: UTTERANCES with utc_us, sigma_s, t_s, state, pass and clock_sigma_s.
    """
    heard = Heard(utterances_with_time)
    facts, times = begun(due, matched, heard, timeline, plan, count, decisions)
    backs = readback.ReadBacks(heard, count.stations, plan, zip(facts, times, strict=True))
    replies = responses.judge(facts, times, heard, count.stations)
    judged = _judged(facts, times, replies, backs, placing.Wordings(plan, count, facts))
    taken = polls.find(poll_answers, heard, facts, times, count.stations)
    passes = max((f.in_pass for f in facts), default=1)
    found = [
        *words.on_steps(judged, passes), *pollwords.on_polls(taken), *holds.on_holds(timeline, heard, plan, count),
        *whole.on_whole(timeline, heard, count),
    ]
    return Findings(rows.steps(judged, plan), polls.table(taken), finding.table(found))


def begun(
    due: pd.DataFrame, matched: Matched, heard: Heard, timeline: Timeline, plan: Plan, count: CountFolder, decisions: pd.DataFrame,
) -> tuple[list[Fact], list[Timed]]:
    """What is known of each step due, and when it was begun."""
    facts = reach.settled(gather(due, matched, heard, plan, count, decisions), timeline.clock, timeline.outcome)
    garbled = answers.garbled_logs(facts)
    accepted = answers.Talk(facts, heard).accepted
    times = [timed(f, garbled, accepted) for f in facts]
    return [begun_by(f, t.begun) for f, t in zip(facts, times, strict=True)], times


def _judged(facts: Sequence[Fact], times: Sequence[Timed], replies: Sequence[responses.Response], backs: readback.ReadBacks,
            says: placing.Says) -> list[words.Judged]:
    wrong = [backs.wrong(f) if t.done else None for f, t in zip(facts, times, strict=True)]
    misread = {b.heard.event for b in wrong if b is not None}  # such a line is no doing of the step that it names
    sure = [placing.sure(f, t, says) and not (t.begun and t.begun.event in misread) for f, t in zip(facts, times, strict=True)]
    strayed = placing.displaced(facts, times, sure)
    broken = after.violations(facts, times, sure)
    doubtful = review_flags(np.array([f.confidence for f in facts]), np.array([f.reached and not f.decided for f in facts], dtype=bool)).tolist()
    return [
        words.Judged(f, t, o, tuple(v), r, b, d)
        for f, t, o, v, r, b, d in zip(facts, times, strayed, broken, replies, wrong, doubtful, strict=True)
    ]
