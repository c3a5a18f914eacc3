"""Is this count worse than its baseline, by more than chance explains?

    later           steps later than their level beyond their spread, in this count or in the last two (later.py)
    missed, unanswered, out_of_order
                    more of them than the counts of the baseline had, or a first one in a clean record (overall.py)
    later_all_round the middle of all steps later
    answers         slower answers over the whole count
    holds           more unplanned hold time

Conventions: each question may raise a false alarm in a steady season with the chance given by its constant; together
under 5 %. Being better is never a failure. What is unusual but within chance is told as a note.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.campaign.gather import CountData, gather
from aftercount.campaign.later import later
from aftercount.campaign.load import load_trend
from aftercount.campaign.overall import overall
from aftercount.campaign.season import Season, build, extend
from aftercount.campaign.verdict import Verdict
from aftercount.errors import InputError, Problem


def gate(out: str, baseline: str) -> Verdict:
    """The verdict on the review folder `out` against the trend folder `baseline`.

    Raises InputError when either cannot be read, or the baseline holds no other count.
    """
    season = load_trend(baseline)
    count = gather([str(out)])[0]
    return judge(count, season.without(count.id), baseline)


def judge(count: CountData, season: Season, baseline: str = "baseline") -> Verdict:
    """The verdict on one count against a season of others."""
    if not len(season.counts):
        text = "a baseline of at least one other count is needed; it has none"
        raise InputError([Problem(str(baseline), 0, "gate-small-baseline", text, "add reviews with `trend`")])
    both = extend(season, count)
    steps, told = later(both)
    whole, noted = overall(both)
    return Verdict(count.id, tuple(season.counts["count"]), tuple(steps + whole), tuple(told + noted))


def baseline_of(counts: Sequence[CountData]) -> Season:
    """A baseline made in memory, for library use."""
    return build(sorted(counts, key=lambda c: (c.t0, c.id)))
