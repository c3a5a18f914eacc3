"""The match of a count, stage after stage: texts, pairs, odds, assignment, verdicts.

Question answered: see the package. Conventions: one row of VERDICTS for each row of DUE, in its order; MATCHES names utterances in
`event` (review.py numbers events); scores are probabilities 0..1, more is better. It does not judge lateness or order.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import pandas as pd

from aftercount.count import CountFolder
from aftercount.errors import Problem
from aftercount.match import (
    candidates,
    context,
    decide,
    dialogue,
    lexicon,
    likeness,
    logodds,
    signs,
    stepids,
    verdicts,
    withdrawn,
)
from aftercount.match.assign import assign
from aftercount.match.conflict import (
    ASKED,
    ASKED_ABOUT,
    NOT_DONE,
    lead_in,
    near_miss,
    own_misses,
    own_signs,
)
from aftercount.match.namesaside import put_aside
from aftercount.plan import Plan

PIN_GAIN = 1e4  # gain of a decided pair: above any sum of gains, so that decisions win the assignment
CHOOSE_LOGIT = -2.5  # log-odds from which a pair may be chosen: most steps are done, so a step's only candidate may be it at less than even odds
EVEN_LOGIT = 0.0  # log-odds from which an utterance is taken to be what it seems
NO_WORDS = -20.0  # own log-odds of a bare answer, and the odds of what only passed between the stations of a step: the words show nothing
TIMES = 3  # how often one log may tell the same part of a step: done, and done again
AND = re.compile(r"\band\b|&")
OF_TWO = 0.85  # share of a step's words from which a line with an 'and' tells of it, and of the line from which it tells of nothing else
REPEAT_COST = 1.0  # nats a further telling must be surer: a repeat is rarer than a first doing


@dataclass(frozen=True)
class Matched:
    """matches: MATCHES; verdicts: VERDICTS; beginnings: BEGINNINGS; problems: decisions that fit nothing."""

    matches: pd.DataFrame
    verdicts: pd.DataFrame
    beginnings: pd.DataFrame
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Scored:
    """The candidate pairs with everything known of them; sorted by d, then u. `part`: what the utterance can be of the step; `content`, `garbled`: of each utterance, see Likeness;
    `joins`: whether its words have an 'and'; `text`: equal for utterances of the same words; `alike`, `words`: the words of the utterances against the plan's, and themselves; `asked`: the near misses that each
    plan row's own wording has."""

    said: signs.Said
    planned: signs.Planned
    u: np.ndarray
    d: np.ndarray
    part: np.ndarray
    own: np.ndarray
    own_logit: np.ndarray
    context: np.ndarray
    logit: np.ndarray
    made: decide.Pins
    answers: dialogue.Answers
    bare: np.ndarray
    content: np.ndarray
    garbled: np.ndarray
    joins: np.ndarray
    text: np.ndarray
    alike: likeness.Likeness
    words: tuple[str, ...]
    asked: np.ndarray

    @cached_property
    def missed(self) -> np.ndarray:
        """Which pairs are near misses: not now, or only talked about."""
        return self._has("not_now", "about")

    @cached_property
    def later(self) -> np.ndarray:
        """Which pairs say that the step is not now."""
        return self._has("not_now")

    @cached_property
    def asks(self) -> np.ndarray:
        """Which pairs are of a question, though the step's own wording asks too."""
        u, at = np.unique(self.u, return_inverse=True)
        bits = near_miss([self.words[i] for i in u.tolist()])[at]
        return np.asarray(bits & (ASKED | ASKED_ABOUT) > 0)

    @cached_property
    def refuted(self) -> np.ndarray:
        """Which pairs say that the step is not done, or speak of another unit or the opposite act."""
        return self._has("not_done", "conflict")

    @cached_property
    def of_two(self) -> np.ndarray:
        """Which pairs are of a line that tells of several steps: with an 'and', and words for each of them beside those for the others."""
        coverage, explained = (self.own[:, logodds.FEATURES.index(name)] for name in ("coverage", "explained"))
        part = self.joins[self.u] & ~self.refuted & (coverage >= OF_TWO) & (explained < OF_TWO)
        steps = np.bincount(self.u[part], minlength=len(self.joins))
        return np.asarray(part & (steps[self.u] > 1))

    def _has(self, *names: str) -> np.ndarray:
        at = [logodds.FEATURES.index(name) for name in names]
        return np.asarray((self.own[:, at] > 0).any(axis=1))

    def with_answers(self) -> Scored:
        """The same with the bare answers among the pairs (their own signs are none)."""
        more = self._with(self.answers.u, self.answers.d, self.answers.logit)
        order = np.lexsort((more.u, more.d))
        return replace(
            more, u=more.u[order], d=more.d[order], part=more.part[order], logit=more.logit[order], own=more.own[order], own_logit=more.own_logit[order],
            context=more.context[order], bare=more.bare[order],
        )

    def with_silent(self, pairs: Sequence[tuple[int, int]]) -> Scored:
        """The same with pairs of which the words show nothing behind the others, which keep their places."""
        more = np.array(pairs, dtype=np.int64).reshape(-1, 2)
        return self._with(more[:, 0], more[:, 1], np.full(len(more), NO_WORDS))

    def _with(self, u: np.ndarray, d: np.ndarray, logit: np.ndarray) -> Scored:
        def none(like: np.ndarray) -> np.ndarray:
            return np.concatenate([like, np.zeros((len(u), like.shape[1]))])

        return replace(
            self, u=np.concatenate([self.u, u]), d=np.concatenate([self.d, d]), part=np.concatenate([self.part, self.said.part[u]]),
            logit=np.concatenate([self.logit, logit]), own=none(self.own), own_logit=np.concatenate([self.own_logit, np.full(len(u), NO_WORDS)]),
            context=none(self.context), bare=np.concatenate([self.bare, np.ones(len(u), dtype=bool)]),
        )


