"""The deviations as the page shows them: findings on one step and pass, on one hold, or on one thing, gathered into a card.

The order is that of the things worth talking about (`weight`): the most serious first, then by kind, then as the count ran. Each card carries the line it rests on.
Every finding stands in a card; where one says no more than another of the same card, it is folded into that one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from aftercount.report import wording
from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.page import weight
from aftercount.report.page.lines import Lines, Quote
from aftercount.report.page.said import CALLED, said_around
from aftercount.report.page.steps import StepRow

SEVERITY_WORDS = {"major": "serious", "minor": "off the plan", "note": "worth knowing"}
_IMPLIED = {"out_of_order": "after_violated"}  # a step begun before what must precede it is out of order by that
_OF_A_HOLD = ("hold_", "recycle", "authority")
_ABOUT = {"outcome": "How it ended", "clock_disagrees": "The logs"}  # a card's heading where no step and no hold is meant
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d+Z")
_ENDINGS = frozenset({"scrub", "cutoff", "liftoff"})


@dataclass
class Card:
    """anchor: names it in the page. about: its heading. event: the moment it is about, if heard. said: what people said then.

    texts: kind, words and anchor of each finding. poll: the poll in which a station was not heard, of whom there is no line.
    """

    anchor: str
    severity: str
    words: str
    step: StepRow | None
    about: str = "The count"
    texts: list[tuple[str, str, str]] = field(default_factory=list)
    quote: Quote | None = None
    poll: int | None = None
    said: tuple[Quote, ...] = ()
    event: int | None = None
    decided: bool = False
    fallback: str = ""
    hold: int | None = None


def cards(data: ReviewData, steps: tuple[StepRow, ...], lines: Lines) -> list[Card]:
    of_step = {(s.step, s.pass_): s for s in steps}
    holds = hold_rows(data.holds)
    made: dict[Any, Card] = {}
    for f in rows(data.findings):
        row = of_step.get((f["step"], f["pass"])) if f["step"] is not None else None
        hold = _hold(f, holds)
        key = ("step", row.row) if row else ("hold", hold) if hold else ("about", f["kind"]) if f["kind"] in _ABOUT else f["finding"]
        if key not in made:
            words = SEVERITY_WORDS.get(f["severity"], f["severity"])
            made[key] = Card(f"finding-{f['finding']}", f["severity"], words, row, _ABOUT.get(f["kind"], "The count"), hold=hold)
        _add(made[key], f, data, lines)
    ordered = sorted(made.values(), key=lambda c: (_rank(c), -weight.of_kinds(k for k, _, _ in c.texts)))
    return [_without_implied(card) for card in ordered]


def _poll_of(finding: dict[str, Any], data: ReviewData) -> int | None:
    found = [p["poll"] for p in rows(data.polls) if p["answer"] == "missing" and (p["step"], p["pass"]) == (finding["step"], finding["pass"])]
    return found[0] if found else None


def _rank(card: Card) -> int:
    return weight.SEVERITIES.index(card.severity) if card.severity in weight.SEVERITIES else len(weight.SEVERITIES)


def _hold(finding: dict[str, Any], holds: list[dict[str, Any]]) -> int | None:
    """The hold a finding is about: of its pass, and the one whose count time its text names; only to link the two."""
    if finding["step"] is not None or not finding["kind"].startswith(_OF_A_HOLD):
        return None
    named = [h["number"] for h in holds if h["pass"] == finding["pass"] and f"{wording.count_time(h['t_s'])}" in finding["text"]]
    return named[0] if len(named) == 1 else None


def _add(card: Card, finding: dict[str, Any], data: ReviewData, lines: Lines) -> None:
    card.texts.append((finding["kind"], _shortened(finding["text"], card.step), f"finding-{finding['finding']}"))
    card.decided = card.decided or finding["decided"]
    if finding["kind"] == "outcome":
        card.said = _ending(data, lines)
        return
    event = finding["event"] if finding["event"] is not None else (card.step.event if card.step else None)
    if finding["kind"] == "poll_missing":  # an answer that was heard says nothing of one that was not
        card.event, card.poll = event, _poll_of(finding, data)
    elif card.quote is None and event is not None:
        card.quote, card.event = lines.quote(event), event
    if card.quote is None and finding["source"]:
        card.fallback = f"{finding['source']}:{finding['line']}"


def _shortened(text: str, step: StepRow | None) -> str:
    """Without the step's name, which is the card's heading; instants to the second, as everywhere in the page."""
    if step is None:
        return _INSTANT.sub(lambda m: wording.instant(m[0]), text)
    name = f"step {step.step} ({step.action})"
    rest = text.removeprefix(f"S{name[1:]} ")
    if rest != text:
        return wording.capital(rest.removeprefix("was "))
    return text.replace(f" for {name}", "").replace(f" of {name}", "")


def _ending(data: ReviewData, lines: Lines) -> tuple[Quote, ...]:
    at = data.summary.get("outcome_utc")
    return () if at is None else tuple(q for q in said_around(lines, pd.Timestamp(at), CALLED, _ENDINGS) if q.leading)


def _without_implied(card: Card) -> Card:
    kinds = {kind for kind, _, _ in card.texts}
    card.texts = [t for t in card.texts if _IMPLIED.get(t[0]) not in kinds]
    return card
