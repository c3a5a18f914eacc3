"""The STEPS table: one row a step and pass, with its evidence in words.

Conventions: see STEPS in `tables`; the plan's unknown columns follow as strings. It decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pandas as pd

from aftercount import tables
from aftercount.counttime import format_count
from aftercount.findings.heard import Utterance, plain, seconds_between
from aftercount.findings.refusals import refuses
from aftercount.findings.words import Judged, said, short

_VERBS = {"call": "called", "record": "recorded", "response": "accepted", "report": "reported"}


def steps(judged: Sequence[Judged], plan: Any) -> pd.DataFrame:
    """One row a judged step, in the order given."""
    return tables.STEPS.from_rows(_row(j, plan.extra) for j in judged)


def _row(j: Judged, extra: Sequence[str]) -> dict[str, Any]:
    fact, time, begun = j.fact, j.time, j.time.begun
    row = {
        "step": fact.step, "pass": fact.in_pass, "phase": plain(fact.plan.get("phase")), "action": fact.action,
        "by": plain(fact.plan.get("by")), "planned_t_s": fact.planned_t_s, "planned_utc": _stamp(fact.planned_us),
        "due_utc": _stamp(fact.due_us), "actual_utc": _stamp(begun.us if begun else None),
        "actual_t_s": begun.t_s if begun else None, "deviation_s": time.deviation_s, "status": time.status,
        "timing": time.timing, "out_of_order": j.out_of_order, "violates": list(j.violates),
        "times_seen": fact.times_seen, "response_s": j.response.response_s, "response": j.response.response,
        "confidence": fact.confidence, "review": j.review, "decided": fact.decided,
        "event": begun.event if begun else None, "source": begun.source if begun else None,
        "line": begun.line if begun else None, "evidence": evidence(j), "deviation_sigma_s": time.sigma_s,
        "early_s": fact.early_s, "late_s": fact.late_s, "kind": plain(fact.plan.get("kind")) or "step",
        "to": plain(fact.plan.get("to")), "must": fact.must,
        "response_event": j.response.answer.event if j.response.answer else None,
        "completed_utc": _stamp(_completed(j)), "plan_line": plain(fact.plan.get("line")),
    }
    return row | {name: _text(fact.plan.get(name)) for name in extra}


def _text(value: Any) -> str | None:
    kept = plain(value)
    return None if kept is None else str(kept)


def _stamp(us: int | None) -> pd.Timestamp | None:
    return None if us is None else pd.Timestamp(us, unit="us", tz="UTC")


def _completed(j: Judged) -> int | None:
    """When it was reported complete, else when a machine recorded it."""
    for part in ("report", "record"):
        done = [u for u in j.fact.heard.get(part, ()) if not refuses(u.text)][:1]
        if done and done[0].us is not None:
            return done[0].us
    return None


def evidence(j: Judged) -> str:
    """Who said or recorded it, when and where, in one line."""
    if j.time.status in ("missed", "skipped") and j.fact.unlogged:
        return "the logs had ended when it was due"
    if not j.time.done:
        return {"missed": "not seen in any log", "skipped": "optional, not seen",
                "not_reached": "the count did not reach it"}[j.time.status]
    begun = j.time.begun
    said_parts = []
    for part in ("call", "record", "response", "report"):
        for number, utterance in enumerate(j.fact.heard.get(part, ())):
            said_parts.append(_phrase(part, utterance, begun, number > 0))
    return "; ".join(said_parts) or "decided by a reviewer"


def _phrase(part: str, u: Utterance, begun: Utterance | None, again: bool) -> str:
    if again:
        return f"also at {u.place}"
    who = f"{u.station} " if u.station else ""
    when = ""
    if begun is not None and u.event != begun.event and u.us is not None and begun.us is not None:
        apart = seconds_between(u.us, begun.us)
        when = f" {said(apart)} {'later' if apart >= 0 else 'before'}"
    elif u.t_s is not None:
        when = f" at {format_count(u.t_s)}"
    return f"{who}{_VERBS[part]}{when}: '{short(u.text)}' ({u.place})"
