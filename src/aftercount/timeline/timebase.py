"""Which time does each log keep, against the reference?

The reference is the log that count.toml names, else the machine log that tells UTC and says most of the clock, else any log
that tells UTC. From it outward each log is placed against the clock rebuilt from those placed before it, then once more
against all the others. Where no log tells UTC the one that says most is laid on the schedule, and `utc_known` is False.
Seconds after the scheduled T-0.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount import tables
from aftercount.timeline.align import align
from aftercount.timeline.evidence import MARK, Evidence, Spoken
from aftercount.timeline.fit import Fit
from aftercount.timeline.sourcetime import UNCHECKED_SIGMA_S, SourceTime
from aftercount.timeline.votes import votes

if TYPE_CHECKING:
    from aftercount.count import CountFolder

Refit = Callable[[list[SourceTime], NDArray[np.bool_]], Fit]
Shared = dict[int, list[tuple[int, float, float, float]]]

ENOUGH_MARKS = 4  # marks from which a clock can be rebuilt that others are set against
SCHEDULE_SIGMA_S = 60.0  # a log laid on the schedule: counts rarely start to the second
ROUNDS = 2
SAME_S = 0.02
# s: what all entries of a log may be late or early by, one with another: people hear, then type; recognisers cut where they will
LAG_S = {"machine": 0.05, "typed": 0.7, "speech": 0.3}


@dataclass
class Base:
    """The time base while it is being settled."""

    evidence: Evidence
    said: Spoken
    times: list[SourceTime]
    placed: list[int]
    reference: int | None
    refit: Refit
    shared: Shared = field(default_factory=dict)

    def marks(self, s: int) -> int:
        return int(((self.evidence.source == s) & (self.evidence.kind == MARK)).sum())

    def fit(self, which: list[int]) -> Fit:
        return self.refit(self.times, np.isin(self.evidence.source, which))

    def place(self, s: int, against: list[int]) -> bool:
        """Sets log s against the clock of the others; False when there is nothing to set it by."""
        mine = self.evidence.take(self.evidence.source == s)
        found = align(votes(mine, self.fit(against).stairs, self.shared.get(s, [])), self.said.time_kind[s] == "utc",
                      LAG_S[self.said.medium[s]])
        if found is not None:
            self.times[s] = found
        return found is not None


def settle(evidence: Evidence, said: Spoken, sources: pd.DataFrame, count: CountFolder, refit: Refit,
           shared: Shared | None = None) -> tuple[list[SourceTime], bool, int | None]:
    """Every log's time, whether UTC is known at all, and which log is the reference."""
    times = initial(said, count)
    base = Base(evidence, said, times, [], None, refit, shared or {})
    base.reference = reference(base, sources)
    utc_known = any(t.known for t in times)
    if base.reference is None:
        return times, utc_known, None
    if not times[base.reference].known:
        _lay_on_schedule(base, base.reference)
    else:
        times[base.reference] = replace(times[base.reference], sigma=0.0)
    base.placed = _first_placed(base)
    others = sorted((s for s in range(len(times)) if s != base.reference and said.time_kind[s] in ("utc", "elapsed")),
                    key=lambda s: (-base.marks(s), s))
    for s in others:
        if base.place(s, [p for p in base.placed if p != s] or [base.reference]) and s not in base.placed:
            base.placed.append(s)
    _go_round(base, others)
    return times, utc_known, base.reference


def _go_round(base: Base, others: list[int]) -> None:
    """Each once more against all the others, until none moves."""
    for _ in range(ROUNDS - 1):
        before = list(base.times)
        for s in others:
            rest = [p for p in base.placed if p != s]
            if len(rest) > 1 or rest != [base.reference]:
                base.place(s, rest)
        if all(a.same_as(b, SAME_S) for a, b in zip(before, base.times, strict=True)):
            return


def _first_placed(base: Base) -> list[int]:
    """The logs that the first clock is built from: the reference, and if it says little all that tell UTC."""
    assert base.reference is not None
    if base.marks(base.reference) >= ENOUGH_MARKS:
        return [base.reference]
    return [s for s, t in enumerate(base.times) if t.known]


