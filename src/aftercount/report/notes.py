"""What did people write down in the debrief? notes.toml, exported from the page and read back at the next run.

    [[topic]]
    about = "hold at T-00:05:00 pass 1"
    title = "Unplanned hold at T-00:05:00"
    meant = "..."       # what was meant to happen
    happened = "..."    # what did
    why = "..."
    next = "..."        # what next
    owner = "PROP"
    due = "2031-04-25"

`about` is a topic's key; notes whose topic no longer exists are still shown. An unknown key is an error: a person's
words must not be lost without a sound.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from aftercount.errors import InputError, Problem

FILE_NAME = "notes.toml"
_MOST_BYTES = 2_000_000  # far beyond what people type in a debrief


@dataclass(frozen=True)
class Note:
    """The four questions, an owner and a due date, all as typed."""

    about: str
    title: str = ""
    meant: str = ""
    happened: str = ""
    why: str = ""
    next: str = ""
    owner: str = ""
    due: str = ""


_KEYS = tuple(f.name for f in fields(Note))


def load_notes(path: Path) -> tuple[Note, ...]:
    """The notes in `path`. Raises InputError with every problem found in it."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise InputError([Problem(str(path), 0, "notes-too-large", f"expected at most {_MOST_BYTES} bytes")])
        document = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise InputError([Problem(str(path), 0, "notes-missing", f"cannot be read: {error.strerror}")]) from error
    except ValueError as error:
        raise InputError([Problem(str(path), 0, "notes-unreadable", f"expected TOML in UTF-8: {error}")]) from error
    problems = [_problem(path, f"unknown key {k!r} outside a topic", "expected only [[topic]]") for k in document if k != "topic"]
    entries = document.get("topic", [])
    if not isinstance(entries, list):
        raise InputError([_problem(path, "'topic' is not a list of tables", "expected [[topic]]")])
    for number, entry in enumerate(entries, 1):
        problems += _check(path, number, entry)
    if problems:
        raise InputError(problems)
    return tuple(Note(**{k: str(v) for k, v in entry.items()}) for entry in entries)


def _check(path: Path, number: int, entry: Any) -> list[Problem]:
    if not isinstance(entry, dict) or not entry.get("about"):
        return [_problem(path, f"topic {number} has no 'about'", "expected the key of a topic")]
    found = []
    for key, value in entry.items():
        near = get_close_matches(key, _KEYS, n=1)
        if key not in _KEYS:
            found.append(_problem(path, f"topic {number}: unknown key {key!r}", f"did you mean {near[0]!r}?" if near else f"expected {', '.join(_KEYS)}"))
        elif isinstance(value, list | dict):
            found.append(_problem(path, f"topic {number}: {key!r} is not a text", "expected a text"))
    return found


def _problem(path: Path, text: str, hint: str) -> Problem:
    return Problem(str(path), 0, "notes-bad", text, hint)
