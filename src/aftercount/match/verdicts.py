"""The chosen pairs as the tables MATCHES, VERDICTS and BEGINNINGS.

Question answered: for each step due, was it seen, by which utterances, how sure, how often, and how likely did each of them begin it.
Conventions: rank 1 is chosen, higher
ranks are the candidates not chosen, best first; `part` of a machine's record is `report` in MATCHES (it reports that the step was done).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from aftercount.match import calibrate, doubt, exchanges, logodds, weights
from aftercount.match.firsts import first_of, telling
from aftercount.match.moments import Thread, begun, threads, times_seen
from aftercount.match.signs import PARTS
from aftercount.tables import BEGINNINGS, MATCHES, VERDICTS

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

CANDIDATES_KEPT = 4  # candidates not chosen that MATCHES keeps for one step: what a person would want to see
LEAST_SHOWN = 0.02  # probability below which a candidate is not worth showing
_PART_NAMES = ("call", "response", "report", "report")


def tables(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, chosen: np.ndarray) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """(MATCHES, VERDICTS, BEGINNINGS)."""
    pinned = np.array([pair in scored.made.pinned for pair in zip(scored.u.tolist(), scored.d.tolist(), strict=True)], dtype=bool)
    start = np.searchsorted(scored.d, np.arange(len(due) + 1))
    scored, judged = _judged(scored, found_threads(scored, chosen, np.where(pinned, calibrate.SURE, scored.logit)))
    matches = _matches(due, utterances, scored, judged, start)
    return matches, _verdicts(due, utterances, scored, judged), _beginnings(due, utterances, scored, judged)


def found_threads(scored: Scored, chosen: np.ndarray, strength: np.ndarray) -> list[list[Thread]]:
    """For each row of DUE, the doings made of its chosen pairs, and those that its words alone show."""
    start = np.searchsorted(scored.d, np.arange(len(scored.planned.row) + 1))
    rows = [np.arange(a, b) for a, b in pairwise(start.tolist())]
    found = [threads(own[chosen[own]], scored, strength, np.zeros(len(chosen), dtype=bool)) for own in rows]
    taken = np.full(len(scored.said.part), -1, dtype=np.int64)
    for d, doings in enumerate(found):
        taken[scored.u[[i for thread in doings for i in thread.members]]] = d
    told = telling(scored, taken)
    for d, own in enumerate(rows):
        if told[own].any():
            found[d] = threads(own[chosen[own] | told[own]], scored, strength, told)
    return [first_of(doings, scored) for doings in found]


@dataclass(frozen=True)
class _Judged:
    """For each row of DUE: the doings believed, and the probability that the verdict is right; `begins`: of pairs that may have begun
    their step, the probability that they did; `by_talk`: rows of DUE whose doing its talk alone shows."""

    found: list[list[Thread]]
    confidence: np.ndarray
    begins: dict[int, float]
    by_talk: frozenset[int] = frozenset()

    @property
    def seen(self) -> np.ndarray:
        return np.array([bool(f) for f in self.found], dtype=bool)


def _judged(scored: Scored, found: list[list[Thread]]) -> tuple[Scored, _Judged]:
    """What the words show, then what else was done by what passed between its stations (with the pairs that show it), and how sure it is that the rest was not."""
    start = np.searchsorted(scored.d, np.arange(len(found) + 1))
    judged = by_words(scored, found)
    believed, confidence, begins = list(judged.found), judged.confidence.copy(), dict(judged.begins)
    shown, by_talk, may_be = exchanges.taken(scored, believed, confidence)
    for d, (doing, likely) in by_talk.items():
        believed[d], confidence[d] = [doing], likely
        begins |= dict.fromkeys(doing.members, likely)
    absent = [d for d, f in enumerate(found) if not f and not believed[d]]
    seen, used = np.array([bool(f) for f in believed], dtype=bool), doubt.used(shown, believed)
    rows = [doubt.of_unseen(scored, d, np.arange(start[d], start[d + 1]), seen, used) for d in absent]
    confidence[absent] = np.minimum(1.0 - calibrate.probability(rows, weights.UNSEEN), 1.0 - may_be[absent])
    return shown, _Judged(believed, confidence, begins, frozenset(by_talk))


def by_words(scored: Scored, found: list[list[Thread]]) -> _Judged:
    """A doing is believed when it is likelier than not that the step was done; of a step for which nothing was found, the confidence is 1."""
    start = np.searchsorted(scored.d, np.arange(len(found) + 1))
    own = [np.arange(a, b) for a, b in pairwise(start.tolist())]
    logs = doubt.Logs.of(scored, found)
    found = [likeliest(scored, f, mine, logs) for f, mine in zip(found, own, strict=True)]
    at = [d for d, f in enumerate(found) if f]
    members = [np.array(found[d][0].members, dtype=np.int64) for d in at]
    figures = (doubt.of_seen(scored, found[d], own[d], pairs, logs) for d, pairs in zip(at, members, strict=True))
    rows = np.concatenate([np.zeros((0, len(doubt.SEEN))), *figures])
    pairs = np.concatenate([np.zeros(0, dtype=np.int64), *members])
    lead = np.flatnonzero(np.isin(pairs, [begun(found[d][0]) for d in at]))
    pinned = {d for _, d in scored.made.pinned}
    done = np.zeros(len(found))
    done[at] = calibrate.probability(rows[lead], weights.DONE)
    believed = [f if f and (done[d] >= calibrate.EVEN or d in pinned) else [] for d, f in enumerate(found)]
    confidence, begins = 1.0 - done, calibrate.probability(rows, weights.VERDICT)
    confidence[at] = np.where(done[at] >= calibrate.EVEN, begins[lead], 1.0 - done[at])
    return _Judged(believed, confidence, dict(zip(pairs.tolist(), begins.tolist(), strict=True)))


def likeliest(scored: Scored, found: list[Thread], own: np.ndarray, logs: doubt.Logs) -> list[Thread]:
    """The doings of a step without those in front that show no doing, if a later one does: what was no doing of it was not the first."""
    rest = found
    while len(found) > 1 and rest:
        figures = doubt.of_seen(scored, rest, own, np.array([begun(rest[0])]), logs)
        if calibrate.probability(figures, weights.DONE)[0] >= calibrate.EVEN:
            return rest
        rest = first_of(rest[1:], scored)
    return found


def _verdicts(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, judged: _Judged) -> pd.DataFrame:
    settled = np.isin(np.arange(len(due)), sorted(scored.made.settled))
    confidence = np.where(settled, 1.0, judged.confidence)
    events = utterances["utterance"].to_numpy(dtype=np.int64)
    columns: dict[str, Any] = {
        "step": due["step"].to_numpy(), "pass": due["pass"].to_numpy(), "seen": judged.seen, "confidence": confidence, "decided": settled,
    }
    for part, name in enumerate(PARTS):
        lead = [f[0].lead[part] if f else -1 for f in judged.found]
        columns[f"event_{name}"] = pd.array([events[scored.u[i]] if i >= 0 else None for i in lead], dtype="Int64")
    columns["times_seen"] = [times_seen(f) for f in judged.found]
    return VERDICTS.conform(pd.DataFrame(columns))


def _beginnings(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, judged: _Judged) -> pd.DataFrame:
    """What was taken for a step's doing, each with the probability that it is what began the step."""
    kept = [i for f in judged.found if f for i in f[0].members]
    at = np.array(kept, dtype=np.int64)
    return BEGINNINGS.conform(pd.DataFrame({
        "step": due["step"].to_numpy()[scored.d[at]], "pass": due["pass"].to_numpy()[scored.d[at]],
        "event": utterances["utterance"].to_numpy()[scored.u[at]], "confidence": [judged.begins[i] for i in kept],
    }))


