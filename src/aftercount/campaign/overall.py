"""Is a count worse as a whole: more steps missed, unanswered or out of order, slower answers, longer holds, later all round?

Conventions: the last count of the season is judged, by the counts before it. Each question may raise a false alarm in a
steady season with the chance given by its constant. With few counts before, how counts differ from day to day is
unknown: then only a large difference fails, and longer holds are no more than noted.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from aftercount.campaign.more import LEAST_VALUES, mean, more_than_before, prediction
from aftercount.campaign.season import Season
from aftercount.campaign.verdict import Worse, duration

# Chances of a false alarm in a steady season, by question.
COUNTED_ALPHA = 0.003
ANSWERS_ALPHA = 0.002
HOLDS_ALPHA = 0.003
ALL_ROUND_ALPHA = 0.002
# An unplanned hold shorter than this is no worsening whatever the record, seconds.
LEAST_HOLD_S = 60.0
# Lateness of all steps alike that is worth a word, seconds.
LEAST_ALL_ROUND_S = 3.0
# With a small baseline answers must take this many times as long.
LEAST_SLOWER = 1.5
# Answers that make a comparison.
LEAST_ANSWERS = 4
COUNTED = (("missed", "missed"), ("unanswered", "not answered"), ("out_of_order", "out of order"))


def overall(both: Season) -> tuple[list[Worse], list[Worse]]:
    """(what fails, what is only noted)."""
    worse: list[Worse] = []
    notes: list[Worse] = []
    for column, words in COUNTED:
        failed, told = _counted(both, column, words)
        worse, notes = worse + failed, notes + told
    held, told = _holds(both)
    return worse + _all_round(both) + _answers(both) + held, notes + told


def _counted(both: Season, column: str, words: str) -> tuple[list[Worse], list[Worse]]:
    """Steps that were missed (unanswered, out of order), where the count has more of them than chance explains."""
    totals = both.counts[column].to_numpy(dtype=int)
    new, all_ = int(totals[-1]), int(totals.sum())
    if new == 0:
        return [], []
    fails = more_than_before(new, all_ - new, len(totals) - 1, COUNTED_ALPHA)
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


def _all_round(both: Season) -> list[Worse]:
    """All steps later alike: the middle, over the steps, of how far each is from its own middle in the counts before."""
    deviations = both.matrix("deviation_s")
    off = deviations[(~np.isnan(deviations[:, :-1])).any(axis=1)]
    off = off - np.nanmedian(off[:, :-1], axis=1, keepdims=True)
    middles = np.array([np.median(column[~np.isnan(column)]) if (~np.isnan(column)).any() else np.nan for column in off.T])
    limit = max(prediction(middles[:-1], ALL_ROUND_ALPHA), LEAST_ALL_ROUND_S)
    if not middles[-1] > limit:
        return []
    text = f"the middle of all steps is {middles[-1]:.1f} s later than before; up to {limit:.1f} s is usual"
    return [Worse("later_all_round", None, float(middles[-1]), limit, text)]


def _answers(both: Season) -> list[Worse]:
    """Answers of the whole count slower than before: the mean over steps of log(time / the step's median)."""
    from scipy.stats import t

    seconds = both.matrix("response_s")
    logs = np.log(np.where(seconds > 0, seconds, np.nan))
    counts = logs.shape[1] - 1
    usable = (~np.isnan(logs[:, :-1])).sum(axis=1) >= min(counts, LEAST_VALUES)
    logs = logs[usable & ~np.isnan(logs[:, -1])]
    if len(logs) < LEAST_ANSWERS:
        return []
    ratios = logs - np.nanmedian(logs[:, :-1], axis=1, keepdims=True)
    means = np.array([mean(column) for column in ratios.T])
    if counts >= LEAST_VALUES:
        limit = prediction(means[:-1], ANSWERS_ALPHA)
    else:
        chance = float(t.isf(ANSWERS_ALPHA, len(ratios) - 1)) * float(np.std(ratios[:, -1], ddof=1)) / float(np.sqrt(len(ratios)))
        limit = max(float(np.log(LEAST_SLOWER)), chance)
    if not means[-1] > limit:
        return []
    usual = mean(means[:-1])
    times = float(np.exp(means[-1] - usual))
    return [Worse("answers", None, times, float(np.exp(limit - usual)), f"answers took {times:.1f} times as long as before")]


def _holds(both: Season) -> tuple[list[Worse], list[Worse]]:
    """More unplanned hold time than before, on a scale of logarithms: holds are few and of very different lengths."""
    held = both.counts["unplanned_hold_s"].to_numpy(dtype=float)
    new, logs, longest = float(held[-1]), np.log1p(held / LEAST_HOLD_S), float(held[:-1].max())
    if new < LEAST_HOLD_S or new <= longest:
        return [], []
    limit = prediction(logs[:-1], HOLDS_ALPHA)
    if logs[-1] > limit:
        limit_s = float(np.expm1(limit) * LEAST_HOLD_S)
        return [Worse("holds", None, new, limit_s, f"{duration(new)} of unplanned holds; up to {duration(limit_s)} is usual")], []
    return [], [Worse("holds", None, new, longest, f"{duration(new)} of unplanned holds; the longest before was {duration(longest)}")]
