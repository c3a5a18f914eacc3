"""Kills, full disks and refusals while a review is written: what is there is the old folder whole or the new one whole.

The writer runs in a forked child with everything prepared, so that hundreds of deaths are cheap; ARMOUR=full asks for them. Kills
are real (SIGKILL). A run that comes after clears what a dead one left.
"""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from aftercount.errors import InputError
from aftercount.report import atomic
from aftercount.report.data import data_of
from aftercount.report.folder import WriteOptions, folder_files, is_review_folder
from armour.full import times
from armour.scenes import own
from report.madeup import make_review

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and signals")
Files = dict[str, bytes]
_WRITES = ("open", "os.rename", "os.mkdir", "os.rmdir", "os.remove", "shutil.rmtree", "ctypes.dlsym")
NOBODY = 65534
NEEDED = ("summary.json", "steps.parquet", "clock.parquet", "events.parquet", "report.html")


@pytest.fixture(scope="module")
def reviews() -> tuple[Files, Files]:
    """Two review folders as bytes, of the files that make one, that differ in each."""
    first, second = (folder_files(data_of(make_review(steps=n, chatter=n)), WriteOptions()) for n in (12, 20))
    return tuple({name: files[name] for name in NEEDED} for files in (first, second))  # type: ignore[return-value]


def contents(folder: Path) -> Files:
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())}


def write(out: Path, files: Files) -> None:
    atomic.replace_folder(out, files, is_review_folder)


def forked(work: Callable[[], None]) -> int:
    """A child that does the work and ends; 1 if anything was raised."""
    child = os.fork()
    if child == 0:
        code = 1
        with contextlib.suppress(BaseException):
            work()
            code = 0
        os._exit(code)
    return child


