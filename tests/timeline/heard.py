"""Counts in a few lines: what was heard of the clock, as tables of the speech stage, and the timeline rebuilt from them.

    heard  SOURCE time | T-00:05:00 counting    a count mark; time is UTC hh:mm:ss[.f] of the scheduled day, or seconds
                         T-00:09:00             a mark that says neither
                         ~T-00:09:00            a doubtful one
                         hold | resume | recycle T-00:20:00 | cutoff | scrub | liftoff
                         L-00:40:00             time to the announced T-0
                         T0 15:10:00            an announced T-0
                         stamp T-00:05:00       a count time in a column of its own
                         note                   nothing about the clock
"""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pandas as pd

from aftercount import tables, timeline
from aftercount.counttime import parse_count, parse_duration
from aftercount.timeline import Timeline

CALLS = ("hold", "resume", "recycle", "cutoff", "scrub", "liftoff")


def utc(text: str, day: str = "2031-04-18") -> int:
    """POSIX microseconds of a time of day; `+1 hh:mm:ss` is the day after."""
    shift, _, clock = text.rpartition(" ")
    at = pd.Timestamp(f"{day}T{clock}", tz="UTC") + pd.Timedelta(days=int(shift or 0))
    return round(at.timestamp() * 1e6)


@dataclass
class Heard:
    """t0: scheduled T-0. holds: `T length` a line. kinds: time kind by source (default utc), media likewise (typed); stamps: what its
    stamps are good to, in seconds (0)."""

    t0: str
    heard: str = ""
    holds: str = ""
    day: str = "2031-04-18"
    kinds: dict[str, str] = field(default_factory=dict)
    media: dict[str, str] = field(default_factory=dict)
    starts: dict[str, int] = field(default_factory=dict)
    reference: str | None = None
    sigma_s: float = 1.0
    stamps: dict[str, float] = field(default_factory=dict)
    stations: dict[str, str] = field(default_factory=dict)
    steps: list[dict[str, Any]] = field(default_factory=list)

    @property
    def t0_us(self) -> int:
        return utc(self.t0, self.day)

    def plan(self) -> SimpleNamespace:
        rows = []
        for n, line in enumerate(x for x in self.holds.strip().splitlines() if x.strip()):
            t, length = line.split()
            rows.append({"step": f"H{n}", "t_s": parse_count(t), "kind": "hold", "duration_s": parse_duration(length)})
        rows += [{"kind": "step", "duration_s": None, **s} for s in self.steps]
        table = pd.DataFrame(rows, columns=["step", "t_s", "kind", "duration_s", "action", "by", "to"])
        table["t_s"] = table["t_s"].astype(float)
        table["duration_s"] = table["duration_s"].astype(float)
        return SimpleNamespace(table=table, holds=table[table["kind"] == "hold"], steps=table[table["kind"] != "hold"])

    def rows(self) -> list[tuple[str, str, str]]:
        out = []
        for line in self.heard.strip().splitlines():
            if line.strip():
                where, _, what = line.partition("|")
                source, _, when = where.strip().partition(" ")
                out.append((source, when.strip(), what.strip()))
        return out

    def speech(self) -> SimpleNamespace:
        utterances, marks, calls = [], [], []
        for n, (source, when, what) in enumerate(self.rows()):
            kind = "count" if when.startswith("T") else self.kinds.get(source, "utc")  # one entry may tell the count alone
            own = utc(when, self.day) if ":" in when and kind != "count" else round(float(when) * 1e6) if when and kind != "count" else None
            stamp = parse_count(what.split()[1]) if what.startswith("stamp") else None
            if kind == "count":
                own = round((parse_count(when) or 0.0) * 1e6)
            utterances.append({
                "utterance": n, "record": n, "source": source, "line": n + 1, "time_kind": kind, "own_us": own,
                "own_sigma_s": self.stamps.get(source, 0.0), "stamp_t_us": None if stamp is None else round(stamp * 1e6),
                "station": self.stations.get(source), "medium": self.media.get(source, "typed"),
                "kind": "note", "text": what,
            })
            self._clock_words(n, what, marks, calls)
        return SimpleNamespace(
            utterances=tables.UTTERANCES.from_rows(utterances), marks=tables.SPOKEN_MARKS.from_rows(marks),
            calls=tables.CLOCK_CALLS.from_rows(calls), poll_answers=tables.POLL_ANSWERS.empty())

    def _clock_words(self, n: int, what: str, marks: list[dict[str, Any]], calls: list[dict[str, Any]]) -> None:
        head, *rest = what.split()
        grade = "doubtful" if head.startswith("~") else "certain"
        head = head.lstrip("~")
        mark = {"utterance": n, "says": rest[0] if rest else "either", "grade": grade, "form": "minus", "sigma_s": self.sigma_s}
        if head in CALLS:
            to = parse_count(rest[0]) if rest and head == "recycle" else None
            reason = " ".join(rest) if head in ("hold", "cutoff", "scrub") and rest else None
            calls.append({"utterance": n, "what": head, "grade": grade, "to_t_s": to, "reason": reason})
        elif head == "T0":
            marks.append({**mark, "clock": "T0", "t0_us": utc(rest[0], self.day), "says": "target"})
        elif head.startswith("L"):
            marks.append({**mark, "clock": "L", "t_s": parse_count("T" + head[1:])})
        elif head.startswith("T"):
            marks.append({**mark, "clock": "T", "t_s": parse_count(head)})

    def sources(self) -> pd.DataFrame:
        names = list(dict.fromkeys(r[0] for r in self.rows()))
        return tables.SOURCES.from_rows([
            {"source": s, "format": "notes", "time": self.kinds.get(s, "utc"), "entries": sum(r[0] == s for r in self.rows()),
             "rejected": 0, "reference": s == self.reference} for s in names])

    def count(self) -> SimpleNamespace:
        logs = tuple(SimpleNamespace(path=s, start_us=self.starts.get(s), reference=s == self.reference)
                     for s in dict.fromkeys(r[0] for r in self.rows()))
        return SimpleNamespace(t0_us=self.t0_us, logs=logs, window=None, authority={}, stations={})

    def timeline(self) -> Timeline:
        made: Any = (self.speech(), self.sources(), self.count(), self.plan())
        return timeline.rebuild(*made)


def seconds(value: Any, of: Heard) -> float:
    """An instant as seconds after the scheduled T-0."""
    return float(pd.Timestamp(value).timestamp()) - of.t0_us / 1e6
