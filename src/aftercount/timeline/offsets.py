"""What is each log's clock off by, and how sure are the instants that it gives?

A log's line (SourceTime) says when what it tells of happened. Its clock is off by that and by the mean delay of its stamps, less the delay of
the reference's own. What entries of the reference are late by is an error of the whole frame: where another log has their moments, by which they are seen to
scatter, what is thought of it is taken out, and the rest is the frame's sigma. Seconds.
It does not decide the lines: timebase does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from aftercount import tables
from aftercount.timeline import frames
from aftercount.timeline.align import align
from aftercount.timeline.cues import OTHER_S, jitter, longer
from aftercount.timeline.delays import COARSE_S, Delay, machine, resolution, speech, typed
from aftercount.timeline.evidence import Spoken
from aftercount.timeline.fit import Fit
from aftercount.timeline.lateness import FALSE_RANGE_S, HEARD_S, Residuals
from aftercount.timeline.model import Floats
from aftercount.timeline.sourcetime import FAR_OFF_S, SourceTime, by_zone
from aftercount.timeline.timebase import ENOUGH_MARKS, Base
from aftercount.timeline.votes import votes

ENOUGH_HEARD = 8  # entries of a keeper heard on a transcript too, from which it is known how he is late
UNEVEN_S = 0.6  # how unevenly another keeper is late, where he is set beside one: about half of a usual lateness


@dataclass(frozen=True)
class Settled:
    """Every log's time as settled. given: as the logs themselves said; reference: which log, None if none has a clock.

    late: how each log's stamps are, once that is known. lag: what the reference's stamps are late by, where it is taken out of all times.
    finer: the log that tells the clock where the reference's stamps are too coarse for that: of its entries beside the clock the reference says nothing.
    """

    times: list[SourceTime]
    given: list[SourceTime]
    reference: int | None
    utc_known: bool
    late: list[Delay] = field(default_factory=list)
    lag: float = 0.0
    finer: int | None = None

    @property
    def frame_sigma(self) -> float:
        """How far entries of the reference are late or early all together."""
        if self.reference is None or not self.utc_known or self.finer is not None:
            return 0.0
        return self.late[self.reference].left if self.lag else self.late[self.reference].whole

    def frame_sigma_of(self, s: int) -> float:
        """The part of it that is no other error of log s: what the reference's entries scatter by is in the line of a log that was set by them, and all they
        are late by together in their own stamps."""
        if self.finer is not None:
            return self.late[s].whole if s == self.reference else 0.0
        if self.reference is None or not self.lag:
            return 0.0 if s == self.reference else self.frame_sigma
        return self.frame_sigma if s == self.reference else self.late[self.reference].sigma


def with_delays(settled: Settled, base: Base, clock: Fit) -> Settled:
    """The times with the delay of each log's stamps: first of those that have the words as they are said, then of keepers, who are set beside them."""
    said, late, lag = base.said, [machine(0.0)] * len(settled.times), 0.0
    for s in sorted(range(len(late)), key=lambda s: said.medium[s] == "typed"):
        mine = (said.source == s) & np.isfinite(said.own)
        step = _step(said, s)
        time = settled.times[s]
        if said.medium[s] != "machine" and s == settled.reference:
            time = align(votes(base.evidence.take(base.evidence.source == s), clock, []), utc=True) or time
        if said.medium[s] == "speech":
            late[s] = speech(step, jitter(time.residuals, time.kinds, longer(said.length[mine], said.words[mine])))
        elif said.medium[s] == "typed":
            beside = list(_beside(s, base, settled.times, late))
            own = [Residuals(time.residuals[time.kinds == kind], OTHER_S[kind]) for kind in OTHER_S if s != settled.reference or step <= COARSE_S]
            late[s] = typed([*own, *(told for _, told in beside)], step)
            heard = sum(len(told.values) for other, told in beside if said.medium[other] == "speech")
            if s == settled.reference and settled.utc_known and (heard >= ENOUGH_HEARD or base.finer is not None):
                lag = late[s].mean
        else:
            late[s] = machine(step)
    cuts = [_step(said, s) if said.medium[s] == "typed" and _step(said, s) > COARSE_S else 0.0 for s in range(len(late))]
    of_all = cuts[settled.reference] if settled.reference is not None and lag else 0.0  # the others lie beside it
    times = [_known_apart(time, lag, cuts[s] if s != settled.reference else 0.0, of_all) for s, time in enumerate(settled.times)]
    return replace(settled, times=times, late=late, lag=lag)


