"""Counts in an object store: the same bytes as on a disk, and whole or not there, though nothing can be renamed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from aftercount.campaign import gather as gathering
from aftercount.campaign import places
from aftercount.campaign.fingerprint import FILE
from aftercount.errors import InputError, UsageError
from aftercount.report.folder import WriteOptions, is_review_file
from campaign.conftest import Run, contents

Store = Callable[[str], str]


def upload(folder: Path, uri: str) -> None:
    there = places.place(uri)
    for name, data in contents(folder).items():
        with there.filesystem.open_output_stream(f"{there.path}/{name}") as sink:
            sink.write(data)


def download(uri: str) -> dict[str, bytes]:
    with places.fetched(uri) as folder:
        return contents(folder)


def put(folder: Path, uri: str) -> None:
    places.put(folder, uri, lambda name: name == FILE or is_review_file(name, WriteOptions()))


def test_from_a_store_to_a_store_as_from_disk_to_disk(campaign: Path, reviewed: Path, store: Store, tmp_path: Path, run: Run) -> None:
    upload(campaign, store("season/counts"))
    here, there = reviewed, store("season/reviews")
    status, out, err = run("review", store("season/counts"), "--out", there, "--jobs", "2")
    assert (status, err) == (0, "") and out.splitlines()[-1] == "5 counts: 5 reviewed, 0 unchanged, 0 failed"
    assert download(there) == contents(here)

    status, out, _ = run("review", store("season/counts"), "--out", there, "--json")
    assert status == 0 and [r["unchanged"] for r in json.loads(out)] == [True] * 5

    assert run("trend", here, "--out", tmp_path / "trend")[0] == 0
    assert run("trend", there, "--out", store("season/trend"))[0] == 0
    assert download(store("season/trend")) == contents(tmp_path / "trend")
    verdicts = [run("gate", f"{a}", "--baseline", b, "--json") for a, b in
                ((here / "r3", tmp_path / "trend"), (store("season/reviews/r3"), store("season/trend")))]
    assert verdicts[0] == verdicts[1] and json.loads(verdicts[0][1])["count"] == "r3"


def test_one_count_to_a_store_and_what_lies_there_besides(campaign: Path, store: Store, run: Run) -> None:
    out = store("one")
    assert run("review", campaign / "count1", "--out", out, "--csv")[0] == 0
    assert "steps.csv" in download(out)
    with places.place(out).filesystem.open_output_stream(f"{places.place(out).path}/mine.txt") as sink:
        sink.write(b"a person's own")
    assert run("review", campaign / "count1", "--out", out)[0] == 0
    found = download(out)
    assert found["mine.txt"] == b"a person's own" and "steps.csv" not in found

    upload(campaign / "count1", store("photos"))
    status, _, err = run("review", campaign / "count1", "--out", store("photos"))
    assert status == 2 and "holds files of something else" in err and len(err.splitlines()) == 1


class Breaking:
    """A store that the writer loses after so many objects."""

    def __init__(self, filesystem: Any, after: int) -> None:
        self._filesystem, self._left = filesystem, after

    def __getattr__(self, name: str) -> Any:
        return getattr(self._filesystem, name)

    def open_output_stream(self, path: str) -> Any:
        if not self._left:
            raise OSError("connection lost")
        self._left -= 1
        return self._filesystem.open_output_stream(path)


def test_a_review_cut_short_is_not_taken_for_one(reviewed: Path, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    out = store("reviews/r")
    put(reviewed / "r2", out)
    whole = contents(reviewed / "r1")
    for after in range(len(whole)):
        there = places.place(out)
        with monkeypatch.context() as patched, pytest.raises(OSError, match="connection lost"):
            patched.setattr(places, "place", lambda path, there=there, after=after: places.Place(Breaking(there.filesystem, after), there.path))
            put(reviewed / "r1", out)
        with pytest.raises(InputError, match="a review folder was expected"):
            gathering.gather([out])
    put(reviewed / "r1", out)
    assert [c.id for c in gathering.gather([out])] == ["r1"] and download(out) == whole


def test_a_review_written_anew_while_it_is_read_is_refused(reviewed: Path, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    out, read = store("reviews/r"), gathering._read
    put(reviewed / "r1", out)

    def slow(*args: Any) -> Any:
        found = read(*args)
        put(reviewed / "r2", out)
        return found

    monkeypatch.setattr(gathering, "_read", slow)
    with pytest.raises(InputError, match="written anew while it was read"):
        gathering.gather([out])


def test_what_cannot_be_used_says_so_in_a_line(store: Store, tmp_path: Path, run: Run, store_server: str) -> None:
    for args in (("review", store("nothing"), "--out", tmp_path / "o"), ("trend", store("nothing"), "--out", tmp_path / "o"),
                 ("review", f"s3://no-such-bucket/x?{store_server}", "--out", tmp_path / "o"), ("trend", "ftp://host/x", "--out", tmp_path / "o")):
        status, out, err = run(*args)
        assert status in (1, 2) and out == "" and len(err.splitlines()) == 1 and "internal fault" not in err


def test_a_key_that_leaves_the_folder_is_not_fetched(campaign: Path, store: Store, tmp_path: Path, store_server: str) -> None:
    import boto3

    there = places.place(store("count"))
    bucket = there.path.partition("/")[0]
    endpoint = store_server.partition("=")[2].partition("&")[0]
    boto3.client("s3", endpoint_url=f"http://{endpoint}", region_name="us-east-1").put_object(Bucket=bucket, Key="count/../../evil", Body=b"x")
    upload(campaign / "count1", store("count"))
    with pytest.raises((InputError, OSError, UsageError)), places.fetched(store("count")):
        pass


def test_a_secret_key_is_not_shown() -> None:
    assert places.shown("s3://me:secret@bucket/a?region=x") == "s3://bucket/a?region=x"
    assert places.shown("/a:b@c/d") == "/a:b@c/d"


def test_paths_are_joined_under_their_names() -> None:
    assert places.child("s3://b/a?region=x", "r 1/?") == "s3://b/a/r%201/%3F?region=x"
    assert places.child("file:///a%20b", "r") == "/a b/r" and places.child("a", "r") == "a/r"
