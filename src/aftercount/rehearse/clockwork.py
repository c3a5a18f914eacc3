"""The count clock as it really ran: an exact staircase of segments.

Conventions: `u` POSIX UTC in microseconds, `t` count time in microseconds; pass numbers from 1. Segments are contiguous in `u`.
It does not decide what stops the count: `story` does.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field

SECOND = 1_000_000


@dataclass(frozen=True)
class Segment:
    number: int      # of the pass
    state: str       # counting | holding
    u0: int
    u1: int
    t0: int
    t1: int


@dataclass
class Clockwork:
    segments: list[Segment] = field(default_factory=list)
    _starts: list[int] = field(default_factory=list)

    def add(self, number: int, state: str, u0: int, duration: int, t0: int) -> int:
        """Append a segment, return the instant it ends."""
        if duration > 0:
            t1 = t0 + duration if state == "counting" else t0
            self.segments.append(Segment(number, state, u0, u0 + duration, t0, t1))
            self._starts.append(u0)
        return u0 + duration

    def at(self, u: int) -> tuple[int, str, int]:
        """(count time, state, pass) at an instant; before the first segment the count is counting towards it."""
        i = max(0, bisect_right(self._starts, u) - 1)
        s = self.segments[i]
        return (s.t0 + (u - s.u0) if s.state == "counting" else s.t0), s.state, s.number

    def when(self, t: int, number: int) -> int | None:
        """The first instant in pass `number` at which the clock read `t`, or None."""
        for s in self.segments:
            if s.number == number and s.t0 <= t <= s.t1:
                return s.u0 + (t - s.t0) if s.state == "counting" else s.u0
        return None

    @property
    def start(self) -> int:
        return self.segments[0].u0

    @property
    def end(self) -> int:
        return self.segments[-1].u1

    def passes(self) -> list[int]:
        return sorted({s.number for s in self.segments})
