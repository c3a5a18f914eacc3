"""A season of five small counts, and an object store on this machine's loopback to put them in."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from aftercount import cli
from aftercount.campaign.many import Where, expand, review_many
from aftercount.report.folder import WriteOptions
from folders import COUNT, write_folder
from report.browser import axe, chromium

__all__ = ["axe", "chromium"]

PLAN = "step,t,action,by\n1,T-10:00,Close the vent,PROP\n2,T-5:00,Open the fill valve,PROP\n"
NOTES = """
14:20:00 TC: T minus ten minutes and counting
14:20:0{late} PROP: vent closed
14:25:00 TC: T minus five minutes and counting
14:25:03 PROP: fill valve open
14:29:00 TC: T minus one minute and counting
14:30:00 TC: liftoff
"""


Run = Callable[..., tuple[int, str, str]]


def notes(late: int) -> str:
    return NOTES.format(late=late).lstrip()


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its path from there."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def small_count(folder: Path, number: int) -> Path:
    toml = COUNT.replace("heron-7-t1", f"r{number}").replace("04-18", f"04-{number + 9}")
    return write_folder(folder, {"count.toml": toml, "plan.csv": PLAN, "notes.txt": notes(late=number)})


@pytest.fixture(scope="session")
def campaign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of five count folders; tests that change one copy it first."""
    root = tmp_path_factory.mktemp("campaign")
    for number in range(1, 6):
        small_count(root / f"count{number}", number)
    return root


@pytest.fixture(scope="session")
def reviewed(campaign: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reviews of the season, on a disk, by one process."""
    out = tmp_path_factory.mktemp("reviewed")
    assert all(not r.problems for r in review_many(expand([str(campaign)]), str(out), WriteOptions(), Where(jobs=1)))
    return out


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command line: (exit status, stdout, stderr)."""

    def go(*args: str | Path) -> tuple[int, str, str]:
        status = cli.run([str(a) for a in args])
        shown = capsys.readouterr()
        return status, shown.out, shown.err

    return go


@pytest.fixture(scope="session")
def store_server() -> Iterator[str]:
    """The query of a URI that leads to the store: moto's server, which speaks S3's protocol."""
    from moto.server import ThreadedMotoServer

    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"endpoint_override={host}:{port}&scheme=http&region=us-east-1"
    server.stop()


@pytest.fixture
def store(store_server: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], str]:
    """URIs in a bucket of the test's own, by their path in it."""
    from pyarrow.fs import FileSystem

    for name, value in (("AWS_ACCESS_KEY_ID", "anyone"), ("AWS_SECRET_ACCESS_KEY", "at all"), ("AWS_EC2_METADATA_DISABLED", "true")):
        monkeypatch.setenv(name, value)
    bucket = f"bucket-{hashlib.sha256(str(tmp_path).encode()).hexdigest()[:12]}"
    FileSystem.from_uri(f"s3://{bucket}?{store_server}&allow_bucket_creation=true")[0].create_dir(bucket)
    return lambda path: f"s3://{bucket}/{path}?{store_server}"
