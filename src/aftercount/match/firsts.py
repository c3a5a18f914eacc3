"""Which of several doings of a step was its first, the one it is timed by?

A step done again is often the clearer of the two: the first is what a reviewer asks for, however garbled, and talk of a thing beforehand is no doing
of it. Conventions: one row of FEATURES for each thread of a step, log-odds capped at CAP nats; the likeliest by `weights.FIRST` (a choice among the
step's threads: multinomial logit) is first. It does not make the threads: `moments` does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import context, decide, logodds, weights
from aftercount.match.likeness import GARBLED_TALK
from aftercount.match.moments import Thread, begun
from aftercount.match.signs import CALL, RECORD, REPORT, RESPONSE

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

FEATURES = tuple(weights.FIRST)
CAP = 10.0
SCANT = 0.6  # share of a step's words below which it is the less told of, the less there is
WHOLE = 0.85  # share of a step's words from which a doing of at least two stages is a whole one
STAGES = ((CALL,), (RESPONSE,), (REPORT, RECORD))
AS_MUCH = 0.75  # of the fullest doing's share of the step's words
MUCH_BESIDE = 0.6  # share of a line's words that are the step's, below which it says much beside it
TOLD = 3.0  # own log-odds without the time from which words that no step was given show a doing ...
MOST = 0.65  # ... if they are this much of the step's
_COVERAGE = logodds.FEATURES.index("coverage")
_DISTANCE, _EARLY, _LEAD_IN, _EXPLAINED = (logodds.FEATURES.index(name) for name in ("distance", "early", "lead_in", "explained"))


def telling(scored: Scored, taken: np.ndarray) -> np.ndarray:
    """Which pairs show a doing by their words, whenever in the pass: plain, about this step, and of utterances that no other step was given (taken: the
    row of DUE that each was given, -1 none)."""
    plain = ~scored.missed & ~scored.refuted & ~scored.bare & (scored.own[:, _LEAD_IN] == 0)
    told = (scored.own[:, _COVERAGE] >= MOST) & (logodds.without_time(scored.own) >= TOLD)
    here = scored.said.pass_[scored.u] == scored.planned.pass_[scored.d]
    of_step = taken[scored.u]
    return np.asarray(plain & told & here & decide.open_pairs((scored.u, scored.d), scored.made) & ((of_step < 0) | (of_step == scored.d)))


def first_of(found: list[Thread], scored: Scored) -> list[Thread]:
    """The threads of a step with its first doing in front, the others as they were."""
    if len(found) < 2:
        return found
    at = int(np.argmax(_worth(found, scored)))
    return [found[at], *found[:at], *found[at + 1:]]


def doubt_of(found: list[Thread], scored: Scored) -> float:
    """The probability that another of the threads than found[0] was the first doing."""
    if len(found) < 2:
        return 0.0
    worth = _worth(found, scored)
    return float(1.0 - np.exp(worth[0] - np.logaddexp.reduce(worth)))


def _worth(found: list[Thread], scored: Scored) -> np.ndarray:
    """Log-odds of each, but for what they have in common. Clear talk that says fewer of the step's words than another, and much beside them, is no doing
    ('the backup unit wants a restart, it tripped on a range check'), however near to due; there is too little of it in simulated counts to learn it."""
    table = figures(found, scored)
    coverage, explained, called = (table[:, FEATURES.index(name)] for name in ("coverage", "explained", "called"))
    clear = np.array([scored.garbled[scored.u[begun(t)]] < GARBLED_TALK for t in found])
    mentions = clear & (coverage < AS_MUCH * coverage.max()) & (explained < MUCH_BESIDE) & (called == 0)
    return np.asarray(np.where(mentions, -CAP, 0.0) + table @ np.array([weights.FIRST[name] for name in FEATURES]))


def figures(found: list[Thread], scored: Scored) -> np.ndarray:
    """threads x FEATURES."""
    leads = np.array([begun(t) for t in found], dtype=np.int64)
    when = scored.said.utc_s[scored.u[leads]]
    members = [np.array(t.members, dtype=np.int64) for t in found]
    told = [m[~scored.bare[m]] for m in members]
    words = np.array([np.clip(logodds.without_time(scored.own[m]).max(), 0.0, CAP) for m in told])
    coverage = np.array([t.coverage for t in found])
    early, recorded = scored.own[leads, _EARLY], np.array([t.lead[RECORD] >= 0 for t in found])
    whole = (coverage >= WHOLE) & (sum(np.array([any(t.lead[p] >= 0 for p in parts) for t in found], dtype=int) for parts in STAGES) > 1)
    before = (when[None, :] < when[:, None])  # an unknown time is before nothing
    columns: dict[str, np.ndarray] = {
        "strength": np.clip([t.strength for t in found], -CAP, CAP), "words": words, "coverage": coverage, "scant": np.maximum(SCANT - coverage, 0.0),
        "exact": np.array([t.exact for t in found]),
        "explained": np.array([scored.own[m, _EXPLAINED].max() for m in told]),
        "distance": scored.own[leads, _DISTANCE], "early": early,
        "called": np.array([t.lead[CALL] >= 0 for t in found]), "accepted": np.array([t.lead[RESPONSE] >= 0 for t in found]),
        "reported": np.array([t.lead[REPORT] >= 0 or t.lead[RECORD] >= 0 for t in found]),
        "logs": np.array([len(np.unique(scored.said.source[scored.u[m]])) - 1 for m in told]),
        "recorded": recorded, "recorded_early": recorded * early, "whole": whole,
        "talk": np.array([bool(scored.missed[m].any() or (scored.own[m, _LEAD_IN] > 0).any()) for m in told]),
        "after_words": np.where(before, words[None, :], 0.0).max(axis=1), "after_coverage": np.where(before, coverage[None, :], 0.0).max(axis=1), "after_whole": (before & whole[None, :]).any(axis=1),
        "answers_other": scored.context[leads, context.FEATURES.index("answers_other")],
    }
    return np.stack([np.asarray(columns[name], dtype=np.float64) for name in FEATURES], axis=1)
