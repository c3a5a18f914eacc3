"""The score: a review scored against itself is perfect, and each kind of error is counted where it belongs."""

from __future__ import annotations

import pandas as pd
import pytest

from aftercount import tables
from aftercount.findings.score import figures, score, tally_of
from aftercount.findings.tally import calibration_error, percentile, pool

T0 = pd.Timestamp("2031-04-18T14:30:00Z")


def at(s):
    return T0 + pd.Timedelta(seconds=s)


def made():
    steps = tables.STEPS.from_rows(
        {"step": f"1.{n}", "pass": 1, "action": "a", "planned_t_s": -600.0 + 60 * n, "actual_utc": at(-600 + 60 * n),
         "deviation_s": 1.0, "status": "done", "timing": "on_time", "out_of_order": False, "violates": [],
         "times_seen": 1, "response": "answered", "response_s": 3.0, "confidence": 1.0, "review": False,
         "decided": False, "event": n, "source": "net.vtt", "line": n, "deviation_sigma_s": 0.5} for n in range(10))
    events = tables.EVENTS.from_rows(
        {"event": n, "source": "net.vtt", "line": n, "kind": "call", "text": "x", "medium": "speech"} for n in range(10))
    matches = tables.MATCHES.from_rows(
        {"step": f"1.{n}", "pass": 1, "event": n, "part": "call", "text_score": 1.0, "time_score": 1.0,
         "station_score": 1.0, "score": 1.0, "rank": 1} for n in range(10))
    clock = tables.CLOCK.from_rows([
        {"segment": 1, "pass": 1, "state": "counting", "start_utc": at(-700), "end_utc": at(-400), "start_t_s": -600.0,
         "end_t_s": -300.0, "sigma_s": 0.1},
        {"segment": 2, "pass": 1, "state": "holding", "start_utc": at(-400), "end_utc": at(-300), "start_t_s": -300.0,
         "end_t_s": -300.0, "sigma_s": 0.1},
        {"segment": 3, "pass": 1, "state": "counting", "start_utc": at(-300), "end_utc": at(0), "start_t_s": -300.0,
         "end_t_s": 0.0, "sigma_s": 0.1}])
    holds = tables.HOLDS.from_rows([
        {"hold": 1, "pass": 1, "t_s": -300.0, "start_utc": at(-400), "end_utc": at(-300), "duration_s": 100.0,
         "planned_s": 0.0, "kind": "unplanned", "basis": "inferred", "t_low_s": -310.0, "t_high_s": -290.0}])
    sources = tables.SOURCES.from_rows([{"source": "net.vtt", "format": "webvtt", "time": "elapsed", "entries": 10,
                                         "rejected": 0, "offset_s": 5.0, "offset_sigma_s": 0.5, "reference": False}])
    return {"steps": steps, "events": events, "matches": matches, "clock": clock, "holds": holds, "sources": sources}


def truth_of(t):
    clock = [{k: (v.isoformat() if isinstance(v, pd.Timestamp) else v) for k, v in r.items()} for r in t["clock"].to_dict("records")]
    return {
        "outcome": "liftoff", "clock": clock,
        "holds": [{"pass": 1, "t_s": -300.0, "start_utc": at(-400).isoformat(), "end_utc": at(-300).isoformat(),
                   "duration_s": 100.0, "kind": "unplanned", "called": False}],
        "steps": [{"step": s, "pass": 1, "status": "done", "deviation_s": 1.0, "timing": "on_time", "out_of_order": False,
                   "ambiguous": False, "violates": [], "response": "answered", "response_s": 3.0, "times_seen": 1}
                  for s in t["steps"]["step"]],
        "lines": [{"source": "net.vtt", "line": n, "step": f"1.{n}", "pass": 1, "part": "call", "near_miss": False}
                  for n in range(10)],
        "sources": [{"source": "net.vtt", "offset_s": 5.0, "drift_ppm": 0.0, "reset": None}]}


