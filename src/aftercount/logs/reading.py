"""All logs of one count, as one table of records.

Conventions: files in the order of the count folder; records of a file in file order; record ids 0..n-1. A file that
cannot be read at all is one reject on line 0. `sources.entries` counts entries (a cue that two people share is one), so that
entries + rejected = entries in the file.
It reads time as each log shows it: `timeline` corrects the clocks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from aftercount.logs import delimited, files, frames, jsonl, notes, parquet, sniff, srt, syslog, webvtt
from aftercount.logs.entries import Context, Entries
from aftercount.logs.names import known_names
from aftercount.logs.walltime import Frame
from aftercount.tables import RECORDS, REJECTS, SOURCES

if TYPE_CHECKING:
    from aftercount.count import CountFolder, LogSpec

READERS = {
    "notes": notes.read, "csv": delimited.read, "jsonl": jsonl.read, "webvtt": webvtt.read, "srt": srt.read, "syslog": syslog.read,
}


def read(count: CountFolder, *, held: bool = True) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """(records, rejects, sources) of every log of the count. held: whether its plan has holds (see walltime.Frame)."""
    stations = known_names(count.stations)
    records: list[pd.DataFrame] = []
    rejects: list[dict[str, Any]] = []
    sources: list[dict[str, Any]] = []
    for spec in count.logs:
        name, entries = read_log(spec, count, stations, held=held)
        frame, time = frames.build(spec, count, entries)
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


def read_log(spec: LogSpec, count: CountFolder, stations: dict[str, str], *, held: bool = True) -> tuple[str, Entries]:
    """(format, entries) of one log."""
    content = files.load(spec.file)
    entries = Entries()
    name = spec.format or "notes"
    if not content.unusable:
        name, entries = _entries(content, spec, _context(spec, count, stations, held))
    if spec.time == "none":
        entries.stamp = [None] * len(entries.stamp)
    entries.notes = [*content.notes, *entries.notes]
    for fault in content.faults:
        entries.reject(0, fault, "")
    return name, entries


def _context(spec: LogSpec, count: CountFolder, stations: dict[str, str], held: bool) -> Context:
    bare = spec.time or ("utc" if count.zone.upper() in ("UTC", "GMT", "ETC/UTC", "Z") else "local")
    return Context(Frame(count.t0_us, bare, held), stations, dict(spec.columns), spec.time,
                   frozenset(known_names(count.glossary)))


def _entries(content: files.Content, spec: LogSpec, context: Context) -> tuple[str, Entries]:
    if sniff.is_parquet(content.data) or spec.format == "parquet":
        return "parquet", parquet.read(content.data, context)
    out = Entries()
    if files.is_binary(content.data):
        out.reject(0, "binary data; a text log or Parquet was expected", "")
        return spec.format or "notes", out
    text = files.decode(content)
    content.data = b""  # the largest thing in memory, and no longer needed
    if not text or text.isspace():
        content.notes.append("empty: no line in it")
        return spec.format or sniff.sniff(spec.path, text, context), out
    name = spec.format or sniff.sniff(spec.path, text, context)
    if not spec.format:
        content.notes.append(f"read as {name}: no format is configured")
    return name, READERS[name](text, context)
