"""What a reader of the tables relies on, to the word and the figure: every column of a small count, and every sentence of a finding.

Right answers are worked out by hand from the count's text: a hold of five minutes moves what is due after it by 300 s, and so on.
"""

from __future__ import annotations

import pandas as pd
import pytest

from aftercount.findings.words import likely, said, short

T0 = pd.Timestamp("2031-04-19T14:30:00Z")


def at(s: float) -> pd.Timestamp:
    return T0 + pd.Timedelta(seconds=s)


def plain(row: pd.Series) -> dict:
    return {k: None if not isinstance(v, list) and pd.isna(v) else v for k, v in row.items()}


def told(r, *kinds: str) -> list[tuple[str, str | None, str, str]]:
    rows = r.findings[["kind", "step", "severity", "text"]].itertuples(index=False, name=None)
    return [(k, None if pd.isna(s) else s, sev, text) for k, s, sev, text in rows if not kinds or k in kinds]


PLAN = """
1.1 | T-00:30:00 | open the LOX vent | by=PROP; to=TC; response_s=15; phase=fill; console=7; early_s=5; late_s=20
1.2 | T-00:20:00 | start the fill pump | by=LOX; to=TC; after=1.1; must=no
1.3 | T-00:10:00 | arm the recorder | by=LOX
1.4 | T-00:05:00 | transfer to internal power | by=PROP; phase=arm
1.5 | T-00:01:00 | start the sequencer | by=SEQ
"""
HEARD = """
net.vtt:3 | T-00:29:58 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent
net.vtt:4 | T-00:29:55 | PROP>TC | response | 1.1:response | in work
net.vtt:5 | T-00:29:40 | PROP>TC | report   | 1.1:report   | LOX vent open
seq.log:9 | T-00:09:15 |         | report   | 1.3:record   | RECORDER ARM
"""
NOTHING = {"actual_utc": None, "actual_t_s": None, "deviation_s": None, "timing": None, "response_s": None, "response": None, "event": None,
           "source": None, "line": None, "deviation_sigma_s": None, "response_event": None, "completed_utc": None}


@pytest.fixture
def small(count, hold):
    return count(PLAN, HEARD, holds=[hold(-900.0, 300.0)], end_s=-120.0, outcome="scrub").judge()


def test_every_column_of_a_step_that_was_called_accepted_and_reported(small) -> None:
    assert plain(small.steps.iloc[0]) == {
        "step": "1.1", "pass": 1, "phase": "fill", "action": "open the LOX vent", "by": "PROP", "planned_t_s": -1800.0,
        "planned_utc": at(-1800), "due_utc": at(-1800), "actual_utc": at(-1798), "actual_t_s": -1798.0, "deviation_s": 2.0, "status": "done",
        "timing": "on_time", "out_of_order": False, "violates": [], "times_seen": 1, "response_s": 3.0, "response": "answered",
        "confidence": 0.98, "review": False, "decided": False, "event": 0, "source": "net.vtt", "line": 3,
        "evidence": "TC called at T-00:29:58: 'PROP, TC, open the LOX vent' (net.vtt:3); PROP accepted 3 s later: 'in work' (net.vtt:4); "
                    "PROP reported 18 s later: 'LOX vent open' (net.vtt:5)",
        "deviation_sigma_s": pytest.approx((0.1**2 + 0.05**2) ** 0.5), "early_s": 5.0, "late_s": 20.0, "kind": "step", "to": "TC", "must": True,
        "response_event": 1, "completed_utc": at(-1780), "plan_line": 2, "console": "7"}


def test_every_column_of_a_step_that_a_machine_alone_recorded_after_a_hold(small) -> None:
    assert plain(small.steps.iloc[2]) == {
        "step": "1.3", "pass": 1, "phase": None, "action": "arm the recorder", "by": "LOX", "planned_t_s": -600.0, "planned_utc": at(-600),
        "due_utc": at(-300), "actual_utc": at(-255), "actual_t_s": -555.0, "deviation_s": 45.0, "status": "done", "timing": "late",
        "out_of_order": False, "violates": [], "times_seen": 1, "response_s": None, "response": None, "confidence": 0.98, "review": False,
        "decided": False, "event": 3, "source": "seq.log", "line": 9, "evidence": "recorded at T-00:09:15: 'RECORDER ARM' (seq.log:9)",
        "deviation_sigma_s": pytest.approx((0.1**2 + 0.05**2) ** 0.5), "early_s": 10.0, "late_s": 10.0, "kind": "step", "to": None, "must": True,
        "response_event": None, "completed_utc": at(-255), "plan_line": 4, "console": None}


