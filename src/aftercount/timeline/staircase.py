"""What is the count clock made of: segments and holds, and what they are laid from: calls and the plan.

Seconds after the scheduled T-0; count times in seconds. It does not decide where anything goes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from aftercount.timeline.model import COUNTING, HOLDING, NEAR_S

PLAN_SIGMA_S = 60.0  # how far a count may stray from its plan where no mark tells: about a minute
LEAST_HOLD_S = 2.0  # a hold nobody called or planned, shorter than this, is the spread of the marks
STOPS = ("hold", "cutoff")
CALL_REACH_S = 15.0  # a call this near the instant of a change names it



@dataclass(frozen=True)
class Call:
    """A call about the clock at wall time u, good to sigma. what: hold | resume | recycle | cutoff | scrub | liftoff."""

    u: float
    what: str
    t: float
    to_t: float
    weight: float
    utterance: int
    row: int
    sigma: float = 0.0


@dataclass(frozen=True)
class Prior:
    """The plan's holds (count time, length), and the span of wall time that the logs cover."""

    holds: tuple[tuple[float, float], ...]
    begin: float
    end: float

    def z_before(self, t: float) -> float:
        """Projected T-0 by the schedule before any hold at or after t."""
        return -sum(length for at, length in self.holds if at >= t - NEAR_S)

    def planned(self, t: float) -> float:
        return sum(length for at, length in self.holds if abs(at - t) <= NEAR_S)


@dataclass(frozen=True)
class Segment:
    pass_: int
    state: int
    start: float
    end: float
    start_t: float
    end_t: float
    sigma: float
    sure_from: float | None = None
    sure_to: float | None = None
    unsure: float | None = None


@dataclass(frozen=True)
class Hold:
    """One hold as the clock shows it. end None: never resumed. inferred: no mark or call was kept inside it."""

    pass_: int
    t: float
    start: float
    end: float | None
    inferred: bool
    low: float
    high: float
    recycled_to: float | None = None
    planned: float = 0.0
    shared: bool = False  # one of several planned holds among which a silent one was divided


@dataclass
class Staircase:
    """The clock while it is being laid, segment by segment."""

    segments: list[Segment] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    pass_: int = 1
    u: float = 0.0
    z: float = 0.0

    def count_to(self, u: float, sigma: float) -> None:
        if u > self.u:
            self._add(Segment(self.pass_, COUNTING, self.u, u, self.u - self.z, u - self.z, sigma))

    def hold_to(self, u: float, t: float, sigma: float) -> None:
        if u > self.u:
            self._add(Segment(self.pass_, HOLDING, self.u, u, t, t, sigma))
        self.z = self.u - t

    def _add(self, made: Segment) -> None:
        last = self.segments[-1] if self.segments else None
        if last and (last.pass_, last.state, last.sigma) == (made.pass_, made.state, made.sigma) and abs(
                last.end_t - made.start_t) < 1e-6:
            self.segments[-1] = replace(last, end=made.end, end_t=made.end_t)
        else:
            self.segments.append(made)
        self.u = made.end

    def close_hold(self, end: float, t: float, sigma: float) -> None:
        """The open hold ends here."""
        self.hold_to(end, t, sigma)
        self.holds[-1] = replace(self.holds[-1], end=self.u)
