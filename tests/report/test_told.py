"""What is told adds up: whole seconds of T-0 and holds, polls that were not clean, steps only known from their call, recycles."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercount import tables
from aftercount.report.data import ReviewData, data_of
from aftercount.report.page import render_page
from aftercount.report.page.lines import Lines
from aftercount.report.page.opening import opening
from aftercount.report.page.polls import polls
from aftercount.report.page.said import said_of
from aftercount.report.page.weight import of_kinds, rank
from aftercount.report.summary_text import only_asked, text_of
from aftercount.report.told import shares, told_delay, told_holds
from report.madeup import at, make_review
from report.reading import read


@given(st.lists(st.floats(-5000, 5000), min_size=1, max_size=8))
def test_rounded_together_they_come_to_the_whole_and_none_is_off_by_a_second(parts: list[float]) -> None:
    whole = shares(parts, round(sum(parts)))
    assert sum(whole) == round(sum(parts))
    assert all(w == int(w) and abs(w - p) < 1.0 + 1e-9 for w, p in zip(whole, parts, strict=True))


def _fractions() -> ReviewData:
    review = make_review()
    off = pd.Timedelta(0.498, "s")
    review.holds["end_utc"] = review.holds["end_utc"] + off
    for column in ("duration_s", "excess_s"):
        review.holds[column] += 0.498
    review.holds["slip_s"] += 0.166
    review.summary |= {"t0_actual": "2031-04-18T15:00:00.500Z", "delay_s": 1800.498}
    return data_of(review)


def test_the_parts_of_the_delay_add_up_as_they_are_shown() -> None:
    data = _fractions()
    assert told_delay(data.summary) == 1801.0
    shown = opening(data, [])
    assert sum(s.seconds for s in shown.slips) == shown.delay == 1801.0
    assert all(s.seconds == int(s.seconds) for s in shown.slips)
    for hold in told_holds(data):
        assert hold["duration_s"] == (hold["end_utc"] - hold["start_utc"]).total_seconds() == hold["excess_s"] + hold["planned_s"]


def test_a_slip_that_is_none_in_whole_seconds_is_not_told() -> None:
    review = make_review()
    review.holds["slip_s"] = 0.0
    review.summary |= {"t0_actual": review.summary["t0_scheduled"], "delay_s": 0.4, "slips": [{"cause": "began_late", "t_s": -300.0, "seconds": 0.6}]}
    assert opening(data_of(review), []).slips == ()


def test_a_poll_that_was_not_clean_is_told_at_the_top() -> None:
    data = data_of(make_review())
    (poll,) = polls(data, Lines(data))
    assert (poll.silent, poll.refused) == (("WX",), ("ELEC",))
    assert poll.trouble == "In poll 1 (step 3.3) WX was not heard and ELEC was no go, and the count went on without them."
    page = read(render_page(data))
    assert poll.trouble in page.by_id("top").text
    row = data.steps.index[(data.steps["step"] == "3.3") & (data.steps["pass"] == 1)][0]
    assert "unclean" in page.by_id(f"step-{row}").attrs["data-flags"].split()


def test_an_answer_that_could_not_be_made_out_is_not_silence() -> None:
    review = make_review()
    review.polls.loc[review.polls["station"] == "WX", "answer"] = "unclear"
    data = data_of(review)
    assert polls(data, Lines(data))[0].trouble.endswith("ELEC was no go, and the count went on without it; what WX answered could not be made out.")
    review.polls = review.polls[review.polls["station"] != "ELEC"]
    data = data_of(review)
    assert polls(data, Lines(data))[0].trouble == "In poll 1 (step 3.3) what WX answered could not be made out."


def test_a_poll_whose_no_go_became_a_go_is_all_go_in_the_end() -> None:
    review = make_review()
    review.polls = review.polls[review.polls["station"] != "WX"]
    row = review.polls[review.polls["station"] == "ELEC"].assign(answer="go", order=8, utc=at(6800))
    review.polls = tables.POLLS.from_rows([*review.polls.to_dict("records"), *row.to_dict("records")])
    assert "heard, all go in the end." in read(render_page(data_of(review))).by_id("well").text


@pytest.mark.parametrize("ended", ["not counted on", "answered later"])
def test_the_count_is_said_to_have_gone_on_only_where_it_did(ended: str) -> None:
    review = make_review()
    if ended == "not counted on":
        review.clock = review.clock[review.clock["end_utc"] < at(6700)]
    else:
        more = [{"poll": 2, "step": None, "pass": 1, "order": 1, "station": "WX", "answer": "go", "utc": at(7000), "event": None}]
        review.polls = tables.POLLS.from_rows([*review.polls.to_dict("records"), *more])
    data = data_of(review)
    assert "went on" not in polls(data, Lines(data))[0].trouble


def test_a_step_known_only_from_its_call_is_counted_and_keeps_its_status() -> None:
    review = make_review()
    called = (review.steps["status"] == "done") & (review.steps["response"] != "answered")
    review.steps["completed_utc"] = review.steps["completed_utc"].mask(called)
    data = data_of(review)
    expected = int((called & ~data.steps["decided"]).sum())
    assert expected > 3 and f"Of those done, {expected} are known only" in text_of(data)
    page = read(render_page(data))
    flagged = [r for r in page.by_id("step-table").all("tr") if "asked" in r.attrs.get("data-flags", "").split()]
    assert len(flagged) == expected and all("no report of completion heard" in r.text for r in flagged)


@pytest.mark.parametrize("change", [{"to": None}, {"to": "PROP"}, {"kind": "poll"}, {"decided": True}, {"status": "missed"}, {"completed_utc": at(0)}])
def test_what_needs_no_report_is_not_said_to_lack_one(change: dict[str, Any]) -> None:
    step: dict[str, Any] = {"status": "done", "decided": False, "to": "TC", "by": "PROP", "kind": "step", "completed_utc": None}
    assert only_asked(step) and not only_asked(step | change)


def test_who_recycled_the_count_and_when_stands_with_the_hold() -> None:
    data = data_of(make_review())
    base = data.events.iloc[0].to_dict() | {"source": "notes.txt", "kind": "recycle", "medium": "typed"}
    order = base | {"event": 99_999, "line": 9_999, "utc": at(8700), "station": "TC", "to": None, "text": "we recycle to T minus ten minutes"}
    events = tables.EVENTS.conform(pd.concat([data.events, tables.EVENTS.from_rows([order])]).sort_values("utc", kind="stable"))
    changed = replace(data, events=events)
    assert [q.text for q in said_of(Lines(changed), (at(8489), at(9000)), frozenset({"recycle"}))] == [order["text"]]
    card = read(render_page(changed)).by_id("hold-3")
    told = {n.text: v.text for n, v in zip(card.all("dt"), card.all("dd"), strict=True)}
    assert told["recycle ordered"] == "14:45:00Z by TC" and order["text"] in card.text


def test_one_order_for_topics_and_cards() -> None:
    assert of_kinds(["hold_unplanned"]) > of_kinds(["late", "no_response"]) > of_kinds(["missed"]) > of_kinds(["late"]) > of_kinds(["early"])
    assert of_kinds(["after_violated", "out_of_order"]) == of_kinds(["out_of_order"]), "one fault by two names is no story"
    assert rank([{"severity": "note"}, {"severity": "major"}]) == 0 and rank([]) == 1
