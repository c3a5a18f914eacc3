"""The figures behind a match, worked out by hand on a few utterances: how far from due, who spoke, what the words weigh, what others say.

Builders: `said` and `planned` make the arrays of a count from a few lines; times in seconds, due at 0 unless said otherwise.
"""

from __future__ import annotations

from math import exp, inf, log, log1p, nan
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from aftercount.match import (
    calibrate,
    candidates,
    context,
    dialogue,
    doubt,
    firsts,
    logodds,
    moments,
    signs,
    verdicts,
    weights,
)
from aftercount.match.conflict import ABOUT, MISHEARD, NOT_DONE, NOT_NOW, STATE
from aftercount.match.likeness import Likeness
from match.small import a_log, a_plan, due_of

CALL, RESPONSE, REPORT, RECORD = signs.CALL, signs.RESPONSE, signs.REPORT, signs.RECORD


def said(*rows: dict[str, Any]) -> signs.Said:
    """Utterances: each row says what differs from a report by station 1 to nobody on log 0 at 0 s."""
    base = {"utc_s": 0.0, "t_s": nan, "pass_": 1, "sigma_s": 0.0, "station": 1, "to": -1, "part": REPORT, "kind": "report", "medium": "speech", "source": 0, "rolled": False}
    full = [base | r for r in rows]
    kinds = {"kind": object, "medium": object}
    return signs.Said(**{k: np.array([r[k] for r in full], dtype=kinds.get(k)) for k in base})


def planned(*rows: dict[str, Any]) -> signs.Planned:
    base = {"row": 0, "due_s": 0.0, "planned_t_s": 0.0, "pass_": 1, "sigma_s": 0.0, "reached": True, "in_hold": False, "by": 1, "to": 0, "is_poll": False,
            "must": True, "early_s": 10.0, "late_s": 10.0}
    full = [base | r for r in rows]
    return signs.Planned(**{k: np.array([r[k] for r in full]) for k in base})


def at(*numbers: int) -> np.ndarray:
    return np.array(numbers, dtype=np.int64)


def sig(x: float) -> float:
    return 1 / (1 + exp(-x))


# --- signs ---

@pytest.mark.parametrize(("heard", "due", "late"), [
    ({"utc_s": 110.0, "t_s": -490.0}, {"due_s": 100.0, "planned_t_s": -500.0}, 10.0), ({"utc_s": 90.0, "t_s": -510.0}, {"due_s": 100.0, "planned_t_s": -500.0}, -10.0),
    # a hold of 100 s between due and said counts for 15 s
    ({"utc_s": 210.0, "t_s": -490.0}, {"due_s": 100.0, "planned_t_s": -500.0}, 25.0), ({"utc_s": 210.0, "t_s": -490.0}, {"due_s": 100.0, "planned_t_s": -500.0, "in_hold": True}, 110.0),
    ({"utc_s": 210.0, "t_s": -490.0, "pass_": 2}, {"due_s": 100.0, "planned_t_s": -500.0}, 110.0), ({"utc_s": nan, "t_s": -490.0}, {"due_s": 100.0, "planned_t_s": -500.0}, 10.0),
    ({"utc_s": 110.0, "t_s": -490.0}, {"due_s": nan, "planned_t_s": -500.0}, 10.0), ({"utc_s": nan, "t_s": nan}, {}, nan), ({"utc_s": 7.0, "t_s": nan}, {}, 7.0),
    # the wall is nearer: the count says 60 s, 55 s of which the wall never saw
    ({"utc_s": 5.0, "t_s": 60.0}, {}, 5.0)])
def test_how_far_from_due(heard: dict, due: dict, late: float) -> None:
    got = signs.lateness_s(said(heard), planned(due), at(0), at(0))
    assert got[0] == pytest.approx(late, nan_ok=True)


@pytest.mark.parametrize(("heard", "speaker", "addressee"), [
    ({"part": CALL, "station": 0, "to": 1}, 1, 1), ({"part": CALL, "station": 1, "to": 0}, -1, -1), ({"part": CALL, "station": 0, "to": 2}, 1, -1),
    ({"part": REPORT, "station": 1, "to": 0}, 1, 1), ({"part": REPORT, "station": 0, "to": 1}, -1, -1), ({"part": RESPONSE, "station": 2, "to": -1}, -1, 0),
    ({"part": REPORT, "station": -1, "to": 0}, 0, 1), ({"part": REPORT, "station": -2, "to": -1}, -1, 0)])
def test_who_spoke_to_whom(heard: dict, speaker: int, addressee: int) -> None:
    """The step is done by station 1 on the call of station 0."""
    got = signs.station_agreement(said(heard), planned({}), (at(0), at(0)), at(heard["part"]))
    assert (got[0][0], got[1][0]) == (speaker, addressee)


@pytest.mark.parametrize("part", [CALL, REPORT])
@pytest.mark.parametrize("plan", [{"by": -1, "to": -1}, {"by": -2, "to": -2}])
def test_a_plan_without_known_stations_says_nothing_of_who_spoke(part: int, plan: dict) -> None:
    got = signs.station_agreement(said({"part": part, "station": 0, "to": 1}), planned(plan), (at(0), at(0)), at(part))
    assert (got[0][0], got[1][0]) == (0, 0)


@pytest.mark.parametrize(("heard", "plan", "part"), [
    # station 0 calls for what station 1 does: by it, a note or what it tells the other is the order, and its own report is none
    ({"kind": "note", "station": 0}, {}, CALL), ({"station": 0, "to": 1}, {}, CALL), ({"station": 0}, {}, REPORT), ({"kind": "note"}, {}, REPORT),
    ({"kind": "note", "station": -1}, {}, REPORT), ({"kind": "note", "station": 2}, {}, REPORT), ({"kind": "response", "station": 0, "to": 1, "part": RESPONSE}, {}, RESPONSE),
    ({"kind": "call", "part": CALL, "station": 1}, {}, REPORT), ({"kind": "call", "part": CALL, "station": 2}, {}, CALL),
    # one station does it all, or nobody is named, or the others answer for themselves
    ({"kind": "note", "station": 1}, {"to": 1}, REPORT), ({"kind": "call", "part": CALL, "station": 1}, {"to": -1}, CALL), ({"kind": "call", "part": CALL, "station": 1}, {"is_poll": True}, CALL),
    ({"kind": "note", "part": RECORD, "station": 0}, {}, RECORD)])
def test_who_speaks_decides_what_it_can_be(heard: dict, plan: dict, part: int) -> None:
    assert signs.parts(said(heard), planned(plan), at(0), at(0)).tolist() == [part]


def test_utterances_as_arrays() -> None:
    log = a_log("-5 | TC>PROP | call | a", "-4 | prop> | response | b", "-3 | > | note | c", "-2 | XX>TC | poll | d", "-1 | PROP>TC | report | e")
    log = log.assign(source=["z.txt", "a.vtt", "a.vtt", "z.txt", "a.vtt"], medium=["typed", "typed", "typed", "typed", "machine"])
    log.loc[1, ["utc_us", "t_s", "pass", "sigma_s"]] = [pd.NA, nan, pd.NA, nan]
    log.loc[2, "sigma_s"] = inf
    got = signs.said(log, {"PROP": 0, "TC": 1})
    t0 = 1_934_289_000.0
    assert got.utc_s.tolist() == pytest.approx([t0 - 5, nan, t0 - 3, t0 - 2, t0 - 1], nan_ok=True)
    assert got.t_s.tolist() == pytest.approx([-5, nan, -3, -2, -1], nan_ok=True)
    assert got.pass_.tolist() == [1, 0, 1, 1, 1]
    assert got.sigma_s.tolist() == [0.5, 0.0, 0.0, 0.5, 0.5]
    assert got.station.tolist() == [1, 0, -1, -2, 0] and got.to.tolist() == [0, -1, -1, 1, 1]
    assert got.part.tolist() == [CALL, RESPONSE, REPORT, CALL, RECORD]
    assert got.source.tolist() == [1, 0, 0, 1, 0] and got.kind.tolist() == ["call", "response", "note", "poll", "report"]


