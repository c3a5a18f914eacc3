"""What the other utterances say about a pair: dialogue on one log, agreement between logs, rivals.

Question answered: given each pair's own log-odds, how do its neighbours change them: a completion after a call for the same step, the
same moment on another log, an utterance that fits another step better, a step that fits another moment better. Model: logistic
over the own log-odds and these features, weights in `weights.ALL`. Values are probabilities or nats.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from aftercount.match import weights
from aftercount.match.signs import CALL, RECORD, RESPONSE, Said

FEATURES = tuple(weights.ALL)
SAME_MOMENT_S = 12.0  # logs kept by people agree on a moment to within this, beside the clocks' sigma
SAME_WORDS_S = 3.0  # ... and on one sentence, be it stamped at its beginning or its end, to within this
THREAD_S = 240.0  # call, acceptance and completion of one step on one loop lie within this
ANSWER_S = 20.0  # what is said this soon after a call on one loop answers it as a rule
ANSWER_LINES = 3  # ... if no more than so many lines came between
RIVAL_CAP = 6.0  # nats: beyond this a rival is simply better


@dataclass(frozen=True)
class Own:
    """Each pair by itself: `part`: what it can be of its step; `logit`: own log-odds; `untimed`: the same without the time; `distance`: the feature of that
    name; `ahead`: how much it says that its step is to come, 0..1."""

    part: np.ndarray
    logit: np.ndarray
    untimed: np.ndarray
    distance: np.ndarray
    ahead: np.ndarray


def context_features(said: Said, by: np.ndarray, pairs: tuple[np.ndarray, np.ndarray], itself: Own) -> np.ndarray:
    """Pairs x FEATURES, for pairs sorted by d; `by`: who performs each step."""
    u, d = pairs
    part, own, untimed, ahead = itself.part, itself.logit, itself.untimed, itself.ahead
    p = 1.0 / (1.0 + np.exp(-own))
    thread, other, moment, same = np.zeros(len(u)), np.zeros(len(u)), np.full(len(u), -RIVAL_CAP), untimed.copy()
    to_come = np.zeros(len(u))
    bounds = [*np.searchsorted(d, np.unique(d)).tolist(), len(d)]
    for a, b in pairwise(bounds):
        if b - a > 1:
            thread[a:b], other[a:b], moment[a:b] = _neighbours(said, u[a:b], part[a:b], own[a:b], p[a:b])
            same[a:b] = _best_of_its_kind(said, u[a:b], part[a:b], untimed[a:b])
            to_come[a:b] = _ahead_elsewhere(said, u[a:b], ahead[a:b])
    rival = _rival(u, own)
    columns = {
        "bias": np.ones(len(u)), "own": own, "thread": thread, "other_log": other, "agreed_far": other * itself.distance,
        "rival_step": np.clip(rival, -RIVAL_CAP, RIVAL_CAP) + RIVAL_CAP, "rival_moment": np.clip(moment, -RIVAL_CAP, RIVAL_CAP) + RIVAL_CAP,
        "outdone": np.clip(same - untimed, 0.0, RIVAL_CAP), "answers_other": _answers_other(said, by, pairs, own),
        "ahead_elsewhere": to_come,
    }
    return np.stack([columns[name] for name in FEATURES], axis=1).reshape(len(u), len(FEATURES))


def full_logit(features: np.ndarray) -> np.ndarray:
    return np.asarray(features @ np.array([weights.ALL[name] for name in FEATURES]))


def _neighbours(said: Said, u: np.ndarray, part: np.ndarray, own: np.ndarray, p: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For the pairs of one step due: best probability in the same thread, on another log, and best log-odds of another moment."""
    when = said.utc_s[u]
    gap = when[None, :] - when[:, None]
    near = np.abs(np.nan_to_num(gap, nan=np.inf))
    sigma = said.sigma_s[u]
    slack = SAME_MOMENT_S + 2.0 * np.hypot(sigma[:, None], sigma[None, :])
    same_log = said.source[u][:, None] == said.source[u][None, :]
    forward = np.where(part[None, :] == CALL, -gap, gap)
    ordered = (part[:, None] != part[None, :]) & (np.nan_to_num(forward, nan=-1.0) >= -1.0)
    thread = np.where(same_log & ordered & (near <= THREAD_S) & (part[:, None] != RECORD), p[None, :], 0.0).max(axis=1)
    other = np.where(~same_log & (near <= slack + np.where(part[:, None] == part[None, :], 0.0, THREAD_S / 4)), p[None, :], 0.0).max(axis=1)
    moment = np.where(near > slack + THREAD_S / 2, own[None, :], -RIVAL_CAP).max(axis=1)
    return thread, other, moment


