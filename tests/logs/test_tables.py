"""CSV (RFC 4180, October 2005), JSON lines (jsonlines.org) and Parquet."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from logs.reading_logs import T0_US, read, said, utc


def test_csv_by_usual_names(tmp_path: Path) -> None:
    records, rejects, sources = read(tmp_path, "log.csv", "\ufefftime,station,text\r\n2031-04-18T14:25:03Z,PROP,tank press complete\r\n"
                                     '2031-04-18T14:25:04Z,TC,"copy, ""all"""\r\n2031-04-18T14:25:05Z,test conductor,"two\r\nlines"')
    assert said(records) == [("PROP", None, "tank press complete"), ("TC", None, 'copy, "all"'), ("TC", None, "two lines")]
    assert list(records["line"]) == [2, 3, 4]
    assert len(rejects) == 0 and sources["entries"][0] == 3


@pytest.mark.parametrize(("rows", "cells"), [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b bb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"\r\n', [["aaa", 'b"bb', "ccc"]]),
])
def test_rfc_4180_examples(tmp_path: Path, rows: str, cells: list[list[str]]) -> None:
    """Every cell of the RFC's rows arrives, through the station, net and text columns."""
    records, rejects, _ = read(tmp_path, "log.csv", "station,net,text\r\n" + rows)
    assert records[["station", "net", "text"]].values.tolist() == [[a, c_net, text] for a, c_net, text in
                                                                  ((r[0], r[1].replace(" ", "\n") if " " in r[1] else r[1], r[2]) for r in cells)]
    assert len(rejects) == 0


@pytest.mark.parametrize("header", [
    "Date;UTC;From;To;Loop;T-minus;Remarks", "day;time (UTC);Source;Destination;Channel;Count Time;Message",
    "DATE;Timestamp;callsign;recipient;net;count;Event Description",
])
def test_semicolons_other_names_and_split_dates(tmp_path: Path, header: str) -> None:
    records, _, _ = read(tmp_path, "log.csv", f"{header}\n2031-04-18;14:25:03;PROP;TC;NET 1;-00:05:00;tank; press\n108;14:25:04.5;TC;PROP;NET 1;T-4:58;go\n")
    assert said(records) == [("PROP", "TC", "tank; press"), ("TC", "PROP", "go")]
    assert utc(records) == ["2031-04-18T14:25:03.000", "2031-04-18T14:25:04.500"]
    assert list(records["stamp_t_us"]) == [-300_000_000, -298_000_000]
    assert set(records["net"]) == {"NET 1"}


@pytest.mark.parametrize(("name", "times", "time", "kind"), [
    ("t", (122.5, 130.25, 140.0), None, "elapsed"),  # a recording's seconds
    ("t", (-122.5, -130.25, 140.0), None, "count"),  # a count is below zero at first
    ("t", (140.0, 130.25, 122.5), None, "count"),  # ... or falls to it
    ("count", (122.5, 130.25, 140.0), None, "count"),  # called by its name
    ("count", (122.5, 130.25, 140.0), "elapsed", "elapsed"),  # said to be elapsed
    ("t", (122.5, 130.25, 140.0), "count", "count"),  # said to be count time
])
def test_a_lone_column_of_seconds_is_the_recording_s_where_it_runs_up_from_zero(
    tmp_path: Path, name: str, times: tuple[float, ...], time: str | None, kind: str,
) -> None:
    rows = "".join(f'{{"{name}": {t}, "text": "valve {i} is open now"}}\n' for i, t in enumerate(times))
    _, _, sources = read(tmp_path, "loop.jsonl", rows, **({"time": time} if time else {}))
    assert list(sources["time"]) == [kind]


def test_tabs_without_a_header(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "log.tsv", "2031-04-18T14:25:03Z\tPROP\ttank press is complete\n2031-04-18T14:25:04Z\tTC\tcopy that all\n")
    assert list(records["text"]) == ["tank press is complete", "copy that all"]
    assert utc(records) == ["2031-04-18T14:25:03.000", "2031-04-18T14:25:04.000"]
    assert "no header row" in sources["note"][0]


def test_configured_columns_win(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "log.csv", "time,stamp,message,memo,origin\n10:00:00,14:25:03,wrong,right words,PROP\n",
                         columns={"time": "stamp", "text": "memo", "station": "origin"})
    assert said(records) == [("PROP", None, "right words")]
    assert utc(records) == ["2031-04-18T14:25:03.000"]


