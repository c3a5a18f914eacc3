"""What tells two steps apart never passes: open for close, A for B, 1 for 2, start for complete, done for not done.

Pairs are made from words of several trades, none of them a simulated scenario's. A log says the one exactly on time of the other, which is the hardest case there is.
"""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from match.small import a_log, a_plan, matched, seen_at

THINGS = ("cryostat drain valve", "ballast pump", "hangar door latch", "coolant loop isolation valve", "mast brake", "payload fairing heater",
          "test cell lights", "umbilical plate", "deluge manifold", "gyro package", "nitrous fill line", "seismic logger", "antenna mast")
OPPOSITES = (("open", "opened", "close", "closed"), ("start", "started", "stop", "stopped"), ("enable", "enabled", "disable", "disabled"),
             ("connect", "connected", "disconnect", "disconnected"), ("arm", "armed", "safe", "safed"), ("extend", "extended", "retract", "retracted"),
             ("lock", "locked", "unlock", "unlocked"), ("install", "installed", "remove", "removed"), ("raise", "raised", "lower", "lowered"))
NAMES = (("A", "B"), ("1", "2"), ("one", "two"), ("alpha", "bravo"), ("3", "13"), ("upper", "lower"), ("bow", "stern"), ("front", "rear"), ("primary", "backup"), ("north", "south"), ("left", "right"))
NOT_IT = ("not {done} yet", "negative on that, not {done}", "stand by for {thing} to be {done}", "is {thing} {done}?", "unable to {do} {thing}", "we will {do} {thing} in about five minutes",
          "coming up on {thing} {done}", "{thing} will be {done} in a minute", "who has {thing} {done}", "last month we were late on {thing} {done}", "we are going two {do} {thing} today", "{thing} is not {done}", "hold off on {thing}")
FILL = ("f1 | -600 | TC>PROP | Verify wind limits", "f2 | -30 | TC>GNC | Load flight constants")
TALK = ("-900 | RNG>TC | note | radio check on net two", "-20 | TC> | note | recorder is on tape three")

things, opposites, names = st.sampled_from(THINGS), st.sampled_from(OPPOSITES), st.sampled_from(NAMES)
ways = st.sampled_from(("{thing} {done}", "{thing} is {done}", "TC, PROP, {thing} {done}", "{done} the {thing}"))
turns = st.booleans()


def taken(plan_lines: tuple[str, ...], *lines: str) -> dict[str, list[str]]:
    log = a_log(TALK[0], *lines, TALK[1])
    return seen_at(matched(a_plan(FILL[0], *plan_lines, FILL[1]), log), log)


@settings(phases=[Phase.generate], max_examples=25, deadline=None, derandomize=True)
@given(things, opposites, ways, turns)
def test_the_opposite_act_is_not_the_step(thing: str, pair: tuple[str, str, str, str], way: str, turned: bool) -> None:
    do, done, _, undone = pair if not turned else (*pair[2:], *pair[:2])
    said = way.format(thing=thing, done=undone)
    assert taken((f"s | -300 | TC>PROP | {do} {thing}",), f"-299 | PROP>TC | report | {said}")["s"] == []
    kept = way.format(thing=thing, done=done)
    assert taken((f"s | -300 | TC>PROP | {do} {thing}",), f"-299 | PROP>TC | report | {kept}")["s"] == [kept]


@settings(phases=[Phase.generate], max_examples=25, deadline=None, derandomize=True)
@given(things, st.sampled_from(("power {how} {thing}", "turn {thing} {how}", "{thing} power {how}", "switch {how} the {thing}")), turns)
def test_off_is_not_on(thing: str, way: str, turned: bool) -> None:
    """'On' is too common a word to be evidence, and still contradicts 'off'."""
    how, other = ("on", "off") if not turned else ("off", "on")
    step = f"s | -300 | TC>PROP | {way.format(thing=thing, how=how)}"
    assert taken((step,), f"-299 | PROP>TC | report | {thing} is {other}")["s"] == []
    assert taken((step,), f"-299 | PROP>TC | report | {thing} is {how}")["s"] == [f"{thing} is {how}"]


@settings(phases=[Phase.generate], max_examples=25, deadline=None, derandomize=True)
@given(things, opposites, names, turns)
def test_another_unit_is_not_the_step(thing: str, pair: tuple[str, str, str, str], units: tuple[str, str], turned: bool) -> None:
    mine, other = units if not turned else units[::-1]
    do, done = pair[:2]
    for unit, expected in ((other, []), (mine, [f"{mine} {thing} {done}"])):
        found = taken((f"s | -300 | TC>PROP | {do} {mine} {thing}",), f"-299 | PROP>TC | report | {unit} {thing} {done}")
        assert found["s"] == expected


@settings(max_examples=18, deadline=None, derandomize=True)
@given(things, opposites, st.sampled_from(NOT_IT))
def test_what_is_not_done_or_not_now_is_not_the_step(thing: str, pair: tuple[str, str, str, str], way: str) -> None:
    text = way.format(thing=thing, do=pair[0], done=pair[1])
    assert taken((f"s | -300 | TC>PROP | {pair[0]} {thing}",), f"-301 | PROP>TC | report | {text}")["s"] == []


