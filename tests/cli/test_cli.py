"""What the commands print and the statuses they end with."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from aftercount import __version__, cli
from folders import write_folder

COMMANDS = ("check", "explain", "rehearse", "review", "score")


def run(capsys: pytest.CaptureFixture[str], *args: str | Path) -> tuple[int, str, str]:
    status = cli.run([str(a) for a in args])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "--help")
    assert status == 0 and set(COMMANDS) <= set(out.split())
    assert run(capsys, "--version") == (0, f"{__version__}\n", "")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_and_json(capsys: pytest.CaptureFixture[str], command: str) -> None:
    status, out, _ = run(capsys, command, "--help")
    assert status == 0 and "--json" in out


@pytest.mark.parametrize("args", [
    ["reveiw"], ["review"], ["review", "x"], ["check"], ["check", "--jsn", "x"], ["explain", "x"], ["rehearse", "x", "--seed", "one"],
    ["check", "a", "b"],
])
def test_wrong_usage_is_status_2(capsys: pytest.CaptureFixture[str], args: list[str]) -> None:
    status, out, err = run(capsys, *args)
    assert status == 2 and out == "" and "Error: " in err and "Traceback" not in err


@pytest.mark.parametrize("args", [["--story", "happy"], ["--steps", "1"], ["--log", "pigeon"], ["--word-error", "2"], ["--nets", "9"]])
def test_a_rehearsal_that_cannot_be_is_status_2(capsys: pytest.CaptureFixture[str], tmp_path: Path, args: list[str]) -> None:
    status, out, err = run(capsys, "rehearse", tmp_path / "r", *args)
    assert status == 2 and out == "" and len(err.splitlines()) == 1 and "expected" in err


def test_check_of_a_sound_folder(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, err = run(capsys, "check", write_folder(tmp_path))
    assert (status, out, err) == (0, f"{tmp_path}: usable, 0 warnings\n", "")
    assert run(capsys, "check", tmp_path, "--json") == (0, "[]\n", "")


FAULTY: dict[str, str | bytes] = {
    "count.toml": '[count]\nid = "a"\nt0 = 2031-04-18T14:30:00Z\nkind = "rehersal"\n',
    "plan.csv": "step,t,action\n1,soon,X\n1,T-5,Y\n",
}


def test_check_names_every_fault_with_file_and_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, err = run(capsys, "check", write_folder(tmp_path, {"plan.csv": FAULTY["plan.csv"], "decisions.csv": "x\n"}))
    assert status == 1
    assert out.splitlines()[0].startswith(f"error: {tmp_path}/plan.csv:2: 'soon' is not a count time")
    assert out.splitlines()[1].startswith(f"error: {tmp_path}/plan.csv:3: step '1' is already on line 2")
    assert err == f"aftercount: {tmp_path}: 2 errors; this count cannot be reviewed\n"


def test_check_warns_of_an_empty_log_and_of_a_column_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    toml = '[count]\nid = "a"\nt0 = 2031-04-18T14:30:00Z\n[[log]]\npath = "a.txt"\n[[log]]\npath = "b.csv"\ncolumns = { time = "wen" }\n'
    folder = write_folder(tmp_path, {"count.toml": toml, "plan.csv": "step,t,action\n1,T-5,Y\n", "a.txt": "\n", "b.csv": "when,text\n14:00:00,go\n14:01:00,Y\n"})
    status, out, _ = run(capsys, "check", folder)
    assert status == 0 and out.splitlines()[:2] == ["warning: a.txt: empty: no line in it", "warning: b.csv: no column 'wen'"]


def test_check_prints_problems_as_json(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, _ = run(capsys, "check", write_folder(tmp_path, FAULTY), "--json")
    first = json.loads(out)[0]
    assert status == 1 and (first["line"], first["code"], first["hint"]) == (4, "count-unknown-kind", "did you mean 'rehearsal'?")


def test_review_of_what_cannot_be_used_says_so_in_one_line_a_problem(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status, out, err = run(capsys, "review", write_folder(tmp_path / "c", FAULTY), "--out", tmp_path / "out")
    assert (status, out) == (1, "") and not (tmp_path / "out").exists()
    assert err.splitlines() and all(line.startswith(f"aftercount: {tmp_path}/c/") for line in err.splitlines())


def test_text_of_the_input_cannot_steer_the_terminal(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    plan = "step,t,action\n1,\x1b[2Jsoon,X\n"
    for command in (["check"], ["review", "--out", tmp_path / "out"]):
        status, out, err = run(capsys, command[0], write_folder(tmp_path / "c", {"plan.csv": plan}), *command[1:])
        assert status == 1 and "\x1b" not in out + err and "soon" in out + err


def test_an_unforeseen_fault_is_one_line(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(folder: Path) -> None:
        raise RuntimeError("two\nlines")

    monkeypatch.setattr("aftercount.review.check", broken)
    status, out, err = run(capsys, "check", "x")
    assert (status, out) == (1, "") and len(err.splitlines()) == 1
    assert err.startswith("aftercount: internal fault, please report it: RuntimeError in aftercount.cli:")


def test_a_reader_that_has_gone_is_no_fault(tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run([sys.executable, "-m", "aftercount.cli", "--help"], stdout=writing, stderr=subprocess.PIPE, text=True)
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, "")
