"""Which pairs of utterance and step due are worth scoring.

Question answered: by words and by time, which utterances could be which step. Conventions: a pair is (u, d): row of the
utterances, row of DUE. Nothing is decided here; a pair left out is one whose odds would be negligible.
"""

from __future__ import annotations

import numpy as np

from aftercount.match.likeness import Likeness
from aftercount.match.signs import RECORD, REPORT, RESPONSE, Planned, Said, lateness_s

LEAST_COVERAGE = 0.30  # share of a step's weighted words below which a text is no candidate by its words
STRONG_COVERAGE = 0.75  # from here a text is a candidate at any distance in time
NEAR_S = 1800.0  # a weaker text further than this from due, by both clocks, is no candidate
PER_STEP = 48  # candidates kept for one step due, best by words and time
TIME_SCALE_S = 60.0  # distance from due that costs as much as SCALE_COST of coverage, and again for each tenfold
SCALE_COST = 0.25
BARE_CONTENT = 0.6  # weight of content words up to which a response or report can only be understood from its dialogue
DIALOGUE_S = 150.0  # a bare response or report belongs to a call at most this long before
DIALOGUE_BACK = 8  # utterances looked back over within one log


def by_words(alike: Likeness, said: Said, planned: Planned) -> tuple[np.ndarray, np.ndarray]:
    """Pairs whose words fit, nearest and best first PER_STEP for each step due."""
    coverage = alike.coverage
    texts, steps = np.nonzero(coverage >= LEAST_COVERAGE)
    order = np.argsort(steps, kind="stable")
    texts, steps = texts[order], steps[order]
    by_text = np.argsort(alike.text_of, kind="stable")
    first = np.searchsorted(alike.text_of[by_text], np.arange(coverage.shape[0] + 1))
    bounds = np.searchsorted(steps, np.arange(coverage.shape[1] + 1))
    us, ds = [], []
    for d, row in enumerate(planned.row.tolist()):
        found = texts[bounds[row]:bounds[row + 1]] if row < coverage.shape[1] else texts[:0]
        if not len(found):
            continue
        u = np.concatenate([by_text[first[t]:first[t + 1]] for t in found.tolist()])
        u = _best(u, d, coverage[alike.text_of[u], row], said, planned)
        us.append(u)
        ds.append(np.full(len(u), d, dtype=np.int64))
    if not us:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    return np.concatenate(us), np.concatenate(ds)


def _best(u: np.ndarray, d: int, coverage: np.ndarray, said: Said, planned: Planned) -> np.ndarray:
    late = np.abs(lateness_s(said, planned, u, np.full(len(u), d)))
    near = np.isnan(late) | (late <= NEAR_S) | (coverage >= STRONG_COVERAGE)
    u, coverage, late = u[near], coverage[near], late[near]
    if len(u) <= PER_STEP:
        return np.sort(u)
    merit = coverage - SCALE_COST * np.log10(1.0 + np.nan_to_num(late, nan=NEAR_S) / TIME_SCALE_S)
    kept = np.lexsort((u, -merit))[:PER_STEP]
    return np.sort(u[kept])


def by_dialogue(
    said: Said, content: np.ndarray, pairs: tuple[np.ndarray, np.ndarray], logit: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of bare responses and reports ('TC PROP complete') with the step of what was said just before on the same log."""
    u, d = pairs
    best_d: dict[int, int] = {}
    for i in np.lexsort((d, logit)).tolist():
        best_d[int(u[i])] = int(d[i])
    known = set(zip(u.tolist(), d.tolist(), strict=True))
    bare = (content <= BARE_CONTENT) & np.isin(said.part, (RESPONSE, REPORT)) & (said.part != RECORD) & np.isin(said.kind, ("response", "report"))
    when = np.nan_to_num(said.utc_s, nan=np.inf)
    order = np.lexsort((np.arange(len(when)), when, said.source))
    out: list[tuple[int, int]] = []
    for at in np.flatnonzero(bare[order]).tolist():
        mine = int(order[at])
        for other in order[max(0, at - DIALOGUE_BACK):at][::-1].tolist():
            if said.source[other] != said.source[mine] or when[mine] - when[other] > DIALOGUE_S:
                break
            step = best_d.get(other)
            if step is not None and (mine, step) not in known:
                known.add((mine, step))
                out.append((mine, step))
    found = np.array(out, dtype=np.int64).reshape(-1, 2)
    return found[:, 0], found[:, 1]
