"""Which entries of a keeper are of the same remark as a transcript's, whatever it was about?

A keeper notes talk as well as steps. Where an entry shares most of its words with one cue within seconds of it, and with no other around, both are of
one moment. Count marks and calls are left out: they are set against the clock itself. Seconds. It does not decide which step was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
import pandas as pd

from aftercount.speech.entries import RESOLUTION_SHARE
from aftercount.timeline.evidence import COARSE_S
from aftercount.timeline.model import Floats, Ints

NEAR_S = 8.0  # within which a keeper notes what he heard, where his log's clock is already set by the marks
AGAIN_S = 25.0  # within which words that are said again leave open which of both he noted
LEAST_WORDS = 3  # in common
ALIKE = 0.6  # share of the words that are in common from which entries are of one remark
APART = 0.2  # by which any other around is less alike
MOST = 400  # entries of a log that are looked at, evenly chosen
_CLOCKED = frozenset({"mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff", "poll"})
_WORD = re.compile(r"[a-z0-9]{3,}")


def remarks(utterances: pd.DataFrame, utc_us: pd.Series, taken: Ints) -> pd.DataFrame:
    """`utterance`, `moment` as in refining.anchors, of entries that are not `taken` yet. utc_us: by utterance, null where not placed."""
    u = np.asarray(utc_us.astype("Float64").to_numpy(na_value=np.nan), dtype=np.float64) / 1e6
    free = np.isfinite(u) & ~np.isin(np.arange(len(u)), taken)
    free &= ~np.isin(utterances["kind"].to_numpy(dtype=object), list(_CLOCKED))
    medium, source = (utterances[c].to_numpy(dtype=object) for c in ("medium", "source"))
    text = utterances["text"].tolist()
    stamp = np.nan_to_num(utterances["own_sigma_s"].to_numpy(dtype=float))
    open_s = np.where(stamp >= COARSE_S, stamp / RESOLUTION_SHARE, 0.0)
    rows: list[tuple[int, str]] = []
    for heard in sorted(set(source[free & (medium == "speech")])):
        theirs = np.flatnonzero(free & (source == heard))
        theirs = theirs[np.argsort(u[theirs], kind="stable")]
        for keeper in sorted(set(source[free & (medium == "typed")])):
            mine = np.flatnonzero(free & (source == keeper))
            mine = mine[np.unique(np.linspace(0, len(mine) - 1, min(len(mine), MOST)).astype(int))]
            for one, other in _pairs(mine, theirs, (u, open_s), text):
                rows += [(one, f"said/{one}/{heard}"), (other, f"said/{one}/{heard}")]
    return pd.DataFrame(rows, columns=["utterance", "moment"])


def _pairs(mine: Ints, theirs: Ints, when: tuple[Floats, Floats], text: list[str]) -> Iterator[tuple[int, int]]:
    """An entry of a keeper and the cue that it is of; a cue that two entries would be of is of neither. when: of each utterance, and how far its stamp leaves that open."""
    u, open_s = when
    found: dict[int, list[int]] = {}
    first, last = (np.searchsorted(u[theirs], u[mine] + side * (AGAIN_S + open_s[mine])) for side in (-1, 1))
    for i, a, b in zip(mine.tolist(), first.tolist(), last.tolist(), strict=True):
        words = _words(text[i])
        if len(words) < LEAST_WORDS:
            continue
        alike = [(_alike(words, _words(text[j])), j) for j in theirs[a:b].tolist()]
        alike.sort(reverse=True)
        if alike and alike[0][0] >= ALIKE and abs(u[alike[0][1]] - u[i]) <= NEAR_S + open_s[i] and (len(alike) < 2 or alike[1][0] <= alike[0][0] - APART):
            found.setdefault(alike[0][1], []).append(i)
    for j, entries in found.items():
        if len(entries) == 1:
            yield entries[0], j


@lru_cache(maxsize=4096)
def _words(text: str) -> frozenset[str]:
    return frozenset(_WORD.findall(text.lower()))


def _alike(one: frozenset[str], other: frozenset[str]) -> float:
    """Share of the words of both that are in common; none where too few are to tell."""
    both = len(one & other)
    return 2 * both / (len(one) + len(other)) if both >= LEAST_WORDS else 0.0
