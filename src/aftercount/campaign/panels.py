"""Where on the season's page does everything lie? Small charts in units of their own, for the template to write as SVG.

Conventions: x to the right, y downwards as SVG has it; `Strip` is one chart of a value against the rehearsals. It decides
which steps and counts are drawn where there are too many (the most telling, the last), and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from aftercount.campaign.charts import telling
from aftercount.campaign.control import cusum_limit, ewma
from aftercount.campaign.grid import shown_counts, signed
from aftercount.campaign.scores import ALLOWANCE, LEAST_BEFORE
from aftercount.campaign.shape import learning_curve
from aftercount.campaign.signals import COUNT_ALPHA
from aftercount.campaign.stats import FALSE_DISCOVERY
from aftercount.report.axis import CountAxis

Tables = dict[str, pd.DataFrame]
# Control charts that still can be read.
MOST_CHARTS = 12
# A small multiple: its plot, in its own units.
WIDTH, LEFT, RIGHT, TOP, HEIGHT, RAIL = 300, 34, 6, 8, 104, 12
STRIP_WIDTH, STRIP_LEFT, STRIP_RIGHT = 400, 42, 8
# The axis of the deviations reaches this percentile of their sizes, and no less than this many seconds.
_REACH_AT, _LEAST_REACH_S = 98, 12.0
_NICE = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600)


@dataclass(frozen=True)
class Mark:
    sign: str
    x: float
    y: float
    label: str


@dataclass(frozen=True)
class Small:
    """One count's deviations over the planned count time."""

    count: str
    words: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Strip:
    """A value against the rehearsals: its plot from `top` down, lines as polylines, ticks as (y, label)."""

    name: str
    top: float
    height: float
    ticks: tuple[tuple[float, str], ...]
    band: tuple[float, float] | None
    limit: tuple[float, ...]
    lines: tuple[tuple[str, str], ...]
    marks: tuple[Mark, ...]
    framed: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Control:
    """The control charts of one step, one below the other."""

    step: str
    action: str
    words: str
    strips: tuple[Strip, ...]
    ticks: tuple[tuple[float, str], ...]


def smalls(tables: Tables) -> tuple[tuple[Small, ...], float, tuple[tuple[float, str], ...]]:
    """(a chart a count, the reach of their common axis in seconds, ticks of the count time)."""
    counts = shown_counts(tables)
    planned = tables["trend"].set_index("step")["planned_t_s"]
    history = tables["history"][tables["history"]["rehearsal"].isin(set(counts["rehearsal"]))]
    sizes = history["deviation_s"].abs().dropna()
    reach = max(_LEAST_REACH_S, float(np.percentile(sizes, _REACH_AT))) if len(sizes) else _LEAST_REACH_S
    axis = CountAxis(float(planned.min()) - 1, float(planned.max()) + 1, stretched=False)

    def across(place: float) -> float:
        return LEFT + place * (WIDTH - LEFT - RIGHT)

    by_count = dict(tuple(history.groupby("rehearsal")))
    made = []
    for row in counts.to_dict("records"):
        mine = by_count.get(row["rehearsal"], history.iloc[:0])
        marks = [_mark(r, across(axis.at(float(planned[r["step"]]))), reach) for r in mine.to_dict("records") if r["step"] in planned.index]
        words = ", ".join(f"{row[key]} {name}" for key, name in (("late", "late"), ("early", "early"), ("missed", "missed")) if row[key])
        made.append(Small(str(row["count"]), words or "all on time", tuple(sorted((m for m in marks if m), key=lambda m: m.sign != "on_time"))))
    return tuple(made), reach, tuple((across(place), label) for place, label in axis.ticks(0.2))


def _mark(row: dict[Any, Any], x: float, reach: float) -> Mark:
    status, value = str(row["status"]), row["deviation_s"]
    if status != "done" or pd.isna(value):
        sign = status if status in ("missed", "not_reached", "skipped") else "untimed"
        return Mark(sign, x, TOP + HEIGHT + RAIL, f"{row['step']}: {sign.replace('_', ' ')}")
    sign = "on_time" if pd.isna(row["timing"]) else str(row["timing"])
    place = float(np.clip(value / reach, -1, 1))
    return Mark(sign, x, TOP + HEIGHT / 2 * (1 - place), f"{row['step']}: {value:+.0f} s")