def test_a_configured_column_that_is_not_there_is_told(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "log.csv", "time,text\n14:25:03,go\n", columns={"text": "words"})
    assert "no column 'words'" in sources["note"][0]
    assert list(records["text"]) == ["go"]


@pytest.mark.parametrize(("cell", "want"), [
    ("1934288703", "2031-04-18T14:25:03.000"), ("1934288703.25", "2031-04-18T14:25:03.250"), ("1934288703120", "2031-04-18T14:25:03.120"),
    ("1934288703120000", "2031-04-18T14:25:03.120"), ("1934288703120000999", "2031-04-18T14:25:03.120"), ("1.934288703E9", "2031-04-18T14:25:03.000"),
])
def test_epoch_numbers(tmp_path: Path, cell: str, want: str) -> None:
    records, _, _ = read(tmp_path, "log.csv", f"ts,msg\n{cell},valve open now\n")
    assert utc(records) == [want]


def test_numbers_that_are_no_epoch(tmp_path: Path) -> None:
    records, _, sources = read(tmp_path, "log.csv", "time,text\n0.5,start\n12.25,go on\n")
    assert list(records["own_us"]) == [500_000, 12_250_000] and sources["time"][0] == "elapsed"
    records, _, sources = read(tmp_path, "log.csv", "t,text\n-300,start\n-12.5,go on\n")
    assert list(records["own_us"]) == [-300_000_000, -12_500_000] and sources["time"][0] == "count"


def test_bad_rows_are_rejects(tmp_path: Path) -> None:
    records, rejects, sources = read(tmp_path, "log.csv", 'time,text\n14:25:03,go\nnoon,lunch\n14:99:00,x\n14:25:04,\n\n14:25:05,"open\n14:25:06,still\n')
    assert list(records["text"]) == ["go", "still"]
    assert rejects[["line", "reason"]].values.tolist() == [
        [3, "not a time: noon"], [4, "not a time of day: 14:99:00"], [5, "no words in this row"], [7, "not a row: a quote that is never closed"],
    ]
    assert sources["entries"][0] + sources["rejected"][0] == 6


def test_machine_or_typed(tmp_path: Path) -> None:
    for text, medium in (("time,text\n14:25:03.120,valve open\n", "machine"), ("time,text\n14:25:03,valve open\n", "typed"),
                         ("time,text\n" + "14:25:00.000,T-5\n" * 8 + "14:25:03.120,valve open\n", "machine"),
                         ("time,tag,value\n14:25:03,LOX_FILL,OPEN\n", "machine"), ("time,severity,text\n14:25:03,info,open\n", "machine"),
                         ("start,end,speaker,text\n0.0,2.5,TC,go for step\n", "speech"),
                         ("t0,t1,spk,hyp\n0.00,2.50,TC,go for step\n", "speech"),
                         ("time,from,text\n14:25:03.120,TC,\"PROP, this is TC, open the vent\"\n14:25:05.400,PROP,\"TC, PROP copies\"\n", "speech"),
                         ("elapsed,text\n3,\"T minus five minutes, stand by\"\n9,valve open\n", "speech"),
                         ("start,end,text\n" + "3.0,3.4,Drain closed.\n4.0,4.5,Closed.\n9.0,10.0,Vent valve open.\n" * 4, "speech"),
                         ("start,end,text\n" + "3.00,3.02,VALVE 7 OPEN\n4.00,94.00,PUMP RUN\n5.00,5.01,ABC\n" * 4, "machine"),
                         ("time,from,text\n14:25:03,TC,\"PROP, go ahead please\"\n14:25:05,PROP,roger\n", "typed")):
        records, _, _ = read(tmp_path, "log.csv", text)
        assert set(records["medium"]) == {medium}, text


def test_json_lines(tmp_path: Path) -> None:
    records, rejects, sources = read(
        tmp_path, "log.jsonl",
        '{"time": "2031-04-18T14:25:03.120Z", "station": "PROP", "text": "tank press complete"}\n'
        '{"time": "2031-04-18T14:25:04Z", "station": null, "text": "a\u2028b\u0085c", "extra": [1, 2]}\r\n'
        '[1]\n"words"\n\n{broken\n{"time": NaN, "text": "no time"}')
    assert said(records) == [("PROP", None, "tank press complete"), (None, None, "a b c"), (None, None, "no time")]
    assert list(records["line"]) == [1, 2, 7]
    assert list(rejects["line"]) == [3, 4, 6]
    assert sources["entries"][0] + sources["rejected"][0] == 6


