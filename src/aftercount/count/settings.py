"""The [count] table: which count this was, its scheduled T-0, window, zone, tolerances and plan.

Conventions: instants become int64 microseconds UTC; a time with no offset is read in `zone`, with a warning.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import zoneinfo
from typing import Any

from aftercount.count.document import Document, suggestion
from aftercount.count.model import DEFAULT_EARLY_S, DEFAULT_LATE_S, KINDS
from aftercount.counttime import datetime_us, parse_duration

KEYS = ("id", "title", "kind", "t0", "window", "zone", "plan", "early_s", "late_s")
_EXAMPLE = "e.g. 2031-04-18T14:30:00Z"
# An id names folders and rows; a longer one is a mistake.
_ID_LENGTH = 200

Path = tuple[str | int, ...]


def read_settings(doc: Document) -> dict[str, Any]:
    """The checked values by CountFolder field; a value that failed its check is absent or its default."""
    table = doc.data.get("count")
    if not isinstance(table, dict):
        hint = suggestion("count", [k for k in doc.data if k not in ("log", "stations", "glossary", "authority")])
        doc.add(("count",), "no-count-table", "no [count] table: it gives at least id and t0", hint.replace("known", "found"))
        return {}
    doc.unknown_keys(table, ("count",), KEYS)
    zone = _zone(doc, table.get("zone", "UTC"))
    found: dict[str, Any] = {"zone": zone, "kind": _choice(doc, table.get("kind", KINDS[0]))}
    found["id"] = _id(doc, table)
    found["title"] = text_of(doc, ("count", "title"), table.get("title", "")) or found["id"]
    found["t0_us"] = _t0(doc, table, zone)
    found["window"] = _window(doc, table, zone)
    found["plan"] = text_of(doc, ("count", "plan"), table.get("plan", "plan.csv")) or "plan.csv"
    found["early_s"] = _tolerance(doc, table, "early_s", DEFAULT_EARLY_S)
    found["late_s"] = _tolerance(doc, table, "late_s", DEFAULT_LATE_S)
    return found


def text_of(doc: Document, path: Path, value: Any) -> str:
    """A string value, without surrounding blanks; '' and a problem when it is not one."""
    if isinstance(value, str):
        return value.strip()
    doc.add(path, "not-text", f"{path[-1]} must be a text in quotes, not {_seen(value)}")
    return ""


def instant_us(doc: Document, path: Path, value: Any, zone: str) -> int | None:
    """The microseconds of a TOML date-time, or of a text that holds one."""
    if isinstance(value, str):
        with contextlib.suppress(ValueError):
            value = dt.datetime.fromisoformat(value.strip())
    if not isinstance(value, dt.datetime):
        doc.add(path, "bad-time", f"{path[-1]} must be a date and time with its zone, not {_seen(value)}", _EXAMPLE)
        return None
    if value.tzinfo is None:
        doc.add(path, "no-offset", f"{path[-1]} has no zone; read as {zone}", "end it with Z for UTC", warn=True)
        value = value.replace(tzinfo=zoneinfo.ZoneInfo(zone))
    return datetime_us(value)


def _id(doc: Document, table: dict[str, Any]) -> str:
    if "id" not in table:
        doc.add(("count", "id"), "no-id", "[count] has no id", 'e.g. id = "heron-7-r03"')
        return ""
    found = text_of(doc, ("count", "id"), table["id"])
    if isinstance(table["id"], str) and not _is_name(found):
        doc.add(("count", "id"), "bad-id", f"id must be 1 to {_ID_LENGTH} printable characters without slashes")
        return ""
    return found


def _is_name(text: str) -> bool:
    """Whether an id can name a folder: the review of a count may be filed under it."""
    return bool(text.strip(".")) and text.isprintable() and not set("/\\") & set(text) and len(text) <= _ID_LENGTH


def _t0(doc: Document, table: dict[str, Any], zone: str) -> int | None:
    if "t0" not in table:
        doc.add(("count", "t0"), "no-t0", "[count] has no t0, the scheduled T-0", _EXAMPLE)
        return None
    return instant_us(doc, ("count", "t0"), table["t0"], zone)


def _window(doc: Document, table: dict[str, Any], zone: str) -> tuple[int, int] | None:
    path = ("count", "window")
    value = table.get("window")
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2:
        doc.add(path, "bad-window", "window must be two times, [opens, closes]")
        return None
    opens, closes = (instant_us(doc, path, v, zone) for v in value)
    if opens is None or closes is None:
        return None
    if closes < opens:
        doc.add(path, "bad-window", "window closes before it opens")
        return None
    return opens, closes


def _zone(doc: Document, value: Any) -> str:
    path = ("count", "zone")
    name = text_of(doc, path, value) or "UTC"
    try:
        zoneinfo.ZoneInfo(name)
    except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
        near = suggestion(name, sorted(zoneinfo.available_timezones()))
        doc.add(path, "unknown-zone", f"unknown zone '{name}'", near if near.startswith("did") else "an IANA name, e.g. Europe/Oslo")
        return "UTC"
    return name


def _choice(doc: Document, value: Any) -> str:
    path = ("count", "kind")
    kind = text_of(doc, path, value)
    if kind in KINDS:
        return kind
    if isinstance(value, str):
        doc.add(path, "unknown-kind", f"unknown kind '{kind}'", suggestion(kind, KINDS))
    return KINDS[0]


def _tolerance(doc: Document, table: dict[str, Any], key: str, default: float) -> float:
    value = table.get(key, default)
    size = parse_duration(value) if isinstance(value, str) else value
    if isinstance(size, bool) or not isinstance(size, (int, float)) or not 0 <= size < float("inf"):
        doc.add(("count", key), "bad-tolerance", f"{key} must be seconds, 0 or more, not {_seen(value)}")
        return default
    return float(size)


def _seen(value: Any) -> str:
    return f"{value!r}"[:60] if not isinstance(value, (dt.date, dt.time)) else str(value)
