"""count.toml as data, with the line on which each key stands, so that every problem can name its line.

A `Document` also collects the problems found in it. Lines are 1-based; a key that is absent has the line of its
table's header, or 0 when there is none. It does not decide what a key means.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from aftercount.errors import Problem

_HEADER = re.compile(r"\s*(\[\[?)([^\]]+)\]\]?\s*(?:#.*)?")
_KEY = re.compile(r"""\s*("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)\s*(?:\.|=)""")
_ERROR_LINE = re.compile(r"\(at line (\d+), column \d+\)")
# A configuration is a page of text; a larger file is not one.
MAX_BYTES = 4_000_000
# difflib's ratio above which a suggestion is worth making: one wrong letter in a short word passes.
_CLOSE = 0.6


def closest(word: str, known: Iterable[str], cutoff: float = _CLOSE) -> str | None:
    """The known word that was probably meant, whatever the case."""
    by_lower = {k.lower(): k for k in known}
    near = difflib.get_close_matches(word.lower(), list(by_lower), n=1, cutoff=cutoff)
    return by_lower[near[0]] if near else None


def suggestion(word: str, known: Iterable[str]) -> str:
    """A hint: the likeliest known word, else the list of them."""
    listed = list(known)
    near = closest(word, listed)
    return f"did you mean '{near}'?" if near else f"known: {', '.join(listed)}" if listed else ""


@dataclass
class Document:
    """A parsed count.toml; `problems` grows as it is checked."""

    file: str
    data: dict[str, Any] = field(default_factory=dict)
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def line(self, *path: str | int) -> int:
        """The line of a key, else of what encloses it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 0)

    def add(self, path: tuple[str | int, ...], code: str, text: str, hint: str = "", *, warn: bool = False) -> None:
        severity = "warning" if warn else "error"
        self.problems.append(Problem(self.file, self.line(*path), f"count-{code}", text, hint, severity))

    def unknown_keys(self, table: dict[str, Any], path: tuple[str | int, ...], known: Iterable[str]) -> None:
        """A misspelt key is an error, never ignored."""
        where = f"[{path[0]}]" if path else "the file"
        for key in table:
            if key not in known:
                self.add((*path, key), "unknown-key", f"unknown key '{key}' in {where}", suggestion(key, known))


def read_document(path: Path) -> Document:
    """count.toml read and parsed; faults are in `problems`, and `data` is empty then."""
    doc = Document(str(path))
    try:
        raw = path.read_bytes() if path.is_file() else None
    except OSError as fault:
        doc.add((), "unreadable", f"cannot be read: {fault.strerror or fault}")
        return doc
    if raw is None:
        doc.add((), "missing", "no count.toml in this folder", "a count folder holds count.toml, plan.csv and logs")
    elif len(raw) > MAX_BYTES:
        doc.add((), "too-large", f"count.toml has {len(raw)} bytes; at most {MAX_BYTES} are read")
    else:
        _parse(doc, raw)
    return doc


def _parse(doc: Document, raw: bytes) -> None:
    try:
        text = raw.decode("utf-8-sig")
        doc.data = tomllib.loads(text)
        doc.lines = _key_lines(text)
    except UnicodeDecodeError as fault:
        line = raw[: fault.start].count(b"\n") + 1
        doc.problems.append(Problem(doc.file, line, "count-encoding", "count.toml must be UTF-8"))
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as fault:
        found = _ERROR_LINE.search(str(fault))
        line = int(found[1]) if found else 0
        message = _ERROR_LINE.sub("", str(fault)).strip()
        doc.problems.append(Problem(doc.file, line, "count-toml", f"not valid TOML: {message}"))


def _key_lines(text: str) -> dict[tuple[str | int, ...], int]:
    """The line of every table header and of every key that starts a line."""
    lines: dict[tuple[str | int, ...], int] = {}
    here: tuple[str | int, ...] = ()
    counts: dict[str, int] = {}
    quoted = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if quoted:
            quoted = "" if quoted in line else quoted
            continue
        header = _HEADER.fullmatch(line)
        if header:
            here = _table_path(header, counts)
            lines.setdefault(here, number)
        elif key := _KEY.match(line):
            lines.setdefault((*here, key[1].strip("\"'")), number)
        quoted = next((q for q in ('"""', "'''") if line.count(q) % 2), "")
    return lines


def _table_path(header: re.Match[str], counts: dict[str, int]) -> tuple[str | int, ...]:
    names = [part.strip().strip("\"'") for part in header[2].split(".")]
    if header[1] == "[[":
        counts[names[0]] = counts.get(names[0], -1) + 1
    return (names[0], counts[names[0]], *names[1:]) if names[0] in counts else tuple(names)
