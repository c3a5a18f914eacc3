"""What does `review` print: the count in the words a test conductor could read aloud to the room.

From the tables and the summary alone. Ends with the caution: this looks back, and decides nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from aftercount.findings.caller import called
from aftercount.report import wording
from aftercount.report.data import ReviewData, plain, rows
from aftercount.report.told import told_delay, told_holds, told_sum

CAUTION = (
    "This reviews what was logged about a count that is over. It is not a clearance: the range's rules and its "
    "licensed, responsible people decide, and come before anything said here."
)
NOT_DATED = "no log tells at what time it came"
_MOST_NAMED = 8  # step ids named in a sentence before the rest are only counted


def summary_text(summary: Mapping[str, Any], tables: Mapping[str, pd.DataFrame]) -> str:
    """The whole text, lines of one thought each."""
    return text_of(ReviewData(**dict(tables), summary=plain(dict(summary))))


def text_of(data: ReviewData) -> str:
    parts = [headline(data), *t0_lines(data), *hold_lines(data), *step_lines(data), *eye_lines(data)]
    return "\n".join([*parts, *cautions(data)])


def cautions(data: ReviewData) -> list[str]:
    """What the count itself makes doubtful, and then what is always so."""
    unknown = ["No log gave the date and time in UTC: wall times are relative, count times are not affected."]
    own = unknown * (data.summary.get("utc_known") is False)
    return [*own, *map(str, data.summary.get("cautions") or []), str(data.summary.get("caution") or CAUTION)]


def headline(data: ReviewData) -> str:
    summary = data.summary
    name = summary.get("title") or summary.get("count")
    kind = wording.KINDS.get(str(summary.get("kind")), str(summary.get("kind") or "count"))
    outcome = wording.OUTCOMES.get(str(summary.get("outcome")), str(summary.get("outcome")))
    return f"{name} ({kind}): {outcome}."


def ran_to(data: ReviewData) -> str | None:
    """When a count that is not resolved came to its T-0, if it did: what followed is not in the logs."""
    return data.summary.get("outcome_utc") if data.summary.get("outcome") == "unresolved" else None


def zero_before_cutoff(data: ReviewData) -> Any:
    """When T-0 came, of a count that was cut off after it: an engine that lit and was stopped."""
    last = data.clock[data.clock["state"] == "counting"].tail(1) if data.summary.get("outcome") == "cutoff" else data.clock.iloc[:0]
    came = [start - pd.Timedelta(t, "s") for start, t, end_t in zip(last["start_utc"], last["start_t_s"], last["end_t_s"], strict=True) if t <= 0 < end_t]
    return came[0] if came and pd.notna(came[0]) else None


def t0_lines(data: ReviewData) -> list[str]:
    """T-0 planned and actual, and the difference in words."""
    planned, actual, delay = data.summary.get("t0_scheduled"), data.summary.get("t0_actual"), told_delay(data.summary)
    reached = ran_to(data)
    if reached is not None:
        planned_for = f"T-0 was planned for {wording.instant(planned)}; the" if planned else "The"
        return [f"{planned_for} count ran to it at {wording.instant(reached)}, and what followed is not in the logs."]
    zero, cut = zero_before_cutoff(data), data.summary.get("outcome_utc")
    if zero is not None:
        planned_for = f"T-0 was planned for {wording.instant(planned)} and came at" if planned else "T-0 came at"
        return [f"{planned_for} {wording.instant(zero)}; the count was cut off" + (f" at {wording.instant(cut)}." if cut else " after it.")]
    if actual is None and data.summary.get("outcome") == "liftoff":
        return [f"T-0 was planned for {wording.instant(planned)}; {NOT_DATED}." if planned else f"{NOT_DATED[0].upper()}{NOT_DATED[1:]}."]
    if actual is None:
        return [f"T-0 was planned for {wording.instant(planned)} and was not reached." if planned else "T-0 was not reached."]
    if planned is None or delay is None:
        return [f"T-0 was at {wording.instant(actual)}."]
    size = "on time" if abs(delay) < 0.5 else wording.spoken_deviation(delay)
    return [f"T-0 was planned for {wording.instant(planned)} and came at {wording.instant(actual)}, {size}."]


def hold_lines(data: ReviewData) -> list[str]:
    holds = told_holds(data)
    recycles = int(data.summary.get("recycles") or 0)
    if not holds:
        return ["There were no holds."] + [f"There was {wording.counted(recycles, 'recycle')}."] * bool(recycles)
    built, unplanned = (told_sum(data, kind) or 0.0 for kind in ("built_in", "unplanned"))
    total = f"{wording.capital(wording.counted(len(holds), 'hold'))}: {wording.duration(built)} built in, {wording.duration(unplanned)} not planned."
    lines = [total, *(f"  {hold_sentence(h)}" for h in holds)]
    return lines + [f"{wording.capital(wording.counted(recycles, 'recycle'))}."] * bool(recycles)


def hold_sentence(hold: dict[str, Any]) -> str:
    """'Hold 2, unplanned, at T-00:05:00: 8 min; called by TC; cause: helium low.'"""
    kind = "built in" if hold["kind"] == "built_in" else "unplanned"
    if hold["end_utc"] is None:
        size = "never resumed"
    else:
        size = "of unknown length" if hold["duration_s"] is None else wording.duration(hold["duration_s"]) + _against_plan(hold)
    parts = [size]
    parts += [called(hold["called_by"], hold["named"])] if hold["called_by"] else []
    parts += ["nobody was heard to call it, it is inferred from the clock"] * (hold["basis"] == "inferred" and not hold["called_by"])
    parts += [_cause(hold)]
    back = hold["recycled_to_t_s"]
    parts += [f"then recycled to {wording.count_time(back)}"] if back is not None else []
    return f"Hold {hold['number']}, {kind}, at {wording.count_time(hold['t_s'])}: {'; '.join(p for p in parts if p)}."


def _against_plan(hold: dict[str, Any]) -> str:
    excess = hold["excess_s"]
    if hold["kind"] != "built_in" or excess is None or abs(excess) < 0.5:
        return ""
    return f", {wording.duration(excess)} {'longer' if excess > 0 else 'shorter'} than planned"


def _cause(hold: dict[str, Any]) -> str:
    if hold["reason"]:
        return f"cause: {hold['reason']}"
    waits = f"waiting for step {hold['waiting_for']}" if hold["waiting_for"] else ""
    return waits or ("cause not found in the logs" if hold["kind"] == "unplanned" else "")


def step_lines(data: ReviewData) -> list[str]:
    """How many steps went how, each count once."""
    steps = rows(data.steps)
    done = [s for s in steps if s["status"] == "done"]
    on_time = sum(s["timing"] == "on_time" for s in done)
    due = [s for s in steps if s["status"] != "not_reached"]
    passes = " over all passes" if any(s["pass"] > 1 for s in steps) else ""
    undone = [f"{n} {words}" for status, words in (("missed", "missed"), ("skipped", "optional, not seen")) if (n := sum(s["status"] == status for s in due))]
    more = "".join(f"; {words}" for words in undone)
    lines = [f"{wording.capital(wording.counted(len(due), 'step'))} fell due{passes}: {len(done)} done ({on_time} of them on time){more}."]
    asked = [s for s in done if only_asked(s)]
    if asked:
        are = "one is" if len(asked) == 1 else f"{len(asked)} are"
        lines.append(f"  Of those done, {are} known only from being called or accepted: no report of completion was heard.")
    for words, chosen in step_groups(steps):
        if chosen:
            names = f" ({wording.listed(named(chosen), _MOST_NAMED)})"
            lines.append(f"  {wording.capital(words)}: {len(chosen)}{names}.")
        else:
            lines.append(f"  {wording.capital(words)}: none.")
    return lines


def only_asked(step: dict[str, Any]) -> bool:
    """Whether a step that another station performs is known only from its call or acceptance, with no report or record."""
    ordered = step["to"] is not None and step["by"] is not None and step["to"] != step["by"]
    return bool(step["status"] == "done" and not step["decided"] and ordered and step["kind"] != "poll" and step["completed_utc"] is None)


def step_groups(steps: list[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """The counts people ask for, in the order they ask."""
    groups = [
        ("missed", [s for s in steps if s["status"] == "missed"]),
        ("late", [s for s in steps if s["timing"] == "late"]),
        ("early", [s for s in steps if s["timing"] == "early"]),
        ("out of order", [s for s in steps if s["out_of_order"] or s["violates"]]),
        ("unanswered", [s for s in steps if s["response"] == "none"]),
    ]
    unreached = [s for s in steps if s["status"] == "not_reached"]
    return groups + [("not reached", unreached)] * bool(unreached)


def named(steps: list[dict[str, Any]]) -> list[str]:
    return [s["step"] + (f" in pass {s['pass']}" if s["pass"] > 1 else "") for s in steps]


def eye_lines(data: ReviewData) -> list[str]:
    """What the tool is not sure of."""
    doubtful = [s for s in rows(data.steps) if s["review"]]
    rejected = len(data.rejects)
    lines = []
    if doubtful:
        steps = wording.counted(len(doubtful), "step")
        lines.append(f"Needs a person's eye: {steps} ({wording.listed(named(doubtful), _MOST_NAMED)}).")
    else:
        lines.append("Nothing needs a person's eye to be settled.")
    if rejected:
        lines.append(f"{wording.capital(wording.counted(rejected, 'line'))} of the logs could not be used; {'it is' if rejected == 1 else 'they are'} in rejects.")
    return lines
