"""Which of a step's utterances is its order, its record, its acceptance and its report: the boundaries, on a few lines each.

A line: event, seconds, part, and what differs from 'said by TC to PROP on net.vtt'. The step is PROP's, on the call of TC.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from aftercount.findings.heard import Utterance, apart_s, apart_sigma_s
from aftercount.findings.parts import heard_parts, role

ROW = {"by": "PROP", "to": "TC"}
WHO = {"call": ("TC", "PROP", "call"), "response": ("PROP", "TC", "response"), "report": ("PROP", "TC", "report"), "record": (None, None, "report")}


def said(event: int, s: float | None, part: str, **more: Any) -> Utterance:
    station, to, kind = WHO[part]
    us = None if s is None else round(s * 1e6)
    full = {"source": "net.vtt", "line": event, "station": station, "to": to, "medium": "machine" if part == "record" else "speech", "kind": kind, "text": "x",
            "time_kind": "count", "own_us": None, "own_sigma_s": 0.1, "us": us, "sigma_s": 0.1, "t_s": s, "stamped_t": False, "in_pass": 1, "clock_sigma_s": 0.0} | more
    return Utterance(event=event, **full)


def parts(*lines: tuple[int, float | None, str] | tuple[int, float | None, str, dict[str, Any]], lead: dict[str, int] | None = None, due: tuple[float, float] | None = None,
          row: dict[str, Any] = ROW) -> dict[str, list[int]]:
    """By part, the events of its moment. `lead`: the matcher's own choice by part (default: the first line of each)."""
    made, chosen, first = {}, [], {}
    for event, s, part, *more in lines:
        extra = dict(more[0]) if more else {}
        score = extra.pop("score", 1.0)
        made[event] = said(event, s, part, **extra)
        chosen.append((event, part, score))
        first.setdefault(part, event)
    verdict = {"seen": True} | {f"event_{p}": (lead or first).get(p) for p in WHO}
    span = None if due is None else (round(due[0] * 1e6), round(due[1] * 1e6))
    got = heard_parts(verdict, chosen, SimpleNamespace(get=made.get), (row, span))  # type: ignore[arg-type]
    return {part: [u.event for u in moment] for part, moment in got.items()}


def test_each_part_in_its_place() -> None:
    assert parts((1, 0.0, "call"), (2, 4.0, "response"), (3, 30.0, "report"), (4, 1.0, "record", {"source": "seq.log"})) == {
        "call": [1], "record": [4], "response": [2], "report": [3]}


def test_a_step_not_seen_has_no_parts() -> None:
    heard = SimpleNamespace(get={}.get)
    assert heard_parts(None, [], heard, (ROW, None)) == {}  # type: ignore[arg-type]
    assert heard_parts({"seen": False}, [(1, "call", 1.0)], heard, (ROW, None)) == {}  # type: ignore[arg-type]


@pytest.mark.parametrize(("other", "moment"), [
    ({"s": 5.0}, [1, 2]), ({"s": 5.1}, [1]), ({"s": 8.4, "sigma_s": 2.0}, [1, 2]), ({"s": 8.6, "sigma_s": 2.0}, [1]), ({"s": 2.0, "source": "net.vtt"}, [1]),
    ({"s": 3.0, "first": 0.2}, [2, 1]), ({"s": 3.0, "first": 0.1}, [1, 2])])
def test_two_logs_have_one_moment_within_five_seconds_or_three_sigmas_the_surest_first(other: dict, moment: list[int]) -> None:
    s, sigma = other["s"], other.get("sigma_s", 0.1)
    mine = other.get("first", sigma)  # both logs are as sure, unless said
    assert parts((1, 0.0, "call", {"sigma_s": mine}), (2, s, "call", {"source": other.get("source", "notes.txt"), "sigma_s": sigma}))["call"] == moment


def test_the_earliest_of_a_part_is_its_moment_and_what_has_no_time_comes_last() -> None:
    assert parts((1, 9.0, "report"), (2, 3.0, "report"))["report"] == [2]
    assert parts((2, 3.0, "report"), (1, 3.0, "report", {"source": "b"}))["report"] == [1, 2]
    assert parts((1, None, "report"), (2, 9.0, "report"))["report"] == [2]
    no_time = {"t_s": None}
    assert parts((1, None, "report", {"sigma_s": 0.1} | no_time), (2, None, "report", {"t_s": 4.0, "sigma_s": 9.0}), (3, None, "report", {"sigma_s": 0.05} | no_time))["report"] == [2, 3, 1]


