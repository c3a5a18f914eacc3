"""Many counts from the command line: reviewed once, compared, held against a baseline."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from aftercount import cli
from aftercount.campaign.many import expand
from folders import COUNT, write_folder

PLAN = "step,t,action,by\n1,T-10:00,Close the vent,PROP\n2,T-5:00,Open the fill valve,PROP\n"
NOTES = """
14:20:00 TC: T minus ten minutes and counting
14:20:0{late} PROP: vent closed
14:25:00 TC: T minus five minutes and counting
14:25:03 PROP: fill valve open
14:29:00 TC: T minus one minute and counting
14:30:00 TC: liftoff
"""


@pytest.fixture(scope="module")
def campaign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("campaign")
    for number in range(1, 6):
        toml = COUNT.replace("heron-7-t1", f"r{number}").replace("04-18", f"04-{number + 9}")
        write_folder(root / f"count{number}", {"count.toml": toml, "plan.csv": PLAN, "notes.txt": NOTES.format(late=number)})
    write_folder(root / "broken", {"count.toml": "[count]\n"})
    return root


def run(capsys: pytest.CaptureFixture[str], *args: str | Path) -> tuple[int, str, str]:
    status = cli.run([str(a) for a in args])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_a_season_from_folders_to_gate(campaign: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, season = tmp_path / "out", tmp_path / "season"
    status, shown, err = run(capsys, "review", campaign, "--out", out, "--jobs", "1", "--json")
    results = json.loads(shown)
    assert status == 1 and err.startswith(f"aftercount: {campaign}/broken/count.toml:1:")
    assert [r["out"] for r in results] == [None, *(str(out / f"r{n}") for n in range(1, 6))]

    before = {p: p.stat().st_mtime_ns for p in out.rglob("*")}
    shutil.rmtree(out / "r2")
    (campaign / "count3" / "notes.txt").write_text(NOTES.format(late=9).lstrip())
    (out / "r4" / "steps.parquet").write_bytes(b"changed by hand")
    status, shown, _ = run(capsys, "review", campaign, "--out", out, "--jobs", "2", "--json")
    assert [r["unchanged"] for r in json.loads(shown)] == [False, True, False, False, False, True]
    assert all(p.stat().st_mtime_ns == t for p, t in before.items() if "r1" in p.parts or "r5" in p.parts)
    assert (out / "r4" / "steps.parquet").read_bytes() != b"changed by hand"

    outs = [out / f"r{n}" for n in (5, 3, 1, 2, 4)]
    status, shown, err = run(capsys, "trend", *outs, "--out", season, "--json")
    assert (status, err) == (0, "") and json.loads(shown)["counts"] == ["r1", "r2", "r3", "r4", "r5"]
    status, shown, _ = run(capsys, "gate", out / "r5", "--baseline", season)
    assert status in (0, 3) and shown.splitlines()[-1].endswith("its baseline of 4 counts")


def test_the_workers_make_no_difference(campaign: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folders = [campaign / "count1", campaign / "count2"]
    for jobs in ("1", "2"):
        assert run(capsys, "review", *folders, "--out", tmp_path / jobs, "--jobs", jobs)[0] == 0
    files = {p.relative_to(tmp_path / "1") for p in (tmp_path / "1").rglob("*") if p.is_file()}
    assert len(files) > 20
    assert [f for f in sorted(files) if (tmp_path / "1" / f).read_bytes() != (tmp_path / "2" / f).read_bytes()] == []


def test_two_counts_of_one_id_are_both_refused(campaign: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(campaign / "count1", tmp_path / "copy")
    status, _, err = run(capsys, "review", campaign / "count1", tmp_path / "copy", "--out", tmp_path / "out")
    assert status == 1 and err.count("id 'r1' is used by 2 of these counts") == 2


def test_a_folder_of_count_folders_is_its_counts(campaign: Path, tmp_path: Path) -> None:
    assert expand([campaign]) == [campaign / name for name in ("broken", "count1", "count2", "count3", "count4", "count5")]
    assert expand([campaign / "count1", tmp_path / "none"]) == [campaign / "count1", tmp_path / "none"]


def test_what_is_no_review_and_no_baseline(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = run(capsys, "trend", tmp_path / "a", tmp_path / "b", "--out", tmp_path / "t")
    assert (status, out) == (1, "") and len(err.splitlines()) == 2 and "a review folder was expected" in err
    status, out, err = run(capsys, "gate", tmp_path / "a", "--baseline", tmp_path)
    assert (status, out) == (1, "") and "a folder that `trend` wrote was expected" in err and len(err.splitlines()) == 1
