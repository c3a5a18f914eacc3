"""What do the steps found say of the count clock?

A step is mostly begun when the count gets to its time, so that where it is heard the count stood there, give or take some seconds. That is weak
evidence, for steps come late, and a crew that is late is late with several: a step weighs less than a doubtful reading. It is told by its
words alone, since how near due it was heard rests on the clock. Count times in seconds.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from aftercount.timeline.evidence import STEPPED, Evidence, Spoken, of_utterances
from aftercount.timeline.model import ANY, STEP

SAME_WORDS = 0.8  # likeness of words from which they are the step's, whenever they are heard
SUREST = 0.99  # likeness beyond which words are no surer
CLEARLY = 0.05  # of likeness: words that are nearer another step's by less are as much that step's
STEP_WEIGHT = 1.6  # nats: one step in three is not begun when due, odds of two to one, and chance seldom puts it there; not more, for several may be late together
AFTER_S = {"call": 0.0, "response": 3.0, "report": 12.0}  # when a step that is begun when due is heard: ordered, accepted, reported as done
SIGMA_S = {"call": 5.0, "response": 6.0, "report": 12.0}  # and how far from that
ONE_DOING_S = 60.0  # order, answer and report of one doing are heard within so long


def steps_heard(matches: pd.DataFrame, due: pd.DataFrame, said: Spoken) -> Evidence:
    """One item of evidence for each doing of a step that words tell: where the count stood if the step was begun when due.

    matches: MATCHES with utterance ids; due: DUE. Steps inside holds say nothing of the count. What is told again minutes later is one doing and something else: the
    weight is shared by the odds of their words. Words that are as much those of another step say nothing.
    """
    told = _told(matches, due, said)
    utterance = told["event"].to_numpy(dtype=np.int64)
    after, sigma = (np.array([table[part] for part in told["part"].tolist()], dtype=float) for table in (AFTER_S, SIGMA_S))
    score, n = np.minimum(told["text_score"].to_numpy(dtype=float), SUREST), len(told)
    odds = score / (1.0 - score)
    _, doing = np.unique(told["step"].to_numpy(dtype=str), return_inverse=True)
    doing = doing * len(said.names) + told["source"].to_numpy(dtype=np.int64)
    share = odds / np.bincount(doing, odds)[doing] if n else odds
    return of_utterances(
        utterance, said, sigma, t=told["planned_t_s"].to_numpy(dtype=float) + after, weight=STEP_WEIGHT * share, slack=sigma,
        kind=np.full(n, STEP), says=np.full(n, ANY), origin=np.full(n, STEPPED), row=np.full(n, -1),
    )


def _told(matches: pd.DataFrame, due: pd.DataFrame, said: Spoken) -> pd.DataFrame:
    """The first line of each doing in each log, with the step's planned count time, the line's own time and its source."""
    planned = due.loc[~due["in_hold"].astype(bool), ["step", "pass", "planned_t_s"]]
    told = matches[matches["text_score"] >= SAME_WORDS].merge(planned, on=["step", "pass"])
    told = told.sort_values(["text_score", "event", "step", "pass"], ascending=[False, True, True, True], kind="stable").drop_duplicates(["event", "step"])
    second = told.groupby("event")["text_score"].shift(-1).fillna(0.0)
    told = told[~told["event"].duplicated() & (told["text_score"] - second > CLEARLY)]
    event = told["event"].to_numpy(dtype=np.int64)
    told = told.assign(own=said.own[event], source=said.source[event])
    told = told[np.isfinite(told["own"]) & ~told["source"].isin([s for s, kind in enumerate(said.time_kind) if kind == "count"])]
    told = told.sort_values(["step", "source", "own", "event"], kind="stable")
    again = (told["step"] == told["step"].shift()) & (told["source"] == told["source"].shift()) & (told["own"].diff() <= ONE_DOING_S)
    return told[~again]
