"""The case for and against one step's verdict, in words, from the tables of a review.

Question answered: why was this step judged as it was: when it was due, what was taken for it, what else could have been, what spoke
for and against each. Conventions: input is the tables of a review folder, output is lines of plain text; scores 0..1.
It reads the texts once more for what contradicts the step; it computes no score anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from aftercount.counttime import format_count
from aftercount.match import conflict, lexicon

STRONG, FAIR = 0.8, 0.4  # scores from which a sign speaks clearly for, or neither for nor against
NO_STATION, STATION_SPAN = 0.5, 0.1  # station score when nobody is known; within this of it stations say nothing
LIKELY = 0.25  # score from which a line not taken is worth naming as a rival
HELD_S = 5.0  # seconds between wall and count from which a hold is worth naming
MINUTE_S = 60
SURE_SIGMAS = 2.0  # beyond the tolerance by so much a step is late, as the findings have it, but for a lost order
_MISSES = {conflict.NOT_DONE: "it says that it is not done", conflict.NOT_NOW: "it speaks of something to come or gone", conflict.ASKED | conflict.ASKED_ABOUT: "it asks",
           conflict.ABOUT: "it is talk about it", conflict.STATE: "it tells how a thing is"}


def explain_step(tables: Mapping[str, pd.DataFrame], step: str) -> list[str]:
    """Lines for every pass in which the step was due."""
    rows = tables["steps"][tables["steps"]["step"] == step]
    lines: list[str] = []
    matches = tables["matches"].sort_values(["rank", "score"], ascending=[True, False], kind="stable")
    for row in rows.to_dict("records"):
        own = matches[(matches["step"] == row["step"]) & (matches["pass"] == row["pass"])]
        lines += _head(row)
        lines += _clock(tables["clock"], row)
        lines += _evidence(tables, own, row)
        lines += _verdict(row, own)
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


def _evidence(tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, row: Mapping[Any, Any]) -> list[str]:
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
    if match["text_score"] == 0.0:
        if match["part"] == "call" or match["rank"] == 1 and match["event"] == row["event"]:
            return ["no word of the step: it passed between its stations near due, and is no other step's"]
        return ["no word of the step: it answers what was said just before on its log"]
    reasons = [_words_reason(match, event, row), _time_reason(match, event, row)]
    station = match["station_score"]
    if abs(station - NO_STATION) > STATION_SPAN:
        reasons.append(f"{'for: the planned station spoke' if station > NO_STATION else 'against: another station spoke'} ({station:.2f})")
    return reasons


def _words_reason(match: Mapping[Any, Any], event: pd.Series, row: Mapping[Any, Any]) -> str:
    words = match["text_score"]
    against = _contrary(str(event["text"]), str(row["action"]))
    if against and words < STRONG:
        return f"against: {' and '.join(against)} ({words:.2f})"
    return f"{'for: its words fit this step' if words >= STRONG else 'its words fit in part' if words >= FAIR else 'against: its words hardly fit'} ({words:.2f})"


def _contrary(text: str, action: str) -> list[str]:
    """What the text says that speaks against the step, in words."""
    bits = int(conflict.missed_besides([text], conflict.own_signs([action]))[0]) & ~(int(conflict.own_misses([action])[0]) & conflict.STATE)
    told = [f"it says '{said}' where the step says '{meant}'" for said, meant in conflict.opposed(lexicon.stems_of(text), lexicon.stems_of(action))[:2]]
    told += [reason for bit, reason in _MISSES.items() if bits & bit]
    return told


def _time_reason(match: Mapping[Any, Any], event: pd.Series, row: Mapping[Any, Any]) -> str:
    """From due, by the count where it ran and by the wall in a hold; an answer or report from when the step was begun."""
    begun = row["actual_utc"]
    if match["rank"] == 1 and match["part"] != "call" and not pd.isna(begun) and not pd.isna(event["utc"]) and event["utc"] > begun:
        return f"{_span((event['utc'] - begun).total_seconds())} after the step was begun"
    if pd.isna(event["utc"]) or pd.isna(row["due_utc"]):
        return "its time is not known"
    wall = (event["utc"] - row["due_utc"]).total_seconds()
    counted = event["t_s"] - row["planned_t_s"] if event["pass"] == row["pass"] and not pd.isna(event["t_s"]) else wall
    late = counted if abs(counted) < abs(wall) else wall
    told = "for" if match["time_score"] >= FAIR else "against"
    reason = f"{told}: {_span(late)} {'after' if late >= 0 else 'before'} due ({match['time_score']:.2f})"
    return reason if abs(wall - late) < HELD_S else f"{reason[:-1]}; {_span(wall)} by the wall, through a hold)"


def _span(seconds: float) -> str:
    whole = abs(round(seconds))
    return f"{whole} s" if whole < 2 * MINUTE_S else f"{whole // MINUTE_S} min {whole % MINUTE_S:02d} s"


def _verdict(row: Mapping[Any, Any], own: pd.DataFrame) -> list[str]:
    lines = [f"  verdict: {row['status']}{_timing(row)}, confidence {row['confidence']:.2f}"]
    if row["decided"]:
        lines.append("  settled by a decision of a reviewer (decisions.csv)")
    elif row["review"]:
        lines.append(f"  a person should look, among the least sure verdicts of this count: {_doubt(row, own)}")
    return lines


def _timing(row: Mapping[Any, Any]) -> str:
    if not isinstance(row["timing"], str) or pd.isna(row["deviation_s"]):
        return ""
    allowed = f"{row['early_s']:.0f} s early and {row['late_s']:.0f} s late are allowed"
    side = "after" if row["deviation_s"] >= 0 else "before"
    if row["timing"] == "on_time" and row["deviation_s"] - row["late_s"] > SURE_SIGMAS * row["deviation_sigma_s"]:
        allowed += "; only its completion is known, and in this log the order for it may have been lost"
    return f" {row['timing'].replace('_', ' ')} ({_span(row['deviation_s'])} {side} due, good to {row['deviation_sigma_s']:.1f} s; {allowed})"


def _doubt(row: Mapping[Any, Any], own: pd.DataFrame) -> str:
    """The weakest point of the case."""
    chosen, others = own[own["rank"] == 1], own[own["rank"] > 1]
    if chosen.empty:
        best = others["score"].max() if len(others) else 0.0
        return "a line that may be it was not taken" if best >= LIKELY else "no line is like it, and its lines may be lost or garbled"
    lead = chosen[chosen["event"] == row["event"]]
    if len(lead) and lead["score"].iloc[0] < STRONG:
        return "the line that began it is not surely about this step"
    if len(chosen) == 1:
        return "one line alone speaks for it"
    if len(others) and others["score"].max() >= LIKELY:
        return "another line could be it as well"
    return "its signs do not fit together as well as those of other steps"


def _utc(when: Any) -> str:
    return "at no known time" if pd.isna(when) else pd.Timestamp(when).strftime("%H:%M:%SZ")
