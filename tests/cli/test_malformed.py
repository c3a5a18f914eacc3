"""Whatever is given, a command ends with a message and a status: never a traceback, never a fault of ours.

Each case is a count folder that is wrong in one way, or odd but sound. The status may be 0 where the tool can go on
without the broken part; that it says so is tested with each reader.
"""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from aftercount import cli
from folders import COUNT, PLAN, write_folder

LOG = COUNT + '\n[[log]]\npath = "{}"\n'
BINARY = bytes(range(256)) * 40
Files = dict[str, str | bytes]

CASES: dict[str, Files] = {
    "count empty": {"count.toml": ""},
    "count binary": {"count.toml": BINARY},
    "count utf-16": {"count.toml": COUNT.encode("utf-16")},
    "count nested deep": {"count.toml": "a = " + "[" * 5000 + "]" * 5000},
    "count twice the same key": {"count.toml": COUNT + "id = 'b'\n"},
    "count with a list for a table": {"count.toml": "[[count]]\nid = 'a'\n"},
    "count id a path": {"count.toml": COUNT.replace("heron-7-t1", "../x")},
    "count id a list": {"count.toml": COUNT.replace('"heron-7-t1"', "[1]")},
    "t0 of year 1": {"count.toml": COUNT.replace("2031", "0001")},
    "t0 of year 9999": {"count.toml": COUNT.replace("2031", "9999")},
    "t0 a number": {"count.toml": COUNT.replace("2031-04-18T14:30:00Z", "5")},
    "zone a path": {"count.toml": COUNT + 'zone = "../../etc/passwd"\n'},
    "zone absolute": {"count.toml": COUNT + 'zone = "/etc/passwd"\n'},
    "plan a path out": {"count.toml": COUNT + 'plan = "../../../etc/passwd"\n'},
    "plan a folder": {"count.toml": COUNT + 'plan = "."\n'},
    "plan of another kind": {"count.toml": COUNT + 'plan = "notes.txt"\n'},
    "log a number": {"count.toml": COUNT + "\n[[log]]\npath = 5\n"},
    "log list of numbers": {"count.toml": "log = [1, 2]\n" + COUNT},
    "log missing": {"count.toml": LOG.format("none.vtt")},
    "log device": {"count.toml": LOG.format("/dev/zero")},
    "log columns odd": {"count.toml": LOG.format("notes.txt") + "columns = { time = 5 }\n"},
    "log columns absent": {"count.toml": LOG.format("a.csv") + 'columns = { time = "nope" }\n', "a.csv": "t,m\n1,x\n"},
    "log none": {"count.toml": "log = []\n" + COUNT},
    "stations a text": {"count.toml": 'stations = "TC"\n' + COUNT},
    "plan empty": {"plan.csv": ""},
    "plan header only": {"plan.csv": "step,t,action\n"},
    "plan binary": {"plan.csv": BINARY},
    "plan one huge cell": {"plan.csv": "step,t,action\n1,T-5," + "x" * 300_000 + "\n"},
    "plan quote left open": {"plan.csv": 'step,t,action\n1,T-5,"X\n2,T-4,Y\n'},
    "plan times huge": {"plan.csv": "step,t,action\n1,T-999999999999999999:00:00,X\n"},
    "plan times overflowing": {"plan.csv": f"step,t,action\n1,T-{'9' * 400}s,X\n"},
    "plan durations huge": {"plan.csv": f"step,t,action,kind,duration\n1,T-5,X,,\nH,T-9,Hold,hold,{'9' * 400}\n"},
    "plan of ids with markup": {"plan.csv": 'step,t,action\n<b>,T-5,"=cmd()|<script>"\n'},
    "plan circle of itself": {"plan.csv": "step,t,action,after\n1,T-5,X,1\n"},
    "plan long chain": {"plan.csv": "step,t,action,after\n" + "".join(f"{i},T-{9000 - i}s,X,{i + 1}\n" for i in range(3000))},
    "plan xlsx that is none": {"count.toml": COUNT + 'plan = "plan.xlsx"\n', "plan.xlsx": BINARY},
    "decisions empty": {"decisions.csv": ""},
    "decisions binary": {"decisions.csv": BINARY},
    "decisions of nothing": {"decisions.csv": "step,decision\n77,missed\n"},
    "decisions line huge": {"decisions.csv": f"step,decision,source,line\n1,matched,notes.txt,{'9' * 50}\n"},
    "notes empty": {"notes.txt": b""},
    "notes one line break": {"notes.txt": b"\n"},
    "notes binary": {"notes.txt": BINARY},
    "notes nul bytes": {"notes.txt": b"14:20:00 TC\0 vent \0closed\n"},
    "notes utf-16": {"notes.txt": "14:20:00 TC vent closed\n".encode("utf-16")},
    "notes latin-1": {"notes.txt": "14:20:00 TC t\xe9l\xe9m\xe9trie\n".encode("latin-1")},
    "notes broken utf-8": {"notes.txt": b"14:20:00 TC vent \xff\xfe\xc3( closed\n"},
    "notes one line of a megabyte": {"notes.txt": "14:20:00 " + "vent " * 200_000},
    "notes markup and formulas": {"notes.txt": "14:20:00 TC <script>alert(1)</script>\n14:21:00 =HYPERLINK(1)\n"},
    "notes wild times": {"notes.txt": "99:99:99 x\n24:00:00 y\n-1:00 z\nT-99999999999:00 w\n366/23:59:60Z v\n"},
    "notes only count times": {"notes.txt": "T-10:00 vent closed\nT-5:00 fill valve open\n"},
    "notes bidi and controls": {"notes.txt": "14:20:00 \u202eTC\u202c \x1b[2J \u0007 vent closed\n"},
    "vtt empty": {"a.vtt": b""},
    "vtt no cues": {"a.vtt": "WEBVTT\n"},
    "vtt bad times": {"a.vtt": "WEBVTT\n\n00:61.000 --> 00:62.000\nx\n\n00:05.000 --> 00:01.000\ny\n"},
    "vtt not vtt": {"a.vtt": "hello\n"},
    "vtt cut short": {"a.vtt": "WEBVTT\n\n00:01.000 --> 00:02.000\n<v TC"},
    "srt empty cue": {"a.srt": "1\n00:00:01,000 --> 00:00:02,000\n\n"},
    "srt no numbers": {"a.srt": "00:00:01,000 --> 00:00:02,000\nvent closed\n"},
    "srt negative": {"a.srt": "1\n-00:00:01,000 --> 00:00:02,000\nx\n"},
    "csv header only": {"a.csv": "time,text\n"},
    "csv no time column": {"a.csv": "foo,bar\n1,2\n"},
    "csv ragged": {"a.csv": 'time,text\n2031-04-18T14:20:00Z\n"2031-04-18T14:21:00Z,"x\n,,,,\n'},
    "csv formulas": {"a.csv": 'time,text\n2031-04-18T14:20:00Z,"=1+1"\n'},
    "csv huge numbers": {"a.csv": f"time,text\n{'9' * 30},x\n1e308,y\nnan,z\ninf,w\n"},
    "jsonl broken": {"a.jsonl": '{"time": \n[1]\n"x"\nnull\n{}\n'},
    "jsonl nested deep": {"a.jsonl": '{"time":"14:20:00Z","text":' + "[" * 5000 + "]" * 5000 + "}\n"},
    "jsonl odd values": {"a.jsonl": '{"time": true, "text": {"a": 1}}\n{"time": 1e400, "text": 5}\n{"time": null, "text": null}\n'},
    "syslog broken": {"a.syslog": "<999>1 - - - - - -\n<34>1 2031-04-18T14:20:00Z h a - - [x\n<>\n"},
    "syslog 3164 lenient": {"a.syslog": "<34>Apr 18 14:20:00 h seq: vent closed\n<34>Foo 99 x\n"},
    "parquet not parquet": {"a.parquet": BINARY},
    "parquet empty": {"a.parquet": b""},
    "gz broken": {"a.txt.gz": b"\x1f\x8b\x08broken"},
    "gz cut short": {"a.txt.gz": gzip.compress(b"14:20:00 vent closed\n" * 99)[:-9]},
    "gz that unpacks for ever": {"a.txt.gz": gzip.compress(b"\0" * 50_000_000)},
    "gz that is none": {"a.vtt.gz": "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n"},
    "zst broken": {"a.csv.zst": b"\x28\xb5\x2f\xfdbroken"},
}


