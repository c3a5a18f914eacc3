"""Procedures that are read out by number, calls said again, and voices that a transcript only numbers."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech import understand
from aftercount.speech.stepheads import only_head, step_head, step_numbers
from aftercount.speech.words import scan
from speech.conftest import Heard, count, plan, records

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("text", "numbers"), [
    ("Ground, TC, step three point four, open the vent.", ["3.4"]), ("Eight. Drain valve closed.", ["8"]), ("Step number 12 complete", ["12"]),
    ("step two dash oh four", ["2-04"]), ("item 3.11, in work", ["3.11"]), ("Twenty two: start the recorder.", ["22"]),
    ("okay, item one hundred twenty one. Ground, open the vent", ["121"]), ("sequence one two four. Close the vent", ["124"]), ("step C five. Ground, open the vent", ["c5"]),
    ("item c5 ground open the vent", ["c5"]), ("go for step delta zero nine", ["d09"]), ("Ground, TC, step alpha dash twenty two, open the vent", ["a-22"]), ("step delta papa seven", ["dp7"]), ("step delta", []), ("sequence started", []), ("step a little closer", []), ("Ten. Nine.", []), ("One. Ignition it is", []), ("Six point five, check.", []), ("Twenty. Copy.", []), ("Thirty. Seconds to go", []), ("", []),
])
def test_the_number_of_a_step_is_read(text: str, numbers: list[str]) -> None:
    assert step_numbers(text) == numbers


def test_a_number_alone_is_a_head_without_words() -> None:
    assert only_head(scan("Step nine.")) and only_head(scan("Nine.")) and only_head(scan("Item C five.")) and not only_head(scan("Step nine complete")) and not only_head(scan(""))
    assert step_head(scan("step nine, drain valve closed")) == 2 and step_head(scan("drain valve closed")) == 0


def test_what_is_read_out_under_a_number_is_one_sentence(hear: Hear) -> None:
    heard = hear("Step nine. Drain valve closed.\nClosed.\nTen. Drain valve open.\nThree. Two. One. Zero.\nTwenty. Copy that one.")
    assert heard.texts()[:3] == ["Step nine. Drain valve closed.", "Closed.", "Ten. Drain valve open."]
    assert heard.texts()[3:7] == ["Three.", "Two.", "One.", "Zero."]
    assert heard.kinds()[:3] == ["call", "report", "call"]


@pytest.mark.parametrize(("line", "kind"), [
    ("PROP, TC, step four point four, verify the sheet is signed.", "call"), ("PROP, TC, step one, complete the leak check.", "call"),
    ("TC, PROP, step one complete, the leak check was good.", "report"), ("Step seven. Complete.", "report"), ("PROP, TC. Go for 2 dot 05, start the load.", "call"),
    ("PROP, TC. Go for step five.", "call"), ("PROP, is the tank clear", "call"), ("PROP, have you closed the vent", "call"),
    ("PROP, TC, okay, open the vent.", "call"), ("PROP, TC, uh, you are go for the next one, load the tank.", "call"), ("Okay PROP, TC, heaters on.", "call"),
    ("PROP, TC, fuel vent closed please.", "call"), ("PROP this is TC, okay, go for igniter hook-up", "call"), ("PROP, TC, go ahead with the upload of the table", "call"),
    ("PROP, TC, copy, vent closed.", "response"), ("PROP, TC, we see the vent closed.", "report"), ("TC, PROP, heaters on.", "report"), ("TC, PROP, complete.", "report"),
    ("TC from PROP, arm's back and latched", "report"), ("TC, PROP, we're on it.", "response"), ("TC, PROP, okay.", "response"),
    ("PROP, TC, ready for the next step, start line chill.", "call"), ("PROP, TC, whenever you're ready, open the vent", "call"), ("TC, PROP, ready.", "response"),
    ("uh fuel vent closed please", "call"), ("say again please", "response"), ("charge the water main", "call"), ("pumps the water", "note"), ("Okay, sequence one two four. PROP, close the vent.", "call"), ("right step c five prop close the vent", "call"),
])
def test_the_manner_is_of_the_words_under_the_number(hear: Hear, line: str, kind: str) -> None:
    heard = hear(line)
    assert heard.kinds() == [kind] and heard.answers() == []


def test_who_calls_for_steps_also_performs_those_of_others() -> None:
    """RNG calls for steps of PROP and performs one that TC calls for: what TC says to it is an order, what it says to TC is none."""
    table = plan(("1", -60.0, "Clear the area", "step", "RNG", "TC"), ("2", -50.0, "Leave the pad", "step", "PROP", "RNG"), ("3", -40.0, "Beacon on", "step", "RNG", "TC"))
    said = understand(records(["RNG, TC, okay, clear the area.", "RNG, TC, beacon on.", "TC, RNG, beacon on.", "TC, RNG, okay."], "speech"), count(), table)
    assert said.utterances["kind"].tolist() == ["call", "call", "report", "response"]


@pytest.mark.parametrize("again", ["Again, PROP, TC, open the vent.", "I say again, PROP, TC, open the vent.", "Again, PROP, TC. Open the vent.", "PROP, TC. PROP, open the vent."])
def test_a_call_said_again_is_a_call_to_the_same(hear: Hear, again: str) -> None:
    heard = hear(again)
    assert heard.who() == ["TC>PROP"] and heard.kinds() == ["call"]


def test_a_step_read_out_is_asked_of_who_performs_it(hear: Hear) -> None:
    heard = hear("Step one. LOX load start.\nPROP, open.\nFour. Sequencer to auto start.\nSome other talk here.\nGNC, auto.\nStep one. LOX load stopped.\nOpen.\nOpen the log.")
    assert heard.who()[0:3] == ["TC>PROP", "PROP>TC", "TC>GNC"] and heard.who()[4:7] == ["GNC>TC", "TC>PROP", "PROP>TC"]
    assert heard.kinds()[1] == "report" and heard.kinds()[4] == "report" and heard.kinds()[6:] == ["report", "call"]


def test_an_answer_is_no_answer_when_it_comes_late(hear: Hear) -> None:
    assert hear("Step one. LOX load start.\n" + "Talk about the weather.\n" * 5 + "PROP, open.").who()[-1] == "?>PROP"


@pytest.mark.parametrize(("line", "kind"), [
    ("TC, PROP, open the vent, roger.", "response"), ("TC, PROP, start stage one fill, wilco.", "response"), ("PROP, TC, open the vent, how copied", "call"),
    ("TC, PROP, firing key is in.", "report"), ("TC, PROP, firing the key.", "response"),
])
def test_an_order_with_an_acceptance_is_read_back(hear: Hear, line: str, kind: str) -> None:
    assert hear(line).kinds() == [kind]


@pytest.mark.parametrize("line", ["PROP, we are go.", "PROP, we're go.", "PROP we go", "PROP is ago."])
def test_who_names_himself_and_is_go_answers(hear: Hear, line: str) -> None:
    assert ("PROP", "go") in hear("All stations, TC, this is the poll for launch.\nPROP?\n" + line).answers()


@pytest.mark.parametrize(("line", "kind"), [
    ("T minus forty to the drop box.", "mark"), ("T minus two minutes to release.", "mark"), ("T minus forty, drop box is clear.", "report"),
    ("T minus two minutes to go, and the purge of the aft bay is complete now.", "report"),
])
def test_a_reading_is_only_a_mark_whatever_is_counted_down_to(hear: Hear, line: str, kind: str) -> None:
    assert hear(line).kinds() == [kind]


def test_a_mark_and_a_remark_that_begins_with_no_answer_nothing(hear: Hear) -> None:
    assert hear("This is T minus 51 minutes. Mark.\nNo change on the valve temperatures.\nNo joy.").kinds()[1:] == ["mark", "note", "response"]


def test_acceptance_after_a_pair_of_call_signs_is_of_who_was_called(hear: Hear) -> None:
    heard = hear("PROP, TC. Open the vent.\nTC, PROP. Roger.")
    assert heard.who()[-1] == "PROP>TC" and heard.kinds()[-1] == "response"


@pytest.mark.parametrize("line", ["The rocket is off the rail", "balloon away", "vehicle has cleared the tower"])
def test_what_flies_has_left_the_ground(hear: Hear, line: str) -> None:
    assert "liftoff" in hear(line).calls()


@pytest.mark.parametrize("line", ["All personnel are off the pad", "the crew has cleared the tower"])
def test_people_who_leave_are_no_lift_off(hear: Hear, line: str) -> None:
    assert "liftoff" not in hear(line).calls()


def test_who_answers_to_his_name_after_a_pair_of_call_signs_is_another(hear: Hear) -> None:
    assert hear("PROP, TC. PROP, go.").texts() == ["PROP, TC.", "PROP, go."]


def test_a_numbered_voice_is_who_it_says_it_is() -> None:
    lines = ["PROP copies.", "PROP, go.", "Valve is tight.", "PROP is ready.", "Some other talk.", "GNC copies."]
    labels = ["Speaker 2"] * 4 + ["SPEAKER_05", "Kim"]
    said = understand(records(lines, "speech").assign(station=labels), count(), plan()).utterances
    assert [s if isinstance(s, str) else None for s in said["station"]] == ["PROP"] * 4 + [None, "Kim"]


def test_a_voice_that_gives_several_names_is_nobody_known() -> None:
    lines = ["PROP copies.", "PROP, go.", "GNC, go.", "RANGE is ready."]
    said = understand(records(lines, "speech", station="Speaker A"), count(), plan()).utterances
    assert said["station"].tolist()[0] != "Speaker A" and "Speaker A" not in said["station"].tolist()
