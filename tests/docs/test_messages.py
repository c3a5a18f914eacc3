"""Every message with a code is explained, and nothing is explained that no longer occurs."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from click.testing import CliRunner

import aftercount
from aftercount.cli import cli
from aftercount.messages import MEANINGS

SOURCE = Path(aftercount.__file__).parent
CODE = re.compile(r"[a-z]+\d?(?:-[a-z0-9]+)+")
# Functions that take a code; those of a reader put its first word before it.
GIVERS = {"Problem", "failed", "add", "_add", "_unusable", "_problem"}
PREFIX = {"plan": "plan-", "count": "count-"}


def _given(file: Path) -> set[str]:
    """The codes that a module gives."""
    room = file.relative_to(SOURCE).parts[0]
    prefix = "decisions-" if file.name == "decisions.py" else PREFIX.get(room, "")
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            given, own = node.args if name in GIVERS else [], name in ("add", "_add")
        elif isinstance(node, ast.Tuple) and file.name == "rows.py":
            given, own = node.elts, True
        else:
            continue
        codes = [a.value for a in given if isinstance(a, ast.Constant) and isinstance(a.value, str) and CODE.fullmatch(a.value)]
        found |= {prefix + c if own else c for c in codes}
    return found


def test_every_code_is_explained() -> None:
    given = set().union(*(_given(f) for f in SOURCE.rglob("*.py") if f.relative_to(SOURCE).parts[0] != "rehearse"))
    assert len(given) > 60
    # `textfile` reads both kinds of table: which codes of it occur for decisions is as for the plan.
    shared = {c.replace("decisions-", "plan-") for c in MEANINGS if c.startswith("decisions-")}
    assert given - set(MEANINGS) == set()
    assert set(MEANINGS) - given - {c for c in MEANINGS if c.replace("decisions-", "plan-") in shared} == set()


def test_codes_are_listed_on_the_command_line() -> None:
    done = CliRunner().invoke(cli, ["check", "--codes"])
    assert done.exit_code == 0
    assert [line.split()[0] for line in done.output.splitlines()] == sorted(MEANINGS)


def test_explanations_are_sentences_on_one_line() -> None:
    assert [c for c, text in MEANINGS.items() if not text.endswith(".") or "\n" in text or len(text.split()) < 5] == []
