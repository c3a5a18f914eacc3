"""JSON lines: one JSON value a line; an array of objects over many lines is read too.

Samples:   {"time": "2031-04-18T14:25:03.120Z", "station": "PROP", "text": "tank press complete"}
           {"ts": 1934288703120, "event": {"name": "VALVE_OPEN", "by": "PROP"}, "count": "T-00:05:00"}
Conventions: nested names are joined by dots (`event.name`); the last of a name given twice counts; lists are joined by
blanks; null and NaN are empty cells. A value that is no object is a reject.
"""

from __future__ import annotations

import json
import re
from typing import Any

from aftercount.logs.entries import LONGEST_ENTRY, Context, Entries
from aftercount.logs.tabular import Rows
from aftercount.logs.tabular import read as read_rows

# Deeper nesting or more names than a log of events has: read no further.
_DEEPEST, _WIDEST = 6, 300
_LONE_SURROGATE = re.compile("[\ud800-\udfff\0]")


def read(text: str, context: Context) -> Entries:
    """All objects of a JSON lines file."""
    out = Entries()
    found: list[tuple[int, dict[str, str]]] = []
    for line, value, raw in _values(text, out):
        if isinstance(value, dict):
            flat: dict[str, str] = {}
            _flatten(value, "", flat, 0)
            found.append((line, flat))
        else:
            out.reject(line, f"a JSON object was expected, not {_kind(value)}", raw)
    header = list(dict.fromkeys(name for _, flat in found for name in flat))[:_WIDEST]
    cells = [[flat.get(name, "") for name in header] for _, flat in found]
    return read_rows(Rows(header, [n for n, _ in found], cells), context, out)


def _values(text: str, out: Entries) -> Any:
    """(line, value, raw) of each JSON value."""
    if text.lstrip()[:1] == "[" and (listed := _array(text)) is not None:
        yield from listed
        return
    for number, raw in enumerate(text.split("\n"), 1):
        if not raw.strip():
            continue
        if len(raw) > 4 * LONGEST_ENTRY:
            out.reject(number, f"a line of {len(raw)} characters; at most {4 * LONGEST_ENTRY} are read", raw)
            continue
        try:
            yield number, json.loads(raw.strip().strip("\ufeff\x1e"), parse_int=_integer), raw
        except (ValueError, RecursionError) as error:
            out.reject(number, f"not JSON: {getattr(error, 'msg', 'nested too deeply')}", raw)


def _integer(text: str) -> Any:
    return int(text) if len(text) < 40 else float("nan")


def _array(text: str) -> list[tuple[int, Any, str]] | None:
    """The elements of one array that is the whole file, each with the line it starts on; None if it is not that."""
    decoder = json.JSONDecoder(parse_int=_integer)
    found: list[tuple[int, Any, str]] = []
    at, line, seen = text.index("[") + 1, 1, 0
    try:
        while True:
            skipped = re.compile(r"[\s,]*").match(text, at)
            at = skipped.end() if skipped else at
            if text[at:at + 1] == "]":
                return found if not text[at + 1:].strip() else None
            value, end = decoder.raw_decode(text, at)
            line, seen = line + text.count("\n", seen, at), at
            found.append((line, value, text[at:min(end, at + 1000)]))
            at = end
    except (ValueError, RecursionError):
        return None


def _flatten(value: dict[str, Any], prefix: str, into: dict[str, str], depth: int) -> None:
    for name, inner in value.items():
        key = f"{prefix}{name}"
        if isinstance(inner, dict) and depth < _DEEPEST:
            _flatten(inner, f"{key}.", into, depth + 1)
        elif len(into) < _WIDEST:
            into[key] = _cell(inner)


def _cell(value: Any) -> str:
    if value is None or (isinstance(value, float) and value != value):
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return " ".join(_cell(v) if not isinstance(v, (list, dict)) else json.dumps(v) for v in value[:50])
    if isinstance(value, dict):
        return json.dumps(value)[:LONGEST_ENTRY]
    return _LONE_SURROGATE.sub("\ufffd", str(value))


def _kind(value: Any) -> str:
    return {list: "a list", str: "a text", bool: "true or false", type(None): "null"}.get(type(value), "a number")
