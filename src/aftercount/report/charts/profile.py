"""The count profile: where did the count stand at each moment, and what stopped it?

Across: wall time, UTC. Up: count time, rising to T-0. A hold is a level stretch, a recycle a drop. Dots are the count
marks the clock was rebuilt from; crosses are those it could not believe. The broad grey line is the schedule.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

from aftercount.report import wording
from aftercount.report.axis import short_count
from aftercount.report.charts.figure import SMALL, blank, legend, plain_axes, title_of, write
from aftercount.report.data import ReviewData
from aftercount.report.look import LIGHT
from aftercount.report.profile import ProfileView, count_ticks, label_place, profile_view, wall_ticks

_LETTER = 0.0058  # of the chart's width: a letter of a label, so that labels do not cover each other
_LINE = 0.035  # of the chart's height: a line of a label
_LABEL_LINES = 3  # lines of labels over the chart; a hold that finds no room is still shaded, and in the page's table


def profile_figure(data: ReviewData) -> Figure:
    view = profile_view(data)
    figure = blank(f"{title_of(data)}: the count as it ran", _subtitle(data))
    axes = plain_axes(figure, (0.085, 0.17, 0.89, 0.64))
    _frame(axes, view)
    _schedule(axes, view)
    _shade(axes, view)
    _path(axes, view)
    _evidence(axes, view)
    _label_holds(axes, view)
    legend(figure, axes.get_legend_handles_labels()[0])
    return figure


def _subtitle(data: ReviewData) -> str:
    summary = data.summary
    parts = [wording.OUTCOMES.get(str(summary.get("outcome")), str(summary.get("outcome")))]
    if summary.get("delay_s"):
        parts.append(f"T-0 {wording.spoken_deviation(summary['delay_s'])}")
    parts.append(wording.counted(len(data.holds), "hold"))
    if summary.get("recycles"):
        parts.append(wording.counted(int(summary["recycles"]), "recycle"))
    return ", ".join(parts)


def _frame(axes: Axes, view: ProfileView) -> None:
    room = max((view.end - view.start) * 0.015, 1.0)
    rise = max((view.high_s - view.low_s) * 0.04, 1.0)
    axes.set_xlim(view.start - room, view.end + room)
    axes.set_ylim(view.low_s - rise, view.high_s + rise * 2.5)
    walls = wall_ticks(view.start, view.end)
    seconds = len(walls) > 1 and walls[1] - walls[0] < 60
    axes.set_xticks(walls, [f"{dt.datetime.fromtimestamp(w, dt.UTC):{'%H:%M:%S' if seconds else '%H:%M'}}" for w in walls])
    counts = count_ticks(view.low_s, view.high_s)
    axes.set_yticks(counts, [short_count(t) for t in counts])
    axes.grid(color=LIGHT.line, lw=0.5, alpha=0.6)
    axes.set_axisbelow(True)
    day = dt.datetime.fromtimestamp(view.start, dt.UTC)
    write(axes, 0.5, -0.075, f"wall time, UTC ({day:%Y-%m-%d})", ha="center", va="top", color=LIGHT.soft, size=SMALL, transform=axes.transAxes)


def _schedule(axes: Axes, view: ProfileView) -> None:
    if view.planned:
        axes.plot(*zip(*view.planned, strict=True), color=LIGHT.early, lw=8, alpha=0.3, solid_joinstyle="round", solid_capstyle="butt", label="as scheduled", zorder=1)


def _shade(axes: Axes, view: ProfileView) -> None:
    seen: set[bool] = set()
    for hold in view.holds:
        style: dict[str, Any] = {"hatch": "////", "edgecolor": LIGHT.hold_edge, "hatch_linewidth": 0.6} if hold.unplanned else {}
        label = None if hold.unplanned in seen else ("unplanned hold" if hold.unplanned else "built-in hold")
        seen.add(hold.unplanned)
        axes.axvspan(hold.start, hold.end, facecolor=LIGHT.hold, alpha=0.75, lw=0, zorder=0.5, label=label, **style)


def _path(axes: Axes, view: ProfileView) -> None:
    for leg in view.legs:
        label = "the count" if leg is view.legs[0] else None
        axes.plot(*zip(*leg.points, strict=True), color=LIGHT.count, lw=1.5, solid_joinstyle="round", zorder=3, label=label)
    for turn in view.recycles:
        axes.annotate("", (turn.at, turn.to_t_s), (turn.at, turn.from_t_s), zorder=3,
                      arrowprops={"arrowstyle": "-|>", "color": LIGHT.count, "lw": 1.8, "ls": "--", "shrinkA": 0, "shrinkB": 0})
        words = f"recycled to {wording.count_time(turn.to_t_s)}"
        beside = label_place(view, turn, len(words) * _LETTER, _LINE)
        down = turn.to_t_s - (view.high_s - view.low_s) * beside.lines * _LINE
        text = write(axes, turn.at, down, f" {words} ", size=SMALL, color=LIGHT.ink, va="top", ha="right" if beside.left else "left", zorder=5)
        text.set_path_effects([withStroke(linewidth=3, foreground=LIGHT.panel)])


def _evidence(axes: Axes, view: ProfileView) -> None:
    for kept, marker, colour, label in ((True, "o", LIGHT.on_time, f"count mark used ({view.used})"), (False, "+", LIGHT.hold_edge, f"count mark not believed ({view.rejected})")):
        some = [r for r in view.readings if r.kept is kept and view.low_s * 1.05 - 60 <= r.t_s <= view.high_s + 60]
        if some:
            axes.plot([r.at for r in some], [r.t_s for r in some], ls="", marker=marker, ms=5 if kept else 8, color=colour,
                      markeredgewidth=0 if kept else 2, zorder=3.5 if kept else 4, label=label)


def _label_holds(axes: Axes, view: ProfileView) -> None:
    """Each hold's label over the chart, on a higher line where the one before it would be covered."""
    width = view.end - view.start or 1.0
    ends = [float("-inf")] * _LABEL_LINES
    for hold in sorted(view.holds, key=lambda h: h.start):
        text = f"{hold.short} at {wording.count_time(hold.t_s)}" + (", inferred" if hold.inferred else "")
        half = len(text) * _LETTER * width / 2
        middle = min(max((hold.start + hold.end) / 2, view.start + half), view.end - half)
        line = next((i for i, end in enumerate(ends) if middle - half > end), None)
        if line is not None:
            ends[line] = middle + half + 2 * _LETTER * width
            write(axes, middle, 1.012 + 0.036 * line, text, size=SMALL - 0.5, color=LIGHT.hold_edge, ha="center", va="bottom",
                  transform=axes.get_xaxis_transform())
