"""Packed, oddly encoded, torn and hostile files; and many logs together."""

from __future__ import annotations

import gzip
import random
import time
from pathlib import Path

import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercount import logs
from aftercount.count import LogSpec
from aftercount.logs import files
from aftercount.logs.reading import READERS
from logs.reading_logs import count_of, read, said

TEXT = "14:25:03 TC: go for step 4\n14:25:09 PROP: in work\n"
WANT = [("TC", None, "go for step 4"), ("PROP", None, "in work")]


def gz(data: bytes) -> bytes:
    """Gzip without the time of packing, so that the same bytes come out in every process."""
    return gzip.compress(data, mtime=0)


def zstd(data: bytes) -> bytes:
    return pa.compress(data, "zstd", asbytes=True)


def long_zstd(data: bytes) -> bytes:
    sink = pa.BufferOutputStream()
    with pa.CompressedOutputStream(sink, "zstd") as out:
        out.write(data)
    return sink.getvalue().to_pybytes()


PACKED = {
    "gzip": gz(TEXT.encode()), "zstd": zstd(TEXT.encode()), "gzip of zstd": gz(zstd(TEXT.encode())),
    "two gzip members": gz(TEXT[:27].encode()) + gz(TEXT[27:].encode()),
    "utf-8 with a mark": TEXT.encode("utf-8-sig"), "utf-16": TEXT.encode("utf-16"), "utf-16-be": TEXT.encode("utf-16-be"),
    "utf-16-le": TEXT.encode("utf-16-le"), "utf-32": TEXT.encode("utf-32"),
    "crlf": TEXT.replace("\n", "\r\n").encode(), "cr": TEXT.replace("\n", "\r").encode(),
}


@pytest.mark.parametrize("data", PACKED.values(), ids=PACKED.keys())
def test_packing_encodings_and_line_ends(tmp_path: Path, data: bytes) -> None:
    records, rejects, _ = read(tmp_path, "notes.txt.gz", data)
    assert said(records) == WANT and len(rejects) == 0


def test_packed_names_tell_the_format(tmp_path: Path) -> None:
    for name in ("a.csv.gz", "a.csv.zst", "A.CSV"):
        _, _, sources = read(tmp_path, name, "what,when\nx,y\n")
        assert sources["format"][0] == "csv"


@pytest.mark.parametrize(("words", "encoding"), [
    ("pression nominale, réservoir fermé", "cp1252"), ("заправка окислителя начата, давление в норме", "cp1251"),
])
def test_older_encodings(tmp_path: Path, words: str, encoding: str) -> None:
    records, _, sources = read(tmp_path, "n.txt", f"14:25:03 TC: {words}\n".encode(encoding))
    assert records["text"][0] == words and encoding in sources["note"][0]


def test_one_line_in_another_encoding_spoils_no_other(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "n.txt", "14:25:03 TC: fermé à clé\n".encode() * 2 + "14:25:04 TC: fermé\n".encode("cp1252"))
    assert list(records["text"]) == ["fermé à clé", "fermé à clé", "fermé"]
    assert "1 lines cp1252" in sources["note"][0]


NO_LOG = {
    "noise": (random.Random(1).randbytes(50_000), "binary data"), "zeros": (b"\0" * 2000, "binary data"),
    "program": (b"\x7fELF" + bytes(range(256)) * 9, "binary data"),
    "torn parquet": (b"PAR1 and no more", "not a readable Parquet file"),
    "torn gzip": (b"\x1f\x8b", "gzip data is damaged"), "torn zstd": (b"\x28\xb5\x2f\xfd", "zstd data is damaged"),
    "gzip of gzip of gzip of gzip": (gz(gz(gz(gz(b"x")))), "packed more than 3 times"),
}


