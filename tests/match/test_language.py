"""Word forms, likeness of words, contradictions and near misses."""

from __future__ import annotations

import pytest

from aftercount.match.conflict import (
    ABOUT,
    ASKED,
    LEAD,
    MISHEARD,
    NOT_DONE,
    NOT_NOW,
    STATE,
    lead_in,
    near_miss,
    opposed,
    own_misses,
    poll_end,
)
from aftercount.match.language import OF_THE_LOOP, stem
from aftercount.match.signs import POLL_ENDED
from aftercount.match.wordlikeness import abbreviates, likeness


@pytest.mark.parametrize("forms", [
    "open opened opening opens", "close closed closing closes closure shut", "pressurize pressurization press pressed pressure pressurizing",
    "valve valves vlv", "isolate isolation isolated", "transfer transferred transferring xfer", "check checked checks chk", "verify verified verifying verification",
    "arm armed arming", "activate activation activated", "retract retracted retraction", "stop stopped stopping", "calibrate calibration calibrated",
    "evacuate evacuated evacuation", "deploy deploying deployed deploys deployment", "align aligning aligned alignment", "energise energize energised", "purge purged purging", "initiate initiated initiation", "begin began begun",
])
def test_forms_of_one_word_share_a_stem(forms: str) -> None:
    assert len({stem(word) for word in forms.split()}) == 1


@pytest.mark.parametrize(("one", "other"), [("open", "close"), ("start", "stop"), ("arm", "safe"), ("fill", "drain"), ("vent", "valve"), ("load", "lead"), ("motor", "motion"), ("ring", "string")])
def test_different_words_have_different_stems(one: str, other: str) -> None:
    assert stem(one) != stem(other)


@pytest.mark.parametrize(("said", "meant", "least"), [
    ("valve", "valve", 1.0), ("locks", "lox", 0.8), ("vlv", "valve", 0.8), ("press", "pressurant", 0.8), ("halium", "helium", 0.5), ("begin", "start", 0.6),
])
def test_words_that_stand_for_each_other(said: str, meant: str, least: float) -> None:
    assert likeness([said], [meant])[0, 0] >= least


@pytest.mark.parametrize(("said", "meant"), [("2", "1"), ("a", "b"), ("12", "120"), ("open", "close"), ("on", "off"), ("weather", "igniter"), ("lox", "fuel")])
def test_words_that_never_stand_for_each_other(said: str, meant: str) -> None:
    assert likeness([said], [meant])[0, 0] == 0


@pytest.mark.parametrize(("told", "ordered"), [("laid", "lay"), ("slid", "slide"), ("stood", "stand"), ("frozen", "freeze"), ("built", "build")])
def test_irregular_forms_are_one_word(told: str, ordered: str) -> None:
    assert stem(told) == stem(ordered)


def test_a_known_word_is_itself_before_anything_else() -> None:
    vent, went = likeness(["vent"], ["vent", "went"])[0]
    assert vent == 1.0 and went < 0.6


def test_abbreviates() -> None:
    assert abbreviates("vlv", "valve") and abbreviates("pwr", "power") and abbreviates("press", "pressurization")
    assert not abbreviates("valve", "vlv") and not abbreviates("vnt", "valve") and not abbreviates("ve", "valve")


@pytest.mark.parametrize(("text", "bits"), [
    ("LOX vent closed", 0), ("stand by for LOX vent close", NOT_DONE), ("LOX vent not closed", NOT_DONE), ("negative, vent not open", NOT_DONE),
    ("we will close the LOX vent", NOT_NOW), ("close the LOX vent in abouttwo minutes", NOT_NOW), ("coming up on LOX vent close", NOT_NOW), ("LOX vent closed?", ASKED), ("we delete the vent check", NOT_DONE), ("LOX vent looks steady", ABOUT), ("prepare to close the vent", NOT_NOW), ("did somebody close the vent", NOT_NOW | ASKED), ("has anybody closed the vent", NOT_NOW | ASKED),
    ("I am hearing some noise on the vent", ABOUT), ("white noise on the vent speaker", 0), ("the vent display flickers", ABOUT), ("vent loop, radio check", ABOUT), ("vent loud and clear", ABOUT),
])
def test_near_misses(text: str, bits: int) -> None:
    assert near_miss([text])[0] == bits