def test_steps_due_as_arrays() -> None:
    plan = a_plan("1 | -60 | TC>PROP | Open vent", "2 | -30 | TC>XX | Poll the team")
    plan.table.loc[:, "row"] = [7, 3]  # rows are named, not counted
    plan.table.loc[1, ["must", "early_s", "late_s"]] = [False, 4.0, 6.0]
    due = due_of(plan).assign(**{"pass": [2, 1], "reached": [True, False], "in_hold": [False, True], "due_sigma_s": [0.5, 2.0]})
    due.loc[1, "due_utc"] = pd.NaT
    got = signs.planned(due.iloc[::-1], plan, {"PROP": 4, "TC": 5})
    assert got.row.tolist() == [1, 0] and got.pass_.tolist() == [1, 2]
    assert got.due_s.tolist() == pytest.approx([nan, 1_934_289_000.0 - 60], nan_ok=True) and got.planned_t_s.tolist() == [-30, -60]
    assert got.reached.tolist() == [False, True] and got.in_hold.tolist() == [True, False] and got.sigma_s.tolist() == [2.0, 0.5]
    assert got.by.tolist() == [-2, 4] and got.to.tolist() == [5, 5] and got.is_poll.tolist() == [True, False] and got.must.tolist() == [False, True]
    assert got.early_s.tolist() == [4.0, 10.0] and got.late_s.tolist() == [6.0, 10.0]


# --- log-odds ---

def alike(**more: Any) -> Likeness:
    """Two texts (utterances 0 and 1) against two steps."""
    full = {"text_of": at(0, 1), "coverage": [[0.95, 0.4], [0.5, 0.2]], "explained": [[0.9, 0.3], [0.6, 0.1]], "evidence": [[12.0, 2.0], [30.0, 1.0]],
            "lacking": [[1.0, 5.0], [2.0, 25.0]], "conflict": [[0.0, 1.0], [3.0, 0.0]], "fellow": [[0.0, 0.8], [0.0, 0.0]], "lone": [[0.0, 1.0], [0.0, 0.0]], "content": [2.0, 0.5], "repeats": [1.0, 8.0], "garbled": [0.2, 0.0]} | more
    return Likeness(**{k: np.array(v) for k, v in full.items()})


def features(*, heard: tuple[dict, ...] = ({}, {}), due: tuple[dict, ...] = ({}, {"row": 1}), bits: tuple[int, int] = (0, 0), lead: tuple[float, float] = (0.0, 0.0),
             own: tuple[int, int] = (0, 0), ids: tuple[int, ...] = (0, 0, 0, 0), words: Likeness | None = None) -> list[dict[str, float]]:
    """The features of all four pairs, in the order (0,0), (1,0), (0,1), (1,1) of (utterance, step)."""
    misses = logodds.Misses(np.array(bits, dtype=np.int16), np.array(lead), np.array(own, dtype=np.int16), ["", ""], [frozenset()] * 2)
    table = logodds.own_features(words or alike(), said(*heard), planned(*due), (at(0, 1, 0, 1), at(0, 0, 1, 1)), said(*heard).part[[0, 1, 0, 1]], misses, np.array(ids))
    assert table.shape == (4, len(logodds.FEATURES))
    return [dict(zip(logodds.FEATURES, row, strict=True)) for row in table.tolist()]


def test_what_the_words_weigh() -> None:
    a, b, c, d = features()
    assert {k: a[k] for k in ("coverage", "coverage_high", "explained", "both", "exact", "evidence", "lacking", "conflict", "margin", "lacking_garbled", "garbled", "content",
                              "repeats", "bias")} == pytest.approx({
        "coverage": 0.95, "coverage_high": 0.35, "explained": 0.9, "both": 0.855, "exact": 1.0, "evidence": 2.4, "lacking": 0.2, "conflict": 0.0,
        "margin": (0.95 + 0.45) - (0.4 + 0.15 - 0.5), "lacking_garbled": 0.01, "garbled": 0.2, "content": log(3), "repeats": 0.0, "bias": 1.0})
    assert {k: b[k] for k in ("coverage_high", "exact", "evidence", "lacking", "conflict", "margin", "content", "repeats")} == pytest.approx({
        "coverage_high": 0.0, "exact": 0.0, "evidence": 4.0, "lacking": 0.4, "conflict": 2.0, "margin": (0.5 + 0.3 - 1.0) - (0.2 + 0.05), "content": log(1.5), "repeats": log(8)})
    assert (c["margin"], d["margin"]) == pytest.approx((0.05 - 1.4, 0.25 + 0.2))
    assert d["lacking"] == 4.0


@pytest.mark.parametrize(("coverage", "explained", "exact"), [(0.9, 0.9, 1.0), (0.89, 0.9, 0.0), (0.9, 0.89, 0.0)])
def test_when_text_and_step_say_the_same(coverage: float, explained: float, exact: float) -> None:
    assert features(words=alike(coverage=[[coverage, 0.0], [0.0, 0.0]], explained=[[explained, 0.0], [0.0, 0.0]]))[0]["exact"] == exact


def test_a_plan_of_one_step_has_no_rival() -> None:
    only = alike(coverage=[[0.8]], explained=[[0.4]], conflict=[[1.0]])
    assert logodds.margin(only).tolist() == [[pytest.approx(0.8 + 0.2 - 0.5)]]
    equal = alike(coverage=[[0.8, 0.8]], explained=[[0.4, 0.4]], conflict=[[0.0, 0.0]])
    assert logodds.margin(equal).tolist() == [[pytest.approx(0.0)] * 2]


def test_what_the_time_weighs() -> None:
    """Clocks good to 3 and 4 s: the pace is the root of 12² + 3² + 4² = 13 s, the fine pace the root of 2.5² + 25 = 5.59 s."""
    heard = ({"utc_s": 26.0, "sigma_s": 3.0}, {"utc_s": -5.0, "sigma_s": 3.0})
    a, b, c, _ = features(heard=heard, due=({"sigma_s": 4.0}, {"row": 1, "sigma_s": 4.0, "due_s": -5000.0}))
    assert (a["distance"], a["close"], a["early"], a["no_time"]) == pytest.approx((log1p(4), 3.0, 0.0, 0.0))
    assert (b["distance"], b["close"], b["early"]) == pytest.approx((log1p(25 / 169), log1p(25 / 31.25), log1p(25 / 169)))
    assert c["distance"] == 9.0  # beyond it further distance says nothing more
    assert a["exact_far"] == pytest.approx(log1p(4)) and b["exact_far"] == 0.0
    unknown = features(heard=({"utc_s": nan}, {}))[0]
    assert (unknown["distance"], unknown["close"], unknown["early"], unknown["no_time"]) == (0.0, 3.0, 0.0, 1.0)


@pytest.mark.parametrize(("heard", "due", "set_"), [
    ({"part": CALL, "kind": "call"}, {}, {"is_call"}), ({"part": RESPONSE, "kind": "response"}, {}, {"is_response"}), ({}, {}, {"is_report"}), ({"kind": "note"}, {}, set()),
    ({"part": RECORD}, {}, {"is_record"}), *(({"kind": k}, {}, {"is_clock"}) for k in ("mark", "hold", "resume", "recycle", "cutoff", "scrub")),
    ({"part": CALL, "kind": "poll"}, {"is_poll": True}, {"is_call", "poll_fits"}), ({"kind": "report"}, {"is_poll": True}, {"is_report", "poll_other"}),
    ({"part": RECORD, "kind": "report"}, {"is_poll": True}, {"is_record"}), ({"part": CALL, "kind": "poll"}, {}, {"is_call"}), ({}, {"reached": False}, {"is_report", "unreached"}),
    ({}, {"must": False}, {"is_report", "optional"}), ({"kind": "liftoff"}, {}, set())])
