"""What crews say in ways of their own: L-time, rolls opened without the word, answers run together, calls that are only spoken of."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech import understand
from aftercount.speech.mending import mend
from aftercount.speech.rolls import Line, opened_by, unannounced
from aftercount.speech.words import scan
from speech.conftest import PLAN, Heard, count, plan, records

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("rows", "clock"), [(PLAN, "L"), (tuple(row for row in PLAN if row[3] != "hold"), "T")])
def test_l_time_is_the_count_where_the_plan_never_holds_it(rows: tuple, clock: str) -> None:
    heard = Heard(understand(records(["L minus forty minutes and counting."], "speech"), count(), plan(*rows)))
    marks = heard.speech.marks
    assert list(zip(marks["clock"], marks["t_s"], strict=True)) == [(clock, -2400.0)]


@pytest.mark.parametrize("text", [
    "For a scrub, the hatch stays shut.", "in a scrub the hose goes back first", "Clock picks up on schedule.", "status to come out of the hold",
    "Resuming on the half hour, the count.", "count resumes as planned"])
def test_what_is_only_spoken_of_is_no_call(hear: Hear, text: str) -> None:
    assert set(hear(text).calls().values()) <= {"doubtful"}


@pytest.mark.parametrize(("text", "what"), [("We are going for a scrub.", "scrub"), ("Clock picks up now.", "resume"), ("We are out of the hold.", "resume")])
def test_and_what_is_called_is(hear: Hear, text: str, what: str) -> None:
    assert hear(text).calls()[what] != "doubtful"


@pytest.mark.parametrize(("text", "parts"), [
    ("propulsion this is test conductor close the bilge valve copy close the bilge valve", ["propulsion this is test conductor close the bilge valve ", "copy close the bilge valve"]),
    ("tc to prop drain the sump roger drain the sump", ["tc to prop drain the sump ", "roger drain the sump"]),
    ("prop how copy the last reading of the gauge", ["prop how copy the last reading of the gauge"]),
    ("rinse the second basin prop copies rinse the first basin", ["rinse the second basin ", "prop copies rinse the first basin"])])
def test_who_accepts_begins_a_turn_in_a_run_of_words(hear: Hear, text: str, parts: list[str]) -> None:
    assert hear(text).texts() == [p.strip() for p in parts]


def test_go_from_a_station_is_its_answer(hear: Hear) -> None:
    assert hear("go from GNC\nNo go from range control.\nGo from here.", medium="typed", station="TC").answers() == [("GNC", "go"), ("RANGE", "no go")]


def test_go_here_is_an_answer(hear: Hear) -> None:
    assert hear("Guidance?\nGo here.").answers() == [("GNC", "go")]


def _roll(*said: tuple[str, str, str | None, str | None]) -> list[Line]:
    return [Line("loop", 3.0 * k, kind, text, station, to) for k, (kind, text, station, to) in enumerate(said)]


ASKED = (("call", "Kitchen?", "BOSS", "KIT"), ("response", "Go.", "KIT", "BOSS"), ("call", "Cellar?", "BOSS", "CEL"), ("note", "Goat.", "CEL", "BOSS"),
         ("call", "Attic?", "BOSS", "ATT"), ("response", "Go.", "ATT", "BOSS"), ("response", "Barn is go.", "BARN", None))
ANSWERS = [("KIT", 2), ("ATT", 6), ("BARN", 7)]


@pytest.mark.parametrize(("before", "begins"), [
    (("note", "Last time about the houses, then we leave.", "BOSS", None), 0),
    (("call", "Your turn one after the other, short please.", None, None), 0),
    (("call", "Kitchen, is the stove lit by now?", "BOSS", "KIT"), 1),
    (("report", "The stove is lit and drawing well.", "KIT", None), 1),
    (("note", "The stove is lit and drawing well.", "KIT", None), 1)])
def test_a_roll_begins_with_what_was_said_to_all_before_it(before: tuple, begins: int) -> None:
    assert unannounced(_roll(before, *ASKED), [(u, station) for station, u in ANSWERS]) == [begins]


def test_a_roll_begins_with_what_opened_it_where_its_first_answers_are_lost() -> None:
    lines = _roll(("note", "Once more about the houses for the road.", "BOSS", None), ("call", "Shed?", "BOSS", "SHED"), ("note", "Goal.", "SHED", None), *ASKED)
    assert unannounced(lines, [(u + 2, station) for station, u in ANSWERS]) == [0]


def test_a_poll_named_in_words_run_together_begins_its_roll() -> None:
    said = ("note", "Gopoll, be brief.", "BOSS", None), ("note", "The stove is lit.", "KIT", None)
    assert unannounced(_roll(*said, *ASKED), [(u + 1, station) for station, u in ANSWERS]) == [0]


def test_what_a_roll_may_have_been_called_by() -> None:
    answers = [(u, station) for station, u in ANSWERS]
    lines = _roll(("note", "Al horses.", "BOSS", None), *ASKED)
    assert opened_by(lines, answers) == {0: 3, 1: 3, 2: 3}  # the first answer, and what was said before it
    assert opened_by(lines, answers[:2]) == {}  # two are no roll
    assert opened_by([line._replace(source=k) for k, line in enumerate(lines)], answers) == {}  # nor are three on three logs
    early = [lines[0]._replace(own_s=-60.0), *lines[1:]]
    assert opened_by(early, answers) == {1: 3, 2: 3}  # too long before
    again = [line._replace(own_s=(line.own_s or 0.0) + 60.0) for line in lines]
    assert opened_by([*lines, *again], [*answers, *((u + 8, s) for u, s in answers)]) == {0: 3, 1: 3, 2: 3, 8: 3, 9: 3, 10: 3}
    named = [lines[0], lines[1]._replace(text="poll for the draining"), *lines[2:]]
    assert opened_by(named, answers) == {1: 3, 2: 3}  # what was said before it was named has called nothing


@pytest.mark.parametrize("word", ["stripped", "stripping", "timing", "tuning", "schedule", "names"])
def test_words_of_their_own_are_not_taken_for_the_counts(word: str) -> None:
    assert mend(scan(f"paint {word} off")) == ("paint", word, "off")


@pytest.mark.parametrize(("text", "lifted"), [
    ("And she's flying.", True), ("Rocket's away.", True), ("Glider's away, clean separation.", True), ("she's off the roster", False),
    ("the bird's flying tomorrow", False), ("she's away at the coast", False)])
def test_ways_of_saying_that_it_flies(hear: Hear, text: str, lifted: bool) -> None:
    assert ("liftoff" in hear(text).calls()) == lifted
