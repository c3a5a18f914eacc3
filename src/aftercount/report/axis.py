"""Where on a chart does a count time or a deviation lie?

Conventions: count time in seconds (negative before T-0) maps to 0..1 from left to right, deviation in seconds to
0..1 from bottom to top. A hold stands at one count time, so it gets a slot of its own width in which the time since
the hold began runs. Where the steps crowd towards T-0 the axis is stretched there, and says so.

Each pass of a recycled count has a panel of its own, side by side as they ran, so that a step that was due twice
stands twice. It draws nothing; the PNG and the page both place their marks by it, so they cannot differ.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass

import numpy as np

SLOT = 0.035  # of the chart: wide enough for a hatch and a few marks
GAP = 0.02  # of the chart between two passes
LEAST_PANEL = 0.16  # of the chart for a pass, however few its steps
EDGE = 0.012  # of the chart left free at both ends of an axis, so that no sign is cut
MOST_SLOTS = 0.4  # of the axis at most for holds, however many there are
SAME_T_S = 0.5  # s; two holds closer than this on the count are one place on the axis
CROWDED = 0.2  # the axis is stretched when half of the steps fall into this last part of it
STRETCH_S = 120.0  # s; about linear within this time of T-0, logarithmic beyond
OUTLYING = 5.0  # deviations beyond this many tolerances make the deviation axis logarithmic there
# Round count times: every quarter of an hour to a day, every five minutes to two hours, and so on towards T-0.
_TICKS_S = sorted({*range(0, 86_401, 900), *range(0, 7_201, 300), *range(0, 1_201, 60), *range(0, 121, 10)} - {0}, reverse=True)
_DEVIATIONS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 28800)


@dataclass(frozen=True)
class CountAxis:
    """Count time to 0..1. slots: count times at which a hold has a slot, rising. stretched: by asinh about T-0.

    width: of the chart that this axis has; a hold's slot is as wide on the chart in every pass.
    """

    low_s: float
    high_s: float
    stretched: bool
    slots: tuple[float, ...] = ()
    width: float = 1.0

    @property
    def slot(self) -> float:
        return min(SLOT / self.width, MOST_SLOTS / len(self.slots)) if self.slots else 0.0

    @property
    def edge(self) -> float:
        return EDGE / max(self.width, LEAST_PANEL)

    def _warp(self, t_s: float) -> float:
        return math.asinh(t_s / STRETCH_S) if self.stretched else t_s

    def at(self, t_s: float, into: float | None = None) -> float:
        """The place of a count time; into: 0..1, how far through the hold that stands there."""
        low, high = self._warp(self.low_s), self._warp(self.high_s)
        share = (self._warp(min(max(t_s, self.low_s), self.high_s)) - low) / (high - low)
        free = 1 - 2 * self.edge - self.slot * len(self.slots)
        place = self.edge + share * free + self.slot * bisect_left(self.slots, t_s - SAME_T_S)
        if into is not None and bisect_right(self.slots, t_s + SAME_T_S) > bisect_left(self.slots, t_s - SAME_T_S):
            return place + self.slot * min(max(into, 0.0), 1.0)
        return place

    def ticks(self, least: float = 0.062) -> list[tuple[float, str]]:
        """Places and labels, round count times, never closer together than `least`."""
        wanted = [0.0] + [s * t for t in _TICKS_S for s in (-1.0, 1.0)]
        chosen: list[tuple[float, str]] = []
        for t_s in sorted(wanted, key=_roundness):
            place = self.at(t_s)
            if self.low_s <= t_s <= self.high_s and all(abs(place - p) >= least for p, _ in chosen):
                chosen.append((place, short_count(t_s)))
        return sorted(chosen)


def _roundness(t_s: float) -> tuple[int, float]:
    """T-0 first, then whole hours, then whole minutes; farther ones first within a kind."""
    if t_s == 0:
        return (0, 0.0)
    rank = next((i for i, s in enumerate((3600, 1800, 900, 300, 60), 1) if t_s % s == 0), 6)
    return (rank, -abs(t_s))


def short_count(t_s: float) -> str:
    """'T-3h', 'T-1h30m', 'T-5m', 'T-30s', 'T-0': axis labels only."""
    if t_s == 0:
        return "T-0"
    size = abs(round(t_s))
    parts = [(size // 3600, "h"), (size // 60 % 60, "m"), (size % 60, "s")]
    return ("T-" if t_s < 0 else "T+") + "".join(f"{n}{u}" for n, u in parts if n)


def count_axis(step_t_s: list[float], hold_t_s: list[float], width: float = 1.0) -> CountAxis:
    """An axis for these steps and holds, T-0 always on it."""
    places = [*step_t_s, *hold_t_s, 0.0]
    low, high = min(places), max(places)
    if low == high:
        low, high = low - 60.0, high + 60.0
    crowded = bool(step_t_s) and float(np.median(step_t_s)) > high - CROWDED * (high - low)
    slots: list[float] = []
    for t_s in sorted(hold_t_s):
        if not slots or t_s - slots[-1] > SAME_T_S:
            slots.append(t_s)
    return CountAxis(low, high, crowded, tuple(slots), width)


@dataclass(frozen=True)
class Panel:
    """One pass: its part x0..x1 of the chart, and the axis in it."""

    pass_: int
    x0: float
    x1: float
    axis: CountAxis

    def at(self, t_s: float, into: float | None = None) -> float:
        return self.x0 + (self.x1 - self.x0) * self.axis.at(t_s, into)


@dataclass(frozen=True)
class PassAxis:
    """Pass and count time to 0..1."""

    panels: tuple[Panel, ...]

    def at(self, pass_: int, t_s: float, into: float | None = None) -> float:
        return next(p for p in self.panels if p.pass_ == pass_).at(t_s, into)

    @property
    def stretched(self) -> bool:
        return any(p.axis.stretched for p in self.panels)

    @property
    def gaps(self) -> tuple[tuple[float, float], ...]:
        return tuple((a.x1, b.x0) for a, b in zip(self.panels, self.panels[1:], strict=False))

    def ticks(self, least: float = 0.062) -> list[tuple[float, str]]:
        found = [(p.x0 + (p.x1 - p.x0) * place, label) for p in self.panels for place, label in p.axis.ticks(least / (p.x1 - p.x0))]
        return sorted(found)


def pass_axis(step_t_s: dict[int, list[float]], hold_t_s: dict[int, list[float]]) -> PassAxis:
    """The passes side by side, each as wide as its share of the steps, but wide enough to read."""
    order = sorted({*step_t_s, *hold_t_s}) or [1]
    free = 1.0 - GAP * (len(order) - 1)
    weights = [float(len(step_t_s.get(n, []))) or 1.0 for n in order]
    least = min(LEAST_PANEL, 1.0 / len(order))
    spare = 1.0 - least * len(order)
    panels, x0 = [], 0.0
    for number, weight in zip(order, weights, strict=True):
        width = free * (least + spare * weight / sum(weights))
        panels.append(Panel(number, x0, x0 + width, count_axis(step_t_s.get(number, []), hold_t_s.get(number, []), width)))
        x0 += width + GAP
    return PassAxis(tuple(panels))


@dataclass(frozen=True)
class DeviationAxis:
    """Deviation to 0..1. linear_s: logarithmic beyond this size, or inf."""

    low_s: float
    high_s: float
    linear_s: float

    def _warp(self, s: float) -> float:
        return s if math.isinf(self.linear_s) else math.asinh(s / self.linear_s)

    def at(self, s: float) -> float:
        low, high = self._warp(self.low_s), self._warp(self.high_s)
        return (self._warp(min(max(s, self.low_s), self.high_s)) - low) / (high - low)

    def ticks(self, least: float = 0.06) -> list[tuple[float, str]]:
        chosen = [(self.at(0.0), "0")]
        for size in _DEVIATIONS_S:
            for s in (-float(size), float(size)):
                place = self.at(s)
                if self.low_s <= s <= self.high_s and all(abs(place - p) >= least for p, _ in chosen):
                    chosen.append((place, short_deviation(s)))
        return sorted(chosen)


def short_deviation(s: float) -> str:
    sign = "+" if s > 0 else "−"
    size = abs(round(s))
    if size < 60:
        return f"{sign}{size} s"
    return f"{sign}{size // 60} min" if size < 3600 else f"{sign}{size / 3600:g} h"


def deviation_axis(deviations_s: list[float], tolerances_s: list[float]) -> DeviationAxis:
    tolerance = float(np.median(tolerances_s)) if tolerances_s else 10.0
    tolerance = max(tolerance, 1.0)
    low = min([*deviations_s, -1.6 * tolerance])
    high = max([*deviations_s, 1.6 * tolerance])
    outlying = max(-low, high) > OUTLYING * tolerance
    room = 1.15 if not outlying else 1.3
    return DeviationAxis(low * room, high * room, tolerance if outlying else math.inf)
