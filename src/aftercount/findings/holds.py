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
from aftercount.findings.caller import AFTER_S, BEFORE_S, called, named_caller
from aftercount.findings.finding import Finding
from aftercount.findings.heard import Heard, Utterance, micros, plain, plain_list, seconds_between
from aftercount.findings.steps import FLAG_SIGMAS
from aftercount.findings.words import said

# A hold recorded within this many seconds of a built-in hold's T is that hold (calls are good to a second or two).
SAME_HOLD_S = 5.0
# A hold is called at most this long before the clock stops, and is talked of as a call this long after, seconds.
CALLED_BEFORE_S, CALLED_AFTER_S = 5.0, 30.0
# Outcomes that end a count in its last hold.
ENDED = ("scrub", "cutoff")


def on_holds(timeline: Any, heard: Heard, plan: Any, count: Any) -> Iterator[Finding]:
    """Every finding on every hold, and on built-in holds that were not taken."""
    sigma = _sigma(timeline.clock)
    rows = _rows(timeline.holds)
    stations = {u.station for u in heard.all if u.station}
    for hold in rows:
        call = _call(hold, heard)
        hold["named"] = named_caller(_words_at(hold, heard), hold.get("called_by"), stations)
        yield from _unplanned(hold, call, timeline.outcome) if hold["kind"] == "unplanned" else _built_in(hold, call, (sigma, timeline.outcome), count)
        yield from _authority(hold, heard, call, count)
    yield from _not_taken(timeline.clock, rows, plan, sigma)


def _rows(holds: pd.DataFrame) -> list[dict[str, Any]]:
    columns = {c: plain_list(holds[c].tolist()) for c in holds.columns}
    columns["start_us"], columns["end_us"] = micros(holds["start_utc"]), micros(holds["end_utc"])
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def _words_at(hold: dict[str, Any], heard: Heard) -> list[str]:
    """What people said as the hold was called."""
    start = hold["start_us"]
    return [u.text for u in heard.all if u.us is not None and u.medium != "machine" and -BEFORE_S <= seconds_between(u.us, start) <= AFTER_S]


def _sigma(clock: pd.DataFrame) -> float:
    """The clock's typical uncertainty in seconds."""
    return float(clock["sigma_s"].median()) if len(clock) else 0.0


def _make(hold: dict[str, Any], kind: str, severity: str, text: str, deviation_s: float | None = None,
          heard: Utterance | None = None) -> Finding:
    return Finding(kind, severity, text, None, int(hold["pass"]), deviation_s, heard, at_us=hold["start_us"])


def _call(hold: dict[str, Any], heard: Heard) -> Utterance | None:
    """What called the hold: a person's words where there are any, else what recorded it."""
    known = heard.get(hold.get("event"))
    if known is not None and known.medium != "machine":
        return known
    near = [u for u in heard.all if u.kind == "hold" and u.medium != "machine" and u.us is not None and hold["start_us"] is not None
            and -CALLED_BEFORE_S <= seconds_between(u.us, hold["start_us"]) <= CALLED_AFTER_S]
    return min(near, key=lambda u: (u.us or 0, u.event), default=known)


def _cause(hold: dict[str, Any], call: Utterance | None) -> str:
    who = hold.get("called_by")
    recorded = call is not None and call.medium == "machine"
    by = f", {f'recorded by {who}' if recorded else called(who, hold.get('named'))}" if who else ""
    why = f": {hold['reason']}" if hold.get("reason") else ""
    if hold["basis"] == "inferred":
        low, high = hold.get("t_low_s"), hold.get("t_high_s")
        span = f" somewhere from {format_count(low)} to {format_count(high)}" if low is not None and high is not None else ""
        return f"; nobody was heard to call it, it lies{span}{why}" if span else f"; nobody was heard to call it{why}"
    return by + why


def _unplanned(hold: dict[str, Any], call: Utterance | None, outcome: str) -> Iterator[Finding]:
    """One finding, with what became of the hold: a recycle, or the end of the count."""
    at, length = format_count(hold["t_s"]), hold["duration_s"]
    took = f" of {said(_to_the_second(hold))}" if length is not None else ""
    what = f"Unplanned hold{took} at {at}{_cause(hold, call)}"
    if hold.get("recycled_to_t_s") is not None:
        yield _make(hold, "recycle", "major", f"{what}. {_set_back(hold)}", length, call)
    else:
        end = "" if hold["end_us"] is not None else f"; it was never resumed{_ended(outcome)}"
        yield _make(hold, "hold_unplanned", "major", f"{what}{end}.", length, call)


def _to_the_second(hold: dict[str, Any]) -> float:
    """Its length between its two instants as they are told, to the second; of a hold without an end, its length."""
    if hold["end_us"] is None:
        return float(hold["duration_s"])
    return float((hold["end_us"] + 500_000) // 1_000_000 - (hold["start_us"] + 500_000) // 1_000_000)


def _built_in(hold: dict[str, Any], call: Utterance | None, known: tuple[float, str], count: Any) -> Iterator[Finding]:
    at, excess, (sigma, outcome) = format_count(hold["t_s"]), hold["excess_s"], known
    noise = FLAG_SIGMAS * sigma * 2**0.5
    planned = said(hold["planned_s"])
    if excess is not None and excess - count.late_s > noise:
        text = f"The built-in hold at {at} was extended by {said(excess)} beyond its {planned}{_cause(hold, call)}."
        yield _make(hold, "hold_extended", "minor", text, excess, call)
    elif excess is not None and -excess - count.early_s > noise:
        text = f"The built-in hold at {at} was cut short by {said(excess)} of its {planned}."
        yield _make(hold, "hold_cut_short", "minor", text, excess, heard=call)
    if hold["end_us"] is None:
        severity = "note" if outcome in ENDED else "minor"
        yield _make(hold, "hold_not_resumed", severity, f"The built-in hold at {at} was never resumed{_ended(outcome)}.", heard=call)
    if hold.get("recycled_to_t_s") is not None:
        yield _make(hold, "recycle", "major", _set_back(hold), heard=call)


def _ended(outcome: str) -> str:
    return f"; the count ended in a {outcome}" if outcome in ENDED else ""


def _set_back(hold: dict[str, Any]) -> str:
    return (f"The count was recycled from {format_count(hold['t_s'])} to {format_count(hold['recycled_to_t_s'])}; "
            "steps from there on were due again.")


def _authority(hold: dict[str, Any], heard: Heard, call: Utterance | None, count: Any) -> Iterator[Finding]:
    authority = count.authority or {}
    resume = heard.get(hold.get("resume_event"))
    for what, by, event in (("hold", hold.get("called_by"), call), ("resume", hold.get("resumed_by"), resume)):
        allowed = authority.get(what)
        recorded = event is not None and event.medium == "machine"  # a machine tells of a call, it makes none
        if allowed and by and by not in allowed and not recorded:
            deed = "called" if what == "hold" else "resumed"
            text = (f"The hold at {format_count(hold['t_s'])} was {deed} by {by}; "
                    f"only {' or '.join(allowed)} may.")
            yield _make(hold, "authority", "major", text, heard=event)


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