def _ahead_elsewhere(said: Said, u: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """For the pairs of one step due: how much another log has it at that very moment that the step is to come, where this one does not."""
    if not ahead.any():
        return np.zeros(len(u))
    gap, sigma = said.utc_s[u][None, :] - said.utc_s[u][:, None], said.sigma_s[u]
    together = np.abs(np.nan_to_num(gap, nan=np.inf)) <= SAME_WORDS_S + 2.0 * np.hypot(sigma[:, None], sigma[None, :])
    elsewhere = together & (said.source[u][:, None] != said.source[u][None, :])
    return np.asarray(np.maximum(np.where(elsewhere, ahead[None, :], 0.0).max(axis=1) - ahead, 0.0))


def _best_of_its_kind(said: Said, u: np.ndarray, part: np.ndarray, untimed: np.ndarray) -> np.ndarray:
    """For the pairs of one step due: the best words of any utterance of the same log and part."""
    same = (said.source[u][:, None] == said.source[u][None, :]) & (part[:, None] == part[None, :])
    return np.asarray(np.where(same, untimed[None, :], -np.inf).max(axis=1))


def _answers_other(said: Said, by: np.ndarray, pairs: tuple[np.ndarray, np.ndarray], own: np.ndarray) -> np.ndarray:
    """For each pair that is no order, the probability that what was just called on its log is another step that it could be as well, or that is who speaks's to do."""
    u, d = pairs
    out = np.zeros(len(u))
    if not len(u):
        return out
    by_call = np.lexsort((d, -own, u))
    first = by_call[np.flatnonzero(np.diff(u[by_call], prepend=-1))]
    step, odds = np.full(len(said.part), -1, dtype=np.int64), np.full(len(said.part), -RIVAL_CAP)
    step[u[first]], odds[u[first]] = d[first], own[first]
    called = _just_called(said, (odds >= 0.0) & (said.part == CALL))
    answering = np.flatnonzero((called[u] >= 0) & (said.part[u] != CALL) & (said.part[u] != RECORD))
    of_call = step[called[u[answering]]]
    width = int(d.max()) + 1
    could_be = np.isin(u[answering] * width + of_call, u * width + d)
    theirs = (said.part[u[answering]] == RESPONSE) & (said.station[u[answering]] >= 0) & (said.station[u[answering]] == by[of_call])
    other = answering[(of_call != d[answering]) & (could_be | theirs)]
    out[other] = 1.0 / (1.0 + np.exp(-odds[called[u[other]]]))
    return out


def _just_called(said: Said, calls: np.ndarray) -> np.ndarray:
    """For each utterance, the last of `calls` before it on its log, if it was just before; else -1."""
    order = np.lexsort((np.arange(len(said.part)), np.nan_to_num(said.utc_s, nan=np.inf), said.source))
    out = np.full(len(order), -1, dtype=np.int64)
    for back in range(ANSWER_LINES, 0, -1):
        mine, before = order[back:], order[:-back]
        gap = said.utc_s[mine] - said.utc_s[before]
        near = calls[before] & (said.source[mine] == said.source[before]) & (np.nan_to_num(gap, nan=np.inf) <= ANSWER_S)
        out[mine[near]] = before[near]
    return out


def _rival(u: np.ndarray, own: np.ndarray) -> np.ndarray:
    """For each pair, the best log-odds of the same utterance with another step."""
    order = np.lexsort((-own, u))
    first = np.ones(len(u), dtype=bool)
    first[1:] = u[order][1:] != u[order][:-1]
    starts = np.flatnonzero(first)
    best = own[order][starts]
    lengths = np.diff([*starts.tolist(), len(u)])
    second = np.where(lengths > 1, own[order][np.minimum(starts + 1, max(len(u) - 1, 0))], -RIVAL_CAP)
    rank_first = np.zeros(len(u), dtype=bool)
    rank_first[order[starts]] = True
    group = np.zeros(len(u), dtype=np.int64)
    group[order] = np.cumsum(first) - 1
    return np.where(rank_first, second[group], best[group])
