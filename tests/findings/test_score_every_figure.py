"""Every figure of the score, from a review and a truth small enough to count on the fingers.

The review and the truth are written so that no two figures fall together by chance; each expected value says how it comes about.
"""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount import tables
from aftercount.findings.score import figures, score, tally_of
from aftercount.findings.tally import (
    Tally,
    calibration_error,
    percentile,
    pool,
    precision_recall,
    rate,
    ratio,
)

T0 = pd.Timestamp("2031-04-18T14:30:00Z")


def at(s: float) -> pd.Timestamp:
    return T0 + pd.Timedelta(seconds=s)


def text(s: float) -> str:
    return at(s).isoformat()


def segment(n: int, in_pass: int, state: str, start: float, end: float, low: float, high: float, sigma: float = 1.0) -> dict[str, Any]:
    return {"segment": n, "pass": in_pass, "state": state, "start_utc": at(start), "end_utc": at(end), "start_t_s": low, "end_t_s": high, "sigma_s": sigma}


def true_segment(n: int, in_pass: int, state: str, start: float, end: float, low: float, high: float) -> dict[str, Any]:
    return segment(n, in_pass, state, start, end, low, high) | {"start_utc": text(start), "end_utc": text(end)}


def made(**given: Any) -> dict[str, pd.DataFrame]:
    """A review of nothing, but for the tables given as rows."""
    schemas = {"steps": tables.STEPS, "events": tables.EVENTS, "matches": tables.MATCHES, "clock": tables.CLOCK, "holds": tables.HOLDS,
               "sources": tables.SOURCES, "polls": tables.POLLS, "findings": tables.FINDINGS}
    return {name: schema.from_rows(given.get(name, [])) for name, schema in schemas.items()}


def truth(**given: Any) -> dict[str, Any]:
    return {"outcome": "liftoff", "clock": [], "holds": [], "steps": [], "lines": [], "sources": []} | given


STEP = {"pass": 1, "action": "a", "planned_t_s": 0.0, "status": "done", "timing": "on_time", "out_of_order": False, "violates": [], "times_seen": 1,
        "confidence": 0.9, "review": False, "decided": False, "source": "net.vtt", "line": 1}
REAL = {"pass": 1, "status": "done", "timing": "on_time", "out_of_order": False, "ambiguous": False, "violates": [], "response": None,
        "deviation_s": None, "response_s": None, "times_seen": 1}


