"""What is worth talking about: three to seven things, the weightiest first, each with a link to its evidence.

Chosen from the tables by kind and size, never by a step's name. `key` names a topic across runs of the same count, so
that notes written to it find it again. It does not judge steps or holds: it only chooses among what was found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.summary_text import hold_sentence, named

LEAST, MOST = 3, 7
_MOST_HOLDS = 3  # holds among the topics before they crowd out everything else
_NAMED = 6  # steps named in one topic

# Weights: what ended or stopped the count, then what was not done, then what was done otherwise. Within a kind, by size.
_W_OUTCOME, _W_HOLD, _W_MISSED, _W_AUTHORITY, _W_POLL, _W_SILENT, _W_ORDER, _W_LATE, _W_EARLY, _W_EYE, _W_WELL = (
    100.0, 80.0, 70.0, 68.0, 65.0, 60.0, 58.0, 50.0, 30.0, 10.0, 5.0)


@dataclass(frozen=True)
class Topic:
    """key: stable name. href: an anchor of the page. show: the status to filter the steps by there, or nothing."""

    key: str
    title: str
    text: str
    href: str
    weight: float
    show: str = ""


def topics(data: ReviewData) -> tuple[Topic, ...]:
    """At most seven; fillers (what to settle, what went well) come only where there are fewer than three."""
    steps = rows(data.steps)
    found = [*_outcome(data), *_holds(data), *_groups(steps), *_latest(steps), *_findings(data)]
    found.sort(key=lambda t: (-t.weight, t.key))
    for filler in _fillers(steps):
        if len(found) < LEAST:
            found.append(filler)
    return tuple(found[:MOST])


def _outcome(data: ReviewData) -> Iterator[Topic]:
    outcome = str(data.summary.get("outcome"))
    if outcome in ("scrub", "cutoff"):
        at = data.summary.get("outcome_utc")
        text = f"The count was {wording.OUTCOMES[outcome]}" + (f" at {wording.instant(at)}." if at else ".")
        yield Topic("outcome", f"The count was {wording.OUTCOMES[outcome]}", text, "#profile", _W_OUTCOME)
    elif outcome == "unresolved":
        yield Topic("outcome", "How the count ended", "The logs do not say how the count ended.", "#profile", _W_OUTCOME)


def _holds(data: ReviewData) -> Iterator[Topic]:
    costly = [h for h in hold_rows(data.holds) if h["kind"] == "unplanned" or (h["excess_s"] or 0.0) >= 60.0]
    costly.sort(key=lambda h: -(h["excess_s"] or h["duration_s"] or 0.0))
    for hold in costly[:_MOST_HOLDS]:
        cost = hold["excess_s"] or hold["duration_s"] or 0.0
        what = "Built-in hold overran" if hold["kind"] == "built_in" else "Unplanned hold"
        title = f"{what} at {wording.count_time(hold['t_s'])}"
        key = f"hold at {wording.count_time(hold['t_s'])} pass {hold['pass']}"
        yield Topic(key, title, hold_sentence(hold), f"#hold-{hold['number']}", _W_HOLD + min(cost / 3600.0, 9.0))


def _groups(steps: list[dict[str, Any]]) -> Iterator[Topic]:
    """Missed, displaced and unanswered steps, each as one topic."""
    kinds = [
        ("missed", "step", "not seen in any log", "missed", _W_MISSED, [s for s in steps if s["status"] == "missed"]),
        ("out of order", "step", "done out of order", "displaced", _W_ORDER, [s for s in steps if s["out_of_order"] or s["violates"]]),
        ("unanswered", "call", "never answered", "unanswered", _W_SILENT, [s for s in steps if s["response"] == "none"]),
    ]
    for key, noun, words, status, weight, chosen in kinds:
        if chosen:
            title = f"{wording.capital(wording.counted(len(chosen), noun))} {words}"
            text = f"{wording.capital(wording.listed(_described(chosen), _NAMED))}."
            yield Topic(key, title, text, "#steps", weight + min(len(chosen), 9) / 10.0, status)


def _described(steps: list[dict[str, Any]]) -> list[str]:
    return [f"{name} {step['action']}" for name, step in zip(named(steps), steps, strict=True)]


def _latest(steps: list[dict[str, Any]]) -> Iterator[Topic]:
    for timing, words, weight in (("late", "began late", _W_LATE), ("early", "began early", _W_EARLY)):
        chosen = [s for s in steps if s["timing"] == timing and s["deviation_s"] is not None]
        if not chosen:
            continue
        chosen.sort(key=lambda s: -abs(s["deviation_s"]))
        worst = chosen[0]
        title = f"{wording.capital(wording.counted(len(chosen), 'step'))} {words}"
        text = f"The most: {named([worst])[0]} {worst['action']}, {wording.spoken_deviation(worst['deviation_s'])}."
        yield Topic(timing, title, text, "#steps", weight + min(abs(worst["deviation_s"]) / 600.0, 5.0), timing)


def _findings(data: ReviewData) -> Iterator[Topic]:
    """What is neither hold nor step: answers in polls, calls by a station that may not make them."""
    found = rows(data.findings)
    for kind, title, weight in (("no_go", "No go in a poll", _W_POLL), ("authority", "A call by a station that may not make it", _W_AUTHORITY)):
        chosen = [f for f in found if f["kind"] == kind]
        if chosen:
            text = " ".join(f["text"] for f in chosen[:3])
            yield Topic(kind, title, text, "#polls" if kind == "no_go" else f"#finding-{chosen[0]['finding']}", weight)


def _fillers(steps: list[dict[str, Any]]) -> Iterator[Topic]:
    doubtful = [s for s in steps if s["review"]]
    if doubtful:
        title = f"{wording.capital(wording.counted(len(doubtful), 'step'))} to be settled"
        yield Topic("to settle", title, f"{wording.listed(named(doubtful), _NAMED)}: the logs leave it open.", "#settle", _W_EYE)
    done = [s for s in steps if s["status"] == "done"]
    on_time = sum(s["timing"] == "on_time" for s in done)
    yield Topic("went well", "What went to plan", f"{on_time} of {len(done)} steps done were begun on time.", "#well", _W_WELL)
    yield Topic("next time", "What to keep for the next time", "Nothing else stands out; say what made it work.", "#well", 0.0)