def _known_apart(time: SourceTime, lag: float, *steps: float) -> SourceTime:
    """A log's time less the lag, with sigmas less what coarse stamps cut off of it all together: that is told of their keeper's delay."""
    cut = sum(step**2 for step in steps) / 12
    sigmas = tuple(max(sigma**2 - cut, min(sigma, HEARD_S) ** 2) ** 0.5 for sigma in time.sigmas) if cut else time.sigmas
    return replace(time, offsets=tuple(offset - lag for offset in time.offsets), sigmas=sigmas) if cut or lag else time


def _step(said: Spoken, s: int) -> float:
    """By how many seconds the stamps of log s step."""
    mine = (said.source == s) & np.isfinite(said.own)
    return resolution(said.medium[s], float(np.nanmin(said.sigma[mine])) if mine.any() else 0.0)


def beside_the_clock(settled: Settled, base: Base) -> Settled | None:
    """The times as they are known beside the count clock, where the reference's stamps are too coarse to tell the clock and another log tells it: that log is
    laid with the clock, and by how much both are off UTC is not known so well. None: they are as well known as against the reference."""
    if settled.reference is None or not settled.utc_known or _step(base.said, settled.reference) <= COARSE_S:
        return None
    finer = [s for s, time in enumerate(settled.times) if time.known and base.marks(s) >= ENOUGH_MARKS and _step(base.said, s) <= COARSE_S]
    if not finer:
        return None
    best = max(finer, key=lambda s: (base.marks(s), -s))
    times = list(settled.times)
    times[best] = replace(times[best], sigmas=(0.0,) * len(times[best].sigmas), drift_sigma=0.0)
    return replace(settled, times=times, finer=best)


def _beside(s: int, base: Base, times: list[SourceTime], late: list[Delay]) -> Iterator[tuple[int, Residuals]]:
    """What other logs have of the moments of a keeper's entries, log by log."""
    said, step = base.said, _step(base.said, s)
    for other, of in enumerate(times):
        pairs = np.array([pair for pair in base.shared.get(s, []) if said.source[pair[1]] == other] or
                         [(b, a) for a, b in base.shared.get(other, []) if said.source[b] == s], dtype=np.int64).reshape(-1, 2).T
        if other != s and of.known and times[s].known and len(pairs[0]):
            apart = of.to_u(said.own[pairs[1]], pairs[1]) - times[s].to_u(said.own[pairs[0]], pairs[0])
            usual = {"typed": UNEVEN_S, "speech": late[other].single}.get(said.medium[other], HEARD_S)
            worse = np.sqrt(np.maximum(said.sigma[pairs[1]] ** 2 - np.nanmin(said.sigma[said.source == other]) ** 2, 0.0))
            for mine in (worse == 0, worse > 0):  # what is first in its entry, and what had its time shared out
                mine &= np.abs(apart) <= FALSE_RANGE_S + (step if step > COARSE_S else 0.0)
                if mine.any():
                    yield other, Residuals(apart[mine], float(np.sqrt(usual**2 + np.mean(worse[mine] ** 2))))


def entry_sigma(said: Spoken, settled: Settled) -> Floats:
    """How sure the wall time of each entry is: how such entries scatter about the log's line, how sure that is, and the frame."""
    out = said.sigma.copy()
    for s, (time, late) in enumerate(zip(settled.times, settled.late, strict=True)):
        mine = np.flatnonzero(said.source == s)
        if not len(mine):
            continue
        own = said.sigma[mine]
        least = float(np.nanmin(own))
        single = late.single if (settled.lag if s == settled.reference else time.shared) else late.stamp
        own = np.sqrt(np.maximum(own**2 - least**2, 0.0) + (least if np.isnan(single) else single) ** 2)
        out[mine] = np.sqrt(own**2 + time.sigma_at(said.own[mine], mine) ** 2 + settled.frame_sigma_of(s) ** 2)
    return out