def steps(*pairs: tuple[dict[str, Any], dict[str, Any]], lines: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    """The score of steps 1.0, 1.1, ...: (what the review says, what is true); each truly stands at the line of its number."""
    said = [STEP | {"step": f"1.{n}", "line": n} | mine for n, (mine, _) in enumerate(pairs)]
    real = [REAL | {"step": f"1.{n}"} | true for n, (_, true) in enumerate(pairs)]
    carried = [{"source": "net.vtt", "line": n, "step": f"1.{n}", "pass": 1, "near_miss": False} for n in range(len(pairs))]
    return score(made(steps=said), truth(steps=real, lines=carried if lines is None else lines))


def test_nothing_behind_a_figure_is_null() -> None:
    f = score(made(), truth())
    assert f.pop("steps") == 0 and f.pop("status_wrong") == 0 and f.pop("confusion") == {}
    assert all(value is None for value in f.values()), f
    assert len(f) == 19 + 10 * 3 + 9 * 3 + 4


def test_the_confusions_are_named_by_what_is_true_and_what_was_said() -> None:
    f = steps(({}, {}), ({"status": "missed", "timing": None}, {}), ({}, {"status": "missed", "timing": None}), ({}, {"status": "not_reached"}),
              ({"response": "late"}, {"response": "answered"}), ({"response": "answered"}, {"response": "answered"}))
    assert f["confusion"] == {
        "status:done>done": 3, "status:done>missed": 1, "status:missed>done": 1, "status:not_reached>done": 1,
        "response:answered>late": 1, "response:answered>answered": 1, "nominal_flagged:status": 1, "nominal_flagged:response": 1}
    assert (f["steps"], f["status_wrong"], f["status_rate"]) == (6, 3, 0.5)
    assert f["false_flag_rate"] == 2 / 4  # nominal are 1.0, 1.1, 1.4 and 1.5


@pytest.mark.parametrize(("mine", "name"), [({"out_of_order": True}, "order"), ({"violates": ["1.9"]}, "after"), ({"timing": "late"}, "timing"),
                                            ({"timing": "early"}, "timing"), ({"response": "none"}, "response"), ({"response": "late"}, "response"),
                                            ({"status": "missed", "timing": None}, "status")])
def test_a_false_flag_is_named_by_what_was_flagged(mine: dict, name: str) -> None:
    f = steps((mine, {}), ({}, {}))
    assert f["false_flag_rate"] == 0.5
    assert {k: v for k, v in f["confusion"].items() if k.startswith("nominal")} == {f"nominal_flagged:{name}": 1}


@pytest.mark.parametrize("true", [{"timing": "late"}, {"out_of_order": True}, {"violates": ["1.9"]}, {"response": "none"}, {"response": "late"}, {"status": "missed"}])
def test_what_is_truly_off_is_no_nominal_step(true: dict) -> None:
    assert steps(({"timing": "late"}, true))["false_flag_rate"] is None


@pytest.mark.parametrize("true", [{"timing": None}, {"response": "answered"}])
def test_what_has_no_due_time_or_was_answered_is_nominal(true: dict) -> None:
    assert steps(({}, true))["false_flag_rate"] == 0.0


def test_timing_is_judged_of_steps_done_in_both() -> None:
    f = steps(({"timing": "late"}, {"timing": "late"}), ({"timing": "early"}, {"timing": "late"}), ({}, {"timing": "early"}), ({"timing": "late"}, {}),
              ({"status": "missed", "timing": "late"}, {}), ({}, {"status": "missed"}), ({"timing": "late"}, {"timing": None}))
    assert f["timing_rate"] == 1 / 4
    # off time: late and early for late are right twice, early missed once, late invented once
    assert (f["off_time_precision"], f["off_time_recall"], f["off_time_f1"]) == (2 / 3, 2 / 3, 4 / 6)


def test_deviations_and_their_stated_sigma() -> None:
    def of(mine: float | None, sigma: float | None, true: float | None) -> tuple[dict, dict]:
        return {"deviation_s": mine, "deviation_sigma_s": sigma}, {"deviation_s": true}

    f = steps(of(1.0, 2.0, 3.0), of(-5.0, 2.0, -2.0), of(10.0, 1.0, 14.0), of(7.0, None, 8.0), of(None, 1.0, 1.0), of(1.0, 1.0, None))
    # errors 2, 3, 4 and 1; within 1 sigma: the first; within 1.96 sigma: the first two; the fourth states none
    assert [f[f"deviation_error_s_p{p}"] for p in (50, 95, 100)] == [2.5, pytest.approx(3.85), 4.0]
    assert (f["deviation_within_1_sigma_rate"], f["deviation_within_95_rate"]) == (1 / 3, 2 / 3)


def test_a_deviation_just_within_and_just_beyond_the_95_percent_span() -> None:
    def rates(error: float) -> tuple[float, float]:
        f = steps(({"deviation_s": error, "deviation_sigma_s": 1.0}, {"deviation_s": 0.0}))
        return f["deviation_within_1_sigma_rate"], f["deviation_within_95_rate"]

    assert [rates(e) for e in (1.0, 1.01, 1.96, 1.97)] == [(1.0, 1.0), (0.0, 1.0), (0.0, 1.0), (0.0, 0.0)]


def test_answers_and_how_long_they_took() -> None:
    f = steps(({"response": "answered", "response_s": 4.0}, {"response": "answered", "response_s": 5.5}),
              ({"response": "answered", "response_s": 9.0}, {"response": "late", "response_s": 6.0}),
              ({"response": "none"}, {"response": "none", "response_s": 3.0}), ({"response": "answered", "response_s": 1.0}, {"response": None}))
    assert f["response_rate"] == 2 / 3
    assert [f[f"response_error_s_p{p}"] for p in (50, 100)] == [2.25, 3.0]
    assert (f["unanswered_precision"], f["late_answer_recall"], f["late_answer_precision"]) == (1.0, 0.0, None)


def test_how_often_a_step_was_seen() -> None:
    f = steps(({"times_seen": 2}, {"times_seen": 2}), ({"times_seen": 2}, {}), ({}, {"times_seen": None}), ({"status": "missed", "times_seen": 0}, {}))
    assert f["times_seen_rate"] == 2 / 3


def test_a_step_of_one_side_alone_is_wrong_and_nothing_more() -> None:
    real = [REAL | {"step": "1.0"}, REAL | {"step": "1.1"}, REAL | {"step": "1.1", "pass": 2}]
    said = [STEP | {"step": "1.0"}, STEP | {"step": "1.2"}]
    f = score(made(steps=said), truth(steps=real, lines=[{"source": "net.vtt", "line": 1, "step": "1.0", "pass": 1}]))
    assert (f["steps"], f["status_rate"], f["confusion"]) == (4, 0.25, {"status:done>done": 1})
    assert (f["match_rate"], f["review_share"]) == (1.0, 0.0)


def test_the_line_a_verdict_rests_on() -> None:
    lines = [{"source": "net.vtt", "line": 0, "step": "1.0", "pass": 1}, {"source": "net.vtt", "line": 5, "line_end": 7, "step": "1.1", "pass": 1},
             {"source": "net.vtt", "line": 2, "step": "1.2", "pass": 1, "near_miss": True}, {"source": "notes.txt", "line": 3, "step": "1.3", "pass": 1},
             {"source": "net.vtt", "line": 4, "step": "1.4", "pass": 2}, {"source": "net.vtt", "line": 9, "step": None, "pass": None},
             {"source": "net.vtt", "line": 5, "step": "1.5", "pass": 1}, {"source": "net.vtt", "line": 6, "step": "1.5", "pass": 1}]
    f = steps(({}, {}), ({"line": 7}, {}), ({}, {}), ({}, {}), ({}, {}), ({"line": 6}, {}), ({"line": 8}, {}), ({"line": None}, {}),
              ({"status": "missed", "line": 0}, {"status": "missed"}), lines=lines)
    # right: 1.0, the last line of 1.1's three, the second of 1.5's; wrong: a near miss, another log, another pass, no line of 1.6
    assert f["match_rate"] == 3 / 7


def test_review_and_calibration_count_what_the_matcher_decided() -> None:
    f = steps(({"confidence": 0.95}, {}), ({"confidence": 0.65, "review": True, "line": 77}, {}), ({"confidence": 0.65, "line": 77}, {}),
              ({"status": "not_reached", "confidence": 0.05, "review": True}, {"status": "not_reached"}),
              ({"decided": True, "confidence": 0.05, "review": True, "line": 77}, {}), ({"status": "missed", "confidence": 0.35, "line": None}, {}))
    assert (f["review_share"], f["review_recall_of_wrong"]) == (2 / 5, 1 / 3)
    # bins: 0.95 was right; 0.65 twice, wrong twice; 0.35 once, wrong once
    assert f["calibration_error"] == pytest.approx((0.05 + 1.30 + 0.35) / 4)


def test_evidence_is_every_first_choice() -> None:
    events = [{"event": n, "source": s, "line": line, "kind": "call", "text": "x", "medium": "speech"} for n, (s, line) in
              enumerate((("net.vtt", 1), ("net.vtt", 2), ("notes.txt", 1)))]
    scores = {"text_score": 1.0, "time_score": 1.0, "station_score": 1.0, "score": 1.0}
    matches = [{"step": "1.0", "pass": p, "event": e, "part": "call", "rank": r} | scores for p, e, r in ((1, 0, 1), (1, 1, 1), (1, 2, 1), (2, 0, 1), (1, 1, 2))]
    lines = [{"source": "net.vtt", "line": 1, "step": "1.0", "pass": 1}]
    f = score(made(events=events, matches=matches), truth(lines=lines))
    assert f["evidence_rate"] == 1 / 4


def test_wrong_read_backs() -> None:
    found = [{"finding": n, "kind": k, "step": s, "pass": p, "severity": "major", "text": "x", "decided": False} for n, (k, s, p) in enumerate(
        (("readback_wrong", "1.0", 1), ("readback_wrong", "1.1", 1), ("late", "1.2", 1), ("readback_wrong", "1.0", 2)))]
    lines = [{"source": "net.vtt", "line": n, "step": s, "pass": p, "slip": slip} for n, (s, p, slip) in enumerate(
        (("1.0", 1, "word"), ("1.2", 1, "word"), ("1.1", 1, None), (None, None, "word")))]
    f = score(made(findings=found), truth(lines=lines))
    assert (f["readback_precision"], f["readback_recall"], f["readback_f1"]) == (1 / 3, 1 / 2, 2 / 5)
    bare = [{k: v for k, v in line.items() if k != "slip"} for line in lines]
    assert score(made(findings=found), truth(lines=bare))["readback_precision"] is None  # the record does not tell of slips
    unread = made(findings=found)
    del unread["findings"]
    assert score(unread, truth(lines=lines))["readback_precision"] is None


def test_polls() -> None:
    rows = [{"poll": 1, "step": s, "pass": p, "order": n, "station": who, "answer": a} for n, (s, p, who, a) in enumerate((
        ("1.1", 1, "PROP", "go"), ("1.1", 1, "LOX", "no go"), ("1.1", 1, "FTS", "missing"), ("1.1", 1, "RSO", "missing"), ("1.1", 1, "DRY", "unclear"),
        (None, None, "PROP", "go")))]
    real = [{"step": "1.1", "pass": 1, "station": who, "answer": a} for who, a in (("PROP", "go"), ("LOX", "go"), ("RSO", "go"), ("DRY", "go"))]
    f = score(made(polls=rows), truth(polls=real))
    assert (f["poll_answer_precision"], f["poll_answer_recall"]) == (1 / 3, 1 / 4)  # found: PROP; invented: LOX's no go, one of no step
    assert f["poll_missing_rate"] == 1 / 2  # FTS was silent, RSO was not
    assert score(made(polls=rows), truth())["poll_answer_precision"] is None


# --- the clock ---

TRUE_CLOCK = [true_segment(1, 1, "counting", -1200, -600, -900, -300), true_segment(2, 1, "holding", -600, -300, -300, -300),
              true_segment(3, 1, "counting", -300, 0, -300, 0)]
SAID_CLOCK = [segment(1, 1, "counting", -1200, -600, -900, -300), segment(2, 1, "holding", -600, -300, -300, -300),
              segment(3, 1, "counting", -300, 0, -300, 0)]


def moved(rows: list[dict[str, Any]], by: float, sigma: float = 1.0) -> list[dict[str, Any]]:
    return [r | {"start_t_s": r["start_t_s"] + by, "end_t_s": r["end_t_s"] + by, "sigma_s": sigma} for r in rows]


@pytest.mark.parametrize(("by", "sigma", "within"), [(2.0, 2.5, (1.0, 1.0)), (2.0, 1.5, (0.0, 1.0)), (2.0, 1.0, (0.0, 0.0)), (-3.0, 1.6, (0.0, 1.0))])
def test_a_clock_that_is_off_throughout(by: float, sigma: float, within: tuple[float, float]) -> None:
    f = score(made(clock=moved(SAID_CLOCK, by, sigma)), truth(clock=TRUE_CLOCK))
    assert f["clock_covered_rate"] == 1.0 and f["clock_pass_rate"] == 1.0
    for name in ("clock_error_s", "clock_error_outside_brackets_s"):
        assert [f[f"{name}_p{p}"] for p in (50, 95, 100)] == pytest.approx([abs(by)] * 3)
    assert (f["clock_within_1_sigma_rate"], f["clock_within_95_rate"]) == within


def test_a_clock_that_covers_half_and_another_pass() -> None:
    f = score(made(clock=SAID_CLOCK[:1]), truth(clock=TRUE_CLOCK))
    assert f["clock_covered_rate"] == pytest.approx(0.5, abs=0.002)  # 600 s of 1200 s
    wrong_pass = [SAID_CLOCK[0], SAID_CLOCK[1] | {"pass": 2}, SAID_CLOCK[2] | {"pass": 2}]
    assert score(made(clock=wrong_pass), truth(clock=TRUE_CLOCK))["clock_pass_rate"] == pytest.approx(0.5, abs=0.002)


def test_readings_where_an_inferred_hold_may_lie_are_counted_apart() -> None:
    hold = {"hold": 1, "pass": 1, "t_s": -450.0, "start_utc": at(-600), "end_utc": at(-300), "duration_s": 300.0, "planned_s": 0.0, "kind": "unplanned",
            "basis": "inferred", "t_low_s": -600.0, "t_high_s": -300.0}
    said = [segment(1, 1, "counting", -1200, -750, -900, -450), segment(2, 1, "holding", -750, -450, -450, -450), segment(3, 1, "counting", -450, 0, -450, 0)]
    f = score(made(clock=said, holds=[hold]), truth(clock=TRUE_CLOCK))
    # the clocks part by up to 150 s between T-450 and T-300, inside the bracket; outside it they agree
    assert f["clock_error_s_p100"] == pytest.approx(150.0, abs=1.0)
    assert f["clock_error_outside_brackets_s_p100"] == pytest.approx(0.0)
    assert f["clock_within_1_sigma_rate"] == 1.0
    called = score(made(clock=said, holds=[hold | {"basis": "called"}]), truth(clock=TRUE_CLOCK))
    assert called["clock_error_outside_brackets_s_p100"] == pytest.approx(150.0, abs=1.0)
    elsewhere = score(made(clock=said, holds=[hold | {"pass": 2}]), truth(clock=TRUE_CLOCK))
    assert elsewhere["clock_error_outside_brackets_s_p100"] == pytest.approx(150.0, abs=1.0)


def mine(start: float, length: float | None, **more: Any) -> dict[str, Any]:
    return {"hold": 1, "pass": 1, "t_s": -300.0, "start_utc": at(start), "end_utc": None if length is None else at(start + length), "duration_s": length,
            "planned_s": 0.0, "kind": "unplanned", "basis": "called"} | more


def real(start: float, length: float | None, **more: Any) -> dict[str, Any]:
    return {"pass": 1, "t_s": -300.0, "start_utc": text(start), "end_utc": None if length is None else text(start + length), "duration_s": length,
            "kind": "unplanned", "called": True} | more


@pytest.mark.parametrize(("said", "true", "found", "error"), [
    (mine(-600, 290), real(-600, 300), True, 10.0), (mine(-600, 310), real(-500, 300), True, 10.0), (mine(-600, 100), real(-490, 300), False, None),
    (mine(-600, 100), real(-500, 300), False, None), (mine(-615, 10), real(-600, 300), True, 290.0), (mine(-616, 10), real(-600, 300), False, None),
    (mine(-600, None), real(-600, 300), True, None), (mine(-600, 300), real(-600, None), True, None), (mine(-600, None), real(-900, 200), False, None),
    (mine(-600, 300, **{"pass": 2}), real(-600, 300), False, None), (mine(-600, 300), real(-600, 300, **{"pass": 2}), False, None)])
def test_a_called_hold_is_found_by_overlap_or_by_its_beginning(said: dict, true: dict, found: bool, error: float | None) -> None:
    f = score(made(holds=[said]), truth(holds=[true]))
    assert (f["hold_called_precision"], f["hold_called_recall"]) == ((1.0, 1.0) if found else (0.0, 0.0))
    assert f["hold_called_duration_error_s_p100"] == error
    assert f["hold_kind_rate"] == (1.0 if found else None)
    assert f["hold_silent_precision"] is None


def test_a_hold_of_another_kind() -> None:
    f = score(made(holds=[mine(-600, 300, kind="built_in"), mine(-200, 50)]), truth(holds=[real(-600, 300), real(-200, 50)]))
    assert f["hold_kind_rate"] == 0.5


def test_of_two_holds_that_overlap_the_longer_overlap_is_the_one_and_each_is_found_once() -> None:
    said = [mine(-700, 150), mine(-550, 200)]
    f = score(made(holds=said), truth(holds=[real(-600, 300)]))
    assert (f["hold_called_precision"], f["hold_called_recall"], f["hold_called_duration_error_s_p100"]) == (0.5, 1.0, 100.0)
    f = score(made(holds=[mine(-600, 300)]), truth(holds=[real(-600, 100), real(-450, 100)]))
    assert (f["hold_called_precision"], f["hold_called_recall"]) == (1.0, 0.5)


SILENT = {"basis": "inferred", "t_low_s": -400.0, "t_high_s": -200.0}


@pytest.mark.parametrize(("said", "true", "expected"), [
    (mine(-600, 60, **SILENT), real(-600, 60, called=False), (1.0, 1.0, 1.0)),
    (mine(-600, 60, **SILENT), real(-500, 60, called=False, t_s=-201.0), (1.0, 1.0, 1.0)),  # it may have begun up to 100 s later
    (mine(-600, 60, **SILENT), real(-755, 60, called=False), (1.0, 1.0, 1.0)),  # or ended up to 100 s sooner
    (mine(-600, 60, **SILENT), real(-765, 60, called=False), (0.0, 0.0, None)), (mine(-600, 60, **SILENT), real(-435, 60, called=False), (0.0, 0.0, None)),
    (mine(-600, 60, **SILENT), real(-600, 60, called=False, t_s=-199.5), (1.0, 1.0, 1.0)), (mine(-600, 60, **SILENT), real(-600, 60, called=False, t_s=-198.5), (1.0, 1.0, 0.0)),
    (mine(-600, 60, **SILENT), real(-600, 60, called=False, t_s=-400.5), (1.0, 1.0, 1.0)), (mine(-600, 60, **SILENT), real(-600, 60, called=False, t_s=-401.5), (1.0, 1.0, 0.0)),
    (mine(-600, 60, basis="inferred"), real(-600, 60, called=False), (1.0, 1.0, None)),
    (mine(-600, 60, basis="inferred", t_low_s=-400.0), real(-600, 60, called=False), (1.0, 1.0, None)),
    (mine(-600, 60, **SILENT), real(-600, 29, called=False), (None, None, None)), (mine(-600, 60, **SILENT), real(-600, 30, called=False), (1.0, 1.0, 1.0))])
def test_a_silent_hold_is_looked_for_in_its_bracket_from_half_a_minute_on(said: dict, true: dict, expected: tuple) -> None:
    f = score(made(holds=[said]), truth(holds=[true]))
    assert (f["hold_silent_precision"], f["hold_silent_recall"], f["bracket_rate"]) == expected
    assert f["hold_called_precision"] is None and f["hold_called_recall"] is None


def test_offsets_and_drift() -> None:
    def source(name: str, offset: float | None, sigma: float | None = 1.0, drift: float | None = None, reference: bool = False) -> dict[str, Any]:
        return {"source": name, "format": "notes", "time": "utc", "entries": 1, "rejected": 0, "offset_s": offset, "offset_sigma_s": sigma,
                "drift_ppm": drift, "reference": reference}

    said = [source("a", 5.0, 1.0, 10.0), source("b", -7.0, 2.0), source("c", None), source("d", 3.0, 1.0, 5.0, True), source("e", 4.0, None), source("f", 1.0)]
    true = [{"source": "a", "offset_s": 3.0, "drift_ppm": 4.0}, {"source": "b", "offset_s": -4.0, "drift_ppm": 1.0}, {"source": "c", "offset_s": 1.0},
            {"source": "d", "offset_s": 9.0, "drift_ppm": 0.0}, {"source": "e", "offset_s": 9.0, "drift_ppm": None}, {"source": "f", "offset_s": None},
            {"source": "g", "offset_s": 1.0}]
    t = tally_of(made(sources=said), truth(sources=true))
    f = figures(t)
    # errors 2 (a), 3 (b), 5 (e); within 1.96 sigma: b of a and b; c is unknown, d the reference, f and g have no pair
    assert [f[f"offset_error_s_p{p}"] for p in (50, 100)] == [3.0, 5.0] and t.samples["offset_error_s"] == [2.0, 3.0, 5.0]
    assert (f["offset_within_95_rate"], t.counts["offset_unknown"]) == (0.5, 1)
    assert (f["drift_error_ppm_p50"], f["drift_error_ppm_p100"]) == (6.0, 6.0)
    late = figures(tally_of(made(sources=[source("f", 1.0), source("a", 5.0)]), truth(sources=[{"source": "f"}, {"source": "a", "offset_s": 3.5}])))
    assert late["offset_error_s_p100"] == 1.5  # a log without a true offset does not end the list


def test_when_each_event_was_said() -> None:
    def event(n: int, line: int, s: float | None, sigma: float = 1.0, source: str = "net.vtt") -> dict[str, Any]:
        return {"event": n, "source": source, "line": line, "utc": None if s is None else at(s), "utc_sigma_s": sigma, "kind": "call", "text": "x", "medium": "speech"}

    events = [event(0, 1, -100.0, 2.0), event(1, 2, -50.0, 1.0), event(2, 2, -44.0, 1.0), event(3, 3, None), event(4, 4, -10.0, 1.0), event(5, 1, 0.0, 1.0, "notes.txt")]
    lines = [{"source": "net.vtt", "line": 3, "utc": text(-30), "step": None}, {"source": "net.vtt", "line": 9, "utc": text(-30), "step": None},
             {"source": "net.vtt", "line": 4, "utc": None, "step": None}, {"source": "net.vtt", "line": 1, "utc": text(-103), "step": None},
             {"source": "net.vtt", "line": 2, "utc": text(-43.5), "step": None}]
    t = tally_of(made(events=events), truth(lines=lines))
    assert t.samples["event_time_error_s"] == [3.0, 0.5]  # of two sentences of line 2 the nearer one is meant
    f = figures(t)
    assert (f["event_within_1_sigma_rate"], f["event_within_95_rate"]) == (0.5, 1.0)


def test_the_outcome_is_scored_where_it_is_told() -> None:
    assert score(made(), truth(), "liftoff")["outcome_rate"] == 1.0
    assert score(made(), truth(), "scrub")["outcome_rate"] == 0.0
    assert score(made(), truth())["outcome_rate"] is None


def test_tallies_by_hand() -> None:
    t = Tally()
    for true, said in ((True, True), (True, True), (True, False), (False, True), (False, False)):
        t.flag("q", true, said)
    assert dict(t.counts) == {"q_tp": 2, "q_fp": 1, "q_fn": 1}
    assert precision_recall(t, "q") == {"q_precision": 2 / 3, "q_recall": 2 / 3, "q_f1": 4 / 6}
    t.hit("r", True)
    t.hit("r", False)
    t.hit("r", False)
    assert rate(t, "r") == 1 / 3 and rate(t, "none") is None
    assert ratio(0, 4) == 0.0 and ratio(0, 0) is None
    t.add("e", 1.0)
    t.sureness.append((0.5, True))
    other = Tally()
    other.add("e", 3.0)
    other.add("f", 2.0)
    other.hit("r", True)
    other.sureness.append((0.7, False))
    both = pool([t, other])
    assert both.samples == {"e": [1.0, 3.0], "f": [2.0]} and both.sureness == [(0.5, True), (0.7, False)]
    assert rate(both, "r") == 0.5 and (t.samples, t.sureness) == ({"e": [1.0]}, [(0.5, True)])


def test_percentiles_and_bins_at_their_edges() -> None:
    assert percentile([], 50) is None and percentile([7.0], 95) == 7.0
    assert percentile([4.0, 1.0, 3.0, 2.0], 50) == 2.5 and percentile([0.0, 10.0], 95) == 9.5
    assert percentile([1.0, float("inf"), float("inf")], 75) == float("inf")
    # 1.0 falls in the last bin, with 0.95: (1.95 - 2) over two; 0.1 opens the second bin and does not mix with 0.05
    assert calibration_error([(1.0, True), (0.95, True)]) == pytest.approx(0.025)
    assert calibration_error([(0.1, True), (0.05, False)]) == pytest.approx((0.9 + 0.05) / 2)
    assert calibration_error([(0.3, True), (0.6, False)], bins=1) == pytest.approx(0.05)


@pytest.mark.parametrize(("said", "heard", "recall"), [
    ("prop open the vent now", "prop open the vent now", 0.0), ("prop open the vent now", "prop dent a vent now", 0.0), ("prop open the vent now", "prop dent a bent now", None),
    (None, "opn vnt", 0.0)])
def test_what_no_log_tells_in_most_of_its_words_cannot_be_told_to_be_out_of_order(said: str | None, heard: str, recall: float | None) -> None:
    """Three words of five are most of them; what a keeper wrote stands as it was written. A false finding counts whatever the logs tell."""
    lines = [{"source": "net.vtt", "line": 1, "step": "1.1", "pass": 1, "said": said}]
    events = [{"event": 1, "source": "net.vtt", "line": 1, "kind": "call", "text": heard, "medium": "speech"}]

    def told(mine: bool, real: bool) -> dict[str, Any]:
        step = [STEP | {"step": "1.1", "out_of_order": mine}]
        return score(made(steps=step, events=events), truth(steps=[REAL | {"step": "1.1", "out_of_order": real}], lines=lines))

    assert told(False, True)["order_tellable_recall"] == recall and told(False, True)["out_of_order_recall"] == 0.0
    assert told(True, False)["order_tellable_precision"] == 0.0 and told(True, True)["order_tellable_recall"] == 1.0
