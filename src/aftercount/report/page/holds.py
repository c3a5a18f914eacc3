"""The holds as the page shows them: how long, what they cost, and what was said when they were called and lifted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.page.lines import Lines, Quote
from aftercount.report.page.said import CALLED, LIFTED, said_around
from aftercount.report.page.steps import StepRow

CALLS = frozenset({"hold", "cutoff", "scrub"})
LIFTS = frozenset({"resume", "recycle", "liftoff"})


@dataclass(frozen=True)
class HoldRow:
    """said, lifted: what people said as it was called and as the count went on, the machine's record last.

    concerns: the step its cause is about. waits: whether the hold waited for that step, which is so unless it was done before.
    """

    row: dict[str, Any]
    kind: str
    at: str
    cause: str
    facts: tuple[tuple[str, str], ...]
    said: tuple[Quote, ...]
    lifted: tuple[Quote, ...]
    concerns: StepRow | None
    waits: bool


def hold_cards(data: ReviewData, lines: Lines, steps: tuple[StepRow, ...]) -> list[HoldRow]:
    return [_card(h, data, lines, steps) for h in hold_rows(data.holds)]


def _card(hold: dict[str, Any], data: ReviewData, lines: Lines, steps: tuple[StepRow, ...]) -> HoldRow:
    concerns = _concerns(hold, steps)
    lifted = said_around(lines, hold["end_utc"], LIFTED, LIFTS, hold["resume_event"]) if hold["end_utc"] is not None else ()
    return HoldRow(
        hold, wording.HOLD_KINDS[hold["kind"]], wording.count_time(hold["t_s"]), _cause(hold), _facts(hold),
        said_around(lines, hold["start_utc"], CALLED, CALLS, hold["event"]), lifted, concerns,
        concerns is not None and not _done_before(concerns, hold, data),
    )


def _cause(hold: dict[str, Any]) -> str:
    if hold["reason"]:
        return str(hold["reason"])
    return "not found in the logs" if hold["kind"] == "unplanned" else ""


def _facts(hold: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    open_ = hold["end_utc"] is None
    unplanned = hold["kind"] == "unplanned"
    found = [
        ("began", wording.clock_time(hold["start_utc"])),
        ("ended", "never resumed" if open_ else wording.clock_time(hold["end_utc"])),
        ("lasted", wording.duration(hold["duration_s"])),
        ("planned", "no" if unplanned else wording.duration(hold["planned_s"])),
        ("over plan", wording.deviation(hold["excess_s"])),
        ("recycled to", None if hold["recycled_to_t_s"] is None else wording.count_time(hold["recycled_to_t_s"])),
        ("moved T-0 by", wording.deviation(hold["slip_s"])),
        ("called by", hold["called_by"]), ("resumed by", hold["resumed_by"]), ("inferred, lies within", _bracket(hold)),
    ]
    return tuple((name, value) for name, value in found if value and not (open_ and value == wording.DASH))


def _bracket(hold: dict[str, Any]) -> str:
    low, high = hold["t_low_s"], hold["t_high_s"]
    if hold["basis"] != "inferred" or low is None or high is None:
        return ""
    return f"{wording.count_time(low)} to {wording.count_time(high)}"


def _concerns(hold: dict[str, Any], steps: tuple[StepRow, ...]) -> StepRow | None:
    """The row of the step in the hold's pass, else in the next one: after a recycle it is due again."""
    found = [s for s in steps if s.step == hold["waiting_for"] and s.pass_ >= hold["pass"]]
    return min(found, key=lambda s: s.pass_, default=None)


def _done_before(step: StepRow, hold: dict[str, Any], data: ReviewData) -> bool:
    own = rows(data.steps.iloc[[step.row]])[0]
    at = own["completed_utc"] or own["actual_utc"]
    return own["pass"] == hold["pass"] and at is not None and at <= hold["start_utc"]
