"""Which time does each log keep, against the reference?

The reference is the log that count.toml names, else the machine log that tells UTC and says most of the clock, else a log that
tells UTC to the second, else any that tells it. From it outward each log is placed against the clock rebuilt from those placed before it, then once more
against all the others. A machine's clock that spans the others' marks is the clock: they are placed against it alone.
Where no log tells UTC the one that says most is laid on the schedule, and `utc_known` is False. Seconds after the scheduled T-0.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount.timeline.align import DRIFT, align
from aftercount.timeline.evidence import COARSE_S, Evidence, Spoken
from aftercount.timeline.fit import Fit
from aftercount.timeline.model import COUNTING, HOLD, MARK
from aftercount.timeline.pieces import Piece
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.votes import Moment, votes

if TYPE_CHECKING:
    from aftercount.count import CountFolder

Refit = Callable[[list[SourceTime], NDArray[np.bool_]], Fit]
Shared = dict[int, list[tuple[int, int]]]  # by log: its utterance, and that of another log of the same moment

ENOUGH_MARKS = 4  # marks from which a clock can be rebuilt that others are set against
AGREEING = 3  # marks of one stretch that name the same T-0 to seconds: one or two false ones may, hardly three
AGREEING_S = 5.0  # a hold is told of so soon
SPANNING = 0.9  # share of the others' marks that must lie within a machine's own for it to be the clock
KEEPER_S = 0.5  # by so much surer is a keeper's log set before one that has the words as they are said
SCHEDULE_SIGMA_S = 60.0  # a log laid on the schedule: counts rarely start to the second
ROUNDS = 2
SAME_S = 0.02
# s/s, one sigma: quartz of consoles and computers is sold as good to some tens of parts in a million, of sound recorders to fifty and more
DRIFTS = {"typed": DRIFT, "machine": DRIFT, "speech": 40e-6}


@dataclass
class Base:
    """The time base while it is being settled."""

    evidence: Evidence
    said: Spoken
    sources: pd.DataFrame  # as the readers left them
    times: list[SourceTime]
    placed: list[int]
    reference: int | None
    refit: Refit
    shared: Shared = field(default_factory=dict)
    finer: int | None = None  # the log that tells the clock where the reference tells UTC to the minute alone
    fits: dict[tuple[object, ...], Fit] = field(default_factory=dict)

    def marks(self, s: int) -> int:
        return int(((self.evidence.source == s) & (self.evidence.kind == MARK)).sum())

    def fit(self, which: list[int]) -> Fit:
        key = tuple((s, self.times[s]) for s in sorted(which))
        if key not in self.fits:
            self.fits[key] = self.refit(self.times, np.isin(self.evidence.source, which))
        return self.fits[key]

    def drift(self, s: int) -> float:
        """The sigma of log s's drift against the reference, before anything is read: a machine that is the reference is kept by the range's time."""
        beside = "machine" if self.reference is None else self.said.medium[self.reference]
        return float(np.hypot(DRIFTS[self.said.medium[s]], DRIFTS[beside] if beside != "machine" else 0.0))

    def place(self, s: int, against: list[int], beside: Sequence[int] = ()) -> bool:
        """Sets log s against the clock of others, and the moments it shares with those beside; False when there is nothing to set it by.

        Others that say nothing of the clock have only the plan's: a log that has a time of its own is not set against that, and one that has none is laid on it
        as it began, for what the count did since is no reset of the log.
        """
        if s == self.finer and self._turned(s, self.reference):
            return True
        clock, mine = self.fit(against), self.evidence.source == s
        if not clock.parts and not self.times[s].known:
            _lay_on_schedule(self, s)
            return True
        told = self.evidence.take(mine & (bool(clock.parts) or not self.times[s].known))
        found = align(votes(told, clock, self.moments(s, beside)), self.said.time_kind[s] == "utc", self.drift(s))
        if found is not None:
            self.times[s] = found
        return found is not None

    def _turned(self, s: int, coarse: int | None) -> bool:
        """Log s, which tells the clock finer than the reference tells anything, moved so that the reference is right by the clock that s tells: which holds there were
        the reference could not say. False when that clock needs one of the two to have been reset."""
        if coarse is None or not self.times[s].known:
            return False
        clock, time = self.fit([s]), self.times[s]
        pairs = [(theirs, mine) for mine, theirs in self.shared.get(s, []) if self.said.source[theirs] == coarse]
        moments = [Moment(a, float(self.said.own[a]), float(time.to_u(self.said.own[[b]], np.array([b]))[0]), 0.0, stamps=self._stamps(a, b)) for a, b in pairs]
        found = align(votes(self.evidence.take(self.evidence.source == coarse), clock, moments), False, self.drift(s))
        if found is None or len(found.offsets) > 1:
            return False
        at = found.pivots[0] + found.offsets[0] - time.offsets[0]  # by the log's own clock
        self.times[s] = SourceTime((time.offsets[0] - found.offsets[0],), pivots=(at,), sigmas=found.sigmas, drift=-found.drift, drift_sigma=found.drift_sigma, shared=found.shared)
        return True

    def _stamps(self, a: int, b: int) -> float:
        return float(np.hypot(self.said.sigma[a], self.said.sigma[b]))

    def moments(self, s: int, beside: Sequence[int]) -> list[Moment]:
        said, out = self.said, []
        for mine, other in self.shared.get(s, []):
            theirs = int(said.source[other])
            if theirs in beside and self.times[theirs].known:
                one, time = np.array([other]), self.times[theirs]
                u, best = float(time.to_u(said.own[one], one)[0]), float(time.best(one)[0])
                out.append(Moment(mine, float(said.own[mine]), u, time.sigma, time.drift_sigma, best, self._stamps(mine, other)))
        return out


def settle(evidence: Evidence, said: Spoken, sources: pd.DataFrame, count: CountFolder, refit: Refit) -> Base:
    """Every log's time, from what each says of the clock."""
    base = Base(evidence, said, sources, initial(said, count), [], None, refit)
    base.reference = reference(base)
    if base.reference is None:
        return base
    times = base.times
    if not times[base.reference].known:
        _lay_on_schedule(base, base.reference)
    else:
        times[base.reference] = replace(times[base.reference], sigmas=(0.0,))
    base.placed = _first_placed(base)
    if times[base.reference].known:
        _by_the_finer(base, base.reference)
    alone = is_the_clock(base)
    others = _others(base, lambda s: (-base.marks(s), s))
    for s in others:
        if base.place(s, [base.reference] if alone else [p for p in base.placed if p != s] or [base.reference]) and s not in base.placed:
            base.placed.append(s)
    if not alone:
        _go_round(base, others)
    return base


