"""The two charts' places in the page's own units, for the template to write as SVG.

The page can be zoomed, so every element also carries its place as 0..1 and the script moves it; ticks come in levels,
finer ones for closer looks. Conventions: x to the right, y downwards as SVG has it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.axis import short_count
from aftercount.report.marks import DeviationView, StepMark
from aftercount.report.profile import ProfileView, count_ticks, wall_ticks

WIDTH, LEFT, RIGHT = 1000, 74, 14  # of the drawing; the plot lies between the margins
DEVIATION_TOP, DEVIATION_HEIGHT, RAIL_HEIGHT = 34, 300, 62
PROFILE_TOP, PROFILE_HEIGHT = 22, 330
RAIL = {"missed": 12, "untimed": 27, "not_reached": 42, "skipped": 57}  # below the plot
_LEVELS = (1, 3, 9, 27)  # zoom from which a set of ticks is shown


@dataclass(frozen=True)
class Tick:
    place: float
    label: str
    level: int


@dataclass(frozen=True)
class PlacedMark:
    mark: StepMark
    row: int
    x: float
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class DeviationDrawing:
    view: DeviationView
    marks: tuple[PlacedMark, ...]
    ticks: tuple[Tick, ...]
    upright: tuple[Tick, ...]
    band: tuple[float, float]
    zero: float
    rail: tuple[str, ...]


def x_of(place: float) -> float:
    return LEFT + place * (WIDTH - LEFT - RIGHT)


def _y(place: float, top: float, height: float) -> float:
    return top + (1 - place) * height


def deviation(view: DeviationView) -> DeviationDrawing:
    def up(place: float) -> float:
        return _y(place, DEVIATION_TOP, DEVIATION_HEIGHT)

    marks = []
    for row, mark in enumerate(view.steps):
        y = DEVIATION_TOP + DEVIATION_HEIGHT + RAIL.get(mark.sign, RAIL["untimed"]) if mark.y is None else up(mark.y)
        marks.append(PlacedMark(mark, row, x_of(mark.x), y, up(mark.low), up(mark.high)))
    return DeviationDrawing(
        view, tuple(marks), _levelled(lambda least: view.count.ticks(least), 0.055),
        tuple(Tick(up(p), label, 1) for p, label in view.deviation.ticks()),
        (up(view.deviation.at(view.late_s)), up(view.deviation.at(-view.early_s))), up(view.deviation.at(0.0)),
        tuple(s for s in RAIL if any(m.sign == s for m in view.steps)),
    )


def _levelled(ticks: Any, least: float) -> tuple[Tick, ...]:
    """Each tick once, at the first level at which there is room for it."""
    seen: dict[str, Tick] = {}
    for level in _LEVELS:
        for place, label in ticks(least / level):
            seen.setdefault(label, Tick(place, label, level))
    return tuple(sorted(seen.values(), key=lambda t: t.place))


@dataclass(frozen=True)
class ProfileDrawing:
    """Places are 0..1 of the whole view; `path` and `planned` likewise, as 'x,y' pairs."""

    view: ProfileView
    legs: tuple[tuple[tuple[float, float], ...], ...]
    planned: tuple[tuple[float, float], ...]
    holds: tuple[tuple[float, float, float, Any], ...]
    recycles: tuple[tuple[float, float, float, str], ...]
    readings: tuple[tuple[float, float, bool, str], ...]
    walls: tuple[Tick, ...]
    counts: tuple[Tick, ...]
    date: str


def profile(view: ProfileView) -> ProfileDrawing:
    room = max((view.end - view.start) * 0.01, 1.0)
    start, span = view.start - room, view.end - view.start + 2 * room
    rise = max((view.high_s - view.low_s) * 0.03, 1.0)
    low, height = view.low_s - rise, view.high_s - view.low_s + 2 * rise

    def at(wall: float, t_s: float) -> tuple[float, float]:
        return round((wall - start) / span, 6), round((t_s - low) / height, 6)

    def walls(level: int) -> list[tuple[float, str]]:
        return [((w - start) / span, f"{dt.datetime.fromtimestamp(w, dt.UTC):%H:%M:%S}".removesuffix(":00")) for w in wall_ticks(start, start + span, 9 * level)]

    def counts(level: int) -> list[tuple[float, str]]:
        return [((t - low) / height, short_count(t)) for t in count_ticks(low, low + height, 8 * level)]

    return ProfileDrawing(
        view, tuple(tuple(at(*p) for p in leg.points) for leg in view.legs), tuple(at(*p) for p in view.planned),
        tuple((at(h.start, 0)[0], at(h.end, 0)[0], at(h.start, h.t_s)[1], h) for h in view.holds),
        tuple((*at(r.at, r.from_t_s), at(r.at, r.to_t_s)[1], wording.count_time(r.to_t_s)) for r in view.recycles),
        tuple((*at(r.at, r.t_s), r.kept, _reading(r.at, r.t_s, r.kept)) for r in view.readings),
        _by_level(walls), _by_level(counts), f"{dt.datetime.fromtimestamp(view.start, dt.UTC):%Y-%m-%d}",
    )


def _reading(at: float, t_s: float, kept: bool) -> str:
    when = f"{dt.datetime.fromtimestamp(at, dt.UTC):%H:%M:%S}Z"
    return f"{when} {wording.count_time(t_s)} {'used' if kept else 'not believed'}"


def _by_level(ticks: Any) -> tuple[Tick, ...]:
    seen: dict[str, Tick] = {}
    for level in (*_LEVELS, 81):
        for place, label in ticks(level):
            seen.setdefault(f"{place:.6f}", Tick(place, label, level))
    return tuple(sorted(seen.values(), key=lambda t: t.place))