@pytest.mark.parametrize(("part", "more", "row", "expected"), [
    ("call", {}, ROW, "call"), ("call", {"medium": "machine"}, ROW, "record"), ("report", {"medium": "machine"}, {}, "record"),
    ("call", {"station": "PROP"}, ROW, "report"), ("call", {"station": "PROP", "kind": "response"}, ROW, "response"), ("call", {"station": "LOX"}, ROW, "call"),
    ("report", {"station": "TC", "kind": "call"}, ROW, "call"), ("report", {"station": "TC", "kind": "note"}, ROW, "call"), ("response", {"station": "TC", "kind": "poll"}, ROW, "call"),
    ("report", {"station": "TC", "kind": "report", "to": "PROP"}, ROW, "call"), ("report", {"station": "TC", "kind": "report", "to": "LOX"}, ROW, "report"),
    ("report", {"station": "TC", "kind": "response"}, ROW, "report"), ("report", {"station": "LOX", "kind": "call"}, ROW, "report"),
    *(("call", {"station": "PROP"}, row, "call") for row in ({"by": None, "to": "TC"}, {"by": "PROP", "to": None}, {"by": "PROP", "to": "PROP"}, {"by": float("nan"), "to": "TC"})),
    ("record", {"medium": "typed", "station": "TC", "kind": "call"}, ROW, "record")])
def test_who_speaks_decides_before_the_wording(part: str, more: dict, row: dict, expected: str) -> None:
    assert role(said(1, 0.0, part, **more), part, row) == expected


@pytest.mark.parametrize(("station", "record_s", "parts_of"), [
    ("PROP", -2.7, {"record": [2], "report": [1]}), ("PROP", 2.7, {"call": [1], "record": [2]}), ("TC", -2.7, {"call": [1]}), ("PROP", -0.1, {"call": [1], "record": [2]})])
def test_who_performs_a_step_reports_what_a_machine_recorded_before(station: str, record_s: float, parts_of: dict) -> None:
    """The plan names nobody who calls for it."""
    got = parts((1, 0.0, "call", {"station": station, "kind": "note"}), (2, record_s, "record", {"source": "seq.log"}), row={"by": "PROP", "to": None})
    assert {part: got[part] for part in parts_of} == parts_of and ("call" in got) == ("call" in parts_of)


@pytest.mark.parametrize(("answer_s", "order"), [(130.0, 2), (180.0, 2), (181.0, 1), (118.1, 2), (117.9, 1)])
def test_of_two_orders_the_one_that_is_answered_within_a_minute_counts(answer_s: float, order: int) -> None:
    """The earlier is a little surer by its words; the answer comes to the later one, as far as two seconds before it by another log's clock."""
    got = parts((1, 0.0, "call", {"score": 0.9}), (2, 120.0, "call", {"score": 0.8}), (3, answer_s, "record", {"source": "seq.log"}))
    assert got["call"] == [order]


def test_an_answer_after_the_next_order_is_not_the_first_ones() -> None:
    assert parts((1, 0.0, "call", {"score": 0.9}), (2, 40.0, "call", {"score": 0.8}), (3, 45.0, "response"))["call"] == [2]
    assert parts((1, 0.0, "call", {"score": 0.9}), (2, 50.0, "call", {"score": 0.8}), (3, 45.0, "response"))["call"] == [1]


@pytest.mark.parametrize(("again_s", "order"), [(30.0, 1), (31.0, 2)])
def test_an_order_given_again_within_half_a_minute_is_the_same_order(again_s: float, order: int) -> None:
    assert parts((1, 0.0, "call", {"score": 0.5}), (2, again_s, "call", {"score": 0.9}))["call"] == [order]


@pytest.mark.parametrize(("due", "order"), [((-10.0, 10.0), 1), ((0.0, 0.0), 1), ((1.0, 10.0), 2), ((-10.0, -1.0), 2), ((90.0, 110.0), 2), (None, 2)])
def test_an_order_on_time_outweighs_a_somewhat_likelier_one(due: tuple[float, float] | None, order: int) -> None:
    assert parts((1, 0.0, "call", {"score": 0.6}), (2, 100.0, "call", {"score": 0.9}), due=due)["call"] == [order]


def test_words_outweigh_an_answer_where_the_difference_is_great() -> None:
    assert parts((1, 0.0, "call", {"score": 1.0}), (2, 120.0, "call", {"score": 0.49}), (3, 125.0, "record", {"source": "seq.log"}))["call"] == [1]
    assert parts((1, 0.0, "call", {"score": 1.0}), (2, 120.0, "call", {"score": 0.51}), (3, 125.0, "record", {"source": "seq.log"}))["call"] == [2]


