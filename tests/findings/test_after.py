"""`after` pairs, repeats, polls, holds and the count as a whole."""

from __future__ import annotations

PLAN = """
1.1 | T-00:30:00 | open the vent | by=PROP
1.2 | T-00:30:05 | start the pump | by=PROP; after=1.1
1.3 | T-00:20:00 | go for fill poll of PROP LOX FTS | kind=poll; by=TC
"""


def kinds(r):
    return r.findings["kind"].tolist()


def test_a_step_begun_before_what_must_come_first(count):
    r = count(PLAN, """
    net.vtt:1 | T-00:30:02 | TC>PROP | call | 1.2:call | start the pump
    net.vtt:2 | T-00:29:57 | TC>PROP | call | 1.1:call | open the vent
    """, end_s=-1500.0).judge()
    assert r.steps["violates"].tolist() == [[], ["1.1"], []]
    assert not r.steps["out_of_order"].any()  # they are planned within each other's tolerance
    assert "after_violated" in kinds(r)


def test_one_fault_of_order_is_told_once(count):
    plan = "1.1 | T-00:30:00 | open the vent | by=PROP\n1.2 | T-00:28:00 | start the pump | by=PROP; after=1.1\n1.3 | T-00:26:00 | test the igniter"
    r = count(plan, """
    net.vtt:1 | T-00:28:00 | TC>PROP | call | 1.2:call | start the pump
    net.vtt:2 | T-00:26:00 | TC>PROP | call | 1.3:call | test the igniter
    net.vtt:3 | T-00:25:00 | TC>PROP | call | 1.1:call | open the vent
    """, end_s=-1200.0).judge()
    assert r.steps["out_of_order"].tolist() == [True, False, False]
    told = r.findings[r.findings["kind"].isin(["out_of_order", "after_violated"])]
    assert told["step"].tolist() == ["1.2"]
    assert told["text"].iloc[0].endswith("was begun before 1.1, which had to come first; 1.1 left the planned order.")


def test_an_order_the_clocks_cannot_settle_is_not_flagged(count):
    heard = """
    net.vtt:1   | T-00:30:02 | TC>PROP | call | 1.2:call | start the pump
    notes.txt:2 | T-00:29:57 | TC>PROP | call | 1.1:call | open the vent
    """
    unsure = count(PLAN, heard, end_s=-1500.0, sigmas={"notes.txt": 5.0}).judge()
    assert unsure.steps["violates"].tolist() == [[], [], []]
    sure = count(PLAN, heard, end_s=-1500.0, sigmas={"notes.txt": 1.0}).judge()
    assert sure.steps["violates"].tolist() == [[], ["1.1"], []]


def test_a_needed_step_of_an_earlier_pass_counts(count, hold):
    plan = "1.0 | T-00:40:00 | check | by=PROP\n1.2 | T-00:30:05 | start the pump | after=1.0"
    r = count(plan, """
    net.vtt:1 | T-00:40:00    | TC | call | 1.0:call | check
    net.vtt:2 | T-00:30:05 #2 | TC | call | 1.2:call | pump
    """, holds=[hold(-1700.0, 60.0, recycle_to_s=-2000.0)]).judge().steps
    assert r["violates"].map(len).sum() == 0


def test_a_missed_step_is_major_and_says_that_another_waited_for_it(count):
    r = count(PLAN, "net.vtt:1 | T-00:30:02 | TC>PROP | call | 1.2:call | start", end_s=-1500.0).judge().findings
    missed = r[r["kind"] == "missed"].set_index("step")
    assert set(missed["severity"]) == {"major"}
    waited = missed["text"].str.contains("A step that had to wait for it was done")
    assert waited[waited].index.tolist() == ["1.1"]


def test_a_repeat_is_a_note_and_a_decision_is_marked(count):
    r = count(PLAN, "net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | open the vent", end_s=-1790.0,
              verdicts={"1.1": {"times_seen": 2}, "1.2": {"decided": True, "confidence": 1.0}}).judge().findings
    assert r[["kind", "decided"]].values.tolist() == [["missed", True], ["repeated", False]]


POLL = """
net.vtt:1 | T-00:20:00 | TC   | poll     | 1.3:call | stations, go no go for fill
net.vtt:2 | T-00:19:56 | PROP | response |          | PROP go
net.vtt:3 | T-00:19:52 | LOX  | response |          | LOX no go
net.vtt:4 | T-00:19:40 | LOX  | response |          | LOX is go
notes.txt:9 | T-00:19:55 | PROP | response |        | PROP go
"""
ANSWERS = [(1, "PROP", "go"), (2, "LOX", "no go"), (3, "LOX", "go"), (4, "PROP", "go")]


def test_a_poll_station_by_station(count):
    r = count(PLAN, POLL, poll_answers=ANSWERS).judge()
    assert r.polls[["step", "order", "station", "answer"]].values.tolist() == [
        ["1.3", 1, "PROP", "go"], ["1.3", 2, "LOX", "no go"], ["1.3", 3, "LOX", "go"], ["1.3", 4, "FTS", "missing"]]
    polled = [k for k in kinds(r) if k in ("no_go", "poll_missing", "poll_changed")]
    assert sorted(polled) == ["poll_changed", "poll_missing"]


