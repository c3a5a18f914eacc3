"""What is said after a call and is its answer however late, and what is none: remarks, talk of the loop, answers to something else; and what reads back."""

from __future__ import annotations

from typing import Any

import pytest

from findings.test_answers_exactly import ANSWERED, CALL, PLAN, after, first, line

POLLED = PLAN + "1.6 | T-00:05:00 | poll for the pump | kind=poll; by=TC\n"


def said(count: Any, *lines: str, plan: str = PLAN, **options: Any) -> tuple[str, float | None]:
    response, took, _ = first(count, *lines, plan=plan, **options)
    return str(response), took


@pytest.mark.parametrize(("lines", "expected"), [
    # the limit is 15 s: what the station called accepts is looked for within five of them, if nothing else has been asked of it
    (line(2, 75, "PROP", "roger"), ("late", 75.0)), (line(2, 75.1, "PROP", "roger"), ("none", None)),
    (line(2, 60, ">PROP", "roger, PROP"), ("late", 60.0)), (line(2, 60, ">LOX", "roger, LOX"), ("none", None)),
    (line(2, 60, "", "roger"), ("late", 60.0)), (line(2, 40, "LOX", "gulls", "note") + line(3, 60, "", "roger"), ("none", None)),
    (line(2, 40, "LOX", "gulls", "note") + line(3, 60, "PROP", "roger"), ("late", 60.0)),
    (line(2, 40, "TC>PROP", "PROP, how is your line", "call") + line(3, 60, "PROP", "roger"), ("none", None)),
    (line(2, 40, "TC>PROP", "PROP, your lamp is on", "report") + line(3, 60, "PROP", "roger"), ("late", 60.0)),
    (line(2, 60, "PROP", "PROP rogar", "note"), ("late", 60.0)), (line(2, 60, ">PROP", "PROP, copees", "call"), ("late", 60.0)), (line(2, 60, "PROP", "PROP gulls", "note"), ("none", None)),
    # who signs an acceptance has it, unless that closes what he said himself
    (line(2, 35, "PROP>LOX", "LOX, PROP, mind the gulls", "note") + line(3, 40, ">PROP", "copy, PROP"), ("none", None)),
    (line(2, 3, "TC>LOX", "LOX, TC, read the gauge", "call", "1.3:call") + line(3, 14, ">PROP", "roger, PROP"), ("answered", 14.0))])
def test_an_acceptance_however_late(count: Any, lines: str, expected: tuple) -> None:
    assert said(count, lines) == expected


@pytest.mark.parametrize(("lines", "expected"), [
    # what the station called says well after, of nothing that was ordered and in nobody's name
    (line(2, 20, "PROP", "the gulls sit all over the roof", "note"), ("none", None)), (line(2, 12, "PROP", "the gulls sit all over the roof", "note"), ("answered", 12.0)),
    (line(2, 20, "PROP", "the vent sits rather oddly today", "note"), ("late", 20.0)), (line(2, 20, "PROP", "the gulls are done with over here", "note"), ("late", 20.0)),
    (line(2, 20, "PROP", "PROP, the gulls sit all over the roof", "note"), ("late", 20.0)), (line(2, 20, "PROP", "the gulls sit there", "note"), ("late", 20.0)),
    # to another station
    (line(2, 9, "PROP>LOX", "LOX, PROP, your lamp is on", "note"), ("none", None)), (line(2, 9, "PROP>LOX", "roger"), ("answered", 9.0)),
    # of the loop
    (line(2, 9, "", "loud and clear"), ("none", None)), (line(2, 9, "PROP", "loud and clear"), ("none", None)), (line(2, 9, "PROP", "I am getting an echo here", "note"), ("none", None)),
    # a hesitation is no sentence
    (line(2, 2, "PROP", "uh and", "note"), ("none", None)), (line(2, 2, "", "uh", "note") + line(3, 9, "", "on it", "note"), ("answered", 9.0)),
    # nor is a question that nobody marked as one
    (line(2, 9, "", "is the gate shut", "note"), ("none", None)), (line(2, 9, "", "the gate is shut", "note"), ("answered", 9.0)),
    # somebody called another station, and that is who answers
    (line(2, 3, ">LOX", "LOX, are you on", "call") + line(3, 12.1, "", "roger"), ("none", None)),
    # the same station was called for something else, without its call sign
    (line(2, 3, "TC", "start the pump", "call", "1.5:call") + line(3, 9, "PROP", "roger"), ("none", None))])
def test_what_answers_nothing(count: Any, lines: str, expected: tuple) -> None:
    assert said(count, lines) == expected


@pytest.mark.parametrize(("lines", "expected"), [
    (line(2, 5, "TC", "poll for the pump", "poll", "1.6:call") + line(3, 9, "PROP", "go", "response", "1.6:response"), ("none", None)),
    (line(2, 5, "TC", "poll for the pump", "poll", "1.6:call") + line(3, 9, "PROP", "PROP is go"), ("none", None)),
    (line(2, 5, "TC", "poll for the pump", "poll", "1.6:call") + line(3, 9, "PROP", "roger"), ("answered", 9.0)),
    (line(2, 5, "TC>ALL", "all stations, go or no go", "poll") + line(3, 9, "PROP", "go"), ("none", None)), (line(3, 9, "PROP", "go"), ("answered", 9.0))])
def test_an_answer_to_a_poll_answers_no_order(count: Any, lines: str, expected: tuple) -> None:
    assert said(count, lines, plan=POLLED) == expected