@pytest.mark.parametrize(("said", "planned", "words"), [
    ("valve 2 open", "close valve 1", [("open", "close"), ("2", "1")]), ("valve 1 close", "close valve 1", []),
    ("isol valve close", "open isol valve", [("close", "open")]), ("port tank vent", "vent starboard tank", [("port", "starboard")]),
])
def test_the_words_that_contradict(said: str, planned: str, words: list[tuple[str, str]]) -> None:
    assert opposed(said.split(), planned.split()) == words


@pytest.mark.parametrize(("garbled", "clear"), [
    ("prop stand be for stage one vent", "prop stage one vent be opened"), ("coming hope on battery transfer", "battery transfer is coming"),
    ("position spend by to arm receiver", "come up on channel two and arm receiver"), ("camera up a on arm receiver", "bring the heater up on receiver"), ("coming the hope on arm receiver", "receiver is on"),
    ("nex item iz arm receiver", "item four arm receiver"), ("ware we ready to arm receiver", "receiver is ready"),
])
def test_a_garbled_call_for_what_is_to_come_is_likelier_one_than_a_plain_line(garbled: str, clear: str) -> None:
    bad, good = lead_in([garbled, clear])
    assert bad > 0.15 and good < bad


@pytest.mark.parametrize(("text", "action", "speaks"), [
    ("LOX level is nominal", "Report LOX level", False), ("LOX topping is nominal", "Stop LOX topping", True),
    ("is the LOX vent closed", "Verify LOX vent closed", False), ("is the LOX vent closed", "Close LOX vent", True), ("how is the level", "Report level", False),
    ("are we ready to verify the vent", "Verify LOX vent", True), ("LOX vent readings are within limits", "Verify LOX vent", False), ("LOX vent looks steady", "Verify LOX vent", True),
])
def test_a_state_is_what_a_step_that_asks_for_it_wants_to_hear_and_the_question_is_its_order(text: str, action: str, speaks: bool) -> None:
    assert bool(near_miss([text])[0] & ~own_misses([action])[0]) == speaks


def test_a_step_worded_like_a_lead_in_is_found_by_its_words() -> None:
    assert own_misses(["Access arm to stand-by", "Open vent"]).tolist() == [LEAD, 0]


@pytest.mark.parametrize(("text", "bits"), [
    ("PROP will do", 0), ("PROP will close the vent", NOT_NOW), ("PROP, next then is close the vent", NOT_NOW), ("not on the vent yet", NOT_DONE),
])
def test_an_acceptance_is_no_promise_and_what_is_next_is_not_now(text: str, bits: int) -> None:
    assert near_miss([text])[0] == bits


@pytest.mark.parametrize(("text", "bits"), [
    ("if LOX vent closed", NOT_NOW | MISHEARD), ("prop never LOX vent closed", NOT_DONE | MISHEARD), ("if LOX vent is not closed", NOT_NOW | NOT_DONE),
    ("LOX vent should be closed once planned", NOT_NOW), ("look LOX vent closed if", ABOUT | NOT_NOW | MISHEARD), ("LOX vent closed if?", NOT_NOW | ASKED)])
def test_short_words_that_recognition_puts_for_others(text: str, bits: int) -> None:
    assert near_miss([text])[0] == bits


def test_a_plan_that_says_such_a_word_itself_leaves_it_one_in_others() -> None:
    assert own_misses(["Start slow fill"])[0] == ABOUT


@pytest.mark.parametrize(("text", "bits"), [
    ("t minus two minutes to drop prop close the LOX vent", 0), ("T minus two minutes to drop", NOT_NOW), ("prop close the LOX vent in two minutes to be safe", NOT_NOW),
    ("this is the test conductor close the vent", 0), ("is the vent closed", ASKED), ("is vent two closed", ASKED), ("are u n vent two closed", 0), ("LOX tank level 67 pct", STATE), ("LOX tank level 3 opened", 0)])
def test_a_reading_of_the_count_or_of_a_gauge_is_no_promise(text: str, bits: int) -> None:
    assert near_miss([text])[0] == bits


@pytest.mark.parametrize(("text", "bits"), [
    ("TC, PROP, stage one LOX at ninety eight percent, going to replenish", 0), ("PROP, TC, going to open the LOX vent", NOT_NOW),
    ("TC, PROP, stage one LOX vent is cold and we are going to open it", NOT_NOW), ("TC, PROP, stage one LOX vent, we're going to open it", NOT_NOW)])