@pytest.mark.parametrize(("data", "reason"), NO_LOG.values(), ids=NO_LOG.keys())
def test_a_file_that_is_no_log_is_one_reject(tmp_path: Path, data: bytes, reason: str) -> None:
    records, rejects, sources = read(tmp_path, "n.txt", data)
    assert len(records) == 0 and list(rejects["line"]) == [0]
    assert rejects["reason"][0].startswith(reason)
    assert sources["rejected"][0] == 1


@pytest.mark.parametrize("pack", [gz, long_zstd])
def test_a_torn_archive_gives_what_it_has(tmp_path: Path, pack) -> None:  # type: ignore[no-untyped-def]
    rng = random.Random(2)
    text = "".join(f"14:25:03 TC: {rng.getrandbits(400):x}\n" for _ in range(20_000)).encode()
    whole = pack(text)
    records, rejects, _ = read(tmp_path, "n.txt.gz", whole[: len(whole) * 3 // 4])
    assert 5_000 < len(records) < 20_000
    assert rejects["line"].iloc[0] == 0 and "damaged or cut short" in rejects["reason"].iloc[0]


@pytest.mark.parametrize("pack", [gz, zstd])
def test_a_bomb_is_refused_early(tmp_path: Path, pack) -> None:  # type: ignore[no-untyped-def]
    data = pack(b"a" * (200 << 20))
    _, rejects, _ = read(tmp_path, "n.gz", data)
    assert rejects["reason"][0].startswith("unpacks to more than is allowed")


def test_empty_missing_and_folders(tmp_path: Path) -> None:
    for name in ("a.txt", "a.csv", "a.jsonl", "a.vtt", "a.srt", "a.parquet"):
        records, rejects, sources = read(tmp_path, name, "")
        assert len(records) == len(rejects) == 0 and sources["entries"][0] == 0
    (tmp_path / "sub").mkdir()
    specs = [LogSpec("gone.txt", tmp_path / "gone.txt"), LogSpec("sub", tmp_path / "sub")]
    records, rejects, sources = logs.read(count_of(tmp_path, specs))
    assert list(rejects["reason"]) == ["not found", "this is a folder; a log file was expected"]
    assert len(sources) == 2 and len(records) == 0


def test_nul_and_surrogates_cannot_break_what_follows(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "n.txt", "14:25:03 TC: go\0on\n" + TEXT)
    assert records["text"][0] == "go\ufffdon"
    records, _, _ = read(tmp_path, "n.jsonl", '{"time": "14:25:03", "text": "a\\ud800b"}\n')
    assert records["text"][0] == "a\ufffdb"


@pytest.mark.parametrize("name", ["n.txt", "n.csv", "n.jsonl", "n.vtt", "n.log"])
def test_an_endless_line_is_one_reject(tmp_path: Path, name: str) -> None:
    head = {"n.csv": "time,text\n14:25:03,", "n.jsonl": '{"text": "', "n.vtt": "WEBVTT\n\n00:01.000 --> 00:02.000\n", "n.log": "<1>1 - h a - - - "}.get(name, "")
    records, rejects, _ = read(tmp_path, name, head + "a" * 5_000_000)
    assert len(records) == 0 and len(rejects) == 1
    assert len(rejects["raw"][0]) < 1000


HARD = ["T-" + "1" * 19_000, "14:25:03 " + "A " * 9_000, "14:25:03 " + "a-" * 9_000 + ">", "<" * 19_000, "<v.a" + ".a" * 9_000, "14:25:03 " + "A" * 9_000 + ":",
        "[" * 18_000, "- " * 9_000, "14:25:03 " + " " * 18_000 + "x", "14:25:03" + ":03" * 6_000, "=-" * 9_000 + "x", "&" * 19_000, "{\\" * 9_000,
        'a="' + '\\"' * 9_000, '"' * 18_999, "x@1" + ' k="v"' * 3_000, "1-1-" * 4_000, "Monday " * 2_500, "PROP to " * 2_000, "#" * 19_000, ">> " * 6_000]
HEADS = {"notes": "", "csv": "time,text\n14:25:03,", "jsonl": "", "webvtt": "WEBVTT\n\n00:01.000 --> 00:02.000\n",
         "srt": "1\n00:00:01,000 --> 00:00:02,000\n", "syslog": "<34>1 2003-10-11T22:14:15.003Z h a - - ["}


@pytest.mark.parametrize("name", sorted(READERS))
def test_no_line_makes_a_reader_slow(tmp_path: Path, name: str) -> None:
    """Twenty thousand characters at a time that defeat a backtracking expression; linear ones take milliseconds."""
    for hard in HARD:
        start = time.process_time()
        read(tmp_path, "n", (HEADS[name] + hard + "\n") * 3, format=name)
        assert time.process_time() - start < 1.5, hard[:20]


def test_many_unclosed_quotes_stay_cheap(tmp_path: Path) -> None:
    start = time.process_time()
    records, rejects, _ = read(tmp_path, "n.csv", "time,text\n" + '14:25:03,"open\n14:25:04,shut\n' * 3000)
    assert time.process_time() - start < 8
    assert len(records) + len(rejects) >= 3000


PIECES = st.sampled_from(["14:25:03 ", "T-5:00 ", "T-", "1425Z", "TC: ", "PROP>TC ", "\n", "\r\n", ",", ";", "\t", '"', "{", "}", "[", "]", "<v TC>", "</v>", "-->",
                          "00:00:01.000 --> 00:00:02.000\n", "WEBVTT\n\n", "<34>1 - h a - - - ", "time,text\n", "\x00", "\u2028", "é", "- ", "#", "1", "a", " ", "367/",
                          "2031-02-30", "99:99", '{"time": 1e400, "text": "x"}\n', "L-5", "\ufeff", "&amp;", "=cmd()", "23:59:60 "])


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(PIECES, max_size=30).map("".join), st.sampled_from([None, *sorted(READERS)]), st.sampled_from([None, "utc", "local", "count", "elapsed"]))
def test_nothing_breaks_a_reader(tmp_path: Path, text: str, form: str | None, kind: str | None) -> None:
    records, rejects, sources = read(tmp_path, "n.txt", text, format=form, time=kind, zone="America/New_York")
    assert sources["entries"][0] <= len(records)
    assert not records["text"].str.contains("\n").any()


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.binary(max_size=400), st.sampled_from([None, *sorted(READERS), "parquet"]))
def test_no_bytes_break_a_reader(tmp_path: Path, data: bytes, form: str | None) -> None:
    read(tmp_path, "n.bin", data, format=form)


