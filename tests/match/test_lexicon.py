"""Texts in the words of a plan: what a call sign is, and what only sounds like one."""

from __future__ import annotations

import numpy as np
import pytest

from aftercount.match import conflict, language, lexicon, likeness
from match.small import a_count, a_plan

PLAN = a_plan("1 | -60 | TC>PROP | Open propulsion vent", "2 | -30 | TC>RNG | Arm range receiver A")


@pytest.mark.parametrize(("text", "names", "words"), [
    ("In work, PROP", ("PROP", "TC"), ["in", "work"]),
    ("PROP, TC, open vent", ("TC", "PROP"), ["open", "vent"]),
    ("PROP this is TC, open propulsion vent", ("TC", "PROP"), ["this", "is", "open", "propel", "vent"]),
    ("propulsion vent opened", ("PROP",), ["propel", "vent", "open"]),
    ("vent of propulsion to stand-by", ("PROP",), ["vent", "of", "propel", "to", "stand", "by"]),
    ("PROP go", ("PROP",), ["go"]),
    ("PROP go", (), ["propel", "go"]),
])
def test_a_call_sign_where_it_calls_says_nothing_of_a_step(text: str, names: tuple[str, ...], words: list[str]) -> None:
    assert list(lexicon.build(PLAN, a_count()).canonical(text, names)) == words


@pytest.mark.parametrize(("text", "words"), [
    ("GNC: PROP clear", ["propel", "clear"]), ("gnc, propulsion is clear", ["propel", "is", "clear"]), ("PROP, GNC, clear", ["clear"]), ("GNC, PROP, PROP clear", ["propel", "clear"]),
    ("PROP, GNC, open the vent", ["open", "the", "vent"])])
def test_a_call_sign_that_a_step_is_about_stays_where_it_stands_as_in_the_step(text: str, words: list[str]) -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>GNC | Report PROP clear", "2 | -30 | GNC>PROP | Open vent"), a_count())
    assert list(plan.canonical(text, ("GNC", "PROP"))) == words


def test_an_ending_that_sounds_like_a_word_of_the_plan_is_kept() -> None:
    """A recogniser writes LOX as 'locks', which is no lock; 'vents' stays the plural of a word of the plan."""
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Pressurize LOX tank", "2 | -50 | TC>PROP | Open LOX vents"), a_count())
    assert plan.canonical("pressurize locks tank") == ("press", "locks", "tank")
    assert plan.canonical("lock the door, vents opened") == ("lock", "the", "door", "vent", "open")
    assert plan.canonical("tanks checked by both stations") == ("tank", "check", "by", "both", "station")


def test_a_text_with_one_word_of_a_wording_of_several_says_little_of_it() -> None:
    plan = a_plan("1 | -60 | TC>PROP | Inspect tail fin", "2 | -30 | TC>RNG | Pressurize")
    texts = ["two knots of tail wind", "tail fin inspected", "pressurized"]
    alike = likeness.compare([(text, ()) for text in texts], np.zeros(len(texts), dtype=np.int64), lexicon.build(plan, a_count()))
    assert [alike.lone[alike.text_of[i], row] for i, row in ((0, 0), (1, 0), (2, 1))] == [1.0, 0.0, 0.0]


@pytest.mark.parametrize("text", ["HV chk", "h v check", "high voltage check"])
def test_letters_stand_for_the_words_that_they_begin(text: str) -> None:
    plan = a_plan("1 | -60 | TC>PROP | Experiment high voltage check", "2 | -30 | TC>RNG | Arm range receiver")
    assert lexicon.build(plan, a_count()).canonical(text) == ("high", "voltag", "check")


def test_letters_that_are_a_word_or_could_be_two_things_stand_for_nothing() -> None:
    plan = lexicon.build(a_plan(
        "1 | -60 | TC>PROP | Drain gas line", "2 | -50 | TC>PROP | Check guidance lamp", "3 | -40 | TC>RNG | Inspect nose outlet"), a_count())
    assert plan.canonical("GL check") == ("gl", "check")
    assert plan.canonical("no leak") == ("no", "leak")


def test_a_glossary_term_is_heard_spelled_out() -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>RNG | Arm the FTS"), a_count(glossary={"FTS": ("flight termination system",)}))
    assert plan.canonical("arm f t s") == ("arm", "fts") == plan.canonical("arm flight termination system")


@pytest.mark.parametrize(("text", "covered"), [("hdg 115 set", 0.5), ("btls chgd", 0.8), ("two twenty on the tanks", 0.3)])
def test_short_forms_of_whole_words_and_numbers_read_in_two_parts(text: str, covered: float) -> None:
    """What people shorten is the word, not its stem: 'hdg' is heading, 'chgd' charged."""
    plan = a_plan("1 | -60 | TC>GNC | Heading 115", "2 | -50 | TC>PROP | Bottle charged", "3 | -40 | TC>PROP | Bring ramp to 220")
    alike = likeness.compare([(text, ())], np.zeros(1, dtype=np.int64), lexicon.build(plan, a_count()))
    assert alike.coverage[alike.text_of[0]].max() >= covered


def test_the_terminal_count_terminates_nothing() -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Poll for terminal count", "2 | -30 | TC>PROP | Terminate load"), a_count())
    said = ["poll started", "load started"]
    assert conflict.clashes([plan.canonical(text) for text in said], plan)[[0, 1], [0, 1]].tolist() == [0.0, 1.0]