@pytest.mark.parametrize(("text", "expected"), [("PROP, opening vent valve 3", ("answered", 7.0)), ("PROP, in work", ("none", None))])
def test_no_caller_reads_his_own_order_back(count: Any, text: str, expected: tuple) -> None:
    """Whoever is thought to say it: the name in it is who answers."""
    assert said(count, line(2, 7, "TC>PROP", text, match="1.1:response")) == expected


@pytest.mark.parametrize(("reply", "expected"), [
    (line(2, 7, "TC", "yep"), "answered"), (line(2, 12.1, "TC", "yep"), "none"), (line(2, 7, "TC", "thank you"), "none"), (line(2, 7, "TC", "the gulls are back", "note"), "none"),
    (line(2, 7, "LOX", "yep"), "none"), (line(2, 3, "GNC>LOX", "LOX, are you on", "call") + line(3, 7, "TC", "yep"), "none")])
def test_who_answers_a_call_of_which_only_the_callers_name_was_made_out(count: Any, reply: str, expected: str) -> None:
    assert said(count, reply, call=CALL.replace("TC>PROP", ">TC").replace("PROP, TC", "TC"))[0] == expected


ALIKE = """
1.1 | T-00:30:00 | open core vent valve | by=PROP; to=TC; response_s=15
1.2 | T-00:20:00 | close the drain | by=LOX; to=TC; response_s=15
1.3 | T-00:10:00 | open dome vent valve | by=PROP; to=TC
1.4 | T-00:08:00 | open upper stage vent valve | by=PROP; to=TC
"""
ORDER = CALL.replace("open vent valve 3", "open core vent valve")


def read_back_wrong(count: Any, *lines: str) -> bool:
    return "readback_wrong" in set(count(ALIKE, "".join(lines) + ANSWERED).judge().findings["kind"])


@pytest.mark.parametrize(("text", "kind", "wrong"), [
    # two words may stand for one
    ("opening upper stage vent valve", "response", True), ("opening core vent valve", "response", False),
    # 'understands' and 'copied' accept, whatever kind of sentence it was taken for; and so do the words of the order
    ("PROP understands open dome vent valve", "report", True), ("copied, dome vent valve open", "report", True), ("PROP shows dome vent valve open", "report", False),
    ("open dome vent valve, PROP", "report", True), ("dome vent valve open, PROP", "report", False),
    # a report that says 'complete' tells of a deed, though a word of it ends in 'ing'
    ("dome vent valve opening complete", "report", False), ("dome vent valve opening", "report", True),
    # what comes next, a remark on what was
    ("coming up on open dome vent valve", "response", False), ("last time dome vent valve was slow", "note", False)])
def test_what_is_read_back_wrong(count: Any, text: str, kind: str, wrong: bool) -> None:
    assert read_back_wrong(count, ORDER, line(2, 5, "PROP>TC", text, kind)) == wrong


def test_a_call_sign_that_is_spelt_begins_no_order(count: Any) -> None:
    assert not read_back_wrong(count, ORDER.replace("PROP, TC", "PROP, T C"), line(2, 5, "PROP>TC", "T C, PROP, dome vent valve open", "report"))


@pytest.mark.parametrize(("who", "text", "kind", "wrong"), [
    ("TC>PROP", "PROP, TC, drain the dome sump", "call", True), ("TC>PROP", "PROP, TC, open dome vent valve", "call", False), ("PROP>TC", "TC, PROP, dome vent valve is slow", "report", True),
    ("PROP>TC", "TC, PROP, dome vent valve is slow", "call", True)])
def test_which_order_is_read_back(count: Any, who: str, text: str, kind: str, wrong: bool) -> None:
    """An earlier order by the word that was said is what is answered, if it is as like the answer; what the station said itself orders nothing."""
    earlier = f"net.vtt:0 | {after(-10)} | {who} | {kind} | | {text}\n"
    assert read_back_wrong(count, earlier, ORDER, line(2, 5, "PROP>TC", "opening dome vent valve")) == wrong


MANGLED = "\n".join(f"2.{k} | T-00:08:{59 - k} | check the pressure of the {w} bottle | by=LOX; to=TC" for k, w in enumerate(("north", "south", "upper", "lower", "spare", "purge", "trim", "relief", "aft", "main")))
TALK = "".join(f"net.vtt:{50 + k} | T-00:08:{59 - k} | TC>LOX | call | 2.{k}:call | chek{k} {row.split('|')[2].strip().replace('bottle', f'botel{k}')}\n" for k, row in enumerate(MANGLED.splitlines()))


@pytest.mark.parametrize(("call", "reply", "expected"), [
    # a stray 'okay' is no answer run into the order
    ("PROP, TC, open okay vent valve 3", "", "none"), ("PROP, TC, open vent okay valve 3", "", "none"), ("PROP, TC, open vent valve 3 okay", "", "answered"),
    ("PROP, TC, open vent valve 3 okay PROP", "", "answered"), ("PROP, TC, open vent valve 3 okay the vent", "", "answered"),
    # the name of the station called and hardly more answers, however late
    ("PROP, TC, open vent valve 3", line(2, 60, "PROP", "PROP, robber", "report"), "late"), ("PROP, TC, open vent valve 3", line(2, 60, "PROP", "PROP, gulls on the roof", "report"), "none"),
    ("PROP, TC, open vent valve 3", line(2, 60, "PROP", "gulls again", "report"), "none")])
def test_answers_of_a_mangled_log(count: Any, call: str, reply: str, expected: str) -> None:
    assert said(count, reply, TALK, plan=PLAN + MANGLED, call=CALL.replace("PROP, TC, open vent valve 3", call))[0] == expected
