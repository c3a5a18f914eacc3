"""What a sequencer records: the count every half minute, the clock's stops, and the steps it can see, in one of four forms."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import random
from collections.abc import Iterator
from typing import Any
from zoneinfo import ZoneInfo

from .logs import Log, Rows, row_of


def records(log: Log, rng: random.Random) -> tuple[str, Rows]:
    entries = sorted(_told(log, rng), key=lambda e: e[0])
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    rows: Rows = []
    if log.form == "csv":
        table.writerow(["stamp_utc", "countdown", "unit", "event"])
    for n, (at, station, words, more) in enumerate(entries, start=1):
        when = (log.zero + dt.timedelta(seconds=log.own(at))).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
        t = _clock_text(log.story.at(at)[0])
        if log.form == "csv":
            table.writerow([when, t, station, words])
        elif log.form == "jsonl":
            out.write(json.dumps({"ts": when, "unit": station, "event": words, "count": t}) + "\n")
        elif log.form == "syslog":
            out.write(f"<134>1 {when} seq1 {station} - - - {words} ({t})\n")
        else:
            local = (log.zero + dt.timedelta(seconds=log.own(at))).astimezone(ZoneInfo(log.story.scenario.zone))
            out.write(f"<134>{local.strftime('%b %e %H:%M:%S')} seq1 {station}: {words} ({t})\n")
        line = n + (log.form == "csv")
        rows.append(row_of(log, line, line, at, None, station=station, **more))
    return out.getvalue(), rows


def _clock_text(t: float) -> str:
    s = round(abs(t))
    return f"T{'-' if t <= 0 else '+'}{s // 3600:02d}:{s % 3600 // 60:02d}:{s % 60:02d}"


def _told(log: Log, rng: random.Random) -> Iterator[tuple[float, str, str, dict[str, Any]]]:
    story = log.story
    for s in story.segments:
        word = "CLOCK HOLD" if s.state == "holding" else "CLOCK RUN"
        if s.start_t != s.end_t or s.state == "holding":
            yield s.start, "CDC", f"{word} {_clock_text(s.start_t)}", {"kind": "hold" if s.state == "holding" else "resume"}
        if s.state == "counting":
            t = (s.start_t // 30 + 1) * 30
            while t < s.end_t:
                yield s.start + t - s.start_t, "CDC", f"COUNT {_clock_text(t)}", {}
                t += 30
    for d in story.deeds:
        if "m" in d.row.flags:
            words = (d.row.end[0] if d.row.end else d.row.action).upper().replace("'S", "").split(",")[0]
            yield (
                d.begun + (rng.uniform(0.8, 2.0) if d.row.order else 0.0),
                d.row.by,
                words,
                {"step": d.row.step, "pass": d.number, "part": "report", "kind": "report", "machine": True},
            )