def test_nested_json_in_other_words(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "log.ndjson", '{"ts": 1934288703120, "event": {"name": "VALVE_OPEN", "by": "PROP"}, "count": "T-00:05:00"}\n'
                         '{"ts": 1934288704120, "event": {"name": "VALVE_SHUT", "by": "GND"}, "count": -299.5}\n')
    assert said(records) == [("PROP", None, "VALVE_OPEN"), ("GND", None, "VALVE_SHUT")]
    assert list(records["stamp_t_us"]) == [-300_000_000, -299_500_000]
    assert set(records["medium"]) == {"machine"}


def test_an_array_of_objects(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "log.json", '[\n {"time": "14:25:03", "msg": "go now"},\n {"time": "14:25:04",\n  "msg": "in work"}\n]\n')
    assert list(records["text"]) == ["go now", "in work"] and list(records["line"]) == [2, 3]
    assert len(rejects) == 0


@pytest.mark.parametrize("time", [
    pd.to_datetime([T0_US, T0_US + 1000], unit="us", utc=True), pd.to_datetime([T0_US, T0_US + 1000], unit="us"),
    [T0_US, T0_US + 1000], [T0_US / 1e6, (T0_US + 1000) / 1e6], ["2031-04-18T14:30:00Z", "2031-04-18T14:30:00.001Z"],
])
def test_parquet(tmp_path: Path, time: object) -> None:
    buffer = BytesIO()
    pd.DataFrame({"time": time, "origin": ["PROP", None], "message": ["valve open", "valve shut"]}).to_parquet(buffer)
    records, rejects, sources = read(tmp_path, "log.parquet", buffer.getvalue())
    assert said(records) == [("PROP", None, "valve open"), (None, None, "valve shut")]
    assert [abs(u - t) <= 1 for u, t in zip(records["own_us"], (T0_US, T0_US + 1000), strict=True)] == [True, True]
    assert list(records["line"]) == [1, 2] and len(rejects) == 0 and sources["format"][0] == "parquet"


def test_a_parquet_column_finer_than_a_second_is_a_machine_s_though_most_of_it_is_whole(tmp_path: Path) -> None:
    buffer = BytesIO()
    whole = pd.date_range("2031-04-18T13:00:00Z", periods=40, freq="10s")
    pd.DataFrame({"time": [*whole, whole[-1] + pd.Timedelta("1.25s")], "message": ["T-00:05:00 counting"] * 40 + ["valve 3 open"]}).to_parquet(buffer)
    records, _, _ = read(tmp_path, "log.parquet", buffer.getvalue())
    assert set(records["medium"]) == {"machine"} and records["resolution_s"].max() <= 0.01


def test_nested_parquet_and_a_broken_one(tmp_path: Path) -> None:
    buffer = BytesIO()
    rows = [{"time": "14:25:03", "event": {"text": "valve open", "station": "PROP"}}]
    pq.write_table(pa.Table.from_pylist(rows), buffer)
    records, _, _ = read(tmp_path, "log.parquet", buffer.getvalue())
    assert said(records) == [("PROP", None, "valve open")]
    records, rejects, _ = read(tmp_path, "log.parquet", buffer.getvalue()[:-20])
    assert len(records) == 0 and list(rejects["line"]) == [0]
    assert rejects["reason"][0].startswith("not a readable Parquet file")


def test_one_story_in_every_table_format(tmp_path: Path) -> None:
    frame = pd.DataFrame({"time": ["2031-04-18T14:25:03Z", "2031-04-18T14:25:09Z"], "station": ["PROP", "TC"], "text": ["tank press done", "copy all"]})
    buffer = BytesIO()
    frame.to_parquet(buffer)
    files = {"a.csv": frame.to_csv(index=False), "a.tsv": frame.to_csv(index=False, sep="\t"), "a.jsonl": frame.to_json(orient="records", lines=True),
             "a.json": frame.to_json(orient="records"), "a.parquet": buffer.getvalue()}
    seen = {name: (said(r), utc(r)) for name, text in files.items() for r, _, _ in [read(tmp_path, name, text)]}
    assert len(set(map(str, seen.values()))) == 1, seen
