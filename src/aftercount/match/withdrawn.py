"""Orders that came to nothing: taken back at once ('arm it' ... 'belay that'), or said afterwards to be left out ('arming skipped').

Question answered: which utterances are such an order, or what was answered to it. Conventions: rows of the utterances. What is taken back is what the same voice had just said on
the same log, and what other logs have of it. A step said to be left out keeps its orders if it is reported later. It does not judge what is said or recorded
after that: a report shows that the step was done after all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from aftercount.match.context import SAME_MOMENT_S
from aftercount.match.language import CHASING, NOT_DONE
from aftercount.match.likeness import Likeness
from aftercount.match.signs import CALL, RECORD, REPORT, Planned, Said

SOON_S = 20.0  # an order is taken back within this, or not by so few words
BETWEEN = 3  # lines of others that may stand between
LEFT_OUT_S = 120.0  # what is said to be left out was ordered within this before
AFTERWARDS_S = 3600.0  # a report that comes within this shows that it was done after all
SAME_STEP = 0.5  # share of a step's words from which a line is of that step ...
NAMED = 0.6  # ... and from which it is said of that step that it is left out
NOBODY = -1  # station not known
_LAST = r"(?: (?:that|it|this|the|my|last|previous|one|order|call|transmission))"
_END = r"\s*(?:[.,!;]|$|(?=\b(?:please|leave|do not|don't|we)\b))"
_BACK = re.compile(
    rf"\b(?:belay{_LAST}+|belay \w{{1,3}} last\b|(?:disregard{_LAST}*|(?:cancel|scratch|strike|scrap){_LAST}+|never ?mind){_END}|as you were\b|take (?:that|it) back\b|(?:do not|don't) do (?:it|that)\b"
    r"|leave (?:it|that|everything) (?:as|the way|where|how) (?:it|that) (?:is|was)\b|corr?ect?\w{1,3}n[ ,.]{1,2}(?:\w+ ?by|hold|wait)\b|wait (?:\w{1,3} )?for (?:my|the) (?:call|go|word|order|mark)\b)", re.IGNORECASE)
# The same with words for what was ordered: 'forget the vent for now', 'stop, leave the vent alone'.
_BACK_BY_NAME = re.compile(
    r"\b(?:(?:belay|disregard|cancel|scratch|undo|forget)(?:that|it)|belay|disregard|cancel|scratch|scrap|strike|forget|withdraw|withdrawn|rescind(?:ed)?|retract (?:that|the|my) (?:call|order|last)|undo|avast|as ?you ?were|never ?mind|no go (?:to|on|for)|hold off|back (?:that|it) out|knock (?:that|it) off"
    r"|(?:stop|wait)(?=[,.])|(?:do not|don't) (?:do|touch|proceed)|not (?:to be done|doing)|leave (?:\S+ ){1,8}(?:as (?:it )?(?:is|was)|alone|for now|be))\b", re.IGNORECASE)
# Words that take something back whatever it was: what they stand with is no order, and no doing, though the order itself was not made out.
_AT_ALL = re.compile(r"\b(?:belay|disregard|rescinded|undo ?(?:that|it)|scratch ?(?:that|it)|as you were|never ?mind)\b", re.IGNORECASE)
_LEFT_OUT = re.compile(r"\b(?:skip(?:ped|ping|s)?|omit(?:ted|ting)?|waived?|not (?:being |to be )?(?:done|performed|doing))\b", re.IGNORECASE)
_ASKS = re.compile(r"\?|\b(?:if|why|whether|should|did|do we|can we|are we|is it|yet)\b", re.IGNORECASE)


def orders(said: Said, planned: Planned, texts: Sequence[str], alike: Likeness, wordings: Sequence[str]) -> np.ndarray:
    """Which utterances are orders that came to nothing, with what was answered to them and what took them back. wordings: of each plan row."""
    out = np.zeros(len(texts), dtype=bool)
    spoken = np.flatnonzero(said.part != RECORD).tolist()
    order = _Order(said, planned, alike)
    planned_so = np.array([bool(_BACK.search(w) or _BACK_BY_NAME.search(w)) for w in wordings], dtype=bool)  # 'withdraw the crew' takes nothing back
    for u in (u for u in spoken if _BACK.search(texts[u]) or _BACK_BY_NAME.search(texts[u])):
        by_name = not _BACK.search(texts[u])
        call = _just_ordered(said, alike.content, u, order)
        if call is None and _AT_ALL.search(texts[u]) and not planned_so[_steps(alike, u, SAME_STEP)].any():
            out[u] = True
        if call is None or planned_so[_steps(alike, u, SAME_STEP)].any():
            continue
        steps = _steps(alike, call, SAME_STEP)
        if not by_name or (alike.text_of[u] != alike.text_of[call] and _about(alike, steps)[u]):
            out[[call, u]] = True
            worded = said.kind == "report" if said.kind[call] == "report" else np.zeros(len(texts), dtype=bool)
            out[_of_the_same(said, alike, steps, said.utc_s[call], said.utc_s[u], worded) & ~_behind(said, u)] = True
    for u in (u for u in spoken if _LEFT_OUT.search(texts[u])):
        steps = _steps(alike, u, NAMED)
        if not len(steps) or _ASKS.search(texts[u]) or CHASING.search(texts[u]) or np.isnan(said.utc_s[u]):
            continue
        if not _done_later(said, texts, alike, steps, u):
            out[_of_the_same(said, alike, steps, said.utc_s[u] - LEFT_OUT_S, said.utc_s[u], np.zeros(len(texts), dtype=bool))] = True
    return out


@dataclass(frozen=True)
class _Order:
    """Whether an utterance is an order: by its manner, by a step's words of nobody knows whom in no manner, or, be it worded as a report ('the cap is removed, please'), since a step's caller says
    them to who performs it."""

    said: Said
    planned: Planned
    alike: Likeness

    def __call__(self, u: int) -> bool:
        said, planned = self.said, self.planned
        if said.part[u] == CALL or (said.kind[u] == "note" and said.station[u] == NOBODY and len(_steps(self.alike, u, SAME_STEP))):
            return True
        told = (planned.to == said.station[u]) & (planned.by == said.to[u]) & (planned.to != planned.by)
        return said.part[u] != RECORD and min(said.station[u], said.to[u]) > NOBODY and bool(np.isin(planned.row[told], _steps(self.alike, u, SAME_STEP)).any())


def _just_ordered(said: Said, content: np.ndarray, u: int, order: _Order) -> int | None:
    """What the one who says u, or who was told, had said last on its log, if that was an order and just before. Who was told speaks in name only: behind 'belay that, PROP' his name is
    whom it is said to."""
    known, reported = said.station[u] != NOBODY, set[int]()
    for v in (v for v in _before(said, u) if content[v] > 0.0):  # a lone 'the' or 'uh' is nothing
        same, told = known and said.station[u] == said.station[v], known and said.station[u] == said.to[v]
        if said.station[v] == NOBODY or not known or same or told:
            theirs = order(v) and (said.to[u] == NOBODY or said.to[v] in (NOBODY, said.to[u], said.station[u]))
            if theirs or (same and said.kind[v] == "note"):
                done = reported - {NOBODY if told else int(said.station[u])}  # who gives the order may report something else
                return None if done and (said.to[v] == NOBODY or {NOBODY, int(said.to[v])} & done) else v
        if said.part[v] == REPORT and said.kind[v] == "report":
            reported.add(int(said.station[v]))
    return None


def _before(said: Said, u: int) -> Iterator[int]:
    """The lines of its log just before u, the last first."""
    for v in range(u - 1, max(u - 2 - BETWEEN, -1), -1):
        if said.source[v] != said.source[u] or not said.utc_s[u] - said.utc_s[v] <= SOON_S:
            return
        yield v


def _steps(alike: Likeness, u: int, least: float) -> np.ndarray:
    """The plan rows that a line is about: those of which it says most, and enough."""
    text = alike.text_of[u]
    coverage = np.where(alike.conflict[text] > 0, 0.0, alike.coverage[text])
    best = coverage.max(initial=0.0)
    return np.flatnonzero(coverage >= best) if best >= least else np.zeros(0, dtype=np.int64)


def _about(alike: Likeness, steps: np.ndarray) -> np.ndarray:
    """Which utterances are about one of these plan rows."""
    if not len(steps):
        return np.zeros(len(alike.text_of), dtype=bool)
    return np.asarray(((alike.coverage[:, steps] >= SAME_STEP) & (alike.conflict[:, steps] == 0)).any(axis=1)[alike.text_of])


def _of_the_same(said: Said, alike: Likeness, steps: np.ndarray, begun: float, ended: float, worded: np.ndarray) -> np.ndarray:
    """What was said of these steps between the two instants, but reports and records of their doing; worded: reports in manner only."""
    slack = SAME_MOMENT_S + 2.0 * said.sigma_s
    within = (np.nan_to_num(said.utc_s, nan=-np.inf) >= begun - slack) & (said.utc_s <= ended + slack)
    return np.asarray(within & _about(alike, steps) & (said.part != RECORD) & ((said.kind != "report") | worded))


def _behind(said: Said, u: int) -> np.ndarray:
    """What stands behind u on its log, however coarse its stamps."""
    return np.asarray((said.source == said.source[u]) & (np.arange(len(said.source)) > u))


def _done_later(said: Said, texts: Sequence[str], alike: Likeness, steps: np.ndarray, u: int) -> bool:
    """Whether it was reported or recorded after all."""
    since = said.utc_s - said.utc_s[u]
    later = (np.nan_to_num(since, nan=-np.inf) > 0.0) & (since <= AFTERWARDS_S) & ((said.part == RECORD) | (said.kind == "report"))
    return any(not NOT_DONE.search(texts[v].lower()) for v in np.flatnonzero(later & _about(alike, steps)).tolist())
