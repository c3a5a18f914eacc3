"""A count as data, so that a test can change it in one way and write it in any format.

Conventions: `us` is the log's own clock: POSIX microseconds UTC, or since the start of the recording in a log with
`elapsed`. `Scene.write` gives a count folder. The writers share nothing with the readers they try.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

US = 1_000_000
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
_CUE_US = 2 * US


@dataclass(frozen=True)
class Entry:
    us: int
    who: str | None
    words: str
    to: str | None = None
    count: str | None = None  # a count time in a column of its own


@dataclass(frozen=True)
class Log:
    name: str  # without suffix
    form: str  # notes | csv | jsonl | webvtt | srt | syslog
    entries: tuple[Entry, ...]
    elapsed: bool = False
    start_us: int | None = None
    net: str | None = None
    reference: bool = False

    @property
    def path(self) -> str:
        suffix = {"notes": "txt", "webvtt": "vtt", "syslog": "log"}.get(self.form, self.form)
        return f"{self.name}.{suffix}"

    def text(self) -> str:
        return WRITERS[self.form](self)


@dataclass(frozen=True)
class Scene:
    id: str
    t0_us: int
    plan: tuple[dict[str, str], ...]
    stations: dict[str, list[str]]
    logs: tuple[Log, ...]
    glossary: dict[str, list[str]] = field(default_factory=dict)

    def log(self, name: str) -> Log:
        return next(log for log in self.logs if log.name == name)

    def with_log(self, log: Log) -> Scene:
        """The scene with the log of that name replaced."""
        return replace(self, logs=tuple(log if old.name == log.name else old for old in self.logs))

    def toml(self) -> str:
        lines = ["[count]", f'id = "{self.id}"', f"t0 = {_iso(self.t0_us)}", ""]
        for log in self.logs:
            lines += ["[[log]]", f'path = "{log.path}"', f'format = "{log.form}"', f'time = "{"elapsed" if log.elapsed else "utc"}"']
            lines += [f"start = {_iso(log.start_us)}"] if log.start_us is not None else []
            lines += [f'net = "{log.net}"'] if log.net else []
            lines += ["reference = true"] if log.reference else []
            lines.append("")
        for table, names in (("stations", self.stations), ("glossary", self.glossary)):
            lines += [f"[{table}]", *(f"{json.dumps(name)} = {json.dumps(forms)}" for name, forms in names.items()), ""]
        return "\n".join(lines)

    def write(self, folder: Path) -> Path:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "count.toml").write_text(self.toml(), encoding="utf-8")
        sink = io.StringIO()
        columns = list(dict.fromkeys(name for row in self.plan for name in row))
        writer = csv.DictWriter(sink, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(self.plan)
        (folder / "plan.csv").write_text(sink.getvalue(), encoding="utf-8")
        for log in self.logs:
            (folder / log.path).write_text(log.text(), encoding="utf-8")
        return folder


def _iso(us: int) -> str:
    at = _EPOCH + dt.timedelta(microseconds=us)
    return at.strftime("%Y-%m-%dT%H:%M:%S") + (f".{us % US:06d}" if us % US else "") + "Z"


def _notes(log: Log) -> str:
    return "".join(f"{_iso(e.us).replace('T', ' ')} {_head(e)}{e.words}\n" for e in log.entries)


def _head(e: Entry) -> str:
    return "" if e.who is None else f"{e.who}: " if e.to is None else f"{e.who} to {e.to}: "


def _csv(log: Log) -> str:
    sink = io.StringIO()
    writer = csv.writer(sink, lineterminator="\n")
    writer.writerow(["time", "station", "to", "message", *(["count"] if _counted(log) else [])])
    for e in log.entries:
        writer.writerow([_iso(e.us), e.who or "", e.to or "", e.words, *([e.count or ""] if _counted(log) else [])])
    return sink.getvalue()


def _counted(log: Log) -> bool:
    return any(e.count for e in log.entries)


def _jsonl(log: Log) -> str:
    rows: list[dict[str, Any]] = [{"time": _iso(e.us), "station": e.who, "to": e.to, "message": e.words} for e in log.entries]
    rows = [row | ({"count": e.count} if e.count else {}) for row, e in zip(rows, log.entries, strict=True)]
    return "".join(json.dumps({k: v for k, v in row.items() if v is not None}) + "\n" for row in rows)


def _cue_time(us: int, point: str) -> str:
    return f"{us // (3600 * US):02d}:{us // (60 * US) % 60:02d}:{us // US % 60:02d}{point}{us // 1000 % 1000:03d}"


def _cues(log: Log) -> list[tuple[int, int, Entry]]:
    """Cue times since the start of the recording; no cue runs into the next."""
    at = [e.us if log.elapsed else e.us - (log.start_us or 0) for e in log.entries]
    ends = [min(a + _CUE_US, b) if b > a else a + _CUE_US for a, b in zip(at, [*at[1:], 1 << 60], strict=True)]
    return list(zip(at, ends, log.entries, strict=True))


def _called(e: Entry) -> str:
    """On a loop the called station is named first."""
    return f"{e.to}, {e.who}, {e.words}" if e.to and e.who else e.words


def _webvtt(log: Log) -> str:
    cues = [f"{_cue_time(a, '.')} --> {_cue_time(b, '.')}\n{f'<v {e.who}>' if e.who else ''}{_called(e)}\n" for a, b, e in _cues(log)]
    return "\n".join(["WEBVTT\n", *cues])


def _srt(log: Log) -> str:
    return "\n".join(f"{i}\n{_cue_time(a, ',')} --> {_cue_time(b, ',')}\n{f'{e.who}: ' if e.who else ''}{_called(e)}\n"
                     for i, (a, b, e) in enumerate(_cues(log), 1))


def _syslog(log: Log) -> str:
    return "".join(f"<134>1 {_iso(e.us)} pad {e.who or '-'} - - - {e.words}\n" for e in log.entries)


WRITERS = {"notes": _notes, "csv": _csv, "jsonl": _jsonl, "webvtt": _webvtt, "srt": _srt, "syslog": _syslog}


def as_transcript(log: Log, form: str, lead_us: int = 0) -> Log:
    """The same entries as cues of a recording that began `lead_us` before the first of them, and whose start is known."""
    start = log.entries[0].us - lead_us
    return replace(log, form=form, elapsed=True, start_us=start, entries=tuple(replace(e, us=e.us - start) for e in log.entries))