@pytest.mark.parametrize(("row", "expected"), [
    (1, {"step": "1.2", "status": "skipped", "evidence": "optional, not seen", "must": False, "due_utc": at(-1200), "confidence": 0.98, "plan_line": 3,
         "by": "LOX", "to": "TC"}),
    (3, {"step": "1.4", "status": "missed", "evidence": "not seen in any log", "must": True, "due_utc": at(0), "confidence": 0.98, "phase": "arm"}),
    (4, {"step": "1.5", "status": "not_reached", "evidence": "the count did not reach it", "due_utc": None, "planned_utc": at(-60), "confidence": 0.99})])
def test_a_step_that_was_not_seen_has_no_time_and_says_why(small, row: int, expected: dict) -> None:
    got = plain(small.steps.iloc[row])
    assert {k: got[k] for k in (*expected, *NOTHING)} == expected | NOTHING
    assert (got["times_seen"], got["out_of_order"], got["violates"]) == (0, False, [])


def test_every_column_of_the_findings_in_their_order(small) -> None:
    assert [tuple(plain(r).values()) for _, r in small.findings.iterrows()] == [
        (1, "outcome", None, None, None, "major", "The count was scrubbed at 2031-04-19T14:33:00Z.", None, None, None, False),
        (2, "hold_unplanned", None, 1, 300.0, "major", "Unplanned hold of 5 min at T-00:15:00.", None, None, None, False),
        (3, "missed", "1.4", 1, None, "major", "Step 1.4 (transfer to internal power) was not seen in any log; it was due at T-00:05:00; "
                                              "98 % likely that it was not said.", None, None, None, False),
        (4, "late", "1.3", 1, 45.0, "minor", "Step 1.3 (arm the recorder) was begun 45 s late on the count clock; due T-00:10:00, 10 s allowed.",
         3, "seq.log", 9, False)]


@pytest.mark.parametrize(("seconds", "words"), [
    (0.0, "0 s"), (4.5, "4.5 s"), (-4.54, "4.5 s"), (9.94, "9.9 s"), (9.96, "10 s"), (42.4, "42 s"), (59.4, "59 s"), (59.6, "1 min"), (60.0, "1 min"),
    (138.0, "2 min 18 s"), (-61.0, "1 min 01 s"), (3599.0, "59 min 59 s"), (3600.0, "1 h 00 min"), (3911.0, "1 h 05 min 11 s"), (7205.0, "2 h 00 min 05 s"),
    (36060.0, "10 h 01 min")])
def test_durations_are_said_as_people_say_them(seconds: float, words: str) -> None:
    assert said(seconds) == words


@pytest.mark.parametrize(("confidence", "words"), [(0.78, "78 % likely"), (0.994, "99 % likely"), (0.995, "over 99 % likely"), (1.0, "over 99 % likely")])
def test_nothing_estimated_is_said_to_be_certain(confidence: float, words: str) -> None:
    assert likely(confidence) == words


def test_a_long_quote_is_cut_at_seventy_characters() -> None:
    assert short("a" * 70) == "a" * 70
    assert short("a" * 71) == "a" * 69 + "…"
    assert short("a" * 68 + " bcd") == "a" * 68 + "…"


STEP = "1.1 | T-00:30:00 | open the LOX vent | by=PROP; to=TC\n"
CALL = "net.vtt:1 | {} | TC>PROP | call | 1.1:call | PROP, TC, open the LOX vent\n"
NAMED = "Step 1.1 (open the LOX vent)"


