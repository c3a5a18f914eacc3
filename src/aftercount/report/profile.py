"""What does the count profile show: the path of the count through wall time, as planned and as it ran?

Conventions: wall time as POSIX seconds, count time in seconds; places are left to the drawer. From the tables alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from aftercount.report.data import ReviewData, rows
from aftercount.report.marks import hold_label, hold_short
from aftercount.report.told import told_holds

_CELLS = {True: 110, False: 400}  # across and up, for marks kept and not: kept ones lie on one line and would hide it
_OFF_S = 1.0  # s; a step planned farther off the corners' path than this shows that a hold is missing from it
_HATCHED = 8  # a label across a hold's hatching is as hard to read as one across so many marks
_MARGIN = 0.025  # of the chart that a label may stand out to the sides
_NICE_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400)


@dataclass(frozen=True)
class Leg:
    """One pass: corner points (wall s, count s), and which of its stretches are holds."""

    pass_: int
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class HoldBar:
    """One hold on the path. end is where it ended, or the end of the record when it never resumed."""

    hold: int
    start: float
    end: float
    t_s: float
    unplanned: bool
    inferred: bool
    label: str
    short: str


@dataclass(frozen=True)
class Recycle:
    at: float
    from_t_s: float
    to_t_s: float


@dataclass(frozen=True)
class Reading:
    """One count mark heard or stamped; kept or rejected by the clock."""

    at: float
    t_s: float
    kept: bool
    event: int


@dataclass(frozen=True)
class ProfileView:
    legs: tuple[Leg, ...]
    holds: tuple[HoldBar, ...]
    recycles: tuple[Recycle, ...]
    readings: tuple[Reading, ...]
    used: int
    rejected: int
    planned: tuple[tuple[float, float], ...]
    start: float
    end: float
    low_s: float
    high_s: float


def profile_view(data: ReviewData) -> ProfileView:
    clock = rows(data.clock)
    legs: dict[int, list[tuple[float, float]]] = {}
    for row in clock:
        ends = [(row["start_utc"].timestamp(), row["start_t_s"]), (row["end_utc"].timestamp(), row["end_t_s"])]
        leg = legs.setdefault(row["pass"], [])
        leg += ends if not leg or leg[-1] != ends[0] else ends[1:]
    order = sorted(legs)
    made = tuple(Leg(n, tuple(legs[n])) for n in order)
    corners = [p for leg in made for p in leg.points]
    planned = _planned(data)
    walls = [w for w, _ in corners] or [w for w, _ in planned] or [0.0, 1.0]
    counts = [t for _, t in corners] + [t for _, t in planned] or [-1.0, 0.0]
    end = max(walls)
    readings = _readings(data, min(walls), end)
    return ProfileView(
        legs=made, holds=_holds(data, end), recycles=_recycles(made), planned=planned,
        readings=_thinned(readings, min(walls), end, (min(counts), max([*counts, 0.0]))),
        used=sum(r.kept for r in readings), rejected=sum(not r.kept for r in readings), start=min([*walls, *(w for w, _ in planned)]),
        end=max([end, *(w for w, _ in planned)]), low_s=min(counts), high_s=max([*counts, 0.0]),
    )


def _planned(data: ReviewData) -> tuple[tuple[float, float], ...]:
    """The scheduled path, built-in holds included, once for all passes: its corners, or the steps where they do not fit."""
    points = sorted({(r["planned_utc"].timestamp(), r["planned_t_s"]) for r in rows(data.steps[["planned_utc", "planned_t_s"]]) if r["planned_utc"]})
    corners = _scheduled_corners(data, points)
    return tuple(corners if corners else points)


def _scheduled_corners(data: ReviewData, points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """From the scheduled T-0 back through the built-in holds; nothing where a step says otherwise."""
    t0 = data.summary.get("t0_scheduled")
    if not t0 or not points:
        return []
    zero = datetime.fromisoformat(str(t0)).timestamp()
    built = {h["t_s"]: h["planned_s"] for h in rows(data.holds) if h["kind"] == "built_in"}

    def spent(t_s: float) -> float:  # planned hold time from this count time, its own hold included, to T-0
        return sum(p for t, p in built.items() if t >= t_s)

    corners = [(zero + t - spent(t), t) for t in (min(t for _, t in points), max(t for _, t in points))]
    for t, length in built.items():
        corners += [(zero + t - spent(t), t), (zero + t - spent(t) + length, t)]
    fits = all(zero + t - spent(t) - _OFF_S <= w <= zero + t - spent(t) + built.get(t, 0.0) + _OFF_S for w, t in points)
    return sorted(set(corners)) if fits else []


def _holds(data: ReviewData, end: float) -> tuple[HoldBar, ...]:
    return tuple(
        HoldBar(
            h["number"], h["start_utc"].timestamp(), h["end_utc"].timestamp() if h["end_utc"] else end, h["t_s"],
            h["kind"] == "unplanned", h["basis"] == "inferred", hold_label(h), hold_short(h),
        )
        for h in told_holds(data)
    )


def _recycles(legs: tuple[Leg, ...]) -> tuple[Recycle, ...]:
    pairs = zip(legs, legs[1:], strict=False)
    return tuple(Recycle(after.points[0][0], before.points[-1][1], after.points[0][1]) for before, after in pairs)


def _readings(data: ReviewData, start: float, end: float) -> tuple[Reading, ...]:
    """Count marks with a known wall time. Announced T-0s and L-times are readings of other clocks and are left out."""
    marks = [m for m in rows(data.marks) if m["utc"] is not None and m["clock"] == "T"]
    return tuple(Reading(m["utc"].timestamp(), m["t_s"], m["kept"], m["event"]) for m in marks if start - 60 <= m["utc"].timestamp() <= end + 60)


def _thinned(readings: tuple[Reading, ...], start: float, end: float, counts: tuple[float, float]) -> tuple[Reading, ...]:
    """One mark of each kind for each cell of a fine grid: a machine that stamps every second would hide the rest."""
    low, high = counts
    cells: dict[tuple[int, int, bool], Reading] = {}
    for r in readings:
        wide, tall = (end - start) / _CELLS[r.kept] or 1.0, (high - low) / _CELLS[r.kept] or 1.0
        cells.setdefault((int((r.at - start) / wide), int((r.t_s - low) / tall), r.kept), r)
    return tuple(cells.values())


def wall_ticks(start: float, end: float, most: int = 10) -> list[float]:
    """Round instants, at most `most` of them."""
    step = next((s for s in _NICE_S if (end - start) / s <= most), _NICE_S[-1])
    first = -(-start // step) * step
    return [first + i * step for i in range(int((end - first) // step) + 1)]


def count_ticks(low_s: float, high_s: float, most: int = 9) -> list[float]:
    return wall_ticks(low_s, high_s, most)


@dataclass(frozen=True)
class LabelPlace:
    """Beside a recycle: to the left or the right of its drop, so many lines below its foot."""

    left: bool
    lines: float


def label_place(view: ProfileView, turn: Recycle, width: float, line: float) -> LabelPlace:
    """Where a label of this width and line height (both shares of the chart) covers least of the path and the marks."""
    across, up = view.end - view.start or 1.0, view.high_s - view.low_s or 1.0
    taken = [((r.at - view.start) / across, (r.t_s - view.low_s) / up) for r in view.readings]
    shaded = [((h.start - view.start) / across, (h.end - view.start) / across) for h in view.holds]
    x, y = (turn.at - view.start) / across, (turn.to_t_s - view.low_s) / up

    def covered(place: LabelPlace) -> tuple[int, float]:
        x0 = x - width if place.left else x
        top = y - place.lines * line
        out = x0 + width > 1.0 + _MARGIN or x0 < -_MARGIN or top < line
        hits = sum(x0 <= a <= x0 + width and top - 1.4 * line <= b <= top + 0.4 * line for a, b in taken)
        hatched = any(x0 < b and a < x0 + width for a, b in shaded)
        return hits + _HATCHED * hatched + (len(taken) + _HATCHED + 1) * out, place.lines

    return min((LabelPlace(left, lines) for lines in (0.6, 1.4, 2.2, 3.0) for left in (False, True)), key=covered)
