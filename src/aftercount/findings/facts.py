"""What is known of one step in one pass, before anything is said about it.

Conventions as in `heard`. A `Fact` is one row of `due` with its plan row and the matcher's verdict beside it, and the
utterances the verdict rests on. It decides nothing: `steps`, `order`, `after` and `responses` do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from aftercount.findings.heard import Heard, Utterance, micros, plain, plain_list

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
            heard=_heard_parts(verdict, rank1.get(key, {}), heard),
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


def _chosen(matches: pd.DataFrame) -> dict[tuple[str, int], dict[str, list[int]]]:
    """Events of rank 1 by step, pass and part: one moment as each log has it."""
    out: dict[tuple[str, int], dict[str, list[int]]] = {}
    first = matches[matches["rank"] == 1]
    for step, in_pass, part, event in zip(
        first["step"].tolist(), first["pass"].tolist(), first["part"].tolist(), first["event"].tolist(), strict=True
    ):
        out.setdefault((str(step), int(in_pass)), {}).setdefault(part, []).append(int(event))
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
    verdict: dict[str, Any] | None, rank1: dict[str, list[int]], heard: Heard
) -> dict[str, tuple[Utterance, ...]]:
    parts: dict[str, tuple[Utterance, ...]] = {}
    if verdict is None or not verdict["seen"]:
        return parts
    for part in PARTS:
        chosen = heard.get(plain(verdict[f"event_{part}"]))
        if chosen is not None:
            parts[part] = _twins(chosen, part, rank1, heard)
    return parts


def _twins(chosen: Utterance, part: str, rank1: dict[str, list[int]], heard: Heard) -> tuple[Utterance, ...]:
    """The chosen utterance and the same moment in other logs, the surest time first (untimed last)."""
    found = {chosen.event: chosen}
    for event in rank1.get("report" if part == "record" else part, []):
        other = heard.get(event)
        if other is not None and other.source != chosen.source and _same_moment(chosen, other, part):
            found[event] = other
    return tuple(sorted(found.values(), key=lambda u: (not u.timed, u.sigma_s, u.event)))


def _same_moment(one: Utterance, other: Utterance, part: str) -> bool:
    if (other.medium == "machine") != (one.medium == "machine") and part in ("record", "report"):
        return False
    if one.us is None or other.us is None:
        return one.us is None and other.us is None and one.t_s == other.t_s
    allowed = max(TWIN_S, TWIN_SIGMAS * (one.sigma_s**2 + other.sigma_s**2) ** 0.5)
    return abs(one.us - other.us) / 1e6 <= allowed
