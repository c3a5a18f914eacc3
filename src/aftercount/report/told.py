"""T-0 and the holds as they are told: times and lengths in whole seconds that add up, and who called each hold.

Conventions: an instant is told to its nearest second, a length is the difference of its two told instants, and the slips
of the holds are rounded together so that they and what no hold explains come to the told delay. The tables keep the
fractions. It decides nothing else.
"""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from aftercount.findings.caller import AFTER_S, BEFORE_S, named_caller
from aftercount.report.data import ReviewData, hold_rows
from aftercount.report.wording import second


def told_delay(summary: dict[str, Any]) -> float | None:
    """T-0 as told minus T-0 as planned and told."""
    planned, actual, delay = (summary.get(k) for k in ("t0_scheduled", "t0_actual", "delay_s"))
    if delay is None:
        return None
    if planned is None or actual is None:
        return float(round(float(delay)))
    return (second(pd.Timestamp(actual)) - second(pd.Timestamp(planned))).total_seconds()


def told_holds(data: ReviewData) -> list[dict[str, Any]]:
    """As `hold_rows`, with instants and lengths to the second; named: whom the words give as the caller, if not `called_by`."""
    holds = [_told(h) for h in hold_rows(data.holds)]
    slips = [h["slip_s"] or 0.0 for h in holds]
    delay, exact = told_delay(data.summary), data.summary.get("delay_s")
    other = 0.0 if exact is None else float(exact) - sum(slips)
    together = round(sum(slips)) if delay is None or abs(other) >= 0.5 else round(delay)
    named = _named(data, holds)
    return [h | {"slip_s": None if h["slip_s"] is None else slip, "named": who}
            for h, slip, who in zip(holds, shares(slips, together), named, strict=True)]


def _named(data: ReviewData, holds: list[dict[str, Any]]) -> list[str | None]:
    """For each hold the caller that the words name, where it is another than who announced it."""
    people = data.events[data.events["medium"] != "machine"]
    stations = data.events["station"].dropna().unique().tolist()
    out = []
    for hold in holds:
        low, high = (hold["start_utc"] + pd.Timedelta(s, "s") for s in (-BEFORE_S, AFTER_S))
        out.append(named_caller(people.loc[people["utc"].between(low, high), "text"].tolist(), hold["called_by"], stations))
    return out


def _told(hold: dict[str, Any]) -> dict[str, Any]:
    start, end = second(hold["start_utc"]), hold["end_utc"] and second(hold["end_utc"])
    length = (end - start).total_seconds() if end is not None and hold["duration_s"] is not None else hold["duration_s"]
    excess = length - round(hold["planned_s"]) if hold["excess_s"] is not None and length is not None else hold["excess_s"]
    return hold | {"start_utc": start, "end_utc": end, "duration_s": length, "excess_s": excess}


def shares(parts: list[float], together: float) -> list[float]:
    """The parts as whole numbers that come to `together`: those that lie nearest to the next number give way first."""
    low = [math.floor(p) for p in parts]
    missing = int(together) - sum(low)
    order = sorted(range(len(parts)), key=lambda i: (low[i] - parts[i], i))
    whole = [float(n) for n in low]
    for i in order[: max(missing, 0)]:
        whole[i] += 1.0
    return whole


def told_sum(data: ReviewData, kind: str) -> float | None:
    """The holds of one kind together, as told; the summary's own figure where a length is not known."""
    exact = data.summary.get(f"{kind}_hold_s")
    if exact is None:
        return None
    lengths = [h["duration_s"] or 0.0 for h in told_holds(data) if h["kind"] == kind]
    return sum(lengths) if abs(sum(lengths) - float(exact)) <= len(lengths) else float(exact)
