"""The steps as the page shows them: one row a step and pass, every value in the form it is read and sorted by.

Conventions: `row` numbers the steps as they stand in the table and names them in the page's anchors and script.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.look import SIGN_WORDS
from aftercount.report.marks import sign_of
from aftercount.report.page.lines import Lines, Quote, quote_of
from aftercount.report.page.polls import Poll
from aftercount.report.summary_text import only_asked

_RESPONSES = {"answered": "answered", "late": "answered late", "none": "no answer"}
_APART = "the clock stood still between due and begun: measured on the count clock"
_APART_S = 1.0  # between due and begun beside the deviation: more than the clocks' uncertainty
_ROUNDING_S = 0.11  # how far the rounding of three times may move one of them
_TOLD_APART_S = 1.0  # a completion is told apart from the beginning from here on: the page shows whole seconds


@dataclass(frozen=True)
class StepRow:
    """flags: what else can be filtered by. done: the line that reported or recorded its completion."""

    row: int
    step: str
    pass_: int
    sign: str
    words: str
    action: str
    by: str
    phase: str
    planned_t_s: float
    planned: str
    planned_utc: str
    due: str
    actual: str
    deviation_s: float | None
    deviation: str
    tolerance: str
    response_s: float | None
    response: str
    confidence: float
    flags: tuple[str, ...]
    sure: str
    notes: tuple[str, ...]
    completed: str
    done: Quote | None
    quote: Quote | None
    reply: Quote | None
    event: int | None
    apart: bool


def step_rows(data: ReviewData, lines: Lines, asked: list[Poll]) -> tuple[StepRow, ...]:
    reports = _reports(data)
    troubled = {(p.step, p.pass_): p for p in asked if p.trouble}
    return tuple(_row(i, s, (lines, reports), troubled.get((s["step"], s["pass"]))) for i, s in enumerate(rows(data.steps)))


def _row(number: int, s: dict[str, Any], heard: tuple[Lines, dict[tuple[str, int], list[int]]], poll: Poll | None) -> StepRow:
    lines, reports = heard
    sign = sign_of(s)
    end = _completed(s)
    due, begun, apart = _subtracting(s)
    return StepRow(
        number, s["step"], s["pass"], sign, SIGN_WORDS[sign], s["action"], s["by"] or "", s["phase"] or "", s["planned_t_s"],
        wording.count_time(s["planned_t_s"]), wording.wall_time(s["planned_utc"]), due, begun, s["deviation_s"], wording.deviation(s["deviation_s"]), _tolerance(s),
        s["response_s"], _response(s), s["confidence"], _flags(s, poll), _sure(s), (*_notes(s, poll), *[_APART] * apart),
        "" if end is None else wording.clock_time(end), None if end is None else _reported(end, reports.get((s["step"], s["pass"]), []), lines),
        lines.quote(s["event"]), lines.quote(s["response_event"]), s["event"], apart,
    )


def _reports(data: ReviewData) -> dict[tuple[str, int], list[int]]:
    """The events matched to each step and pass, the likeliest first."""
    found: dict[tuple[str, int], list[int]] = {}
    for m in sorted(rows(data.matches[["step", "pass", "event", "rank"]]), key=lambda m: (m["rank"], m["event"])):
        found.setdefault((m["step"], m["pass"]), []).append(m["event"])
    return found


def _completed(s: dict[str, Any]) -> Any:
    """When it was completed, where that is worth telling apart from when it was begun."""
    end, begun = s["completed_utc"], s["actual_utc"]
    apart = end is not None and begun is not None and (end - begun).total_seconds() >= _TOLD_APART_S
    return end if apart else None


def _subtracting(s: dict[str, Any]) -> tuple[str, str, bool]:
    """Due and begun to the tenth, and whether more than the deviation lies between them.

    Due, the reckoned one, is rounded so that the deviation shown is their difference.
    """
    apart = False
    due, begun, off = s["due_utc"], s["actual_utc"], s["deviation_s"]
    if due is not None and begun is not None and off is not None:
        shown = _tenth(begun) - pd.Timedelta(round(off * 10) * 100, "ms")
        gap = abs((shown - due).total_seconds())
        due, apart = (shown if gap <= _ROUNDING_S else due), gap > _APART_S
    return wording.tenth_time(due), wording.tenth_time(begun), apart


def _tenth(utc: Any) -> Any:
    return (utc + pd.Timedelta(50, "ms")).floor("100ms")


def _reported(end: Any, events: list[int], lines: Lines) -> Quote | None:
    """The matched line that was spoken at that instant: the report of completion."""
    at = (lines.position(e) for e in events)
    row = next((lines.rows[i] for i in at if i is not None and lines.rows[i]["utc"] == end), None)
    return None if row is None else quote_of(row)


def _sure(s: dict[str, Any]) -> str:
    """A step that never fell due was not looked for: there is nothing to be sure of."""
    if s["status"] == "not_reached" and not s["decided"]:
        return wording.DASH
    return "over 99 %" if s["confidence"] >= 0.995 else f"{s['confidence'] * 100:.0f} %"


def _tolerance(s: dict[str, Any]) -> str:
    if s["early_s"] is None and s["late_s"] is None:
        return ""
    return f"-{s['early_s'] or 0:g} to +{s['late_s'] or 0:g} s"


def _response(s: dict[str, Any]) -> str:
    if s["response"] is None:
        return "none due"
    taken = f" in {s['response_s']:.1f} s" if s["response_s"] is not None else ""
    return _RESPONSES[s["response"]] + taken


def _flags(s: dict[str, Any], poll: Poll | None) -> tuple[str, ...]:
    flags = {
        "displaced": s["out_of_order"] or bool(s["violates"]), "unanswered": s["response"] == "none", "asked": only_asked(s),
        "unclean": poll is not None, "look": s["review"], "decided": s["decided"],
    }
    return tuple(name for name, on in flags.items() if on)


def _notes(s: dict[str, Any], poll: Poll | None) -> tuple[str, ...]:
    """What the signs cannot say."""
    notes = [f"before {wording.listed(list(s['violates']))}, which must come first"] if s["violates"] else []
    notes += ["out of its place in the order"] if s["out_of_order"] else []
    notes += [f"seen {s['times_seen']} times"] if s["times_seen"] > 1 else []
    notes += ["settled by hand"] if s["decided"] else []
    notes += [poll.trouble] if poll is not None else []
    notes += [f"{wording.capital('accepted' if s['response_event'] is not None else 'called')}; no report of completion heard"] if only_asked(s) else []
    return tuple(notes)
