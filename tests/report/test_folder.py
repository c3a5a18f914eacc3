"""The review folder: whole or not at all, the same bytes every time, nobody else's files touched."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pandas as pd
import pytest

from aftercount.errors import InputError, UsageError
from aftercount.report import atomic
from aftercount.report.data import TABLE_NAMES
from aftercount.report.folder import WriteOptions, write_folder
from aftercount.report.load import load_folder, load_review
from report.madeup import make_review

AGREED = {"summary.json", "events.parquet", "clock.parquet", "holds.parquet", "steps.parquet", "matches.parquet", "sources.parquet",
          "rejects.parquet", "report.html", "deviation.png", "count_profile.png"}
EVERYTHING = WriteOptions(csv=True, xlsx=True, md=True)


@pytest.fixture(scope="module")
def review() -> object:
    return make_review(steps=30, chatter=40)


def contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())}


def test_the_agreed_files_are_there_and_nothing_beside_the_folder(review: object, tmp_path: Path) -> None:
    out = write_folder(review, tmp_path / "deep" / "out", EVERYTHING)
    assert {p.name for p in out.iterdir()} >= AGREED
    assert [p.name for p in out.parent.iterdir()] == ["out"]


def test_same_review_same_bytes(review: object, tmp_path: Path) -> None:
    first = contents(write_folder(review, tmp_path / "a", EVERYTHING))
    assert first == contents(write_folder(make_review(steps=30, chatter=40), tmp_path / "b", EVERYTHING))
    assert b"matplotlib" not in first["deviation.png"].lower()
    assert b"pandas" not in first["steps.parquet"]


def test_what_is_read_back_is_what_was_written_and_writes_the_same(review: object, tmp_path: Path) -> None:
    out = write_folder(review, tmp_path / "a", EVERYTHING)
    back = load_review(out)
    for name in TABLE_NAMES:
        pd.testing.assert_frame_equal(back.table(name), getattr(review, name))
    assert contents(write_folder(back, tmp_path / "b", EVERYTHING)) == contents(out)


def test_a_second_run_replaces_the_first_and_keeps_what_a_person_put_there(review: object, tmp_path: Path) -> None:
    out = write_folder(review, tmp_path / "out", EVERYTHING)
    notes = '[[topic]]\nabout = "late"\nwhy = "two people on one console"\n'
    (out / "notes.toml").write_text(notes)
    (out / "photos").mkdir()
    (out / "photos" / "pad.txt").write_text("pad")
    write_folder(review, out)
    names = {p.name for p in out.iterdir()}
    assert "steps.csv" not in names and names >= AGREED
    assert (out / "notes.toml").read_text() == notes and (out / "photos" / "pad.txt").read_text() == "pad"
    assert "two people on one console" in (out / "report.html").read_text(encoding="utf-8"), "notes left there are shown"


def test_a_folder_of_something_else_is_refused_and_left_alone(review: object, tmp_path: Path) -> None:
    out = tmp_path / "photos"
    out.mkdir()
    (out / "summary.json").write_text(json.dumps({"album": "pad"}))
    with pytest.raises(UsageError, match="holds files of something else"):
        write_folder(review, out)
    assert [p.name for p in out.iterdir()] == ["summary.json"]


def test_a_file_is_refused(review: object, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(UsageError, match="is not a folder"):
        write_folder(review, tmp_path / "out")
    assert (tmp_path / "out").read_text() == "x"


def test_a_disk_that_refuses_is_one_clear_problem(review: object, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError) as caught:
        write_folder(review, tmp_path / "file" / "out")
    assert caught.value.problems[0].code == "out-not-writable"


@pytest.mark.parametrize("stop_after", ["files", "first_rename"])
def test_a_run_killed_anywhere_leaves_the_old_whole_and_the_next_run_cleans_up(
    review: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop_after: str
) -> None:
    """A child process dies without unwinding, at the worst moments; the two-step swap is forced for the second."""
    out = write_folder(review, tmp_path / "out", WriteOptions(csv=True))
    before = contents(out)
    child = os.fork()
    if child == 0:
        if stop_after == "files":
            atomic._swap = lambda new, out: os._exit(9)  # type: ignore[assignment]
        else:
            atomic._exchange = lambda a, b: False  # type: ignore[assignment]
            rename = Path.rename
            seen: list[Path] = []

            def once(self: Path, target: Path) -> Path:
                if seen:
                    os._exit(9)
                seen.append(self)
                return rename(self, target)

            Path.rename = once  # type: ignore[method-assign]
        atomic.replace_folder(out, {"summary.json": b"half"}, lambda p: True)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    left = {p.name for p in tmp_path.iterdir()} - {"out"}
    assert any(atomic._NEW in name for name in left), "the child did not die where it should"
    if stop_after == "files":
        assert contents(out) == before
    atomic._clear_leftovers(out)
    assert contents(out) == before
    write_folder(review, out)
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def _read_in(folder: int, name: str) -> bytes:
    handle = os.open(name, os.O_RDONLY, dir_fd=folder)
    try:
        return os.read(handle, 9)
    finally:
        os.close(handle)


def test_readers_see_a_whole_folder_at_every_moment(review: object, tmp_path: Path) -> None:
    """While one process replaces the folder again and again, another never finds it absent or mixed."""
    files = {n: b"old" for n in ("a", "b")}
    out = tmp_path / "out"
    atomic.replace_folder(out, files, lambda p: True)
    child = os.fork()
    if child == 0:
        for i in range(150):
            atomic.replace_folder(out, {n: str(i).encode() for n in ("a", "b")}, lambda p: True)
        os._exit(0)
    looks = 0
    while os.waitpid(child, os.WNOHANG) == (0, 0):
        handle = os.open(out, os.O_RDONLY)  # the folder that has the name at this instant
        try:
            assert len({_read_in(handle, name) for name in ("a", "b")}) == 1
            looks += 1
        except FileNotFoundError:
            pass  # the folder in hand was retired while being read; its name was there
        finally:
            os.close(handle)
    assert looks > 0


@pytest.mark.parametrize(("spoil", "code"), [
    (lambda p: (p / "steps.parquet").unlink(), "review-missing"),
    (lambda p: (p / "steps.parquet").write_bytes(b"PAR1 not"), "review-unreadable"),
    (lambda p: (p / "summary.json").write_text("{"), "review-unreadable"),
    (lambda p: (p / "summary.json").write_text("[]"), "review-unreadable"),
])
def test_a_folder_that_cannot_be_read_says_which_file(review: object, tmp_path: Path, spoil: object, code: str) -> None:
    out = write_folder(review, tmp_path / "out")
    spoil(out)  # type: ignore[operator]
    with pytest.raises(InputError) as caught:
        load_folder(out)
    assert caught.value.problems[0].code == code


def test_a_folder_written_before_a_column_came_is_still_read(tmp_path: Path) -> None:
    import pyarrow.parquet as pq

    out = write_folder(make_review(steps=12, chatter=5), tmp_path / "r")
    path = out / "holds.parquet"
    pq.write_table(pq.read_table(path).drop_columns(["slip_s", "waiting_for"]), path)
    holds = load_review(out).holds
    assert len(holds) == 3 and holds[["slip_s", "waiting_for"]].isna().all(axis=None)
    pq.write_table(pq.read_table(path).drop_columns(["t_s"]), path)
    with pytest.raises(InputError) as caught:
        load_review(out)
    assert "no column t_s" in str(caught.value.problems[0])
