"""The two charts' places in the page's own units, for the template to write as SVG.

The page can be zoomed, so every element also carries its place as 0..1 and the script moves it; ticks come in levels,
finer ones for closer looks. Conventions: x to the right, y downwards as SVG has it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import Any

from aftercount.report import wording
from aftercount.report.axis import short_count
from aftercount.report.marks import DeviationView, HoldArea, StepMark
from aftercount.report.profile import HoldBar, ProfileView, Recycle, count_ticks, label_place, wall_ticks

WIDTH, LEFT, RIGHT = 1000, 78, 34  # of the drawing; the plot lies between the margins
DEVIATION_TOP, DEVIATION_HEIGHT, RAIL_HEIGHT = 34, 300, 74
PROFILE_TOP, PROFILE_HEIGHT = 22, 330
RAIL = {"missed": 15, "untimed": 31, "not_reached": 47, "skipped": 63}  # below the plot
_LETTER, _LINE = 6.4, 15.0  # of the drawing: a letter and a line of a label
_NEAR_EDGE = 0.94  # of the plot; a hold's name beyond this ends at its slot, not at the edge
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
    rail: tuple[tuple[str, float], ...]
    holds: tuple[PlacedHold, ...]


@dataclass(frozen=True)
class PlacedHold:
    """A hold's slot, and where its name stands: under the middle of it, or before its end near the edge."""

    area: HoldArea
    label: float
    anchor: str


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
        view, tuple(marks), _levelled(lambda least: view.across.ticks(least), 0.062),
        tuple(Tick(up(p), label, 1) for p, label in view.deviation.ticks()),
        (up(view.deviation.at(view.late_s)), up(view.deviation.at(-view.early_s))), up(view.deviation.at(0.0)),
        tuple((s, DEVIATION_TOP + DEVIATION_HEIGHT + y) for s, y in RAIL.items() if any(m.sign == s for m in view.steps)),
        tuple(_placed(a) for a in view.holds),
    )


def _placed(area: HoldArea) -> PlacedHold:
    middle = (area.x0 + area.x1) / 2
    return PlacedHold(area, area.x1, "end") if middle > _NEAR_EDGE else PlacedHold(area, middle, "middle")


def _levelled(ticks: Any, least: float) -> tuple[Tick, ...]:
    """Each tick once, at the first level at which there is room for it."""
    seen: dict[str, Tick] = {}
    for level in _LEVELS:
        for place, label in ticks(least / level):
            seen.setdefault(f"{place:.6f}", Tick(place, label, level))
    return tuple(sorted(seen.values(), key=lambda t: t.place))


@dataclass(frozen=True)
class ProfileHold:
    """name: in full where there is room over the hold, else only its number."""

    x0: float
    x1: float
    bar: HoldBar
    name: str


@dataclass(frozen=True)
class ProfileTurn:
    """A recycle: its drop, and where its label stands beside the foot of it."""

    x: float
    y0: float
    y1: float
    words: str
    anchor: str
    down: float


@dataclass(frozen=True)
class ProfileDrawing:
    """Places are 0..1 of the whole view; `path` and `planned` likewise, as 'x,y' pairs."""

    view: ProfileView
    legs: tuple[tuple[tuple[float, float], ...], ...]
    planned: tuple[tuple[float, float], ...]
    holds: tuple[ProfileHold, ...]
    recycles: tuple[ProfileTurn, ...]
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
        _named([ProfileHold(at(h.start, 0)[0], at(h.end, 0)[0], h, h.short) for h in view.holds]),
        tuple(_turn(view, r, at(r.at, r.from_t_s), at(r.at, r.to_t_s)[1]) for r in view.recycles),
        tuple((*at(r.at, r.t_s), r.kept, _reading(r.at, r.t_s, r.kept)) for r in view.readings),
        _by_level(walls), _by_level(counts), f"{dt.datetime.fromtimestamp(view.start, dt.UTC):%Y-%m-%d}",
    )


def _named(holds: list[ProfileHold]) -> tuple[ProfileHold, ...]:
    """Full names where they leave their neighbours room, numbers elsewhere."""
    middles = [(h.x0 + h.x1) / 2 for h in holds]
    made = []
    for i, h in enumerate(holds):
        half = len(h.name) * _LETTER / 2 / (WIDTH - LEFT - RIGHT)
        fits = half <= middles[i] <= 1 - half and all(abs(middles[i] - m) > 2.1 * half for j, m in enumerate(middles) if j != i)
        made.append(h if fits else replace(h, name=str(h.bar.hold)))
    return tuple(made)


def _turn(view: ProfileView, turn: Recycle, top: tuple[float, float], foot: float) -> ProfileTurn:
    words = f"recycled to {wording.count_time(turn.to_t_s)}"
    place = label_place(view, turn, len(words) * _LETTER / (WIDTH - LEFT - RIGHT), _LINE / PROFILE_HEIGHT)
    return ProfileTurn(*top, foot, words, "end" if place.left else "start", (place.lines + 0.8) * _LINE)


def _reading(at: float, t_s: float, kept: bool) -> str:
    when = f"{dt.datetime.fromtimestamp(at, dt.UTC):%H:%M:%S}Z"
    return f"{when} {wording.count_time(t_s)} {'used' if kept else 'not believed'}"


def _by_level(ticks: Any) -> tuple[Tick, ...]:
    seen: dict[str, Tick] = {}
    for level in (*_LEVELS, 81):
        for place, label in ticks(level):
            seen.setdefault(f"{place:.6f}", Tick(place, label, level))
    return tuple(sorted(seen.values(), key=lambda t: t.place))
