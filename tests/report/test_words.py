"""The words: read aloud they are right, complete, and say no more than the tables."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from aftercount.errors import InputError
from aftercount.report import wording
from aftercount.report.data import TABLE_NAMES, data_of
from aftercount.report.notes import Note, load_notes
from aftercount.report.summary_text import summary_text, text_of
from report.madeup import make_review


def text(review: Any) -> str:
    return summary_text(review.summary, {n: getattr(review, n) for n in TABLE_NAMES})


def test_a_test_conductor_could_read_it_aloud() -> None:
    assert text(make_review()).splitlines()[:-1] == [
        "Heron flight 7, rehearsal 9 (rehearsal): lift-off.",
        "T-0 was planned for 2031-04-18T14:30:00Z and came at 2031-04-18T15:00:00Z, 30 min late.",
        "Three holds: 14 min built in, 16 min 31 s not planned.",
        "  Hold 1, built in, at T-00:20:00: 14 min, 4 min longer than planned; cause: range tracking not ready.",
        "  Hold 2, unplanned, at T-00:05:00: 8 min; called by TC; cause: helium supply pressure low.",
        "  Hold 3, unplanned, at T-00:00:31: 8 min 31 s; called by PROP; cause: ignition sequencer out of limits; then recycled to T-00:10:00.",
        "One recycle.",
        "74 steps fell due over all passes: 71 done (61 of them on time); 3 missed.",
        "  Missed: 3 (1.6, 2.11 and 4.4).",
        "  Late: 6 (1.7, 2.8, 3.9, 4.10, 4.10 in pass 2 and 5.11 in pass 2).",
        "  Early: 4 (1.10, 3.5, 4.12 and 4.12 in pass 2).",
        "  Out of order: 2 (2.1 and 4.6).",
        "  Unanswered: 5 (2.2, 3.8, 4.5, 5.2 and 5.2 in pass 2).",
        "  Not reached: 5 (5.9, 5.10, 5.11, 5.12 and 9.9).",
        "Needs a person's eye: four steps (1.12, 2.11, 3.11 and 5.10 in pass 2).",
        "Three lines of the logs could not be used; they are in rejects.",
    ]


def test_one_line_that_could_not_be_used_is_one() -> None:
    review = make_review()
    few = {n: getattr(review, n) for n in TABLE_NAMES} | {"rejects": review.rejects.head(1)}
    assert "One line of the logs could not be used; it is in rejects." in summary_text(review.summary, few)


def test_it_ends_with_the_caution() -> None:
    last = text(make_review()).splitlines()[-1]
    assert "over" in last and "licensed, responsible people" in last


@pytest.mark.parametrize(("outcome", "words"), [("scrub", "scrubbed"), ("unresolved", "not in the logs")])
def test_a_count_without_lift_off(outcome: str, words: str) -> None:
    review = make_review()
    review.summary |= {"outcome": outcome, "t0_actual": None, "delay_s": None}
    told = text(review)
    assert words in told.splitlines()[0] and "was not reached" in told.splitlines()[1]


def test_a_lift_off_that_no_log_dates_was_a_lift_off() -> None:
    review = make_review()
    review.summary |= {"t0_actual": None, "delay_s": None, "utc_known": False}
    told = text(review).splitlines()
    assert "lift-off" in told[0] and told[1] == "T-0 was planned for 2031-04-18T14:30:00Z; no log tells at what time it came."


@pytest.mark.parametrize(("last_s", "words"), [(-5.0, "was not reached"), (12.0, "; the count was cut off")])
def test_a_count_that_was_cut_off_before_or_after_t_0(last_s: float, words: str) -> None:
    review = make_review()
    review.summary |= {"outcome": "cutoff", "t0_actual": None, "delay_s": None}
    review.clock.loc[review.clock.index[-1], "end_t_s"] = last_s
    told = text(review).splitlines()
    assert "cut off" in told[0] and words in told[1] and ("came at" in told[1]) == (last_s > 0)


def test_a_clean_count_says_none() -> None:
    review = make_review(steps=4, chatter=0)
    for name in ("holds", "rejects"):
        setattr(review, name, getattr(review, name).iloc[:0])
    review.steps = review.steps.assign(review=False)
    told = text(review)
    assert "There were no holds." in told and "Nothing needs a person's eye" in told and "Missed: none." in told


def test_unknown_wall_time_is_a_caution() -> None:
    review = make_review(steps=4)
    review.summary["utc_known"] = False
    assert "No log gave the date and time in UTC" in text_of(data_of(review))


@pytest.mark.parametrize(("s", "words"), [
    (0, "0 s"), (0.4, "0.4 s"), (1, "1 s"), (59.6, "1 min"), (61, "1 min 1 s"), (3600, "1 h"),
    (8040, "2 h 14 min"), (9.96, "10 s"), (-31, "31 s"),
])
def test_durations_as_they_are_said(s: float, words: str) -> None:
    assert wording.duration(s) == words


@pytest.mark.parametrize(("s", "words"), [
    (0.0, "+0.0 s"), (-0.04, "+0.0 s"), (-3.5, "-3.5 s"), (59.94, "+59.9 s"), (59.96, "+1 min 0.0 s"), (150.26, "+2 min 30.3 s"),
    (-3599.97, "-1 h"), (3900, "+1 h 5 min"), (None, "–"),
])
def test_deviations_carry_sign_and_units(s: float | None, words: str) -> None:
    assert wording.deviation(s) == words


NOTES = """
[[topic]]
about = "hold at T-00:05:00 pass 1"
why = "valve"
due = 2031-04-25
"""


def test_notes_are_read_back(tmp_path: Path) -> None:
    path = tmp_path / "notes.toml"
    path.write_text(NOTES)
    assert load_notes(path) == (Note("hold at T-00:05:00 pass 1", why="valve", due="2031-04-25"),)


@pytest.mark.parametrize(("content", "code", "says"), [
    ("x = [", "notes-unreadable", "expected TOML"), ("[[topics]]\nabout='a'", "notes-bad", "unknown key 'topics'"),
    ("[[topic]]\nwhy='a'", "notes-bad", "topic 1 has no 'about'"), ("[[topic]]\nabout='a'\nhapened='b'", "notes-bad", "did you mean 'happened'?"),
    ("topic = 3", "notes-bad", "not a list"), ("[[topic]]\nabout='a'\nwhy=['b']", "notes-bad", "'why' is not a text"),
])
def test_notes_that_would_be_lost_are_an_error(tmp_path: Path, content: str, code: str, says: str) -> None:
    path = tmp_path / "notes.toml"
    path.write_text(content)
    with pytest.raises(InputError) as caught:
        load_notes(path)
    assert caught.value.problems[0].code == code and says in str(caught.value.problems[0])


def test_missing_notes_are_named(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_notes(tmp_path / "none.toml")
    assert caught.value.problems[0].code == "notes-missing"
