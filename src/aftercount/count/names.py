"""[stations], [glossary] and [authority]: who is on the loops, which terms mean the same, who may stop the count."""

from __future__ import annotations

from typing import Any

from aftercount.count.document import Document, suggestion
from aftercount.count.model import COMMANDS

Names = dict[str, tuple[str, ...]]


def read_names(doc: Document, table: str) -> Names:
    """A table of names, each with its other forms: a list of texts, or one text."""
    given = doc.data.get(table, {})
    if not isinstance(given, dict):
        doc.add((table,), f"bad-{table}", f"[{table}] must be a table")
        return {}
    return {name: _forms(doc, (table, name), value) for name, value in given.items()}


def read_authority(doc: Document, stations: Names) -> Names:
    """Which stations may call a hold, a resume, ...; a station that is not on the list is probably misspelt."""
    found = read_names(doc, "authority")
    doc.unknown_keys(found, ("authority",), COMMANDS)
    for command, names in found.items():
        for name in names:
            if stations and name not in stations:
                hint = suggestion(name, stations)
                doc.add(("authority", command), "unknown-station", f"station '{name}' is not in [stations]", hint, warn=True)
    return {k: v for k, v in found.items() if k in COMMANDS}


def check_log_stations(doc: Document, stations: Names) -> None:
    """A log kept by a station that [stations] does not have: said, not refused."""
    entries = doc.data.get("log", [])
    for number, entry in enumerate(entries if isinstance(entries, list) else []):
        name = entry.get("station") if isinstance(entry, dict) else None
        if stations and isinstance(name, str) and name not in stations:
            hint = suggestion(name, stations)
            doc.add(("log", number, "station"), "unknown-station", f"station '{name}' is not in [stations]", hint, warn=True)


def _forms(doc: Document, path: tuple[str, str], value: Any) -> tuple[str, ...]:
    listed = [value] if isinstance(value, str) else value
    if not isinstance(listed, list) or not all(isinstance(v, str) for v in listed):
        doc.add(path, "bad-forms", f"'{path[1]}' must be a list of texts", f'e.g. {path[1]} = ["test conductor"]')
        return ()
    return tuple(v.strip() for v in listed if v.strip())