def controls(tables: Tables) -> tuple[Control, ...]:
    """Charts of the steps that say most; none while there are too few counts for a chart to mean anything."""
    if len(tables["counts"]) < LEAST_BEFORE:
        return ()
    trend = tables["trend"].set_index("step", drop=False)
    charts, signals, history = (dict(tuple(tables[name].groupby("step"))) for name in ("control", "signals", "history"))
    limit = cusum_limit(2 * len(trend) / COUNT_ALPHA, ALLOWANCE)
    places = {count: i for i, count in enumerate(tables["counts"]["count"])}
    trend["change_place"] = [places.get(count) for count in trend["change_count"]]
    return tuple(_control({str(k): v for k, v in trend.loc[step].items()}, charts[step], signals.get(step), (history.get(step), limit))
                 for step in telling(tables, MOST_CHARTS))


def _control(row: dict[str, Any], chart: pd.DataFrame, signals: pd.DataFrame | None, rest: tuple[pd.DataFrame | None, float]) -> Control:
    history, limit = rest
    number = chart["rehearsal"].to_numpy(dtype=float)
    place = _places(number)
    raised = set() if signals is None else set(signals["rehearsal"])
    y = chart["deviation_s"].to_numpy(dtype=float)
    strips = (_individuals(row, place, y, (raised, history)), _ranges(row, place, chart), _sums(place, chart, limit))
    every = max(1, -(-len(number) // 12))
    ticks = tuple((float(place[i]), str(int(number[i]))) for i in range(0, len(number), every))
    return Control(str(row["step"]), str(row["action"]), _words(row), strips, ticks)


def _places(number: np.ndarray) -> np.ndarray:
    """Where each rehearsal stands; a single one in the middle."""
    span = STRIP_WIDTH - STRIP_LEFT - STRIP_RIGHT
    return np.asarray(STRIP_LEFT + (number - number[0] + 0.5) / len(number) * span)


def _individuals(row: dict[str, Any], place: np.ndarray, y: np.ndarray, what: tuple[set[int], pd.DataFrame | None]) -> Strip:
    raised, history = what
    seen = ~np.isnan(y)
    smooth = ewma(y, float(y[seen].mean())) if seen.any() else y
    fitted = _fitted(row, y)
    limits = [row["limit_low_s"], row["limit_high_s"]]
    up, ticks = _scale([*y[seen], *limits, *fitted], 12.0, 118.0, zero=True)
    lines = [("own", _path(place, up(y))), ("ewma", _path(place, up(smooth)))]
    if len(fitted):
        lines.append(("fit", _path(place, up(fitted))))
    marks = [Mark("on_time", float(x), float(up(v)), f"rehearsal {i}: {v:+.1f} s") for i, (x, v) in enumerate(zip(place, y, strict=True), 1) if not np.isnan(v)]
    framed = tuple(Mark("frame", m.x, m.y, "signal") for m in marks if int(m.label.split()[1].rstrip(":")) in raised)
    if history is not None:
        for i, status in zip(history["rehearsal"], history["status"], strict=True):
            if status in ("missed", "not_reached", "skipped"):
                marks.append(Mark(str(status), float(place[int(i) - 1]), 126.0, f"rehearsal {i}: {str(status).replace('_', ' ')}"))
    band = None if np.isnan(limits[0]) else (float(up(limits[1])), float(up(limits[0])))
    return Strip("deviation, s", 12, 106, ticks, band, (), tuple(lines), tuple(marks), framed)


def _ranges(row: dict[str, Any], place: np.ndarray, chart: pd.DataFrame) -> Strip:
    values, high = chart["moving_range_s"].to_numpy(dtype=float), float(row["range_high_s"])
    up, ticks = _scale([0.0, high, *values[~np.isnan(values)]], 142.0, 178.0, sign=False)
    marks = tuple(Mark("range", float(x), float(up(v)), "") for x, v in zip(place, values, strict=True) if not np.isnan(v))
    return Strip("moving range, s", 142, 36, ticks, None, () if np.isnan(high) else (float(up(high)),), (("own", _path(place, up(values))),), marks)


def _sums(place: np.ndarray, chart: pd.DataFrame, limit: float) -> Strip:
    high, low = chart["cusum_high"].to_numpy(dtype=float), -chart["cusum_low"].to_numpy(dtype=float)
    up, ticks = _scale([limit, -limit, *high, *low], 192.0, 234.0)
    lines = (("later", _path(place, up(high))), ("earlier", _path(place, up(low))))
    return Strip("CUSUM of scores", 192, 42, ticks, None, (float(up(limit)), float(up(-limit))), lines, ())


def _fitted(row: dict[str, Any], y: np.ndarray) -> np.ndarray:
    """The course that is told: the learning curve, the step in level, or the robust line of a trend that chance does not explain."""
    seen = np.flatnonzero(~np.isnan(y))
    x = np.arange(1.0, len(y) + 1)
    if row["course"] == "learning":
        curve = learning_curve(seen + 1.0, y[seen])
        order = x - seen[0]
        return np.where(order >= 1, curve.level + curve.gain * np.maximum(order, 1.0) ** -curve.exponent, np.nan)
    if row["course"] == "step" and pd.notna(row["change_place"]):
        place = int(row["change_place"])
        return np.concatenate([np.full(place, np.nanmean(y[:place])), np.full(len(y) - place, np.nanmean(y[place:]))])
    if row["course"] == "line" and row["q"] < FALSE_DISCOVERY:
        middle = float(np.median(y[seen]) - row["slope_s"] * np.median(seen + 1.0))
        return np.asarray(middle + row["slope_s"] * x)
    return np.array([])


def _scale(values: Sequence[float], top: float, bottom: float, *, zero: bool = False, sign: bool = True) -> tuple[Any, tuple[tuple[float, str], ...]]:
    """(value -> y, ticks) over the known values, with a little room."""
    known = np.array([v for v in [*values, *([0.0] if zero else [])] if not np.isnan(v)])
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 1.0)
    room = max(1e-9, 0.08 * (high - low)) if high > low else 1.0
    low, high = low - room, high + room

    def up(value: Any) -> Any:
        return bottom - (np.asarray(value, dtype=float) - low) / (high - low) * (bottom - top)

    every = next((n for n in _NICE if (high - low) / n <= (4 if bottom - top > 60 else 2)), _NICE[-1])
    at = np.arange(np.ceil(low / every), np.floor(high / every) + 1) * every
    return up, tuple((float(up(v)), (signed(v, 0) if sign else f"{v:.0f}") if v else "0") for v in at[:6])


def _path(x: np.ndarray, y: np.ndarray) -> str:
    """An SVG path that breaks at gaps."""
    out, pen = [], "M"
    for a, b in zip(x, y, strict=True):
        if np.isnan(b):
            pen = "M"
            continue
        out.append(f"{pen}{a:.1f},{b:.1f}")
        pen = "L"
    return "".join(out)


def _words(row: dict[str, Any]) -> str:
    """A step's figures in a line."""
    told = [f"level {signed(row['level_s'])} s, spread {row['sigma_s']:.1f} s"] if pd.notna(row["level_s"]) else ["never seen"]
    if pd.notna(row["slope_s"]):
        told.append(f"{signed(row['slope_s'])} s a rehearsal ({signed(row['slope_low_s'])} to {signed(row['slope_high_s'])})")
    if row["course"] == "learning":
        told.append("learning" + (f", tends to {signed(row['learnt_to_s'])} s" if pd.notna(row["learnt_to_s"]) else ""))
    elif row["course"] in ("line", "step"):
        told.append("like a line" if row["course"] == "line" else f"like a step at {row['change_count']}")
    if row["small"]:
        told.append("few values")
    return "; ".join(told)
