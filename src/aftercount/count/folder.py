"""Is this folder a count, and what does it say? Every problem at once; a count only when none of them is an error.

It does not read the plan (that is `plan`) or the logs.
"""

from __future__ import annotations

import os
from pathlib import Path

from aftercount.count.document import Document, read_document
from aftercount.count.logfiles import inside, read_logs
from aftercount.count.model import CountFolder
from aftercount.count.names import check_log_stations, read_authority, read_names
from aftercount.count.settings import read_settings
from aftercount.errors import Problem

TABLES = ("count", "log", "stations", "glossary", "authority")
DECISIONS = "decisions.csv"


def load(folder: Path | str) -> tuple[CountFolder | None, list[Problem]]:
    """The count of a folder and every problem of its count.toml; None when it cannot be used."""
    root = Path(folder)
    if not os.path.isdir(root):
        what = "is not a folder" if os.path.exists(root) else "does not exist"
        return None, [Problem(str(folder), 0, "count-no-folder", f"a count folder was expected; it {what}")]
    doc = read_document(root / "count.toml")
    try:
        count = _build(doc, root) if not doc.problems else None
    except OSError as fault:
        doc.add((), "unreadable", f"the folder cannot be read: {fault.strerror or fault}")
    failed = any(p.severity == "error" for p in doc.problems)
    return (None if failed else count), sorted(doc.problems, key=lambda p: p.line)


def _build(doc: Document, root: Path) -> CountFolder | None:
    doc.unknown_keys(doc.data, (), TABLES)
    found = read_settings(doc)
    stations = read_names(doc, "stations")
    glossary = read_names(doc, "glossary")
    authority = read_authority(doc, stations)
    check_log_stations(doc, stations)
    plan = found.pop("plan", "plan.csv")
    plan_file = inside(doc, root, ("count", "plan"), plan)
    logs = read_logs(doc, root, plan, found.get("zone", "UTC"))
    decisions = inside(doc, root, (DECISIONS,), DECISIONS) if (root / DECISIONS).exists() else None
    if plan_file is None or found.get("t0_us") is None or not found.get("id"):
        return None
    return CountFolder(folder=root, plan_file=plan_file, logs=logs, stations=stations, glossary=glossary,
                       authority=authority, decisions_file=decisions, **found)
