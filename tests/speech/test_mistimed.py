"""Times that a recogniser garbled: what was meant, how sure a guess may be, and what is left alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech.mistimed import mend_times
from speech.conftest import Heard

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("heard", "meant"), [
    ("t minus forty ate minutes", "t minus forty eight minutes"),
    ("t minus thirty won minutes", "t minus thirty one minutes"),
    ("t minus one hour tin minutes", "t minus one hour ten minutes"),
    ("t minus twenty two it minutes and counting", "t minus twenty two minutes and counting"),
    ("t minus forty so three minutes", "t minus forty three minutes"),
    ("t minus thirty to minutes", "t minus thirty two minutes"),
    ("t so minus okay nine minutes", "t minus nine minutes"),
    ("t minus five and minutes", "t minus five minutes"),
    ("t minus four minutes an thirty seconds", "t minus four minutes and thirty seconds"),
    ("t minus 19 minutes to and 45 s seconds and counting", "t minus 19 minutes and 45 seconds and counting"),
    ("t minus 4 minutes end 20 s and holding", "t minus 4 minutes and 20 and holding"),
    ("t minus four minutes in thirty seconds and holding", "t minus four minutes and thirty seconds and holding"),
    ("folding at t minus nine minutes", "holding at t minus nine minutes"),
    ("t minus nine minutes an folding", "t minus nine minutes an holding"),
])
def test_what_was_put_in_or_misheard_inside_a_time(heard: str, meant: str) -> None:
    assert mend_times(heard.split()) == (tuple(meant.split()), False)


@pytest.mark.parametrize(("heard", "meant"), [
    ("t minus one hair and twenty minutes", "t minus one hour and twenty minutes"),
    ("t minus two hurls", "t minus two hour"),
    ("t minus ona hour ten minutes", "t minus one hour ten minutes"),
    ("t minus hour ten minutes", "t minus one hour ten minutes"),
    ("t minus twenty fave minutes", "t minus twenty five minutes"),
    ("t minus nine mother and counting", "t minus nine minutes and counting"),
    ("t my nose fifteen", "t minus fifteen"),
])
def test_a_guess_is_said_to_be_one(heard: str, meant: str) -> None:
    assert mend_times(heard.split()) == (tuple(meant.split()), True)


@pytest.mark.parametrize("said", [
    "coming up on t minus five minutes in twenty seconds",
    "t minus six main engine start",
    "t minus five , to minutes",
    "we have two here and three minutes of work",
    "minus forty degrees",
    "the folding ladder is by the pad",
    "my nose is cold",
])
def test_other_words_are_left_alone(said: str) -> None:
    assert mend_times(said.split()) == (tuple(said.split()), False)


@pytest.mark.parametrize(("text", "t_s", "grade"), [
    ("T minus forty ate minutes", -2880, "certain"),
    ("T minus one hair and twenty minutes", -4800, "likely"),
    ("that's minus eleven minutes", -660, "likely"),
    ("clock reads T minus five minutes", -300, "certain"),
    ("T minus twenty minutes two drop", -1200, "certain"),
    ("T minus to twenty seconds", -140, "doubtful"),
])
def test_how_far_it_is_believed(hear: Hear, text: str, t_s: float, grade: str) -> None:
    assert (t_s, grade) in {(mark[0], mark[1]) for mark in hear(text, medium="speech").marks()}


@pytest.mark.parametrize("text", [
    "king up on T minus five minutes",
    "coming so on T minus five minutes",
    "whem we get to T minus five minutes I want a status",
    "at T minus five minutes well pick that up again",
    "we have been working tool T minus five minutes",
    "stop calls four T minus five minutes, checking the procedure",
])
def test_a_forecast_whose_first_words_are_lost_is_none_the_less(hear: Hear, text: str) -> None:
    assert hear(text, medium="speech").best() is None


def test_a_typed_time_is_as_it_stands(hear: Hear) -> None:
    assert hear("T-31 s", medium="typed").best() == -31