def _matches(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, judged: _Judged, start: np.ndarray) -> pd.DataFrame:
    index: list[int] = []
    rank: list[int] = []
    role: list[int] = []
    probability = np.asarray(1.0 / (1.0 + np.exp(-np.clip(scored.logit, -calibrate.SURE, calibrate.SURE))))
    shown = [i for d in judged.by_talk for i in judged.found[d][0].members]
    probability[shown] = [judged.begins[i] for i in shown]
    for d, threads_ in enumerate(judged.found):
        own = np.arange(start[d], start[d + 1])
        first = list(threads_[0].members) if threads_ else []
        others = [i for i in own[np.lexsort((own, -scored.logit[own]))].tolist() if i not in first and probability[i] >= LEAST_SHOWN]
        index += first + others[:CANDIDATES_KEPT]
        role += list(threads_[0].roles) if threads_ else []
        role += scored.part[others[:CANDIDATES_KEPT]].tolist() if others else []
        rank += [1] * len(first) + list(range(2, 2 + len(others[:CANDIDATES_KEPT])))
    at = np.array(index, dtype=np.int64)
    share = logodds.shares(scored.own[at])
    pinned = np.array([(int(scored.u[i]), int(scored.d[i])) in scored.made.pinned for i in index], dtype=bool)
    frame = pd.DataFrame({
        "step": due["step"].to_numpy()[scored.d[at]], "pass": due["pass"].to_numpy()[scored.d[at]],
        "event": utterances["utterance"].to_numpy()[scored.u[at]],
        "part": np.array(_PART_NAMES, dtype=object)[np.array(role, dtype=np.int64)],
        "text_score": np.where(scored.bare[at], 0.0, share["text"]), "time_score": share["time"], "station_score": share["station"],
        "score": np.where(pinned, 1.0, probability[at]), "rank": rank,
    })
    return MATCHES.conform(frame)
