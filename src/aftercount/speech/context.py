"""Of two readings of one ambiguous time, which one fits the count as it was heard so far and as it was planned?

Conventions: count seconds, own clock of the log in seconds. After a sure mark at count T, d seconds later the clock reads
between T (held all the while) and T + d (never held). A reading the context supports is likely, its rival doubtful; with
no context the plan's holds and steps and its beginning speak, then the trade's habit.

It does not use other logs: that is the time base's work.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

from aftercount.speech.marks import BARE_FORM, CERTAIN, DOUBTFUL, LIKELY, PAIR_FORM, Mark

SLACK_S = 8.0  # two spoken marks may each be some seconds off
COUNTED_ON_S = 2.5  # a number in a count down to zero is said on its second, the mark before it within two
STALE_S = 3600.0  # after an hour a recycle or a long hold may have moved the clock anywhere
PLAN_NEAR_S = 1.5  # a reading this near a planned count time names it
BARE_SECONDS_BELOW = 10.0  # 'T minus nine' alone: minutes by habit; from ten on, seconds are as usual
BEYOND_PLAN_S = 60.0  # readings earlier than the plan's start by more than this are implausible


@dataclass(frozen=True)
class PlanTimes:
    """The planned count times: of holds, of all rows, and the earliest."""

    holds: tuple[float, ...]
    rows: tuple[float, ...]

    @property
    def first(self) -> float:
        return self.rows[0] if self.rows else float("-inf")

    def near_hold(self, t_s: float) -> bool:
        return _near(self.holds, t_s)

    def near_row(self, t_s: float) -> bool:
        return _near(self.rows, t_s)


def _near(times: Sequence[float], t_s: float) -> bool:
    at = bisect_left(times, t_s - PLAN_NEAR_S)
    return at < len(times) and times[at] <= t_s + PLAN_NEAR_S


class Running:
    """The last sure mark of one log, and what may follow it."""

    def __init__(self, plan: PlanTimes) -> None:
        self.plan = plan
        self._t_s: float | None = None
        self._own_s = 0.0

    def settle(self, marks: Sequence[Mark], own_s: float | None) -> list[Mark]:
        """The marks of one sentence, regraded; sure ones are remembered.

        L-time runs on through the holds that are planned: where none is, it is the count itself.
        """
        if not self.plan.holds:
            marks = [replace(m, clock="T") if m.clock == "L" else m for m in marks]
        out: list[Mark] = []
        for group in sorted({m.group for m in marks}):
            rivals = [m for m in marks if m.group == group]
            if len(rivals) > 1:
                rivals = self._choose(rivals, own_s)
            elif rivals[0].form == "single" and self._counts_on(rivals[0], own_s):
                rivals = [replace(rivals[0], grade=LIKELY)]
            out.extend(rivals)
        self._remember(out, own_s)
        return out

    def _choose(self, rivals: list[Mark], own_s: float | None) -> list[Mark]:
        best = max(m.grade != DOUBTFUL for m in rivals)
        ranks = [self._rank(m, own_s) for m in rivals]
        top = max(ranks)
        winner = ranks.index(top)
        clear = ranks.count(top) == 1
        out = []
        for i in sorted(range(len(rivals)), key=lambda i: i != winner):
            mark = rivals[i]
            if i != winner:
                if ranks[i] >= 0 and mark.form in (BARE_FORM, PAIR_FORM):
                    out.append(replace(mark, grade=DOUBTFUL))
                continue
            grade = LIKELY if best else DOUBTFUL
            if best and mark.form == "digits" and clear:
                grade = CERTAIN
            out.append(replace(mark, grade=grade))
        return out

    def _rank(self, mark: Mark, own_s: float | None) -> float:
        """More is better; negative is implausible."""
        rank = 0.0
        if mark.clock == "T":
            if mark.t_s < self.plan.first - BEYOND_PLAN_S:
                rank -= 3.0
            expected = self._expected(own_s)
            if expected is not None and expected[0] - SLACK_S <= mark.t_s <= expected[1] + SLACK_S:
                rank += 3.0
            rank += 2.0 if self.plan.near_hold(mark.t_s) else 1.0 if self.plan.near_row(mark.t_s) else 0.0
        return rank + self._habit(mark)

    @staticmethod
    def _habit(mark: Mark) -> float:
        """Below ten minutes is said in minutes, everything else as said; colons are minutes and seconds."""
        size = abs(mark.t_s)
        if mark.form == "digits" or mark.form == PAIR_FORM:
            return 0.4 if size < 3600.0 else 0.0
        if mark.clock == "L":
            return 0.4 if size >= 60 else 0.0
        return 0.4 if (size < BARE_SECONDS_BELOW * 60 and size >= 60 and size % 60 == 0) or BARE_SECONDS_BELOW < size < 60 else 0.0

    def _counts_on(self, mark: Mark, own_s: float | None) -> bool:
        """Whether a lone number is where a count that never stopped would now be."""
        expected = self._expected(own_s)
        return expected is not None and abs(mark.t_s - expected[1]) <= COUNTED_ON_S

    def _expected(self, own_s: float | None) -> tuple[float, float] | None:
        if self._t_s is None or own_s is None or not 0 <= own_s - self._own_s <= STALE_S:
            return None
        return self._t_s, self._t_s + own_s - self._own_s

    def _remember(self, marks: Sequence[Mark], own_s: float | None) -> None:
        if own_s is None:
            return
        for mark in marks:
            expected = self._expected(own_s)
            fits = expected is not None and expected[0] - SLACK_S <= mark.t_s <= expected[1] + SLACK_S
            if mark.clock == "T" and (mark.grade == CERTAIN or (mark.grade == LIKELY and (fits or self._t_s is None) and mark.form != BARE_FORM)):
                self._t_s, self._own_s = mark.t_s, own_s
