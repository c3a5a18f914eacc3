"""Answers to calls, and read-backs."""

from __future__ import annotations

import pandas as pd
import pytest

from aftercount.findings.readback import _lost_a_word

PLAN = """
1.1 | T-00:30:00 | open vent valve 3 | by=PROP; to=TC; response_s=15; says=vent valve 3 to be cracked
1.2 | T-00:20:00 | close the drain | by=LOX; to=TC; response_s=15
1.3 | T-00:10:00 | read the gauge | by=LOX; to=TC
1.4 | T-00:09:00 | open drain valve 3 | by=PROP; to=TC; must=no
"""
ANSWERED = """
net.vtt:10 | T-00:20:00 | TC>LOX | call     | 1.2:call     | LOX, TC, close the drain
net.vtt:11 | T-00:19:56 | LOX>TC | response | 1.2:response | in work
"""


def first(r, column):
    return r.steps[column].iloc[0]


@pytest.mark.parametrize(("answers", "response", "after_s"), [
    ("net.vtt:2 | T-00:29:52 | PROP>TC | response | 1.1:response | in work", "answered", 8.0),
    ("net.vtt:2 | T-00:29:52 | PROP>TC | report | 1.1:report | valve 3 open", "answered", 8.0),
    ("net.vtt:2 | T-00:29:30 | PROP>TC | response | 1.1:response | in work", "late", 30.0),
    ("", "none", None)])
def test_answered_late_or_silent(count, answers, response, after_s):
    heard = "net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n" + answers + ANSWERED
    r = count(PLAN, heard).judge()
    assert first(r, "response") == response
    assert first(r, "response_s") == pytest.approx(after_s) if after_s else r.steps["response_s"].isna().iloc[0]
    kinds = set(r.findings.loc[r.findings["step"] == "1.1", "kind"])
    assert kinds == {"answered": set(), "late": {"response_late"}, "none": {"no_response"}}[response]


@pytest.mark.parametrize(("answer", "later", "severity"), [
    ("negative, vent valve 3 indicates closed", "", "minor"), ("unable, vent valve 3 is tagged out", "", "minor"),
    ("vent valve 3 didn't move", "net.vtt:3 | T-00:29:20 | PROP>TC | report | 1.1:report | vent valve 3 open", "note"),
    ("vent valve 3 open, negative on leaks", "", None), ("valve 3 open at a negative pressure", "", None)])
def test_a_no_is_an_answer_and_no_completion(count, answer, later, severity):
    part = "response" if later else "report"
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n"
             f"net.vtt:2 | T-00:29:52 | PROP>TC | {part} | 1.1:{part} | {answer}\n{later}\n" + ANSWERED)
    r = count(PLAN, heard).judge()
    assert (first(r, "response"), first(r, "status")) == ("answered", "done")
    assert r.findings.loc[r.findings["kind"] == "answered_no", "severity"].tolist() == ([severity] if severity else [])
    assert r.steps["completed_utc"].notna().iloc[0] == (bool(later) or severity is None)


def test_none_is_due_where_the_plan_asks_for_none(count):
    r = count(PLAN, ANSWERED + "net.vtt:20 | T-00:10:00 | TC>LOX | call | 1.3:call | read the gauge").judge().steps
    assert r["response"].isna().tolist() == [True, False, True, True]


def test_an_uncertain_clock_makes_no_answer_late(count):
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | open\n"
             "net.vtt:2 | T-00:29:42 | PROP>TC | response | 1.1:response | in work")
    assert first(count(PLAN, heard, sigma_s=2.0).judge(), "response") == "answered"
    assert first(count(PLAN, heard, sigma_s=0.5).judge(), "response") == "late"


def test_a_log_without_answers_proves_no_silence(count):
    r = count(PLAN, """
    notes.txt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | open vent valve 3
    notes.txt:2 | T-00:20:00 | TC>LOX  | call | 1.2:call | close the drain
    """).judge()
    assert r.steps["response"].isna().all()
    assert "no_response" not in set(r.findings["kind"])