def reference(base: Base, sources: pd.DataFrame) -> int | None:
    """Which log's clock is the reference."""
    configured = [i for i, r in enumerate(sources["reference"].tolist()) if r]
    entries = sources["entries"].tolist()
    clocked = [s for s, k in enumerate(base.said.time_kind) if k in ("utc", "elapsed")]
    if configured and configured[0] in clocked and base.times[configured[0]].known:
        return configured[0]
    utc = [s for s in clocked if base.said.time_kind[s] == "utc"] or [s for s in clocked if base.times[s].known] or clocked
    machine = [s for s in utc if base.said.medium[s] == "machine"]
    return min(machine or utc, key=lambda s: (-base.marks(s), -entries[s], s), default=None)


def _lay_on_schedule(base: Base, s: int) -> None:
    """A log without wall time, set against the plan by its earliest marks: a count starts on time and then slips."""
    mine = base.evidence.take(base.evidence.source == s)
    first = np.argsort(mine.utterance, kind="stable")[: max(ENOUGH_MARKS, len(mine) // 3)]
    nothing = base.refit(base.times, np.zeros(len(base.evidence), dtype=bool))
    found = align(votes(mine.take(first), nothing.stairs, []), utc=False, lag=SCHEDULE_SIGMA_S)
    base.times[s] = SourceTime(found.offsets[:1] if found else (_start_of_plan(nothing),), sigma=SCHEDULE_SIGMA_S)


def _start_of_plan(nothing: Fit) -> float:
    return nothing.stairs.segments[0].start if nothing.stairs.segments else 0.0


def initial(said: Spoken, count: CountFolder) -> list[SourceTime]:
    """What the logs themselves say: UTC as it stands, elapsed time from a configured start, else not known."""
    starts = {spec.path: spec.start_us for spec in count.logs}
    out = []
    for name, kind in zip(said.names, said.time_kind, strict=True):
        start = starts.get(name)
        if kind == "utc":
            out.append(SourceTime((0.0,)))
        elif kind == "elapsed" and start is not None:
            out.append(SourceTime(((start - count.t0_us) / 1e6,)))
        else:
            out.append(SourceTime((0.0,), known=False))
    return out


def describe(sources: pd.DataFrame, said: Spoken, times: list[SourceTime], settled: tuple[bool, int | None, int],
             given: list[SourceTime]) -> pd.DataFrame:
    """SOURCES with offset, drift, sigma, reference and what a reader should know. settled: utc_known, reference, T-0 in us.

    given: the times before they were settled; the offset of a log with a configured start is what to add to that.
    """
    utc_known, ref, t0_us = settled
    frame = sources.copy()
    clocked = [t.known and k in ("utc", "elapsed") for t, k in zip(times, said.time_kind, strict=True)]
    base = [0.0 if k != "elapsed" else -g.offsets[0] if g.known else t0_us / 1e6
            for k, g in zip(said.time_kind, given, strict=True)]
    frame["offset_s"] = [round(t.offsets[-1] + b, 3) if c else np.nan for t, b, c in zip(times, base, clocked, strict=True)]
    frame["offset_sigma_s"] = [round(t.sigma, 3) if c else np.nan for t, c in zip(times, clocked, strict=True)]
    frame["drift_ppm"] = [round(t.drift * 1e6, 2) if c else np.nan for t, c in zip(times, clocked, strict=True)]
    frame["reference"] = [i == ref for i in range(len(times))]
    notes = sources["note"].tolist()
    frame["note"] = [_note(notes[i], said.time_kind[i], t, utc_known, i == ref) for i, t in enumerate(times)]
    return tables.SOURCES.conform(frame)


def _note(note: object, kind: str, time: SourceTime, utc_known: bool, is_reference: bool) -> str | None:
    said = [note] if isinstance(note, str) and note else []
    if not utc_known and (is_reference or kind == "count"):
        said.append("no log tells UTC: laid on the scheduled T-0")
    elif kind == "count":
        said.append("tells count time only: placed by the rebuilt clock")
    elif kind in ("utc", "elapsed") and not time.known:
        said.append("no wall time and nothing shared with another log: not placed")
    elif kind == "utc" and not is_reference and time.shared == 0:
        said.append("shares nothing with another log: taken at its word")
    off = time.offsets[-1]
    if kind == "utc" and time.known and abs(off) > 600 and abs(off - 1800 * round(off / 1800)) < UNCHECKED_SIGMA_S:
        said.append(f"wrong by {-off / 3600:+.1f} h: another zone?")
    for a, b in zip(time.offsets, time.offsets[1:], strict=False):
        said.append(f"its clock was reset by {a - b:+.1f} s")
    return "; ".join(said) or None