def test_what_kind_of_utterance_it_is(heard: dict, due: dict, set_: set[str]) -> None:
    names = ("is_call", "is_response", "is_report", "is_record", "is_clock", "poll_fits", "poll_other", "unreached", "optional")
    got = features(heard=(heard, {}), due=(due, {"row": 1}))[0]
    assert {n for n in names if got[n]} == set_


def test_who_spoke_as_signs() -> None:
    a, b, *_ = features(heard=({"station": 1, "to": 2}, {"station": 2, "to": 0}))
    names = ("speaker_same", "speaker_other", "to_same", "to_other")
    assert [a[n] for n in names] == [1, 0, 0, 1] and [b[n] for n in names] == [0, 1, 1, 0]


def test_near_misses_count_but_where_the_plan_says_so_itself_or_a_poll_is_called() -> None:
    names = ("not_done", "not_now", "about", "lead_in")
    a, b, c, d = features(bits=(NOT_DONE | ABOUT, NOT_NOW), lead=(0.5, 0.5), own=(0, NOT_NOW))
    assert [a[n] for n in names] == [1, 0, 1, 0] and [b[n] for n in names] == [0, 1, 0, 0]
    assert [c[n] for n in names] == [1, 0, 1, 0] and [d[n] for n in names] == [0, 0, 0, 0]  # step 1 says itself that it is to come
    plain = features(lead=(0.5, 0.25))
    assert [p["lead_in"] for p in plain] == [0.5, 0.25, 0.5, 0.25]
    poll = ({"part": CALL, "kind": "poll"}, {})
    e, f, g, _ = features(heard=poll, due=({"is_poll": True}, {"row": 1}), bits=(NOT_NOW, NOT_NOW), lead=(0.5, 0.5))
    assert [e[n] for n in names] == [0, 0, 0, 0] and f["not_now"] == g["not_now"] == 1
    assert features(heard=poll, due=({"is_poll": True}, {"row": 1}), lead=(0.5, 0.5))[0]["lead_in"] == 0.0
    written, *_ = features(heard=({"part": RECORD}, {}), bits=(ABOUT | NOT_DONE, 0))
    assert (written["about"], written["not_done"]) == (0, 1)  # a machine talks about nothing


@pytest.mark.parametrize(("garbled", "held"), [(0.21, True), (0.22, False)])
def test_a_short_word_that_recognition_puts_for_others_says_little_in_garbled_talk(garbled: float, held: bool) -> None:
    got, other, *_ = features(bits=(NOT_NOW | MISHEARD | STATE, NOT_DONE), words=alike(garbled=[garbled, garbled]), lead=(0.5, 0.0))
    assert (got["not_now"], got["misheard"], got["about"], other["not_done"], other["misheard"]) == (held, not held, 1, 1, 0)
    own, *_ = features(bits=(NOT_NOW | MISHEARD, 0), own=(NOT_NOW, 0), words=alike(garbled=[garbled, garbled]))
    assert own["not_now"] == own["misheard"] == 0  # the step says so itself


def test_a_named_id() -> None:
    assert [(f["id_same"], f["id_other"]) for f in features(ids=(1, -1, 0, 1))] == [(1, 0), (0, 1), (0, 0), (1, 0)]


def test_log_odds_are_the_weighted_sum_and_the_time_can_be_left_out() -> None:
    for name in logodds.FEATURES:
        one = np.array([[2.0 if n == name else 0.0 for n in logodds.FEATURES]])
        assert logodds.own_logit(one)[0] == pytest.approx(2.0 * weights.OWN[name])
        assert logodds.without_time(one)[0] == pytest.approx(0.0 if name in ("distance", "close", "early", "no_time") else 2.0 * weights.OWN[name])


def test_what_words_time_and_stations_say_each_by_itself() -> None:
    def share(**given: float) -> dict[str, float]:
        row = np.array([[given.get(n, 0.0) for n in logodds.FEATURES]])
        return {k: float(v[0]) for k, v in logodds.shares(row).items()}

    own = weights.OWN
    assert share() == pytest.approx({"text": sig(own["bias"]), "time": 1.0, "station": 0.5})
    assert share(coverage=0.8, distance=1.5, to_same=1.0) == pytest.approx({
        "text": sig(own["bias"] + 0.8 * own["coverage"]), "time": exp(1.5 * own["distance"]), "station": sig(own["to_same"])})
    assert share(distance=-2.0)["time"] == 1.0 and share(is_call=1.0) == pytest.approx(share())


# --- what others say ---

def around(heard: tuple[dict, ...], own: list[float], d: list[int] | None = None, u: list[int] | None = None, untimed: list[float] | None = None,
           distance: list[float] | None = None, ahead: list[float] | None = None, by: list[int] | None = None) -> list[dict[str, float]]:
    n = len(own)
    itself = context.Own(said(*heard).part[np.array(u or range(n))], np.array(own), np.array(own if untimed is None else untimed), np.array(distance or [0.0] * n),
                         np.array(ahead or [0.0] * n))
    table = context.context_features(said(*heard), np.array(by or [-1] * (1 + max(d or [0]))), (np.array(u or range(n)), np.array(d or [0] * n)), itself)
    assert table.shape == (n, len(context.FEATURES))
    return [dict(zip(context.FEATURES, row, strict=True)) for row in table.tolist()]


def test_a_log_that_has_a_step_to_come_tells_of_the_same_moment_on_another() -> None:
    heard = ({"utc_s": 0.0}, {"utc_s": 2.0, "source": 1}, {"utc_s": 2.0}, {"utc_s": 60.0, "source": 1})
    rows = around(heard, [2.0, -3.0, 1.0, 2.0], ahead=[0.0, 1.0, 0.4, 0.0])
    assert [r["ahead_elsewhere"] for r in rows] == [1.0, 0.0, pytest.approx(0.6), 0.0]


def test_who_accepts_what_was_just_ordered_of_him_answers_that_and_no_other_step() -> None:
    order, answer = {"part": CALL, "utc_s": 0.0, "station": 0}, {"part": RESPONSE, "utc_s": 3.0, "station": 1}
    # the order is step 0's, who does it is station 1; the answer is in the words of step 1
    first, second = around((order, answer), [2.0, 2.0], d=[0, 1], by=[1, 1])
    assert (first["answers_other"], second["answers_other"]) == (0.0, pytest.approx(1.0 / (1.0 + exp(-2.0))))
    assert around((order, answer), [2.0, 2.0], d=[0, 1], by=[2, 1])[1]["answers_other"] == 0.0  # ordered of another
    assert around((order, answer | {"part": REPORT}), [2.0, 2.0], d=[0, 1], by=[1, 1])[1]["answers_other"] == 0.0


def test_a_call_its_report_and_another_logs_record_support_each_other() -> None:
    heard = ({"part": CALL, "utc_s": 0.0}, {"part": REPORT, "utc_s": 60.0}, {"part": RECORD, "utc_s": 5.0, "source": 1})
    call, report, record = around(heard, [2.0, 1.0, 3.0], distance=[2.0, 1.0, 1.0])
    assert (call["thread"], report["thread"], record["thread"]) == pytest.approx((sig(1), sig(2), 0.0))
    assert (call["other_log"], report["other_log"], record["other_log"]) == pytest.approx((sig(3), sig(3), sig(2)))
    assert call["agreed_far"] == pytest.approx(2 * sig(3)) and (call["own"], call["bias"]) == (2.0, 1.0)
    assert [x["rival_moment"] for x in (call, report, record)] == [0.0] * 3 and [x["rival_step"] for x in (call, report, record)] == [0.0] * 3


