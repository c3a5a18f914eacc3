"""Write a count folder from text in a test, so that tests read like the user's own files."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent


def write_count(folder: Path, toml: str, plan: str, logs: dict[str, str]) -> Path:
    """The folder, holding count.toml, plan.csv and the logs by file name; indentation common to all lines is dropped."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in {"count.toml": toml, "plan.csv": plan, **logs}.items():
        (folder / name).write_text(dedent(text).lstrip("\n"), encoding="utf-8")
    return folder
