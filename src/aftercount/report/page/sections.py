"""The page's smaller tables: response times by station, logs and their clocks, what went well.

Every figure is taken from a table or counted from one here, and a test counts it again.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import Any

import pandas as pd

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page.polls import Poll
from aftercount.report.page.steps import StepRow
from aftercount.report.told import told_holds

_AN_INSTANT_S = 1e8  # s; an offset of years is not a clock's fault but where an elapsed log's zero lies in POSIX time
_ENOUGH_ANSWERS = 2  # a station's median answer is compared only from this many on


@dataclass(frozen=True)
class LogRow:
    """One log. added: what its own time lacks to UTC, or the instant of its zero where it only tells elapsed time."""

    row: dict[str, Any]
    added: str
    sigma: str
    drift: str
    notes: str


def log_rows(data: ReviewData) -> list[LogRow]:
    return [LogRow(s, _added(s), _with_unit(s["offset_sigma_s"], 2, "s"), _drift(s), _log_notes(s)) for s in rows(data.sources)]


def _added(source: dict[str, Any]) -> str:
    offset = source["offset_s"]
    if offset is not None and source["time"] == "elapsed" and offset >= _AN_INSTANT_S:
        return f"begins {wording.wall_time(pd.Timestamp(round(offset * 1e6), unit='us', tz='UTC'))}"
    return wording.DASH if offset is None else f"{offset:+.1f} s"


def _drift(source: dict[str, Any]) -> str:
    """With how far it may be off, where that was estimated."""
    told, sigma = _with_unit(source["drift_ppm"], 1, "ppm"), source["drift_sigma_ppm"]
    return f"{told.removesuffix(' ppm')} ± {sigma:.1f} ppm" if sigma and source["drift_ppm"] is not None else told


def _with_unit(value: float | None, digits: int, unit: str) -> str:
    return wording.DASH if value is None else f"{round(value, digits) + 0.0:.{digits}f} {unit}"


def _log_notes(source: dict[str, Any]) -> str:
    return "; ".join([*["the reference"] * source["reference"], *[source["note"]] * bool(source["note"])])


@dataclass(frozen=True)
class StationAnswers:
    """How one station answered the calls that were due an answer. points: (seconds, place 0..1, step row)."""

    station: str
    asked: int
    answered: int
    late: int
    silent: int
    median_s: float | None
    slowest_s: float | None
    points: tuple[tuple[float, float, StepRow], ...]


def station_answers(steps: tuple[StepRow, ...], statuses: list[str | None]) -> list[StationAnswers]:
    """statuses: the steps' `response`, in row order. Fastest first, stations that never answered last."""
    asked: dict[str, list[tuple[StepRow, str]]] = {}
    for step, status in zip(steps, statuses, strict=True):
        if status is not None:
            asked.setdefault(step.by or "not known", []).append((step, status))
    most = max((s.response_s for s in steps if s.response_s is not None), default=1.0) or 1.0
    made = [_station(name, group, most) for name, group in asked.items()]
    return sorted(made, key=lambda a: (a.median_s is None, a.median_s or 0.0, a.station))


def _station(name: str, group: list[tuple[StepRow, str]], most: float) -> StationAnswers:
    taken = [(s.response_s, s.response_s / most, s) for s, _ in group if s.response_s is not None]
    seconds = [t for t, _, _ in taken]
    of = [status for _, status in group]
    return StationAnswers(
        name, len(of), of.count("answered"), of.count("late"), of.count("none"), median(seconds) if seconds else None,
        max(seconds, default=None), tuple(taken),
    )


def went_well(data: ReviewData, stations: list[StationAnswers], found: list[Poll]) -> list[str]:
    """What went to plan, in sentences; only what the tables show."""
    steps = rows(data.steps)
    done = [s for s in steps if s["status"] == "done"]
    good = [s for s in done if s["timing"] == "on_time" and not s["out_of_order"]]
    told = [f"{len(good)} of {len(done)} steps done were on time and in order."] if done else []
    kept = [s for s in steps if s["deviation_s"] is not None]
    if kept:
        told.append(f"Half of the steps were within {median(abs(s['deviation_s']) for s in kept):.1f} s of due.")
    enough = [a for a in stations if a.median_s is not None and a.answered + a.late >= _ENOUGH_ANSWERS]
    if enough:
        best = f"{enough[0].median_s:.1f} s"
        fastest = [a.station for a in enough if f"{a.median_s:.1f} s" == best]
        told.append(f"{wording.listed(fastest)} answered fastest{', alike' if len(fastest) > 1 else ''}: half of the answers within {best} "
                    f"(of stations with {wording.number(_ENOUGH_ANSWERS)} answers or more).")
    full = [f"{a.station} ({a.asked})" for a in stations if a.answered == a.asked]
    if full:
        told.append(f"Every call was answered in time by {wording.listed(full)}; in brackets, how many calls.")
    holds = [h for h in told_holds(data) if h["kind"] == "built_in" and h["excess_s"] is not None and abs(h["excess_s"]) < 10.0]
    if holds:
        told.append(f"{wording.capital(wording.counted(len(holds), 'built-in hold'))} ended within ten seconds of plan.")
    told += _clean_polls(found)
    return told


def _clean_polls(found: list[Poll]) -> list[str]:
    """Each poll without a fault: how many were heard in it. Whether that was everybody is for the findings to say."""
    clean = [p for p in found if not p.trouble]
    return [
        f"Poll {p.number}{f' (step {p.step})' if p.step else ''}: {wording.counted(len({a.station for a in p.answers}), 'station')} heard, "
        f"all go{' in the end' if p.changed else ''}."
        for p in clean
    ]
