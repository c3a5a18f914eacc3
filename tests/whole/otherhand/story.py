"""What truly happened: the clock's course, what was done when, who answered. Seconds; wall times since the scheduled T-0.

Nothing here knows how it is said or logged.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from .scenarios import Scenario


@dataclass
class Row:
    """One line of the procedure."""

    step: str
    t: float
    by: str
    action: str
    order: list[str]
    end: list[str]
    flags: dict[str, str]

    @property
    def late(self) -> float:
        return float(self.flags.get("l", 10))

    @property
    def early(self) -> float:
        return float(self.flags.get("e", self.late))


@dataclass
class Segment:
    number: int
    state: str
    start: float
    end: float
    start_t: float
    end_t: float


@dataclass
class Hold:
    number: int
    t: float
    start: float
    end: float | None
    planned: float
    called: bool
    by: str | None
    reason: str | None
    to_t: float | None = None
    new_zero: float | None = None


@dataclass
class Deed:
    """A step as it was done in a pass. begun: when ordered, else when told. ends: when its end is told (None: not)."""

    row: Row
    number: int
    due: float
    begun: float
    ends: float | None
    answered: float | None
    fault: str = ""
    again: bool = False


@dataclass
class Story:
    scenario: Scenario
    rows: list[Row]
    segments: list[Segment] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    deeds: list[Deed] = field(default_factory=list)
    missed: set[tuple[str, int]] = field(default_factory=set)
    skipped: set[tuple[str, int]] = field(default_factory=set)
    due: dict[tuple[str, int], float] = field(default_factory=dict)
    outcome: str = "liftoff"
    outcome_at: float = 0.0

    def at(self, wall: float) -> tuple[float, str, int]:
        """(count time, state, pass) at a wall time."""
        for s in self.segments:
            if wall < s.end or s is self.segments[-1]:
                t = s.start_t if s.state == "holding" else s.start_t + wall - s.start
                return t, s.state, s.number
        raise ValueError("no clock")

    def wall(self, t: float, number: int) -> float | None:
        """When the clock first read `t` in that pass."""
        for s in (s for s in self.segments if s.number == number):
            if s.start_t <= t <= s.end_t and (s.state == "counting" or t == s.start_t):
                return s.start + (t - s.start_t if s.state == "counting" else 0.0)
        return None


def rows_of(scenario: Scenario) -> list[Row]:
    out = []
    for line in scenario.steps.strip().splitlines():
        step, t, by, action, order, end, flags = (part.strip() for part in line.split("|"))
        sign, (minutes, seconds) = (-1 if not t.startswith("-") else 1), t.lstrip("-").split(":")
        out.append(
            Row(
                step,
                sign * (int(minutes) * 60 + int(seconds)) + 0.0,
                by,
                action,
                _wordings(order),
                _wordings(end),
                {k: v for k, _, v in (f.partition("=") for f in flags.split())},
            )
        )
    return out


def _wordings(text: str) -> list[str]:
    return [w.strip() for w in text.split(" / ") if w.strip()]


def tell(scenario: Scenario, rng: random.Random, plot: str) -> Story:
    """plot: what the clock does besides the plan: words of `clean hold silent extend recycle twice scrub abort retarget`."""
    story = Story(scenario, rows_of(scenario))
    _run_clock(story, rng, set(plot.split()))
    _do_steps(story, rng)
    return story


def _run_clock(story: Story, rng: random.Random, plot: set[str]) -> None:
    rows, first = story.rows, min(r.t for r in story.rows) - 120.0
    planned = sorted((r.t, float(r.flags["hold"])) for r in rows if "hold" in r.flags)
    span = sum(length for _, length in planned)
    stops: list[tuple[float, str]] = [(t, f"plan {length}") for t, length in planned]
    pick = [r.t for r in rows if first + 400 < r.t < -100]

    def spot() -> float:
        t = rng.choice(pick) - rng.choice([7.0, 11.0, 16.0, 23.0, 31.0])
        while any(abs(t - other) < 150 for other, _ in stops):
            t = rng.uniform(first + 400, -130.0) // 1.0
        return t

    for word in ("hold", "silent"):
        if word in plot:
            stops.append((spot(), word))
    taken = [t for t, _ in stops]
    turns = 2 if "twice" in plot else 1 if "recycle" in plot else 0
    number, wall, t, extend = 1, first - span, first, "extend" in plot or "retarget" in plot
    free = [t / 1.0 for t in range(-560, -40) if all(abs(t - other) > 45 for other in taken)]
    stop_at = rng.choice(free) if turns or "scrub" in plot else None
    stops.sort()
    todo = list(stops)
    while True:
        nexts = [s for s in todo if s[0] > t or (s[0] == t and s[1].startswith("plan"))]
        stop = nexts[0] if nexts else None
        if stop_at is not None and (stop is None or stop_at < stop[0]):
            wall, t = _count(story, number, wall, t, stop_at)
            back = min((p for p, _ in planned if p > -1300), default=-600.0) - 120.0 if turns else None
            length = rng.uniform(200, 700) // 1.0
            reason = rng.choice(story.scenario.off_nominal)
            by = rng.choice([s for s in story.scenario.stations])
            if not turns:
                story.segments.append(Segment(number, "holding", wall, wall + length, t, t))
                story.holds.append(Hold(number, t, wall, None, 0.0, True, by, reason))
                story.outcome, story.outcome_at = "scrub", wall + length
                return
            assert back is not None
            set_back = length - rng.choice([60.0, 90.0, 120.0])
            story.segments += [
                Segment(number, "holding", wall, wall + set_back, t, t),
                Segment(number + 1, "holding", wall + set_back, wall + length, back, back),
            ]
            story.holds.append(Hold(number, t, wall, wall + length, 0.0, True, by, reason, back))
            wall, t, number, turns = wall + length, back, number + 1, turns - 1
            todo = [s for s in stops if s[0] > back and s[1].startswith("plan")]
            stop_at = rng.uniform(-250.0, -25.0) // 1.0 if turns or "scrub" in plot else None
            continue
        if stop is None:
            break
        wall, t = _count(story, number, wall, t, stop[0])
        todo.remove(stop)
        planned_s = float(stop[1].split()[1]) if stop[1].startswith("plan") else 0.0
        reason, length, new_zero = None, planned_s, None
        if planned_s:
            if extend:
                length, reason, extend = planned_s + rng.uniform(90, 900) // 1.0, rng.choice(story.scenario.off_nominal), False
                new_zero = wall + length - t if "retarget" in plot else None
        else:
            length, reason = rng.uniform(70, 500) // 1.0, rng.choice(story.scenario.off_nominal)
        called = stop[1] != "silent"
        by = story.scenario.lead if planned_s else rng.choice(list(story.scenario.stations)) if called else None
        story.segments.append(Segment(number, "holding", wall, wall + length, t, t))
        story.holds.append(Hold(number, t, wall, wall + length, planned_s, called, by, reason, None, new_zero))
        wall += length
    end_t = 3.0 if "abort" in plot else story.scenario.after_zero_s
    zero = wall - t
    _count(story, number, wall, t, 14.0 if story.scenario.ending == "cutoff" and "abort" not in plot else end_t)
    story.outcome, story.outcome_at = story.scenario.ending, zero
    if story.scenario.ending == "cutoff" or "abort" in plot:
        story.outcome, story.outcome_at = "cutoff", zero + (2.4 if "abort" in plot else 13.2)
        story.segments[-1].end, story.segments[-1].end_t = story.outcome_at, story.outcome_at - zero


def _count(story: Story, number: int, wall: float, t: float, to: float) -> tuple[float, float]:
    if to > t:
        story.segments.append(Segment(number, "counting", wall, wall + to - t, t, to))
    return wall + to - t, to


def _due(story: Story, row: Row, number: int) -> float | None:
    if "into" in row.flags:
        hold = next((h for h in story.holds if h.number == number and h.t == row.t and h.planned), None)
        return None if hold is None else hold.start + float(row.flags["into"])
    return story.wall(row.t, number)


FAULTS = ("late", "early", "missed", "displaced", "silent", "slow", "slip", "again")


def _do_steps(story: Story, rng: random.Random) -> None:
    for number in sorted({s.number for s in story.segments}):
        start = min(s.start_t for s in story.segments if s.number == number)
        for row in story.rows:
            if "hold" in row.flags or (number > 1 and row.t < start) or ("into" in row.flags and number > 1 and row.t <= start):
                continue
            due = _due(story, row, number)
            if due is None:
                continue
            story.due[row.step, number] = due
            _do(story, row, number, due, rng)
    _take_turns(story)


def _take_turns(story: Story) -> None:
    """Nobody speaks into an order and its answer: the next order, and the end of another step, wait for them."""
    quiet_s, free, windows = 2.5, -1e9, []
    for deed in sorted((d for d in story.deeds if d.row.order and d.row.t < -20), key=lambda d: d.begun):
        wait = max(0.0, free - deed.begun)
        deed.begun += wait
        deed.answered = None if deed.answered is None else deed.answered + wait
        deed.ends = None if deed.ends is None else deed.ends + wait
        free = (deed.begun if deed.answered is None else deed.answered) + quiet_s
        windows.append((deed, deed.begun, free))
    for deed in story.deeds:
        for other, start, end in windows:
            if deed.ends is not None and deed.row.order and other is not deed and start - 1.0 < deed.ends < end:
                deed.ends = end


def _do(story: Story, row: Row, number: int, due: float, rng: random.Random) -> None:
    after_zero, end = row.t >= -20, max(s.end for s in story.segments if s.number == number)
    fault = rng.choice(FAULTS) if rng.random() < 0.14 and not after_zero else ""
    if "opt" in row.flags and rng.random() < 0.4:
        story.skipped.add((row.step, number))
        return
    if fault == "missed" and "poll" not in row.flags:
        (story.skipped if "opt" in row.flags else story.missed).add((row.step, number))
        return
    off = rng.gauss(2.0, 2.5) if row.order else rng.gauss(1.0, 2.0)
    off = max(-0.5 * row.early, min(0.5 * row.late, off)) if not after_zero else abs(rng.gauss(0.3, 0.3))
    if fault == "late":
        off = row.late + rng.uniform(12, 60)
    elif fault == "early":
        off = -row.early - rng.uniform(10, 40)
    elif fault == "displaced":
        later = [r for r in story.rows if r.t > row.t + row.late and "hold" not in r.flags and "into" not in r.flags]
        off = (later[2].t - row.t + rng.uniform(8, 20)) if len(later) > 3 and "into" not in row.flags else off
    begun = due + off
    if begun > end - 2 and fault:
        begun, fault = due + 0.3, ""
    begun = min(begun, max(due, end - 0.5))
    limit = float(row.flags["r"]) if "r" in row.flags else None
    ends = begun + rng.uniform(3, 14) if row.order and row.end else begun if row.end else None
    if row.order and row.end and limit and rng.random() < 0.25:
        ends = begun + limit + rng.uniform(5, 60)
    answered = begun + rng.uniform(1.2, 3.5) + len(row.order[0].split()) / 2.8 if row.order and limit and rng.random() < 0.8 else None
    if limit and row.order:
        if fault == "silent":
            answered = ends = None
        elif fault == "slow":
            answered, ends = None, begun + limit + rng.uniform(10, 40)
        elif answered is None and ends is not None:
            ends = min(ends, begun + 0.8 * limit)
        if ends is not None and answered is not None and ends < answered + 3:
            ends = answered + rng.uniform(3, 8)
    if fault in ("silent", "slow") and not (limit and row.order):
        fault = ""
    if fault == "slip" and answered is None:
        fault = ""
    story.deeds.append(Deed(row, number, due, begun, ends, answered, fault))
    if fault == "again" and row.order and begun + 75 < end:
        later_by = rng.uniform(60, 110)
        story.deeds.append(Deed(row, number, due, begun + later_by, None if ends is None else ends + later_by, None, "", again=True))
