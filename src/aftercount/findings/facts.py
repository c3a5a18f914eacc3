"""What is known of one step in one pass, before anything is said about it.

Conventions as in `heard`. A `Fact` is one row of `due` with its plan row and the matcher's verdict beside it, and the
utterances the verdict rests on. It decides nothing: `steps`, `order`, `after` and `responses` do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount.findings.heard import Heard, Utterance, apart_s, apart_sigma_s, micros, plain, plain_list

PARTS = ("call", "record", "response", "report")


@dataclass(frozen=True, slots=True)
class Fact:
    """One step due in one pass. `heard` holds, by part, every log's utterance of that moment, best first."""

    step: str
    in_pass: int
    row: int
    plan: dict[str, Any]
    planned_t_s: float
    planned_us: int | None
    due_us: int | None
    due_sigma_s: float
    reached: bool
    into_hold_s: float | None
    early_s: float
    late_s: float
    seen: bool
    confidence: float
    review: bool
    decided: bool
    ignored: bool
    times_seen: int
    heard: dict[str, tuple[Utterance, ...]]

    def first(self, part: str) -> Utterance | None:
        return self.heard[part][0] if self.heard.get(part) else None

    @property
    def action(self) -> str:
        return str(self.plan.get("action") or "")

    @property
    def must(self) -> bool:
        return bool(self.plan.get("must", True))

    @property
    def after(self) -> list[str]:
        return list(self.plan.get("after") or [])


# Two logs heard one moment when their times differ by no more than this many standard deviations, or this many seconds
# (a sentence's length: one log may stamp its start, another its end).
TWIN_SIGMAS = 3.0
TWIN_S = 5.0
# Evidence that the matcher holds likelier than not counts for the time of a step; less is only context.
LEAST_SCORE = 0.5


def gather(due: pd.DataFrame, matched: Any, heard: Heard, plan: Any, count: Any, decisions: pd.DataFrame) -> list[Fact]:
    """One Fact a row of `due`, in its order."""
    plans = {str(r["step"]): r for r in plan.table.to_dict("records")}
    verdicts = {(str(r["step"]), int(r["pass"])): r for r in matched.verdicts.to_dict("records")}
    rank1 = _chosen(matched.matches)
    ignored = _ignored(decisions)
    columns = {name: plain_list(due[name].tolist()) for name in due.columns}
    planned_us, due_us = micros(due["planned_utc"]), micros(due["due_utc"])
    facts = []
    for i, step in enumerate(columns["step"]):
        key = (str(step), int(columns["pass"][i]))
        row, verdict = plans.get(key[0], {}), verdicts.get(key)
        facts.append(Fact(
            key[0], key[1], int(columns["row"][i]), row, float(columns["planned_t_s"][i]), planned_us[i], due_us[i],
            float(columns["due_sigma_s"][i] or 0.0), bool(columns["reached"][i]),
            columns["into_hold_s"][i] if columns["in_hold"][i] else None,
            _tolerance(row, "early_s", count), _tolerance(row, "late_s", count),
            **_verdict_fields(verdict), ignored=bool({key, (key[0], None)} & ignored),
            heard=_heard_parts(verdict, rank1.get(key, []), heard, row),
        ))
    return facts


def _tolerance(row: dict[str, Any], name: str, count: Any) -> float:
    own = plain(row.get(name))
    return float(getattr(count, name) if own is None else own)


def _verdict_fields(verdict: dict[str, Any] | None) -> dict[str, Any]:
    if verdict is None:  # nobody judged it: not seen, and nothing known about it
        return {"seen": False, "confidence": 1.0, "review": False, "decided": False, "times_seen": 0}
    return {
        "seen": bool(verdict["seen"]), "confidence": float(verdict["confidence"]), "review": bool(verdict["review"]),
        "decided": bool(verdict["decided"]), "times_seen": int(verdict["times_seen"]),
    }


def _chosen(matches: pd.DataFrame) -> dict[tuple[str, int], list[tuple[int, str]]]:
    """(event, part) of rank 1 by step and pass, less those that only lean on the others."""
    out: dict[tuple[str, int], list[tuple[int, str]]] = {}
    first = matches[(matches["rank"] == 1) & (matches["score"] >= LEAST_SCORE)]
    columns = (first[c].tolist() for c in ("step", "pass", "event", "part"))
    for step, in_pass, event, part in zip(*columns, strict=True):
        out.setdefault((str(step), int(in_pass)), []).append((int(event), str(part)))
    return out