@pytest.mark.parametrize(("report_s", "sigma", "expected"), [(-2.0, 0.1, [3]), (-2.1, 0.1, [4]), (-4.0, 3.0, [3]), (-4.5, 3.0, [4])])
def test_what_came_well_before_the_order_does_not_follow_from_it(report_s: float, sigma: float, expected: list[int]) -> None:
    """Another log may be up to two seconds, or a standard deviation of the two clocks, before the order that it answers."""
    got = parts((1, 0.0, "call", {"sigma_s": sigma}), (3, report_s, "report", {"source": "b", "sigma_s": sigma, "station": "PROP"}), (4, 60.0, "report"))
    assert got["report"] == expected


def test_where_nothing_follows_the_order_what_there_is_stays() -> None:
    assert parts((1, 0.0, "call"), (3, -500.0, "record", {"source": "seq.log"}))["record"] == [3]


@pytest.mark.parametrize(("s", "sigma", "by_whom", "written"), [
    (1.5, 0.1, None, True), (1.6, 0.1, None, False), (-1.5, 0.1, None, True), (2.8, 2.0, None, True), (2.9, 2.0, None, False), (3.0, 9.0, None, True), (3.1, 9.0, None, False),
    (1.0, 0.1, "PROP", False), (1.0, 0.1, "LOX", True)])
def test_what_another_log_writes_at_the_moment_of_the_order_is_the_order(s: float, sigma: float, by_whom: str | None, written: bool) -> None:
    """Within a second and a half; where the clocks are less sure, within a standard deviation of the two and three seconds at most."""
    got = parts((1, 0.0, "call", {"sigma_s": sigma}), (2, s, "report", {"source": "notes.txt", "sigma_s": sigma, "station": by_whom}))
    assert ("report" not in got) == written
    assert set(got["call"]) == ({1, 2} if written else {1})


def test_the_same_log_says_no_order_twice_at_once() -> None:
    assert parts((1, 0.0, "call"), (2, 1.0, "report", {"station": None})) == {"call": [1], "report": [2]}


def test_an_acceptance_answers_an_order() -> None:
    # a 'call' after the acceptance was none: it reports
    assert parts((2, 4.0, "response"), (1, 30.0, "call")) == {"response": [2], "report": [1]}
    # a 'report' before the acceptance was the order
    assert parts((2, 4.0, "response"), (1, 0.0, "report"), (3, 30.0, "report")) == {"call": [1], "response": [2], "report": [3]}
    assert parts((2, 4.0, "response"), (1, 0.0, "report")) == {"call": [1], "response": [2]}
    assert parts((1, 0.0, "report"), (3, 30.0, "report")) == {"report": [1]}
    # within the clocks' uncertainty nothing is said of which came first
    assert parts((2, 4.0, "response", {"source": "b", "sigma_s": 4.0}), (1, 0.0, "report", {"sigma_s": 4.0})) == {"response": [2], "report": [1]}
    assert parts((2, 4.0, "response", {"source": "b", "sigma_s": 4.0}), (1, 9.0, "call", {"sigma_s": 4.0})) == {"response": [2], "call": [1]}


def test_the_matchers_own_choice_plays_its_part_first_and_nobody_plays_two() -> None:
    got = parts((1, 0.0, "report"), (1, 0.0, "call"), (5, 10.0, "report"), lead={"call": 1, "report": 5})
    assert got == {"call": [1], "report": [5]}


def test_time_between_two_lines_of_one_log_is_its_own_clocks() -> None:
    own = {"time_kind": "utc", "own_us": 5_000_000, "own_sigma_s": 0.3, "sigma_s": 9.0}
    one, two = said(1, 100.0, "call", **own), said(2, 200.0, "call", **own | {"own_us": 12_500_000, "own_sigma_s": 0.4})
    assert (apart_s(two, one), apart_sigma_s(one, two)) == (7.5, pytest.approx(0.5))
    for kind in ("local", "elapsed"):
        a, b = said(1, 100.0, "call", **own | {"time_kind": kind}), said(2, 200.0, "call", **own | {"time_kind": kind, "own_us": 6_000_000})
        assert apart_s(b, a) == 1.0
    by_count = said(2, 200.0, "call", **own | {"time_kind": "count"})
    assert apart_s(by_count, one) == 100.0 and apart_sigma_s(by_count, one) == pytest.approx(9 * 2**0.5)
    other_log = said(2, 200.0, "call", **own | {"source": "b", "sigma_s": 12.0})
    assert apart_s(other_log, one) == 100.0 and apart_sigma_s(other_log, one) == 15.0
    unstamped = said(2, 200.0, "call", **own | {"own_us": None})
    assert apart_s(unstamped, one) == 100.0
    assert apart_s(said(2, None, "call", source="b"), one) is None and apart_s(one, said(2, None, "call", source="b")) is None
