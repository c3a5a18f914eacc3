"""The page's smaller tables: polls, response times by station, logs and their clocks, what went well.

Every figure is taken from a table or counted from one here, and a test counts it again.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import Any

import pandas as pd

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page.lines import Lines, Quote
from aftercount.report.page.steps import StepRow

_AN_INSTANT_S = 1e8  # s; an offset of years is not a clock's fault but where an elapsed log's zero lies in POSIX time
_ENOUGH_ANSWERS = 2  # a station's median answer is compared only from this many on


@dataclass(frozen=True)
class PollAnswer:
    order: int
    station: str
    answer: str
    time: str
    quote: Quote | None
    fault: str


@dataclass(frozen=True)
class Poll:
    number: int
    step: str
    pass_: int | None
    answers: tuple[PollAnswer, ...]


def polls(data: ReviewData, lines: Lines) -> list[Poll]:
    groups: dict[int, list[dict[str, Any]]] = {}
    for answer in rows(data.polls):
        groups.setdefault(answer["poll"], []).append(answer)
    return [Poll(n, g[0]["step"] or "", g[0]["pass"], _answers(g, lines)) for n, g in groups.items()]


def _answers(group: list[dict[str, Any]], lines: Lines) -> tuple[PollAnswer, ...]:
    given: dict[str, str] = {}
    made = []
    for a in sorted(group, key=lambda a: a["order"]):
        before = given.get(a["station"])
        fault = "changed its answer" if before not in (None, a["answer"]) else ""
        if a["event"] is None:
            fault = "not heard"
        elif a["answer"] == "unclear":
            fault = "not made out"
        elif a["answer"].lower().replace("_", " ").startswith("no"):
            fault = "no go" + (", changed" if fault else "")
        given[a["station"]] = a["answer"]
        made.append(PollAnswer(a["order"], a["station"], a["answer"].replace("_", " "), wording.clock_time(a["utc"]), lines.quote(a["event"]), fault))
    return tuple(made)


@dataclass(frozen=True)
class LogRow:
    """One log. added: what its own time lacks to UTC, or the instant of its zero where it only tells elapsed time."""

    row: dict[str, Any]
    added: str
    sigma: str
    drift: str
    notes: str


def log_rows(data: ReviewData) -> list[LogRow]:
    return [LogRow(s, _added(s), _with_unit(s["offset_sigma_s"], 2, "s"), _with_unit(s["drift_ppm"], 1, "ppm"), _log_notes(s)) for s in rows(data.sources)]


def _added(source: dict[str, Any]) -> str:
    offset = source["offset_s"]
    if offset is not None and source["time"] == "elapsed" and offset >= _AN_INSTANT_S:
        return f"begins {wording.wall_time(pd.Timestamp(round(offset * 1e6), unit='us', tz='UTC'))}"
    return wording.DASH if offset is None else f"{offset:+.1f} s"


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
        best = enough[0]
        told.append(f"{best.station} answered fastest: half of its answers within {best.median_s:.1f} s.")
    full = [a.station for a in stations if a.answered == a.asked >= _ENOUGH_ANSWERS]
    if full:
        told.append(f"Every call was answered in time by {wording.listed(full)}.")
    holds = [h for h in rows(data.holds) if h["kind"] == "built_in" and h["excess_s"] is not None and abs(h["excess_s"]) < 10.0]
    if holds:
        told.append(f"{wording.capital(wording.counted(len(holds), 'built-in hold'))} ended within ten seconds of plan.")
    told += _clean_polls(found)
    return told


def _clean_polls(found: list[Poll]) -> list[str]:
    """Each poll without a fault: how many were heard in it. Whether that was everybody is for the findings to say."""
    clean = [p for p in found if not any(a.fault for a in p.answers)]
    return [
        f"Poll {p.number}{f' (step {p.step})' if p.step else ''}: {wording.counted(len({a.station for a in p.answers}), 'station')} heard, all go."
        for p in clean
    ]
