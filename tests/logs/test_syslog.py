"""Syslog: RFC 5424 (Gerhards, March 2009) sections 6.2.3.1, 6.3.5 and 6.5; RFC 3164 lines leniently."""

from __future__ import annotations

from pathlib import Path

import pytest

from aftercount.logs.syslog import Message, parse
from logs.reading_logs import read, said, utc

ONE = "<34>1 2003-10-11T22:14:15.003Z mymachine.example.com su - ID47 - \ufeff'su root' failed for lonvick on /dev/pts/8"
TWO = "<165>1 2003-08-24T05:14:15.000003-07:00 192.0.2.1 myproc 8710 - - %% It's time to make the do-nuts."
THREE = ('<165>1 2003-10-11T22:14:15.003Z mymachine.example.com evntslog - ID47 [exampleSDID@32473 iut="3" eventSource="Application" '
         'eventID="1011"] \ufeffAn application event log entry...')
FOUR = ('<165>1 2003-10-11T22:14:15.003Z mymachine.example.com evntslog - ID47 [exampleSDID@32473 iut="3" eventSource="Application" '
        'eventID="1011"][examplePriority@32473 class="high"]')


def parsed(line: str) -> Message:
    message = parse(line)
    assert isinstance(message, Message), message
    return message


def test_the_messages_of_section_6_5() -> None:
    one, two, three, four = map(parsed, (ONE, TWO, THREE, FOUR))
    assert (one.priority // 8, one.priority % 8, one.version) == (4, 2, 1)
    assert (one.host, one.app, one.procid, one.msgid, one.data) == ("mymachine.example.com", "su", None, "ID47", {})
    assert one.text == "'su root' failed for lonvick on /dev/pts/8"
    assert (two.priority // 8, two.priority % 8, two.host, two.app, two.procid, two.msgid) == (20, 5, "192.0.2.1", "myproc", "8710", None)
    assert two.text == "%% It's time to make the do-nuts."
    assert three.data == {"exampleSDID@32473": [("iut", "3"), ("eventSource", "Application"), ("eventID", "1011")]}
    assert three.text == "An application event log entry..."
    assert list(four.data) == ["exampleSDID@32473", "examplePriority@32473"] and four.text == ""


def test_their_instants(tmp_path: Path) -> None:
    records, rejects, sources = read(tmp_path, "m.log", "\n".join((ONE, TWO, THREE, FOUR)))
    assert list(records["own_us"]) == [1065910455_003000, 1061727255_000003, 1065910455_003000, 1065910455_003000]
    assert len(rejects) == 0 and sources["format"][0] == "syslog" and set(records["medium"]) == {"machine"}
    assert "class=high" in records["text"][3]


@pytest.mark.parametrize("time", ["1985-04-12T23:20:50.52Z", "1985-04-12T19:20:50.52-04:00", "2003-10-11T22:14:15.003Z", "2003-08-24T05:14:15.000003-07:00"])
def test_times_of_6_2_3_1(time: str) -> None:
    assert parsed(f"<1>1 {time} h a - - - m").time == time


@pytest.mark.parametrize(("line", "reason"), [
    ("<165>1 2003-08-24T05:14:15.000000003-07:00 h a - - - m", "not an RFC 5424 time: 2003-08-24T05:14:15.000000003-07:00"),
    ("<165>1 2016-12-31T23:59:60Z h a - - - m", "not an RFC 5424 time: 2016-12-31T23:59:60Z"),
    ("<192>1 2003-10-11T22:14:15Z h a - - - m", "priority 192 is above 191"),
    ("<034>1 2003-10-11T22:14:15Z h a - - - m", "not an RFC 5424 header"),
    ('<165>1 2003-10-11T22:14:15Z h a - - [ exampleSDID@32473 iut="3"] m', "structured data that cannot be read"),
    ('<165>1 2003-10-11T22:14:15Z h a - - [exampleSDID@32473 iut="3" m', "structured data that cannot be read"),
])
def test_what_the_grammar_forbids(line: str, reason: str, tmp_path: Path) -> None:
    assert parse(line) == reason
    records, rejects, _ = read(tmp_path, "m.log", line, format="syslog")
    assert len(records) == 0 and len(rejects) == 1


def test_escapes_and_what_only_looks_like_data() -> None:
    assert parsed(r'<1>1 - h a - - [x@1 k="a\"b\\c\]d"] m').data == {"x@1": [("k", r'a"b\c]d')]}
    assert parsed("<1>1 - h a - - - [text] in brackets").text == "[text] in brackets"
    assert parsed('<1>1 - h a - - [x@1 k="v"] [y@1 k="w"]').text == '[y@1 k="w"]'


def test_nil_time_is_an_entry_without_time(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "m.log", "<1>1 - h a - - - m\n")
    assert records["time_kind"][0] == "none" and len(rejects) == 0


def test_a_sender_says_how_good_its_clock_is(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "m.log", '<1>1 2031-04-18T14:25:03.001Z h PROP - - [timeQuality tzKnown="1" isSynced="1" syncAccuracy="250000"] open\n')
    assert records["resolution_s"][0] == 0.25


def test_station_and_count_time_in_the_data(tmp_path: Path) -> None:
    records, _, _ = read(tmp_path, "m.log", '<1>1 2031-04-18T14:25:03.001Z gse1 valves - - [heron@32473 sys="PROP" count="T-00:05:00"] fill valve open\n'
                         "<1>1 2031-04-18T14:25:04.001Z GND valves - - - vent shut\n<1>1 2031-04-18T14:25:04.001Z gse1 - - - - vent shut\n")
    assert said(records) == [("PROP", None, "fill valve open"), ("GND", None, "vent shut"), ("gse1", None, "vent shut")]
    assert records["stamp_t_us"][0] == -300_000_000


def test_old_lines(tmp_path: Path) -> None:
    records, rejects, _ = read(tmp_path, "m.log", "<34>Apr 18 14:25:03 gse1 valves[8710]: LOX fill valve open\nApr  8 14:25:04 gse1 PROP: press\n"
                               "2031-04-18T14:25:05.5Z gse1 valves[1]: shut\n<13>Apr 18 2031 14:25:06.25 gse1 cmd: go\n<13>no time at all\n"
                               "Feb 30 10:00:00 gse1 a: b\n<999>Apr 18 14:25:03 h a: b\njunk\n", format="syslog")
    assert utc(records) == ["2031-04-18T14:25:03.000", "2031-04-08T14:25:04.000", "2031-04-18T14:25:05.500", "2031-04-18T14:25:06.250"]
    assert list(records["station"].fillna("-")) == ["valves", "PROP", "valves", "cmd", "-"]
    assert list(rejects["line"]) == [6, 7, 8]


def test_the_year_of_an_old_line_is_the_one_nearest_t_0(tmp_path: Path) -> None:
    new_year = 1_925_000_000_000_000  # 2031-01-01
    records, _, _ = read(tmp_path, "m.log", "Dec 31 23:59:59 gse1 a: b\nJan  1 00:00:01 gse1 a: b\n", t0_us=new_year)
    assert utc(records) == ["2030-12-31T23:59:59.000", "2031-01-01T00:00:01.000"]