@pytest.mark.parametrize(("when", "more", "expected"), [
    ("T-00:29:48", {}, ("late", "minor", f"{NAMED} was begun 12 s late on the count clock; due T-00:30:00, 10 s allowed.")),
    ("T-00:30:15", {"early": 5}, ("early", "minor", f"{NAMED} was begun 15 s early on the count clock; due T-00:30:00, 5 s allowed.")),
    ("T-00:28:50", {}, ("late", "minor", f"{NAMED} was begun 1 min 10 s late on the count clock; due T-00:30:00, 10 s allowed.")),
    ("T-00:28:49", {}, ("late", "major", f"{NAMED} was begun 1 min 11 s late on the count clock; due T-00:30:00, 10 s allowed.")),
    ("T-00:31:11", {}, ("early", "major", f"{NAMED} was begun 1 min 11 s early on the count clock; due T-00:30:00, 10 s allowed.")),
    ("T-00:29:40", {"sure": 0.79}, ("late", "note", f"{NAMED} was begun 20 s late on the count clock; due T-00:30:00, 10 s allowed. "
                                                    "Whether that was this step is doubtful: 79% sure.")),
    ("T-00:29:40", {"sure": 0.8}, ("late", "minor", f"{NAMED} was begun 20 s late on the count clock; due T-00:30:00, 10 s allowed.")),
])
def test_how_late_and_how_early_are_told(count, when: str, more: dict, expected: tuple[str, str, str]) -> None:
    plan = STEP.replace("to=TC", f"to=TC; early_s={more.get('early', 10)}")
    r = count(plan, CALL.format(when), verdicts={"1.1": {"confidence": more.get("sure", 0.98)}}).judge()
    assert [(k, sev, text) for k, _, sev, text in told(r)] == [expected]


@pytest.mark.parametrize(("into", "text"), [
    (150, "Step 2.1 (poll the team) was begun 30 s after the built-in hold's plan; due T-00:09:00, 10 s allowed."),
    (95, "Step 2.1 (poll the team) was begun 25 s before the built-in hold's plan; due T-00:09:00, 10 s allowed."), (130, None)])
def test_in_a_built_in_hold_the_holds_plan_is_what_a_step_is_held_to(count, hold, into: int, text: str | None) -> None:
    plan = "2.0 | T-00:09:00 | built-in hold | kind=hold; duration_s=600\n2.1 | T-00:09:00 | poll the team | into_hold_s=120"
    r = count(plan, f"net.vtt:1 | T-00:09:00 +{into} | TC | call | 2.1:call | poll", holds=[hold(-540.0, 600.0, 600.0)]).judge()
    assert [t for *_, t in told(r)] == ([text] if text else [])


def test_a_step_is_as_sure_as_what_began_it_and_a_person_looks_at_the_least_sure(count) -> None:
    """Twenty-five steps, so two to look at: one begun by a doubtful line, though its report is sure, and one not seen. What is decided is not looked at."""
    plan = "".join(f"{n} | T-00:{50 - n}:00 | act {n} | by=PROP; to=TC\n" for n in range(1, 26))
    heard = "".join(f"net.vtt:{n} | T-00:{50 - n}:00 | TC>PROP | call | {n}:call | act {n}\n" for n in range(1, 25)) + "net.vtt:30 | T-00:48:52 | PROP>TC | report | 1:report | act 1 done\n"
    begins = {(str(n), n - 1): 0.97 for n in range(1, 25)} | {("1", 0): 0.5, ("1", 24): 0.99, ("2", 1): 0.1}
    got = count(plan, heard, begins=begins, verdicts={"2": {"decided": True, "confidence": 1.0}, "25": {"confidence": 0.7}}).judge().steps.set_index("step")
    assert got["confidence"].to_dict() == {str(n): 0.97 for n in range(3, 25)} | {"1": 0.5, "2": 1.0, "25": 0.7}
    assert got.index[got["review"]].tolist() == ["1", "25"]


def test_a_step_that_no_log_reaches_is_a_note_and_says_so(count) -> None:
    plan = "1.1 | T-00:30:00 | open the LOX vent | by=PROP\n1.2 | T-00:10:00 | close the LOX vent | by=PROP\n1.3 | T+00:05:00 | vent the tank | by=PROP\n"
    heard = "net.vtt:1 | T-00:30:00 | PROP> | report | 1.1:report | LOX vent open\n"
    made = count(plan, heard, end_s=60.0)
    due = made._due
    made._due = lambda p, c: due(p, c).assign(reached=True)
    r = made.judge()
    assert r.steps["status"].tolist() == ["done", "missed", "missed"] and r.steps["evidence"].tolist()[1:] == ["not seen in any log", "the logs had ended when it was due"]
    assert [(f["step"], f["severity"], f["text"]) for f in r.findings.to_dict("records")] == [
        ("1.2", "major", "Step 1.2 (close the LOX vent) was not seen in any log; it was due at T-00:10:00; 98 % likely that it was not said."),
        ("1.3", "note", "Step 1.3 (vent the tank) was due at T+00:05:00, after the last line of the logs; whether it was done is not known.")]


