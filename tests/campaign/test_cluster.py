"""A real Dask scheduler with two real workers: one is killed half way, and the reviews are those of one process."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from distributed import Client

from aftercount.campaign.many import Where, expand, review_many
from aftercount.report.folder import WriteOptions
from campaign.conftest import Run, contents
from folders import write_folder

# Seconds that the processes of the cluster may take to start on a loaded machine.
PATIENCE_S = 120


@dataclass
class Cluster:
    address: str
    workers: dict[str, subprocess.Popen[bytes]]


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    where, env = tmp_path / "scheduler.json", os.environ | {"DASK_DISTRIBUTED__WORKER__MEMORY__TERMINATE": "false"}
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": env, "cwd": tmp_path}

    def start(kind: str, *args: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen([sys.executable, "-m", f"distributed.cli.dask_{kind}", "--no-dashboard", "--scheduler-file", str(where), *args], **quiet)

    started = [start("scheduler", "--host", "127.0.0.1", "--port", "0")]
    names = ("first", "second")
    started += [start("worker", "--no-nanny", "--nthreads", "1", "--name", name, "--local-directory", str(tmp_path / name)) for name in names]
    try:
        until = time.monotonic() + PATIENCE_S
        while not (where.exists() and where.stat().st_size) and time.monotonic() < until:
            time.sleep(0.1)
        address = json.loads(where.read_text())["address"]
        with Client(address, timeout=PATIENCE_S, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=PATIENCE_S)
        yield Cluster(address, dict(zip(names, started[1:], strict=True)))
    finally:
        for process in started[::-1]:
            process.kill()
            process.wait()


def test_a_worker_killed_half_way_changes_nothing(cluster: Cluster, campaign: Path, reviewed: Path, tmp_path: Path,
                                                  run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    killed: list[str] = []

    def kill_a_busy_worker(told: str) -> None:
        names = {address: worker["name"] for address, worker in client.scheduler_info()["workers"].items()}
        if "counts reviewed" not in told:
            return
        busy = [names[address] for address, tasks in client.processing().items() if tasks]
        if busy and not killed:
            killed.append(busy[0])
            cluster.workers[busy[0]].send_signal(signal.SIGKILL)

    out = tmp_path / "out"
    with Client(cluster.address, set_as_default=False) as client:
        results = review_many(expand([str(campaign)]), str(out), WriteOptions(), Where(scheduler=cluster.address), kill_a_busy_worker)
        assert len(client.scheduler_info()["workers"]) == 1
    assert killed and cluster.workers[killed[0]].wait() == -signal.SIGKILL
    assert [r.problems for r in results] == [()] * 5
    assert contents(out) == contents(reviewed)

    # The worker that is left is sent a count that fails, by paths that start where the caller is.
    monkeypatch.chdir(tmp_path)
    write_folder(Path("counts/bad"), {"notes.txt": ""})
    write_folder(Path("counts/good"), {"count.toml": '[count]\nid = "good"\nt0 = 2031-04-18T14:30:00Z\n'})
    status, out, err = run("review", "counts", "--out", "out", "--scheduler", cluster.address)
    assert status == 1 and "counts/bad" in err and "at least one usable line" in err and len(err.splitlines()) == 1
    assert out.splitlines()[-1] == "2 counts: 1 reviewed, 0 unchanged, 1 failed" and (tmp_path / "out" / "good" / "summary.json").is_file()


def test_what_is_wrong_with_the_call_is_one_line(campaign: Path, tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    import aftercount.campaign.cluster as clusters

    monkeypatch.setattr(clusters, "CONNECT_S", 1)
    call = ("review", campaign, "--out", tmp_path / "out", "--scheduler")
    status, out, err = run(*call, "tcp://127.0.0.1:1")
    assert (status, out) == (1, "") and err.startswith("aftercount: no Dask scheduler answers at tcp://127.0.0.1:1") and len(err.splitlines()) == 1
    for args in ((*call, "localhost"), (*call, "tcp://127.0.0.1:1", "--jobs", "2"), ("review", campaign / "count1", *call[2:], "tcp://127.0.0.1:1")):
        status, out, err = run(*args)
        assert (status, out) == (2, "") and "--scheduler" in err and len(err.splitlines()) == 1
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, out, err = run(*call, "tcp://127.0.0.1:1")
    assert (status, out) == (2, "") and "pip install 'aftercount[cluster]'" in err and len(err.splitlines()) == 1