def _ignored(decisions: pd.DataFrame) -> set[tuple[str, int | None]]:
    """Steps a reviewer asked not to judge (an `ignore` that names no line); pass None means every pass."""
    keys: set[tuple[str, int | None]] = set()
    if decisions is None or decisions.empty:
        return keys
    for row in decisions.to_dict("records"):
        if row["decision"] == "ignore" and plain(row.get("line")) is None:
            in_pass = plain(row.get("pass"))
            keys.add((str(row["step"]), None if in_pass is None else int(in_pass)))
    return keys


def _heard_parts(
    verdict: dict[str, Any] | None, chosen: list[tuple[int, str]], heard: Heard, row: dict[str, Any]
) -> dict[str, tuple[Utterance, ...]]:
    """By part, the first moment of that part as each log has it."""
    if verdict is None or not verdict["seen"]:
        return {}
    named = [(plain(verdict[f"event_{part}"]), part) for part in PARTS]
    members: dict[str, dict[int, Utterance]] = {}
    for event, part in [*named, *chosen]:
        utterance = heard.get(event)
        if utterance is not None and not any(utterance.event in found for found in members.values()):
            members.setdefault(role(utterance, part, row), {})[utterance.event] = utterance
    _settle(members)
    return {part: _moment(list(members[part].values())) for part in PARTS if part in members}


def role(utterance: Utterance, part: str, row: dict[str, Any]) -> str:
    """The part an utterance plays: who speaks decides before the wording, since orders and reports share their words.

    The station that performs a step gives no order for it; the one that calls for it does not report it in words that
    speech took for an order or for talk.
    """
    by, to = plain(row.get("by")), plain(row.get("to"))
    if utterance.medium == "machine":
        return "record"
    if by is None or to is None or by == to:
        return part
    if part == "call" and utterance.station == by:
        return "response" if utterance.kind == "response" else "report"
    if part in ("response", "report") and utterance.station == to and utterance.kind in ("call", "note", "poll"):
        return "call"
    return part


def _settle(members: dict[str, dict[int, Utterance]]) -> None:
    """An acceptance answers an order: a 'call' after it was none, and a 'report' before it was the order."""
    accepted, ordered = _first(members.get("response", {})), _first(members.get("call", {}))
    if accepted is None:
        return
    if ordered is not None and _before(accepted, ordered):
        members.setdefault("report", {}).update(members.pop("call"))
    early = {e: u for e, u in members.get("report", {}).items() if _before(u, accepted)}
    if "call" not in members and early:
        members["call"] = early
        members["report"] = {e: u for e, u in members["report"].items() if e not in early}
        if not members["report"]:
            del members["report"]


def _first(members: dict[int, Utterance]) -> Utterance | None:
    return min((u for u in members.values() if u.us is not None), key=lambda u: (u.us or 0, u.event), default=None)


def _before(one: Utterance, other: Utterance) -> bool:
    """Whether `one` was surely said first: beyond a standard deviation of the time between them."""
    apart = apart_s(other, one)
    return apart is not None and apart > apart_sigma_s(one, other)


def _moment(members: list[Utterance]) -> tuple[Utterance, ...]:
    """The earliest of them and the same moment in other logs, the surest time first (untimed last)."""
    timed = [u for u in members if u.us is not None]
    if not timed:
        return tuple(sorted(members, key=lambda u: (not u.timed, u.sigma_s, u.event)))
    first = min(timed, key=lambda u: (u.us or 0, u.event))
    same = [u for u in timed if u is first or (u.source != first.source and _same_moment(first, u))]
    return tuple(sorted(same, key=lambda u: (u.sigma_s, u.event)))


def _same_moment(one: Utterance, other: Utterance) -> bool:
    allowed = max(TWIN_S, TWIN_SIGMAS * (one.sigma_s**2 + other.sigma_s**2) ** 0.5)
    return abs((one.us or 0) - (other.us or 0)) / 1e6 <= allowed