def test_in_a_recycled_count_the_pass_is_told_with_every_finding(count, hold) -> None:
    plan = STEP.replace("to=TC", "to=TC; response_s=15") + (
        "1.2 | T-00:28:00 | start the pump | by=LOX; to=TC; after=1.3\n1.3 | T-00:26:00 | test the igniter | by=LOX; to=TC\n"
        "1.4 | T-00:24:00 | arm the recorder | by=LOX; to=TC\n")
    heard = """
    net.vtt:1 | T-00:30:00    | TC>PROP | call     | 1.1:call     | open the LOX vent
    net.vtt:2 | T-00:29:55    | PROP>TC | response | 1.1:response | in work
    net.vtt:3 | T-00:29:30 #2 | TC>PROP | call     | 1.1:call     | open the LOX vent
    net.vtt:4 | T-00:29:00 #2 | PROP>TC | response | 1.1:response | in work
    net.vtt:5 | T-00:28:00 #2 | TC>LOX  | call     | 1.2:call     | start the pump
    net.vtt:6 | T-00:26:00 #2 | TC>LOX  | call     | 1.3:call     | test the igniter
    """
    r = count(plan, heard, holds=[hold(-1770.0, 60.0, recycle_to_s=-1900.0)], end_s=-1400.0, verdicts={"1.3": {"times_seen": 2}}).judge()
    assert told(r) == [
        ("recycle", None, "major", "Unplanned hold of 1 min at T-00:29:30. The count was recycled from T-00:29:30 to T-00:31:40; "
                                   "steps from there on were due again."),
        ("after_violated", "1.2", "major", "Step 1.2 (start the pump) was begun before 1.3, which had to come first in pass 2."),
        ("missed", "1.4", "major", "Step 1.4 (arm the recorder) was not seen in any log in pass 2; it was due at T-00:24:00; "
                                   "98 % likely that it was not said."),
        ("late", "1.1", "minor", "Step 1.1 (open the LOX vent) was begun 30 s late on the count clock in pass 2; due T-00:30:00, 10 s allowed."),
        ("response_late", "1.1", "note", "PROP answered the call for step 1.1 (open the LOX vent) after 30 s in pass 2; 15 s allowed."),
        ("repeated", "1.3", "note", "Step 1.3 (test the igniter) was done 2 times in pass 2.")]


ASKED = STEP.replace("to=TC", "to=TC; response_s=15") + "1.2 | T-00:20:00 | close the drain | by=LOX; to=TC; response_s=15\n"
ANSWERED = """
net.vtt:10 | T-00:20:00 | TC>LOX | call     | 1.2:call     | LOX, TC, close the drain
net.vtt:11 | T-00:19:56 | LOX>TC | response | 1.2:response | in work
"""


@pytest.mark.parametrize(("answers", "expected"), [
    ("", [("no_response", "minor", f"No answer from PROP to the call for step {NAMED[5:]} was heard; one was due within 15 s.", 1)]),
    ("net.vtt:2 | T-00:29:00 | PROP>TC | response | 1.1:response | in work",
     [("response_late", "note", f"PROP answered the call for step {NAMED[5:]} after 1 min; 15 s allowed.", 2)]),
    ("net.vtt:2 | T-00:29:52 | PROP>TC | report | 1.1:report | unable, the LOX vent is tagged out",
     [("answered_no", "minor", f"PROP answered the call for step {NAMED[5:]} with a no: 'unable, the LOX vent is tagged out'.", 2)]),
    ("net.vtt:2 | T-00:29:52 | PROP>TC | response | 1.1:response | unable, the LOX vent is tagged out\n"
     "net.vtt:3 | T-00:29:20 | PROP>TC | report | 1.1:report | LOX vent open",
     [("answered_no", "note", f"PROP answered the call for step {NAMED[5:]} with a no: 'unable, the LOX vent is tagged out'; it was reported done after that.", 2)]),
])
def test_how_answers_are_told_and_which_line_they_cite(count, answers: str, expected: list) -> None:
    r = count(ASKED, CALL.format("T-00:30:00") + answers + ANSWERED).judge()
    assert [(*row, line) for row, line in zip([(k, sev, t) for k, _, sev, t in told(r)], r.findings["line"].tolist(), strict=True)] == expected


@pytest.mark.parametrize(("more", "severity", "ending"), [
    ("", "major", ", and nobody put it right."), ("net.vtt:3 | T-00:29:50 | TC>PROP | note | | negative, open", "note", "; it was put right.")])