def settle_again(base: Base, shared: Shared) -> Base:
    """The same with moments that logs share: the surest first, each beside those surer than it."""
    assert base.reference is not None
    again = replace(base, times=list(base.times), placed=list(base.placed), shared=shared)
    alone, sure = is_the_clock(again), [base.reference]
    for s in _others(again, lambda s: (s not in base.placed, base.times[s].sigma + KEEPER_S * (base.said.medium[s] == "typed"), s)):
        if s in shared:
            again.place(s, [base.reference] if alone else [p for p in again.placed if p != s] or [base.reference], sure)
            again.placed += [s] if again.times[s].known and s not in again.placed else []
        sure.append(s)
    return again


def _by_the_finer(base: Base, coarse: int) -> None:
    """Where the reference's stamps are too coarse to tell the clock, the log that tells it best is set first, roughly, and then the reference beside it."""
    said = base.said
    finer = [s for s in _others(base, lambda s: (-base.marks(s), s)) if base.marks(s) >= ENOUGH_MARKS and _finest(said, s) < COARSE_S]
    if _finest(said, coarse) < COARSE_S or not finer or base.marks(coarse) < ENOUGH_MARKS:
        return
    if base.place(finer[0], [coarse]) and abs(base.times[finer[0]].offsets[0] - base.times[finer[0]].offsets[-1]) <= _finest(said, coarse):
        time = base.times[finer[0]]  # set there and back is what a hold looks like that the reference could not tell
        base.times[finer[0]] = replace(time, offsets=time.offsets[-1:], starts=(-np.inf,), pivots=time.pivots[-1:], sigmas=time.sigmas[-1:])
        base.finer = finer[0]


