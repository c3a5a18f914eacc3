"""The package as a user gets it: sdist and wheel build, hold what they need, and the main job runs with no test extras."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# What no user needs to run a review; none of it may be in the environment below.
FOR_TESTS = ("pytest", "hypothesis", "playwright", "mypy", "jiwer", "importlinter")


def _must(*command: str | Path, cwd: Path) -> str:
    done = subprocess.run([str(c) for c in command], cwd=cwd, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sdist of the sources, and the wheel made from that sdist."""
    out = tmp_path_factory.mktemp("dist")
    source = out / "source"
    shutil.copytree(ROOT / "src", source / "src", ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    _must(sys.executable, "-m", "build", "--outdir", out, source, cwd=out)
    return out


def test_the_wheel_holds_code_and_templates_and_nothing_else(built: Path) -> None:
    names = zipfile.ZipFile(next(built.glob("*.whl"))).namelist()
    inside = {n.split("/")[0] for n in names}
    assert inside == {"aftercount", next(n for n in inside if n.endswith(".dist-info"))}
    assert "aftercount/py.typed" in names
    for kind in ("report/templates/", "campaign/templates/"):
        assert any(n.startswith(f"aftercount/{kind}") for n in names), kind


def test_the_sdist_holds_the_readme_and_the_sources(built: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as packed:
        names = packed.getnames()
    for wanted in ("README.md", "pyproject.toml", "src/aftercount/review.py"):
        assert any(n.endswith(f"/{wanted}") for n in names), wanted


def test_the_main_job_runs_from_the_wheel_alone(built: Path, tmp_path: Path) -> None:
    home = tmp_path / "venv"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    _must(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--constraint", ROOT / ".constraints.txt",
          next(built.glob("*.whl")), cwd=tmp_path)
    found = _must(python, "-c", f"import importlib.util as u; print([m for m in {FOR_TESTS!r} if u.find_spec(m)])", cwd=tmp_path)
    assert found.strip() == "[]"
    _must(home / "bin" / "aftercount", "rehearse", tmp_path / "count", "--seed", "3", "--steps", "30", cwd=tmp_path)
    told = _must(home / "bin" / "aftercount", "review", tmp_path / "count", "--out", tmp_path / "out", "--csv", "--xlsx", "--md", cwd=tmp_path)
    assert "written to" in told
    assert {"report.html", "deviation.png", "steps.parquet", "summary.json"} <= {p.name for p in (tmp_path / "out").iterdir()}