def test_a_letter_and_a_number_stand_for_the_only_thing_of_that_number() -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Second stage ignition", "2 | -50 | TC>PROP | Pump 3 on", "3 | -40 | TC>PROP | Close port 3", "4 | -30 | TC>PROP | Rail to 82"), a_count())
    assert plan.canonical("S2 ign") == ("stage", "2", "ignit")
    assert plan.canonical("P3 on") == ("p3", "on")  # pump or port
    assert plan.canonical("rail at 82.0") == ("rail", "at", "82")


@pytest.mark.parametrize(("action", "text", "clash"), [
    ("Purge bay to 30 percent", "purge 4 bay", 0.0), ("Purge bay 3", "purge bay at 50 percent", 0.0), ("Purge bay 3", "purge bay 5", 1.0), ("Purge bay 3 to 30 percent", "purge bay 5", 1.0),
])
def test_a_reading_names_no_thing(action: str, text: str, clash: float) -> None:
    plan = lexicon.build(a_plan(f"1 | -60 | TC>PROP | {action}", "2 | -30 | TC>PROP | Load constants"), a_count())
    assert conflict.clashes([plan.canonical(text)], plan)[0, 0] == clash


@pytest.mark.parametrize(("text", "words"), [
    ("lash down A", ["lash", "down", "a"]), ("lash down a", ["lash", "down", "a"]), ("okay, A lashed at noon", ["okay", "a", "lash", "at", "noon"]), ("a is lashed", ["a", "is", "lash"]),
    ("alpha lashed", ["a", "lash"]), ("crate a lashed", ["crate", "a", "lash"]), ("lash a barrel", ["lash", "barrel"]), ("give it a tug", ["give", "it", "tug"]), ("A barrel is loose", ["barrel", "is", "loos"])])
def test_an_a_is_a_name_where_no_article_can_stand(text: str, words: list[str]) -> None:
    lettered = lexicon.build(a_plan("1 | -60 | TC>PROP | Lash down crate A", "2 | -30 | TC>PROP | Lash down crate B"), a_count())
    assert list(lettered.stems(text)) == words


def test_where_no_unit_has_a_letter_an_a_is_an_article() -> None:
    plain = lexicon.build(a_plan("1 | -60 | TC>PROP | Lash down the crate"), a_count())
    assert plain.stems("lash down a") == ("lash", "down")
    assert plain.stems("lash A down") == ("lash", "down")


@pytest.mark.parametrize(("one", "other"), [("hook", "connect"), ("unhook", "disconnect")])
def test_words_of_the_loop_for_words_of_the_plan(one: str, other: str) -> None:
    stems = {language.stem(word) for word in (one, other)}
    assert any(stems <= group for group in language.LIKE_STEMS)


@pytest.mark.parametrize(("text", "left"), [
    ("T minus ten minutes, clock running", []), ("minus one thirty one minutes clock running", []), ("clock is at T minus thirty minutes", []),
    ("my nose two minutes an running", ["my", "nose"]), ("at T minus five minutes and counting close the vent", ["at", "close", "the", "vent"]),
    ("T minus five minutes, running up the pump", ["run", "up", "the", "pump"]), ("pump running for five minutes", ["pump", "run", "for"]),
    ("lock the ramp", ["lock", "the", "ramp"]),
])
def test_what_the_clock_does_is_part_of_its_reading_and_no_act_misheard(text: str, left: list[str]) -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Lock ramp", "2 | -30 | TC>RNG | Report runway wind"), a_count())
    assert list(plan.canonical(text)) == left


@pytest.mark.parametrize(("text", "words"), [
    ("VALVE2 OPEN", ["valv", "2", "open"]), ("VALVE2B OPEN", ["valv", "2", "b", "open"]), ("GATE2 OPEN", ["gate2", "open"]), ("PT2 OPEN", ["pt2", "open"]), ("VALVE204 OPEN", ["valve204", "open"]),
])
def test_a_thing_of_the_plan_is_known_with_its_number_glued_to_it(text: str, words: list[str]) -> None:
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Open valve 2B", "2 | -30 | TC>PROP | Close valve 1A"), a_count())
    assert list(plan.canonical(text)) == words


@pytest.mark.parametrize(("garbled", "like"), [(False, False), (True, True)])
def test_in_clear_talk_a_word_is_no_other_badly_misheard(garbled: bool, like: bool) -> None:
    """'Card' is something like 'record', which tells of a recording only where other words of the log are misheard too."""
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Start camera recording", "2 | -30 | TC>RNG | Open propulsion vent"), a_count())
    others = ["hopen prepulsion bent", "camra recordling stard", "propulshun fent is oben"] if garbled else ["open propulsion vent", "start camera recording", "propulsion vent is open"]
    texts = ["camera two has a card", *others]
    alike = likeness.compare([(text, ()) for text in texts], np.zeros(len(texts), dtype=np.int64), plan)
    camera = float(lexicon_weight(plan, "camera"))
    assert (alike.coverage[alike.text_of[0], 0] > camera + 0.01) == like


def lexicon_weight(plan: lexicon.Lexicon, word: str) -> np.floating:
    return plan.weights[0, plan.vocabulary.index(word)]
