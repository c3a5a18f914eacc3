"""The count clock, its holds and the time base of one count, from what was understood of its logs.

Alternates between the clock (given every log's time) and the logs' times (given the clock) until nothing moves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount import tables
from aftercount.timeline import amid, counted, frames, holds, outcome
from aftercount.timeline import clock as clocks
from aftercount.timeline.brackets import mark_unsure
from aftercount.timeline.causes import name_causes
from aftercount.timeline.evidence import CALL_WEIGHT, CALLED, SPOKEN, Evidence, Spoken, gather, spoken
from aftercount.timeline.fit import Fit, fit
from aftercount.timeline.holds import Announced
from aftercount.timeline.model import Costs, Floats
from aftercount.timeline.offsets import Settled, beside_the_clock, describe, entry_sigma, with_delays
from aftercount.timeline.result import Timeline
from aftercount.timeline.slips import slips
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.staircase import Call, Prior, Segment
from aftercount.timeline.stale import weighed
from aftercount.timeline.timebase import Base, initial, settle
from aftercount.timeline.untangled import untangled

if TYPE_CHECKING:
    from aftercount.count import CountFolder
    from aftercount.plan import Plan
    from aftercount.speech import Speech

COUNT_READ_SIGMA_S = 1.5  # of an entry that was placed by the count that it tells: who writes that down writes it as late as a time of day


def rebuild(speech: Speech, sources: pd.DataFrame, count: CountFolder, plan: Plan) -> Timeline:
    """The timeline of one count. speech: utterances, marks and calls; sources: as the readers left them."""
    planned = planned_holds(plan)
    said = counted.laid(spoken(speech.utterances, sources, count.t0_us), speech.calls, planned)
    evidence = gather(speech, said, count.t0_us)
    return assemble(speech, count, plan, settle(evidence, said, sources, count, Refit(evidence, said, speech.calls, plan)))


@dataclass(frozen=True)
class Refit:
    """The clock fitted to some of the evidence, at the times that the logs are taken to have."""

    evidence: Evidence
    said: Spoken
    calls: pd.DataFrame
    plan: Plan

    def __call__(self, times: list[SourceTime], which: NDArray[np.bool_]) -> Fit:
        u, planned = wall(self.said, times), planned_holds(self.plan)
        prior = Prior(planned, *span(u, self.plan, planned))
        at = wall_of(self.evidence, times)
        use = np.isfinite(at) & which
        lines = [_sure(time, self.evidence.take(use & (self.evidence.source == s))) for s, time in enumerate(times)]
        evidence, stamp = self.evidence.take(use), np.nan_to_num(self.said.sigma[self.evidence.utterance[use]])
        at = untangled(evidence, at[use], np.where(np.isfinite(self.said.amid[evidence.utterance]), 0.0, stamp))
        return fit(weighed(evidence, at, self.said.medium), at, calls_at(self.calls, u, self.said.sigma), prior, Costs(), lines)


def _sure(time: SourceTime, told: Evidence) -> float:
    """How sure a log's place in time is in the middle of what it tells of the clock; of one that was not set, nothing is said."""
    return float(time.sigma_at(np.array([told.own.mean()]), np.array([told.utterance.max()]))[0]) if time.shared and len(told) else 0.0


