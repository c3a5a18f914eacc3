"""Counts drawn from a seed: a true staircase, and logs that each hear some of it on a clock of their own."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from aftercount import tables, timeline
from aftercount.timeline import Timeline
from timeline.heard import Heard

BASE = Heard("14:30:00")


@dataclass
class Log:
    """own time = (u - offset) less drift; kind utc or elapsed (own zero at `zero`). reset: (at u, further offset)."""

    name: str
    marks: int = 40
    offset: float = 0.0
    ppm: float = 0.0
    kind: str = "utc"
    sigma: float = 1.0
    false: float = 0.0
    medium: str = "typed"
    zero: float = 0.0
    reset: tuple[float, float] | None = None
    stamps: int = 0
    lag: float = 0.0
    latency: float = 0.0  # s: a machine's records are stamped after what they tell of, by so much on average


@dataclass
class Drawn:
    """holds: (T, length, planned length) in order; the count starts at start_t."""

    logs: list[Log]
    holds: list[tuple[float, float, float]] = field(default_factory=list)
    start_t: float = -7200.0
    after: float = 300.0
    called: bool = True
    seed: int = 1

    def __post_init__(self) -> None:
        self.begin = self.start_t - sum(p for _, _, p in self.holds)
        self.end = self.begin - self.start_t + sum(length for _, length, _ in self.holds) + self.after

    def reading(self, u: np.ndarray) -> np.ndarray:
        t = self.start_t + (u - self.begin)
        for at, length, _ in self.holds:
            t = np.where(t > at, np.maximum(at, t - length), t)
        return t

    def stops(self) -> list[tuple[float, float]]:
        out, shift = [], self.begin - self.start_t
        for at, length, _ in self.holds:
            out.append((shift + at, shift + at + length))
            shift += length
        return out

    def rows(self, rng: np.random.Generator, log: Log) -> list[tuple[float, dict[str, Any]]]:
        u = rng.uniform(self.begin, self.end, log.marks)
        t = self.reading(u + rng.normal(0, log.sigma, log.marks) * 0.7)
        false = rng.random(log.marks) < log.false
        t = np.where(false, t + rng.choice([-1, 1], log.marks) * rng.uniform(20, 900, log.marks), t)
        said = [(float(a), {"mark": float(b)}) for a, b in zip(u, np.round(t, 1), strict=True)]
        if self.called:
            said += [(a + rng.uniform(0, 1), {"call": "hold"}) for a, _ in self.stops()]
            said += [(b + rng.uniform(0, 1), {"call": "resume"}) for _, b in self.stops()]
        stamped = np.sort(rng.uniform(self.begin, self.end, log.stamps))
        return said + [(float(a), {"stamp": float(b)}) for a, b in zip(stamped, np.round(self.reading(stamped), 2), strict=True)]

    def timeline(self, **options: Any) -> Timeline:
        rng = np.random.default_rng(self.seed)
        utterances, marks, calls, sources = [], [], [], []
        for log in self.logs:
            rows = sorted(self.rows(rng, log), key=lambda r: r[0])
            middle = (self.begin + self.end) / 2
            for line, (u, what) in enumerate(rows):
                more = log.reset[1] if log.reset and u >= log.reset[0] else 0.0
                u += rng.gamma(4.0, log.lag / 4) if log.lag else 0.0
                u += rng.exponential(log.latency) if log.latency else 0.0
                own = (u - log.offset - more) - log.ppm * 1e-6 * (u - middle) - (log.zero if log.kind == "elapsed" else 0.0)
                own = np.floor(own) if log.lag else own
                n = len(utterances)
                utterances.append({"utterance": n, "record": n, "source": log.name, "line": line + 1, "time_kind": log.kind,
                                   "own_us": round(own * 1e6) + (BASE.t0_us if log.kind == "utc" else 0), "own_sigma_s": 1.1 if log.lag else 0.01,
                                   "stamp_t_us": round(what["stamp"] * 1e6) if "stamp" in what else None,
                                   "medium": log.medium, "kind": "note", "text": ""})
                if "mark" in what:
                    marks.append({"utterance": n, "clock": "T", "t_s": what["mark"], "says": "either", "grade": "certain",
                                  "form": "minus", "sigma_s": log.sigma})
                if "call" in what:
                    calls.append({"utterance": n, "what": what["call"], "grade": "certain"})
            sources.append({"source": log.name, "format": "notes", "time": log.kind, "entries": len(rows), "rejected": 0,
                            "reference": False})
        speech = SimpleNamespace(
            utterances=tables.UTTERANCES.from_rows(utterances), marks=tables.SPOKEN_MARKS.from_rows(marks),
            calls=tables.CLOCK_CALLS.from_rows(calls), poll_answers=tables.POLL_ANSWERS.empty())
        count = SimpleNamespace(t0_us=BASE.t0_us, window=None, authority={}, stations={},
                                logs=tuple(SimpleNamespace(path=log.name, start_us=None, reference=False) for log in self.logs))
        planned = [{"step": f"H{k}", "t_s": at, "kind": "hold", "duration_s": p} for k, (at, _, p) in enumerate(self.holds) if p]
        table = pd.DataFrame(planned, columns=["step", "t_s", "kind", "duration_s", "action", "by", "to"])
        plan = SimpleNamespace(table=table, holds=table, steps=table[:0])
        made: Any = (speech, tables.SOURCES.from_rows(sources), count, plan)
        return timeline.rebuild(*made, **options)

    def clock_error(self, got: Timeline, points: int = 2000) -> np.ndarray:
        """Absolute error of the rebuilt clock at even instants of what the logs cover."""
        seen = got.utc_us.dropna().astype("int64")
        u = np.linspace((seen.min() - BASE.t0_us) / 1e6 + 1, (seen.max() - BASE.t0_us) / 1e6 - 1, points)
        read = timeline.clock.at(got.clock, BASE.t0_us + np.rint(u * 1e6).astype(np.int64))[0]
        return np.abs(read - self.reading(u))
