"""How sure it is that a step was not reached, which match may put a step out of order, and what is known of a step: figures at their boundaries."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from aftercount import tables
from aftercount.findings import order, reach
from aftercount.findings.placing import displaced, sure
from aftercount.findings.steps import Timed


def clock(*rows: tuple[int, float, float]) -> pd.DataFrame:
    """rows: pass, count time at the segment's end, sigma."""
    t0 = pd.Timestamp("2031-04-18T14:30:00Z")
    return tables.CLOCK.from_rows({"segment": n, "pass": p, "state": "counting", "start_utc": t0, "end_utc": t0, "start_t_s": -900.0, "end_t_s": end, "sigma_s": sigma}
                                  for n, (p, end, sigma) in enumerate(rows))


def test_where_each_pass_ended() -> None:
    assert reach.ends(clock((1, -600.0, 3.0), (1, -300.0, 0.4), (1, -500.0, 9.0), (2, -700.0, 2.0), (2, -700.0, 5.0))) == {1: (-300.0, 1.0), 2: (-700.0, 5.0)}


@pytest.mark.parametrize(("planned", "outcome", "in_pass", "into", "expected"), [
    (-300.0, "scrub", 2, None, 0.5 * (1 + erf(1 / sqrt(2)))), (-500.0, "scrub", 2, None, 0.5), (-400.0, "liftoff", 2, None, 0.5), (0.0, "cutoff", 2, None, 0.99), (0.0, "unresolved", 2, None, 0.8),
    (0.0, "unresolved", 1, None, 0.99), (-400.0, "scrub", 2, 60.0, 0.9), (0.0, "scrub", 2, 60.0, 0.99), (-400.0, "unresolved", 2, 60.0, 0.8), (0.0, "scrub", 3, None, 0.5)])
def test_how_sure_it_is_that_a_step_was_not_reached(planned: float, outcome: str, in_pass: int, into: float | None, expected: float) -> None:
    """Both passes ended at T-400, on a clock good to 100 s."""
    fact: Any = SimpleNamespace(planned_t_s=planned, in_pass=in_pass, into_hold_s=into)
    assert reach.confidence(fact, {1: (-400.0, 100.0), 2: (-400.0, 100.0)}, outcome) == pytest.approx(expected)


def fact(**more: Any) -> Any:
    told = more.pop("told", {"call": 1})
    return SimpleNamespace(**{"confidence": 0.97, "decided": False, "row": 0, "plan": {}, "in_pass": 1, "early_s": 10.0, "late_s": 10.0, "planned_us": None, "planned_t_s": 0.0,
                              "heard": {part: tuple(SimpleNamespace(medium="speech") for _ in range(n)) for part, n in told.items()}} | more)


def begun(s: float | None = 0.0, timing: str | None = "late", **more: Any) -> Timed:
    us = None if s is None else round(s * 1e6)
    heard: Any = SimpleNamespace(**{"us": us, "t_s": s, "sigma_s": 0.1, "own_sigma_s": 0.1, "source": "a"} | more)
    return Timed("done", heard, "call", 5.0, 0.1, timing)


@pytest.mark.parametrize(("given", "timing", "said", "expected"), [
    ({"confidence": 0.65}, "late", 0.65, True), ({"confidence": 0.64}, "late", 1.0, False), ({"confidence": 0.79}, "late", 0.64, False), ({"confidence": 0.85}, "on_time", 0.0, True),
    ({"confidence": 0.84}, "on_time", 0.49, False), ({"confidence": 0.1, "decided": True}, "late", 0.0, True), ({"confidence": 0.8}, "late", 0.5, True), ({"confidence": 0.94}, "late", 0.49, False), ({"confidence": 0.95}, "late", 0.2, True), ({"confidence": 0.99}, "late", 0.19, False),
    ({"told": {"record": 1}}, "late", 0.65, True), ({"told": {"response": 1}}, "late", 0.65, True), ({"told": {"mark": 1}}, "late", 1.0, False)])
def test_which_match_can_bear_a_finding_on_order(given: dict, timing: str, said: float, expected: bool) -> None:
    assert sure(fact(**given), begun(timing=timing), lambda heard, row: said) is expected
    assert not sure(fact(**given), Timed("missed"), lambda heard, row: 1.0)