@pytest.mark.parametrize(("when", "thread"), [(240.0, True), (241.0, False), (-1.0, True), (-2.0, False)])
def test_a_thread_is_a_call_and_what_follows_it_within_four_minutes(when: float, thread: bool) -> None:
    call, report = around(({"part": CALL}, {"part": REPORT, "utc_s": when}), [2.0, 1.0])
    assert (call["thread"], report["thread"]) == pytest.approx((sig(1), sig(2)) if thread else (0.0, 0.0))


@pytest.mark.parametrize(("one", "other", "agreed"), [
    ({}, {"utc_s": 12.0}, True), ({}, {"utc_s": 12.1}, False), ({"sigma_s": 3.0}, {"utc_s": 22.0, "sigma_s": 4.0}, True), ({"sigma_s": 3.0}, {"utc_s": 22.1, "sigma_s": 4.0}, False),
    ({"part": CALL}, {"utc_s": 72.0}, True), ({"part": CALL}, {"utc_s": 72.1}, False), ({}, {"utc_s": 5.0, "source": 0}, False), ({}, {"utc_s": nan}, False)])
def test_two_logs_agree_on_a_moment_within_twelve_seconds_and_their_clocks(one: dict, other: dict, agreed: bool) -> None:
    a, b = around((one, {"source": 1} | other), [2.0, 1.0])
    assert (a["other_log"], b["other_log"]) == pytest.approx((sig(1), sig(2)) if agreed else (0.0, 0.0))


@pytest.mark.parametrize(("when", "rival"), [(132.0, False), (133.0, True)])
def test_another_moment_that_fits_the_step_is_a_rival(when: float, rival: bool) -> None:
    a, b = around(({}, {"utc_s": when}), [2.0, 1.0])
    assert (a["rival_moment"], b["rival_moment"]) == ((7.0, 8.0) if rival else (0.0, 0.0))


def test_rivals_are_capped() -> None:
    a, b = around(({}, {"utc_s": 500.0}), [9.0, -9.0])
    assert (a["rival_moment"], b["rival_moment"]) == (0.0, 12.0)
    one, two = around(({},), [9.0, -9.0], d=[0, 1], u=[0, 0])
    assert (one["rival_step"], two["rival_step"]) == (0.0, 12.0)


def test_an_utterance_that_fits_two_steps_is_each_ones_rival() -> None:
    heard = ({}, {"utc_s": 1.0})
    pairs = around(heard, [2.0, 0.5, 1.0, -1.0], d=[0, 0, 1, 2], u=[0, 1, 0, 0])
    assert [p["rival_step"] for p in pairs] == [1.0 + 6, 0.0, 2.0 + 6, 2.0 + 6]


@pytest.mark.parametrize(("answer", "between", "other"), [
    ({"utc_s": 20.0}, 0, True), ({"utc_s": 20.1}, 0, False), ({"utc_s": 5.0}, 2, True), ({"utc_s": 5.0}, 3, False), ({"utc_s": 5.0, "source": 1}, 0, False), ({"utc_s": 5.0, "part": CALL}, 0, False),
    ({"utc_s": 5.0, "part": RECORD}, 0, False), ({"utc_s": -1.0}, 0, False)])
def test_an_answer_to_the_call_for_a_step_that_it_could_be_too(answer: dict, between: int, other: bool) -> None:
    heard = ({"part": CALL}, answer, *({"utc_s": 1.0 + k} for k in range(between)))
    pairs = around(heard, [2.0, 1.0, 0.5], d=[0, 0, 1], u=[0, 1, 1])
    assert [p["answers_other"] for p in pairs] == pytest.approx([0.0, 0.0, sig(2.0) if other else 0.0])
    assert around(heard, [2.0, 1.0], d=[0, 1], u=[0, 1])[1]["answers_other"] == 0.0  # it could not be that step
    assert around(heard, [-0.1, 1.0, 0.5], d=[0, 0, 1], u=[0, 1, 1])[2]["answers_other"] == 0.0  # what was called is hardly that step


def test_better_words_on_the_same_log_in_the_same_part_outdo_a_line() -> None:
    heard = ({}, {"utc_s": 1.0}, {"utc_s": 2.0, "source": 1}, {"utc_s": 3.0, "part": CALL})
    pairs = around(heard, [0.0] * 4, untimed=[1.0, 3.5, 9.0, 9.0])
    assert [p["outdone"] for p in pairs] == [2.5, 0.0, 0.0, 0.0]
    far = around(({}, {}), [0.0, 0.0], untimed=[0.0, 20.0])
    assert far[0]["outdone"] == 6.0


def test_the_full_log_odds_are_the_weighted_sum() -> None:
    for name in context.FEATURES:
        assert context.full_logit(np.array([[3.0 if n == name else 0.0 for n in context.FEATURES]]))[0] == pytest.approx(3.0 * weights.ALL[name])


# --- candidates ---

def test_what_is_worth_scoring_by_time() -> None:
    polls = said({"kind": "poll", "part": CALL, "utc_s": 1800.0}, {"kind": "poll", "part": CALL, "utc_s": 1801.0}, {"kind": "poll", "part": CALL, "utc_s": nan},
                 {"kind": "poll", "part": RECORD}, {"kind": "call", "part": CALL})
    assert candidates.polls(polls, planned({"is_poll": True}, {})) == {(0, 0), (2, 0)}


def test_an_id_names_its_step_in_every_pass() -> None:
    assert candidates.by_name({4: {0, 2}, 7: {5}}, planned({"row": 0}, {"row": 1}, {"row": 0, "pass_": 2}, {"row": 2})) == {(4, 0), (4, 2), (4, 3)}


@pytest.mark.parametrize(("content", "kind", "part", "text", "bare"), [
    (0.6, "report", REPORT, "TC PROP complete", True), (0.61, "report", REPORT, "TC PROP complete", False), (0.0, "response", RESPONSE, "copy", True),
    (0.0, "note", REPORT, "copy", False), (0.0, "report", RECORD, "DONE", False), (0.0, "report", REPORT, "reading is 40", False),
    (0.0, "report", REPORT, "forty", False), (0.0, "response", RESPONSE, "ten seconds", False), (0.0, "response", RESPONSE, "Seventeen", False), (0.0, "response", RESPONSE, "one", False)])
def test_a_bare_answer_has_no_word_of_a_step_and_no_number(content: float, kind: str, part: int, text: str, bare: bool) -> None:
    assert candidates.bare(said({"kind": kind, "part": part}), np.array([content]), [text]).tolist() == [bare]


def by_words(coverage: list[float], when: list[float], explained: float = 0.5) -> list[int]:
    n = len(coverage)
    words = alike(text_of=at(*range(n)), coverage=[[c] for c in coverage], explained=[[explained]] * n)
    u, d = candidates.by_words(words, said(*({"utc_s": w} for w in when)), planned({}))
    assert d.tolist() == [0] * len(u)
    return u.tolist()


def test_candidates_by_words_and_time() -> None:
    assert by_words([0.3, 0.19, 0.74, 0.74, 0.75, 0.5], [0.0, 0.0, 1800.0, 1801.0, 9000.0, nan]) == [0, 2, 4, 5]
    assert by_words([0.29, 0.2, 0.29, 0.29, 0.3], [0.0, 180.0, 181.0, nan, 181.0]) == [0, 1, 4]  # few of its words: near due alone
    # of more than 48 the nearest and best remain: one at 60 s is worth a quarter of log10(2) = 0.075 less than one at once
    assert by_words([0.5] * 48 + [0.58, 0.57], [0.0] * 48 + [60.0, 60.0]) == [*range(47), 48]
    assert by_words([0.19], [0.0]) == []
    assert by_words([0.11, 0.12, 0.19, 0.19], [0.0, 0.0, 180.0, 181.0], 0.99) == [1, 2]  # nothing but words of the step
    assert by_words([0.19], [0.0], 0.98) == []


# --- answers without words ---

