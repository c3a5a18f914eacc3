"""The holds as the page shows them: how long, what they cost, and what was said when they were called and lifted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page.lines import Lines, Quote
from aftercount.report.page.said import CALLED, LIFTED, said_around, said_of
from aftercount.report.page.steps import StepRow
from aftercount.report.told import told_holds

CALLS = frozenset({"hold", "cutoff", "scrub"})
LIFTS = frozenset({"resume", "recycle", "liftoff"})
RECYCLED_S = 60.0  # a recycle is ordered in the hold, or within this of it
MOST_RECYCLES = 4
IN_WORK_S = 120.0  # a step that is neither in work during the hold nor due or begun this shortly before it did not stop the count


@dataclass(frozen=True)
class HoldRow:
    """said, lifted: what was said as it was called and as the count went on. recycled: who ordered the recycle, and the record of it.

    concerns: the step that was in work, or due, when it was called, and that its cause is about.
    """

    row: dict[str, Any]
    kind: str
    at: str
    cause: str
    facts: tuple[tuple[str, str], ...]
    said: tuple[Quote, ...]
    lifted: tuple[Quote, ...]
    recycled: tuple[Quote, ...]
    concerns: StepRow | None


def hold_cards(data: ReviewData, lines: Lines, steps: tuple[StepRow, ...]) -> list[HoldRow]:
    return [_card(h, data, lines, steps) for h in told_holds(data)]


def _card(hold: dict[str, Any], data: ReviewData, lines: Lines, steps: tuple[StepRow, ...]) -> HoldRow:
    matter = str(hold["reason"] or "")
    lifted = said_around(lines, hold["end_utc"], LIFTED, LIFTS, hold["resume_event"], matter) if hold["end_utc"] is not None else ()
    recycled = _recycled(hold, lines)
    return HoldRow(
        hold, wording.HOLD_KINDS[hold["kind"]], wording.count_time(hold["t_s"]), _cause(hold), _facts(hold, recycled),
        said_around(lines, hold["start_utc"], CALLED, CALLS, hold["event"], matter), lifted, recycled, _concerns(hold, steps, data),
    )


def _recycled(hold: dict[str, Any], lines: Lines) -> tuple[Quote, ...]:
    if hold["recycled_to_t_s"] is None or hold["end_utc"] is None:
        return ()
    about = pd.Timedelta(RECYCLED_S, "s")
    return said_of(lines, (hold["start_utc"] - about, hold["end_utc"] + about), frozenset({"recycle"}))[:MOST_RECYCLES]


def _cause(hold: dict[str, Any]) -> str:
    if hold["reason"]:
        return str(hold["reason"])
    return "not found in the logs" if hold["kind"] == "unplanned" else ""


def _facts(hold: dict[str, Any], recycled: tuple[Quote, ...]) -> tuple[tuple[str, str], ...]:
    open_ = hold["end_utc"] is None
    unplanned = hold["kind"] == "unplanned"
    found = [
        ("began", wording.clock_time(hold["start_utc"])),
        ("ended", "never resumed" if open_ else wording.clock_time(hold["end_utc"])),
        ("lasted", wording.duration(hold["duration_s"])),
        ("planned", "no" if unplanned else wording.duration(hold["planned_s"])),
        ("over plan", wording.signed(hold["excess_s"])),
        ("recycled to", None if hold["recycled_to_t_s"] is None else wording.count_time(hold["recycled_to_t_s"])),
        ("recycle ordered", _ordered(recycled)), ("moved T-0 by", wording.signed(hold["slip_s"])), *_called(hold), ("resumed by", hold["resumed_by"]), ("inferred, lies within", _bracket(hold)),
    ]
    return tuple((name, value) for name, value in found if value and not (open_ and value == wording.DASH))


def _bracket(hold: dict[str, Any]) -> str:
    low, high = hold["t_low_s"], hold["t_high_s"]
    if hold["basis"] != "inferred" or low is None or high is None:
        return ""
    return f"{wording.count_time(low)} to {wording.count_time(high)}"


def _called(hold: dict[str, Any]) -> list[tuple[str, str | None]]:
    """Who called it; where the words name another than who announced it, both."""
    if hold["named"] and hold["called_by"]:
        return [("announced by", hold["called_by"]), ("words name as caller", hold["named"])]
    return [("called by", hold["called_by"])]


def _ordered(recycled: tuple[Quote, ...]) -> str:
    """'14:31:05Z by TC', of the first person's words, else of the machine's record."""
    first = next((q for q in recycled if not q.machine), next(iter(recycled), None))
    return "" if first is None else f"{first.time}{f' by {first.speaker}' if first.speaker else ''}"


def _concerns(hold: dict[str, Any], steps: tuple[StepRow, ...], data: ReviewData) -> StepRow | None:
    """The row of the step in the hold's pass, else in the next one, if it was in work then: after a recycle it is due again."""
    found = [s for s in steps if s.step == hold["waiting_for"] and s.pass_ >= hold["pass"]]
    step = min(found, key=lambda s: s.pass_, default=None)
    return step if step is not None and _in_work(step, hold, data) else None


def _in_work(step: StepRow, hold: dict[str, Any], data: ReviewData) -> bool:
    own = rows(data.steps.iloc[[step.row]])[0]
    if own["pass"] != hold["pass"] or abs(own["planned_t_s"] - hold["t_s"]) <= IN_WORK_S:
        return True
    last = max((t for t in (own["completed_utc"], own["actual_utc"]) if t is not None), default=None)
    return last is None or last >= hold["start_utc"] - pd.Timedelta(IN_WORK_S, "s")