def test_a_review_scored_against_itself_is_perfect():
    t = made()
    f = score(t, truth_of(t), "liftoff")
    for name in ("status_rate", "match_rate", "evidence_rate", "timing_rate", "response_rate", "clock_covered_rate",
                 "clock_within_95_rate", "bracket_rate", "hold_silent_f1", "outcome_rate"):
        assert f[name] == 1.0, name
    for name in ("clock_error_s_p100", "offset_error_s_p50", "false_flag_rate", "calibration_error", "deviation_error_s_p95",
                 "hold_silent_duration_error_s_p50", "status_wrong", "review_share"):
        assert f[name] == 0.0, name


def change(t, name, column, row, value):
    frame = t[name].copy()
    values = frame[column].tolist()
    values[row] = value
    frame[column] = pd.Series(values, dtype=frame[column].dtype)
    return {**t, name: frame}


@pytest.mark.parametrize(("name", "column", "value", "figure", "expected"), [
    ("steps", "status", "missed", "status_rate", 0.9), ("steps", "status", "missed", "false_flag_rate", 0.1),
    ("steps", "timing", "late", "timing_rate", 0.9), ("steps", "timing", "late", "off_time_precision", 0.0),
    ("steps", "out_of_order", True, "out_of_order_precision", 0.0), ("steps", "violates", ["1.0"], "after_precision", 0.0),
    ("steps", "response", "none", "response_rate", 0.9), ("steps", "response", "none", "unanswered_precision", 0.0),
    ("steps", "line", 77, "match_rate", 0.9), ("matches", "event", 0, "evidence_rate", 0.9),
    ("steps", "deviation_s", 5.0, "deviation_error_s_p100", 4.0), ("steps", "line", 77, "calibration_error", 0.1),
    ("steps", "pass", 2, "status_rate", 9 / 11)])
def test_one_error_of_each_kind(name, column, value, figure, expected):
    t = made()
    assert score(change(t, name, column, 3, value), truth_of(t))[figure] == pytest.approx(expected)


def test_the_clock_holds_and_offsets():
    t = made()
    truth = truth_of(t)
    slow = {**t, "clock": t["clock"].assign(start_t_s=t["clock"]["start_t_s"] - 2, end_t_s=t["clock"]["end_t_s"] - 2)}
    f = score(slow, truth)
    assert f["clock_error_s_p50"] == pytest.approx(2.0)
    assert f["clock_within_95_rate"] == 0.0
    assert score(change(t, "holds", "t_high_s", 0, -305.0), truth)["bracket_rate"] == 0.0
    assert score(change(t, "holds", "duration_s", 0, 97.0), truth)["hold_silent_duration_error_s_p100"] == pytest.approx(3.0)
    assert score(change(t, "sources", "offset_s", 0, 6.5), truth)["offset_error_s_p100"] == pytest.approx(1.5)
    none = score({**t, "holds": t["holds"].iloc[:0]}, truth)
    assert none["hold_silent_recall"] == 0.0
    invented = score(t, {**truth, "holds": []})
    assert invented["hold_silent_precision"] == 0.0


def test_review_pays_where_the_errors_are():
    t = made()
    wrong = change(change(change(t, "steps", "line", 3, 77), "steps", "review", 3, True), "steps", "line", 4, 77)
    f = score(wrong, truth_of(t))
    assert (f["review_share"], f["review_recall_of_wrong"]) == (0.1, 0.5)


def test_pooled_figures_are_not_means_of_means():
    t = made()
    truth = truth_of(t)
    one, two = tally_of(t, truth), tally_of(change(t, "steps", "status", 3, "missed"), truth)
    assert figures(pool([one, two]))["status_rate"] == pytest.approx(19 / 20)


def test_calibration_and_percentiles_by_hand():
    assert calibration_error([(0.95, True)] * 9 + [(0.95, False)]) == pytest.approx(0.05)
    assert calibration_error([(0.2, False), (0.8, True)]) == pytest.approx(0.2)
    assert calibration_error([]) is None
    assert [percentile([1.0, 2.0, 4.0], p) for p in (0, 50, 75, 100)] == [1.0, 2.0, 3.0, 4.0]


