"""Many counts from the command line: reviewed once, compared, held against a baseline."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from aftercount.campaign.many import Where, expand, review_many
from aftercount.report.folder import WriteOptions
from campaign.conftest import Run, contents, notes
from folders import write_folder
from processes import alive, children, until


def test_a_season_from_folders_to_gate(campaign: Path, reviewed: Path, tmp_path: Path, run: Run) -> None:
    season, out = tmp_path / "season", Path(shutil.copytree(reviewed, tmp_path / "out"))
    campaign = Path(shutil.copytree(campaign, tmp_path / "campaign"))
    write_folder(campaign / "broken", {"count.toml": "[count]\n"})
    status, shown, err = run("review", campaign, "--out", out, "--json")
    results = json.loads(shown)
    assert status == 1 and err.startswith(f"aftercount: {campaign}/broken/count.toml:1:")
    assert [(r["out"], r["unchanged"]) for r in results] == [(None, False), *((str(out / f"r{n}"), True) for n in range(1, 6))]

    before = {p: p.stat().st_mtime_ns for p in out.rglob("*")}
    shutil.rmtree(out / "r2")
    (campaign / "count3" / "notes.txt").write_text(notes(late=9))
    (out / "r4" / "steps.parquet").write_bytes(b"changed by hand")
    status, shown, _ = run("review", campaign, "--out", out, "--jobs", "2", "--json")
    assert [r["unchanged"] for r in json.loads(shown)] == [False, True, False, False, False, True]
    assert all(p.stat().st_mtime_ns == t for p, t in before.items() if "r1" in p.parts or "r5" in p.parts)
    assert (out / "r4" / "steps.parquet").read_bytes() != b"changed by hand"

    outs = [out / f"r{n}" for n in (5, 3, 1, 2, 4)]
    status, shown, err = run("trend", *outs, "--out", season, "--json")
    assert (status, err) == (0, "") and json.loads(shown)["counts"] == ["r1", "r2", "r3", "r4", "r5"]
    status, shown, _ = run("gate", out / "r5", "--baseline", season)
    assert status in (0, 3) and "its baseline of 4 counts, a small one" in shown.splitlines()[-1]


def test_the_workers_make_no_difference(campaign: Path, reviewed: Path, tmp_path: Path, run: Run) -> None:
    assert run("review", campaign / "count1", campaign / "count2", "--out", tmp_path, "--jobs", "2")[0] == 0
    made = contents(tmp_path)
    assert len(made) > 20 and made == {name: data for name, data in contents(reviewed).items() if name[:3] in ("r1/", "r2/")}


def test_a_run_that_is_stopped_begins_no_more_counts(campaign: Path, tmp_path: Path) -> None:
    def stop(told: str) -> None:
        if "counts reviewed" in told:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        review_many(expand([str(campaign)]), str(tmp_path), WriteOptions(), Where(jobs=2), stop)
    assert 1 <= len([p for p in tmp_path.iterdir() if not p.name.startswith(".")]) < 5


def test_the_workers_of_a_run_that_is_killed_end_with_it(campaign: Path, tmp_path: Path) -> None:
    run = subprocess.Popen([sys.executable, "-m", "aftercount", "review", str(campaign), "--out", str(tmp_path / "out"), "--jobs", "2"], stdout=subprocess.DEVNULL)
    until(lambda: (tmp_path / "out").is_dir())  # the workers are at work
    workers = children(run.pid)
    run.kill()
    run.wait()
    assert len(workers) >= 2
    until(lambda: not any(map(alive, workers)))


def test_notes_that_were_added_are_shown(campaign: Path, tmp_path: Path, run: Run) -> None:
    season = Path(shutil.copytree(campaign / "count1", tmp_path / "counts" / "count1")).parent
    assert run("review", season, "--out", tmp_path / "out")[1].splitlines()[-1] == "1 count: 1 reviewed, 0 unchanged, 0 failed"
    (season / "count1" / "notes.toml").write_text("")
    assert run("review", season, "--out", tmp_path / "out")[1].splitlines()[-1] == "1 count: 1 reviewed, 0 unchanged, 0 failed"


def test_two_counts_of_one_id_are_both_refused(campaign: Path, tmp_path: Path, run: Run) -> None:
    shutil.copytree(campaign / "count1", tmp_path / "copy")
    status, _, err = run("review", campaign / "count1", tmp_path / "copy", "--out", tmp_path / "out")
    assert status == 1 and err.count("id 'r1' is used by 2 of these counts") == 2


def test_a_folder_of_count_folders_is_its_counts(campaign: Path, tmp_path: Path) -> None:
    assert expand([str(campaign)]) == [str(campaign / name) for name in ("count1", "count2", "count3", "count4", "count5")]
    assert expand([str(campaign / "count1"), str(tmp_path / "none")]) == [str(campaign / "count1"), str(tmp_path / "none")]


def test_what_is_no_review_and_no_baseline(tmp_path: Path, run: Run) -> None:
    status, out, err = run("trend", tmp_path / "a", tmp_path / "b", "--out", tmp_path / "t")
    assert (status, out) == (1, "") and len(err.splitlines()) == 2 and "a review folder was expected" in err
    status, out, err = run("gate", tmp_path / "a", "--baseline", tmp_path)
    assert (status, out) == (1, "") and "a folder that `trend` wrote was expected" in err and len(err.splitlines()) == 1
