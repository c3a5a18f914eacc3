"""The logs of a count, each kept on a clock of its own: transcripts, typed notes, machine records."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import random
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from .noise import garble
from .radio import Said
from .story import Story

Rows = list[dict[str, Any]]


@dataclass
class Log:
    """kind: voice, typed or machine. offset_s: add it to this log's own time to get UTC. ppm: its drift. begins: of its elapsed zero."""

    kind: str
    path: str
    form: str
    stamp: str
    story: Story
    zero: dt.datetime
    offset_s: float
    ppm: float
    begins: float
    start_known: bool
    labels: str
    noise: float
    toml: dict[str, str] = field(default_factory=dict)

    @classmethod
    def drawn(cls, kind: str, beside: tuple[str, ...], story: Story, zero: dt.datetime, rng: random.Random, noise: float) -> Log:
        """The log that nothing else can correct keeps true time."""
        best = kind == ("machine" if "machine" in beside else "typed" if "typed" in beside else "voice")
        begins = story.segments[0].start - rng.uniform(5, 400)
        if kind == "voice":
            form = rng.choice(["vtt", "vtt", "srt", "json"])
            path = {"vtt": "loop_a.vtt", "srt": "loop a.srt", "json": "asr.jsonl"}[form]
            log = cls(
                kind,
                path,
                form,
                "elapsed",
                story,
                zero,
                rng.choice([0.0, rng.uniform(-9, 9), rng.uniform(-400, 400), 3600.0]),
                rng.gauss(0, 15),
                begins,
                rng.random() < 0.6,
                rng.choice(["names", "names", "colon", "none"]),
                noise,
            )
            if log.start_known:
                log.toml["start"] = (zero + dt.timedelta(seconds=begins - log.offset_s)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
            if form == "json":
                log.toml |= {"columns": '{ time = "t0", text = "hyp", station = "spk" }', "time": '"elapsed"'}
        elif kind == "typed":
            form = rng.choice(["lines", "lines", "lines", "arrow", "table"])
            stamp = rng.choice(["local", "zulu", "day", "full", "local"]) if form != "table" else rng.choice(["full", "local"])
            path = "keeper.csv" if form == "table" else rng.choice(["deskbook.txt", "notes.txt", "log.notes.txt"])
            log = cls(
                kind,
                path,
                form,
                stamp,
                story,
                zero,
                rng.choice([0.0, rng.uniform(-50, 50), rng.uniform(-9, 9)]),
                rng.gauss(0, 8),
                begins,
                True,
                "",
                0.0,
            )
            if form == "table" and rng.random() < 0.5:
                log.toml["columns"] = '{ time = "Clock", text = "Remark", station = "Console" }'
        else:
            form = rng.choice(["csv", "jsonl", "syslog", "oldsyslog"])
            path = {"csv": "autoseq.csv", "jsonl": "autoseq.jsonl", "syslog": "autoseq.log", "oldsyslog": "autoseq.log"}[form] + rng.choice(
                ["", ".gz"]
            )
            log = cls(kind, path, form, "utc", story, zero, 0.0, 0.0, begins, True, "", 0.0)
        if best:
            log.offset_s, log.ppm, log.start_known = 0.0, 0.0, True
            if kind == "voice":
                log.toml["start"] = (zero + dt.timedelta(seconds=begins)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
        return log

    def own(self, at: float) -> float:
        """What this log's clock reads at a true wall time."""
        return at - self.offset_s - (at - self.begins) * self.ppm * 1e-6

    def listed(self) -> dict[str, str]:
        return {"path": json.dumps(self.path)} | self.toml


def row_of(log: Log, first: int, last: int, at: float, said: Said | None, **more: Any) -> dict[str, Any]:
    base: dict[str, Any] = {
        "source": log.path,
        "line": first,
        "line_end": last,
        "step": None,
        "pass": None,
        "part": None,
        "kind": "mark",
        "near_miss": False,
        "near": None,
        "slip": False,
        "utc": (log.zero + dt.timedelta(seconds=at)).strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
        "station": None,
        "to": None,
        "meant": "",
    }
    if said is not None:
        base |= {
            "step": said.step,
            "pass": said.number,
            "part": said.part,
            "kind": said.kind,
            "near_miss": said.near is not None,
            "near": said.near,
            "slip": said.slip,
            "station": said.who,
            "to": said.to,
            "meant": said.words,
        }
    return base | more


def transcript(log: Log, said: list[Said], rng: random.Random) -> tuple[str, Rows]:
    cues: list[list[Said]] = []
    for s in said:
        if cues and s.at - cues[-1][-1].at < 5 and len(cues[-1]) < 3 and rng.random() < 0.35:
            cues[-1].append(s)
        else:
            cues.append([s])
    lines = ["WEBVTT", "", "NOTE recorded on loop A", ""] if log.form == "vtt" else []
    rows: Rows = []
    for n, cue in enumerate(cues, start=1):
        words = [garble(s.words, log.noise, rng) for s in cue]
        start = log.own(cue[0].at) - log.own(log.begins)
        length = max(0.8, sum(len(w.split()) for w in words) / 2.7)
        first = len(lines) + 1
        if log.form == "json":
            lines.append(
                json.dumps(
                    {
                        "t0": round(start, 2),
                        "t1": round(start + length, 2),
                        "spk": cue[0].who if log.labels != "none" and len(cue) == 1 else "",
                        "hyp": " ".join(words),
                    }
                )
            )
        else:
            point = "." if log.form == "vtt" else ","
            lines += [str(n)] if log.form == "srt" else []
            lines.append(f"{_elapsed(start, point)} --> {_elapsed(start + length, point)}")
            if log.labels == "names" and log.form == "vtt":
                lines += [f"<v {s.who}>{w}" for s, w in zip(cue, words, strict=True)]
            elif log.labels == "colon":
                lines += [f"{s.who}: {w}" for s, w in zip(cue, words, strict=True)]
            else:
                lines.append(" ".join(words))
            lines.append("")
        rows += [row_of(log, first, len(lines), s.at, s) for s in cue]
    return "\n".join(lines) + "\n", rows


def _elapsed(seconds: float, point: str) -> str:
    ms = max(0, round(seconds * 1000))
    return f"{ms // 3600000:02d}:{ms // 60000 % 60:02d}:{ms // 1000 % 60:02d}{point}{ms % 1000:03d}"


_KEEP = {"call": 0.6, "response": 0.15, "report": 0.92, "mark": 0.3, "poll": 0.6, "note": 0.5}


def notes(log: Log, said: list[Said], rng: random.Random) -> tuple[str, Rows]:
    kept = [s for s in said if s.near is None and s.typed and rng.random() < _KEEP.get(s.kind, 1.0)]
    heard = {(s.step, s.number) for s in kept}
    for s in sorted(said, key=lambda s: s.part != "report"):
        if s.step is not None and (s.step, s.number) not in heard:
            heard.add((s.step, s.number))
            kept.append(s)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    rows: Rows = []
    if log.form == "table":
        table.writerow(["No", "Clock", "Console", "Remark"])
    haste = rng.uniform(1.0, 4.0)
    late = {id(s): max(0.4, rng.gauss(haste, 1.0)) for s in kept}
    for n, s in enumerate(sorted(kept, key=lambda s: s.at + late[id(s)]), start=1):
        stamp = _stamp(log, s.at + late[id(s)])
        words = s.typed[len(s.who) + 1 :] if s.typed.startswith(s.who + " ") else s.typed
        if log.form == "table":
            table.writerow([n, stamp, s.who, words])
        elif log.form == "arrow":
            head = f"{s.to}: "
            out.write(f"{stamp} {s.who}>{s.to or 'ALL'} {words[len(head) :] if words.startswith(head) else words}\n")
        else:
            out.write(f"{stamp} {s.who}: {words}\n" if ":" in words.split(" ")[0] or rng.random() < 0.7 else f"{stamp} {s.who} {words}\n")
        line = n + (log.form == "table")
        rows.append(row_of(log, line, line, s.at, s))
    return out.getvalue(), rows


def _stamp(log: Log, at: float) -> str:
    when = log.zero + dt.timedelta(seconds=int(log.own(at)))
    here = when.astimezone(ZoneInfo(log.story.scenario.zone))
    return {
        "local": here.strftime("%H:%M:%S"),
        "zulu": when.strftime("%H%M:%SZ"),
        "day": when.strftime("%j/%H:%M:%SZ"),
        "full": here.strftime("%Y-%m-%d %H:%M:%S"),
    }[log.stamp]
