"""What speaks for and against a step's verdict, as a row of figures.

Question answered: how strong, how well agreed and how much in place is what was taken for a step; or, where nothing was taken, how likely
is it that the step was done and only its lines were lost. Conventions: log-odds are capped at CAP nats; distances in time enter as
log1p of units of GAP_S. It decides nothing: `calibrate` turns the rows into probabilities.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import context, firsts, logodds, weights
from aftercount.match.moments import STRONG, Thread
from aftercount.match.signs import CALL, RECORD, REPORT, lateness_s, parts, station_agreement

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

SEEN, UNSEEN = tuple(weights.VERDICT), tuple(weights.UNSEEN)  # names of the figures of a step seen, and of one not seen
CAP = 10.0
GAP_S = 10.0  # a call and what answers it lie a few of these apart
FAR_S = 300.0  # of the steps that stray, most do by less than a few of these
NEIGHBOURS = 3  # steps due before and after whose own verdicts tell whether the log is whole there
NEAR_DUE_S = 30.0  # talk of the planned stations this near to due, and of no other step, may be the step's, garbled
CLOSE_S = 6.0  # most steps begin within about this of due
TELLING = 0.5  # weight of content words from which talk is about something


@dataclass(frozen=True)
class Logs:
    """Of each log, how many of the steps found it tells of, 0..1, and from when to when it lasts, POSIX seconds."""

    share: np.ndarray
    first_s: np.ndarray
    last_s: np.ndarray

    @classmethod
    def of(cls, scored: Scored, found: list[list[Thread]]) -> Logs:
        said = scored.said
        count = int(said.source.max()) + 1 if len(said.source) else 0
        told, seen = np.zeros(count), max(1, sum(bool(f) for f in found))
        for threads in found:
            if threads:
                told[np.unique(said.source[scored.u[list(threads[0].members)]])] += 1
        first, last = np.full(count, np.inf), np.full(count, -np.inf)
        np.minimum.at(first, said.source, np.nan_to_num(said.utc_s, nan=np.inf))
        np.maximum.at(last, said.source, np.nan_to_num(said.utc_s, nan=-np.inf))
        return cls(told / seen, first, last)

    def silent(self, due_s: float, telling: np.ndarray) -> float:
        """How many logs would be expected to tell of a step due then that only `telling` do."""
        there = (self.first_s <= due_s) & (due_s <= self.last_s)
        there[telling] = False
        return float(self.share[there].sum())


def of_seen(scored: Scored, found: list[Thread], own: np.ndarray, leads: np.ndarray, logs: Logs) -> np.ndarray:
    """leads x SEEN: the figures of a step for which the thread found[0] was taken, were it begun by each of `leads`, pairs of that
    thread; `own`: all the step's candidate pairs; `logs`: what is to be expected of each."""
    members, said = np.array(found[0].members, dtype=np.int64), scored.said
    u = scored.u[leads]
    rest = np.setdiff1d(own, members)
    ranked = np.sort(np.clip(scored.logit[members], -CAP, CAP))[::-1]
    strength = np.clip(scored.logit[leads], -CAP, CAP)
    sign = dict(zip(logodds.FEATURES, scored.own[leads].T, strict=True))
    around = dict(zip(context.FEATURES, scored.context[leads].T, strict=True))
    gap, agreed, again, outdone = _others(scored, leads, members)
    part, one = scored.part[leads], int(leads[0])
    again_sure = max((t.strength for t in found[1:]), default=0.0) >= STRONG  # then the step was done, be its first doing ever so weak
    value: dict[str, np.ndarray | float] = {
        "bias": 1.0, "lead": np.maximum(strength, 0.0), "lead_weak": np.minimum(strength, 0.0) * (not again_sure),
        "lead_miss": scored.missed[leads] | scored.refuted[leads], "lead_in": sign["lead_in"],
        "bare": scored.bare[leads], "best": max(ranked[0], 0.0), "second": max(ranked[1], 0.0) if len(ranked) > 1 else 0.0,
        "logs": len(set(said.source[scored.u[members]].tolist())) - 1, "parts": len(set(scored.part[members].tolist())) - 1,
        "runner_up": np.clip(scored.logit[rest].max(), 0.0, CAP) if len(rest) else 0.0,
        "optional": not scored.planned.must[scored.d[one]], "agreed": agreed, "gap": gap, "gap_alone": gap * (1.0 - agreed),
        "distance": sign["distance"],
        "lacking": 1.0 - sign["coverage"], "contrary": sign["conflict"], "garbled": scored.garbled[u], "is_clock": sign["is_clock"],
        "is_record": part == RECORD, "rival_step": around["rival_step"], "untimed": sign["no_time"],
        "close": sign["close"], "alone": (~scored.bare[members]).sum() == 1, "unexplained": 1.0 - sign["explained"], "lone": sign["lone"],
        "silent": logs.silent(scored.planned.due_s[scored.d[one]], said.source[scored.u[members]]),
        "repeated": again_sure, "not_first": firsts.doubt_of(found, scored),
        "poorer": scored.own[members, logodds.FEATURES.index("coverage")].max() - sign["coverage"],
        "speaker_other": sign["speaker_other"], "to_same": sign["to_same"], "poll_end": scored.planned.is_poll[scored.d[one]] & (part == REPORT),
        "afar": np.log1p(np.abs(np.nan_to_num(lateness_s(said, scored.planned, u, scored.d[leads]))) / FAR_S),
        "far_lacking": sign["distance"] * (1.0 - sign["coverage"]), "far_alone": sign["distance"] * ((~scored.bare[members]).sum() == 1),
        "again": again, "outdone": outdone, "fuller": max([0.0, *(t.coverage - found[0].coverage for t in found[1:])]), "exact": sign["exact"], "answers_other": around["answers_other"],
    }
    out = np.empty((len(leads), len(SEEN)))
    for column, name in enumerate(SEEN):
        out[:, column] = value[name]
    return out


