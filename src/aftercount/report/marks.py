"""What stands on the two charts: one mark a step and pass, one area a hold, the path of the count.

Conventions: places are 0..1 by `axis`; count times and deviations are kept beside them for labels. Taken from the
tables alone. It draws nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from aftercount.report import wording
from aftercount.report.axis import SAME_T_S, DeviationAxis, Panel, PassAxis, deviation_axis, pass_axis
from aftercount.report.data import ReviewData, rows
from aftercount.report.look import SIGN_WORDS
from aftercount.report.told import told_holds

_LETTER = 0.0072  # of a chart's width: a letter of a hold's name


@dataclass(frozen=True)
class StepMark:
    """One step in one pass. y is None when there is no deviation to draw (the rail under the chart)."""

    step: str
    pass_: int
    sign: str
    displaced: bool
    unanswered: bool
    unclean: bool
    look: bool
    x: float
    y: float | None
    low: float
    high: float
    t_s: float
    into: float | None
    deviation_s: float | None
    label: str


@dataclass(frozen=True)
class HoldArea:
    """The holds that stand at one count time of a pass: a slot on the axis."""

    t_s: float
    x0: float
    x1: float
    unplanned: bool
    label: str
    name: str


@dataclass(frozen=True)
class DeviationView:
    """Everything the time-deviation chart shows."""

    across: PassAxis
    deviation: DeviationAxis
    steps: tuple[StepMark, ...]
    holds: tuple[HoldArea, ...]
    early_s: float
    late_s: float


def sign_of(step: dict[str, Any]) -> str:
    """The sign of a step: its timing when it was done, else its status."""
    return str(step["timing"] or "untimed") if step["status"] == "done" else str(step["status"])


def deviation_view(data: ReviewData) -> DeviationView:
    steps, holds = rows(data.steps), told_holds(data)
    early, late = _usual(steps, "early_s"), _usual(steps, "late_s")
    across = pass_axis(_by_pass(steps, "planned_t_s"), _by_pass(holds, "t_s"))
    seen = [s["deviation_s"] for s in steps if s["deviation_s"] is not None]
    upright = deviation_axis(seen, [v for s in steps for v in (s["early_s"], s["late_s"]) if v is not None])
    unclean = unclean_polls(data)
    marks = tuple(_mark(s, holds, (across, upright), (s["step"], s["pass"]) in unclean) for s in steps)
    return DeviationView(across, upright, marks, _areas(holds, across), early, late)


def _by_pass(found: list[dict[str, Any]], column: str) -> dict[int, list[float]]:
    of_pass: dict[int, list[float]] = {}
    for row in found:
        of_pass.setdefault(row["pass"], []).append(row[column])
    return of_pass


def _usual(steps: list[dict[str, Any]], column: str) -> float:
    """The tolerance most steps have; of equals the smallest."""
    values = [s[column] for s in steps if s[column] is not None]
    return max(sorted(set(values)), key=values.count) if values else 10.0


def unclean_polls(data: ReviewData) -> frozenset[tuple[str, int]]:
    """The poll steps in which a station's last answer was no plain go."""
    last = data.polls.sort_values(["poll", "order"]).groupby(["poll", "station"]).tail(1)
    bad = last[last["answer"] != "go"]
    return frozenset((s["step"], s["pass"]) for s in rows(bad[["step", "pass"]]) if s["step"] is not None)


def _mark(step: dict[str, Any], holds: list[dict[str, Any]], axes: tuple[PassAxis, DeviationAxis], unclean: bool) -> StepMark:
    across, upright = axes
    into = _into_hold(step, holds)
    off = step["deviation_s"]
    return StepMark(
        step=step["step"], pass_=step["pass"], sign=sign_of(step), displaced=step["out_of_order"],
        unanswered=step["response"] == "none", unclean=unclean, look=step["review"],
        x=across.at(step["pass"], step["planned_t_s"], into), y=None if off is None else upright.at(off),
        low=upright.at(-(step["early_s"] or 0.0)), high=upright.at(step["late_s"] or 0.0),
        t_s=step["planned_t_s"], into=into, deviation_s=off, label=_step_label(step) + (", poll not clean" if unclean else ""),
    )


def _into_hold(step: dict[str, Any], holds: list[dict[str, Any]]) -> float | None:
    """How far through a hold a step was due, 0..1; None when it was not due inside one."""
    due = step["due_utc"]
    for hold in holds:
        inside = hold["pass"] == step["pass"] and abs(hold["t_s"] - step["planned_t_s"]) <= SAME_T_S
        if inside and due is not None and hold["duration_s"] and hold["start_utc"] < due:
            return float(min((due - hold["start_utc"]).total_seconds() / hold["duration_s"], 1.0))
    return None


def _step_label(step: dict[str, Any]) -> str:
    parts = [f"{step['step']} {step['action']}", f"planned {wording.count_time(step['planned_t_s'])}"]
    sign = sign_of(step)
    if step["deviation_s"] is not None:
        parts.append(f"{SIGN_WORDS[sign]} ({wording.deviation(step['deviation_s'])})")
    else:
        parts.append(SIGN_WORDS[sign])
    parts += ["out of order"] * step["out_of_order"] + ["no answer"] * (step["response"] == "none")
    parts += ["to be looked at"] * step["review"] + [f"pass {step['pass']}"] * (step["pass"] > 1)
    return ", ".join(parts)


def _areas(holds: list[dict[str, Any]], across: PassAxis) -> tuple[HoldArea, ...]:
    areas = [a for panel in across.panels for a in _panel_areas([h for h in holds if h["pass"] == panel.pass_], panel)]
    return tuple(_short_where_close(a, areas) for a in areas)


def _panel_areas(holds: list[dict[str, Any]], panel: Panel) -> list[HoldArea]:
    areas = []
    for t_s in panel.axis.slots:
        here = [h for h in holds if abs(h["t_s"] - t_s) <= SAME_T_S]
        words = "; ".join(hold_label(h) for h in here)
        x0 = panel.at(t_s)
        width = panel.axis.slot * (panel.x1 - panel.x0)
        areas.append(HoldArea(t_s, x0, x0 + width, any(h["kind"] == "unplanned" for h in here), words, ", ".join(hold_short(h) for h in here)))
    return areas


def _short_where_close(area: HoldArea, areas: list[HoldArea]) -> HoldArea:
    """The name in full, without 'hold', or only the numbers: the longest that does not run into a neighbour's."""
    room = min((abs(a.x0 - area.x0) for a in areas if a is not area), default=1.0)
    without = area.name.replace("hold ", "")
    numbers = ", ".join(part.split(":")[0] for part in without.split(", "))
    return replace(area, name=next((n for n in (area.name, without) if room > len(n) * _LETTER), numbers))


def hold_label(hold: dict[str, Any]) -> str:
    length = hold["duration_s"]
    size = "never resumed" if hold["end_utc"] is None else "of unknown length" if length is None else wording.duration(length)
    back = hold["recycled_to_t_s"]
    after = f", recycled to {wording.count_time(back)}" if back is not None else ""
    return f"{wording.HOLD_KINDS[hold['kind']]} at {wording.count_time(hold['t_s'])}, {size}{after}"


def hold_short(hold: dict[str, Any]) -> str:
    if hold["duration_s"] is None:
        return f"hold {hold['number']}"
    minutes = hold["duration_s"] / 60
    return f"hold {hold['number']}: {minutes:.0f} min" if minutes >= 1.95 else f"hold {hold['number']}: {hold['duration_s']:.0f} s"