def replies(heard: tuple[dict, ...], bare: list[bool], logit: list[float], steps: list[int] | None = None, texts: list[str] | None = None,
            due: tuple[dict, ...] = ({}, {"row": 1}), misses: list[int] | None = None) -> list[tuple[int, int, dict[str, float]]]:
    """(answer, step, figures): utterance k speaks of step steps[k] (default 0) with that log-odds."""
    n = len(heard)
    u = [k for k in range(n) if not bare[k]]
    pairs = (np.array(u), np.array([(steps or [0] * n)[k] for k in u]))
    short = dialogue.Short.of(np.array(bare), texts or ["copy"] * n)
    got = dialogue.answers(said(*heard), planned(*due), short, np.array(misses or [0] * n), pairs, np.array([logit[k] for k in u]))
    return [(int(a), int(d), dict(zip(dialogue.FEATURES, row, strict=True))) for a, d, row in zip(got.u, got.d, got.features.tolist(), strict=True)]


def test_a_bare_answer_belongs_to_the_line_before() -> None:
    heard = ({"part": CALL, "kind": "call", "station": 0, "to": 1}, {"utc_s": 9.0, "station": 1, "to": 0})
    [(answer, step, f)] = replies(heard, [False, True], [2.0, 0.0], texts=["open", "complete"], misses=[0, NOT_DONE])
    assert (answer, step) == (1, 0)
    assert f == pytest.approx({"bias": 1, "before": sig(2), "gap": log1p(9), "between": 0, "told": 0, "speaker_same": 1, "speaker_other": 0, "to_same": 1, "to_other": 0,
                               "is_report": 1, "says_done": 1, "not_done": 1})


@pytest.mark.parametrize(("text", "kind", "done"), [("TC PROP complete", "report", 1), ("COMPLETED", "report", 1), ("completes", "report", 1), ("all done", "report", 1), ("finished", "report", 1),
                                                    ("cmplt", "report", 1), ("mplt", "report", 1), ("accomplished", "report", 1), ("undone", "report", 0), ("complete", "response", 0)])
def test_what_says_done(text: str, kind: str, done: int) -> None:
    part = REPORT if kind == "report" else RESPONSE
    [(_, _, f)] = replies(({"part": CALL, "kind": "call"}, {"utc_s": 1.0, "kind": kind, "part": part}), [False, True], [2.0, 0.0], texts=["open", text])
    assert (f["says_done"], f["is_report"]) == (done, 1 if kind == "report" else 0)


def test_how_far_back_an_answer_may_reach() -> None:
    def found(*lines: dict[str, Any], logit: float = 2.0, due: tuple[dict, ...] = ({}, {"row": 1})) -> list[tuple[int, int]]:
        return [(a, d) for a, d, _ in replies(({"part": CALL, "kind": "call"}, *lines), [False] + [True] * len(lines), [logit] + [0.0] * len(lines), due=due)]

    assert found({"utc_s": 240.0}) == [(1, 0)] and found({"utc_s": 241.0}) == []
    assert found({"utc_s": 5.0, "source": 1}) == []
    assert found({"utc_s": 5.0}, logit=-1.0) == [(1, 0)] and found({"utc_s": 5.0}, logit=-1.1) == []
    assert found({"utc_s": 5.0}, due=({"is_poll": True}, {})) == []
    assert len(found(*({"utc_s": float(k)} for k in range(1, 13)))) == 10  # ten lines back


def test_calls_for_other_steps_between_and_reports_of_the_step() -> None:
    heard = ({"part": CALL, "kind": "call"}, {"utc_s": 5.0}, {"part": CALL, "kind": "call", "utc_s": 10.0}, {"utc_s": 20.0})
    got = replies(heard, [False, False, False, True], [2.0, 1.0, 3.0, 0.0], steps=[0, 0, 1, 0])
    assert [(a, d, f["before"], f["gap"], f["between"], f["told"]) for a, d, f in got] == [
        (3, 1, pytest.approx(sig(3)), pytest.approx(log1p(10)), 0, 0), (3, 0, pytest.approx(sig(1)), pytest.approx(log1p(15)), 1, 1)]


def test_a_line_that_fits_two_steps_speaks_of_the_likelier() -> None:
    short = dialogue.Short.of(np.array([False, True]), ["open", "copy"])
    got = dialogue.answers(said({"part": CALL}, {"utc_s": 3.0}), planned({}, {"row": 1}), short, np.zeros(2, dtype=int), (at(0, 0), at(0, 1)), np.array([1.0, 1.5]))
    assert got.d.tolist() == [1]
    assert got.logit == pytest.approx(got.features @ np.array(list(weights.BARE.values())))


# --- how sure ---

def test_probabilities_and_the_few_for_a_person() -> None:
    assert calibrate.probability([[1.0, 2.0], [0.0, 0.0]], {"a": 0.5, "b": -1.0}).tolist() == pytest.approx([sig(-1.5), 0.5])
    assert calibrate.probability([[100.0]], {"a": 1.0})[0] == pytest.approx(1 - exp(-30), abs=1e-15) and calibrate.probability([], {"a": 1.0}).tolist() == []
    assert calibrate.probability([[-100.0]], {"a": 1.0})[0] == pytest.approx(exp(-30), rel=1e-6)


def test_review_takes_the_least_sure_eight_in_a_hundred() -> None:
    confidence = np.full(50, 0.9)
    confidence[[7, 30, 31, 44]] = [0.5, 0.4, 0.4, 0.6]
    eligible = np.ones(50, dtype=bool)
    assert np.flatnonzero(calibrate.review_flags(confidence, eligible)).tolist() == [7, 30, 31, 44]
    confidence[2] = 0.45
    assert np.flatnonzero(calibrate.review_flags(confidence, eligible)).tolist() == [2, 7, 30, 31]
    eligible[30] = False
    assert np.flatnonzero(calibrate.review_flags(confidence, eligible)).tolist() == [2, 7, 31, 44]
    assert np.flatnonzero(calibrate.review_flags(np.full(50, 0.999), np.ones(50, dtype=bool))).tolist() == []
    assert np.flatnonzero(calibrate.review_flags(np.full(50, 0.9989), np.ones(50, dtype=bool))).tolist() == [0, 1, 2, 3]
    assert not calibrate.review_flags(np.full(6, 0.5), np.ones(6, dtype=bool)).any()  # less than half of one in twelve


@pytest.mark.parametrize(("steps", "sure", "flagged"), [(60, 0.969, 5), (60, 0.971, 4), (56, 0.5, 4), (57, 0.5, 5), (12, 0.969, 1), (12, 0.971, 0)])
def test_where_the_share_ends_amid_a_step_a_doubtful_one_is_flagged(steps: int, sure: float, flagged: int) -> None:
    assert calibrate.review_flags(np.full(steps, sure), np.ones(steps, dtype=bool)).sum() == flagged


def scored(heard: tuple[dict, ...], logit: list[float], own: tuple[dict, ...] | None = None, ctx: tuple[dict, ...] | None = None, bare: list[bool] | None = None,
           due: tuple[dict, ...] = ({},), d: list[int] | None = None, missed: list[bool] | None = None, refuted: list[bool] | None = None,
           content: list[float] | None = None, garbled: list[float] | None = None, later: list[bool] | None = None, text: list[int] | None = None) -> Any:
    """Pair k is utterance k with step d[k] (default 0). A near miss is of what is not now, unless `later` tells otherwise."""
    n = len(logit)

    def grid(rows: tuple[dict, ...] | None, names: tuple[str, ...]) -> np.ndarray:
        return np.array([[r.get(name, 0.0) for name in names] for r in (rows or ({},) * n)])

    def flags(given: list[bool] | None) -> np.ndarray:
        return np.array(given or [False] * n, dtype=bool)

    return SimpleNamespace(said=said(*heard), planned=planned(*due), u=np.arange(n), d=np.array(d or [0] * n), logit=np.array(logit), own=grid(own, logodds.FEATURES),
                           context=grid(ctx, context.FEATURES), bare=flags(bare), missed=flags(missed), later=flags(missed if later is None else later), asks=flags(None), refuted=flags(refuted),
                           content=np.array(content or [1.0] * n), garbled=np.array(garbled or [0.0] * n), part=said(*heard).part, text=np.array(text or range(n)),
                           made=SimpleNamespace(settled=frozenset(), pinned=frozenset(), excluded=frozenset()))


