"""What speaks for and against a step's verdict, as a row of figures.

Question answered: how strong, how well agreed and how much in place is what was taken for a step; or, where nothing was taken, how likely
is it that the step was done and only its lines were lost. Conventions: log-odds are capped at CAP nats; distances in time enter as
log1p of units of GAP_S. It decides nothing: `calibrate` turns the rows into probabilities.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import context, logodds, weights
from aftercount.match.moments import Thread, begun
from aftercount.match.signs import RECORD, REPORT, lateness_s, station_agreement

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

SEEN, UNSEEN = tuple(weights.VERDICT), tuple(weights.UNSEEN)  # names of the figures of a step seen, and of one not seen
CAP = 10.0
GAP_S = 10.0  # a call and what answers it lie a few of these apart
NEIGHBOURS = 3  # steps due before and after whose own verdicts tell whether the log is whole there
NEAR_DUE_S = 30.0  # talk of the planned stations this near to due, and of no other step, may be the step's, garbled
TELLING = 0.5  # weight of content words from which talk is about something


def of_seen(scored: Scored, found: list[Thread], own: np.ndarray) -> list[float]:
    """The figures SEEN of a step for which the thread found[0] was taken; `own`: all its candidate pairs."""
    lead, members = begun(found[0]), np.array(found[0].members, dtype=np.int64)
    rest = np.setdiff1d(own, members)
    ranked = np.sort(np.clip(scored.logit[members], -CAP, CAP))[::-1]
    strength = float(np.clip(scored.logit[lead], -CAP, CAP))
    sign = dict(zip(logodds.FEATURES, scored.own[lead].tolist(), strict=True))
    around = dict(zip(context.FEATURES, scored.context[lead].tolist(), strict=True))
    said = scored.said
    gap, agreed = _others(scored, lead, members)
    value = {
        "bias": 1.0, "lead": max(strength, 0.0), "lead_weak": min(strength, 0.0), "lead_miss": float(scored.missed[lead] or scored.refuted[lead]), "lead_in": sign["lead_in"],
        "bare": float(scored.bare[lead]), "best": max(ranked[0], 0.0), "second": max(ranked[1], 0.0) if len(ranked) > 1 else 0.0,
        "logs": float(len(set(said.source[scored.u[members]].tolist())) - 1), "parts": float(len(set(said.part[scored.u[members]].tolist())) - 1),
        "runner_up": float(np.clip(scored.logit[rest].max(), 0.0, CAP)) if len(rest) else 0.0,
        "optional": float(not scored.planned.must[scored.d[lead]]), "agreed": agreed, "gap": gap, "gap_alone": gap * (1.0 - agreed), "distance": sign["distance"],
        "lacking": 1.0 - sign["coverage"], "contrary": sign["conflict"], "garbled": scored.garbled[scored.u[lead]], "is_clock": sign["is_clock"],
        "is_record": float(said.part[scored.u[lead]] == RECORD), "rival_step": around["rival_step"], "untimed": sign["no_time"],
        "close": sign["close"], "alone": float((~scored.bare[members]).sum() == 1), "unexplained": 1.0 - sign["explained"], "lone": sign["lone"],
        "poorer": float(scored.own[members, logodds.FEATURES.index("coverage")].max()) - sign["coverage"],
        "speaker_other": sign["speaker_other"], "to_same": sign["to_same"], "poll_end": float(scored.planned.is_poll[scored.d[lead]] and said.part[scored.u[lead]] == REPORT),
    }
    return [float(value[name]) for name in SEEN]


def _others(scored: Scored, lead: int, members: np.ndarray) -> tuple[float, float]:
    """(log1p distance in time from what began the step to the strongest other sign of it, whether another log has the same moment and part)."""
    said, others = scored.said, members[members != lead]
    others = others[~np.isnan(said.utc_s[scored.u[others]])]
    when = said.utc_s[scored.u[lead]]
    if not len(others) or np.isnan(when):
        return 0.0, 0.0
    apart = np.abs(said.utc_s[scored.u[others]] - when)
    same = (said.source[scored.u[others]] != said.source[scored.u[lead]]) & (apart <= context.SAME_MOMENT_S)
    strongest = int(np.argmax(scored.logit[others]))
    return float(np.log1p(apart[strongest] / GAP_S)), float(same.any())


def of_unseen(scored: Scored, d: int, own: np.ndarray, seen: np.ndarray, used: np.ndarray) -> list[float]:
    """The figures UNSEEN of a step for which nothing was taken. `seen`: which steps due were; `used`: which utterances were taken."""
    planned = scored.planned
    order = np.flatnonzero((planned.pass_ == planned.pass_[d]) & planned.reached)
    at = int(np.searchsorted(order, d))
    beside = np.concatenate([order[max(at - NEIGHBOURS, 0):at], order[at + 1:at + 1 + NEIGHBOURS]])
    after = order[at + 1:]
    logit = scored.logit[own[~scored.refuted[own]]]
    human = scored.said.part != RECORD
    value = {
        "bias": 1.0, "none": float(not len(logit)), "best": float(np.clip(logit.max(), -CAP, 3.0)) if len(logit) else 0.0,
        "optional": float(not planned.must[d]), "garbled": float(scored.garbled[human].mean()) if human.any() else 0.0,
        "logs": float(len(np.unique(scored.said.source)) - 1), "beside": float(seen[beside].mean()) if len(beside) else 1.0,
        "trailing": float(not seen[after].any() and bool((planned.pass_ == planned.pass_[d])[~planned.reached].any())),
        "due_sigma": float(np.log1p(planned.sigma_s[d] / GAP_S)), "talk": np.log1p(_talk(scored, d, used)), "poll": float(planned.is_poll[d]),
        "said_near": np.log1p(_near(scored, d).sum()),
    }
    return [float(value[name]) for name in UNSEEN]


def _talk(scored: Scored, d: int, used: np.ndarray) -> int:
    """How much the planned stations said near due that is no other step's."""
    said = scored.said
    free = np.flatnonzero(~used & (scored.content >= TELLING) & (said.part != RECORD))
    speaker, addressee = station_agreement(said, scored.planned, free, np.full(len(free), d))
    return int((_near(scored, d)[free] & (speaker >= 0) & (addressee >= 0)).sum())


def _near(scored: Scored, d: int) -> np.ndarray:
    """Which utterances were said near due."""
    every = np.arange(len(scored.said.utc_s))
    late = lateness_s(scored.said, scored.planned, every, np.full(len(every), d))
    return np.asarray(np.abs(np.nan_to_num(late, nan=np.inf)) <= NEAR_DUE_S + scored.said.sigma_s)


def used(scored: Scored, found: list[list[Thread]]) -> np.ndarray:
    """Which utterances are some step's."""
    out = np.zeros(len(scored.said.utc_s), dtype=bool)
    out[scored.u[[i for threads in found for thread in threads for i in thread.members]]] = True
    return out