def test_how_a_wrong_read_back_is_told(count, more: str, severity: str, ending: str) -> None:
    heard = f"""
    net.vtt:1 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open vent valve 3
    net.vtt:2 | T-00:29:55 | PROP>TC | response | 1.1:response | closing vent valve 3, PROP
    {more}
    """
    r = count("1.1 | T-00:30:00 | open vent valve 3 | by=PROP; to=TC", heard).judge()
    assert told(r) == [("readback_wrong", "1.1", severity, f"The read-back of step 1.1 (open vent valve 3) said 'closing' where the call said 'open'{ending}")]
    assert r.findings["line"].tolist() == [2]


def test_a_station_the_plan_does_not_name_is_the_station_called(count) -> None:
    plan = "1.1 | T-00:30:00 | open the LOX vent | response_s=15\n" + ASKED.splitlines()[1]
    r = count(plan, CALL.format("T-00:30:00") + "net.vtt:2 | T-00:29:10 | PROP | response | 1.1:response | in work" + ANSWERED).judge()
    assert told(r) == [("response_late", "1.1", "note", "The station called answered the call for step 1.1 (open the LOX vent) after 50 s; 15 s allowed.")]
    r = count(plan, CALL.format("T-00:30:00") + ANSWERED).judge()
    assert told(r) == [("no_response", "1.1", "minor", "No answer from the station called to the call for step 1.1 (open the LOX vent) was heard; one was due within 15 s.")]


def test_a_reviewers_decision_is_told_in_place_of_a_likelihood(count) -> None:
    r = count(STEP, "net.vtt:1 | T-00:30:00 | TC | note | | hello", verdicts={"1.1": {"decided": True, "confidence": 1.0}}).judge()
    assert told(r) == [("missed", "1.1", "major", f"{NAMED} was not seen in any log; it was due at T-00:30:00; a reviewer's decision.")]
    assert r.findings["decided"].tolist() == [True]


def test_a_step_out_of_order_and_two_steps_that_had_to_come_first(count) -> None:
    plan = ("1.1 | T-00:30:00 | open the LOX vent\n1.2 | T-00:28:00 | start the pump | after=1.1 1.3\n1.3 | T-00:27:50 | test the igniter\n"
            "1.4 | T-00:20:00 | arm the recorder\n1.5 | T-00:18:00 | close the drain\n1.6 | T-00:16:00 | cool the line\n")
    heard = """
    net.vtt:1 | T-00:28:00 | TC | call | 1.2:call | start the pump
    net.vtt:2 | T-00:27:50 | TC | call | 1.3:call | test the igniter
    net.vtt:3 | T-00:27:00 | TC | call | 1.1:call | open the LOX vent
    net.vtt:4 | T-00:18:00 | TC | call | 1.5:call | close the drain
    net.vtt:5 | T-00:16:00 | TC | call | 1.6:call | cool the line
    net.vtt:6 | T-00:15:00 | TC | call | 1.4:call | arm the recorder
    """
    r = count(plan, heard).judge()
    assert [x for x in told(r) if x[0] != "late"] == [
        ("after_violated", "1.2", "major", "Step 1.2 (start the pump) was begun before 1.1 and 1.3, which had to come first; 1.1 left the planned order."),
        ("out_of_order", "1.4", "minor", "Step 1.4 (arm the recorder) was done out of its planned order.")]
    assert r.steps["violates"].tolist() == [[], ["1.1", "1.3"], [], [], [], []]


def test_where_several_logs_have_one_moment_the_evidence_names_them_all(count) -> None:
    heard = """
    net.vtt:3   | T-00:30:00 | TC>PROP | call   | 1.1:call   | PROP, TC, open the LOX vent
    notes.txt:7 | T-00:29:59 | TC>PROP | call   | 1.1:call   | open LOX vent
    seq.log:4   | T-00:30:02 |         | report | 1.1:record | LOX VENT OPEN
    """
    r = count(STEP, heard).judge().steps.iloc[0]
    assert r["evidence"] == ("TC called at T-00:30:00: 'PROP, TC, open the LOX vent' (net.vtt:3); also at notes.txt:7; "
                             "recorded 2 s before: 'LOX VENT OPEN' (seq.log:4)")
    assert (r["completed_utc"], r["line"]) == (at(-1802), 3)
