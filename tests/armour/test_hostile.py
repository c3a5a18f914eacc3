"""Files made to stop the tool, in a child of limited memory and time: a clear line or a marked reject, and the rest is read.

What takes long at its real size runs with ARMOUR=full; see also tests/cli/test_malformed.py and tests/logs/test_files.py.
"""

from __future__ import annotations

import os
import re
import tempfile
import threading
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from aftercount import cli
from armour import limited
from armour.conservation import try_bytes
from armour.full import FULL
from armour.scene import WRITERS, as_transcript
from armour.scenes import own
from folders import COUNT, PLAN, write_folder

LOG = COUNT + '\n[[log]]\npath = "{}"\n'
XLSX = COUNT + 'plan = "plan.xlsx"\n'
NOBODY = 65534
_DEEP = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
_SHEET = ('<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "aaaaaaaaaa">' + _DEEP + ']><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
          '<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>&a9;</t></is></c></row></sheetData></worksheet>')


def workbook(path: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """A plan as a workbook, its inner files changed."""
    import openpyxl

    book = openpyxl.Workbook()
    for line in PLAN.strip().splitlines():
        book.active.append(line.split(","))
    book.save(path)
    with zipfile.ZipFile(path) as packed:
        inner = {name: packed.read(name) for name in packed.namelist()}
    change(inner)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in inner.items():
            packed.writestr(name, data)


def _wide(inner: dict[str, bytes]) -> None:
    sheet = "xl/worksheets/sheet1.xml"
    inner[sheet] = re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:XFD1048576"', inner[sheet])


def _swollen(inner: dict[str, bytes]) -> None:
    inner["xl/media/x.bin"] = bytes(600_000_000)


def rows(path: Path, million: int) -> None:
    """A Parquet file of so many million rows in a few kilobytes."""
    part = pa.table({"time": pa.repeat("2031-04-18T14:20:00Z", 1_000_000), "text": pa.repeat("x" * 100, 1_000_000)})
    with pq.ParquetWriter(path, part.schema, compression="zstd") as writer:
        for _ in range(million):
            writer.write_table(part)


# name: (files, what else to put there, exit status of review, what its first line of stderr or its list of problems says)
Case = tuple[dict[str, str | bytes], Callable[[Path], None], int, str]


FULL_SIZE: dict[str, Case] = {
    "workbook that unpacks to 600 MB": ({"count.toml": XLSX}, lambda f: workbook(f / "plan.xlsx", _swollen), 1, "too large to be a plan"),
}


def nothing(_: Path) -> None:
    pass


CASES: dict[str, Case] = {
    "plan of 20,000 columns": ({"plan.csv": "step,t,action," + ",".join(f"c{i}" for i in range(20_000)) + "\n1,T-5,X\n"}, nothing, 1, "at most 500 are read"),
    "plan of one id": ({"plan.csv": "step,t,action\n" + "1,T-5,X\n" * 9000}, nothing, 1, "is already on line 2"),
    "workbook that claims every cell": ({"count.toml": XLSX}, lambda f: workbook(f / "plan.xlsx", _wide), 0, ""),
    "workbook of entities in entities": ({"count.toml": XLSX}, lambda f: workbook(f / "plan.xlsx", lambda inner: inner.update({"xl/worksheets/sheet1.xml": _SHEET.encode()})), 1, "plan.xlsx"),
    "parquet of 6 million rows": ({}, lambda f: rows(f / "a.parquet", 6), 0, "a.parquet: too large: 6000000 rows"),
    "parquet of 3,000 columns": ({}, lambda f: pq.write_table(pa.table({f"c{i}": ["x"] for i in range(3000)}), f / "a.parquet"), 0, "3000 columns"),
    "link out of the folder": ({"count.toml": LOG.format("b.txt")}, lambda f: (f / "b.txt").symlink_to("/etc/passwd"), 1, "leads outside the count folder"),
    "folder that is a link out": ({"count.toml": LOG.format("d/passwd")}, lambda f: (f / "d").symlink_to("/etc"), 1, "leads outside the count folder"),
    "plan that is a link out": ({"count.toml": COUNT + 'plan = "p.csv"\n'}, lambda f: (f / "p.csv").symlink_to("/etc/passwd"), 1, "leads outside the count folder"),
    "link to itself": ({"count.toml": LOG.format("b.txt")}, lambda f: (f / "b.txt").symlink_to("b.txt"), 1, "b.txt"),
    "log that lists itself": ({"count.toml": LOG.format("count.toml")}, nothing, 0, ""),
    "csv of 50,000 columns": ({"a.csv": ",".join(f"c{i}" for i in range(50_000)) + "\n" + ",".join("x" * 50_000) + "\n"}, nothing, 0, "at most 20000 are read"),
    "csv with columns twice": ({"a.csv": "time,time,text,text\n14:20:00,14:21:00,vent closed,x\n"}, nothing, 0, ""),
    "csv of nan": ({"a.csv": "time,text\nnan,a\n-inf,b\n1e999,c\n" + "9" * 400 + ",d\n"}, nothing, 0, "not a time"),
    "jsonl of years 0 and 9999": ({"a.jsonl": '{"time":"0000-01-01T00:00:00Z","text":"a"}\n{"time":"9999-12-31T23:59:59Z","text":"b"}\n'}, nothing, 0, "a.jsonl"),
    "steps that wait in a circle": ({"plan.csv": "step,t,action,after\n" + "".join(f"{i},T-{9000 - i}s,X,{(i + 1) % 900}\n" for i in range(900))}, nothing, 1, "wait for each other"),
}


def test_each_ends_with_a_clear_line_within_its_bounds(tmp_path: Path) -> None:
    cases = CASES | (FULL_SIZE if FULL else {})
    folders = [write_folder(tmp_path / str(number), files) for number, (files, _, _, _) in enumerate(cases.values())]
    for folder, (_, more, _, _) in zip(folders, cases.values(), strict=True):
        more(folder)
    ended = limited.run([["check", str(folder)] for folder in folders])
    for checked, (name, (_, _, status, says)) in zip(ended, cases.items(), strict=True):
        assert checked.status == status, f"{name}: {checked.out[:300]} {checked.err}"
        assert "internal fault" not in checked.err, name
        assert says in checked.out, f"{name}: {checked.out[-300:]}"
        assert checked.lines or status == 0, name


def test_a_file_that_may_not_be_read() -> None:
    """Said as such, by a user who has no right to everything."""
    place = Path(tempfile.mkdtemp())
    place.chmod(0o755)
    try:
        commands = []
        for name in ("notes.txt", "plan.csv", "count.toml"):
            folder = write_folder(place / name.replace(".", "-"), {})
            (folder / name).chmod(0)
            commands.append(["check", str(folder)])
        ended = limited.run(commands, user=NOBODY if os.getuid() == 0 else None)
        assert [e.status for e in ended] == [1, 1, 1]  # without its only log a count has nothing to review
        assert all("cannot be read: Permission denied" in e.out for e in ended), [e.out for e in ended]
    finally:
        for file in place.rglob("*"):
            file.chmod(0o755)


@pytest.mark.parametrize("form", sorted(WRITERS))
def test_every_reader_in_every_dress(form: str) -> None:
    """The same log in other encodings and with other line ends has the same entries; damage costs what it touches."""
    loop = own().log("loop")
    text = (as_transcript(loop, form) if form in ("webvtt", "srt") else replace(loop, form=form)).text()
    want = len(loop.entries)
    for data in (text.encode("utf-16"), text.encode("utf-8-sig"), text.encode("utf-32"), text.encode("utf-16-be"), text.replace("\n", "\r\n").encode(),
                 text.replace("\n", "\r").encode(), text.replace("hose", "h\u00f6se").encode("cp1252"), text.replace("hose", "ho\0se").encode()):
        assert len(try_bytes(form, data).line) == want
    half = try_bytes(form, text.encode()[: len(text) // 2])
    assert want // 3 < len(half.line) <= want // 2 + 1


def test_a_folder_that_changes_while_it_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Files that grow, shrink, come and go: each look ends with a status and no fault of ours."""
    folder = write_folder(tmp_path / "count", {"more.csv": "time,text\n14:20:00,vent closed\n"})
    over = threading.Event()

    def meddle() -> None:
        turn = 0
        while not over.is_set():
            turn += 1
            for name, text in (("notes.txt", "14:20:00 TC vent closed\n" * (turn % 50)), ("more.csv", "time,text\n" * (turn % 3)), ("plan.csv", PLAN[: turn % len(PLAN)])):
                (folder / name).write_text(text)
            (folder / "more.csv").unlink()
            (folder / "late.txt").write_bytes(os.urandom(turn % 300))

    other = threading.Thread(target=meddle)
    other.start()
    try:
        for _ in range(25):
            assert cli.run(["check", str(folder)]) in (0, 1)
            shown = capsys.readouterr()
            assert "internal fault" not in shown.err and "Traceback" not in shown.err
    finally:
        over.set()
        other.join()


@pytest.mark.skipif(not FULL, reason="ARMOUR=full runs it: a line of 100 MB in every format, ten million lines, a plan of 5,000 steps")
@pytest.mark.parametrize("case", ["notes", "csv", "jsonl", "webvtt", "srt", "syslog", "ten million lines", "5,000 steps"])
def test_at_full_size(tmp_path: Path, case: str) -> None:
    """Prints what it took; the bounds are those of the child."""
    heads = {"notes": "14:20:00 ", "csv": "time,text\n14:20:00,", "jsonl": '{"time":"14:20:00Z","text":"', "webvtt": "WEBVTT\n\n00:01.000 --> 00:02.000\n",
             "srt": "1\n00:00:01,000 --> 00:00:02,000\n", "syslog": "<34>1 2031-04-18T14:20:00Z h a - - - "}
    suffix = {"notes": "txt", "webvtt": "vtt", "syslog": "log"}.get(case, case)
    if case in heads:
        folder = write_folder(tmp_path / "count", {f"a.{suffix}": heads[case] + "a" * 100_000_000})
    elif case == "5,000 steps":
        plan = "step,t,action,by,after\n" + "".join(f"{i},T-{20_000 - 3 * i}s,Close valve {i},PROP,{i - 1 if i else ''}\n" for i in range(5000))
        folder = write_folder(tmp_path / "count", {"plan.csv": plan, "notes.txt": "".join(f"14:{i // 60 % 60:02d}:{i % 60:02d} PROP valve {i} closed\n" for i in range(3000))})
    else:
        folder = write_folder(tmp_path / "count")
        with (folder / "notes.txt").open("w") as file:
            for i in range(10_000_000):
                file.write(f"{10 + i // 3_000_000:02d}:{i // 60 % 60:02d}:{i % 60:02d} PROP: tank pressure steady\n")
    command = ["review", str(folder), "--out", str(tmp_path / "out")] if case == "5,000 steps" else ["check", str(folder)]
    ended = limited.run([command], memory=12 << 30, cpu_s=900)[0]
    print(f"\n{case}: status {ended.status}, {ended.cpu_s:.1f} s of CPU, {ended.peak_mb:.0f} MB; {ended.out.splitlines()[0][-120:]}")
    assert ended.status == 0 and "internal fault" not in ended.err