def describe(sources: pd.DataFrame, said: Spoken, settled: Settled, t0_us: int) -> pd.DataFrame:
    """SOURCES with offset, drift, sigma, reference and what a reader should know.

    The offset of a log with a configured start is what to add to that; it holds at the log's first entry since its clock was last set.
    """
    frame = sources.copy()
    rows = [_row(said, settled, s, t0_us) for s in range(len(settled.times))]
    for column in ("offset_s", "offset_sigma_s", "drift_ppm", "drift_sigma_ppm"):
        frame[column] = [row[column] for row in rows]
    frame["offset_at_utc"] = frames.utc_column([row["at"] for row in rows], t0_us)
    frame["reference"] = [s == settled.reference for s in range(len(rows))]
    frame["note"] = [_note(note, said, settled, s) for s, note in enumerate(sources["note"].tolist())]
    return tables.SOURCES.conform(frame)


def _row(said: Spoken, settled: Settled, s: int, t0_us: int) -> dict[str, float]:
    time, kind = settled.times[s], said.time_kind[s]
    by_count = bool(np.isfinite(said.counted[said.source == s]).any())
    if not time.known or by_count or kind not in ("utc", "elapsed"):
        return dict.fromkeys(("offset_s", "offset_sigma_s", "drift_ppm", "drift_sigma_ppm", "at"), np.nan)
    first = _since_last_set(said, time, s)[:1]
    own = said.own[first]
    at = float(time.to_u(own, first)[0]) if len(first) else np.nan
    offset, sigma = (at - float(own[0]), float(time.sigma_at(own, first)[0])) if len(first) else (time.offsets[-1], time.sigma)
    offset += settled.lag
    if s != settled.reference and settled.reference is not None and time.shared:
        late, ref = settled.late[s], settled.late[settled.reference]
        offset += late.mean - ref.mean
        sigma = float(np.sqrt(sigma**2 + late.sigma**2 + ref.sigma**2))
    start = settled.given[s].offsets[0] if settled.given[s].known else -t0_us / 1e6
    return {"offset_s": round(offset - (start if kind == "elapsed" else 0.0), 3), "offset_sigma_s": round(sigma, 4),
            "drift_ppm": round(time.drift * 1e6, 2), "drift_sigma_ppm": round(time.drift_sigma * 1e6, 2), "at": at}


def _since_last_set(said: Spoken, time: SourceTime, s: int) -> np.ndarray:
    mine = (said.source == s) & np.isfinite(said.own) & (np.arange(len(said.own)) >= time.starts[-1])
    return np.flatnonzero(mine)


def _note(note: object, said: Spoken, settled: Settled, s: int) -> str | None:
    time, kind, is_reference = settled.times[s], said.time_kind[s], s == settled.reference
    told = [note] if isinstance(note, str) and note else []
    if not settled.utc_known and (is_reference or kind == "count"):
        told.append("no log tells UTC: laid on the scheduled T-0")
    elif kind == "count":
        told.append("tells count time only: placed by the rebuilt clock")
    elif kind in ("utc", "elapsed") and not time.known:
        told.append("no wall time and nothing shared with another log: not placed")
    elif kind == "utc" and not is_reference and time.shared == 0:
        told.append("shares nothing with another log: taken at its word")
    off = time.offsets[-1]
    if kind == "utc" and time.known and abs(off) > FAR_OFF_S:
        told.append(f"wrong by {-off / 3600:+.1f} h: another zone?" if by_zone(off) else f"wrong by {-off:+.0f} s")
    told += _resets(time)
    return "; ".join(told) or None


def _resets(time: SourceTime) -> Sequence[str]:
    """What was done to the log's clock, each time that it was set."""
    pairs = zip(time.offsets, time.offsets[1:], time.pivots, time.pivots[1:], strict=False)
    return [f"its clock was reset by {a - b - time.drift * (p - q):+.1f} s" for a, b, p, q in pairs]
