"""Exports: the same figures as the tables, and nothing in them that a program would run."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re

import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.report.data import TABLE_NAMES, data_of
from aftercount.report.exports import csv_bytes, markdown, xlsx_bytes
from aftercount.report.safe import cell, marked_down, visible
from report.madeup import make_review

# What OWASP lists as the beginnings of a formula, and ways to hide them.
FORMULAS = ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|'/c calc'!A0", "\t=1", "\r=1", "\n=1", "  =1", "\u200b=1", "\ufeff=1", "\uff1d1", "-", "+",
            "-2+3+cmd|' /C calc'!A0", "\x00=1", "=HYPERLINK(\"http://x\")", "\u00a0=1"]


@pytest.fixture(scope="module")
def data():
    return data_of(make_review(steps=40, chatter=60))


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_becomes_text(text: str) -> None:
    made = cell(text)
    assert made.startswith("'") or made.startswith("<U+"), made
    assert visible(text).rstrip("\r\n") in made + "\n"


@pytest.mark.parametrize("text", ["LOX topping", "T-00:05:00", "-300.0", "12:00:01Z", "a=b", "", "-00:05:00", "PROP, TC"])
def test_ordinary_text_and_negative_numbers_are_left_alone(text: str) -> None:
    assert cell(text) == text


@given(st.text())
@settings(max_examples=300, deadline=None)
def test_no_cell_ever_begins_what_a_spreadsheet_runs(text: str) -> None:
    made = cell(text)
    first = made.lstrip(" \u00a0\u2007\u202f\u3000\u200b\ufeff\u2060")[:1]
    number = re.fullmatch(r"-?\d[\d:.]*", made)
    assert first not in set("=+@\uff1d\uff0b\uff0d\uff20\t\r\n") and (first != "-" or number)


def test_csv_has_every_row_and_column_as_rfc_4180(data) -> None:
    for name in TABLE_NAMES:
        text = csv_bytes(data, name).decode()
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
        frame = data.table(name)
        assert rows[0] == list(frame.columns) and len(rows) == len(frame) + 1
        assert text.endswith("\r\n")


def test_csv_values_are_the_tables_own(data) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_bytes(data, "steps").decode(), newline="")))
    for row, (_, step) in zip(rows, data.steps.iterrows(), strict=True):
        assert row["deviation_s"] == ("" if pd.isna(step["deviation_s"]) else repr(step["deviation_s"]))
        assert row["due_utc"] == ("" if pd.isna(step["due_utc"]) else step["due_utc"].isoformat().replace("+00:00", "Z"))
        assert row["out_of_order"] == str(step["out_of_order"]).lower()


def test_the_workbook_has_its_sheets_frozen_filtered_and_dated(data) -> None:
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(data)))
    assert book.sheetnames == ["summary", "steps", "holds", "findings", "events"]
    for name in book.sheetnames[1:]:
        sheet, frame = book[name], data.table(name)
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref.startswith("A1:") and sheet.auto_filter.ref.endswith(str(len(frame) + 1))
        assert sheet.max_row == len(frame) + 1
    head = [c.value for c in book["events"][1]]
    first = book["events"][2][head.index("utc (UTC)")].value
    assert isinstance(first, dt.datetime)
    assert abs(pd.Timestamp(first, tz="UTC") - data.events["utc"].iloc[0]) < pd.Timedelta(milliseconds=1)


def test_hostile_text_is_text_in_every_export() -> None:
    for text in (*FORMULAS, "</table><script>x</script>", "| a | b |\n# h", "[x](javascript:alert(1))", "\u202egnp", "\x1b[31m"):
        hostile = data_of(make_review(steps=8, chatter=3, say=text))
        for name in TABLE_NAMES:
            for row in csv.reader(io.StringIO(csv_bytes(hostile, name).decode(), newline="")):
                assert all(not re.match(r"\s*[=+@\t\r]", v) and (not v.startswith("-") or re.fullmatch(r"-?[\d.e:-]+", v)) for v in row), row
        assert "\u202e" not in markdown(hostile) and "\x1b" not in markdown(hostile)
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(data_of(make_review(steps=8, chatter=3, say="=1+1")))))
    assert all(c.data_type != "f" for sheet in book for row in sheet.iter_rows() for c in row)


@pytest.mark.parametrize("text", ["| a | b |", "# head", "[x](javascript:1)", "<b>x</b>", "`code`", "* star", "![i](x)", "1\n\n2", "~~x~~", "a &amp; b"])
def test_markdown_shows_marks_instead_of_obeying_them(text: str) -> None:
    """Read by an independent Markdown reader: nothing but a paragraph of the same characters."""
    from markdown_it import MarkdownIt

    tokens = MarkdownIt("commonmark").enable("table").enable("strikethrough").parse(marked_down(text))
    assert [t.type for t in tokens] == ["paragraph_open", "inline", "paragraph_close"]
    kinds = {c.type for c in tokens[1].children or []}
    assert kinds <= {"text", "text_special"}
    assert "".join(c.content for c in tokens[1].children or []) == " ".join(text.split())


def test_markdown_tells_what_the_summary_tells(data) -> None:
    text = markdown(data)
    assert text.startswith("# Heron flight 7, rehearsal 9 \\(rehearsal\\): lift\\-off.")
    assert len(re.findall(r"^\| (?!finding|---)", text, flags=re.M)) == min(len(data.findings), 40)