@pytest.mark.parametrize(("confidence", "order", "answer", "expected"), [
    (0.75, ("TC", "PROP"), "PROP", True), (0.74, ("TC", "PROP"), "PROP", False), (0.94, (None, "PROP"), "PROP", False), (0.94, ("TC", "GNC"), "PROP", False), (0.94, ("TC", "PROP"), "GNC", False),
])
def test_an_order_to_who_performs_and_his_answer_bear_it_in_whatever_words(confidence: float, order: tuple[str | None, str], answer: str, expected: bool) -> None:
    heard = {part: (SimpleNamespace(medium="speech", station=station, to=to),) for part, station, to in (("call", *order), ("report", answer, None))}
    given = fact(confidence=confidence, plan={"by": "PROP", "to": "TC"}, heard=heard)
    assert sure(given, begun(), lambda heard, row: 0.0) is expected


def test_displaced_pass_by_pass_and_by_count_where_no_wall_time_is_known() -> None:
    facts = [fact(planned_us=0), fact(planned_us=100_000_000), fact(planned_us=200_000_000), fact(planned_us=0, in_pass=2)]
    times = [begun(300.0), begun(100.0, "on_time"), begun(200.0, "on_time"), begun(900.0)]
    assert displaced(facts, times, [True] * 4) == [True, False, False, False] and displaced(facts, times, [False, True, True, True]) == [False] * 4
    by_count = [fact(planned_t_s=-300.0), fact(planned_t_s=-200.0), fact(planned_t_s=-100.0)]
    read = [begun(None, t_s=0.0), begun(None, "on_time", t_s=-200.0), begun(None, "on_time", t_s=-100.0)]
    assert displaced(by_count, read, [True] * 3) == [True, False, False]
    mixed = [begun(None, t_s=0.0), begun(-200.0, "on_time"), begun(-100.0, "on_time")]
    assert displaced(by_count, mixed, [True] * 3) == [False] * 3  # one without wall time beside those that have one


def test_what_losing_a_step_costs() -> None:
    def weight(**more: Any) -> float:
        return order.weight(order.Placed(0.0, 0.0, **more))

    assert weight(confidence=0.97) == pytest.approx(1.0 + 0.005) and weight(confidence=0.94) == pytest.approx(0.9 + 0.005) and weight(confidence=0.01) == pytest.approx(0.1 + 0.005)
    assert weight(confidence=1.0, on_time=True, deviation_s=-4.0) == pytest.approx(1.0 + 0.04 + 0.001)


@pytest.mark.parametrize(("one", "other", "found"), [
    ({"actual_s": 13.1}, {"actual_s": 10.0}, True), ({"actual_s": 13.0}, {"actual_s": 10.0}, False), ({"actual_s": 13.1, "source": "b"}, {"actual_s": 10.0}, False), ({"actual_s": 25.0, "source": "b"}, {"actual_s": 10.0}, True),
    ({"actual_s": 20.0, "on_time": True}, {"actual_s": 10.0, "on_time": True}, False), ({"actual_s": 20.0, "on_time": True}, {"actual_s": 10.0}, True),
    ({"actual_s": 20.0, "late_s": 30.0}, {"actual_s": 10.0}, False), ({"actual_s": 20.0, "late_s": 29.9}, {"actual_s": 10.0}, True), ({"actual_s": 20.0}, {"actual_s": 10.0, "early_s": 30.0}, False),
    ({"actual_s": 20.0}, {"actual_s": 10.0, "early_s": 29.9}, True), ({"actual_s": 20.0, "early_s": 99.0}, {"actual_s": 10.0, "late_s": 99.0}, True)])
def test_when_two_steps_are_the_wrong_way_round(one: dict, other: dict, found: bool) -> None:
    """Planned half a minute apart; read to a second on one log, to four against another's: 1.5 of each on both sides."""
    base = {"sigma_s": 4.0, "own_sigma_s": 1.0, "source": "a"}
    a, b = order.Placed(**{"planned_s": 0.0} | base | one), order.Placed(**{"planned_s": 30.0} | base | other)
    assert order.conflicts([a, b]) == ([(0, 1)] if found else []) and order.conflicts([b, a]) == ([(1, 0)] if found else []) and order.conflicts([a]) == []


