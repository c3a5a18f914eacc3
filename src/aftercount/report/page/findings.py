"""The deviations as the page shows them: findings on one step and pass, or on the count, gathered into one card.

The order is the table's own: the most serious first, then as the count ran. Each card carries the line it rests on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.page.lines import Lines, Quote
from aftercount.report.page.steps import StepRow

SEVERITY_WORDS = {"major": "serious", "minor": "off the plan", "note": "worth knowing"}


@dataclass
class Card:
    """anchor: names it in the page. step: its row when it is about a step. event: the moment it is about, if heard."""

    anchor: str
    severity: str
    words: str
    step: StepRow | None
    texts: list[tuple[str, str]] = field(default_factory=list)
    quote: Quote | None = None
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
        key = (f["step"], f["pass"]) if row else f["finding"]
        if key not in made:
            words = SEVERITY_WORDS.get(f["severity"], f["severity"])
            made[key] = Card(f"finding-{f['finding']}", f["severity"], words, row, hold=_hold(f, holds))
        _add(made[key], f, lines)
    return list(made.values())


def _hold(finding: dict[str, Any], holds: list[dict[str, Any]]) -> int | None:
    """The hold a finding is about: of its pass, and the one whose count time its text names; only to link the two."""
    if finding["step"] is not None or not finding["kind"].startswith(("hold_", "recycle", "authority")):
        return None
    named = [h["number"] for h in holds if h["pass"] == finding["pass"] and f"{wording.count_time(h['t_s'])}" in finding["text"]]
    return named[0] if len(named) == 1 else None


def _add(card: Card, finding: dict[str, Any], lines: Lines) -> None:
    card.texts.append((finding["kind"], finding["text"]))
    card.decided = card.decided or finding["decided"]
    event = finding["event"] if finding["event"] is not None else (card.step.event if card.step else None)
    if card.quote is None and event is not None:
        card.quote, card.event = lines.quote(event), event
    if card.quote is None and finding["source"]:
        card.fallback = f"{finding['source']}:{finding['line']}"
