"""The match of a count, stage after stage: texts, pairs, odds, assignment, verdicts.

Question answered: see the package. Conventions: one row of VERDICTS for each row of DUE, in its order; MATCHES names utterances in
`event` (review.py numbers events); scores are probabilities 0..1, more is better. It does not judge lateness or order.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from aftercount.count import CountFolder
from aftercount.errors import Problem
from aftercount.match import (
    candidates,
    context,
    decide,
    lexicon,
    likeness,
    logodds,
    signs,
    verdicts,
)
from aftercount.match.assign import assign
from aftercount.match.conflict import near_miss
from aftercount.plan import Plan

PIN_GAIN = 1e4  # gain of a decided pair: above any sum of gains, so that decisions win the assignment
CHOOSE_LOGIT = 0.0  # log-odds a pair needs: even odds


@dataclass(frozen=True)
class Matched:
    """matches: MATCHES; verdicts: VERDICTS; problems: decisions that fit nothing."""

    matches: pd.DataFrame
    verdicts: pd.DataFrame
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Scored:
    """The candidate pairs with everything known of them; sorted by d, then u."""

    said: signs.Said
    planned: signs.Planned
    u: np.ndarray
    d: np.ndarray
    own: np.ndarray
    own_logit: np.ndarray
    context: np.ndarray
    logit: np.ndarray
    made: decide.Pins


def match(
    due: pd.DataFrame, utterances_with_time: pd.DataFrame, plan: Plan, count: CountFolder, decisions: pd.DataFrame,
) -> Matched:
    """Judge every step due. Raises nothing for odd data: a step without a plausible utterance is simply not seen."""
    scored = score(due, utterances_with_time, plan, count, decisions)
    gain = decide.weigh((scored.u, scored.d), scored.logit - CHOOSE_LOGIT, scored.made, PIN_GAIN)
    part = scored.said.part[scored.u]
    sources = int(scored.said.source.max()) + 1 if len(scored.said.source) else 1
    slot = (scored.d * len(signs.PARTS) + part) * sources + scored.said.source[scored.u]
    chosen = assign(scored.u, slot, gain)
    matches, judged = verdicts.tables(due, utterances_with_time, scored, chosen, gain)
    return Matched(matches, judged, scored.made.problems)


def score(
    due: pd.DataFrame, utterances: pd.DataFrame, plan: Plan, count: CountFolder, decisions: pd.DataFrame,
) -> Scored:
    """All candidate pairs with features and log-odds (also what the fit learns from)."""
    texts = utterances["text"].fillna("").tolist()
    words = lexicon.build(plan, count)
    alike = likeness.compare(texts, words)
    station_id = {name.upper(): i for i, name in enumerate(sorted(count.stations))}
    said = signs.said(utterances, station_id)
    planned = signs.planned(due, plan, station_id)
    made = decide.pins(decisions, due, utterances)
    misses = near_miss(texts), _own_misses(plan)
    own_of = _OwnFeatures(alike, said, planned, misses, logodds.id_mentions(texts, plan.table["step"].tolist()))
    pairs = _with_pins(candidates.by_words(alike, said, planned), made)
    logit = logodds.own_logit(own_of(pairs))
    extra = candidates.by_dialogue(said, alike.content[alike.text_of], pairs, logit)
    u, d = np.concatenate([pairs[0], extra[0]]), np.concatenate([pairs[1], extra[1]])
    order = np.lexsort((u, d))
    u, d = u[order], d[order]
    own = own_of((u, d))
    own_logit = logodds.own_logit(own)
    around = context.context_features(said, (u, d), own_logit, own[:, logodds.FEATURES.index("bare")])
    return Scored(said, planned, u, d, own, own_logit, around, context.full_logit(around), made)


@dataclass(frozen=True)
class _OwnFeatures:
    alike: likeness.Likeness
    said: signs.Said
    planned: signs.Planned
    misses: tuple[np.ndarray, np.ndarray]
    named: dict[int, set[int]]

    def __call__(self, pairs: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
        row = self.planned.row[pairs[1]].tolist()
        ids = np.zeros(len(row), dtype=np.int64)
        for i, u in enumerate(pairs[0].tolist()):
            names = self.named.get(u)
            if names:
                ids[i] = 1 if row[i] in names else -1
        return logodds.own_features(self.alike, self.said, self.planned, pairs, self.misses, ids)


def _own_misses(plan: Plan) -> np.ndarray:
    """Near-miss phrases that the plan's own wording has, a row: they are then no sign of a miss."""
    wordings = [" ; ".join([str(action), *says]) for action, says in zip(plan.table["action"], plan.table["says"], strict=True)]
    return near_miss(wordings)


def _with_pins(pairs: tuple[np.ndarray, np.ndarray], made: decide.Pins) -> tuple[np.ndarray, np.ndarray]:
    known = set(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True))
    extra = np.array(sorted(made.pinned - known), dtype=np.int64).reshape(-1, 2)
    return np.concatenate([pairs[0], extra[:, 0]]), np.concatenate([pairs[1], extra[:, 1]])