def scored(rows, real):
    """The score of hand-made step rows against hand-made truth."""
    base = {"pass": 1, "action": "a", "planned_t_s": 0.0, "times_seen": 1, "decided": False, "source": "net.vtt", "review": False,
            "out_of_order": False, "violates": [], "confidence": 0.9}
    t = made()
    steps = tables.STEPS.from_rows(base | {"step": f"1.{n}", "line": n} | row for n, row in enumerate(rows))
    known = {"pass": 1, "out_of_order": False, "ambiguous": False, "violates": [], "response": None, "deviation_s": None, "times_seen": 1,
             "timing": "on_time", "status": "done"}
    truth = truth_of(t) | {"steps": [known | {"step": f"1.{n}"} | row for n, row in enumerate(real)]}
    truth["lines"] = [{"source": "net.vtt", "line": n, "step": f"1.{n}", "pass": 1, "near_miss": False} for n in range(len(rows))]
    return score({**t, "steps": steps}, truth)


def test_order_and_after_by_hand_ambiguous_steps_left_out():
    done = {"status": "done", "timing": "on_time"}
    rows = [done | {"out_of_order": o, "violates": v} for o, v in (
        (True, []), (True, []), (False, []), (True, []), (False, ["9.1", "9.2"]), (False, ["9.1"]))]
    real = [{"out_of_order": o, "ambiguous": a, "violates": v} for o, a, v in (
        (True, False, []), (False, False, []), (True, False, []), (False, True, []), (False, False, ["9.1", "9.3"]), (False, True, []))]
    f = scored(rows, real)
    # order: 1.0 right, 1.1 invented, 1.2 lost, 1.3 ambiguous; after: 9.1 right, 9.2 invented, 9.3 lost, step 1.5 ambiguous
    assert (f["out_of_order_precision"], f["out_of_order_recall"]) == (0.5, 0.5)
    assert (f["after_precision"], f["after_recall"]) == (0.5, 0.5)


def test_false_flags_are_shares_of_nominal_steps_alone():
    rows = [{"status": s, "timing": t, "response": r} for s, t, r in (
        ("done", "on_time", None), ("done", "late", None), ("missed", None, None), ("done", "on_time", "late"), ("done", "late", None), ("missed", None, None))]
    real = [{}, {}, {}, {"response": "answered"}, {"timing": "late"}, {"status": "missed", "timing": None}]
    f = scored(rows, real)
    assert f["false_flag_rate"] == pytest.approx(3 / 4)  # the truly late and the truly missed step are no nominal ones
    assert f["confusion"]["nominal_flagged:timing"] == 1
    assert f["confusion"]["nominal_flagged:response"] == 1


def test_answers_late_and_silent_by_hand():
    rows = [{"status": "done", "timing": "on_time", "response": r} for r in ("late", "late", "none", "answered", None)]
    real = [{"response": r} for r in ("late", "answered", "none", "late", "none")]
    f = scored(rows, real)
    assert (f["late_answer_precision"], f["late_answer_recall"]) == (0.5, 0.5)
    assert (f["unanswered_precision"], f["unanswered_recall"], f["response_rate"]) == (1.0, 0.5, pytest.approx(2 / 5))


def test_calibration_leaves_out_what_was_not_reached_or_decided():
    rows = [{"status": "done", "timing": "on_time", "confidence": 0.85}, {"status": "missed", "confidence": 0.75},
            {"status": "not_reached", "confidence": 0.5}, {"status": "done", "timing": "on_time", "confidence": 0.1, "decided": True}]
    real = [{}, {"status": "done"}, {"status": "not_reached", "timing": None}, {}]
    f = scored(rows, real)
    assert f["calibration_error"] == pytest.approx((0.15 + 0.75) / 2)  # one bin each: 0.85 was right, 0.75 was wrong


def test_a_poll_answer_that_could_not_be_made_out_claims_nothing():
    t = made()
    polls = tables.POLLS.from_rows({"poll": 1, "step": "1.1", "pass": 1, "order": n, "station": s, "answer": a}
                                   for n, (s, a) in enumerate((("PROP", "go"), ("GNC", "unclear"), ("MET", "go"), ("RSO", "missing"))))
    truth = truth_of(t) | {"polls": [{"step": "1.1", "pass": 1, "station": s, "answer": a} for s, a in (("PROP", "go"), ("GNC", "go"), ("RSO", "go"))]}
    f = score({**t, "polls": polls}, truth)
    assert (f["poll_answer_precision"], f["poll_answer_recall"], f["poll_missing_rate"]) == (0.5, pytest.approx(1 / 3), 0.0)