def threads(*args: Any, **kwargs: Any) -> list[moments.Thread]:
    s = scored(*args, **kwargs)
    return all_threads(s)


def all_threads(s: Any) -> list[moments.Thread]:
    return moments.threads(np.arange(len(s.u)), s, s.logit, np.zeros(len(s.u), dtype=bool))


ORDERED = ({"part": CALL, "kind": "call"}, {"part": RESPONSE, "kind": "response", "utc_s": 4.0}, {"part": REPORT, "utc_s": 30.0}, {"part": RECORD, "utc_s": 2.0, "source": 1})


def test_one_doing_of_a_step() -> None:
    [thread] = threads(ORDERED, [3.0, 2.0, 2.5, 4.0])
    assert set(thread.members) == {0, 1, 2, 3} and thread.lead == (0, 1, 2, 3) and moments.begun(thread) == 0
    assert thread.strength == pytest.approx(log(sum(exp(x) for x in (3.0, 2.0, 2.5, 4.0)))) and not thread.exact
    assert dict(zip(thread.members, thread.roles, strict=True)) == {0: CALL, 1: RESPONSE, 2: REPORT, 3: RECORD}
    for parts, first in (((1, 2, 3), 3), ((1, 2), 1), ((2,), 2)):
        [some] = threads(tuple(ORDERED[k] for k in parts), [2.0] * len(parts))
        assert parts[moments.begun(some)] == first


@pytest.mark.parametrize(("second", "doings"), [
    ({"utc_s": 240.0}, 1), ({"utc_s": 241.0}, 2), ({"utc_s": 241.0, "sigma_s": 1.0}, 1), ({"utc_s": 45.0, "part": CALL}, 1), ({"utc_s": 46.0, "part": CALL}, 2), ({"utc_s": nan}, 1)])
def test_when_a_step_was_done_again(second: dict, doings: int) -> None:
    found = threads(({}, second), [2.0, 1.5], ({}, {"coverage": 0.7}))
    assert len(found) == doings and moments.times_seen(found) == doings


@pytest.mark.parametrize(("second", "text", "doings"), [
    ({"utc_s": 46.0}, [0, 0], 2), ({"utc_s": 45.0}, [0, 0], 1), ({"utc_s": 46.0, "source": 1}, [0, 0], 1), ({"utc_s": 46.0}, [0, 1], 1)])
def test_a_log_that_says_the_same_again_tells_of_another_doing(second: dict, text: list[int], doings: int) -> None:
    assert len(threads(({}, second), [2.0, 1.5], text=text)) == doings


def firsts_of(rows: tuple[tuple[dict, float, dict], ...]) -> tuple[int, Any, Any]:
    """The utterance that began the step's first doing, of utterances with log-odds and signs, none of which were chosen but by these odds."""
    s = scored(tuple(r[0] for r in rows), [r[1] for r in rows], tuple(r[2] for r in rows))
    found = moments.threads(np.arange(len(rows)), s, s.logit, np.ones(len(rows), dtype=bool))
    found = firsts.first_of(found, s)
    return moments.begun(found[0]), found, s


def test_a_garbled_doing_at_due_was_the_first_and_a_clear_one_later_a_repeat() -> None:
    clear = {"coverage": 1.0, "explained": 1.0, "both": 1.0, "exact": 1.0, "coverage_high": 0.4, "margin": 0.9}
    garbled = {"coverage": 0.7, "explained": 0.8, "both": 0.56, "coverage_high": 0.1, "margin": 0.6}
    call = {"part": CALL, "kind": "call", "station": 0}
    rows = ((call, 2.0, garbled), (call | {"utc_s": 150.0}, 3.0, clear | {"distance": 5.0}))
    first, found, s = firsts_of(rows)
    assert first == 0 and len(found) == 2 and 0.0 < firsts.doubt_of(found, s) < 0.5
    # with next to nothing at due, the clear one was the first
    assert firsts_of(((call, -2.0, garbled | {"coverage": 0.3, "distance": 1.0, "early": 1.0}), rows[1]))[0] == 1
    assert firsts.doubt_of(found[:1], s) == 0.0


def test_what_was_no_doing_of_a_step_was_not_its_first() -> None:
    words = {"coverage": 1.0, "explained": 1.0, "both": 1.0, "exact": 1.0, "coverage_high": 0.4, "margin": 0.9, "close": 3.0, "distance": 6.0}
    alone = {"part": RESPONSE, "kind": "response"}, -3.0, words | {"coverage": 0.5, "explained": 0.3, "exact": 0.0, "speaker_other": 1.0}
    call = {"part": CALL, "kind": "call", "utc_s": 900.0}
    told = (call, 0.5, words), (call | {"source": 1}, 0.5, words), (call | {"part": RECORD, "utc_s": 904.0, "source": 2}, 0.5, words)
    s = scored(tuple(r[0] for r in (alone, *told)), [r[1] for r in (alone, *told)], tuple(r[2] for r in (alone, *told)), ({"answers_other": 1.0}, {}, {}, {}))
    found = moments.threads(np.arange(4), s, s.logit, np.ones(4, dtype=bool))
    weak_first = sorted(found, key=lambda t: t.strength)
    logs = doubt.Logs.of(s, [weak_first])
    assert [set(t.members) for t in weak_first] == [{0}, {1, 2, 3}]
    assert [set(t.members) for t in verdicts.likeliest(s, weak_first, np.arange(4), logs)] == [{1, 2, 3}]
    assert verdicts.likeliest(s, weak_first[:1], np.arange(4), logs) == weak_first[:1]  # with nothing else it is for the verdict to say
    assert verdicts.likeliest(s, weak_first[::-1], np.arange(4), logs) == weak_first[::-1]


def test_words_no_step_was_given_show_a_doing_only_if_plain_and_most_of_the_steps() -> None:
    words = {"coverage": 0.7, "explained": 1.0, "both": 0.7, "exact": 1.0, "coverage_high": 0.1, "margin": 0.9}
    rows = ({}, {}, {"coverage": 0.64}, {"lead_in": 0.2}, {"exact": 0.0, "margin": 0.0}, {})
    s = scored(tuple({"utc_s": 100.0 * k} for k in range(6)), [-5.0] * 6, tuple(words | r for r in rows), missed=[False] * 5 + [True])
    nobodys = np.array([-1] * 6)
    assert firsts.telling(s, nobodys).tolist() == [True, True, False, False, False, False]
    assert firsts.telling(s, np.array([1] + [-1] * 5)).tolist() == [False, True, False, False, False, False]  # another step's
    assert firsts.telling(s, np.array([0] + [-1] * 5)).tolist() == [True, True, False, False, False, False]  # its own
    s.made.excluded = frozenset([(1, 0)])  # by a reviewer, as no line of this step
    assert firsts.telling(s, nobodys).tolist() == [True, False, False, False, False, False]
    s.made.settled = frozenset([0])  # as missed or done
    assert not firsts.telling(s, nobodys).any()


@pytest.mark.parametrize(("own", "members"), [(({"exact": 1.0}, {}), {0, 1}), (({}, {}), {1}), (({}, {"exact": 1.0}), {1})])
def test_far_from_due_what_is_in_a_steps_words_tells_of_it_beside_the_likeliest(own: tuple[dict, dict], members: set[int]) -> None:
    found = threads(({}, {"utc_s": 900.0}), [-3.0, -2.0], own)
    assert {i for thread in found for i in thread.members} == members


