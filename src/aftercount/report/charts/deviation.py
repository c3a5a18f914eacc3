"""The time-deviation chart: did each step begin when it was due, and how far off was it?

Across: planned count time, pass by pass, with a slot for every hold. Up: actual minus due in seconds, late above. A step's own
tolerance is a pale bar behind its sign. Steps without a deviation lie on the rail under the chart.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.transforms import ScaledTranslation, Transform

from aftercount.report.charts.figure import SMALL, blank, extent, legend, plain_axes, title_of, write
from aftercount.report.data import ReviewData
from aftercount.report.look import LIGHT, MARKERS, SIGN_WORDS, STROKED
from aftercount.report.marks import DeviationView, StepMark, deviation_view

_MOST_NAMED = 14  # steps named on the chart; more names than this hide each other
_NEAR_EDGE = 0.94  # of the width; a hold's name beyond this ends at its slot, not at the chart's edge
_NAME_GAP = 4.0  # dots that a name needs free about it
_RAIL = {"missed": 0.84, "untimed": 0.58, "not_reached": 0.32, "skipped": 0.06}
_SIZES = {"on_time": 8, "untimed": 6, "skipped": 6}  # points; what is a fault is drawn larger
_WORST = {"missed": 3.0, "late": 1.0, "early": 1.0}


def deviation_figure(data: ReviewData) -> Figure:
    view = deviation_view(data)
    figure = blank(f"{title_of(data)}: when each step began, against when it was due", _subtitle(view))
    axes = plain_axes(figure, (0.085, 0.28, 0.88, 0.56))
    rail = plain_axes(figure, (0.085, 0.155, 0.88, 0.1))
    _ground(axes, view)
    _holds(axes, rail, view)
    _passes(axes, rail, view)
    _signs(axes, rail, view.steps)
    _names(axes, rail, view)
    _rail(rail, view)
    _legend(figure, view)
    return figure


def _subtitle(view: DeviationView) -> str:
    n = {sign: sum(m.sign == sign for m in view.steps) for sign in SIGN_WORDS}
    parts = [f"{n[sign]} {words}" for sign, words in SIGN_WORDS.items() if n[sign]]
    parts += [f"{moved} out of order"] if (moved := sum(m.displaced for m in view.steps)) else []
    parts += [f"{silent} unanswered"] if (silent := sum(m.unanswered for m in view.steps)) else []
    return ", ".join(parts) or "no steps were due"


def _ground(axes: Axes, view: DeviationView) -> None:
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)
    low, high = view.deviation.at(-view.early_s), view.deviation.at(view.late_s)
    axes.axhspan(low, high, color=LIGHT.band, zorder=0, lw=0)
    axes.axhline(view.deviation.at(0), color=LIGHT.soft, lw=1, zorder=1)
    ticks = view.deviation.ticks()
    axes.set_yticks([p for p, _ in ticks], [label for _, label in ticks])
    axes.set_xticks([])
    scale = "deviation on the count clock" if math.isinf(view.deviation.linear_s) else "deviation (logarithmic outside the band)"
    write(axes, -0.068, 0.5, scale, rotation=90, va="center", ha="center", color=LIGHT.soft, size=SMALL, transform=axes.transAxes)
    for y, word, va in ((0.985, "late ▶", "top"), (0.015, "◀ early", "bottom")):
        write(axes, 1.006, y, word, ha="left", color=LIGHT.soft, va=va, size=SMALL, rotation=90)
    timed = [m for m in view.steps if m.y is not None]
    axes.vlines([m.x for m in timed], [m.low for m in timed], [m.high for m in timed], colors=LIGHT.line, lw=4, alpha=0.5, capstyle="butt", zorder=1.5)


def _holds(axes: Axes, rail: Axes, view: DeviationView) -> None:
    for area in view.holds:
        hatch = "////" if area.unplanned else None
        for where in (axes, rail):
            where.add_patch(Rectangle(
                (area.x0, 0), area.x1 - area.x0, 1, facecolor=LIGHT.hold, edgecolor=LIGHT.hold_edge if hatch else LIGHT.hold,
                hatch=hatch, hatch_linewidth=0.6, lw=0, zorder=0.5, alpha=0.75,
            ))
        middle = (area.x0 + area.x1) / 2
        ha, place = ("right", area.x1) if middle > _NEAR_EDGE else ("center", middle)
        write(axes, place, 1.015, area.name.replace(", ", "\n"), ha=ha, va="bottom", size=SMALL - 1, color=LIGHT.hold_edge)


def _passes(axes: Axes, rail: Axes, view: DeviationView) -> None:
    """The gap between two passes, and the name of each."""
    for x0, x1 in view.across.gaps:
        for where in (axes, rail):
            where.add_patch(Rectangle((x0, -0.2), x1 - x0, 1.3, facecolor=LIGHT.ground, lw=0, zorder=1.6, clip_on=True))
    for panel in view.across.panels[: None if view.across.gaps else 0]:
        write(axes, panel.x0 + 0.006, 0.985, f"pass {panel.pass_}", va="top", size=SMALL, color=LIGHT.soft, zorder=1.7)


def _signs(axes: Axes, rail: Axes, steps: Sequence[StepMark]) -> None:
    """Every step's sign: those that look the same are drawn at once, as a chart of a thousand steps is slow to draw one by one."""
    alike: dict[tuple[bool, str, bool], list[tuple[float, float]]] = defaultdict(list)
    rings: dict[tuple[bool, str], list[tuple[float, float]]] = defaultdict(list)
    for mark in steps:
        at = mark.x, mark.y if mark.y is not None else _RAIL.get(mark.sign, _RAIL["untimed"])
        timed = mark.y is not None
        alike[timed, mark.sign, mark.unanswered or mark.sign == "skipped"].append(at)
        for ring in ["displaced"] * mark.displaced + ["look"] * mark.look:
            rings[timed, ring].append(at)
    for (timed, sign, open_), places in alike.items():
        colour = LIGHT.sign(sign)
        (axes if timed else rail).plot(
            *zip(*places, strict=True), marker=MARKERS[sign], markersize=_SIZES.get(sign, 10), color=colour, ls="",
            markerfacecolor=LIGHT.panel if open_ else colour, markeredgecolor=colour, zorder=3 if sign == "on_time" else 4,
            markeredgewidth=2 if open_ or sign in STROKED else 0.8, alpha=1.0 if open_ or sign != "on_time" else 0.75, clip_on=False,
        )
    for (timed, ring), places in rings.items():
        x, y = zip(*places, strict=True)
        where = axes if timed else rail
        if ring == "displaced":
            where.plot(x, y, marker="s", markersize=17, color=LIGHT.ink, ls="", markerfacecolor="none", markeredgewidth=1.5, zorder=5, clip_on=False)
        else:
            where.scatter(x, y, marker="o", s=340, facecolors="none", edgecolors=LIGHT.ink, linestyles=":", linewidths=1.3, zorder=5, clip_on=False)


