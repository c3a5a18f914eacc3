"""Who called a hold by the words around it, where it is another than the voice that announced it."""

from __future__ import annotations

import pytest

from aftercount.findings.caller import called, named_caller

STATIONS = ("TC", "SEQ", "PROP", "GND")


@pytest.mark.parametrize(("words", "named"), [
    ("cutoff, cutoff, cutoff, seq called it, chill is over the redline", "SEQ"),
    ("hold hold hold", None),
    ("the hold was called by prop", "PROP"),
    ("called by the sequencer", "the sequencer"),
    ("sequencer shows cutoff on engine chill", "the sequencer"),
    ("we had an automatic cutoff at twelve seconds", "an automatic cutoff"),
    ("TC called the hold", None),
    ("somebody called it", None),
    ("GND called the pad and they are clear", None),
])
def test_a_station_is_named_only_by_words_of_the_deed(words: str, named: str | None) -> None:
    assert named_caller(["count is stopped", words], "TC", STATIONS) == named


def test_a_station_that_called_it_comes_before_the_machine_that_shows_it() -> None:
    assert named_caller(["seq called it", "sequencer shows cutoff"], "TC", STATIONS) == "SEQ"


def test_it_is_said_who_announced_it() -> None:
    assert called("TC", None) == "called by TC"
    assert called("TC", "SEQ") == "announced by TC; the words name SEQ"
