"""The chosen pairs as the tables MATCHES and VERDICTS.

Question answered: for each step due, was it seen, by which utterances, how sure, how often. Conventions: rank 1 is chosen, higher
ranks are the candidates not chosen, best first; `part` of a machine's record is `report` in MATCHES (it reports that the step was done).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from aftercount.match import calibrate, logodds
from aftercount.match.moments import Thread, threads, times_seen
from aftercount.match.signs import CALL, PARTS, RECORD, REPORT, RESPONSE
from aftercount.tables import MATCHES, VERDICTS

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

CANDIDATES_KEPT = 4  # candidates not chosen that MATCHES keeps for one step: what a person would want to see
EVEN = 0.5  # probability from which a step counts as seen
LEAST_SHOWN = 0.02  # probability below which a candidate is not worth showing
_MISSES = [logodds.FEATURES.index(name) for name in ("not_done", "not_now", "about")]
_PART_NAMES = ("call", "response", "report", "report")


def tables(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, chosen: np.ndarray) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(MATCHES, VERDICTS)."""
    start = np.searchsorted(scored.d, np.arange(len(due) + 1))
    pinned = np.array([pair in scored.made.pinned for pair in zip(scored.u.tolist(), scored.d.tolist(), strict=True)], dtype=bool)
    strength = np.where(pinned, calibrate.SURE, scored.logit)
    found: list[list[Thread]] = []
    for d in range(len(due)):
        own = np.arange(start[d], start[d + 1])
        found.append(threads(own[chosen[own]], scored, strength))
    verdicts = _verdicts(due, utterances, scored, found, start)
    believed = [f if s else [] for f, s in zip(found, verdicts["seen"].tolist(), strict=True)]
    return _matches(due, utterances, scored, believed, start), verdicts


def verdict_features(scored: Scored, found: list[Thread], own: np.ndarray) -> list[float]:
    """One step's row of calibrate.FEATURES; of a step not seen, the best candidate stands for what is doubted."""
    logit = scored.logit
    members = np.array(found[0].members, dtype=np.int64) if found else own[np.argsort(-logit[own], kind="stable")[:1]]
    rest = np.setdiff1d(own, members)
    ranked = np.sort(np.clip(logit[members], -10.0, 10.0))[::-1]
    logs = len(set(scored.said.source[scored.u[members]].tolist()))
    parts = len(set(scored.said.part[scored.u[members]].tolist()))
    lead = float(np.clip(logit[begun(found[0])], -10.0, 10.0)) if found else 0.0
    value = {
        "bias": 1.0,
        "none": float(not found),
        "lead": max(lead, 0.0), "lead_weak": min(lead, 0.0),
        "lead_miss": float(bool(found) and bool(scored.own[begun(found[0])][_MISSES].any())),
        "best": max(ranked[0], 0.0) if found else 0.0,
        "second": max(ranked[1], 0.0) if len(ranked) > 1 else 0.0,
        "logs": float(max(logs - 1, 0)), "parts": float(max(parts - 1, 0)),
        "runner_up": float(np.clip(logit[rest].max(), 0.0, 10.0)) if len(rest) and found else 0.0,
    }
    return [value[name] for name in calibrate.FEATURES]


def begun(thread: Thread) -> int:
    """The pair that says when the step was begun: its call, else a machine's record, its acceptance, its report."""
    return next(i for part in (CALL, RECORD, RESPONSE, REPORT) for i in [thread.lead[part]] if i >= 0)


def _verdicts(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, found: list[list[Thread]], start: np.ndarray) -> pd.DataFrame:
    features = np.array([verdict_features(scored, f, np.arange(start[d], start[d + 1])) for d, f in enumerate(found)])
    p_seen = calibrate.seen_probability(features.reshape(-1, len(calibrate.FEATURES)))
    settled = np.isin(np.arange(len(due)), sorted(scored.made.settled))
    pinned = np.isin(np.arange(len(due)), sorted({d for _, d in scored.made.pinned}))
    seen = np.array([bool(f) for f in found], dtype=bool) & ((p_seen >= EVEN) | pinned)
    found = [f if s else [] for f, s in zip(found, seen.tolist(), strict=True)]
    confidence = np.where(settled, 1.0, np.where(seen, p_seen, 1.0 - p_seen))
    review = calibrate.review_flags(confidence, scored.planned.reached & ~settled)
    events = utterances["utterance"].to_numpy(dtype=np.int64)
    columns: dict[str, Any] = {
        "step": due["step"].to_numpy(), "pass": due["pass"].to_numpy(), "seen": seen, "confidence": confidence, "review": review, "decided": settled,
    }
    for part, name in enumerate(PARTS):
        lead = [f[0].lead[part] if f else -1 for f in found]
        columns[f"event_{name}"] = pd.array([events[scored.u[i]] if i >= 0 else None for i in lead], dtype="Int64")
    columns["times_seen"] = [times_seen(f) for f in found]
    return VERDICTS.conform(pd.DataFrame(columns))


def _matches(due: pd.DataFrame, utterances: pd.DataFrame, scored: Scored, found: list[list[Thread]], start: np.ndarray) -> pd.DataFrame:
    index: list[int] = []
    rank: list[int] = []
    role: list[int] = []
    probability = np.asarray(1.0 / (1.0 + np.exp(-np.clip(scored.logit, -calibrate.SURE, calibrate.SURE))))
    for d, threads_ in enumerate(found):
        own = np.arange(start[d], start[d + 1])
        first = list(threads_[0].members) if threads_ else []
        others = [i for i in own[np.lexsort((own, -scored.logit[own]))].tolist() if i not in first and probability[i] >= LEAST_SHOWN]
        index += first + others[:CANDIDATES_KEPT]
        role += list(threads_[0].roles) if threads_ else []
        role += scored.said.part[scored.u[others[:CANDIDATES_KEPT]]].tolist() if others else []
        rank += [1] * len(first) + list(range(2, 2 + len(others[:CANDIDATES_KEPT])))
    at = np.array(index, dtype=np.int64)
    share = logodds.shares(scored.own[at])
    pinned = np.array([(int(scored.u[i]), int(scored.d[i])) in scored.made.pinned for i in index], dtype=bool)
    frame = pd.DataFrame({
        "step": due["step"].to_numpy()[scored.d[at]], "pass": due["pass"].to_numpy()[scored.d[at]],
        "event": utterances["utterance"].to_numpy()[scored.u[at]],
        "part": np.array(_PART_NAMES, dtype=object)[np.array(role, dtype=np.int64)],
        "text_score": share["text"], "time_score": share["time"], "station_score": share["station"],
        "score": np.where(pinned, 1.0, probability[at]), "rank": rank,
    })
    return MATCHES.conform(frame)
