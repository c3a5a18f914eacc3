"""README and the docstrings do what they say: its commands, its example, its tables."""

from __future__ import annotations

import contextlib
import doctest
import importlib
import json
import pkgutil
import re
import shlex
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import aftercount
from aftercount import tables
from aftercount.cli import cli

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def _section(title: str, text: str = README) -> str:
    """What stands under a heading."""
    return re.split(r"^## ", text.split(f"## {title}\n", 1)[1], maxsplit=1, flags=re.MULTILINE)[0]


def _blocks(language: str, text: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)


def _table(header: str, text: str = README) -> dict[str, str]:
    """First column -> second column of the table whose first header cell is that."""
    body = text.split(f"| {header} |", 1)[1].split("\n\n", 1)[0]
    rows = [[c.strip() for c in line.strip("|").split("|")] for line in body.splitlines()[2:]]
    return {row[0]: row[1] for row in rows}


def _run(*arguments: str) -> str:
    done = CliRunner().invoke(cli, list(arguments))
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The count folder of the five-minute tour, as README prints it."""
    text, folder = _section("Five minutes"), tmp_path_factory.mktemp("tour") / "mycount"
    folder.mkdir()
    for name, language in (("count.toml", "toml"), ("plan.csv", "csv"), ("notes.txt", "text")):
        (folder / name).write_text(_blocks(language, text)[0], "utf-8")
    return folder


def test_the_first_paragraph_states_the_job() -> None:
    first = README.split("\n\n")[1]
    for word in ("after-action review", "planned procedure", "count clock", "never advises a running count", "range's rules", "licensed"):
        assert word in " ".join(first.split())


def test_the_two_commands_are_there() -> None:
    makefile = (ROOT / "Makefile").read_text("utf-8")
    for command in re.findall(r"^    make (\w+)", README + DEVELOPERS, flags=re.MULTILINE):
        assert re.search(rf"^{command}:", makefile, flags=re.MULTILINE), command
    assert "make review" in _section("Two commands") and "make test" in _section("Two commands")


def test_the_commands_of_the_tour_run_on_its_folder(tour: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tour.parent)
    lines = re.findall(r"^    aftercount ([^#\n]+)", _section("Five minutes").split("Then\n", 1)[1], flags=re.MULTILINE)
    assert [line.split()[0] for line in lines] == ["check", "review", "explain"]
    told = [_run(*shlex.split(line)) for line in lines]
    assert "usable" in told[0]
    summary = json.loads((tour.parent / "review" / "summary.json").read_text("utf-8"))
    assert summary["outcome"] == "liftoff" and summary["steps"]["done"] == 3
    assert "1.2" in told[2] and (tour.parent / "review" / "report.html").is_file()


def test_the_python_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    for code in _blocks("python", README):
        exec(compile(code, "README.md", "exec"), {})


def test_every_toml_example_is_toml() -> None:
    for block in _blocks("toml", README):
        assert tomllib.loads(block)


def test_the_table_of_commands_is_what_help_says() -> None:
    told = {name.strip("`"): text for name, text in _table("command").items()}
    assert set(told) == set(cli.commands)
    listed = _run("--help")
    assert all(name in listed for name in told)


@pytest.mark.parametrize("name", sorted(cli.commands))
def test_help_of_each_command_names_every_option(name: str) -> None:
    text = _run(name, "--help")
    for parameter in cli.commands[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.opts[0] in text and parameter.help, parameter.name


def test_options_in_the_documents_are_options() -> None:
    known = {opt for command in cli.commands.values() for p in command.params for opt in p.opts} | {"--help", "--version"}
    of_ours = [line for line in re.findall(r"`([^`\n]+)`", README) if line.startswith(("--", "aftercount", *cli.commands))]
    used = {word for line in of_ours for word in re.findall(r"(?<!\S)--[a-z][a-z-]+", line)}
    assert len(used) > 5 and used - known == set()


def test_the_table_of_outputs_names_every_table(tour: Path) -> None:
    told = " ".join(_table("file"))
    for table in tables.REVIEW_TABLES:
        assert f"`{table.name}.parquet`" in told


def test_the_layout_names_every_room() -> None:
    rooms = {p.name for p in (ROOT / "src/aftercount").iterdir() if (p / "__init__.py").is_file()}
    told = " ".join(_table("room", DEVELOPERS))
    assert [room for room in sorted(rooms) if f"`{room}" not in told] == []


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    wanted = [re.split(r"[<>=\[]", d)[0] for d in project["dependencies"]]
    for extra in project["optional-dependencies"].values():
        wanted += [re.split(r"[<>=\[]", d)[0] for d in extra]
    section = _section("Dependencies, and why each", DEVELOPERS)
    short = {"pytest-xdist": "xdist", "pandas-stubs": "pandas"}
    assert [d for d in wanted if d != "aftercount" and short.get(d, d) not in section] == []


def _modules() -> list[str]:
    return [m.name for m in pkgutil.walk_packages(aftercount.__path__, "aftercount.") if not m.name.endswith("__main__")]


def test_examples_in_docstrings_run() -> None:
    tried = failed = 0
    for name in _modules():
        with contextlib.suppress(ImportError):  # a module of an extra that is not installed
            result = doctest.testmod(importlib.import_module(name))
            tried, failed = tried + result.attempted, failed + result.failed
    assert failed == 0
    assert tried > 0