def end_of(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def whole(out: Path, reviews: tuple[Files, Files]) -> bool:
    return any(contents(out) == files for files in reviews)


def left_over(out: Path) -> list[str]:
    return sorted(p.name for p in out.parent.iterdir() if p != out)


def dies_at(step: int, work: Callable[[], None]) -> Callable[[], None]:
    """The work, killed by its own hand just before its `step`th touch of the disk."""
    seen = [0]

    def hook(event: str, _: object) -> None:
        if event in _WRITES:
            seen[0] += 1
            if seen[0] == step:
                os.kill(os.getpid(), signal.SIGKILL)

    def doomed() -> None:
        sys.addaudithook(hook)
        work()

    return doomed


@pytest.mark.parametrize("swap", ["at once", "in two steps"])
def test_killed_at_every_touch_of_the_disk(reviews: tuple[Files, Files], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, swap: str) -> None:
    """One death at each open, rename, make and remove of a writer, from the first to the last."""
    if swap == "in two steps":
        monkeypatch.setattr(atomic, "_exchange", lambda a, b: False)
    out = tmp_path / "out"
    deaths = 0
    for step in range(1, 2000):
        write(out, reviews[0])
        if end_of(forked(dies_at(step, lambda: write(out, reviews[1])))) == 0:
            break
        deaths += 1
        if not out.exists():
            assert swap == "in two steps", "the folder was gone for a moment"
            atomic._clear_leftovers(out)
        assert whole(out, reviews), f"neither old nor new after death {step}"
    assert deaths > 20 and contents(out) == reviews[1]
    write(out, reviews[0])
    assert left_over(out) == []


def test_killed_at_random_moments(reviews: tuple[Files, Files], tmp_path: Path) -> None:
    """A writer that goes on replacing one folder by another, killed whenever it happens to be."""
    out, rng = tmp_path / "out", random.Random(7)
    write(out, reviews[0])
    killed = 0

    def go_on() -> None:
        while True:
            write(out, reviews[1])
            write(out, reviews[0])

    for _ in range(times(40, 600)):
        child = forked(go_on)
        time.sleep(rng.uniform(0.0, 0.06))
        os.kill(child, signal.SIGKILL)
        killed += end_of(child) == -signal.SIGKILL
        assert whole(out, reviews)
    assert killed == times(40, 600)
    write(out, reviews[0])
    assert left_over(out) == []


def test_whole_runs_killed(tmp_path: Path) -> None:
    """The command itself, killed at any time between its start and its end."""
    folder, out, rng = own().write(tmp_path / "in" / "grebe-3"), tmp_path / "runs" / "out", random.Random(11)
    command = [sys.executable, "-m", "aftercount", "review", str(folder), "--out", str(out)]
    begun = time.monotonic()
    subprocess.run(command, check=True, capture_output=True)
    length, old = time.monotonic() - begun, contents(out)
    for _ in range(times(1, 60)):
        run = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(rng.uniform(0.5, 1.05) * length)
        run.kill()
        run.wait()
        assert contents(out) == old
    subprocess.run(command, check=True, capture_output=True)
    assert contents(out) == old and left_over(out) == []


def test_the_dead_hold_no_folder(reviews: tuple[Files, Files], tmp_path: Path) -> None:
    """A process that was killed and not yet waited for keeps its number, but not what it was writing."""
    out = tmp_path / "out"
    write(out, reviews[0])

    def stop_while_writing() -> None:
        atomic.replace_folder(out, {"summary.json": lambda _: signal.pause()}, is_review_folder)

    stopped = forked(stop_while_writing)
    until = time.monotonic() + 20
    while not left_over(out) and time.monotonic() < until:
        time.sleep(0.01)
    time.sleep(0.05)
    write(out, reviews[1])
    assert len(left_over(out)) == 1, "what a living process writes is left alone"
    os.kill(stopped, signal.SIGKILL)
    os.waitid(os.P_PID, stopped, os.WEXITED | os.WNOWAIT)
    write(out, reviews[0])
    assert left_over(out) == [] and end_of(stopped) == -signal.SIGKILL


def test_two_writers_at_once(reviews: tuple[Files, Files], tmp_path: Path) -> None:
    """Each wins now and then, none fails, and a mixture is never seen."""
    out = tmp_path / "out"

    def keep(files: Files) -> Callable[[], None]:
        return lambda: [write(out, files) for _ in range(times(25, 300))] and None

    children = [forked(keep(files)) for files in reviews]
    seen = set()
    ended: dict[int, int] = {}
    while len(ended) < 2:
        for child in children:
            if child not in ended and (status := os.waitpid(child, os.WNOHANG)) != (0, 0):
                ended[child] = os.waitstatus_to_exitcode(status[1])
        with contextlib.suppress(FileNotFoundError):
            seen.add(len((out / "summary.json").read_bytes()))
    assert set(ended.values()) == {0}, "a writer failed because of the other"
    assert seen <= {len(files["summary.json"]) for files in reviews}
    assert whole(out, reviews)
    write(out, reviews[0])
    assert left_over(out) == []


@pytest.mark.parametrize("share", [0.02, 0.5, 0.98])
def test_a_file_that_may_not_grow(reviews: tuple[Files, Files], tmp_path: Path, share: float) -> None:
    """The system refuses bytes past a limit, as a full disk or a quota does."""
    out = tmp_path / "out"
    write(out, reviews[0])
    largest = max(len(data) for data in reviews[1].values())

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(largest * share), int(largest * share)))
        with pytest.raises(InputError, match="could not be written: File too large"):
            write(out, reviews[1])

    assert end_of(forked(limited)) == 0
    assert contents(out) == reviews[0] and left_over(out) == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 400 KiB, where the system lets us make one."""
    there = tmp_path / "disk"
    there.mkdir()
    made = shutil.which("mount") and subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(there)], capture_output=True).returncode == 0
    if not made:
        pytest.skip("no right to mount a small file system; the limit on file size stands in for it")
    yield there
    subprocess.run(["umount", str(there)], check=True)


def test_a_full_disk(reviews: tuple[Files, Files], small_disk: Path) -> None:
    out = small_disk / "out"
    old = {name: data for name, data in reviews[0].items() if name != "report.html"}
    write(out, old)
    (small_disk / "filler").write_bytes(bytes(max(0, 300_000 - sum(map(len, old.values())))))
    with pytest.raises(InputError, match="No space left on device"):
        write(out, reviews[1])
    assert contents(out) == old and left_over(out) == ["filler"]


def test_a_place_that_may_not_be_written(reviews: tuple[Files, Files]) -> None:
    place = Path(tempfile.mkdtemp())
    try:
        out = place / "out"
        write(out, reviews[0])
        place.chmod(0o555)

        def refused() -> None:
            if os.getuid() == 0:
                os.setuid(NOBODY)
            with pytest.raises(InputError, match="could not be written: Permission denied"):
                write(out, reviews[1])

        assert end_of(forked(refused)) == 0
        assert contents(out) == reviews[0] and left_over(out) == []
    finally:
        place.chmod(0o755)
        shutil.rmtree(place)
