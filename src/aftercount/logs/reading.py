"""All logs of one count, as one table of records.

Conventions: files in the order of the count folder; records of a file in file order; record ids 0..n-1. A file that
cannot be read at all is one reject on line 0. `sources.entries` counts entries (a cue that two people share is one), so that
entries + rejected = entries in the file.
It reads time as each log shows it: `timeline` corrects the clocks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from aftercount.logs import delimited, files, jsonl, notes, parquet, sniff, srt, syslog, webvtt
from aftercount.logs.dating import counts_from_zero, place
from aftercount.logs.entries import Context, Entries
from aftercount.logs.names import known_names
from aftercount.logs.walltime import Frame
from aftercount.tables import RECORDS, REJECTS, SOURCES

if TYPE_CHECKING:
    from aftercount.count import CountFolder, LogSpec

READERS = {
    "notes": notes.read, "csv": delimited.read, "jsonl": jsonl.read, "webvtt": webvtt.read, "srt": srt.read, "syslog": syslog.read,
}


def read(count: CountFolder) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """(records, rejects, sources) of every log of the count."""
    stations = known_names(count.stations)
    records: list[pd.DataFrame] = []
    rejects: list[dict[str, Any]] = []
    sources: list[dict[str, Any]] = []
    for spec in count.logs:
        name, entries = read_log(spec, count, stations)
        frame, time = _records(spec, count, entries)
        records.append(frame)
        entries.rejects.sort(key=lambda r: r.line)
        rejects += [{"source": spec.path, "line": r.line, "reason": r.reason, "raw": r.raw} for r in entries.rejects]
        sources.append({
            "source": spec.path, "format": name, "time": time, "entries": len(frame) - entries.shared,
            "rejected": len(entries.rejects), "reference": spec.reference, "note": "; ".join(dict.fromkeys(entries.notes)) or None,
        })
    full = [f for f in records if len(f)]
    together = pd.concat(full, ignore_index=True) if full else RECORDS.empty()
    together["record"] = range(len(together))
    return RECORDS.conform(together), REJECTS.from_rows(rejects), SOURCES.from_rows(sources)


def read_log(spec: LogSpec, count: CountFolder, stations: dict[str, str]) -> tuple[str, Entries]:
    """(format, entries) of one log."""
    content = files.load(spec.file)
    entries = Entries()
    name = spec.format or "notes"
    if not content.unusable:
        name, entries = _entries(content, spec, _context(spec, count, stations))
    if spec.time == "none":
        entries.stamp = [None] * len(entries.stamp)
    entries.notes = [*content.notes, *entries.notes]
    for fault in content.faults:
        entries.reject(0, fault, "")
    return name, entries


def _context(spec: LogSpec, count: CountFolder, stations: dict[str, str]) -> Context:
    bare = spec.time or ("utc" if count.zone.upper() in ("UTC", "GMT", "ETC/UTC", "Z") else "local")
    return Context(Frame(count.t0_us, bare), stations, dict(spec.columns), spec.time,
                   frozenset(known_names(count.glossary)))


def _entries(content: files.Content, spec: LogSpec, context: Context) -> tuple[str, Entries]:
    if sniff.is_parquet(content.data) or spec.format == "parquet":
        return "parquet", parquet.read(content.data, context)
    out = Entries()
    if files.is_binary(content.data):
        out.reject(0, "binary data; a text log or Parquet was expected", "")
        return spec.format or "notes", out
    text = files.decode(content)
    if not text.strip():
        content.notes.append("empty")
        return spec.format or sniff.sniff(spec.path, text, context), out
    name = spec.format or sniff.sniff(spec.path, text, context)
    if not spec.format:
        content.notes.append(f"format {name} by its look")
    return name, READERS[name](text, context)


def _records(spec: LogSpec, count: CountFolder, entries: Entries) -> tuple[pd.DataFrame, str]:
    """One file's rows of RECORDS, and its kind of time for SOURCES."""
    local = any(s is not None and s.kind.endswith("local") for s in entries.stamp)
    if spec.time is None and counts_from_zero(entries.stamp, count.t0_us):
        entries.stamp = [s._replace(kind="elapsed") if s is not None and s.kind.startswith("day_") else s for s in entries.stamp]
        entries.notes.append("times read as elapsed since the log began")
    dated = place(entries.stamp, count.t0_us, count.zone)
    if dated.bad:
        entries.drop(dated.bad)
        dated = place(entries.stamp, count.t0_us, count.zone)
    size = len(entries.line)
    frame = pd.DataFrame({
        "record": range(size), "source": [spec.path] * size, "line": entries.line,
        "raw_time": pd.Series(entries.raw_time, dtype="str"), "time_kind": pd.Series(dated.kinds, dtype="str"),
        "own_us": pd.array(dated.us, dtype="Int64"), "dur_us": entries.dur_us,
        "resolution_s": [s.resolution_s if s is not None else 0.0 for s in entries.stamp],
        "stamp_t_us": pd.array(entries.stamp_t_us, dtype="Int64"),
        "station": _filled(entries.station, spec.station), "to": _filled(entries.to, None), "net": _filled(entries.net, spec.net),
        "medium": [entries.medium] * size, "text": pd.Series(entries.text, dtype="str"),
    })
    return frame, _kind_of_log(dated.kinds, local, spec)


def _filled(values: list[str | None], default: str | None) -> pd.Series:
    return pd.Series([v or default for v in values], dtype="str")


def _kind_of_log(kinds: list[str], local: bool, spec: LogSpec) -> str:
    """The kind most entries have; ties and none at all go by what was configured."""
    times = {k: kinds.count(k) for k in ("utc", "count", "elapsed")}
    best = max(times, key=lambda k: times[k])
    if not times[best]:
        return spec.time or "none"
    return "local" if best == "utc" and local else best
