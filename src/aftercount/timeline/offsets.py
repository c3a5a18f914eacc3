"""What is each log's clock off by, and how sure are the instants that it gives?

A log's line (SourceTime) says when what it tells of happened. Its clock is off by that and by the mean delay of its stamps, less the delay of
the reference's own; what entries of the reference are late by is an error of the whole frame that nothing in the logs shows. Seconds.
It does not decide the lines: timebase does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from aftercount import tables
from aftercount.timeline import frames
from aftercount.timeline.align import align
from aftercount.timeline.delays import MEAN_FACTOR, delay, resolution, unevenness
from aftercount.timeline.evidence import Evidence, Spoken
from aftercount.timeline.fit import Fit
from aftercount.timeline.model import Floats
from aftercount.timeline.sourcetime import UNCHECKED_SIGMA_S, SourceTime
from aftercount.timeline.votes import votes

MEDIAN_TELLS = 0.37  # the efficiency of a median absolute deviation: n values tell as much of their scatter as so many times n by their squares
CUES_PART = 0.5**0.5  # of the scatter of a voice's readings: half of its square the recogniser's, half the voice's, where nothing tells them apart
ZONE_S = 600.0  # a clock further off than this, by whole half hours, is in another zone


@dataclass(frozen=True)
class Settled:
    """Every log's time as settled. given: as the logs themselves said; reference: which log, None if none has a clock."""

    times: list[SourceTime]
    given: list[SourceTime]
    reference: int | None
    utc_known: bool

    @property
    def frame_sigma(self) -> float:
        """How far entries of the reference are late or early all together."""
        if self.reference is None or not self.utc_known:
            return 0.0
        ref = self.times[self.reference]
        return float(np.hypot(ref.delay, ref.delay_sigma))


def with_delays(settled: Settled, evidence: Evidence, said: Spoken, clock: Fit) -> Settled:
    """The times with the delay of each log's stamps."""
    times = []
    for s, time in enumerate(settled.times):
        sigma = said.sigma[(said.source == s) & np.isfinite(said.own)]
        step = resolution(said.medium[s], float(np.nanmin(sigma)) if len(sigma) else 0.0)
        if s == settled.reference and said.medium[s] != "machine":
            itself = align(votes(evidence.take(evidence.source == s), clock, []), utc=True)
            time = replace(time, residuals=itself.residuals, scatter=itself.scatter) if itself else time
        found = delay(said.medium[s], step, time.residuals)
        times.append(replace(time, delay=found.mean, delay_sigma=found.sigma))
    return replace(settled, times=times)


def entry_sigma(said: Spoken, settled: Settled) -> Floats:
    """How sure the wall time of each entry is. Typed entries scatter as they were seen to; speech as its cues are said to, or as its readings
    of the count were seen to, which are said less evenly than a cue begins."""
    out = said.sigma.copy()
    for s, time in enumerate(settled.times):
        mine = np.flatnonzero(said.source == s)
        if not len(mine):
            continue
        own = said.sigma[mine]
        least = float(np.nanmin(own))
        single = _single(said.medium[s], time, least, bool(time.shared) or s == settled.reference)
        own = np.sqrt(np.maximum(own**2 - least**2, 0.0) + single**2)
        out[mine] = np.sqrt(own**2 + time.sigma_at(said.own[mine], mine) ** 2 + settled.frame_sigma**2)
    return out


def _single(medium: str, time: SourceTime, least: float, placed: bool) -> float:
    """How one entry of a log scatters about its line; least: about the instant it tells of, as was thought before. Of a keeper's entries in a log that
    was placed the mean lateness is in the line, or in the frame: what is left is how evenly he is late."""
    stated = unevenness(resolution(medium, least)) if medium == "typed" and placed else least
    if np.isnan(time.scatter):
        return min(least, stated)
    speech = medium == "speech"
    found = _pooled(stated, time.scatter * (CUES_PART if speech else 1.0), len(time.residuals))
    return min(least, found) if speech else found


def _pooled(stated: float, found: float, n: int) -> float:
    """The scatter of a log's entries, of which n were seen to scatter as found: what is thought of people before is good to a factor MEAN_FACTOR, which
    is worth as many entries as tell a standard deviation so well."""
    before, seen = 1 / (2 * np.log(MEAN_FACTOR) ** 2), MEDIAN_TELLS * n
    return float(np.sqrt((before * stated**2 + seen * found**2) / (before + seen)))


def describe(sources: pd.DataFrame, said: Spoken, settled: Settled, t0_us: int) -> pd.DataFrame:
    """SOURCES with offset, drift, sigma, reference and what a reader should know.

    The offset of a log with a configured start is what to add to that; it holds at the log's first entry since its clock was last set.
    """
    frame = sources.copy()
    rows = [_row(said, settled, s, t0_us) for s in range(len(settled.times))]
    for column in ("offset_s", "offset_sigma_s", "drift_ppm"):
        frame[column] = [row[column] for row in rows]
    frame["offset_at_utc"] = frames.utc_column([row["at"] for row in rows], t0_us)
    frame["reference"] = [s == settled.reference for s in range(len(rows))]
    frame["note"] = [_note(note, said, settled, s) for s, note in enumerate(sources["note"].tolist())]
    return tables.SOURCES.conform(frame)


def _row(said: Spoken, settled: Settled, s: int, t0_us: int) -> dict[str, float]:
    time, kind = settled.times[s], said.time_kind[s]
    by_count = bool(np.isfinite(said.counted[said.source == s]).any())
    if not time.known or by_count or kind not in ("utc", "elapsed"):
        return dict.fromkeys(("offset_s", "offset_sigma_s", "drift_ppm", "at"), np.nan)
    first = _since_last_set(said, time, s)[:1]
    own = said.own[first]
    at = float(time.to_u(own, first)[0]) if len(first) else np.nan
    offset, sigma = (at - float(own[0]), float(time.sigma_at(own, first)[0])) if len(first) else (time.offsets[-1], time.sigma)
    if s != settled.reference and settled.reference is not None and time.shared:
        ref = settled.times[settled.reference]
        offset += time.delay - ref.delay
        sigma = float(np.sqrt(sigma**2 + time.delay_sigma**2 + ref.delay_sigma**2))
    start = settled.given[s].offsets[0] if settled.given[s].known else -t0_us / 1e6
    return {"offset_s": round(offset - (start if kind == "elapsed" else 0.0), 3), "offset_sigma_s": round(sigma, 4),
            "drift_ppm": round(time.drift * 1e6, 2), "at": at}


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
    if kind == "utc" and time.known and abs(off) > ZONE_S and abs(off - 1800 * round(off / 1800)) < UNCHECKED_SIGMA_S:
        told.append(f"wrong by {-off / 3600:+.1f} h: another zone?")
    told += _resets(time)
    return "; ".join(told) or None


def _resets(time: SourceTime) -> Sequence[str]:
    """What was done to the log's clock, each time that it was set."""
    pairs = zip(time.offsets, time.offsets[1:], time.pivots, time.pivots[1:], strict=False)
    return [f"its clock was reset by {a - b - time.drift * (p - q):+.1f} s" for a, b, p, q in pairs]