def test_a_weak_repeat_is_no_repeat_unless_its_words_are_just_the_steps() -> None:
    again = ({}, {"utc_s": 900.0})
    said = ({}, {"coverage": 0.7})
    assert moments.times_seen(threads(again, [2.0, 0.9], said)) == 1 and moments.times_seen(threads(again, [2.0, 1.0], said)) == 2
    assert moments.times_seen(threads(again, [2.0, 1.0], ({}, {"coverage": 0.69}))) == 1  # talk that shares some of its words
    assert moments.times_seen(threads(again, [2.0, -2.0])) == 1
    assert moments.times_seen(threads(again, [2.0, -2.0], ({}, {"exact": 1.0}))) == 2
    assert moments.times_seen(threads(again, [2.0, -2.0], ({}, {"exact": 1.0, "lead_in": 0.1}))) == 1
    assert moments.times_seen(threads(({},), [0.5])) == 1 and moments.times_seen([]) == 0
    assert [t.strength for t in threads(again, [1.0, 4.0])] == pytest.approx([4.0, 1.0])  # the strongest first


def test_what_counts_beside_a_strong_line() -> None:
    near = ({}, {"utc_s": 2.0, "source": 1})
    assert [t.members for t in threads(near, [3.0, 0.9])] == [(0,)] and [t.members for t in threads(near, [2.9, 0.9])] == [(0, 1)]
    assert [t.members for t in threads(near, [3.0, 1.0])] == [(0, 1)] and [t.members for t in threads(near, [2.0, -0.1])] == [(0,)]
    assert [t.members for t in threads(near, [-2.0, -1.0])] == [(1,)]  # where nothing is likely, the best there is


def test_near_misses_and_refusals_must_be_strong_or_decided() -> None:
    assert threads(({},), [2.9], missed=[True]) == [] and len(threads(({},), [3.0], missed=[True])) == 1
    assert threads(({},), [0.9], missed=[True], later=[False]) == [] and len(threads(({},), [1.0], missed=[True], later=[False])) == 1
    assert threads(({},), [29.0], refuted=[True]) == [] and len(threads(({},), [30.0], refuted=[True])) == 1


def test_what_speaks_of_a_step_ahead_of_it_did_not_begin_it() -> None:
    two = ({"part": CALL, "kind": "call"}, {"part": CALL, "kind": "call", "utc_s": 20.0})
    assert threads(two, [5.0, 4.0], missed=[True, False])[0].members == (1,)
    assert threads(two, [5.0, 4.0], ({"lead_in": 0.4}, {}))[0].members == (1,)
    assert threads(two, [4.0, 5.0], missed=[False, True])[0].members == (0, 1)  # talk of it afterwards
    assert threads(two, [5.0, 0.9], missed=[True, False])[0].members[0] == 0  # what follows is hardly the step


def test_bare_answers_alone_are_no_doing_and_accept_only_a_call_that_was_heard() -> None:
    assert threads(({"part": RESPONSE},), [2.0], bare=[True]) == []
    answered = ({"part": CALL, "kind": "call"}, {"part": RESPONSE, "kind": "response", "utc_s": 3.0})
    assert threads(answered, [2.0, 2.0], bare=[False, True])[0].lead == (0, 1, -1, -1)
    reported = ({"part": REPORT}, {"part": RESPONSE, "kind": "response", "utc_s": 3.0})
    assert threads(reported, [2.0, 2.0], bare=[False, True])[0].lead == (-1, -1, 0, -1)
    both = ({"part": CALL, "kind": "call"}, {"utc_s": 9.0}, {"utc_s": 12.0})
    assert threads(both, [2.0, 1.0, 2.5], bare=[False, False, True])[0].lead == (0, -1, 1, -1)  # words before a bare 'complete'
    assert threads(both, [4.0, 1.0, 4.0], bare=[False, False, True])[0].strength == pytest.approx(log(exp(4.0) + exp(1.0)))


@pytest.mark.parametrize(("second_s", "kind", "roles"), [
    (6.0, "call", (CALL, CALL)), (6.1, "call", (CALL, REPORT)), (6.1, "note", (CALL, REPORT)), (3.0, "report", (REPORT, CALL))])
def test_what_sounds_like_a_call_well_after_one_is_the_completion(second_s: float, kind: str, roles: tuple[int, int]) -> None:
    first = {"part": CALL if kind == "call" else REPORT, "kind": kind}
    [thread] = threads((first, {"part": CALL, "kind": "call", "utc_s": second_s}), [2.0, 2.0])
    assert thread.roles == roles
    apart = threads((first, {"part": CALL, "kind": "call", "utc_s": second_s, "source": 1}), [2.0, 2.0])
    assert apart[0].roles == (first["part"], CALL)  # on another log it is that log's own word of the call


def test_of_calls_nearly_as_sure_the_earlier_began_the_step() -> None:
    calls = ({"part": CALL, "kind": "call", "utc_s": 3.0, "source": 0}, {"part": CALL, "kind": "call", "utc_s": 0.0, "source": 1})
    assert threads(calls, [4.0, 1.1])[0].lead[CALL] == 1 and threads(calls, [4.2, 1.1])[0].lead[CALL] == 0


def test_what_else_one_log_has_of_a_step_beside_what_began_it() -> None:
    twice = ({"part": CALL}, {"part": CALL, "utc_s": 30.0}, {"part": CALL, "utc_s": 20.0, "source": 1}, {"utc_s": 40.0}, {"utc_s": 50.0})
    s = scored(twice, [2.0, 3.5, 9.0, 2.5, 9.0], bare=[False] * 4 + [True])
    found = [moments.Thread((0, 1, 2, 3, 4), (CALL,) * 5, (0, -1, -1, -1), 9.0, False, 1.0)]
    [first, second] = doubt.of_seen(s, found, np.arange(5), at(0, 1), doubt.Logs.of(s, [found]))[:, [doubt.SEEN.index(n) for n in ("again", "outdone")]].tolist()
    assert first == pytest.approx([log1p(3), 1.5]) and second == pytest.approx([0.0, 0.0])


def doubts(s: Any, found: list[moments.Thread] | None = None) -> dict[str, float]:
    found = all_threads(s) if found is None else found
    [row] = doubt.of_seen(s, found, np.arange(len(s.u)), np.array([moments.begun(found[0])]), doubt.Logs.of(s, [found])).tolist()
    return dict(zip(doubt.SEEN, row, strict=True))


@pytest.mark.parametrize(("due_s", "telling", "silent"), [(50.0, 0, 0.5), (50.0, 1, 1.0), (101.0, 1, 0.0), (99.0, 1, 1.0), (-1.0, 0, 0.0)])
def test_a_log_that_tells_of_most_steps_and_not_of_this_one(due_s: float, telling: int, silent: float) -> None:
    """Log 0 tells of two of two steps and lasts from 0 to 100 s, log 1 of one, from 10 to 90 s."""
    s = scored(({"utc_s": 0.0}, {"utc_s": 10.0, "source": 1}, {"utc_s": 100.0}, {"utc_s": 90.0, "source": 1}), [3.0] * 4, d=[0, 0, 1, 2])
    doing = [moments.Thread(members, (REPORT,) * len(members), (-1, -1, members[0], -1), 3.0, False, 1.0) for members in ((0, 1), (2,))]
    assert doubt.Logs.of(s, [[doing[0]], [doing[1]], []]).silent(due_s, at(telling)) == silent


