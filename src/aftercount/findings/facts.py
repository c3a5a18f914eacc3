"""What is known of one step in one pass, before anything is said about it.

Conventions as in `heard`. A `Fact` is one row of `due` with its plan row and the matcher's verdict beside it, and the
utterances the verdict rests on. `confidence` is that of the verdict; `begins` tells, of each utterance taken for the step, how likely it is
the step's; `unlogged` is a step that fell due where no log reaches (see `reach`). It decides nothing: `steps`, `order`, `after` and `responses` do.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import pandas as pd

from aftercount.findings.heard import Heard, Utterance, micros, plain, plain_list
from aftercount.findings.parts import Chosen, Due, heard_parts


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
    decided: bool
    ignored: bool
    times_seen: int
    heard: dict[str, tuple[Utterance, ...]]
    begins: dict[int, float] = field(default_factory=dict)
    unlogged: bool = False

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


# Evidence that the matcher holds likelier than not counts for the time of a step; less is only context.
LEAST_SCORE = 0.5


def gather(due: pd.DataFrame, matched: Any, heard: Heard, plan: Any, count: Any, decisions: pd.DataFrame) -> list[Fact]:
    """One Fact a row of `due`, in its order."""
    plans = {str(r["step"]): r for r in plan.table.to_dict("records")}
    verdicts = {(str(r["step"]), int(r["pass"])): r for r in matched.verdicts.to_dict("records")}
    rank1, begins = _chosen(matched.matches), _begins(matched.beginnings)
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
            heard=heard_parts(verdict, rank1.get(key, []), heard, (row, _due(due_us[i], row, count))), begins=begins.get(key, {}),
        ))
    return facts


def _tolerance(row: dict[str, Any], name: str, count: Any) -> float:
    own = plain(row.get(name))
    return float(getattr(count, name) if own is None else own)


def _due(due_us: int | None, row: dict[str, Any], count: Any) -> Due:
    if due_us is None:
        return None
    return due_us - round(_tolerance(row, "early_s", count) * 1e6), due_us + round(_tolerance(row, "late_s", count) * 1e6)


def _verdict_fields(verdict: dict[str, Any] | None) -> dict[str, Any]:
    if verdict is None:  # nobody judged it: not seen, and nothing known about it
        return {"seen": False, "confidence": 1.0, "decided": False, "times_seen": 0}
    return {
        "seen": bool(verdict["seen"]), "confidence": float(verdict["confidence"]),
        "decided": bool(verdict["decided"]), "times_seen": int(verdict["times_seen"]),
    }


def _chosen(matches: pd.DataFrame) -> dict[tuple[str, int], list[Chosen]]:
    """(event, part, score) of rank 1 by step and pass, less those that only lean on the others."""
    out: dict[tuple[str, int], list[Chosen]] = {}
    first = matches[(matches["rank"] == 1) & (matches["score"] >= LEAST_SCORE)]
    columns = (first[c].tolist() for c in ("step", "pass", "event", "part", "score"))
    for step, in_pass, event, part, score in zip(*columns, strict=True):
        out.setdefault((str(step), int(in_pass)), []).append((int(event), str(part), float(score)))
    return out


def _begins(beginnings: pd.DataFrame) -> dict[tuple[str, int], dict[int, float]]:
    """How likely each utterance is the step's, by step and pass."""
    out: dict[tuple[str, int], dict[int, float]] = {}
    columns = (beginnings[c].tolist() for c in ("step", "pass", "event", "confidence"))
    for step, in_pass, event, confidence in zip(*columns, strict=True):
        out.setdefault((str(step), int(in_pass)), {})[int(event)] = float(confidence)
    return out


def begun_by(fact: Fact, begun: Utterance | None) -> Fact:
    """The same, as sure as what is said to have begun the step is the step's."""
    if begun is None or fact.decided or begun.event not in fact.begins:
        return fact
    return replace(fact, confidence=fact.begins[begun.event])


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
