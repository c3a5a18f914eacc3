"""Which format a file is in, when nobody says."""

from __future__ import annotations

from pathlib import Path

import pytest

from logs.reading_logs import read


@pytest.mark.parametrize(("name", "text", "form"), [
    ("a.txt", "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n", "webvtt"), ("a.txt", "1\n00:00:01,000 --> 00:00:02,000\nx\n", "srt"),
    ("a.txt", "<34>1 2003-10-11T22:14:15.003Z h a - - - x\n", "syslog"), ("a.log", "Apr 18 14:25:03 gse1 valves[3]: open\n", "syslog"),
    ("a.log", "2031-04-18T14:25:03.5+00:00 gse1 valves[3]: open\n", "syslog"), ("a.log", '{"time": "14:25:03", "text": "x"}\n', "jsonl"),
    ("a.log", "time,station,text\n14:25:03,TC,go\n", "csv"), ("a.txt", "Time\tFrom\tEntry\n14:25\tTC\tgo\n", "csv"),
    ("a.log", "2031-04-18 14:25:03Z, TC, PROP, go for step\n2031-04-18 14:25:04Z, PROP, TC, in work\n", "csv"),
    ("a.txt", "14:25:03 TC: go, now, all\n14:25:04 PROP: in work, sir, yes\n", "notes"), ("a.txt", "14:25:03\tTC\tgo\n14:25:04\tPROP\tin work\n", "notes"),
    ("a.log", "14:25:03 TC; go; now\n", "notes"), ("a", "hello\n", "notes"), ("a.csv", "x\n", "csv"), ("a.vtt.gz", "", "webvtt"), ("a.parquet", "14:25 TC: no\n", "notes"),
    ("a.csv", "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n", "webvtt"),
])
def test_by_content_then_name(tmp_path: Path, name: str, text: str, form: str) -> None:
    _, _, sources = read(tmp_path, name, text)
    assert sources["format"][0] == form


def test_what_is_configured_is_used(tmp_path: Path) -> None:
    records, rejects, sources = read(tmp_path, "a.txt", "time,text\n14:25:03,go\n", format="notes")
    assert sources["format"][0] == "notes" and (len(records), list(rejects["line"])) == (1, [1])