@dataclass(frozen=True)
class Worded:
    """What the words alone tell, of utterances in the order of their table: it holds however their times are settled."""

    texts: tuple[str, ...]
    alike: likeness.Likeness
    named: dict[int, set[int]]
    leads: dict[str, float] = field(default_factory=dict)  # `lead_in` of the texts that were asked for


Stems = dict[str, tuple[str, ...]]


def stems(texts: Sequence[str], plan: Plan, count: CountFolder) -> Stems:
    """Every text in the words that the plan is compared by; it can be had before it is known who speaks."""
    words = lexicon.build(plan, count)
    return {text: words.stems(text) for text in dict.fromkeys(texts)}


def worded(utterances: pd.DataFrame, plan: Plan, count: CountFolder, known: Stems | None = None) -> Worded:
    """The words of the utterances (UTTERANCES, times not needed) against those of the plan. known: `stems` of their texts, if they are at hand."""
    texts = utterances["text"].fillna("").tolist()
    log = pd.factorize(utterances["source"], sort=True)[0]
    alike = likeness.compare(_spoken(texts, utterances), log, lexicon.build(plan, count), known)
    records = [text if medium == "machine" else None for text, medium in zip(texts, utterances["medium"].tolist(), strict=True)]
    named = stepids.labelled(records, _wordings(plan)) | stepids.named_steps(texts, plan.table["step"].tolist())
    return Worded(tuple(put_aside(texts, count.stations)), alike, named)


def match(
    due: pd.DataFrame, utterances_with_time: pd.DataFrame, plan: Plan, count: CountFolder, decisions: pd.DataFrame, words: Worded | None = None,
) -> Matched:
    """Judge every step due. Raises nothing for odd data: a step without a plausible utterance is simply not seen.

    words: `worded` of the same utterances, where they are matched more than once.
    """
    scored = score(due, utterances_with_time, plan, count, decisions, words)
    return Matched(*verdicts.tables(due, utterances_with_time, scored, choose(scored)), scored.made.problems)


def choose(scored: Scored) -> np.ndarray:
    """Which pairs the assignment takes: each utterance at most once (one that tells of two steps twice), TIMES a step, part and log."""
    gain = decide.weigh((scored.u, scored.d), scored.logit - CHOOSE_LOGIT, scored.made, PIN_GAIN)
    sources = int(scored.said.source.max()) + 1 if len(scored.said.source) else 1
    slot = ((scored.d * len(signs.PARTS) + scored.part) * sources + scored.said.source[scored.u]) * TIMES
    pair = np.tile(np.arange(len(slot)), TIMES)
    again = np.repeat(np.arange(TIMES), len(slot))
    twice = np.flatnonzero(scored.of_two)
    row = np.concatenate([scored.u[pair], scored.u[twice] + len(scored.said.part)])
    pair, again = np.concatenate([pair, twice]), np.concatenate([again, np.zeros(len(twice), dtype=np.int64)])
    chosen = assign(row, slot[pair] + again, gain[pair] - REPEAT_COST * again)
    return np.isin(np.arange(len(slot)), pair[chosen])


