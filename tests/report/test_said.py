"""What was said at a moment: each remark once, people before machines, every quote the log's own."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount import tables
from aftercount.report.data import ReviewData, data_of
from aftercount.report.page import render_page
from aftercount.report.page.lines import Lines
from aftercount.report.page.said import CALLED, said_around
from report.madeup import at, make_review
from report.reading import read

HOLD_S = 7740
HOLD = [  # source, seconds after the hold, station, medium, kind, text
    ("seq.log", 0.0, "CLK", "machine", "hold", "COUNT HOLD T-00:05:00"),
    ("net1.vtt", 0.4, None, "speech", "hold", "hold hold hold"),
    ("notes.txt", 1.0, "PROP", "typed", "hold", "Hold, hold, hold"),
    ("net1.vtt", 5.0, "TC", "speech", "hold", "Holding at T minus 5 minutes"),
    ("notes.txt", 6.0, "TC", "typed", "hold", "Holding at T-5 min"),
    ("net1.vtt", 9.0, "PROP", "speech", "report", "TC, PROP, helium supply pressure is low"),
    ("net1.vtt", 200.0, "TC", "speech", "note", "long after"),
]


@pytest.fixture(scope="module")
def data() -> ReviewData:
    review = make_review(steps=0, chatter=0)
    rows = [{
        "event": i, "source": source, "line": i + 1, "utc": at(HOLD_S + s), "utc_sigma_s": 0.1, "t_s": -300.0, "state": "holding", "pass": 1,
        "station": station, "to": None, "net": None, "kind": kind, "text": text, "raw_time": None, "medium": medium,
    } for i, (source, s, station, medium, kind, text) in enumerate(HOLD)]
    review.events = tables.EVENTS.from_rows(rows)
    review.holds = review.holds.assign(event=pd.array([None, 0, None], "Int64"), resume_event=pd.array([None] * 3, "Int64"))
    for name in ("marks", "polls", "matches", "findings", "steps"):
        setattr(review, name, getattr(tables, name.upper()).empty())
    return data_of(review)


def said(data: ReviewData) -> Any:
    return said_around(Lines(data), at(HOLD_S), CALLED, frozenset({"hold"}), 0, "helium supply pressure low")


def test_each_remark_once_in_the_order_of_time_the_named_speaker_quoted(data: ReviewData) -> None:
    told = [(q.where, q.also, q.speaker, q.leading, q.machine) for q in said(data)]
    assert told == [
        ("seq.log:1", (), "CLK", False, True),
        ("notes.txt:3", ("net1.vtt:2",), "PROP", True, False),
        ("net1.vtt:4", ("notes.txt:5",), "TC", True, False),
        ("net1.vtt:6", (), "PROP", False, False),
    ]


def test_two_speakers_of_the_same_words_are_two_remarks(data: ReviewData) -> None:
    changed = data.events.assign(station=["CLK", "TC", "PROP", "TC", "TC", "PROP", "TC"])
    assert [q.where for q in said(data_of(_with(data, changed)))][1:3] == ["net1.vtt:2", "notes.txt:3"]


def test_the_hold_card_shows_it_without_unfolding_anything(data: ReviewData) -> None:
    card = read(render_page(data)).by_id("hold-2")
    rows = card.all("table", "said")[0].rows()
    assert [r[2].all("q")[0].text for r in rows] == [HOLD[i][5] for i in (0, 2, 3, 5)]
    assert [r[1].text for r in rows] == ["CLK", "PROP", "TC", "PROP"]
    outside = card.all("table", "said")[0].attrs
    assert "hidden" not in outside and not any(card.all("table", "said")[0] in d.all("table") for d in card.all("details"))


def test_a_line_without_a_speaker_says_so(data: ReviewData) -> None:
    nameless = data.events.assign(station=None)
    quotes = said(data_of(_with(data, nameless)))
    assert {q.speaker for q in quotes if not q.machine} == {"not named"} and quotes[0].speaker == ""


def _with(data: ReviewData, events: pd.DataFrame) -> ReviewData:
    from dataclasses import replace

    return replace(data, events=tables.EVENTS.conform(events.astype({"station": "str"})))