@pytest.fixture(params=CASES)
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return write_folder(tmp_path / "count", CASES[request.param])


def sound(status: int, shown: tuple[str, str]) -> None:
    out, err = shown
    assert status in (0, 1)
    assert "Traceback" not in out + err and "internal fault" not in out + err, err
    if status:
        assert err.strip() and all(line.startswith(("aftercount: ", "warning: ")) for line in err.splitlines())
    assert all(c.isprintable() or c in "\n\t" for c in out + err)


def test_what_is_given_ends_well_and_what_check_refuses_cannot_be_reviewed(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    checked = cli.run(["check", str(folder)])
    sound(checked, capsys.readouterr())
    out = tmp_path / "out"
    reviewed = cli.run(["review", str(folder), "--out", str(out), "--csv"])
    sound(reviewed, capsys.readouterr())
    assert checked == reviewed
    assert (out / "summary.json").is_file() == (reviewed == 0)
    assert not [p for p in tmp_path.iterdir() if p not in (folder, out)]


@pytest.mark.parametrize("data", [b"\x7fELF" + bytes(range(256)) * 9, b"\x89PNG\r\n\x1a\n" + b"\0\1\2\3" * 500])
def test_a_count_whose_only_log_is_no_text_is_refused_in_one_line(data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_folder(tmp_path / "count", {"count.toml": LOG.format("log.txt")})
    (folder / "log.txt").write_bytes(data)
    assert cli.run(["check", str(folder)]) == 1
    assert capsys.readouterr().out == "error: log.txt: binary data; a text log or Parquet was expected\n"
    assert cli.run(["review", str(folder), "--out", str(tmp_path / "out")]) == 1
    assert capsys.readouterr().err == "aftercount: log.txt: binary data; a text log or Parquet was expected\n"


def test_a_folder_that_is_no_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text(PLAN)
    for given in (tmp_path / "none", tmp_path / "file", tmp_path, Path("x" * 5000)):
        for args in (["check", str(given)], ["review", str(given), "--out", str(tmp_path / "out")], ["explain", str(given), "1"],
                     ["score", str(given), str(given)]):
            status = cli.run(args)
            sound(status, capsys.readouterr())
            assert status == 1


@pytest.mark.skipif(os.name != "posix", reason="needs named pipes")
def test_a_pipe_or_a_device_is_not_opened(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_folder(tmp_path / "count", {"count.toml": LOG.format("pipe.txt")})
    os.mkfifo(folder / "pipe.txt")
    status = cli.run(["check", str(folder)])
    assert status == 1 and "is not a file" in "".join(capsys.readouterr())