def _others(scored: Scored, leads: np.ndarray, members: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Of each lead: log1p distance in time to the strongest other sign; whether another log has the same moment and part; log1p of how
    much later its own log has the step in that part again; nats by which the best other sign of that log outdoes it."""
    said, when = scored.said, scored.said.utc_s
    u, v = scored.u[leads], scored.u[members]
    other = (leads[:, None] != members[None, :]) & ~scored.bare[members][None, :]
    timed = (leads[:, None] != members[None, :]) & ~np.isnan(when[v])[None, :] & ~np.isnan(when[u])[:, None]
    apart = np.where(timed, when[v][None, :] - when[u][:, None], 0.0)
    same_log = said.source[u][:, None] == said.source[v][None, :]
    agreed = (timed & ~same_log & (np.abs(apart) <= context.SAME_MOMENT_S)).any(axis=1)
    logit = np.where(timed, scored.logit[members][None, :], -np.inf)
    gap = np.where(timed.any(axis=1), np.log1p(np.abs(apart[np.arange(len(leads)), np.argmax(logit, axis=1)]) / GAP_S), 0.0)
    anew = timed & other & same_log & (scored.part[leads][:, None] == scored.part[members][None, :])
    again = np.log1p(np.where(anew, np.maximum(apart, 0.0), 0.0).max(axis=1) / GAP_S)
    beside = np.where(other & same_log, np.clip(scored.logit[members], -CAP, CAP)[None, :] - np.clip(scored.logit[leads], -CAP, CAP)[:, None], 0.0)
    return gap, agreed.astype(np.float64), again, np.maximum(beside.max(axis=1), 0.0)


def of_unseen(scored: Scored, d: int, own: np.ndarray, seen: np.ndarray, used: np.ndarray) -> list[float]:
    """The figures UNSEEN of a step for which nothing was taken. `seen`: which steps due were; `used`: which utterances were taken."""
    planned = scored.planned
    order = np.flatnonzero((planned.pass_ == planned.pass_[d]) & planned.reached)
    at = int(np.searchsorted(order, d))
    beside = np.concatenate([order[max(at - NEIGHBOURS, 0):at], order[at + 1:at + 1 + NEIGHBOURS]])
    after = order[at + 1:]
    logit = scored.logit[own[~scored.refuted[own]]]
    human = scored.said.part != RECORD
    talk, called, spoken = _talk(scored, d, used)
    value = {
        "bias": 1.0, "none": float(not len(logit)), "best": float(np.clip(logit.max(), -CAP, 3.0)) if len(logit) else 0.0,
        "optional": float(not planned.must[d]), "garbled": float(scored.garbled[human].mean()) if human.any() else 0.0,
        "logs": float(len(np.unique(scored.said.source)) - 1), "beside": float(seen[beside].mean()) if len(beside) else 1.0,
        "trailing": float(not seen[after].any() and bool((planned.pass_ == planned.pass_[d])[~planned.reached].any())),
        "due_sigma": float(np.log1p(planned.sigma_s[d] / GAP_S)), "talk": np.log1p(talk), "poll": float(planned.is_poll[d]),
        "said_near": np.log1p(_near(scored, d).sum()), "called": called, "spoken": spoken,
    }
    return [float(value[name]) for name in UNSEEN]


def _talk(scored: Scored, d: int, used: np.ndarray) -> tuple[int, float, float]:
    """(how much the planned stations said near due that is no other step's; how close to due was an order from the one to the other, and
    anything that one of them said, 0..1, 1 at due)."""
    said = scored.said
    free = np.flatnonzero(~used & (scored.content >= TELLING) & (said.part != RECORD))
    every = np.full(len(free), d)
    part = parts(said, scored.planned, free, every)
    speaker, addressee = station_agreement(said, scored.planned, (free, every), part)
    close = np.exp(-((lateness_s(said, scored.planned, free, every) / CLOSE_S) ** 2))
    close = np.where((speaker >= 0) & (addressee >= 0), np.nan_to_num(close), 0.0)
    ordered = close[(part == CALL) & (speaker + addressee > 0)]
    heard = close[(part != CALL) & (speaker > 0)]
    near = _near(scored, d)[free] & (speaker >= 0) & (addressee >= 0)
    return int(near.sum()), float(ordered.max(initial=0.0)), float(heard.max(initial=0.0))


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