def assemble(speech: Speech, count: CountFolder, plan: Plan, base: Base) -> Timeline:
    """The tables, from a settled time base."""
    said = base.said
    usable = np.isfinite(wall_of(base.evidence, base.times))
    evidence = base.evidence.take(usable)
    given = initial(said, count)
    best = base.refit(base.times, usable)
    settled = with_delays(Settled(base.times, given, base.reference, any(t.known for t in given)), base, best)
    best = base.refit(settled.times, usable) if settled.lag else best
    u = wall(said, settled.times)
    calls = calls_at(speech.calls, u, said.sigma)
    kept_calls = set(evidence.row[best.kept & (evidence.origin == CALLED)].tolist())
    ending = outcome.judge(best.stairs, best.parts, calls, kept_calls, outcome.ignitions(speech.utterances, u))
    end = ending.u if ending.outcome == "scrub" and ending.u is not None else np.inf
    segments = mark_unsure(_in_frame(best.stairs.segments, settled.frame_sigma), best.stairs.holds)
    clock = frames.clock_frame(outcome.ended(segments, end), count.t0_us)
    laid, beside = _beside_the_clock(settled, base, usable, clock, count.t0_us)
    own = _place_count_times(u, (said, speech.calls), entry_sigma(said, beside), laid, count.t0_us)[1]
    u, sigma = _place_count_times(u, (said, speech.calls), entry_sigma(said, settled), clock, count.t0_us)
    rows = holds.hold_rows(best.stairs.holds, calls, _announced(speech, evidence, best, (u, said.sigma)), min(end, _end(best)))
    name_causes(rows, speech, u, plan, said.sigma)
    by_schedule = bool(np.isfinite(said.counted).any())
    if by_schedule:
        holds.forget_lengths(rows)
    lifted = ending.u if ending.outcome == "liftoff" and not by_schedule else None
    moved = slips(rows, best.stairs.segments, Prior(planned_holds(plan), 0.0, 0.0), lifted)
    utc_us = pd.array(np.where(np.isfinite(u), np.rint(np.nan_to_num(u) * 1e6), 0).astype(np.int64) + count.t0_us, dtype="Int64")
    utc_us[~np.isfinite(u)] = pd.NA
    return Timeline(
        clock, holds.holds_frame(rows, count.t0_us), describe(base.sources, said, settled, count.t0_us),
        _marks_frame(speech, evidence, best, clock, pd.Series(utc_us)), pd.Series(utc_us, name="utc_us"), sigma, ending.outcome,
        None if ending.u is None or by_schedule else frames.instant_us(ending.u, count.t0_us), settled.utc_known, base, moved, laid, own)


def _beside_the_clock(settled: Settled, base: Base, usable: NDArray[np.bool_], clock: pd.DataFrame, t0_us: int) -> tuple[pd.DataFrame, Settled]:
    """The clock with how sure it is beside the log that tells it, rather than against UTC, and the times so known; the same where that is no less."""
    beside = beside_the_clock(settled, base)
    if beside is None or not len(clock):
        return clock, settled
    read = frames.clock_frame(base.refit(beside.times, usable).stairs.segments, t0_us)
    middle = clock["start_utc"] + (clock["end_utc"] - clock["start_utc"]) / 2
    own = clocks.at(read, pd.array(middle.dt.as_unit("us").astype("int64").to_numpy(), dtype="Int64"))[3]
    return clock.assign(sigma_s=np.fmin(np.where(np.isnan(own), np.inf, own), clock["sigma_s"])), beside


def _in_frame(segments: list[Segment], sigma: float) -> list[Segment]:
    """The segments with what the whole frame may be off by."""
    return [replace(s, sigma=float(np.hypot(s.sigma, sigma))) for s in segments]


def planned_holds(plan: Plan) -> tuple[tuple[float, float], ...]:
    table = plan.holds
    pairs = zip(table["t_s"].tolist(), table["duration_s"].fillna(0.0).tolist(), strict=True)
    return tuple(sorted((float(t), float(s)) for t, s in pairs))


def wall(said: Spoken, times: list[SourceTime]) -> Floats:
    """Wall time of each utterance, NaN where unknown."""
    u = np.full(len(said.own), np.nan)
    for s, time in enumerate(times):
        mine = said.source == s
        u[mine] = time.to_u(said.own[mine], np.flatnonzero(mine))
    return u


def wall_of(evidence: Evidence, times: list[SourceTime]) -> Floats:
    u = np.full(len(evidence), np.nan)
    for s, time in enumerate(times):
        mine = evidence.source == s
        u[mine] = time.to_u(evidence.own[mine], evidence.utterance[mine])
    return u


