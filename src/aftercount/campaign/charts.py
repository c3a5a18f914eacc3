"""The pictures of a season: steps by rehearsals, control charts of the steps that need a look, and the counts in a row.

Drawn from the tables of a trend folder alone, with the signs and colours of the review's charts (`report.look`). The same
tables give the same bytes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import LinearSegmentedColormap, Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from aftercount.report.charts.figure import FONT, SMALL, blank, plain_axes, png_bytes, write
from aftercount.report.look import LIGHT, MARKERS

Tables = dict[str, pd.DataFrame]
# Rows that can still be read on a slide; a longer plan shows its most telling steps.
MOST_STEPS, MOST_PANELS, MOST_NAMES = 60, 12, 20
# Deviations are coloured up to this percentile of their sizes, so that one wild value does not bleach the rest.
_COLOUR_AT = 95
_COLOURS = LinearSegmentedColormap.from_list("deviation", [LIGHT.early, LIGHT.panel, LIGHT.late])


def charts(tables: Tables) -> dict[str, bytes]:
    """PNG bytes by file name."""
    return {"season.png": png_bytes(season_figure(tables)), "control.png": png_bytes(control_figure(tables)),
            "counts.png": png_bytes(counts_figure(tables))}


def telling(tables: Tables, most: int) -> list[str]:
    """The steps that say most: those with signals first, then the widest deviations; in plan order."""
    trend, signals = tables["trend"], tables["signals"]
    raised = signals["step"].value_counts()
    order = pd.DataFrame({"step": trend["step"], "raised": trend["step"].map(raised).fillna(0), "missed": trend["missed"],
                          "size": trend["median_deviation_s"].abs().fillna(0)})
    chosen = set(order.sort_values(["raised", "missed", "size"], ascending=False, kind="stable")["step"].head(most))
    return [step for step in trend["step"] if step in chosen]


def season_figure(tables: Tables) -> Figure:
    """Every step by rehearsal: deviation as colour, missed and not reached as signs."""
    counts, steps = tables["counts"]["count"].tolist(), telling(tables, MOST_STEPS)
    figure = blank("The season, step by step", f"{len(steps)} of {len(tables['trend'])} steps, {len(counts)} rehearsals; "
                   "colour: deviation on the count clock")
    axes = plain_axes(figure, (0.16, 0.15, 0.7, 0.72))
    rows = {step: i for i, step in enumerate(steps)}
    history = tables["history"][tables["history"]["step"].isin(rows)]
    grid = np.full((len(steps), len(counts)), np.nan)
    y, x = history["step"].map(rows).to_numpy(dtype=int), history["rehearsal"].to_numpy(dtype=int) - 1
    grid[y, x] = history["deviation_s"].to_numpy(dtype=float)
    sizes = np.abs(grid[~np.isnan(grid)])
    scale = max(1.0, float(np.percentile(sizes, _COLOUR_AT))) if len(sizes) else 1.0
    picture = axes.imshow(grid, extent=(0, len(counts), len(steps), 0), aspect="auto", interpolation="nearest", cmap=_COLOURS,
                          norm=Normalize(-scale, scale))
    for status in ("missed", "not_reached", "skipped"):
        at = (history["status"] == status).to_numpy()
        axes.scatter(x[at] + 0.5, y[at] + 0.5, marker=MARKERS[status], s=22, color=LIGHT.sign(status), linewidths=1.4, zorder=3)
    _name_axis(axes, "y", steps)
    _name_axis(axes, "x", counts)
    bar = figure.colorbar(picture, cax=plain_axes(figure, (0.89, 0.3, 0.015, 0.4)))
    bar.ax.set_title("s, late up", fontfamily=FONT, fontsize=SMALL, color=LIGHT.soft)
    write(figure, 0.03, 0.025, "x  missed     \N{EN DASH}  not reached     \N{WHITE SQUARE}  optional, not seen     blank: not in that plan, or not measured",
          size=SMALL, color=LIGHT.soft)
    return figure


def control_figure(tables: Tables) -> Figure:
    """The deviations of the most telling steps, rehearsal by rehearsal, each with its control limits."""
    steps = telling(tables, MOST_PANELS)
    figure = blank("Steps to look at", "deviation by rehearsal, seconds; line: the mean; band: control limits from the moving range")
    trend, signals = tables["trend"].set_index("step"), tables["signals"]
    columns = 4
    for i, step in enumerate(steps):
        left, bottom = 0.06 + 0.237 * (i % columns), 0.65 - 0.285 * (i // columns)
        axes = plain_axes(figure, (left, bottom, 0.195, 0.19))
        mine = tables["history"][tables["history"]["step"] == step]
        _panel(axes, mine, {str(k): v for k, v in trend.loc[step].items()}, set(signals[signals["step"] == step]["rehearsal"]))
    return figure


def _panel(axes: Axes, history: pd.DataFrame, row: dict[str, Any], raised: set[int]) -> None:
    x, y = history["rehearsal"].to_numpy(), history["deviation_s"].to_numpy(dtype=float)
    if not np.isnan(row["limit_low_s"]):
        axes.axhspan(row["limit_low_s"], row["limit_high_s"], color=LIGHT.band, zorder=0)
        axes.axhline((row["limit_low_s"] + row["limit_high_s"]) / 2, color=LIGHT.line, zorder=1)
    axes.xaxis.set_major_locator(MaxNLocator(nbins=6, integer=True))
    axes.plot(x, y, color=LIGHT.soft, linewidth=1, zorder=2)
    seen = np.array([number in raised for number in x], dtype=bool)
    axes.scatter(x[~seen], y[~seen], s=18, color=LIGHT.on_time, zorder=3)
    axes.scatter(x[seen], y[seen], s=46, marker="s", facecolors="none", edgecolors=LIGHT.late, linewidths=1.8, zorder=4)
    missed = (history["status"] == "missed").to_numpy()
    floor = axes.get_ylim()[0]
    axes.scatter(x[missed], np.full(int(missed.sum()), floor), marker="x", color=LIGHT.missed, zorder=4, clip_on=False)
    action = str(row["action"])
    write(axes, 0.0, 1.06, f"{history['step'].iloc[0]}  {action if len(action) < 34 else action[:33] + '…'}",
          size=SMALL, color=LIGHT.ink, transform=axes.transAxes)


def counts_figure(tables: Tables) -> Figure:
    """Missed, late and out of order steps, and unplanned hold time, count by count."""
    counts = tables["counts"]
    figure = blank("Rehearsal by rehearsal", "what differed from the plan in each count")
    shown = (("missed", "missed", LIGHT.missed), ("late", "late", LIGHT.late), ("early", "early", LIGHT.early),
             ("out_of_order", "out of order", LIGHT.count), ("unplanned_hold_s", "unplanned hold, min", LIGHT.hold_edge))
    for i, (column, words, colour) in enumerate(shown):
        axes = plain_axes(figure, (0.09, 0.74 - 0.157 * i, 0.87, 0.125))
        values = counts[column].to_numpy(dtype=float) / (60 if column.endswith("_s") else 1)
        _bars(axes, counts["rehearsal"].to_numpy(dtype=float), values, colour)
        write(axes, 0.0, 1.08, words, size=SMALL, color=LIGHT.ink, transform=axes.transAxes)
        axes.set_xticks([])
        axes.set_xlim(0.4, len(counts) + 0.6)
    _name_axis(axes, "x", counts["count"].tolist(), first=1.0)
    return figure


def _bars(axes: Axes, x: np.ndarray, heights: np.ndarray, colour: str) -> None:
    """Bars from zero, as one shape: a thousand separate ones take seconds."""
    left, right, zero = x - 0.3, x + 0.3, np.zeros(len(x))
    corners = np.stack([np.stack(pair, axis=1) for pair in ((left, zero), (left, heights), (right, heights), (right, zero))], axis=1)
    axes.add_collection(PolyCollection(list(corners[heights > 0]), facecolor=colour, edgecolor="none"))
    axes.set_ylim(0, max(1.0, 1.05 * float(heights.max(initial=0.0))))


def _name_axis(axes: Axes, which: str, names: list[str], first: float = 0.5) -> None:
    every = max(1, -(-len(names) // (MOST_NAMES if which == "x" else MOST_STEPS)))
    at = [first + i for i in range(0, len(names), every)]
    labels = [name if len(name) <= 18 else name[:17] + "…" for name in names[::every]]
    font: dict[str, Any] = {"fontfamily": FONT, "fontsize": SMALL if len(labels) <= 30 else 6, "parse_math": False}
    (axes.set_xticks if which == "x" else axes.set_yticks)(at)
    if which == "x":
        font |= {"rotation": 30, "ha": "right"}
    (axes.set_xticklabels if which == "x" else axes.set_yticklabels)(labels, **font)