def test_what_comes_next_says_nothing_against_what_was_told_first(text: str, bits: int) -> None:
    assert near_miss([text])[0] == bits


def test_the_end_of_a_poll_is_known_though_garbled() -> None:
    ends, others = ["that completes the poll", "that comtletef the poll", "all stations are go TC"], ["all stations poll for go", "this is the poll answer go or no go", "PROP is go"]
    assert poll_end(ends).min() > POLL_ENDED > poll_end(others).max()


@pytest.mark.parametrize("text", ["step four is not applicable, moving on", "vent purge, we are not doing that one", "we're going to skip the vent purge", "purge check not required today", "flow to the tender has not been begun", "gangway not swung, wait one", "gangway not yet swung", "the hatches aren't shut", "abort the bilge draining", "bilge draining, abort"])
def test_what_is_left_out_is_not_done(text: str) -> None:
    assert near_miss([text])[0] & NOT_DONE


def test_a_value_is_what_a_measurement_wants_to_hear() -> None:
    told, asks, else_ = near_miss(["resistance 1.04 ohms"])[0], own_misses(["Resistance measurement"])[0], own_misses(["Connect resistance bridge"])[0]
    assert not told & ~asks and told & ~else_ & STATE


@pytest.mark.parametrize("text", ["next well be to flood the bilge", "stand hope to flood the bilge", "do mot flood the bilge before i say so"])
def test_garbled_talk_of_what_is_to_come_is_like_a_lead_in(text: str) -> None:
    assert lead_in([text])[0] > 0.4 > lead_in(["next valve to the bilge is shut"])[0]


def test_pressure_to_is_no_garbled_prepare_to() -> None:
    assert lead_in(["set ramp pressure to 220 psi", "item c six pad insert the key"]).max() == 0.0 < lead_in(["prepar to ramp the tank"])[0]


@pytest.mark.parametrize(("text", "order"), [
    ("PROP, whenever you're ready, nitrogen on", True), ("ground, when you are ready, release the clamps", True), ("cameras, ready for the next step, high speed on", True),
    ("yard, unlatch the gantry when ready, over", True), ("unlatch the gantry when you are ready.", True), ("yard, when able, unlatch the gantry", True), ("report when ready", False),
    ("yard, call me when able", False), ("we unlatch the gantry when you are ready.", False), ("let me know when you are ready.", False), ("when you are ready.", False), ("report when you are ready to load", False), ("let me know whenever you are ready", False), ("are you ready for the next step?", False),
    ("yard, turn it down when ready", True), ("stand crew, unlatch the gantry when ready", True), ("yard, gantry is unlatched when ready", True),  # an order worded as a state
    ("it is unlatched by then, when ready", False), ("the gantry is in the way of it when ready", False), ("standing by to unlatch when ready", False),
])
def test_an_order_that_leaves_the_moment_to_who_is_told_is_an_order(text: str, order: bool) -> None:
    assert (not near_miss([text])[0] and lead_in([text])[0] == 0.0) == order


@pytest.mark.parametrize("text", ["I remember the bilge drained in spring", "for a scrub, drain the bilge first", "for the log, bilge drained a while ago", "bilge draining is behind us", "in two minutes drain the bilge", "bilge draining in a few more minutes", "on the dry run the bilge was drained twice"])
def test_what_is_told_of_another_time_is_not_now(text: str) -> None:
    assert near_miss([text])[0] & NOT_NOW


@pytest.mark.parametrize("text", ["bilge drained ten seconds ago", "drain the bilge", "dry the bilge", "run the bilge pump dry", "make the low level abort live", "low level abort is live"])
def test_and_what_is_told_of_now_is(text: str) -> None:
    assert not near_miss([text])[0] & (NOT_NOW | NOT_DONE)


@pytest.mark.parametrize(("text", "of_the_loop"), [
    ("mike check", True), ("I'm hearing some feedback on here", True), ("your mike is open", True), ("somebody has a stuck mic", True), ("you're breaking up", True), ("please go to the other channel", True),
    ("radio check", True), ("arm channel two", False), ("the echo sounder is running", False), ("open the mike valve", False), ("go to the other valve", False)])
def test_what_is_said_of_the_loop_itself(text: str, of_the_loop: bool) -> None:
    assert bool(OF_THE_LOOP.search(text)) == of_the_loop