def test_the_figures_of_a_step_seen() -> None:
    own = ({"coverage": 0.8, "conflict": 1.0, "distance": 0.7, "lone": 1.0, "close": 2.0, "explained": 0.7, "to_same": 1.0, "is_clock": 1.0, "no_time": 1.0}, {"coverage": 0.9}, {}, {})
    s = scored(ORDERED, [3.0, 2.0, 12.0, 4.0], own, ({"rival_step": 5.0}, {}, {}, {}), garbled=[0.2, 0.0, 0.0, 0.0], due=({"must": False},))
    # the strongest other sign is the report, 30 s after; the machine's record is another part, 2 s after, on another log
    assert doubts(s) == pytest.approx({
        "bias": 1, "lead": 3, "lead_weak": 0, "lead_miss": 0, "lead_in": 0, "bare": 0, "best": 10, "second": 4, "logs": 1, "parts": 3, "runner_up": 0, "optional": 1,
        "agreed": 1, "gap": log1p(3), "gap_alone": 0, "distance": 0.7, "lacking": 0.2, "contrary": 1, "garbled": 0.2, "is_clock": 1, "is_record": 0, "rival_step": 5, "untimed": 1,
        "close": 2, "alone": 0, "unexplained": 0.3, "lone": 1, "poorer": 0.1, "speaker_other": 0, "to_same": 1, "poll_end": 0, "again": 0, "outdone": 7, "exact": 0, "answers_other": 0, "fuller": 0,
        "repeated": 0, "not_first": 0, "silent": 0, "afar": 0, "far_lacking": 0.7 * 0.2, "far_alone": 0})


def test_the_figures_of_a_step_seen_far_from_due_by_one_line() -> None:
    got = doubts(scored(({"utc_s": -700.0},), [2.0], ({"coverage": 0.75, "distance": 8.0},), due=({"due_s": 200.0},)))
    assert got["afar"] == pytest.approx(log1p(3)) and got["far_alone"] == 8.0 and got["far_lacking"] == 2.0


def test_another_doing_that_says_more_of_the_step_speaks_against_what_was_taken() -> None:
    s = scored(({"part": CALL}, {"utc_s": 999.0}, {"utc_s": 1999.0}), [2.5, 1.5, 1.2], ({"coverage": 0.3}, {"coverage": 0.8}, {"coverage": 0.4}))
    found = all_threads(s)
    assert doubts(s, found)["fuller"] == pytest.approx(0.5) and doubts(s, [found[1], found[0]])["fuller"] == 0
    scant = firsts.figures(found, s)[:, firsts.FEATURES.index("scant")]
    assert scant.tolist() == pytest.approx([0.3, 0.0, 0.2])


def test_the_figures_of_a_step_seen_once_and_weakly() -> None:
    s = scored(({"part": RECORD}, {"utc_s": 999.0}), [-2.0, -3.0])
    got = doubts(s)
    assert {k: got[k] for k in ("lead", "lead_weak", "best", "second", "logs", "parts", "runner_up", "agreed", "gap", "is_record", "optional", "lacking")} == pytest.approx(
        {"lead": 0, "lead_weak": -2, "best": 0, "second": 0, "logs": 0, "parts": 0, "runner_up": 0, "agreed": 0, "gap": 0, "is_record": 1, "optional": 0, "lacking": 1})
    rival = doubts(scored(({}, {"utc_s": 999.0}), [2.5, 1.5]))
    assert rival["runner_up"] == 1.5 and rival["second"] == 0
    assert doubts(scored(({},), [3.5], missed=[True]))["lead_miss"] == 1 and got["alone"] == 1
    assert doubts(scored(({},), [3.5], ({"lead_in": 0.3},)))["lead_in"] == 0.3
    assert doubts(scored(({"kind": "poll"},), [3.5], due=({"is_poll": True},)))["poll_end"] == 1


@pytest.mark.parametrize(("other", "agreed", "gap"), [({"utc_s": 12.0, "source": 1}, 1.0, log1p(1.2)), ({"utc_s": 13.0, "source": 1}, 0.0, log1p(1.3)), ({"utc_s": 5.0, "part": CALL}, 0.0, log1p(0.5)),
                                                     ({"utc_s": nan, "source": 1}, 0.0, 0.0)])
def test_whether_another_log_has_the_same_moment(other: dict, agreed: float, gap: float) -> None:
    got = doubts(scored(({"part": CALL}, other), [2.0, 1.5]))
    assert (got["agreed"], got["gap"], got["gap_alone"]) == pytest.approx((agreed, gap, gap * (1 - agreed)))


def unseen(s: Any, d: int, seen: list[bool], own: list[int] | None = None, used: list[int] | None = None) -> dict[str, float]:
    taken = np.zeros(len(s.said.utc_s), dtype=bool)
    taken[used or []] = True
    return dict(zip(doubt.UNSEEN, doubt.of_unseen(s, d, np.array(own or [], dtype=np.int64), np.array(seen), taken), strict=True))


def test_the_figures_of_a_step_not_seen() -> None:
    """Eight steps due, the fourth of them not seen; of the three before two were seen, of the three after two."""
    due = tuple({"due_s": 100.0 * k, "sigma_s": 20.0 if k == 3 else 0.0, "must": k != 3, "is_poll": k == 3} for k in range(8))
    heard = ({"utc_s": 290.0}, {"utc_s": 320.0, "source": 1}, {"utc_s": 300.0, "station": 2}, {"utc_s": 300.0, "part": RECORD}, {"utc_s": 331.0}, {"utc_s": 299.0}, {"utc_s": 301.0})
    s = scored(heard, [-3.0, 5.0, 0.0, 0.0, 0.0, 0.0, 0.0], due=due, garbled=[0.3] * 3 + [0.9] + [0.3] * 3, content=[0.5, 1.0, 1.0, 1.0, 1.0, 0.4, 1.0],
               refuted=[False, False, False, False, True, False, False])
    got = unseen(s, 3, [True, True, False, False, True, True, False, True], own=[0, 1, 4], used=[6])
    # talk near due: 0 and 1; not 2 (another station), 3 (a machine), 4 (31 s away), 5 (no telling word), 6 (another step's)
    assert got == pytest.approx({"bias": 1, "none": 0, "best": 3, "optional": 1, "garbled": 0.3, "logs": 1, "beside": 4 / 6, "trailing": 0,
                                 "due_sigma": log1p(2), "talk": log1p(2), "poll": 1, "said_near": log1p(6), "called": 0, "spoken": exp(-((10 / 6) ** 2))})
    # an order from the station that gives it to the one that does it, three seconds after due
    s = scored((*heard, {"utc_s": 303.0, "part": CALL, "station": 0, "to": 1}, {"utc_s": 301.0, "part": CALL, "station": 0, "to": 2}), [0.0] * 9, due=due)
    assert unseen(s, 3, [True] * 8, used=[6])["called"] == pytest.approx(exp(-0.25))


def test_a_step_at_the_end_of_a_count_that_stopped() -> None:
    due = ({}, {"due_s": 100.0}, {"due_s": 200.0}, {"due_s": nan, "reached": False}, {"pass_": 2})
    s = scored(({"utc_s": 5000.0},), [-20.0], due=due, refuted=[False])
    got = unseen(s, 2, [True, False, False, False, True], own=[0])
    assert (got["trailing"], got["beside"], got["best"], got["none"], got["talk"]) == (1.0, 0.5, -10.0, 0.0, 0.0)
    assert unseen(s, 0, [False, True, False, False, True])["trailing"] == 0.0 and unseen(s, 0, [False, False, False, False, True])["trailing"] == 1.0
    assert unseen(s, 4, [True] * 5)["beside"] == 1.0 and unseen(s, 4, [True] * 5)["trailing"] == 0.0
    none = unseen(scored(({},), [9.0], due=due, refuted=[True]), 2, [True] * 5, own=[0])
    assert (none["none"], none["best"]) == (1.0, 0.0)


def test_what_is_taken_is_used() -> None:
    s = scored(({}, {"utc_s": 900.0}, {"utc_s": 2000.0}), [2.0, 2.0, 2.0])
    found = moments.threads(at(0, 1), s, s.logit, np.zeros(3, dtype=bool))
    assert doubt.used(s, [found, []]).tolist() == [True, True, False]
