"""The case for and against one step's verdict, in words, from the tables of a review.

Question answered: why was this step judged as it was: when it was due, what was taken for it, what else could have been, what spoke
for and against each. Conventions: input is the tables of a review folder, output is lines of plain text; scores 0..1.
It computes nothing that the tables do not hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from aftercount.counttime import format_count, format_duration

STRONG, FAIR = 0.8, 0.4  # scores from which a sign speaks clearly for, or neither for nor against
NO_STATION, STATION_SPAN = 0.5, 0.1  # station score when nobody is known; within this of it stations say nothing


def explain_step(tables: Mapping[str, pd.DataFrame], step: str) -> list[str]:
    """Lines for every pass in which the step was due."""
    rows = tables["steps"][tables["steps"]["step"] == step]
    lines: list[str] = []
    for row in rows.to_dict("records"):
        lines += _head(row)
        lines += _clock(tables["clock"], row)
        lines += _evidence(tables, row)
        lines += _verdict(row)
    return lines


def _head(row: Mapping[Any, Any]) -> list[str]:
    who = f" by {row['by']}" if isinstance(row["by"], str) else ""
    due = f", due {_utc(row['due_utc'])}" if not pd.isna(row["due_utc"]) else ", never due by the clock as it ran"
    return [f"Step {row['step']}, pass {row['pass']}: {row['action']}{who}", f"  planned {format_count(row['planned_t_s'])}{due}"]


def _clock(clock: pd.DataFrame, row: Mapping[Any, Any]) -> list[str]:
    when = row["actual_utc"] if not pd.isna(row["actual_utc"]) else row["due_utc"]
    if pd.isna(when):
        return []
    there = clock[(clock["start_utc"] <= when) & (clock["end_utc"] >= when)]
    if there.empty:
        return ["  the clock there: not known"]
    segment = there.iloc[0]
    span = f"{format_count(segment['start_t_s'])} to {format_count(segment['end_t_s'])}"
    state = f"holding at {format_count(segment['start_t_s'])}" if segment["state"] == "holding" else f"counting, {span}"
    return [f"  the clock there: {state} (good to {segment['sigma_s']:.1f} s)"]


def _evidence(tables: Mapping[str, pd.DataFrame], row: Mapping[Any, Any]) -> list[str]:
    matches = tables["matches"]
    own = matches[(matches["step"] == row["step"]) & (matches["pass"] == row["pass"])].sort_values(["rank", "score"], ascending=[True, False], kind="stable")
    events = tables["events"].set_index("event")
    chosen, others = own[own["rank"] == 1], own[own["rank"] > 1]
    lines = ["  taken for it:" if len(chosen) else "  nothing was taken for it"]
    lines += [line for match in chosen.to_dict("records") for line in _candidate(match, events, row)]
    if len(others):
        lines.append("  also considered:")
        lines += [line for match in others.to_dict("records") for line in _candidate(match, events, row)]
    elif not len(chosen):
        lines.append("  no line came near its words at any time near its due time")
    return lines


def _candidate(match: Mapping[Any, Any], events: pd.DataFrame, row: Mapping[Any, Any]) -> list[str]:
    event = events.loc[match["event"]]
    speaker = f"{event['station']}: " if isinstance(event["station"], str) else ""
    place = f"{event['source']}:{event['line']}"
    reasons = "; ".join(_reasons(match, event, row))
    return [f"    {match['score']:.2f} {match['part']} {place} {_utc(event['utc'])} {speaker}\"{event['text']}\"", f"         {reasons}"]


def _reasons(match: Mapping[Any, Any], event: pd.Series, row: Mapping[Any, Any]) -> list[str]:
    words = match["text_score"]
    told = "for: its words fit this step" if words >= STRONG else "its words fit in part" if words >= FAIR else "against: its words fit poorly, or contradict the step, or say it is not done"
    reasons = [f"{told} ({words:.2f})", _time_reason(match, event, row)]
    station = match["station_score"]
    if abs(station - NO_STATION) > STATION_SPAN:
        reasons.append(f"{'for: the planned station spoke' if station > NO_STATION else 'against: another station spoke'} ({station:.2f})")
    return reasons


def _time_reason(match: Mapping[Any, Any], event: pd.Series, row: Mapping[Any, Any]) -> str:
    if pd.isna(event["utc"]) or pd.isna(row["due_utc"]):
        return "its time is not known"
    late = (event["utc"] - row["due_utc"]).total_seconds()
    side = "after" if late >= 0 else "before"
    told = "for" if match["time_score"] >= FAIR else "against"
    return f"{told}: {format_duration(abs(round(late)))} {side} due ({match['time_score']:.2f})"


def _verdict(row: Mapping[Any, Any]) -> list[str]:
    lines = [f"  verdict: {row['status']}, confidence {row['confidence']:.2f}"]
    if row["decided"]:
        lines.append("  settled by a decision of a reviewer (decisions.csv)")
    elif row["review"]:
        lines.append("  a person should look: among the least sure verdicts of this count")
    return lines


def _utc(when: Any) -> str:
    return "at no known time" if pd.isna(when) else pd.Timestamp(when).strftime("%H:%M:%SZ")
