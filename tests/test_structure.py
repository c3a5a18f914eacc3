"""The shape of the package: who imports whom, what is public, what stays quick."""

from __future__ import annotations

import importlib
import subprocess
import sys
from pathlib import Path

import aftercount

ROOT = Path(__file__).resolve().parent.parent
PUBLIC = {"AftercountError", "InputError", "Problem", "Review", "UsageError", "__version__", "check", "explain", "rehearse", "review", "score"}
# Modules that a user waits for; none may load before a command needs it.
HEAVY = ("pandas", "pyarrow", "numpy", "scipy", "matplotlib", "openpyxl", "rapidfuzz", "jinja2")
# Lines of a module: beyond this it has more than one job.
MOST_LINES = 400


def test_imports_go_down_the_layers_only() -> None:
    done = subprocess.run([sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"],
                          cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_public_names() -> None:
    assert set(aftercount.__all__) >= PUBLIC
    for name in aftercount.__all__:
        assert getattr(aftercount, name) is not None


def test_functions_keep_their_names_when_their_modules_are_loaded() -> None:
    for name in ("review", "rehearse", "score"):
        importlib.import_module(f"aftercount.{name}")
        assert callable(getattr(aftercount, name))


def test_help_loads_nothing_heavy() -> None:
    code = ("import sys, aftercount.cli as c; s = c.run(['--help']);"
            f"print([m for m in {HEAVY!r} if m in sys.modules], s, file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[] 0"


def test_no_module_is_a_god_file() -> None:
    sizes = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in (ROOT / "src").rglob("*.py")}
    assert len(sizes) > 40
    assert {name: n for name, n in sizes.items() if n > MOST_LINES} == {}


def test_every_module_says_what_it_is_for() -> None:
    lacking = [p.name for p in (ROOT / "src").rglob("*.py") if not p.read_text("utf-8").startswith('"""')]
    assert lacking == []
