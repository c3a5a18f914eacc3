"""What the command line prints, and how: problems to stderr one a line, results to stdout, progress on a terminal only.

Text from the input may hold line breaks and control codes: none of it reaches the terminal. It decides nothing.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from typing import Any

import click

from aftercount.errors import Problem

_CLEAR_LINE = "\r\x1b[K"


def complain(problems: Sequence[Problem]) -> None:
    for problem in problems:
        if problem.severity == "error":
            click.echo(f"aftercount: {one_line(str(problem))}", err=True)


def warn(problems: Sequence[Problem]) -> None:
    for problem in problems:
        click.echo(f"warning: {one_line(str(problem))}", err=True)


def one_line(text: str) -> str:
    """Text from the input may hold line breaks and terminal control codes: neither reaches the terminal."""
    return "".join(c if c.isprintable() else " " for c in text)


def place(fault: Exception) -> str:
    """Kind, message and innermost line of ours: what a report of the fault needs, on one line."""
    trail, where = fault.__traceback__, "?"
    while trail is not None:
        module = trail.tb_frame.f_globals.get("__name__", "")
        if module.startswith("aftercount"):
            where = f"{module}:{trail.tb_lineno}"
        trail = trail.tb_next
    return f"{type(fault).__name__} in {where}: {one_line(str(fault))[:200]}"


def progress() -> Callable[[str], None] | None:
    """Stage names on a terminal, each in place of the one before; nothing in a pipe."""
    if not sys.stderr.isatty():
        return None
    return lambda stage: click.echo(f"{_CLEAR_LINE}{stage} ...", err=True, nl=False)


def end_progress() -> None:
    if sys.stderr.isatty():
        click.echo(_CLEAR_LINE, err=True, nl=False)


def problem_dict(problem: Problem) -> dict[str, Any]:
    return {"file": problem.file, "line": problem.line, "code": problem.code, "severity": problem.severity,
            "text": problem.text, "hint": problem.hint}


def print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, default=str))


def figure(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name} {figure(part)}" for name, part in value.items()) or "-"
    return "-" if value is None else f"{value:.4g}" if isinstance(value, float) else str(value)


def number(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"
