"""What the holds show against the plan: unplanned, extended, cut short, not taken, not resumed, recycles, authority.

Conventions: times as in the HOLDS table; a hold's length differs from its plan only beyond the count's tolerance and
`FLAG_SIGMAS` standard deviations of the clock. `authority` maps hold | resume | recycle | cutoff | scrub to the stations
that may call it; where it names none, anybody may. It does not find holds: the timeline did.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from aftercount.counttime import format_count
from aftercount.findings.finding import Finding
from aftercount.findings.heard import Heard, Utterance, micros, plain, plain_list
from aftercount.findings.steps import FLAG_SIGMAS
from aftercount.findings.words import said

# A hold recorded within this many seconds of a built-in hold's T is that hold (calls are good to a second or two).
SAME_HOLD_S = 5.0


def on_holds(timeline: Any, heard: Heard, plan: Any, count: Any) -> Iterator[Finding]:
    """Every finding on every hold, and on built-in holds that were not taken."""
    sigma = _sigma(timeline.clock)
    rows = _rows(timeline.holds)
    for hold in rows:
        yield from _length(hold, sigma, count)
        yield from _resumed(hold, timeline.outcome)
        yield from _recycle(hold)
        yield from _authority(hold, heard, count)
    yield from _not_taken(timeline.clock, rows, plan, sigma)


def _rows(holds: pd.DataFrame) -> list[dict[str, Any]]:
    columns = {c: plain_list(holds[c].tolist()) for c in holds.columns}
    columns["start_us"], columns["end_us"] = micros(holds["start_utc"]), micros(holds["end_utc"])
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def _sigma(clock: pd.DataFrame) -> float:
    """The clock's typical uncertainty in seconds."""
    return float(clock["sigma_s"].median()) if len(clock) else 0.0


def _make(hold: dict[str, Any], kind: str, severity: str, text: str, deviation_s: float | None = None,
          heard: Utterance | None = None) -> Finding:
    return Finding(kind, severity, text, None, int(hold["pass"]), deviation_s, heard, at_us=hold["start_us"])


def _cause(hold: dict[str, Any]) -> str:
    by = f", called by {hold['called_by']}" if hold.get("called_by") else ""
    why = f": {hold['reason']}" if hold.get("reason") else ""
    if hold["basis"] == "inferred":
        low, high = hold.get("t_low_s"), hold.get("t_high_s")
        span = f" somewhere from {format_count(low)} to {format_count(high)}" if low is not None and high is not None else ""
        return f"; nobody was heard to call it, it lies{span}{why}" if span else f"; nobody was heard to call it{why}"
    return by + why


def _length(hold: dict[str, Any], sigma: float, count: Any) -> Iterator[Finding]:
    at, length, excess = format_count(hold["t_s"]), hold["duration_s"], hold["excess_s"]
    if hold["kind"] == "unplanned":
        took = f" of {said(length)}" if length is not None else ""
        yield _make(hold, "hold_unplanned", "major", f"Unplanned hold{took} at {at}{_cause(hold)}.", length)
        return
    if excess is None:
        return
    noise = FLAG_SIGMAS * sigma * 2**0.5
    planned = said(hold["planned_s"])
    if excess - count.late_s > noise:
        text = f"The built-in hold at {at} was extended by {said(excess)} beyond its {planned}{_cause(hold)}."
        yield _make(hold, "hold_extended", "minor", text, excess)
    elif -excess - count.early_s > noise:
        text = f"The built-in hold at {at} was cut short by {said(excess)} of its {planned}."
        yield _make(hold, "hold_cut_short", "minor", text, excess)


def _resumed(hold: dict[str, Any], outcome: str) -> Iterator[Finding]:
    if hold["end_us"] is None:
        ended = f"; the count ended in a {outcome}" if outcome in ("scrub", "cutoff") else ""
        text = f"The hold at {format_count(hold['t_s'])} was never resumed{ended}."
        yield _make(hold, "hold_not_resumed", "note" if ended else "minor", text)


def _recycle(hold: dict[str, Any]) -> Iterator[Finding]:
    if hold.get("recycled_to_t_s") is not None:
        text = (f"The count was recycled from {format_count(hold['t_s'])} to {format_count(hold['recycled_to_t_s'])}; "
                "steps from there on were due again.")
        yield _make(hold, "recycle", "major", text)


def _authority(hold: dict[str, Any], heard: Heard, count: Any) -> Iterator[Finding]:
    authority = count.authority or {}
    for call, by, event in (("hold", hold.get("called_by"), hold.get("event")),
                            ("resume", hold.get("resumed_by"), hold.get("resume_event"))):
        allowed = authority.get(call)
        if allowed and by and by not in allowed:
            deed = "called" if call == "hold" else "resumed"
            text = (f"The hold at {format_count(hold['t_s'])} was {deed} by {by}; "
                    f"only {' or '.join(allowed)} may.")
            yield _make(hold, "authority", "major", text, heard=heard.get(event))


def _not_taken(clock: pd.DataFrame, holds: list[dict[str, Any]], plan: Any, sigma: float) -> Iterator[Finding]:
    """Built-in holds whose T the clock ran through."""
    near = max(SAME_HOLD_S, FLAG_SIGMAS * sigma)
    planned = plan.table[plan.table["kind"] == "hold"]
    for in_pass in sorted(set(clock["pass"].tolist())):
        segments = clock[clock["pass"] == in_pass]
        low, high = float(segments["start_t_s"].min()), float(segments["end_t_s"].max())
        for t_s, length in zip(planned["t_s"].tolist(), planned["duration_s"].tolist(), strict=True):
            if not low < t_s - near or not t_s + near < high:
                continue
            if any(h["pass"] == in_pass and abs(h["t_s"] - t_s) <= near for h in holds):
                continue
            how_long = plain(length)
            asked = f" of {said(how_long)}" if how_long else ""
            yield Finding("hold_not_taken", "major", f"The built-in hold{asked} at {format_count(t_s)} was not taken.",
                          None, int(in_pass), -how_long if how_long else None, at_us=_crossed(segments, t_s))


def _crossed(segments: pd.DataFrame, t_s: float) -> int | None:
    """When the clock passed `t_s` in these segments."""
    starts = micros(segments["start_utc"])
    for start, state, low, high in zip(starts, segments["state"], segments["start_t_s"], segments["end_t_s"], strict=True):
        if start is not None and state == "counting" and low <= t_s <= high:
            return start + round((t_s - low) * 1e6)
    return None
