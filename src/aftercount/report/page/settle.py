"""What the page needs so that a person can settle a match: the lines each step may be, and what was settled before.

Conventions: a decision is `matched` to a source and line, `missed` or `ignore`, as in decisions.csv.
"""

from __future__ import annotations

from typing import Any

from aftercount.report.data import ReviewData
from aftercount.report.page.steps import StepRow
from aftercount.report.page.traffic import Traffic


def settle_data(
    data: ReviewData, steps: tuple[StepRow, ...], offered: dict[tuple[str, int], list[tuple[int, str, float]]], traffic: Traffic
) -> dict[str, Any]:
    """steps: row -> [step, pass, [[line in traffic, part, score], ...]]. decisions: rows of decisions.csv so far."""
    told = {}
    for s in steps:
        lines = [[traffic.place[e], part, round(score, 2)] for e, part, score in offered.get((s.step, s.pass_), []) if e in traffic.place]
        told[str(s.row)] = [s.step, s.pass_, lines]
    return {"steps": told, "decisions": data.summary.get("decisions") or [], "rows": [s.row for s in steps if "look" in s.flags]}
