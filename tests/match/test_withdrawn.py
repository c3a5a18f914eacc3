"""Orders that came to nothing: taken back at once, or said afterwards to be left out."""

from __future__ import annotations

import pandas as pd
import pytest

from match.small import a_log, a_plan, joined, matched, seen_at

STEPS = ("a | -300 | TC>PROP | Open feed valve 1", "b | -200 | TC>PROP | Arm the ejector", "c | -100 | TC>RNG | Start beacon")
ORDER = "-200 | TC>PROP | call | PROP, TC, arm the ejector"


def seen(*logs: pd.DataFrame) -> list[str]:
    log = joined(*logs)
    return seen_at(matched(a_plan(*STEPS), log), log)["b"]


@pytest.mark.parametrize("back", [
    "-194 | TC>PROP | call | PROP, TC, belay that", "-194 | TC>PROP | call | PROP, disregard my last", "-194 | TC>PROP | note | disregard", "-190 | > | note | cancel that leave it as it is",
    "-194 | TC>PROP | call | PROP belay ny last", "-194 | TC>PROP | note | nope, forget the ejector for now, PROP", "-194 | TC>PROP | call | PROP, TC, belay ejector", "-194 | TC>PROP | call | PROP, stop, leave the ejector alone",
    "-194 | TC>PROP | note | that order is rescinded, ejector stays as it is", "-194 | TC>PROP | note | PROP, we are not doing the ejector yet", "-194 | PROP>TC | report | PROP, that order is withdrawn, ejector stays as is", "-192 | TC>PROP | call | PROP, TC, scratch that, please wait", "-185 | TC>PROP | note | do not do that", "-196 | TC>PROP | note | PROP, as you were",
    "-194 | TC>PROP | note | correction, stand by on that", "-194 | TC>PROP | note | no, wait for my call", "-194 | PROP>TC | report | belay that, PROP",  # the name behind is whom it is said to
])
def test_an_order_taken_back_at_once_is_no_doing(back: str) -> None:
    assert seen(a_log(ORDER, "-197 | PROP>TC | response | copy, arming the ejector", back, medium="speech")) == []


@pytest.mark.parametrize("later", [
    "-150 | TC>PROP | call | PROP, TC, belay that", "-194 | RNG>GNC | call | GNC, disregard my last", "-194 | TC>RNG | call | RNG, TC, disregard that", "-194 | TC>PROP | call | disregard the low pressure alarm",
    "-194 | TC>PROP | note | ignore that alarm", "-194 | TC>PROP | note | forget the fan for now, PROP", "-194 | TC>RNG | call | RNG, hold off on the beacon", "-194 | TC>PROP | call | PROP, stop at the first click of the ejector",
])
def test_what_takes_back_something_else_leaves_the_order(later: str) -> None:
    assert seen(a_log(ORDER, "-197 | PROP>TC | response | copy, arming the ejector", later, medium="speech")) != []


@pytest.mark.parametrize(("line", "done"), [
    ("-200 | TC>PROP | call | PROP, thut order rescinded, ejector armed as", False), ("-200 | TC>PROP | call | PROP, undothat, arm no ejector", False), ("-200 | TC>PROP | call | PROP, back again, arm the ejector as", True),
])
def test_what_takes_an_order_back_that_was_not_made_out_is_none_itself(line: str, done: bool) -> None:
    assert bool(seen(a_log("-260 | TC>RNG | call | RNG, TC, radio check", line, medium="speech"))) == done


def test_what_was_done_by_then_is_done() -> None:
    assert seen(a_log(ORDER, "-196 | PROP>TC | report | ejector is armed", "-190 | TC>PROP | call | PROP, TC, disregard my last", medium="speech")) != []


def test_what_another_station_reports_meanwhile_does_not_show_it_done() -> None:
    assert seen(a_log(ORDER, "-197 | RNG>TC | report | TC, RNG, relay is closed", "-194 | TC>PROP | call | PROP, TC, belay that", medium="speech")) == []


def test_who_takes_back_his_own_report_leaves_the_order() -> None:
    assert seen(a_log(ORDER, "-196 | PROP>TC | report | TC, PROP, feed gauge reads nothing", "-192 | PROP>TC | report | PROP, belay that", medium="speech")) != []


@pytest.mark.parametrize(("step", "order", "then", "done"), [
    ("Airlock is vented", "-150 | TC>GNC | report | GNC, TC, airlock is vented", "-146 | TC>GNC | call | GNC, belay that", False),  # an order worded as a report
    ("Airlock is vented", "-150 | GNC>TC | report | TC, GNC, airlock is vented", "-146 | TC>GNC | call | GNC, belay that", True),  # from who does it it is one
    ("Start slow spin", "-150 | TC>GNC | call | GNC, TC, start slow spin", "-146 | TC>GNC | call | GNC, belay that", False),  # a step whose words are a near miss's
    ("Withdraw guards to shelter", "-150 | TC>GNC | call | GNC, TC, withdraw guards to shelter", "-142 | GNC>TC | report | TC, GNC, all guards withdrawn to shelter", True),  # a step's own word
])
def test_what_is_an_order_and_what_takes_one_back_is_read_from_the_plan(step: str, order: str, then: str, done: bool) -> None:
    log = a_log(order, then, medium="speech")
    assert bool(seen_at(matched(a_plan(*STEPS, f"d | -150 | TC>GNC | {step}"), log), log)["d"]) == done


def test_an_order_given_again_begins_the_step() -> None:
    again = "-170 | TC>PROP | call | PROP, TC, arm the ejector now"
    assert seen(a_log(ORDER, "-194 | TC>PROP | call | PROP, TC, belay that", again, "-165 | PROP>TC | report | ejector armed", medium="speech"))[0] == "PROP, TC, arm the ejector now"


def test_a_scrap_of_talk_between_is_nothing() -> None:
    assert seen(a_log(ORDER, "-198 | TC> | note | the", "-194 | TC>PROP | call | PROP, TC, belay that", medium="speech")) == []


@pytest.mark.parametrize("again", ["-188", "-192"])
def test_nor_does_what_is_ordered_seconds_after_it_was_taken_back_count_as_taken_back(again: str) -> None:
    told = "PROP, TC, go on and arm the ejector"
    assert seen(a_log(ORDER, "-194 | TC>PROP | call | PROP, TC, belay that", f"{again} | TC>PROP | call | {told}", medium="speech"))[0] == told


def test_other_logs_have_the_order_that_was_taken_back() -> None:
    voice = a_log(ORDER, "-194 | TC>PROP | call | PROP, TC, belay that", source="net.vtt", medium="speech")
    assert seen(voice, a_log("-196 | TC>PROP | call | arm the ejector")) == []


@pytest.mark.parametrize(("note", "done"), [
    ("-180 | > | note | ejector arming skipped", False), ("-180 | TC> | note | arming the ejector not done", False), ("-180 | TC> | note | why was arming the ejector skipped?", True),
    ("-180 | TC> | note | starting the beacon skipped", True),
])
def test_a_step_said_to_be_left_out_was_only_ordered(note: str, done: bool) -> None:
    voice = a_log(ORDER, source="net.vtt", medium="speech")
    assert bool(seen(voice, a_log(note))) == done
    after_all = a_log(ORDER, "-120 | PROP>TC | report | ejector is armed", source="net.vtt", medium="speech")
    assert seen(after_all, a_log(note))[0] == "PROP, TC, arm the ejector"
