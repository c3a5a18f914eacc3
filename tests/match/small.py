"""Small counts for the tests of the match: a plan and a log in a few lines, as the frames that the match is given.

Conventions: T-0 is 2031-04-18 14:30:00 UTC; the clock never stops, so a step is due at T-0 plus its t.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from aftercount.count import CountFolder
from aftercount.match import Matched, match
from aftercount.plan import Plan
from aftercount.tables import DUE, UTTERANCES

T0_US = 1_934_289_000_000_000
STATIONS = {"TC": ("test conductor",), "PROP": ("propulsion",), "GNC": ("guidance",), "RNG": ("range",)}
NO_DECISIONS = pd.DataFrame({"step": [], "pass": [], "decision": [], "source": [], "line": [], "note": [], "row_line": []})


def a_count(glossary: dict[str, tuple[str, ...]] | None = None) -> CountFolder:
    return CountFolder(folder=Path("."), id="small", title="small", kind="rehearsal", t0_us=T0_US, window=None, zone="UTC",
                       plan_file=Path("plan.csv"), logs=(), stations=STATIONS, glossary=glossary or {"LOX": ("liquid oxygen",)})


def a_plan(*lines: str) -> Plan:
    """Each line: `id | t seconds | TO>BY | action | other wording; ...`."""
    rows = []
    for row, line in enumerate(lines):
        step, t_s, who, action, *says = [cell.strip() for cell in line.split("|")]
        to, _, by = who.partition(">")
        rows.append({
            "row": row, "line": row + 2, "step": step, "t_s": float(t_s), "action": action, "kind": "poll" if "poll" in action.lower() else "step",
            "duration_s": float("nan"), "into_hold_s": float("nan"), "by": by or None, "to": to or None, "early_s": 10.0, "late_s": 10.0,
            "after": [], "response_s": float("nan"), "says": [s.strip() for s in says[0].split(";")] if says else [], "must": True, "phase": None,
        })
    return Plan(table=pd.DataFrame(rows), file="plan.csv", extra=())


def due_of(plan: Plan) -> pd.DataFrame:
    table = plan.table
    when = pd.to_datetime(T0_US + (table["t_s"] * 1e6).astype("int64"), unit="us", utc=True)
    return DUE.conform(pd.DataFrame({
        "step": table["step"], "pass": 1, "row": table["row"], "planned_t_s": table["t_s"], "planned_utc": when, "due_utc": when,
        "due_sigma_s": 0.1, "reached": True, "in_hold": False, "into_hold_s": float("nan"),
    }))


def a_log(*lines: str, source: str = "notes.txt", medium: str = "typed") -> pd.DataFrame:
    """Each line: `t seconds | FROM>TO | kind | words`."""
    rows = []
    for number, line in enumerate(lines):
        t_s, who, kind, text = [cell.strip() for cell in line.split("|", 3)]
        station, _, to = who.partition(">")
        us = T0_US + round(float(t_s) * 1e6)
        rows.append({
            "utterance": number, "record": number, "source": source, "line": number + 1, "raw_time": None, "time_kind": "utc", "own_us": us,
            "own_sigma_s": 0.5, "stamp_t_us": None, "length_s": None, "roll": None, "station": station or None, "to": to or None, "net": None, "medium": medium,
            "kind": kind, "text": text, "utc_us": us, "sigma_s": 0.5, "t_s": float(t_s), "state": "counting", "pass": 1, "clock_sigma_s": 0.1,
        })
    frame = pd.DataFrame(rows)
    timed = frame[["utc_us", "sigma_s", "t_s", "state", "pass", "clock_sigma_s"]].astype({"utc_us": "Int64", "pass": "Int64"})
    return pd.concat([UTTERANCES.conform(frame), timed], axis=1)


def joined(*logs: pd.DataFrame) -> pd.DataFrame:
    """Several logs as one table of utterances."""
    out = pd.concat(logs, ignore_index=True)
    return out.assign(utterance=range(len(out)), record=range(len(out)))


def matched(plan: Plan, log: pd.DataFrame, decisions: pd.DataFrame = NO_DECISIONS, **glossary: tuple[str, ...]) -> Matched:
    return match(due_of(plan), log, plan, a_count(glossary or None), decisions)


def seen_at(result: Matched, log: pd.DataFrame) -> dict[str, list[str]]:
    """For each step, the texts chosen for it (call, response, report, record)."""
    text = dict(zip(log["utterance"].tolist(), log["text"].tolist(), strict=True))
    columns = ["event_call", "event_response", "event_report", "event_record"]
    return {row["step"]: [text[int(row[c])] for c in columns if not pd.isna(row[c])] for row in result.verdicts.to_dict("records")}
