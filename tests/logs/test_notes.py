"""Typed notes, as people type them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from textwrap import dedent

import pytest

from aftercount import logs
from aftercount.count import LogSpec
from logs.reading_logs import count_of, read, said, utc


def notes(folder: Path, text: str, **how: object):  # type: ignore[no-untyped-def]
    return read(folder, "notes.txt", dedent(text).lstrip("\n"), **how)  # type: ignore[arg-type]


def test_the_sample_in_the_readers_header(tmp_path: Path) -> None:
    records, rejects, sources = notes(tmp_path, """
        14:25:03 PROP>TC tank press complete
        [1425:03Z] TC: T minus five and counting
        2031-04-18 14:25:03 - PROP to TC: in work
        T-5:00  TC: resume
        108/14:25:03Z  T-00:05:00  TC: go for step 4
        - 14:25 hold called by RANGE
            a line with no time continues the entry before it
        """)
    assert said(records) == [
        ("PROP", "TC", "tank press complete"), ("TC", None, "T minus five and counting"), ("PROP", "TC", "in work"),
        ("TC", None, "resume"), ("TC", None, "go for step 4"),
        (None, None, "hold called by RANGE a line with no time continues the entry before it"),
    ]
    assert list(records["time_kind"]) == ["utc", "utc", "utc", "count", "utc", "utc"]
    assert set(utc(records)) == {"2031-04-18T14:25:03.000", "2031-04-18T14:25:00.000"}
    assert records["own_us"][3] == -300_000_000
    assert records["stamp_t_us"].dropna().to_dict() == {4: -300_000_000}
    assert list(records["line"]) == [1, 2, 3, 4, 5, 6]
    assert list(records["resolution_s"]) == [1, 1, 1, 1, 1, 60]
    assert len(rejects) == 0
    assert (sources["entries"][0], sources["format"][0], sources["time"][0]) == (6, "notes", "utc")
    assert set(records["medium"]) == {"typed"}


@pytest.mark.parametrize(("line", "who", "to", "text"), [
    ("14:25:03 PROP>TC tank press complete", "PROP", "TC", "tank press complete"),
    ("14:25:03 PROP -> TC: tank press complete", "PROP", "TC", "tank press complete"),
    ("14:25:03 PROP \u2192 TC tank press complete", "PROP", "TC", "tank press complete"),
    ("14:25:03 propulsion to test conductor: in work", "PROP", "TC", "in work"),
    ("14:25:03 - PROP - tank press", "PROP", None, "tank press"),
    ("14:25:03 | PROP | TC | tank press", "PROP", "TC", "tank press"),
    ("14:25:03\tPROP\tTC\ttank press", "PROP", "TC", "tank press"),
    ("14:25:03\tPROP\ttank press", "PROP", None, "tank press"),
    ("[14:25:03] [PROP] tank press", "PROP", None, "tank press"),
    ("14:25:03 <PROP> tank press", "PROP", None, "tank press"),
    ("14:25:03: PROP: tank press", "PROP", None, "tank press"),
    ("14:25:03, PROP: tank press", "PROP", None, "tank press"),
    ("14:25:03 Test Conductor: hold", "TC", None, "hold"),
    ("* 14:25:03 TC/PROP: radio check", "TC", "PROP", "radio check"),
    ("14:25:03 TC PROP: radio check", "TC", "PROP", "radio check"),
    ("12. 14:25:03 EECOM: bus A nominal", "EECOM", None, "bus A nominal"),
    ("14:25:03 NOTE: weather is poor", None, None, "NOTE: weather is poor"),
    ("14:25:03 Hold: weather", None, None, "Hold: weather"),
    ("14:25:03 go to stage 2: open valve", None, None, "go to stage 2: open valve"),
    ("14:25:03 pressure > 30 bar", None, None, "pressure > 30 bar"),
    ("14:25:03 valve 3: closed", None, None, "valve 3: closed"),
    ("14:25:03 see 12:30 entry", None, None, "see 12:30 entry"),
    ("@14:25:03 PROP: x", "PROP", None, "x"),
    ("14:25:03 L/O", None, None, "L/O"), ("14:25:03 L copy", None, None, "copy"),
])
def test_heads(tmp_path: Path, line: str, who: str | None, to: str | None, text: str) -> None:
    records, rejects, _ = notes(tmp_path, line)
    assert said(records) == [(who, to, text)]
    assert utc(records) == ["2031-04-18T14:25:03.000"]
    assert len(rejects) == 0


def test_a_name_in_small_letters_shows_by_habit(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, """
        14:25:03 pad: valve open
        14:25:04 pad: valve closed
        14:25:05 pad: done
        14:25:06 result: fine
        """)
    assert list(records["station"].fillna("-")) == ["pad", "pad", "pad", "-"]


@pytest.mark.parametrize(("line", "count_s", "text"), [
    ("14:25:03Z T-00:05:00 TC: go", -300, "go"), ("14:25:03Z (T-5:00) go now", -300, "go now"),
    ("14:25:03Z | T-31 | go now", -31, "go now"), ("T-00:05:00 14:25:03Z TC: go", -300, "go"), ("14:25:03Z/T-5:00 PROP>TC go", -300, "go"),
])
def test_a_count_time_beside_the_wall_time(tmp_path: Path, line: str, count_s: int, text: str) -> None:
    records, _, _ = notes(tmp_path, line + "\n14:26:00Z TC: x\n14:26:01Z TC: y\n")
    assert records["stamp_t_us"][0] == count_s * 1_000_000
    assert records["text"][0] == text
    assert utc(records)[0] == "2031-04-18T14:25:03.000"


def test_a_count_time_that_begins_the_words_stays_in_them(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "14:25:03 T-9 minutes we expect the hold\n14:25:09 TC: go\n14:25:12 TC: go\n")
    assert records["text"][0] == "T-9 minutes we expect the hold"
    assert records["stamp_t_us"].isna().all()


def test_time_to_lift_off_is_no_stamp(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "14:25:03 TC: go\nL-40 minutes by the planned window\n")
    assert list(records["text"]) == ["go", "L-40 minutes by the planned window"]
    assert list(records["time_kind"]) == ["utc", "none"]


def test_headings_dates_and_comments(tmp_path: Path) -> None:
    records, rejects, sources = notes(tmp_path, """
        Console log, Saltmarsh
        # Friday
        == 17 April 2031 ==
        ----------
        23:59:50 TC: last call
        00:00:10 TC: first call

        2031-04-20
        08:00 TC: again
        """)
    assert utc(records) == ["2031-04-17T23:59:50.000", "2031-04-18T00:00:10.000", "2031-04-20T08:00:00.000"]
    assert list(rejects["line"]) == [1, 2, 3, 4, 8]
    assert sources["entries"][0] + sources["rejected"][0] == 8


def test_bad_times_are_rejects_with_the_reason(tmp_path: Path) -> None:
    records, rejects, _ = notes(tmp_path, "14:25:03 TC: go\n25:61:03 TC: what\n367/10:00:00Z TC: no\n14:25:09\n23:59:60 TC: leap\n")
    assert said(records) == [("TC", None, "go")]
    assert rejects[["line", "reason"]].values.tolist() == [
        [2, "not a time of day: 25:61:03"], [3, "no such day: 367/10:00:00Z"], [4, "a time and no words"],
        [5, "no leap second was inserted then"],
    ]


def test_notes_without_any_time_are_one_entry_a_line(tmp_path: Path) -> None:
    records, rejects, sources = notes(tmp_path, "TC: start\n\nPROP: tanks pressed\nall quiet\n")
    assert said(records) == [("TC", None, "start"), ("PROP", None, "tanks pressed"), (None, None, "all quiet")]
    assert list(records["line"]) == [1, 3, 4]
    assert set(records["time_kind"]) == {"none"} and records["own_us"].isna().all()
    assert sources["time"][0] == "none" and len(rejects) == 0


def test_somebody_else_on_a_line_without_time(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "14:25:03 TC: PROP, go for step 4\nPROP: in work\n")
    assert said(records) == [("TC", None, "PROP, go for step 4"), ("PROP", None, "in work")]
    assert records["own_us"].nunique() == 1


def test_four_bare_digits_are_a_time_when_the_file_writes_so(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "1425 TC: go\n1426 PROP: in work\n1427 done\n")
    assert utc(records) == ["2031-04-18T14:25:00.000", "2031-04-18T14:26:00.000", "2031-04-18T14:27:00.000"]
    records, _, _ = notes(tmp_path, "14:25 TC: tank at\n1200 psi\n14:26 TC: ok\n14:27 TC: fine\n")
    assert list(records["text"]) == ["tank at 1200 psi", "ok", "fine"]


def test_a_span_lasts(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "14:25-14:30 fuel loading\n")
    assert records["dur_us"][0] == 300_000_000 and records["text"][0] == "fuel loading"


@pytest.mark.parametrize(("words", "text"), [
    ("-14:40 and counting", "-14:40 and counting"), ("-14:40", "-14:40"), ("L-1:05:00", "L-1:05:00"), ("L -25:00", "L -25:00"), ("-1:14:40 mark", "-1:14:40 mark"),
])
def test_a_count_without_its_letter_is_no_end_of_a_span(tmp_path: Path, words: str, text: str) -> None:
    records, rejects, _ = notes(tmp_path, f"14:20 TC: go\n14:25 {words}\n14:26:03 {words}\n")
    assert list(records["text"]) == ["go", text, text] and rejects.empty and set(records["dur_us"].fillna(0)) == {0}


def test_a_signed_time_is_a_zone_where_the_file_writes_so(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "09:25:03 -05:00 TC: go\n09:25:04 -05:00 TC: T-5\n14:27:00 TC: none\n")
    assert utc(records)[:2] == ["2031-04-18T14:25:03.000", "2031-04-18T14:25:04.000"]


@pytest.mark.parametrize("span", ["14:25 to 14:30", "14:25\u201314:30", "14:25L-14:30"])
def test_spans_in_other_spellings(tmp_path: Path, span: str) -> None:
    records, _, _ = notes(tmp_path, f"{span} fuel loading\n")
    assert records["dur_us"][0] == 300_000_000 and records["text"][0] == "fuel loading"


def test_local_notes(tmp_path: Path) -> None:
    records, _, sources = notes(tmp_path, "07:25:03 TC: go\n14:25:04Z TC: zulu\n", zone="America/Los_Angeles")
    assert utc(records) == ["2031-04-18T14:25:03.000", "2031-04-18T14:25:04.000"]
    assert sources["time"][0] == "local"


@pytest.mark.parametrize(("time", "text", "kind", "us"), [
    ("count", "-5:00 TC: resume\n", "count", -300_000_000), ("count", "T-31 TC: go\n", "count", -31_000_000),
    ("count", "+12 TC: go\n", "count", 12_000_000), ("elapsed", "1:02:03 TC: go\n", "elapsed", 3_723_000_000),
    ("elapsed", "75.5 TC: go\n", "elapsed", 75_500_000),
])
def test_configured_time_kinds(tmp_path: Path, time: str, text: str, kind: str, us: int) -> None:
    records, _, sources = notes(tmp_path, text, time=time)
    assert (records["time_kind"][0], records["own_us"][0], records["station"][0]) == (kind, us, "TC")
    assert sources["time"][0] == time


def test_the_log_says_who_and_where_when_lines_do_not(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "14:25:03 go\n14:25:04 PROP: in work\n", station="TC", net="NET 1")
    assert list(records["station"]) == ["TC", "PROP"]
    assert set(records["net"]) == {"NET 1"}


@pytest.mark.parametrize("text", [
    "14:25:03 PROP>TC a\n  b\n# c\n\nd e f\n99:99 g\n14:26 h\n", "heading\n\n1\n2\n", "T-5:00 a\nT-4:00\nxx\n----\n", "14:25:03Z a" * 3,
])
def test_every_line_is_somewhere(tmp_path: Path, text: str) -> None:
    """Every word of the file is in a record or a reject."""
    records, rejects, sources = notes(tmp_path, text)
    found = " ".join([*records["raw_time"].dropna(), *records["text"], *records["station"].dropna(), *records["to"].dropna(), *rejects["raw"]])
    for word in text.replace(">", " ").split():
        assert word in found
    assert sources["entries"][0] == len(records)


@pytest.mark.parametrize(("line", "net", "who", "to", "text"), [
    ("14:25:03 [NET 1] TC: go", "NET 1", "TC", None, "go"), ("14:25:03 NET 2 | TC | PROP | hold", "NET 2", "TC", "PROP", "hold"),
    ("14:25:03 Loop A: TC>PROP go", "Loop A", "TC", "PROP", "go"), ("14:25:03 Net call from TC", None, None, None, "Net call from TC"),
    ("GMT 108:14:25:03 PROP: done", None, "PROP", None, "done"), ("UTC 14:25:03 TC/PROP - radio check", None, "TC", "PROP", "radio check"),
    ("DOY 108 14:25:03 PROP: done", None, "PROP", None, "done"), ("14:25:03 PROP>TC tank press: done", None, "PROP", "TC", "tank press: done"),
    ("14:25:03 PROP>Range Safety: green", None, "PROP", "RANGE", "green"), ("| 14:25:03 | TC | go now |", None, "TC", None, "go now"),
])
def test_nets_and_other_heads(tmp_path: Path, line: str, net: str | None, who: str | None, to: str | None, text: str) -> None:
    records, _, _ = notes(tmp_path, line)
    assert said(records) == [(who, to, text)]
    assert records["net"].fillna("-").tolist() == [net or "-"]
    assert utc(records) == ["2031-04-18T14:25:03.000"]


def test_the_speaker_before_the_time(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, "TC 14:25:03: go\nPROP [14:25:04] in work\nRange Safety, 14:25:05 - green\n")
    assert said(records) == [("TC", None, "go"), ("PROP", None, "in work"), ("RANGE", None, "green")]
    assert utc(records)[2] == "2031-04-18T14:25:05.000"


def test_signed_times_are_count_times(tmp_path: Path) -> None:
    records, _, sources = notes(tmp_path, "-00:05:00 TC: go\n-00:00:31 PROP: in work\n+00:00:12 TC: away\n")
    assert records["own_us"].tolist() == [-300_000_000, -31_000_000, 12_000_000] and sources["time"][0] == "count"
    records, _, _ = notes(tmp_path, "T-1h30m TC: go\nT-5 min TC: go\nT-2m30s TC: go\n")
    assert records["own_us"].tolist() == [-5_400_000_000, -300_000_000, -150_000_000]


def test_a_stopwatch_is_no_wall_clock(tmp_path: Path) -> None:
    records, _, sources = notes(tmp_path, "00:00:05 TC: go\n00:12:04 PROP: in work\n01:20:00 TC: hold\n")
    assert records["own_us"].tolist() == [5_000_000, 724_000_000, 4_800_000_000]
    assert sources["time"][0] == "elapsed" and "elapsed" in sources["note"][0]
    just_after_midnight = 1_934_240_400_000_000  # T-0 at 01:00Z: the same times are wall time
    records, _, sources = notes(tmp_path, "00:00:05 TC: go\n00:55:00 TC: hold\n", t0_us=just_after_midnight)
    assert utc(records) == ["2031-04-18T00:00:05.000", "2031-04-18T00:55:00.000"] and sources["time"][0] == "utc"


def test_times_can_be_set_aside(tmp_path: Path) -> None:
    records, _, sources = notes(tmp_path, "14:25:03 TC: go\n", time="none")
    assert records["time_kind"].tolist() == ["none"] and records["raw_time"].tolist() == ["14:25:03"] and sources["time"][0] == "none"


def test_four_bare_digits_between_their_neighbours_are_a_time(tmp_path: Path) -> None:
    records, _, _ = notes(tmp_path, """
        17:10:10 LCO: clear the pad
        1711 SAFETY pad clear
        17:15:05 avionics on
        1500 psi on the bottle
        17:20:12 open main A
        17:21:40 valve B loading already
        17:25:00 main B loaded
        17:28:10 weather looks fine
        17:29:02 ready for the hold
        """)
    assert list(records["line"]) == [1, 2, 3, 5, 6, 7, 8, 9]
    assert utc(records)[1].endswith("17:11:00.000")
    assert records["text"][2] == "avionics on 1500 psi on the bottle"


def test_four_bare_digits_ahead_of_the_first_time_are_one_when_it_follows_soon(tmp_path: Path) -> None:
    begun = "{} director on the loop\n17:10:10 LCO: clear the pad\n17:15:05 avionics on\n17:20:00 ready\n"
    assert utc(notes(tmp_path, begun.format("1708"))[0])[0].endswith("17:08:00.000")
    for other in ("1640", "1712", "2031"):
        records, rejects, _ = notes(tmp_path, begun.format(other))
        assert (list(records["line"]), list(rejects["line"])) == ([2, 3, 4], [1])


def test_a_line_without_a_time_after_a_time_without_words(tmp_path: Path) -> None:
    records, rejects, _ = notes(tmp_path, "14:25:03\nT-\n")
    assert len(records) == 1 and records["text"][0] == "T-" and len(rejects) == 1


def _with_pm(folder: Path, line: str):  # type: ignore[no-untyped-def]
    """Read one line in a count that has a station PM."""
    file = folder / "notes.txt"
    file.write_text(line + "\n", encoding="utf-8")
    count = count_of(folder, [LogSpec("notes.txt", file)])
    return logs.read(replace(count, stations={**count.stations, "PM": ("pad manager",)}))


@pytest.mark.parametrize(("line", "at", "who", "to", "text"), [
    ("14:10:54 PM: tower clear", "14:10:54", "PM", None, "tower clear"),
    ("13:02:18 PM>TC connect x", "13:02:18", "PM", "TC", "connect x"),
    ("2031-04-18 13:02:18 PM>SCI connect x", "13:02:18", "PM", "SCI", "connect x"),
    ("01:25:35 PM: tower clear", "01:25:35", "PM", None, "tower clear"),
    ("01:25:35 PM -> TC: tower clear", "01:25:35", "PM", "TC", "tower clear"),
    ("01:25:35 PM to TC: tower clear", "01:25:35", "PM", "TC", "tower clear"),
    ("T-00:05:00 14:25:00 PM: tower clear", "14:25:00", "PM", None, "tower clear"),
    ("01:25:35 PM TC: tower clear", "13:25:35", "TC", None, "tower clear"),
    ("01:25:35 PM tower clear", "13:25:35", None, None, "tower clear"),
    ("01:25:35 AM: tower clear", "01:25:35", None, None, "tower clear"),
    ("[01:25:35 PM] tower clear", "13:25:35", None, None, "tower clear"),
])
def test_a_station_that_is_called_pm(tmp_path: Path, line: str, at: str, who: str | None, to: str | None, text: str) -> None:
    records, rejects, _ = _with_pm(tmp_path, line)
    assert len(rejects) == 0
    assert said(records) == [(who, to, text)]
    assert utc(records)[0].endswith(f"T{at}.000")  # on which day is for `dating`


def test_a_station_called_pm_among_times_without_halves(tmp_path: Path) -> None:
    records, rejects, _ = _with_pm(tmp_path, "01:25:30 TC: go for step\n01:25:35 PM tower clear\n01:25:40 PROP in work")
    assert len(rejects) == 0
    assert said(records)[1] == (None, None, "PM tower clear")
    assert [at[-12:] for at in utc(records)] == ["01:25:30.000", "01:25:35.000", "01:25:40.000"]


@pytest.mark.parametrize(("line", "at", "who"), [
    ("14:10:54 PM: tower clear", "14:10:54", "PM"), ("00:10:54 AM: tower clear", "00:10:54", "AM"), ("01:10:54 PM: tower clear", "13:10:54", None),
    ("12:10:54 AM: tower clear", "00:10:54", None),
])
def test_no_clock_of_twelve_hours_shows_fourteen(tmp_path: Path, line: str, at: str, who: str | None) -> None:
    records, rejects, _ = notes(tmp_path, line)
    assert len(rejects) == 0
    assert said(records) == [(who, None, "tower clear")]
    assert utc(records)[0].endswith(f"T{at}.000")


@pytest.mark.parametrize(("lines", "medium"), [
    (["14:25:03.120 VEH PWR 1", "14:25:04.500 CLK T-00:05:00 RUN", "14:25:09.001 PURGE 0"], "machine"),
    (["14:25:03 VEH PWR 1", "14:25:04 CLK T-00:05:00 RUN", "14:25:09 PURGE 0"], "typed"),
    (["14:25:03.120 TC: PROP, go ahead", "14:25:04.500 PROP: copy, in work", "14:25:09.001 PROP: valve open"], "speech"),
    (["14:25:03 TC: PROP, go ahead", "14:25:04 PROP: copy, in work", "14:25:09 PROP: valve open"], "speech"),
    (["14:25:03 test conductor, tank vent open", "14:25:09 tank vent closed", "14:26:09 tank vent shut"], "speech"),
    (["14:25:03 TC, tank vent open", "14:25:09 tank vent closed", "14:26:09 tank vent shut"], "typed"),
    (["14:25:03 TC>PROP open valve, please", "14:25:09 PROP valve open", "14:26:09 tank vent open", "14:27:00 TC>PROP close vent"], "typed"),
])
def test_stamps_finer_than_anybody_types_are_a_machines_and_talk_in_full_is_a_transcript(tmp_path: Path, lines: list[str], medium: str) -> None:
    records, _, _ = notes(tmp_path, "\n".join(lines))
    assert set(records["medium"]) == {medium}


@pytest.mark.parametrize(("line", "at"), [
    ("14:41:10 PROP: at 14:38 tank pressurized", "2031-04-18T14:38:00.000"), ("14:41:10 tank pressurized @ 14:38:20", "2031-04-18T14:38:20.000"),
    ("1441:10Z PROP>TC: (at 14:38) tank pressurized", "2031-04-18T14:38:00.000"), ("00:01:10 at 23:59 tank pressurized", "2031-04-18T23:59:00.000"),
    ("14:41:10 PROP: at 14:38 4.2 complete", "2031-04-18T14:38:00.000"), ("14:41:10 PROP: at 1438 tank pressurized", "2031-04-18T14:38:00.000"),
    ("14:41:10 TC: at 14:50 we resume", "2031-04-18T14:41:10.000"), ("14:41:10 PROP: at 12:10 it leaked", "2031-04-18T14:41:10.000"),
    ("14:41:10 PROP: tank at 1438", "2031-04-18T14:41:10.000"), ("14:41:10 PROP: at 1438 psi", "2031-04-18T14:41:10.000"),
])
def test_an_entry_written_later_happened_when_it_says(tmp_path: Path, line: str, at: str) -> None:
    records, _, _ = notes(tmp_path, line)
    assert utc(records)[0][11:] == at[11:]
    assert records["raw_time"][0] in line


def test_time_to_lift_off_is_the_count_where_the_plan_never_holds_it(tmp_path: Path) -> None:
    text = "L-00:40:00 TC: drain the bilge\nL-39:30 TC: bilge dry\n"
    (tmp_path / "notes.txt").write_text(text, encoding="utf-8")
    records, rejects, _ = logs.read(count_of(tmp_path, [LogSpec("notes.txt", tmp_path / "notes.txt")]), held=False)
    assert (records["text"].tolist(), records["time_kind"].tolist()) == (["drain the bilge", "bilge dry"], ["count", "count"])
    assert records["own_us"].tolist() == [-2_400_000_000, -2_370_000_000]
    assert rejects.empty


@pytest.mark.parametrize(("line", "station", "net"), [
    ("14:25:03 CHASE: on the wing", "CHASE", None), ("14:25:03 Chef: soup is on", "CHEF", None), ("14:25:03 [NET 1] TC: go", "TC", "NET 1"), ("14:25:03 CH2 | TC | go", "TC", "CH2")])
def test_a_name_that_begins_like_a_net_is_a_name(tmp_path: Path, line: str, station: str, net: str | None) -> None:
    (tmp_path / "notes.txt").write_text(line + "\n", encoding="utf-8")
    count = count_of(tmp_path, [LogSpec("notes.txt", tmp_path / "notes.txt")])
    records, _, _ = logs.read(replace(count, stations={**count.stations, "CHASE": ("chase",), "CHEF": ()}))
    assert [x if isinstance(x, str) else None for x in (records["station"][0], records["net"][0])] == [station, net]
