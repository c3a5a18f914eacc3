"""Is this count worse than its baseline, by more than chance explains?

    later     steps later than their level beyond their spread, and more of them than the record has;
              or one step so in this count and the one before
    missed, unanswered, out of order
              more of them than the counts of the baseline had, or a first one in a clean record
    answers   slower answers over the whole count
    holds     more unplanned hold time

Conventions: each question may raise a false alarm in a steady season with the chance given by its constant; together
under 5 %. Being better is never a failure. What is unusual but within chance is told as a note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.expect import LEAST, expect
from aftercount.campaign.gather import CountData, gather
from aftercount.campaign.load import load_trend
from aftercount.campaign.season import Season, build, extend
from aftercount.counttime import format_duration
from aftercount.errors import InputError, Problem

# Chances of a false alarm in a steady season, by question. Two late counts in a row are the surer sign, and get more.
LATER_ALPHA = 0.01
TWICE_ALPHA = 0.015
COUNTED_ALPHA = 0.005
ANSWERS_ALPHA = 0.002
HOLDS_ALPHA = 0.005
# Chance that each of two late values in a row is by itself chance: keeps one very late one from counting twice.
ONE_OF_TWO = 0.05
# Counts a clean record needs before a first miss breaks it: fewer prove nothing.
CLEAN_COUNTS = 6
# An unplanned hold shorter than this is no worsening whatever the record, seconds.
LEAST_HOLD_S = 60.0
COUNTED = (("missed", "missed"), ("unanswered", "not answered"), ("out_of_order", "out of order"))


@dataclass(frozen=True)
class Worse:
    """One way in which the count is worse; `step` is None when the whole count is meant."""

    kind: str
    step: str | None
    value: float
    limit: float
    text: str

    def as_dict(self) -> dict[str, Any]:
        return {"kind": self.kind, "step": self.step, "value": round(self.value, 3), "limit": round(self.limit, 3), "text": self.text}


@dataclass(frozen=True)
class Verdict:
    """worse: what fails the gate; notes: unusual, but within chance."""

    count: str
    baseline: tuple[str, ...]
    worse: tuple[Worse, ...]
    notes: tuple[Worse, ...] = ()

    @property
    def passed(self) -> bool:
        return not self.worse

    def as_dict(self) -> dict[str, Any]:
        return {"count": self.count, "baseline": list(self.baseline), "passed": self.passed,
                "worse": [w.as_dict() for w in self.worse], "notes": [w.as_dict() for w in self.notes]}


def gate(out: str, baseline: str) -> Verdict:
    """The verdict on the review folder `out` against the trend folder `baseline`.

    Raises InputError when either cannot be read, or the baseline has too few counts to say anything.
    """
    season = load_trend(baseline)
    count = gather([str(out)])[0]
    return judge(count, season.without(count.id), baseline)


def judge(count: CountData, season: Season, baseline: str = "baseline") -> Verdict:
    """The verdict on one count against a season of others."""
    if len(season.counts) < LEAST:
        text = f"a baseline of at least {LEAST} other counts is needed; it has {len(season.counts)}"
        raise InputError([Problem(str(baseline), 0, "gate-small-baseline", text, "add reviews with `trend`")])
    both = extend(season, count)
    worse, notes = _later(both)
    for column, words in COUNTED:
        failed, told = _counted(both, column, words)
        worse, notes = worse + failed, notes + told
    worse += _answers(both) + _holds(both)
    return Verdict(count.id, tuple(season.counts["count"]), tuple(worse), tuple(notes))


def _later(both: Season) -> tuple[list[Worse], list[Worse]]:
    """Steps later in the last count than those before explain."""
    deviations = both.matrix("deviation_s")
    measured = both.plan["step"].map(both.history.groupby("step")["deviation_sigma_s"].median()).to_numpy(dtype=float)
    before, now = expect(deviations[:, :-1], measured), deviations[:, -1]
    tested = max(1, int((~np.isnan(now) & ~np.isnan(before.level)).sum()))
    alpha = LATER_ALPHA / tested
    half = before.half_width(alpha)
    late = [int(i) for i in np.flatnonzero(now - before.level > half)]
    found = {i: _worse_step(both, i, (now[i], before.level[i], half[i])) for i in late}
    record = before.passed_before(alpha)
    fails = len(found) > 0 and _more_than_before(len(found), int(record.sum()), len(record), LATER_ALPHA)
    twice = _twice(deviations, measured, TWICE_ALPHA / tested)
    for i, figures in twice.items():
        found.setdefault(i, _worse_step(both, i, figures))
    return ([w for i, w in sorted(found.items()) if fails or i in twice],
            [w for i, w in sorted(found.items()) if not fails and i not in twice])


def _worse_step(both: Season, i: int, figures: tuple[float, float, float]) -> Worse:
    now, level, half = (float(f) for f in figures)
    step = str(both.plan["step"].iloc[i])
    text = f"step {step}: {format_duration(now - level)} later than its level; up to {format_duration(half)} is usual"
    return Worse("later", step, now, level + half, text)


def _twice(deviations: np.ndarray, measured: np.ndarray, alpha: float) -> dict[int, tuple[float, float, float]]:
    """Steps late in the last two counts alike, against those before both: (mean, level, half width) by place."""
    if deviations.shape[1] - 2 < LEAST:
        return {}
    before, two = expect(deviations[:, :-2], measured), deviations[:, -2:]
    half = before.half_width(alpha, averaged=2)
    each = before.half_width(ONE_OF_TWO)
    off = two - before.level[:, None]
    return {int(i): (float(two[i].mean()), float(before.level[i]), float(half[i]))
            for i in np.flatnonzero((off.mean(axis=1) > half) & (off.min(axis=1) > each))}


def _more_than_before(new: int, before: int, counts: int, alpha: float) -> bool:
    """Whether a count has more of a kind than the counts before: each of all is as likely in any count.

    A first one after CLEAN_COUNTS counts without any is more.
    """
    from scipy.stats import binomtest

    if before == 0 and counts >= CLEAN_COUNTS:
        return True
    return float(binomtest(new, new + before, 1 / (counts + 1), alternative="greater").pvalue) < alpha


def _counted(both: Season, column: str, words: str) -> tuple[list[Worse], list[Worse]]:
    """Steps that were missed (unanswered, out of order), where the count has more of them than chance explains."""
    totals = both.counts[column].to_numpy(dtype=int)
    new, all_ = int(totals[-1]), int(totals.sum())
    if new == 0:
        return [], []
    fails = _more_than_before(new, all_ - new, len(totals) - 1, COUNTED_ALPHA)
    usual = float(np.mean(totals[:-1]))
    found = [Worse(column, step, float(new), usual, f"step {step}: {words}; {new} in this count, {usual:.1f} on average before")
             for step in _new_ones(both, column)]
    if fails:
        return found or [Worse(column, None, float(new), usual, f"{new} steps {words}, {usual:.1f} on average before")], []
    return [], found


def _new_ones(both: Season, column: str) -> list[str]:
    """The steps of the last count with that mark which had it in the fewest counts before, in plan order."""
    marked = both.history[_marks(both.history, column)]
    last = len(both.counts)
    before = marked[marked["rehearsal"] < last]["step"].value_counts()
    now = marked[marked["rehearsal"] == last]["step"].tolist()
    least = min((int(before.get(step, 0)) for step in now), default=0)
    return [step for step in now if int(before.get(step, 0)) == least]


def _marks(history: pd.DataFrame, column: str) -> pd.Series:
    if column == "out_of_order":
        return history["out_of_order"].astype(bool)
    return history["status"] == "missed" if column == "missed" else history["response"] == "none"


def _answers(both: Season) -> list[Worse]:
    """Answers of the whole count slower than before: the mean over steps of log(time / the step's median)."""
    seconds = both.matrix("response_s")
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log(np.where(seconds > 0, seconds, np.nan))
    usable = (~np.isnan(logs[:, :-1])).sum(axis=1) >= LEAST
    logs = logs[usable & ~np.isnan(logs[:, -1])]
    if len(logs) < LEAST:
        return []
    means = np.array([_mean(column) for column in (logs - np.nanmedian(logs[:, :-1], axis=1, keepdims=True)).T])
    limit = _prediction(means[:-1], ANSWERS_ALPHA)
    if not means[-1] > limit:
        return []
    times = float(np.exp(means[-1] - _mean(means[:-1])))
    return [Worse("answers", None, times, float(np.exp(limit - _mean(means[:-1]))), f"answers took {times:.1f} times as long as before")]


def _holds(both: Season) -> list[Worse]:
    """More unplanned hold time than before, on a scale of logarithms: holds are few and of very different lengths."""
    held = both.counts["unplanned_hold_s"].to_numpy(dtype=float)
    new, logs = float(held[-1]), np.log1p(held / LEAST_HOLD_S)
    limit = _prediction(logs[:-1], HOLDS_ALPHA)
    if new < LEAST_HOLD_S or not logs[-1] > limit or new <= held[:-1].max():
        return []
    limit_s = float(np.expm1(limit) * LEAST_HOLD_S)
    text = f"{format_duration(new)} of unplanned holds; up to {format_duration(limit_s)} is usual"
    return [Worse("holds", None, new, limit_s, text)]


def _prediction(values: np.ndarray, alpha: float) -> float:
    """What the next value passes with chance `alpha`, by Student's t; never below the largest seen."""
    from scipy.stats import t

    known = values[~np.isnan(values)]
    if len(known) < LEAST:
        return float("inf")
    half = float(t.isf(alpha, len(known) - 1)) * float(np.std(known, ddof=1)) * float(np.sqrt(1 + 1 / len(known)))
    return max(float(known.mean()) + half, float(known.max()))


def _mean(values: np.ndarray) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if len(known) else float("nan")


def baseline_of(counts: Sequence[CountData]) -> Season:
    """A baseline made in memory, for library use."""
    return build(sorted(counts, key=lambda c: (c.t0, c.id)))