def test_a_station_called_out_that_never_answers_is_missing(count):
    plan = "1.3 | T-00:20:00 | poll the team | kind=poll; by=TC"
    heard = POLL + """
    net.vtt:5 | T-00:19:36 | TC>RSO | call     | | RSO
    net.vtt:6 | T-00:19:30 | TC>FTS | call     | | FTS
    net.vtt:7 | T-00:19:28 | FTS    | response | | go
    net.vtt:8 | T-00:19:20 | TC>ALL | response | | all stations are go, TC
    net.vtt:9 | T-00:19:24 | TC>LOX | call     | | RSO, how do you read
    net.vtt:10 | T-00:19:23 | TC>DRY | call    | | DRY
    net.vtt:11 | T-00:19:22 | >DRY   | response | | no go, DRY
    """
    r = count(plan, heard, poll_answers=[*ANSWERS, (7, "FTS", "go"), (8, "TC", "go")]).judge()
    assert r.polls["station"].tolist() == ["PROP", "LOX", "LOX", "FTS", "DRY", "RSO"]
    assert r.polls["answer"].tolist()[-2:] == ["no go", "missing"]


def test_a_garbled_reply_is_no_silence(count):
    plan = "1.3 | T-00:20:00 | poll the team | kind=poll; by=TC"
    asked = POLL + "net.vtt:5 | T-00:19:36 | TC>RSO | call | | RSO\n"
    for reply, stations in (("net.vtt:6 | T-00:19:34 | | note | | gull", []), ("net.vtt:6 | T-00:19:10 | | note | | gull", ["RSO"])):
        polls = count(plan, asked + reply, poll_answers=ANSWERS).judge().polls
        assert polls.loc[polls["answer"] == "missing", "station"].tolist() == stations


def test_a_lone_answer_without_a_poll_step_is_no_poll(count):
    plan = "1.1 | T-00:30:00 | open the vent | by=PROP"
    assert count(plan, POLL.replace("1.3:call", ""), poll_answers=ANSWERS[:1]).judge().polls.empty


def test_holds_against_the_plan(count, hold):
    plan = """
    2.0 | T-00:20:00 | built-in hold | kind=hold; duration_s=600
    3.0 | T-00:09:00 | built-in hold | kind=hold; duration_s=600
    4.0 | T-00:04:00 | built-in hold | kind=hold; duration_s=300
    1.1 | T-00:01:00 | start | by=PROP
    """
    r = count(plan, "net.vtt:1 | T-00:01:00 | TC | call | 1.1:call | start", holds=[
        hold(-1200.0, 900.0, 600.0), hold(-540.0, 400.0, 600.0), hold(-31.0, 138.0, called_by="PROP", reason="vent arm"),
    ], authority={"hold": ("TC", "RSO")}).judge().findings
    by_kind = dict(zip(r["kind"], r["text"], strict=True))
    assert set(by_kind) == {"hold_cut_short", "hold_extended", "hold_not_taken", "hold_unplanned", "authority"}
    assert "2 min 18 s at T-00:00:31, called by PROP: vent arm" in by_kind["hold_unplanned"]
    assert "extended by 5 min" in by_kind["hold_extended"]
    assert "cut short by 3 min 20 s" in by_kind["hold_cut_short"]
    assert "5 min at T-00:04:00 was not taken" in by_kind["hold_not_taken"]
    assert "only TC or RSO may" in by_kind["authority"]


def test_a_hold_whose_excess_the_clock_explains_is_not_flagged(count, hold):
    plan = "2.0 | T-00:20:00 | built-in hold | kind=hold; duration_s=600\n1.1 | T-00:01:00 | start | must=no"
    for sigma, found in ((0.1, ["hold_extended"]), (5.0, [])):
        r = count(plan, "net.vtt:1 | T-00:01:00 | TC | call | 1.1:call | start", holds=[hold(-1200.0, 614.0, 600.0)],
                  clock_sigma_s=sigma)
        assert kinds(r.judge()) == found


def test_a_hold_that_was_never_resumed(count, hold):
    plan = "1.1 | T-00:30:00 | open the vent\n1.2 | T-00:20:00 | start the pump"
    r = count(plan, "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open", holds=[hold(-1795.0, 700.0, resumed=False)],
              end_s=-1795.0, outcome="scrub").judge()
    assert sorted(kinds(r)) == ["hold_unplanned", "outcome"]
    held = r.findings.loc[r.findings["kind"] == "hold_unplanned", "text"].iloc[0]
    assert held.endswith("it was never resumed; the count ended in a scrub.")


def test_who_ended_the_count(count):
    heard = """
    net.vtt:1 | T-00:30:00 | TC   | call  | 1.1:call | open
    net.vtt:2 | T-00:25:00 | PROP | scrub |          | scrub for today
    """
    r = count("1.1 | T-00:30:00 | open", heard, end_s=-1500.0, outcome="scrub", authority={"scrub": ("TC",)}).judge()
    f = r.findings
    assert f.loc[f["kind"] == "authority", ["source", "line"]].values.tolist() == [["net.vtt", 2]]


def test_a_log_whose_clock_was_off(count):
    source = {"format": "notes", "time": "utc", "entries": 1, "rejected": 0, "drift_ppm": 0.0}
    sources = [{**source, "source": n, "offset_s": o, "offset_sigma_s": s, "reference": ref} for n, o, s, ref in
               (("a.txt", 12.0, 0.5, False), ("b.txt", 1.0, 0.1, False), ("c.txt", 9.0, 4.0, False), ("d.log", 50.0, 0.1, True))]
    f = count("1.1 | T-00:30:00 | open", "a.txt:1 | T-00:30:00 | TC | call | 1.1:call | open", sources=sources).judge().findings
    assert f["text"].tolist() == ["The clock of a.txt was 12 s slow; its times were put right."]


def test_findings_are_numbered_most_serious_first_and_repeatable(count):
    made = count(PLAN, POLL, poll_answers=ANSWERS)
    one, two = made.judge().findings, made.judge().findings
    assert one.equals(two)
    assert one["finding"].tolist() == list(range(1, len(one) + 1))
    ranks = one["severity"].map({"major": 0, "minor": 1, "note": 2}).tolist()
    assert ranks == sorted(ranks)
