"""Canonical words and spoken lengths of time."""

from __future__ import annotations

import pytest

from aftercount.speech.spans import read_spans
from aftercount.speech.words import offsets, scan, words


@pytest.mark.parametrize(("text", "expected"), [
    ("Stage Two LOX vent, closed.", "stage 2 lox vent closed"),
    ("one hundred twenty psi", "120 psi"),
    ("one hundred and five", "105"),
    ("twenty-three", "23"),
    ("forty five point two", "45.2"),
    ("valve two three open", "valve 23 open"),
    ("channel oh five", "channel 05"),
    ("flight level niner", "flight level 9"),
    ("three two one", "3 2 1"),
    ("two thousand", "2000"),
    ("stage to vent closed", "stage 2 vent closed"),
    ("stage to internal", "stage to internal"),
    ("valve won open", "valve 1 open"),
    ("T minus to minutes", "t minus 2 minutes"),
    ("we won the day for all", "we won the day for all"),
    ("GN2 purge, RP-1", "gn2 purge rp 1"),
    ("T\u221231", "t 31"),
    ("", ""),
])
def test_words(text: str, expected: str) -> None:
    assert " ".join(words(text)) == expected


@pytest.mark.parametrize(("text", "seconds", "used"), [
    ("five minutes thirty", 330, 3),
    ("5 minutes 30 seconds and", 330, 4),
    ("one hour and fifteen minutes", 4500, 5),
    ("two hours , 29 minutes", 8940, 5),
    ("two and a half minutes", 150, 5),
    ("half an hour", 1800, 3),
    ("an hour thirty", 5400, 3),
    ("three one seconds", 31, 3),
    ("90 s", 90, 2),
    ("00:09:00", 540, 1),
    ("90:00", 5400, 1),
    ("five thirty", 330, 2),
    ("two oh five", 125, 3),
    ("five minutes thirty percent", 300, 2),
])
def test_spoken_time(text: str, seconds: float, used: int) -> None:
    span = read_spans(scan(text), 0)[0]
    assert (span.seconds, span.end) == (seconds, used)


def test_bare_number_has_two_readings() -> None:
    assert [s.seconds for s in read_spans(scan("nine"), 0)] == [9, 540]
    assert read_spans(scan("valve"), 0) == []


def test_offsets_are_where_tokens_begin() -> None:
    text = "Hold, at T-9:00"
    assert [text[i] for i in offsets(text)] == ["H", ",", "a", "T", "-", "9"]
    assert len(offsets(text)) == len(scan(text))