def span(u: Floats, plan: Plan, planned: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """The wall time that the logs cover; with no log time at all, that of the plan."""
    seen = u[np.isfinite(u)]
    if len(seen):
        return float(seen.min()), float(seen.max())
    t = plan.steps["t_s"]
    first, last = (float(t.min()), float(t.max())) if len(t) else (-1.0, 0.0)
    before = sum(length for at, length in planned if at >= first)
    return first - before, max(last, 0.0)


def calls_at(calls: pd.DataFrame, u: Floats, own_sigma: Floats) -> list[Call]:
    """The calls in order of wall time; those without one are left out. own_sigma: of each utterance's own time, NaN where it has none."""
    columns = [calls[c].tolist() for c in ("utterance", "what", "grade", "t_s", "to_t_s")]
    made = [Call(float(u[i]), what, t, to_t, CALL_WEIGHT[grade], i, row, float(np.nan_to_num(own_sigma[i])))
            for row, (i, what, grade, t, to_t) in enumerate(zip(*columns, strict=True)) if np.isfinite(u[i])]
    return sorted(made, key=lambda c: (c.u, c.utterance, c.row))


def _end(best: Fit) -> float:
    return best.stairs.segments[-1].end if best.stairs.segments else np.inf


def _announced(speech: Speech, evidence: Evidence, best: Fit, when: tuple[Floats, Floats]) -> list[Announced]:
    """Kept marks whose words said the count was holding. when: of each utterance, and how sure that is."""
    rows = evidence.row[best.kept & (evidence.origin == SPOKEN)]
    marks = speech.marks.iloc[rows]
    marks = marks[marks["says"].astype(str).str.startswith("hold") & (marks["clock"] == "T")]
    pairs = zip(marks["t_s"].tolist(), marks["utterance"].tolist(), strict=True)
    u, sigma = when
    return sorted((float(u[i]), float(t), int(i), float(np.nan_to_num(sigma[i]))) for t, i in pairs)


def _place_count_times(u: Floats, heard: tuple[Spoken, pd.DataFrame], sigma: Floats, clock: pd.DataFrame,
                       t0_us: int) -> tuple[Floats, Floats]:
    """Entries that tell only the count are placed by the clock; and the sigma of every placed entry."""
    said, calls = heard
    out, sigma, spread = u.copy(), sigma.copy(), said.spread.copy()
    for source in (k for k, kind in enumerate(said.time_kind) if kind == "count" and len(clock)):
        mine = np.flatnonzero((said.source == source) & np.isfinite(said.own))
        placed = counted.place(counted.Told.of(said, mine, calls), clock, t0_us)
        out[mine], spread[mine] = placed.u, placed.sigma
        at = pd.array(np.rint(np.nan_to_num(placed.u) * 1e6).astype(np.int64) + t0_us, dtype="Int64")
        sigma[mine] = np.hypot(said.sigma[mine], np.nan_to_num(clocks.at(clock, at)[3]))
    out, read = amid.by_the_clock(out, said.sigma, said.amid, clock, t0_us)
    at = pd.array(np.rint(np.nan_to_num(out[read]) * 1e6).astype(np.int64) + t0_us, dtype="Int64")
    sigma[read] = np.hypot(COUNT_READ_SIGMA_S, np.nan_to_num(clocks.at(clock, at)[3]))
    return out, np.where(np.isfinite(out), np.hypot(sigma, spread), np.nan)


def _marks_frame(speech: Speech, evidence: Evidence, best: Fit, clock: pd.DataFrame, utc_us: pd.Series) -> pd.DataFrame:
    """Every spoken mark, kept or not, with how far it lies from the clock."""
    marks = speech.marks
    if marks.empty:
        return tables.MARKS.empty()
    kept = set(evidence.row[best.kept & (evidence.origin == SPOKEN)].tolist())
    event = marks["utterance"].to_numpy(dtype=np.int64)
    when = utc_us.iloc[event].reset_index(drop=True)
    read = clocks.at(clock, when.array)[0]
    t_s = marks["t_s"].to_numpy(dtype=float)
    is_t = (marks["clock"] == "T").to_numpy()
    frame = pd.DataFrame({
        "mark": range(len(marks)), "event": event, "utc": frames.from_us(when.array), "t_s": np.nan_to_num(t_s),
        "clock": marks["clock"].to_numpy(), "says": marks["says"].to_numpy(), "grade": marks["grade"].to_numpy(),
        "form": marks["form"].to_numpy(), "sigma_s": marks["sigma_s"].to_numpy(),
        "kept": [i in kept for i in range(len(marks))], "residual_s": np.where(is_t, t_s - read, np.nan),
    })
    return tables.MARKS.conform(frame)