@pytest.mark.parametrize(("accepted", "response"), [(True, "late"), (False, None)])
def test_a_keeper_who_leaves_acceptances_out_proves_no_late_answer(count, accepted, response):
    r = count(PLAN, f"""
    notes.txt:1 | T-00:30:00 | TC>PROP | call   | 1.1:call   | open vent valve 3
    notes.txt:2 | T-00:29:20 | PROP>TC | report | 1.1:report | vent valve 3 open
    notes.txt:3 | T-00:20:00 | TC>LOX  | call   | 1.2:call   | close the drain
    {"notes.txt:4 | T-00:19:55 | LOX>TC | response | 1.2:response | copies" if accepted else ""}
    notes.txt:5 | T-00:19:50 | LOX>TC  | report | 1.2:report | drain closed
    """).judge()
    told = first(r, "response")
    assert (None if pd.isna(told) else told) == response


def test_an_unmatched_answer_of_the_station_called_is_an_answer(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:53 | PROP>TC | response |          | roger
    """
    assert first(count(PLAN, heard).judge(), "response") == "answered"


@pytest.mark.parametrize(("answer", "found"), [
    ("TC, PROP, open vent valve 3, in work", None), ("TC, PROP, open vent valve 4, in work", "major"),
    ("TC, PROP, closing vent valve 3, in work", "major"), ("TC, PROP, in work", None), ("4 by 4", None),
    ("opening vent valve three, PROP", None), ("deploying vent valve 3", None), ("cracking vent valve 3, PROP", None), ("unlock vent valve 3, PROP", None),
    ("opening drain valve 3, PROP", "major")])
def test_read_back(count, answer, found):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 | PROP>TC | response | 1.1:response | {answer}
    """
    f = count(PLAN, heard).judge().findings
    assert f.loc[f["kind"] == "readback_wrong", "severity"].tolist() == ([found] if found else [])


@pytest.mark.parametrize(("answer", "found"), [
    ("TC, stage one, open stage one vent valve, roger", False), ("TC, stage one, open stage two vent valve, roger", True), ("Stage one, opening stage one vent valve", False),
    ("TC, stage one, open stage one vent valve, step one point four", False)])
def test_a_station_named_like_a_thing_reads_back_the_thing(count, answer, found):
    plan = """
    1.4 | T-00:30:00 | open stage 1 vent valve | by=S1; to=TC; response_s=15
    1.5 | T-00:20:00 | open stage 2 vent valve | by=S1; to=TC; response_s=15
    """
    heard = f"""
    net.vtt:1 | T-00:30:00 | TC>S1 | call     | 1.4:call     | Stage one, TC. Go for 1 dot 4, open stage one vent valve
    net.vtt:2 | T-00:29:55 | S1>TC | response | 1.4:response | {answer}
    net.vtt:3 | T-00:20:00 | TC>S1 | call     | 1.5:call     | Stage one, TC, open stage two vent valve
    """
    f = count(plan, heard, stations={"TC": (), "S1": ("stage one",)}).judge().findings
    assert ("readback_wrong" in set(f["kind"])) == found


@pytest.mark.parametrize(("one", "other", "lost"), [
    ("82", "80", True), ("80", "82", True), ("82", "2", True), ("352", "35", True), ("20", "120", True), ("82", "84", False), ("80", "90", False), ("3", "4", False), ("a", "2", False)])
def test_what_is_left_of_a_number(one, other, lost):
    assert _lost_a_word(one, other) == lost


def test_a_call_to_stand_by_for_another_step_reads_nothing_back(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 | >PROP   | response |          | PROP, stand by to open drain valve 3
    """
    assert "readback_wrong" not in set(count(PLAN, heard).judge().findings["kind"])


def test_what_repeats_the_call_word_for_word_is_right(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve one twenty
    net.vtt:2 | T-00:29:55 | PROP>TC | response | 1.1:response | TC, PROP, open vent valve one twenty
    """
    assert "readback_wrong" not in set(count(PLAN, heard).judge().findings["kind"])


@pytest.mark.parametrize(("remark", "response"), [("somebody left a headset in the van", "none"), ("valve 3 took its time", "answered")])
def test_talk_of_nobody_known_well_after_the_call_is_no_answer(count, remark, response):
    plan = PLAN.replace("response_s=15; says", "response_s=60; says")
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:3 | T-00:29:20 | >       | note     | 1.1:response | {remark}
    """
    assert first(count(plan, heard).judge(), "response") == response


@pytest.mark.parametrize(("answer", "timing"), [("PROP>TC | response |  | roger", "early"), ("LOX>TC | response |  | roger", "on_time"), (">      | note     |  | somebody left a headset", "on_time")])
def test_an_early_order_that_was_accepted_began_the_step(count, answer, timing):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:25 | TC>PROP | call   | 1.1:call   | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:30:20 | {answer}
    net.vtt:3 | T-00:29:56 | PROP>TC | report | 1.1:report | TC, PROP, vent valve 3 open
    """
    assert first(count(PLAN, heard).judge(), "timing") == timing


def test_a_wrong_read_back_is_quoted_as_it_was_said(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve three
    net.vtt:2 | T-00:29:55 | PROP>TC | response |          | closing vent valve three, PROP
    """
    f = count(PLAN, heard).judge().findings
    text = f.loc[f["kind"] == "readback_wrong", "text"].iloc[0]
    assert "said 'closing' where the call said 'open'" in text


@pytest.mark.parametrize(("at", "found"), [("T-00:29:55", True), ("T-00:20:02", False)])
def test_what_alone_tells_of_another_step_off_its_time_was_a_wrong_read_back(count, at, found):
    plan = "1.1 | T-00:30:00 | open vent valve 3 | by=PROP; to=TC\n1.2 | T-00:25:00 | arm the tracker | by=PROP\n1.3 | T-00:20:00 | open vent valve 4 | by=PROP; to=TC"
    called = "T-00:30:00" if found else "T-00:20:05"
    r = count(plan, f"""
    net.vtt:1 | {called} | TC>PROP | call   | 1.1:call   | PROP, TC, open vent valve 3
    net.vtt:2 | {at} | PROP>TC | report | 1.3:report | PROP, opening vent valve 4
    net.vtt:3 | T-00:25:00 | PROP>TC | report | 1.2:report | tracker armed
    """).judge()
    assert ("readback_wrong" in set(r.findings["kind"])) == found
    assert not r.steps.set_index("step").loc["1.3", "out_of_order"]


def test_a_corrected_read_back_is_only_worth_a_note(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 | PROP>TC | response | 1.1:response | TC, PROP, open vent valve 4
    net.vtt:3 | T-00:29:50 | TC>PROP | note     |              | negative, valve 3
    """
    f = count(PLAN, heard).judge().findings
    assert f.loc[f["kind"] == "readback_wrong", "severity"].tolist() == ["note"]


def test_an_unmatched_acceptance_comes_before_a_matched_report(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call   | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:53 | PROP>TC | response |            | roger
    net.vtt:3 | T-00:29:20 | PROP>TC | report   | 1.1:report | vent valve 3 open
    """
    r = count(PLAN, heard).judge()
    assert (first(r, "response"), first(r, "response_s")) == ("answered", pytest.approx(7.0))


def test_nobody_answers_his_own_call_and_no_machine_answers(count):
    heard = ANSWERED + """
    net.vtt:1   | T-00:30:00 | TC>PROP | call   | 1.1:call   | PROP, TC, open vent valve 3
    seq.log:2   | T-00:29:57 |         | report | 1.1:record | VENT VALVE 3 OPEN
    net.vtt:3   | T-00:29:50 | TC>PROP | report | 1.1:report | vent valve 3 shows open
    """
    assert first(count(PLAN, heard).judge(), "response") == "none"


@pytest.mark.parametrize(("after_s", "response"), [(4, "answered"), (40, "late")])
def test_an_answer_by_a_voice_nobody_could_name(count, after_s, response):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00           | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:{60 - after_s} |         | response |          | roger
    """
    assert first(count(PLAN, heard).judge(), "response") == response


@pytest.mark.parametrize(("answer", "response"), [
    ("|      | note | | on it", "answered"), ("| PROP>TC | call | | aye aye", "answered"),
    ("| PROP>LOX | call | | LOX, PROP, how is your line", "none"),
    ("|      | mark | | T minus 29 minutes 50", "none"), ("|  | note | | the visitors are in the gallery by now", "none")])
def test_answers_of_no_known_form(count, answer, response):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 {answer}
    """
    assert first(count(PLAN, heard).judge(), "response") == response


def test_the_first_answer_counts_though_a_later_one_was_matched(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:56 | PROP>TC | report   | 1.1:report   | opening vent valve 3, PROP
    net.vtt:3 | T-00:29:20 | TC>PROP | response | 1.1:response | thanks
    """
    assert first(count(PLAN, heard).judge(), "response_s") == pytest.approx(4.0)


@pytest.mark.parametrize(("between", "response"), [("", "late"), ("net.vtt:3 | T-00:29:30 | TC>LOX | call | 1.3:call | LOX, TC, read the gauge", "none")])
def test_a_slow_answer_by_a_voice_nobody_could_name(count, between, response):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve 3
    {between}
    net.vtt:4 | T-00:29:32 |         | response |          | working
    """
    assert first(count(PLAN.replace("response_s=15; says", "response_s=20; says"), heard).judge(), "response") == response


def test_an_answer_in_another_steps_words_is_still_the_answer(count):
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:56 | PROP>TC | response | 1.4:response | opening drain valve 3, PROP
    net.vtt:3 | T-00:09:00 | TC>PROP | call     | 1.4:call     | PROP, TC, open drain valve 3
    """
    assert first(count(PLAN, heard).judge(), "response") == "answered"


LONG_PLAN = PLAN + "\n".join(f"2.{k} | T-00:08:{59 - k} | check the pressure of the {w} bottle | by=LOX; to=TC"
                             for k, w in enumerate(("north", "south", "upper", "lower", "spare", "purge", "trim", "relief", "aft", "main")))


@pytest.mark.parametrize(("garbled", "remark", "response"), [
    (True, "their visitors in gallery now", "answered"), (False, "their visitors in gallery now", "none"), (True, "the visitors are in the gallery by now", "none"),
    (True, "the visitors in the gallery went by the valve", "answered")])
def test_a_mangled_sentence_is_no_silence_in_a_mangled_log(count, garbled, remark, response):
    """The same odd remark by nobody knows whom: in clear talk it answers nothing, in mangled talk it is the answer misheard, if it is as short as an answer
    or has a word of the order."""
    talk = [(f"2.{k}", line.split("|")[2].strip()) for k, line in enumerate(LONG_PLAN.splitlines()[-10:])]
    said = [words.replace("check", f"chek{step[-1]}").replace("bottle", f"botel{step[-1]}") if garbled else words for step, words in talk]
    heard = ANSWERED + """
    net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 |         | note |          | """ + remark + "\n" + "\n".join(f"net.vtt:{20 + k} | T-00:08:{59 - k} | TC>LOX | call | {step}:call | {words}"
                    for k, ((step, _), words) in enumerate(zip(talk, said, strict=True)))
    assert first(count(LONG_PLAN, heard).judge(), "response") == response


def test_an_answer_run_into_its_call_in_a_mangled_log(count):
    talk = [(f"2.{k}", line.split("|")[2].strip()) for k, line in enumerate(LONG_PLAN.splitlines()[-10:])]
    more = "\n".join(f"net.vtt:{20 + k} | T-00:08:{59 - k} | TC>LOX | call | {step}:call | chek{k} {words.replace('bottle', f'botel{k}')}"
                     for k, (step, words) in enumerate(talk))
    heard = ANSWERED + "net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | prop tc open vent valve 3 {}\n" + more
    assert first(count(LONG_PLAN, heard.format("copy opening vint balve 3")).judge(), "response") == "answered"
    assert first(count(LONG_PLAN, heard.format("")).judge(), "response") == "none"


@pytest.mark.parametrize(("who", "answer", "found"), [
    ("      ", "propulsion, closing vent valve 3", "major"), (">PROP", "closing vent valve 3", "major"),
    ("LOX", "closing vent valve 3", None), ("PROP>TC", "cracking drain valve 3", "major")])
def test_a_read_back_in_the_stations_own_name(count, who, answer, found):
    heard = ANSWERED + f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 | {who}   | response |          | {answer}
    """
    f = count(PLAN, heard).judge().findings
    assert f.loc[f["kind"] == "readback_wrong", "severity"].tolist() == ([found] if found else [])


@pytest.mark.parametrize("asked", ["did you get that", "you with me, propulsion", "how copy", "Propulsion, where are we with that?", "And?"])
def test_who_asks_again_answers_nothing(count, asked):
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n"
             f"net.vtt:2 | T-00:29:52 | | note | | {asked}\n" + ANSWERED)
    assert first(count(PLAN, heard).judge(), "response") == "none"


OWN_WORDS = """
1.1 | T-00:30:00 | vent the left basin | by=PROP; to=TC
1.2 | T-00:20:00 | fill basin a | by=LOX; to=TC
1.3 | T-00:15:00 | fill basin b | by=LOX; to=TC
"""


@pytest.mark.parametrize(("answer", "after", "found"), [
    ("copy, air the kettle", "negative, jug. air the jug", True), ("copy, air the kettle", "no, that's jug, not kettle", True),
    ("copy, air the kettle", "say again? I said air the jug", True), ("copy, air the kettle", "thank you", False),
    ("copy, air the kettle", "no issues with the jug here", False), ("copy, air the jug", "negative, jug. air the jug", False)])
def test_what_the_caller_puts_right_at_once_was_read_back_wrong(count, answer, after, found):
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, air the jug\n"
             f"net.vtt:2 | T-00:29:56 | PROP>TC | response | | {answer}\nnet.vtt:3 | T-00:29:51 | TC>PROP | note | | {after}\n")
    assert ("readback_wrong" in set(count(OWN_WORDS, heard).judge().findings["kind"])) == found


@pytest.mark.parametrize(("answer", "found"), [("roger, basin b open to fill", True), ("roger, basin a open to fill", False), ("roger, a basin to fill", False)])
def test_an_a_among_things_named_by_letters_is_a_name(count, answer, found):
    heard = ("net.vtt:1 | T-00:20:00 | TC>LOX | call | 1.2:call | LOX, TC, basin a open to fill\n"
             f"net.vtt:2 | T-00:19:56 | LOX>TC | response | | {answer}\n")
    assert ("readback_wrong" in set(count(OWN_WORDS, heard).judge().findings["kind"])) == found


def test_an_acceptance_tells_of_no_deed_done(count):
    heard = ("net.vtt:1 | T-00:20:00 | TC>LOX | call | 1.2:call | LOX, TC, basin a open to fill\n"
             "net.vtt:2 | T-00:19:56 | LOX>TC | report | | copy, basin a closed to fill\n")
    assert "readback_wrong" in set(count(OWN_WORDS, heard).judge().findings["kind"])


@pytest.mark.parametrize(("said", "response"), [("okay, the gauge is read", "none"), ("okay, she is as we want her", "answered"), ("okay, valve 3 is cracked", "answered")])
def test_what_a_nameless_voice_tells_of_another_step_later_on_is_no_answer(count, said, response):
    plan = PLAN.replace("response_s=15", "response_s=60")
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n"
             f"net.vtt:2 | T-00:29:35 | | response | | {said}\n" + ANSWERED)
    assert first(count(plan, heard).judge(), "response") == response


@pytest.mark.parametrize(("said", "response"), [("she is cracked, valve and all", "answered"), ("vent's wide", "answered"), ("somebody left the lamp on", "none")])
def test_what_a_nameless_voice_reports_of_the_step_later_on_answers(count, said, response):
    plan = PLAN.replace("response_s=15", "response_s=60")
    heard = ("net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n"
             f"net.vtt:2 | T-00:29:35 | | report | | {said}\n" + ANSWERED)
    assert first(count(plan, heard).judge(), "response") == response
