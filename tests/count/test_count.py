"""count.toml: what it gives, and every way in which it can be wrong, with the line."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from aftercount import count as counts
from aftercount.counttime import datetime_us, format_utc
from aftercount.errors import Problem
from folders import write_folder

FULL = """
[count]
id = "heron-7-r03"
title = "Heron flight 7, rehearsal 3"
kind = "wet-dress"
t0 = 2031-04-18T16:30:00+02:00
window = [2031-04-18T14:30:00Z, 2031-04-18T16:30:00Z]
zone = "Europe/Oslo"
early_s = 5
late_s = "15 s"

[[log]]
path = "notes.txt"
station = "TC"
reference = true

[[log]]
path = "seq.csv"
format = "csv"
time = "utc"
start = 2031-04-18T13:00:00Z
net = "NET 1"
columns = { time = "stamp", text = "message" }

[stations]
TC = ["test conductor"]
PROP = "propulsion"

[glossary]
LOX = ["liquid oxygen"]

[authority]
hold = ["TC", "PROP"]
"""


def problems_of(folder: Path, toml: str, files: dict[str, str | bytes] | None = None) -> list[Problem]:
    return counts.load(write_folder(folder, {"count.toml": toml} | (files or {})))[1]


def told(problems: list[Problem]) -> list[tuple[int, str]]:
    return [(p.line, p.code) for p in problems]


def test_every_key_of_the_contract_is_read(tmp_path: Path) -> None:
    count, problems = counts.load(write_folder(tmp_path, {"count.toml": FULL, "seq.csv": "stamp,message\n"}))
    assert problems == [] and count is not None
    assert (count.id, count.title, count.kind) == ("heron-7-r03", "Heron flight 7, rehearsal 3", "wet-dress")
    assert format_utc(count.t0_us) == "2031-04-18T14:30:00Z"
    assert count.window is not None and [format_utc(us)[11:16] for us in count.window] == ["14:30", "16:30"]
    assert (count.zone, count.early_s, count.late_s) == ("Europe/Oslo", 5.0, 15.0)
    notes, seq = count.logs
    assert (notes.path, notes.station, notes.reference, notes.format) == ("notes.txt", "TC", True, None)
    assert (seq.format, seq.time, seq.net, seq.columns) == ("csv", "utc", "NET 1", {"time": "stamp", "text": "message"})
    assert seq.start_us == datetime_us(dt.datetime(2031, 4, 18, 13, tzinfo=dt.UTC))
    assert count.stations == {"TC": ("test conductor",), "PROP": ("propulsion",)}
    assert (count.glossary, count.authority) == ({"LOX": ("liquid oxygen",)}, {"hold": ("TC", "PROP")})


def test_two_keys_are_enough(tmp_path: Path) -> None:
    count, problems = counts.load(write_folder(tmp_path))
    assert problems == [] and count is not None
    assert (count.title, count.kind, count.zone, count.window) == ("heron-7-t1", "rehearsal", "UTC", None)
    assert [log.path for log in count.logs] == ["notes.txt"]
    assert (count.early_s, count.late_s, count.decisions_file) == (10.0, 10.0, None)


def test_without_log_tables_every_known_file_is_a_log(tmp_path: Path) -> None:
    files = dict.fromkeys(["NET1.VTT", "seq.jsonl.gz", "b.srt", "events.parquet", "log.json", "loop.tab.zst", "decisions.csv", "report.html", "a.gz", "notes.toml", "truth.json",
                           "x.truth.json", "README.txt", ".hidden.txt", "photo.jpg"], "x\n")
    count, problems = counts.load(write_folder(tmp_path, files))
    assert count is not None and count.decisions_file == tmp_path / "decisions.csv"
    assert [log.path for log in count.logs] == [
        "NET1.VTT", "b.srt", "events.parquet", "log.json", "loop.tab.zst", "notes.txt", "seq.jsonl.gz"]
    assert [(p.severity, p.code) for p in problems] == [("warning", "count-not-read")] * 3
    assert [name in p.text for name, p in zip(("a.gz", "photo.jpg", "report.html"), problems, strict=True)] == [True] * 3


def test_all_faults_are_told_at_once_each_with_its_line(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, """
        [count]
        ident = "heron-7"
        t0 = "half past two"
        kind = "rehersal"
        zone = "Europe/Olso"
        late_s = -3

        [[log]]
        path = "nots.txt"
        formt = "csv"

        [[log]]
        path = "notes.txt"
        format = "webvt"
        reference = "yes"

        [station]
        TC = []
    """)
    assert told(problems) == [
        (1, "count-no-id"), (2, "count-unknown-key"), (3, "count-bad-time"), (4, "count-unknown-kind"), (5, "count-unknown-zone"),
        (6, "count-bad-tolerance"), (9, "count-no-file"), (10, "count-unknown-key"), (14, "count-unknown-format"),
        (15, "count-not-bool"), (17, "count-unknown-key"),
    ]
    hints = {p.line: p.hint for p in problems}
    assert hints[2].startswith("known: id, title") and hints[4] == "did you mean 'rehearsal'?"
    assert hints[5] == "did you mean 'Europe/Oslo'?" and hints[9] == "did you mean 'notes.txt'?"
    assert hints[14] == "did you mean 'webvtt'?" and hints[17] == "did you mean 'stations'?"


HEAD = '[count]\nid = "a"\nt0 = 2031-04-18T14:30:00Z\n'


@pytest.mark.parametrize(("toml", "line", "code"), [
    ("[count\n", 1, "count-toml"),
    ("", 0, "count-no-count-table"),
    ("[cuont]\nid = 'a'\n", 0, "count-no-count-table"),
    ("count = 3\n", 1, "count-no-count-table"),
    ("[count]\nt0 = 2031-04-18T14:30:00Z\n", 1, "count-no-id"),
    ("[count]\nid = 7\nt0 = 2031-04-18T14:30:00Z\n", 2, "count-not-text"),
    ("[count]\nid = 'a/b'\nt0 = 2031-04-18T14:30:00Z\n", 2, "count-bad-id"),
    ("[count]\nid = '..'\nt0 = 2031-04-18T14:30:00Z\n", 2, "count-bad-id"),
    ("[count]\nid = 'a'\n", 1, "count-no-t0"),
    ("[count]\nid = 'a'\nt0 = 2031-04-18\n", 3, "count-bad-time"),
    ("[count]\nid = 'a'\nt0 = 14:30:00\n", 3, "count-bad-time"),
    (HEAD + "window = [2031-04-18T14:30:00Z]\n", 4, "count-bad-window"),
    (HEAD + "window = [2031-04-18T14:30:00Z, 2031-04-18T13:30:00Z]\n", 4, "count-bad-window"),
    (HEAD + "early_s = true\n", 4, "count-bad-tolerance"),
    (HEAD + "late_s = nan\n", 4, "count-bad-tolerance"),
    (HEAD + "plan = 'missing.csv'\n", 4, "count-no-file"),
    (HEAD + "plan = '../plan.csv'\n", 4, "count-outside"),
    (HEAD + "[log]\npath = 'notes.txt'\n", 4, "count-bad-log"),
    (HEAD + "[[log]]\nnet = 'NET 1'\n", 4, "count-no-path"),
    (HEAD + "[[log]]\npath = '/etc/hostname'\n", 5, "count-outside"),
    (HEAD + "[[log]]\npath = '.'\n", 5, "count-no-file"),
    (HEAD + '[[log]]\npath = "a\\u0000b"\n', 5, "count-bad-path"),
    (HEAD + "[[log]]\npath = 'notes.txt'\ncolumns = 'x'\n", 6, "count-bad-columns"),
    (HEAD + "[[log]]\npath = 'notes.txt'\ncolumns = { tiem = 'x' }\n", 6, "count-unknown-key"),
    (HEAD + "[[log]]\npath = 'notes.txt'\n[[log]]\npath = './notes.txt'\n", 7, "count-log-twice"),
    (HEAD + "[stations]\nTC = 5\n", 5, "count-bad-forms"),
    (HEAD + "stations = 5\n", 4, "count-unknown-key"),
    ("stations = 5\n" + HEAD, 1, "count-bad-stations"),
    (HEAD + "[authority]\nhalt = ['TC']\n", 5, "count-unknown-key"),
])
def test_one_fault(tmp_path: Path, toml: str, line: int, code: str) -> None:
    count, problems = counts.load(write_folder(tmp_path / "c", {"count.toml": toml}))
    assert (line, code) in told(problems)
    assert count is None and all(p.file.endswith("count.toml") for p in problems)


def test_what_is_only_odd_is_a_warning(tmp_path: Path) -> None:
    toml = """
        [count]
        id = "a"
        t0 = 2031-04-18T16:30:00
        zone = "Europe/Oslo"
        [[log]]
        path = "notes.txt"
        station = "PORP"
        [stations]
        PROP = []
        [authority]
        hold = ["TC"]
    """
    count, problems = counts.load(write_folder(tmp_path, {"count.toml": toml}))
    assert count is not None and format_utc(count.t0_us) == "2031-04-18T14:30:00Z"
    assert told(problems) == [(3, "count-no-offset"), (7, "count-unknown-station"), (11, "count-unknown-station")]
    assert problems[1].hint == "did you mean 'PROP'?"


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "c", {"count.toml": HEAD + "[[log]]\npath = 'link.txt'\n"})
    (tmp_path / "secret.txt").write_text("x")
    (folder / "link.txt").symlink_to(tmp_path / "secret.txt")
    assert told(counts.load(folder)[1]) == [(5, "count-outside")]


@pytest.mark.parametrize("name", ["link.txt", "decisions.csv"])
def test_a_link_out_of_the_folder_is_not_taken_by_default_either(tmp_path: Path, name: str) -> None:
    folder = write_folder(tmp_path / "c")
    (tmp_path / "secret.txt").write_text("x")
    (folder / name).symlink_to(tmp_path / "secret.txt")
    count, problems = counts.load(folder)
    assert count is None and [p.code for p in problems] == ["count-outside"]


def test_a_byte_order_mark_is_fine_and_other_encodings_are_told(tmp_path: Path) -> None:
    assert counts.load(write_folder(tmp_path / "a", {"count.toml": ("\ufeff" + HEAD).encode()}))[1] == []
    assert told(problems_of(tmp_path / "b", "", {"count.toml": HEAD.encode() + "title = 'Reh\xe9'\n".encode("latin-1")})) == [
        (4, "count-encoding")]


def test_no_folder_and_no_count(tmp_path: Path) -> None:
    assert [p.code for p in counts.load(tmp_path / "none")[1]] == ["count-no-folder"]
    assert [p.code for p in counts.load(tmp_path)[1]] == ["count-missing"]


def test_keys_inside_long_texts_and_lists_do_not_mislead_the_lines(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, '''
        [count]
        id = "a"
        title = """
        t0 = 5
        """
        t0 = "no time"
    ''')
    assert told(problems) == [(6, "count-bad-time")]