def _finest(said: Spoken, s: int) -> float:
    mine = said.sigma[(said.source == s) & np.isfinite(said.own)]
    return float(np.nanmin(mine)) if len(mine) else np.inf


def _others(base: Base, order: Callable[[int], tuple[object, ...]]) -> list[int]:
    kinds = base.said.time_kind
    return sorted((s for s in range(len(base.times)) if s != base.reference and kinds[s] in ("utc", "elapsed")), key=order)


def is_the_clock(base: Base) -> bool:
    """Whether the reference is a machine that says the clock all along: what people say adds nothing to it."""
    assert base.reference is not None
    if base.said.medium[base.reference] != "machine" or base.marks(base.reference) < ENOUGH_MARKS:
        return False
    marks = base.evidence.kind == MARK
    own, others = (base.evidence.t[marks & which] for which in (base.evidence.source == base.reference, base.evidence.source != base.reference))
    return not len(others) or float(((others >= own.min()) & (others <= own.max())).mean()) >= SPANNING


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


def reference(base: Base) -> int | None:
    """Which log's clock is the reference."""
    configured = [i for i, r in enumerate(base.sources["reference"].tolist()) if r]
    entries = base.sources["entries"].tolist()
    clocked = [s for s, k in enumerate(base.said.time_kind) if k in ("utc", "elapsed")]
    if configured and configured[0] in clocked and base.times[configured[0]].known:
        return configured[0]
    utc = [s for s in clocked if base.said.time_kind[s] == "utc"] or [s for s in clocked if base.times[s].known] or clocked
    machine = [s for s in utc if base.said.medium[s] == "machine"]
    fine = [s for s in utc if _finest(base.said, s) < COARSE_S and base.marks(s) >= ENOUGH_MARKS]  # who writes the seconds knows UTC better than who writes minutes
    return min(machine or fine or utc, key=lambda s: (-base.marks(s), -entries[s], s), default=None)


def _lay_on_schedule(base: Base, s: int) -> None:
    """A log without wall time, set against the plan by its earliest marks: a count starts on time and then slips."""
    mine = base.evidence.take(base.evidence.source == s)
    first = np.argsort(mine.utterance, kind="stable")[: max(ENOUGH_MARKS, len(mine) // 3)]
    nothing = base.refit(base.times, np.zeros(len(base.evidence), dtype=bool))
    found = align(votes(mine.take(first), nothing, []), utc=False)
    base.times[s] = SourceTime(found.offsets[:1] if found else (_start_of_plan(nothing),), sigmas=(SCHEDULE_SIGMA_S,))
    base.times[s] = replace(base.times[s], offsets=(base.times[s].offsets[0] - _behind(base.fit([s])),))


def _behind(clock: Fit) -> float:
    """How far behind the schedule the first stretch of the count is that several marks tell of, of which the earliest may all have been misheard. A hold that is
    told of just where such a stretch comes to it is one more.
    """
    first = next((p for p, held in zip_longest(clock.parts, clock.parts[1:]) if p.state == COUNTING and p.marks + _comes_to(p, held) >= AGREEING), None)
    return first.value + float(clock.field.remaining(np.array([first.first - first.value]))[0]) if first else 0.0


def _comes_to(part: Piece, held: Piece | None) -> bool:
    return held is not None and held.move == HOLD and abs(held.first - part.value - held.value) <= AGREEING_S


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
