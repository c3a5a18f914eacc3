"""How sure each verdict is, and which few a person should look at.

Question answered: the probability that a step's verdict (seen, begun by this utterance; or not seen) is right. Model: logistic over the
figures of `doubt`, weights in `weights`: DONE for whether a step for which something was taken was done at all, VERDICT for whether what is
taken to have begun it truly did, UNSEEN for whether one for which nothing was taken was done after all. Fitted so that of verdicts said to
be 0.9 nine in ten are right. It does not change a verdict.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

REVIEW_SHARE = 0.08  # of the steps due: what a person can look at; the least sure are flagged first
REVIEW_BELOW = 0.999  # a verdict surer than this is not worth a look even if room is left
ONE_MORE_BELOW = 0.97  # where the share ends amid a step, that one is flagged if it is less sure than this and most of it is within the share
EVEN = 0.5  # probability of having been done from which a step counts as seen
SURE = 30.0  # nats: cap, so that a decision or a perfect match stays finite


def probability(rows: np.ndarray | Sequence[Sequence[float]], table: Mapping[str, float]) -> np.ndarray:
    """Of rows of figures in the order of `table`."""
    logit = np.array(rows, dtype=np.float64).reshape(-1, len(table)) @ np.array(list(table.values()))
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(logit, -SURE, SURE))))


def review_flags(confidence: np.ndarray, eligible: np.ndarray) -> np.ndarray:
    """The least sure verdicts among the eligible, REVIEW_SHARE of all at most (over many counts), none surer than REVIEW_BELOW."""
    flags = np.zeros(len(confidence), dtype=bool)
    share = REVIEW_SHARE * len(confidence)
    room, rounded = int(share), int(share + 0.5)
    order = np.lexsort((np.arange(len(confidence)), confidence))
    doubtful = [i for i in order.tolist() if eligible[i] and confidence[i] < REVIEW_BELOW]
    flags[doubtful[:room]] = True
    flags[[i for i in doubtful[room:rounded] if confidence[i] < ONE_MORE_BELOW]] = True
    return flags
