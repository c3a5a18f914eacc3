"""Two honest baselines for the match: what a competent afternoon's script would do.

Each step due takes the utterance of best likeness to its action within a window round its due time, if that likeness reaches a
threshold. One uses rapidfuzz's token_set_ratio, the other difflib's SequenceMatcher on sorted words. Both get the same rebuilt clock and
the same utterances as the match. Window and thresholds were set in advance, on no simulated count.
"""

from __future__ import annotations

from collections.abc import Callable
from difflib import SequenceMatcher

import numpy as np
import pandas as pd

WINDOW_S = 180.0
RATIO_THRESHOLD = 0.80
DIFFLIB_THRESHOLD = 0.62


def token_set_ratio(due: pd.DataFrame, utterances: pd.DataFrame, actions: dict[str, str], threshold: float = RATIO_THRESHOLD) -> list[int | None]:
    """For each row of DUE, the utterance taken for it, or None."""
    from rapidfuzz import fuzz, utils

    def like(action: str, texts: list[str]) -> list[float]:
        return [fuzz.token_set_ratio(action, t, processor=utils.default_process) / 100 for t in texts]

    return _nearest(due, utterances, actions, like, threshold)


def difflib_ratio(due: pd.DataFrame, utterances: pd.DataFrame, actions: dict[str, str], threshold: float = DIFFLIB_THRESHOLD) -> list[int | None]:
    """As token_set_ratio, with the standard library's matcher on the sorted words."""

    def like(action: str, texts: list[str]) -> list[float]:
        matcher = SequenceMatcher(autojunk=False)
        matcher.set_seq2(_sorted_words(action))
        out = []
        for text in texts:
            matcher.set_seq1(_sorted_words(text))
            out.append(matcher.ratio() if matcher.quick_ratio() >= threshold else 0.0)
        return out

    return _nearest(due, utterances, actions, like, threshold)


def _sorted_words(text: str) -> str:
    return " ".join(sorted("".join(c if c.isalnum() else " " for c in text.lower()).split()))


def _nearest(
    due: pd.DataFrame, utterances: pd.DataFrame, actions: dict[str, str], like: Callable[[str, list[str]], list[float]], threshold: float,
) -> list[int | None]:
    when = utterances["utc_us"].astype("Int64").to_numpy(dtype=np.float64, na_value=np.nan) / 1e6
    t_s = utterances["t_s"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    text = utterances["text"].fillna("").to_numpy(dtype=object)
    due_s = due["due_utc"].astype("int64").to_numpy() / 1e6
    taken: list[int | None] = []
    for i, row in enumerate(due.to_dict("records")):
        if not row["reached"]:
            taken.append(None)
            continue
        near = (np.abs(when - due_s[i]) <= WINDOW_S) | (np.abs(t_s - row["planned_t_s"]) <= WINDOW_S)
        at = np.flatnonzero(near)
        scores = like(actions[row["step"]], text[at].tolist())
        best = int(np.argmax(scores)) if scores else -1
        taken.append(int(at[best]) if best >= 0 and scores[best] >= threshold else None)
    return taken
