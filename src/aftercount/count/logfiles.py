"""Which files are the logs: the [[log]] entries of count.toml, else every known file of the folder.

A path is relative to the folder and stays inside it, links followed: count.toml may come from anyone, and must not be
able to make the tool read another file of the machine. It does not open the logs: the readers do.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path, PurePath
from typing import Any

from aftercount.count.document import Document, suggestion
from aftercount.count.model import FORMATS, LOG_COLUMNS, TIMES, LogSpec
from aftercount.count.settings import instant_us, text_of

KEYS = ("path", "format", "time", "start", "net", "station", "reference", "columns")
PACKED = (".gz", ".gzip", ".zst", ".zstd")
# What may be a log by its name, and the format the name tells; '' where only the content can.
FORMAT_OF_SUFFIX = {
    ".vtt": "webvtt", ".webvtt": "webvtt", ".srt": "srt", ".csv": "csv", ".tsv": "csv", ".tab": "csv", ".jsonl": "jsonl",
    ".ndjson": "jsonl", ".json": "jsonl", ".parquet": "parquet", ".pq": "parquet", ".syslog": "syslog", ".log": "",
    ".txt": "", ".text": "", ".notes": "notes",
}
# Files of a count folder that are never logs, by stem; the plan is left out by its own name.
NOT_LOGS = ("count", "notes.toml", "decisions", "truth", "readme")


def suffix_of(name: str) -> str:
    """The telling suffix of a file's name, packed or not: '.txt' of 'notes.txt.gz'."""
    path = PurePath(name.lower())
    while path.suffix in PACKED:
        path = path.with_suffix("")
    return path.suffix


def read_logs(doc: Document, folder: Path, plan: str, zone: str) -> tuple[LogSpec, ...]:
    """Every log that can be read; problems go to the document."""
    entries = doc.data.get("log")
    if entries is None:
        return tuple(_found(doc, folder, plan))
    if not isinstance(entries, list) or not all(isinstance(e, dict) for e in entries):
        doc.add(("log",), "bad-log", "logs are given as [[log]] tables, one a file, with two brackets")
        return ()
    specs = [_spec(doc, folder, (number, entry), zone) for number, entry in enumerate(entries)]
    logs = [s for s in specs if s is not None]
    _no_twins(doc, specs)
    if not entries:
        doc.add(("log",), "no-logs", "there is no log to review", "name one in [[log]], or leave [[log]] out", warn=True)
    return tuple(logs)


def inside(doc: Document, folder: Path, path: tuple[str | int, ...], given: str) -> Path | None:
    """The file a path names, if it is a regular file inside the folder."""
    if "\0" in given or not given:
        doc.add(path, "bad-path", f"{path[-1]} must name a file of the folder")
        return None
    file = folder / given
    try:
        resolved = file.resolve()
        if not resolved.is_relative_to(folder.resolve()):
            doc.add(path, "outside", f"'{given}' leads outside the count folder", "put the file into the folder")
        elif resolved.is_file():
            return file
        else:
            what = "is not a file" if resolved.exists() else "does not exist"
            near = suggestion(given, [str(f.relative_to(folder)) for f in _files(folder)])
            doc.add(path, "no-file", f"'{given}' {what}", near if near.startswith("did") else "")
    except (OSError, RuntimeError) as fault:
        doc.add(path, "no-file", f"'{given}' cannot be reached: {fault}")
    return None


def _spec(doc: Document, folder: Path, numbered: tuple[int, dict[str, Any]], zone: str) -> LogSpec | None:
    number, entry = numbered
    at: tuple[str | int, ...] = ("log", number)
    doc.unknown_keys(entry, at, KEYS)
    if "path" not in entry:
        doc.add(at, "no-path", "this [[log]] has no path")
        return None
    given = text_of(doc, (*at, "path"), entry["path"])
    file = inside(doc, folder, (*at, "path"), given)
    texts = {k: text_of(doc, (*at, k), entry[k]) or None for k in ("net", "station") if k in entry}
    reference = entry.get("reference", False)
    if not isinstance(reference, bool):
        doc.add((*at, "reference"), "not-bool", "reference must be true or false")
        reference = False
    start = instant_us(doc, (*at, "start"), entry["start"], zone) if "start" in entry else None
    form = _one_of(doc, (*at, "format"), entry.get("format"), FORMATS)
    time = _one_of(doc, (*at, "time"), entry.get("time"), TIMES)
    columns = _columns(doc, (*at, "columns"), entry.get("columns", {}))
    if file is None:
        return None
    return LogSpec(given, file, form, time, start, texts.get("net"), texts.get("station"), reference, columns)


def _one_of(doc: Document, path: tuple[str | int, ...], value: Any, known: tuple[str, ...]) -> str | None:
    if value is None or (isinstance(value, str) and value in known):
        return value
    word = value if isinstance(value, str) else str(value)
    doc.add(path, f"unknown-{path[-1]}", f"unknown {path[-1]} '{word}'", suggestion(word, known))
    return None


def _columns(doc: Document, path: tuple[str | int, ...], value: Any) -> dict[str, str]:
    if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
        doc.add(path, "bad-columns", 'columns must be a table of names, e.g. { time = "stamp", text = "message" }')
        return {}
    doc.unknown_keys(value, path, LOG_COLUMNS)
    return {k: v for k, v in value.items() if k in LOG_COLUMNS}


def _no_twins(doc: Document, specs: list[LogSpec | None]) -> None:
    """One file twice would count every utterance twice; two references contradict each other."""
    seen: dict[Path, str] = {}
    references = []
    for number, spec in enumerate(specs):
        if spec is None:
            continue
        same = seen.setdefault(spec.file.resolve(), spec.path)
        if any(s is not None and s.file.resolve() == spec.file.resolve() for s in specs[:number]):
            doc.add(("log", number, "path"), "log-twice", f"'{spec.path}' is the same file as '{same}'")
        if spec.reference:
            references.append(number)
    for number in references[1:]:
        doc.add(("log", number, "reference"), "two-references", "only one log can be the time reference")


def _files(folder: Path) -> Iterator[Path]:
    """The visible files of the folder, by name."""
    for file in sorted(folder.iterdir()):
        if not file.name.startswith((".", "~$")) and file.is_file():
            yield file


def _found(doc: Document, folder: Path, plan: str) -> Iterator[LogSpec]:
    """Without [[log]] every known file is a log; what is not taken is said, never dropped silently."""
    count = 0
    for file in _files(folder):
        name = file.name.lower()
        if file.name == plan or name.split(".")[0] in NOT_LOGS or name.endswith((".toml", "truth.json")):
            continue
        if suffix_of(file.name) not in FORMAT_OF_SUFFIX:
            doc.add((), "not-read", f"'{file.name}' is not a known log file, and is not read", warn=True)
            continue
        if inside(doc, folder, (file.name,), file.name):
            count += 1
            yield LogSpec(file.name, file)
    if not count:
        doc.add((), "no-logs", "there is no log in this folder", "add a notes.txt, or name the logs in [[log]]", warn=True)