def score(
    due: pd.DataFrame, utterances: pd.DataFrame, plan: Plan, count: CountFolder, decisions: pd.DataFrame, words: Worded | None = None,
) -> Scored:
    """All candidate pairs with features and log-odds (also what the fit learns from)."""
    words = words or worded(utterances, plan, count)
    texts, alike, named = words.texts, words.alike, words.named
    station_id = {name.upper(): i for i, name in enumerate(sorted(count.stations))}
    said = signs.said(utterances, station_id)
    planned = signs.planned(due, plan, station_id)
    void = withdrawn.orders(said, planned, texts, alike, [" ; ".join(own) for own in _wordings(plan)])
    said = replace(said, kind=np.where(void, signs.WITHDRAWN, said.kind))
    made = decide.pins(decisions, due, utterances)
    wanted = made.pinned | candidates.by_name(named, planned) | candidates.polls(said, planned)
    u, d = _joined(candidates.by_words(alike, said, planned), wanted)
    bare = candidates.bare(said, alike.content, texts)
    misses = _misses(words, np.union1d(u, np.flatnonzero(bare)), plan)
    misses.said[void] |= NOT_DONE
    part = signs.parts(said, planned, u, d)
    own = _OwnFeatures(alike, said, planned, misses, named)((u, d), part)
    own_logit = logodds.own_logit(own)
    untimed = logodds.without_time(own)
    distance, not_now, leads = (own[:, logodds.FEATURES.index(name)] for name in ("distance", "not_now", "lead_in"))
    around = context.context_features(said, planned.by, (u, d), context.Own(part, own_logit, untimed, distance, np.maximum(not_now, leads)))
    logit = context.full_logit(around)
    bare[u[logit > EVEN_LOGIT]] = False
    answered = dialogue.answers(said, planned, dialogue.Short.of(bare, texts), misses.said, (u, d), logit)
    joins = np.zeros(len(texts), dtype=bool)
    joins[np.unique(u)] = [bool(AND.search(texts[i])) for i in np.unique(u).tolist()]
    none = np.zeros(len(u), dtype=bool)
    scored = Scored(said, planned, u, d, part, own, own_logit, around, logit, made, answered, none, alike.content, alike.garbled, joins, alike.text_of, alike, texts, misses.planned)
    return scored.with_answers()


def _spoken(texts: Sequence[str], utterances: pd.DataFrame) -> list[likeness.Spoken]:
    """Each text with the known stations that say it and are told it."""
    ends = zip(utterances["station"].tolist(), utterances["to"].tolist(), strict=True)
    return [(text, tuple(name for name in both if isinstance(name, str) and name)) for text, both in zip(texts, ends, strict=True)]


@dataclass(frozen=True)
class _OwnFeatures:
    alike: likeness.Likeness
    said: signs.Said
    planned: signs.Planned
    misses: logodds.Misses
    named: dict[int, set[int]]

    def __call__(self, pairs: tuple[np.ndarray, np.ndarray], part: np.ndarray) -> np.ndarray:
        row = self.planned.row[pairs[1]].tolist()
        ids = np.zeros(len(row), dtype=np.int64)
        for i, u in enumerate(pairs[0].tolist()):
            names = self.named.get(u)
            if names:
                ids[i] = 1 if row[i] in names else -1
        return logodds.own_features(self.alike, self.said, self.planned, pairs, part, self.misses, ids)


def _misses(words: Worded, rows: np.ndarray, plan: Plan) -> logodds.Misses:
    """Near misses among the utterances that matter (0 elsewhere), and in the plan's own wordings."""
    bits, lead = np.zeros(len(words.texts), dtype=np.int16), np.zeros(len(words.texts))
    said = [words.texts[i] for i in rows.tolist()]
    new = [text for text in dict.fromkeys(said) if text not in words.leads]
    words.leads.update(zip(new, lead_in(new).tolist(), strict=True))
    bits[rows], lead[rows] = near_miss(said), [words.leads[text] for text in said]
    wordings = [" ; ".join(own) for own in _wordings(plan)]
    return logodds.Misses(bits, lead, own_misses(wordings), words.texts, own_signs(wordings))


def _wordings(plan: Plan) -> list[list[str]]:
    """What each plan row may be called."""
    return [[str(action), *says] for action, says in zip(plan.table["action"], plan.table["says"], strict=True)]


def _joined(pairs: tuple[np.ndarray, np.ndarray], wanted: frozenset[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    """The pairs and those wanted besides, sorted by d, then u."""
    known = set(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True))
    extra = np.array(sorted(wanted - known), dtype=np.int64).reshape(-1, 2)
    u, d = np.concatenate([pairs[0], extra[:, 0]]), np.concatenate([pairs[1], extra[:, 1]])
    order = np.lexsort((u, d))
    return u[order], d[order]