def test_lines_end_only_at_line_ends() -> None:
    assert files.clean("a\u2028b\x0bc\x85d\r\ne\rf\n").split("\n") == ["a\u2028b\x0bc\x85d", "e", "f", ""]


def test_logs_of_a_count_in_its_order(tmp_path: Path) -> None:
    (tmp_path / "b.txt").write_text(TEXT)
    (tmp_path / "a.vtt").write_text("WEBVTT\n\n00:01.000 --> 00:02.000\n<v TC>hold</v><v PROP>copy\n")
    specs = [LogSpec("b.txt", tmp_path / "b.txt", reference=True), LogSpec("a.vtt", tmp_path / "a.vtt", net="NET 1")]
    records, rejects, sources = logs.read(count_of(tmp_path, specs))
    assert list(records["source"]) == ["b.txt", "b.txt", "a.vtt", "a.vtt"]
    assert sources[["source", "format", "time", "entries", "rejected", "reference"]].values.tolist() == [
        ["b.txt", "notes", "utc", 2, 0, True], ["a.vtt", "webvtt", "elapsed", 1, 0, False]]
    assert sources["offset_s"].isna().all() and len(rejects) == 0
    again = logs.read(count_of(tmp_path, specs))
    assert all(a.equals(b) for a, b in zip((records, rejects, sources), again, strict=True))
