"""Begun time, deviation, status and timing of steps on hand-made counts."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from aftercount.findings.steps import timed

PLAN = """
1.1 | T-00:30:00 | open the LOX vent | by=PROP; to=TC
1.2 | T-00:20:00 | start the fill pump | by=PROP; to=TC
1.3 | T-00:10:00 | arm the recorder | by=LOX; must=no
1.4 | T-00:05:00 | transfer to internal power | by=PROP
"""


def row(steps, step, in_pass=1):
    return steps[(steps["step"] == step) & (steps["pass"] == in_pass)].iloc[0]


def test_the_call_begins_a_step_and_the_completion_ends_it(count):
    r = count(PLAN, """
    net.vtt:3 | T-00:29:58 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent
    net.vtt:4 | T-00:29:55 | PROP>TC | response | 1.1:response | in work
    net.vtt:5 | T-00:29:40 | PROP>TC | report   | 1.1:report   | LOX vent open
    """).judge().steps
    got = row(r, "1.1")
    assert (got["status"], got["timing"], got["source"], got["line"]) == ("done", "on_time", "net.vtt", 3)
    assert got["deviation_s"] == pytest.approx(2.0)
    assert (got["completed_utc"] - got["actual_utc"]).total_seconds() == pytest.approx(18.0)


@pytest.mark.parametrize(("parts", "line"), [
    (("call", "record", "response", "report"), 1), (("record", "response", "report"), 2),
    (("response", "report"), 3), (("report",), 4)])
def test_without_a_call_the_record_then_the_acceptance_then_the_report_begins_it(count, parts, line):
    lines = {
        "call": "net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | open it",
        "record": "seq.log:2 | T-00:29:59 | | report | 1.1:record | LOX VENT OPEN",
        "response": "net.vtt:3 | T-00:29:58 | PROP | response | 1.1:response | in work",
        "report": "net.vtt:4 | T-00:29:57 | PROP | report | 1.1:report | it is open"}
    r = count(PLAN, "\n".join(lines[p] for p in parts)).judge().steps
    assert row(r, "1.1")["line"] == line


def test_the_surest_of_several_logs_gives_the_time_of_one_moment(count):
    r = count(PLAN, """
    notes.txt:7 | T-00:29:58 | TC>PROP | call | 1.1:call | open LOX vent
    net.vtt:3   | T-00:30:01 | TC>PROP | call | 1.1:call | PROP, TC, open the LOX vent
    """, sigmas={"notes.txt": 5.0, "net.vtt": 0.5}).judge().steps
    got = row(r, "1.1")
    assert (got["source"], got["deviation_s"]) == ("net.vtt", pytest.approx(-1.0))
    assert "also at notes.txt:7" in got["evidence"]


def test_a_call_long_after_the_record_did_not_begin_the_step(count):
    r = count(PLAN, """
    seq.log:2 | T-00:30:00 |         | report | 1.1:record | LOX VENT OPEN
    net.vtt:9 | T-00:22:00 | TC>PROP | call   | 1.1:call   | PROP, you did open the LOX vent
    """).judge().steps
    assert row(r, "1.1")["source"] == "seq.log"


def test_a_hold_does_not_make_later_steps_late(count, hold):
    r = count(PLAN, """
    net.vtt:1 | T-00:20:00 | TC>PROP | call | 1.2:call | start the fill pump
    """, holds=[hold(-1500.0, 2402.0)]).judge().steps
    got = row(r, "1.2")
    assert (got["deviation_s"], got["timing"]) == (pytest.approx(0.0), "on_time")
    assert (got["actual_utc"] - got["planned_utc"]).total_seconds() == pytest.approx(2402.0)


def test_inside_a_built_in_hold_the_wall_clock_counts(count, hold):
    plan = """
    2.0 | T-00:09:00 | built-in hold | kind=hold; duration_s=600
    2.1 | T-00:09:00 | poll the stations | into_hold_s=120
    """
    r = count(plan, "net.vtt:1 | T-00:09:00 +150 | TC | call | 2.1:call | poll",
              holds=[hold(-540.0, 600.0, 600.0)]).judge().steps
    got = row(r, "2.1")
    assert (got["deviation_s"], got["timing"], got["actual_t_s"]) == (pytest.approx(30.0), "late", -540.0)


@pytest.mark.parametrize(("at", "sigma", "timing"), [
    ("T-00:29:49", 0.1, "late"), ("T-00:29:49", 1.0, "on_time"), ("T-00:30:11", 0.1, "early"),
    ("T-00:30:11", 1.0, "on_time"), ("T-00:29:50", 0.001, "on_time"), ("T-00:29:30", 4.0, "late"),
    ("T-00:29:30", 11.0, "on_time")])
def test_nothing_is_flagged_that_its_uncertainty_explains(count, at, sigma, timing):
    r = count(PLAN, f"net.vtt:1 | {at} | TC>PROP | call | 1.1:call | open", sigma_s=sigma).judge()
    assert row(r.steps, "1.1")["timing"] == timing
    assert (timing in set(r.findings["kind"])) == (timing != "on_time")


def test_statuses_of_what_was_not_seen(count):
    r = count(PLAN, "net.vtt:1 | T-00:20:00 | TC | call | 1.2:call | start", end_s=-400.0, outcome="scrub").judge()
    assert dict(zip(r.steps["step"], r.steps["status"], strict=True)) == {
        "1.1": "missed", "1.2": "done", "1.3": "skipped", "1.4": "not_reached"}
    assert r.findings["kind"].tolist() == ["outcome", "missed"]


def test_a_recycle_makes_steps_due_again(count, hold):
    r = count(PLAN, """
    net.vtt:1 | T-00:20:00    | TC | call | 1.2:call | start the fill pump
    net.vtt:2 | T-00:10:00    | TC | call | 1.3:call | arm
    net.vtt:3 | T-00:09:55 #2 | TC | call | 1.3:call | arm
    """, holds=[hold(-400.0, 300.0, recycle_to_s=-900.0)]).judge()
    s = r.steps
    assert row(s, "1.4")["status"] == "not_reached"
    assert (row(s, "1.3", 2)["status"], row(s, "1.3", 2)["deviation_s"]) == ("done", pytest.approx(5.0))
    assert row(s, "1.4", 2)["status"] == "missed"
    assert "recycle" in set(r.findings["kind"])


def test_further_plan_columns_are_carried_as_text(count):
    plan = PLAN.replace("by=PROP; to=TC\n1.2", "by=PROP; to=TC; console=7\n1.2", 1)
    r = count(plan, "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open").judge().steps
    assert (r.columns[-1], r["console"].iloc[0]) == ("console", "7")
    assert r["console"].iloc[1:].isna().all()


def test_an_ignored_step_is_not_judged(count):
    r = count(PLAN, "net.vtt:1 | T-00:20:00 | TC | call | 1.2:call | start",
              decisions=[{"step": "1.1", "decision": "ignore"}, {"step": "1.4", "decision": "ignore"}]).judge()
    assert row(r.steps, "1.1")["status"] == "skipped"
    assert r.findings.empty


def test_what_the_whole_frame_may_be_off_blurs_no_deviation(count):
    source = {"source": "net.vtt", "format": "webvtt", "time": "elapsed", "entries": 1, "rejected": 0, "offset_s": 1e9,
              "offset_sigma_s": 60.0, "reference": True}
    made = count(PLAN, "net.vtt:1 | T-00:29:30 | TC | call | 1.1:call | open", sigmas={"net.vtt": 60.01})
    assert row(made.judge().steps, "1.1")["timing"] == "on_time"
    made.sources, made.own_sigma_s = [source], 0.5
    got = row(made.judge().steps, "1.1")
    assert (got["timing"], got["deviation_sigma_s"]) == ("late", pytest.approx(1.1, abs=0.1))


def test_who_speaks_decides_what_was_an_order_and_what_a_report(count):
    r = count(PLAN, """
    net.vtt:1   | T-00:29:58 | TC>PROP | note   | 1.1:report | open the LOX vent
    net.vtt:2   | T-00:29:40 | PROP>TC | report | 1.1:report | LOX vent open
    net.vtt:3   | T-00:19:45 | PROP>TC | call   | 1.2:call   | fill pump started
    seq.log:4   | T-00:19:50 |         | report | 1.2:record | FILL PUMP START
    """).judge().steps
    assert (row(r, "1.1")["line"], row(r, "1.1")["timing"]) == (1, "on_time")
    assert (row(r, "1.2")["line"], row(r, "1.2")["timing"]) == (4, "on_time")


def test_of_two_calls_the_first_began_the_step(count):
    r = count(PLAN, """
    net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open the LOX vent
    net.vtt:2 | T-00:29:45 | TC>PROP | call | 1.1:call | PROP, TC, I say again, open the LOX vent
    """).judge().steps
    assert (row(r, "1.1")["line"], row(r, "1.1")["deviation_s"]) == (1, pytest.approx(0.0))


def test_what_was_accepted_had_been_ordered(count):
    r = count(PLAN, """
    net.vtt:1 | T-00:29:59 |      | report   | 1.1:report   | go open on the LOX vent
    net.vtt:2 | T-00:29:54 | PROP | response | 1.1:response | wilco
    net.vtt:3 | T-00:29:30 | TC   | call     | 1.1:call     | LOX vent open
    """).judge().steps
    got = row(r, "1.1")
    assert (got["line"], got["timing"]) == (1, "on_time")
    assert (got["completed_utc"] - got["actual_utc"]).total_seconds() == pytest.approx(29.0)


def test_of_two_orders_the_one_that_was_answered_counts(count):
    r = count(PLAN, """
    net.vtt:1 | T-00:31:10 | TC>PROP | call     | 1.1:call     | PROP, TC, we will open the LOX vent in a minute
    net.vtt:2 | T-00:30:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent
    net.vtt:3 | T-00:29:56 | PROP>TC | response | 1.1:response | in work
    """).judge().steps
    assert (row(r, "1.1")["line"], row(r, "1.1")["timing"]) == (2, "on_time")


@pytest.mark.parametrize(("sure", "line"), [(0.97, 1), (0.6, 2)])
def test_a_remark_just_before_the_order_is_none_unless_it_is_about_as_sure(count, sure, line):
    made = count(PLAN, """
    net.vtt:1 | T-00:30:08 | TC>PROP | call   | 1.1:call   | the vent of that truck is open
    net.vtt:2 | T-00:30:00 | TC>PROP | call   | 1.1:call   | PROP, open LOX vent
    net.vtt:3 | T-00:29:50 | PROP>TC | report | 1.1:report | LOX vent open
    """, scores={0: sure, 1: 0.99})
    assert row(made.judge().steps, "1.1")["line"] == line


def test_an_acceptance_after_the_report_belongs_to_a_repeat(count):
    r = count(PLAN, """
    net.vtt:1 | T-00:29:57 | PROP>TC | report   | 1.1:report   | LOX vent open
    net.vtt:2 | T-00:28:50 | TC>PROP | call     | 1.1:call     | open the LOX vent
    net.vtt:3 | T-00:28:46 | PROP>TC | response | 1.1:response | in work
    """).judge().steps
    assert (row(r, "1.1")["line"], row(r, "1.1")["timing"]) == (1, "on_time")


@pytest.mark.parametrize(("kind", "line"), [("poll", 1), ("step", 3)])
def test_a_poll_that_was_taken_early_began_with_its_call(count, kind, line):
    """Its completion is told when all have answered: that nothing else followed at once does not make the call talk ahead of it."""
    heard = """
    net.vtt:1 | T-00:30:40 | TC> | call   | 1.1:call   | this will be the fill poll
    net.vtt:3 | T-00:30:05 | TC> | report | 1.1:report | fill poll complete, all go
    """
    got = row(count(f"1.1 | T-00:30:00 | fill poll | kind={kind}; by=TC", heard).judge().steps, "1.1")
    assert (got["line"], got["timing"]) == (line, "early" if kind == "poll" else "on_time")


@pytest.mark.parametrize(("called", "followed", "line"), [
    ("T-00:30:40", "T-00:29:57", 3),  # nothing heeded the early order, and the step is seen on time: it was talk ahead of it
    ("T-00:30:40", "T-00:30:35", 1),  # heeded at once: an early order
    ("T-00:30:05", "T-00:29:20", 1)])  # on time, whatever followed
def test_an_order_ahead_of_time_that_nothing_follows_did_not_begin_the_step(count, called, followed, line):
    r = count(PLAN, f"""
    net.vtt:1 | {called}   | TC>PROP | call   | 1.1:call   | stand by to open the LOX vent
    seq.log:3 | {followed} |         | report | 1.1:record | LOX VENT OPEN
    """).judge().steps
    assert row(r, "1.1")["line"] == line


@pytest.mark.parametrize(("after_s", "begun"), [(0.4, "net.vtt"), (6.0, "notes.txt")])
def test_what_another_log_has_at_the_moment_of_the_order_is_the_order(count, after_s, begun):
    r = count(PLAN, f"""
    notes.txt:4 | T-00:30:00           | TC>PROP | call   | 1.1:call   | open LOX vent
    net.vtt:1   | T-00:29:{60 - after_s} |       | report | 1.1:report | LOX vent open
    """, sigmas={"notes.txt": 1.3, "net.vtt": 0.4}).judge().steps
    assert row(r, "1.1")["source"] == begun


@pytest.mark.parametrize(("outcome", "planned", "low", "high"), [
    ("scrub", "T-00:05:00", 0.99, 0.99), ("scrub", "T-00:15:00", 0.5, 0.6), ("unresolved", "T-00:05:00", 0.8, 0.8)])
def test_a_step_not_reached_is_as_sure_as_the_clock_is_of_its_end(count, outcome, planned, low, high):
    plan = f"1.1 | T-00:30:00 | open the LOX vent\n1.2 | {planned} | close the drain"
    made = count(plan, "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open", end_s=-900.1, outcome=outcome, clock_sigma_s=5.0,
                 verdicts={"1.2": {"confidence": 0.74}})
    got = row(made.judge().steps, "1.2")
    assert got["status"] == "not_reached"
    assert low <= got["confidence"] <= high


@pytest.mark.parametrize(("outcome", "end_s", "status"), [
    ("scrub", -900.0, "not_reached"), ("cutoff", -899.5, "not_reached"), ("scrub", -895.0, "missed"), ("unresolved", -900.0, "missed"),
    ("liftoff", -900.0, "missed")])
def test_a_step_due_as_the_count_was_stopped_was_not_missed(count, outcome, end_s, status):
    """Whoever should have done it heard the stop instead; five seconds later he had had his time."""
    plan = "1.1 | T-00:30:00 | open the LOX vent\n1.2 | T-00:15:00 | close the drain"
    made = count(plan, "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open", end_s=end_s, outcome=outcome, clock_sigma_s=0.2)
    assert row(made.judge().steps, "1.2")["status"] == status
    seen = count(plan, "net.vtt:1 | T-00:15:00 | TC | call | 1.2:call | close the drain", end_s=end_s, outcome=outcome, clock_sigma_s=0.2)
    assert row(seen.judge().steps, "1.2")["status"] == "done"


@pytest.mark.parametrize(("second", "begun"), [("T-00:28:30", 1), ("T-00:29:57", 3)])
def test_of_an_order_on_time_and_a_later_one_that_was_heeded_the_first_began_the_step(count, second, begun):
    heard = f"""
    net.vtt:1 | {'T-00:30:00' if begun == 1 else 'T-00:31:20'} | TC>PROP | call | 1.1:call | PROP, TC, open the LOX vent
    net.vtt:3 | {second} | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent
    net.vtt:4 | {'T-00:28:26' if begun == 1 else 'T-00:29:53'} | PROP>TC | response | 1.1:response | in work
    """
    assert row(count(PLAN, heard).judge().steps, "1.1")["line"] == begun


@pytest.mark.parametrize(("said", "garbled", "timing"), [
    ("T-00:29:35", True, "on_time"), ("T-00:29:35", False, "late"), ("T-00:28:30", True, "late"), ("T-00:30:30", True, "early")])
def test_a_report_in_a_garbled_log_tells_only_that_the_step_was_begun_by_then(count, said, garbled, timing):
    steps = "\n".join(f"2.{k} | T-00:08:{59 - k} | check the pressure of the {w} bottle | by=LOX; to=TC"
                      for k, w in enumerate(("north", "south", "upper", "lower", "spare", "purge", "trim", "relief", "aft", "main")))
    talk = [(line.split("|")[0].strip(), line.split("|")[2].strip()) for line in steps.splitlines()]
    heard = f"net.vtt:1 | {said} | PROP>TC | report | 1.1:report | the LOX vent is open\n" + "\n".join(
        f"net.vtt:{20 + k} | T-00:08:{59 - k} | TC>LOX | call | {step}:call | "
        + (words.replace("check", f"chek{k}").replace("bottle", f"botel{k}") if garbled else words) for k, (step, words) in enumerate(talk))
    assert row(count(PLAN + steps, heard).judge().steps, "1.1")["timing"] == timing


@pytest.mark.parametrize(("part", "ahead_s"), [("report", 60.0), ("response", 60.0), ("call", 0.0), ("record", 8.0)])
def test_how_long_before_what_a_garbled_log_has_of_it_a_step_may_have_begun(part, ahead_s):
    """A step that kept its time was not early either: it began no sooner than it might."""
    heard = SimpleNamespace(us=0, t_s=-1750.0, source="net.vtt", timed=True, in_pass=1, stamped_t=False, sigma_s=0.1, own_sigma_s=0.1, clock_sigma_s=0.1)
    fact = SimpleNamespace(seen=True, first=lambda p: heard if p == part else None, plan={"by": "PROP", "to": "TC", "kind": "step"}, into_hold_s=None, in_pass=1,
                           planned_t_s=-1800.0, early_s=10.0, late_s=10.0)
    assert timed(fact, frozenset({"net.vtt"})).ahead_s == ahead_s and timed(fact).ahead_s == 0.0
    assert timed(SimpleNamespace(**vars(fact) | {"plan": {"by": "PROP", "to": None, "kind": "step"}}), frozenset({"net.vtt"})).ahead_s == 0.0
    in_time = SimpleNamespace(**vars(fact) | {"planned_t_s": -1745.0})
    assert timed(in_time, frozenset({"net.vtt"})).ahead_s == min(ahead_s, 5.0)


@pytest.mark.parametrize(("verdict", "severity"), [({"confidence": 0.97}, "major"), ({"confidence": 0.6}, "note"),
                                                   ({"confidence": 0.6, "decided": True}, "major")])
def test_a_lateness_on_a_doubtful_match_is_only_a_note(count, verdict, severity):
    r = count(PLAN, "net.vtt:1 | T-00:25:00 | TC>PROP | call | 1.1:call | open the LOX vent", verdicts={"1.1": verdict}).judge().findings
    late = r[r["kind"] == "late"].iloc[0]
    assert late["severity"] == severity
    assert ("doubtful: 60% sure" in late["text"]) == (severity == "note")