def _names(axes: Axes, rail: Axes, view: DeviationView) -> None:
    """The worst steps by name, each over or under its sign where it covers no other text, if there is room."""
    spread = max([abs(m.deviation_s) for m in view.steps if m.deviation_s is not None] or [1.0]) or 1.0
    notable = [m for m in view.steps if m.sign in _WORST or m.displaced]
    notable.sort(key=lambda m: -(_WORST.get(m.sign, 0.5) + abs(m.deviation_s or 0.0) / spread))
    placed = [extent(text) for text in (*axes.texts, *rail.texts)]
    for mark in notable[:_MOST_NAMED]:
        where, y = (axes, mark.y) if mark.y is not None else (rail, _RAIL.get(mark.sign, _RAIL["untimed"]))
        text = write(where, mark.x, y, mark.step, ha="center", size=SMALL, color=LIGHT.ink, zorder=6)
        over = mark.sign != "early" and where is axes
        for up in (over, not over):
            text.set_va("bottom" if up else "top")
            text.set_transform(where.transData + _shift(where, (13 if mark.displaced or mark.look else 9) * (1 if up else -1)))
            box = extent(text).padded(_NAME_GAP)
            if not any(box.overlaps(other) for other in placed):
                placed.append(box)
                break
        else:
            text.remove()


def _shift(axes: Axes, points: float) -> Transform:
    figure = axes.get_figure(root=True)
    assert figure is not None
    return ScaledTranslation(0, points / 72, figure.dpi_scale_trans)


def _rail(rail: Axes, view: DeviationView) -> None:
    rail.set_xlim(0, 1)
    rail.set_ylim(-0.12, 1)
    signs = [s for s in _RAIL if any(m.sign == s for m in view.steps)]
    rail.set_yticks([_RAIL[s] for s in signs], [_SHORT[s] for s in signs])
    for label in rail.get_yticklabels():
        label.set_fontsize(SMALL - 1)
    ticks = view.across.ticks()
    rail.set_xticks([p for p, _ in ticks], [label for _, label in ticks])
    name = "planned count time" + (" (stretched towards T-0; a hold has its own width)" if view.across.stretched else "")
    write(rail, 0.5, -0.36, name, ha="center", va="top", color=LIGHT.soft, size=SMALL, transform=rail.transAxes)


_SHORT = {"missed": "missed", "not_reached": "not reached", "skipped": "not seen", "untimed": "not measured"}


def _legend(figure: Figure, view: DeviationView) -> None:
    signs = {m.sign for m in view.steps}
    handles: list[Any] = [_sign_handle(sign) for sign in SIGN_WORDS if sign in signs]
    handles += [_ring("s", 11, "out of order")] * any(m.displaced for m in view.steps)
    handles += [_ring("o", 9, "unanswered")] * any(m.unanswered for m in view.steps)
    handles += [_ring(r"$\odot$", 12, "to be looked at")] * any(m.look for m in view.steps)
    handles.append(Patch(facecolor=LIGHT.band, label=f"usual tolerance (−{view.early_s:g} s to +{view.late_s:g} s)"))
    handles += [Patch(facecolor=LIGHT.hold, label="built-in hold")] * any(not a.unplanned for a in view.holds)
    if any(a.unplanned for a in view.holds):
        handles.append(Patch(facecolor=LIGHT.hold, edgecolor=LIGHT.hold_edge, hatch="////", lw=0, label="unplanned hold"))
    legend(figure, handles)


def _sign_handle(sign: str) -> Line2D:
    colour = LIGHT.sign(sign)
    return Line2D([], [], marker=MARKERS[sign], color=colour, markerfacecolor="none" if sign == "skipped" else colour, ls="",
                  markersize=9, markeredgewidth=1.8 if sign in STROKED else 1, label=SIGN_WORDS[sign])


def _ring(marker: str, size: float, words: str) -> Line2D:
    return Line2D([], [], marker=marker, color=LIGHT.ink, markerfacecolor="none", ls="", markersize=size, label=words)
