"""How sure each verdict is, and which few a person should look at.

Question answered: the probability that a step's verdict (seen, with these utterances; or not seen) is right. Model: logistic over
the chosen thread's strength, its support and its best rival, weights in `weights.VERDICT`, fitted so that of verdicts
said to be 0.9 nine in ten are right. It does not change a verdict.
"""

from __future__ import annotations

import numpy as np

from aftercount.match import weights

FEATURES = tuple(weights.VERDICT)
REVIEW_SHARE = 0.08  # of the steps reached: what a person can look at; the least sure are flagged first
REVIEW_BELOW = 0.97  # a verdict surer than this is not worth a look even if room is left
SURE = 30.0  # nats: cap, so that a decision or a perfect match stays finite


def seen_probability(features: np.ndarray) -> np.ndarray:
    """Probability that the step was seen as chosen, from rows of FEATURES."""
    logit = features @ np.array([weights.VERDICT[name] for name in FEATURES])
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(logit, -SURE, SURE))))


def review_flags(confidence: np.ndarray, eligible: np.ndarray) -> np.ndarray:
    """The least sure verdicts among the eligible, at most REVIEW_SHARE of them, none surer than REVIEW_BELOW."""
    flags = np.zeros(len(confidence), dtype=bool)
    room = int(np.floor(REVIEW_SHARE * eligible.sum()))
    order = np.lexsort((np.arange(len(confidence)), confidence))
    doubtful = [i for i in order.tolist() if eligible[i] and confidence[i] < REVIEW_BELOW]
    flags[doubtful[:room]] = True
    return flags