@settings(max_examples=25, deadline=None, derandomize=True)
@given(things, opposites, names)
def test_of_four_steps_that_differ_by_one_word_each_takes_its_own(thing: str, pair: tuple[str, str, str, str], units: tuple[str, str]) -> None:
    """Even when all are late and in another order than planned."""
    steps = [(f"{do} {unit} {thing}", f"{unit} {thing} {done}") for unit, (do, done) in product(units, (pair[:2], pair[2:]))]
    plan_lines = tuple(f"s{i} | {-400 + 60 * i} | TC>PROP | {action}" for i, (action, _) in enumerate(steps))
    said = [f"{-200 + 25 * k} | PROP>TC | report | {steps[i][1]}" for k, i in enumerate((2, 0, 3, 1))]
    found = taken(plan_lines, *said)
    assert [found[f"s{i}"] for i in range(4)] == [[text] for _, text in steps]


@pytest.mark.parametrize(("step", "line"), [("start of pump chilldown", "pump chilldown complete"), ("pump chilldown complete", "pump chilldown started"),
                                            ("begin mast rotation", "mast rotation complete"), ("mast rotation complete", "mast rotation begun")])
def test_the_start_is_not_the_completion_when_the_plan_has_both(step: str, line: str) -> None:
    other = {"start of pump chilldown": "pump chilldown complete", "pump chilldown complete": "start of pump chilldown",
             "begin mast rotation": "mast rotation complete", "mast rotation complete": "begin mast rotation"}[step]
    found = taken((f"s | -300 | TC>PROP | {step}", f"o | -240 | TC>PROP | {other}"), f"-290 | PROP>TC | report | {line}")
    assert found["s"] == [] and found["o"] == [line]


@pytest.mark.parametrize("denied", ["we are not doing that one", "disregard", "negative, we skip it"])
def test_a_step_whose_own_words_are_such_signs_is_not_done_when_others_say_so(denied: str) -> None:
    """'Abort' and 'wait for' are the step's, and say nothing against it; what else denies it does."""
    steps = ("a | -300 | TC>PROP | Check the abort lamp", "w | -200 | TC>PROP | Wait for the skipper's wave")
    assert taken(steps, f"-299 | TC>PROP | call | PROP, TC, check the abort lamp, {denied}", f"-199 | TC>PROP | call | wait for the skipper's wave, {denied}")["a"] == []
    assert taken(steps, f"-299 | TC>PROP | call | PROP, TC, check the abort lamp, {denied}", f"-199 | TC>PROP | call | wait for the skipper's wave, {denied}")["w"] == []
    kept = taken(steps, "-299 | TC>PROP | call | PROP, TC, check the abort lamp", "-199 | TC>PROP | call | PROP, waiting for the skipper's wave")
    assert kept["a"] and kept["w"]


def test_a_net_check_is_one_act_and_a_check_on_a_net_another() -> None:
    steps = ("n | -300 | TC> | People at consoles, net check",)
    told = taken(steps, "-299 | TC> | report | net check is done, everyone's up")
    assert told["n"] == ["net check is done, everyone's up"]
    assert taken(steps, "-299 | TC> | report | surge tank check is done, everyone's up", "-250 | RNG>TC | note | check on net two done")["n"] == []


def test_what_a_briefing_is_asked_for_by_is_its_call_and_what_is_announced_is_not() -> None:
    steps = ("b | -300 | TC>RNG | Final ice briefing",)
    asked = "RNG, TC, what have you got on the ice"
    assert taken(steps, f"-299 | TC>RNG | call | {asked}")["b"] == [asked]
    assert taken(steps, "-299 | TC>RNG | call | RNG, heads up, the ice briefing is coming up for you later")["b"] == []


@pytest.mark.parametrize("talk", [
    "after the ballast pump started we go straight to the hatch", "remember ballast pump started has to come before the hatch", "as I said ballast pump was started, no issues", "just to recap, ballast pump was started",
    "log keeper, ballast pump was started at t minus five minutes", "where are we with ballast pump started",
])
def test_what_is_retold_or_planned_is_no_doing(talk: str) -> None:
    step = "s | -300 | TC>PROP | Start ballast pump"
    assert taken((step,), f"-298 | PROP> | report | {talk}")["s"] == []
    for kept in ("ballast pump started at t minus five minutes", "for the log, ballast pump started", "ballast pump was started"):
        assert taken((step,), f"-298 | PROP> | report | {kept}")["s"] == [kept]


@pytest.mark.parametrize("asked", ["status of ballast pump started", "is ballast pump started yet", "is ballast pump started bed", "how are we doing on ballast pump started",
                                   "for the log ballast pump started the while back", "i said before ballast pump started"])
def test_what_is_asked_about_is_no_doing(asked: str) -> None:
    assert taken(("s | -300 | TC>PROP | Start ballast pump",), f"-299 | TC>PROP | call | {asked}")["s"] == []
