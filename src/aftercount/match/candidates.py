"""Which pairs of utterance and step due are worth scoring.

Question answered: by words and by time, which utterances could be which step. Conventions: a pair is (u, d): row of the
utterances, row of DUE. Nothing is decided here; a pair left out is one whose odds would be negligible.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from aftercount.match.likeness import RESEMBLES, Likeness, ramp
from aftercount.match.signs import RECORD, Planned, Said, lateness_s

STRONG_COVERAGE = 0.75  # from here a text is a candidate at any distance in time
# A text with less of a step's words than this is a candidate only this near to due, and of no other station: people use words of their own for what they do.
WEAK_COVERAGE, WEAK_NEAR_S = 0.30, 180.0
MOSTLY = 0.5  # one with less than a STRONG_COVERAGE of them, and more beside than of them, is no candidate of another station: it speaks of something else
# A text that is nothing but words of the step resembles it at less: 'ignition' for 'main engine ignition sequence'.
SOME_COVERAGE, ALL_EXPLAINED = 0.12, 0.99
NEAR_S = 1800.0  # a weaker text further than this from due, by both clocks, is no candidate
PER_STEP = 48  # candidates kept for one step due, best by words and time
TIME_SCALE_S = 60.0  # distance from due that costs as much as SCALE_COST of coverage, and again for each tenfold
SCALE_COST = 0.25
NUMBER = re.compile(r"\d|\b(one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|\w+ty|seconds?|minutes?)\b", re.IGNORECASE)
BARE_CONTENT = 0.6  # weight of content words up to which a response or report can only be understood from its dialogue


def by_words(alike: Likeness, said: Said, planned: Planned) -> tuple[np.ndarray, np.ndarray]:
    """Pairs whose words fit, nearest and best first PER_STEP for each step due."""
    coverage = alike.coverage
    texts, steps = np.nonzero((coverage >= RESEMBLES) | ((coverage >= SOME_COVERAGE) & (alike.explained >= ALL_EXPLAINED)))
    order = np.argsort(steps, kind="stable")
    texts, steps = texts[order], steps[order]
    by_text = np.argsort(alike.text_of, kind="stable")
    first = np.searchsorted(alike.text_of[by_text], np.arange(coverage.shape[0] + 1))
    count = np.diff(first)
    bounds = np.searchsorted(steps, np.arange(coverage.shape[1] + 1))
    us, ds = [], []
    for d, row in enumerate(planned.row.tolist()):
        found = texts[bounds[row]:bounds[row + 1]] if row < coverage.shape[1] else texts[:0]
        if not len(found):
            continue
        each = count[found]
        u = by_text[np.repeat(first[found], each) + ramp(each)]
        u = _best(u, d, (coverage[alike.text_of[u], row], alike.explained[alike.text_of[u], row]), said, planned)
        us.append(u)
        ds.append(np.full(len(u), d, dtype=np.int64))
    if not us:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    return np.concatenate(us), np.concatenate(ds)


def _best(u: np.ndarray, d: int, words: tuple[np.ndarray, np.ndarray], said: Said, planned: Planned) -> np.ndarray:
    coverage, explained = words
    late = np.abs(lateness_s(said, planned, u, np.full(len(u), d)))
    theirs = np.isin(said.station[u], (-1, planned.by[d], planned.to[d]))
    near = np.where(coverage < WEAK_COVERAGE, (late <= WEAK_NEAR_S) & theirs, np.isnan(late) | (late <= NEAR_S) | (coverage >= STRONG_COVERAGE))
    near &= theirs | (coverage >= STRONG_COVERAGE) | (explained >= MOSTLY)
    u, coverage, late = u[near], coverage[near], late[near]
    if len(u) <= PER_STEP:
        return np.sort(u)
    merit = coverage - SCALE_COST * np.log10(1.0 + np.nan_to_num(late, nan=NEAR_S) / TIME_SCALE_S)
    kept = np.lexsort((u, -merit))[:PER_STEP]
    return np.sort(u[kept])


def by_name(named: dict[int, set[int]], planned: Planned) -> frozenset[tuple[int, int]]:
    """Pairs of utterances that name a step's id with that step, in every pass."""
    dues: dict[int, list[int]] = {}
    for d, row in enumerate(planned.row.tolist()):
        dues.setdefault(row, []).append(d)
    return frozenset((u, d) for u, rows in named.items() for row in rows for d in dues.get(row, ()))


def polls(said: Said, planned: Planned) -> frozenset[tuple[int, int]]:
    """Pairs of a poll being called, or of what stations answered one after another, and the polls of the plan it could be: it may share no word with the plan's."""
    calls = np.flatnonzero(((said.kind == "poll") & (said.part != RECORD)) | said.rolled)
    out: set[tuple[int, int]] = set()
    for d in np.flatnonzero(planned.is_poll).tolist():
        late = np.abs(lateness_s(said, planned, calls, np.full(len(calls), d)))
        out |= {(int(u), d) for u in calls[np.isnan(late) | (late <= NEAR_S)]}
    return frozenset(out)


def bare(said: Said, content: np.ndarray, texts: Sequence[str]) -> np.ndarray:
    """Which utterances are responses or reports that only their dialogue can explain ('TC PROP complete'); a number is no answer."""
    short = (content <= BARE_CONTENT) & np.isin(said.kind, ("response", "report")) & (said.part != RECORD)
    for i in np.flatnonzero(short).tolist():
        short[i] = not NUMBER.search(texts[i])
    return short
