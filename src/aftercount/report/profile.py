"""What does the count profile show: the path of the count through wall time, as planned and as it ran?

Conventions: wall time as POSIX seconds, count time in seconds; places are left to the drawer. From the tables alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.marks import hold_label, hold_short

_CELLS = 400  # across and up: finer than a slide shows
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
    """The scheduled path through the steps, built-in holds included, once for all passes."""
    points = {(r["planned_utc"].timestamp(), r["planned_t_s"]) for r in rows(data.steps[["planned_utc", "planned_t_s"]]) if r["planned_utc"]}
    return tuple(sorted(points))


def _holds(data: ReviewData, end: float) -> tuple[HoldBar, ...]:
    return tuple(
        HoldBar(
            h["number"], h["start_utc"].timestamp(), h["end_utc"].timestamp() if h["end_utc"] else end, h["t_s"],
            h["kind"] == "unplanned", h["basis"] == "inferred", hold_label(h), hold_short(h),
        )
        for h in hold_rows(data.holds)
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
    wide, tall = (end - start) / _CELLS or 1.0, (high - low) / _CELLS or 1.0
    cells: dict[tuple[int, int, bool], Reading] = {}
    for r in readings:
        cells.setdefault((int((r.at - start) / wide), int((r.t_s - low) / tall), r.kept), r)
    return tuple(cells.values())


def wall_ticks(start: float, end: float, most: int = 10) -> list[float]:
    """Round instants, at most `most` of them."""
    step = next((s for s in _NICE_S if (end - start) / s <= most), _NICE_S[-1])
    first = -(-start // step) * step
    return [first + i * step for i in range(int((end - first) // step) + 1)]


def count_ticks(low_s: float, high_s: float, most: int = 9) -> list[float]:
    return wall_ticks(low_s, high_s, most)
