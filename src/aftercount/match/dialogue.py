"""Bare answers: responses and reports with no word of their step ('copy', 'TC PROP complete'), understood from what was said before.

Question answered: to which step, among those just spoken of on the same log, does a bare answer belong. Model: logistic over the
strength of the line it answers, the time and calls between, and the stations; weights in `weights.BARE`. Such an answer adds
evidence of a step's response and completion, never a step that nothing else shows.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aftercount.match import weights
from aftercount.match.conflict import NOT_DONE
from aftercount.match.signs import CALL, Planned, Said, station_agreement

FEATURES = tuple(weights.BARE)
DIALOGUE_S = 240.0  # a bare answer belongs to a line at most this long before
BACK = 10  # utterances looked back over within one log
SAYS_DONE = re.compile(r"\b(complete[ds]?|done|finished|accomplished|c?mplt)\b", re.IGNORECASE)
LEAST_LOGIT = -1.0  # log-odds from which a line is taken to speak of a step
NEVER = 1e12  # stands for an unknown time: later than any, and equal to itself, so that order in the log decides


@dataclass(frozen=True)
class Short:
    """Of each utterance: is it a bare answer, and does it say that something is done."""

    bare: np.ndarray
    done: np.ndarray

    @classmethod
    def of(cls, bare: np.ndarray, texts: Sequence[str]) -> Short:
        return cls(bare, np.array([b and bool(SAYS_DONE.search(t)) for b, t in zip(bare.tolist(), texts, strict=True)], dtype=bool))


@dataclass(frozen=True)
class Answers:
    """Pairs of a bare answer u and a step due d, with FEATURES."""

    u: np.ndarray
    d: np.ndarray
    features: np.ndarray

    @property
    def logit(self) -> np.ndarray:
        return np.asarray(self.features @ np.array([weights.BARE[name] for name in FEATURES]))


def answers(
    said: Said, planned: Planned, short: Short, misses: np.ndarray, pairs: tuple[np.ndarray, np.ndarray], logit: np.ndarray,
) -> Answers:
    """For each bare answer, the steps that the lines before it on the same log speak of. `pairs`, `logit`: what those lines are."""
    bare, done = short.bare, short.done
    step_of = {u: found for u, found in _likeliest(pairs, logit).items() if not planned.is_poll[found[0]]}
    when = np.nan_to_num(said.utc_s, nan=NEVER)
    order = np.lexsort((np.arange(len(when)), when, said.source)).tolist()
    found: list[tuple[int, int, float, float, int, int]] = []
    for at in np.flatnonzero(bare[order]).tolist():
        found += _looking_back(order, at, said, when, step_of)
    table = np.array(found, dtype=np.float64).reshape(-1, 6)
    u, d = table[:, 0].astype(np.int64), table[:, 1].astype(np.int64)
    speaker, addressee = station_agreement(said, planned, (u, d), said.part[u])
    columns = {
        "bias": np.ones(len(u)), "before": table[:, 2], "gap": np.log1p(table[:, 3]), "between": table[:, 4], "told": table[:, 5],
        "speaker_same": speaker > 0, "speaker_other": speaker < 0, "to_same": addressee > 0, "to_other": addressee < 0,
        "is_report": said.kind[u] == "report", "says_done": (said.kind[u] == "report") & done[u],
        "not_done": (misses[u] & NOT_DONE) > 0,
    }
    features = np.stack([np.asarray(columns[name], dtype=np.float64) for name in FEATURES], axis=1)
    return Answers(u, d, features.reshape(len(u), len(FEATURES)))


def _likeliest(pairs: tuple[np.ndarray, np.ndarray], logit: np.ndarray) -> dict[int, tuple[int, float]]:
    """The step each utterance most likely speaks of, with its probability."""
    best: dict[int, tuple[int, float]] = {}
    for i in np.lexsort((pairs[1], logit)).tolist():
        if logit[i] >= LEAST_LOGIT:
            best[int(pairs[0][i])] = (int(pairs[1][i]), float(1.0 / (1.0 + np.exp(-logit[i]))))
    return best


def _looking_back(
    order: list[int], at: int, said: Said, when: np.ndarray, step_of: dict[int, tuple[int, float]],
) -> list[tuple[int, int, float, float, int, int]]:
    """(answer, step due, probability, gap in seconds, calls for other steps between, reports of the step between)."""
    mine = order[at]
    out: dict[int, tuple[int, int, float, float, int, int]] = {}
    calls = 0
    for other in order[max(0, at - BACK):at][::-1]:
        if said.source[other] != said.source[mine] or when[mine] - when[other] > DIALOGUE_S:
            break
        spoken = step_of.get(other)
        if spoken is not None:
            step, p = spoken
            told = said.part[other] != CALL
            if step not in out:
                out[step] = (mine, step, p, float(when[mine] - when[other]), calls, int(told))
            calls += said.part[other] == CALL
    return list(out.values())