def test_a_step_between_settles_the_order_of_two_that_cannot_be_compared() -> None:
    """The first is read to 20 s against the other log, so that log's step may have been before it or after; but it was surely before the second, and that before the first."""
    first, second = order.Placed(0.0, 40.0, sigma_s=20.0, source="a", own_sigma_s=0.5), order.Placed(30.0, 32.0, sigma_s=8.0, source="a", own_sigma_s=0.5)
    other = order.Placed(60.0, 5.0, sigma_s=8.0, source="b", own_sigma_s=0.5)
    assert (0, 1) not in order.conflicts([first, other]) and (0, 2) in order.conflicts([first, second, other])


@pytest.mark.parametrize(("decisions", "status"), [
    ([{"step": "1.1", "decision": "ignore"}], ["skipped", "skipped"]), ([{"step": "1.1", "decision": "ignore", "pass": 2}], ["missed", "skipped"]), ([{"step": "1.1", "decision": "missed"}], ["missed", "missed"]),
    ([{"step": "1.1", "decision": "ignore", "source": "net.vtt", "line": 4}], ["missed", "missed"]), ([{"step": "1.2", "decision": "ignore"}], ["missed", "missed"])])
def test_what_a_reviewer_asked_not_to_judge(count: Any, hold: Any, decisions: list[dict], status: list[str]) -> None:
    plan = "1.1 | T-00:30:00 | open the vent\n1.2 | T-00:29:00 | close the drain | must=no"
    r = count(plan, "net.vtt:1 | T-00:29:00 | TC | note | | hello", holds=[hold(-1700.0, 60.0, recycle_to_s=-1900.0)], end_s=-1000.0, decisions=decisions).judge().steps
    assert r.loc[r["step"] == "1.1", "status"].tolist() == status


@pytest.mark.parametrize(("column", "value", "timing"), [("late_s", "4", "late"), ("late_s", "6", "on_time"), (None, None, "on_time")])
def test_a_steps_own_tolerance_comes_before_the_plans(count: Any, column: str | None, value: str | None, timing: str) -> None:
    plan = "1.1 | T-00:30:00 | open the vent" + (f" | {column}={value}" if column else "")
    assert count(plan, "net.vtt:1 | T-00:29:55 | TC | call | 1.1:call | open").judge().steps["timing"].tolist() == [timing]


@pytest.mark.parametrize(("score", "line"), [(0.5, 1), (0.49, 2)])
def test_a_match_less_likely_than_not_is_no_evidence_of_a_steps_time(count: Any, score: float, line: int) -> None:
    made = count("1.1 | T-00:30:00 | open the vent", "net.vtt:1 | T-00:30:10 | TC | call | 1.1:call | open\nnet.vtt:2 | T-00:30:00 | TC | call | 1.1:call | open",
                 verdicts={"1.1": {"event_call": 1}})
    given = made._matches([(0, "1.1", 1, "call"), (1, "1.1", 1, "call")]).assign(score=[score, 0.9])
    made._matches = lambda _: given
    assert made.judge().steps["line"].tolist() == [line]


@dataclass(frozen=True)
class Step:
    planned_t_s: float
    seen: bool = False
    reached: bool = True
    decided: bool = False
    in_pass: int = 1
    into_hold_s: float | None = None
    unlogged: bool = False
    confidence: float = 0.7


@pytest.mark.parametrize(("planned", "seen", "outcome", "reached"), [
    (-10.0, False, "unresolved", False), (-10.0, True, "unresolved", True), (-10.0, False, "cutoff", False), (-10.0, True, "cutoff", True), (-11.0, False, "unresolved", True),
    (-11.0, False, "cutoff", False), (-12.0, False, "cutoff", True), (-10.0, False, "liftoff", True)])
def test_a_step_at_the_very_end_of_a_count_was_reached_if_somebody_did_it(planned: float, seen: bool, outcome: str, reached: bool) -> None:
    """The clock ends at T-10.8, good to a second."""
    steps: Any = [Step(planned, seen)]
    assert reach.settled(steps, clock((1, -10.8, 0.3)), outcome)[0].reached is reached
