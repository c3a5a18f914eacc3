"""The cards: one for a step, one for a hold, none twice, no finding without its place."""

from __future__ import annotations

from typing import Any

import pandas as pd

from aftercount import tables
from aftercount.report.data import ReviewData, data_of
from aftercount.report.page.findings import cards
from aftercount.report.page.lines import Lines
from aftercount.report.page.polls import polls
from aftercount.report.page.render import render_page
from aftercount.report.page.steps import step_rows
from aftercount.report.page.topics import topics
from report.madeup import make_review
from report.reading import read


def made(*findings: dict[str, Any]) -> ReviewData:
    review = make_review()
    base = {"step": None, "pass": 1, "deviation_s": None, "severity": "major", "event": None, "source": None, "line": None, "decided": False}
    review.findings = tables.FINDINGS.from_rows([base | {"finding": i} | f for i, f in enumerate(findings, 1)])
    return data_of(review)


def cards_of(data: ReviewData) -> Any:
    lines = Lines(data)
    return cards(data, step_rows(data, lines, polls(data, lines)), lines)


def test_all_findings_on_one_hold_are_one_card() -> None:
    found = cards_of(made(
        {"kind": "recycle", "text": "The count was recycled from T-00:00:31 to T-00:10:00."},
        {"kind": "hold_unplanned", "text": "Unplanned hold of 8 min 31 s at T-00:00:31."},
        {"kind": "hold_unplanned", "text": "Unplanned hold of 8 min at T-00:05:00."},
    ))
    assert [(c.hold, [k for k, _, _ in c.texts]) for c in found] == [(3, ["recycle", "hold_unplanned"]), (2, ["hold_unplanned"])]


def test_one_fault_of_order_is_told_once() -> None:
    found = cards_of(made(
        {"kind": "after_violated", "step": "2.1", "text": "Step 2.1 was begun before 1.12, which had to come first."},
        {"kind": "out_of_order", "step": "2.1", "severity": "minor", "text": "Step 2.1 was done out of its planned order."},
        {"kind": "out_of_order", "step": "4.6", "severity": "minor", "text": "Step 4.6 was done out of its planned order."},
    ))
    assert [[k for k, _, _ in c.texts] for c in found] == [["after_violated"], ["out_of_order"]]


def test_the_heading_is_not_said_again_in_the_text() -> None:
    data = made({"kind": "late", "step": "1.7", "text": ""})
    row = next(s for s in step_rows(data, Lines(data), []) if s.step == "1.7")
    name = f"{row.step} ({row.action})"
    told = [
        {"kind": "late", "step": "1.7", "text": f"Step {name} was begun 45 s late."},
        {"kind": "no_response", "step": "1.7", "text": f"No answer from PAD to the call for step {name} was heard."},
    ]
    assert [t for _, t, _ in cards_of(made(*told))[0].texts] == ["Begun 45 s late.", "No answer from PAD to the call was heard."]


def test_how_it_ended_is_told_to_the_second() -> None:
    card = cards_of(made({"kind": "outcome", "text": "The count was scrubbed at 2031-04-18T14:55:00.962867Z."}))[0]
    assert (card.about, card.texts[0][1]) == ("How it ended", "The count was scrubbed at 2031-04-18T14:55:01Z.")


def test_every_finding_that_is_not_implied_has_its_anchor() -> None:
    data = data_of(make_review())
    page = read(render_page(data))
    ids = {n.attrs["id"] for n in page.all() if n.attrs.get("id", "").startswith("finding-")}
    assert ids == {f"finding-{n}" for n in data.findings["finding"]}


def test_a_poll_that_missed_stations_is_a_topic_and_never_praised() -> None:
    data = data_of(make_review())
    page = read(render_page(data))
    topic = next(t for t in topics(data) if t.key == "poll_missing")
    assert topic.text == "WX in poll 1 (step 3.3)."
    assert "heard, all go" not in page.by_id("well").text


def test_a_step_with_several_faults_is_one_topic() -> None:
    review = make_review()
    row = review.steps.index[(review.steps["timing"] == "early")][0]
    review.steps.loc[row, ["out_of_order", "response"]] = [True, "none"]
    step = review.steps.loc[row]
    topic = next(t for t in topics(data_of(review)) if t.key == f"step {step['step']} pass {step['pass']}")
    assert topic.title == f"{step['step']} {step['action']}" and topic.text == "Out of order; 25 s early; never answered."


def test_what_stopped_a_scrubbed_count_is_in_the_opening_and_the_first_topic() -> None:
    review = make_review()
    review.summary |= {"outcome": "scrub", "t0_actual": None, "delay_s": None, "outcome_utc": "2031-04-18T14:55:00Z"}
    review.holds = review.holds.assign(end_utc=review.holds["end_utc"].where(review.holds.index < 2))
    data = data_of(review)
    first = topics(data)[0]
    assert first.title == "The count was scrubbed" and first.href == "#hold-3" and "ignition sequencer out of limits" in first.text
    told = read(render_page(data)).by_id("top").text
    assert "What stopped it: hold 3 at T-00:00:31 (ignition sequencer out of limits)" in told and "never resumed" in told
    assert pd.isna(data.holds["end_utc"].iloc[2])
