"""A log file on its way to disk: its lines, what each line carries, and its clock.

Conventions: `Clock.stamp` turns a true instant (POSIX us) into the log's own time, so that own + offset (+ drift) = UTC. Lines are
1-based. It does not decide the format.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.loop import Said
from aftercount.rehearse.options import RehearsalOptions

OFFSET_SPREAD_S = {"sequencer": 0.0, "notes": 25.0, "transcript": 6.0}
DRIFT_SPREAD_PPM = {"sequencer": 0.0, "notes": 30.0, "transcript": 40.0}


@dataclass
class Clock:
    """offset_s: to be added to the log's time to get UTC, at `at_us`; reset_us: the true instant from which reset_offset_s holds."""

    offset_s: float
    drift_ppm: float
    at_us: int
    reset_us: int | None = None
    reset_offset_s: float = 0.0

    def stamp(self, u: int) -> int:
        offset = self.reset_offset_s if self.reset_us is not None and u >= self.reset_us else self.offset_s
        return u - round(offset * SECOND) - round((u - self.at_us) * self.drift_ppm * 1e-6)


@dataclass
class Carried:
    """One thing that one line (or cue) of a file carries."""

    line: int
    line_end: int
    said: Said
    clean: str = ""          # a transcript's words before recognition errors
    numbers_heard: bool = True  # False when an error changed a number that was said


@dataclass
class Paper:
    path: str
    kind: str                # sequencer | notes | transcript
    form: str
    content: bytes
    carried: list[Carried]
    clock: Clock
    spec: dict[str, str] = field(default_factory=dict)   # further keys of its [[log]] entry, as TOML values
    time: str = "utc"
    zero_us: int | None = None   # wall time of elapsed zero on the log's own clock
    reference: bool = False


def draw_clock(place: int, kind: str, options: RehearsalOptions, start_us: int, end_us: int, rng: Random) -> Clock:
    offset, drift = rng.gauss(0, OFFSET_SPREAD_S[kind]), rng.gauss(0, DRIFT_SPREAD_PPM[kind])
    reset = rng.choice((-1, 1)) * rng.uniform(20, 120)
    if options.clocks_agree:
        offset = drift = 0.0
    if place < len(options.offsets_s) and options.offsets_s[place] is not None:
        offset = float(options.offsets_s[place] or 0.0)
    if place < len(options.drifts_ppm) and options.drifts_ppm[place] is not None:
        drift = float(options.drifts_ppm[place] or 0.0)
    middle = start_us + (end_us - start_us) // 2
    clock = Clock(round(offset, 3), round(drift, 2), start_us)
    if options.reset_log == place:
        clock.reset_us, clock.reset_offset_s = middle, round(offset + reset, 3)
    return clock
