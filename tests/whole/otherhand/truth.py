"""The truth file of a story, as `aftercount score` reads it."""

from __future__ import annotations

import datetime as dt
from typing import Any

from .story import Deed, Row, Story

# A margin to a tolerance below this proves nothing about a verdict, seconds.
FAIR_S = 4.0


def truth_of(story: Story, zero: dt.datetime, lines: list[dict[str, Any]], sources: list[dict[str, Any]]) -> dict[str, Any]:
    def utc(at: float | None) -> str | None:
        return None if at is None else (zero + dt.timedelta(seconds=at)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")

    clock = [
        {
            "segment": n,
            "pass": s.number,
            "state": s.state,
            "start_utc": utc(s.start),
            "end_utc": utc(s.end),
            "start_t_s": s.start_t,
            "end_t_s": s.end_t,
        }
        for n, s in enumerate(story.segments)
    ]
    holds = [
        {
            "pass": h.number,
            "t_s": h.t,
            "start_utc": utc(h.start),
            "end_utc": utc(h.end),
            "duration_s": None if h.end is None else h.end - h.start,
            "planned_s": h.planned,
            "kind": "built_in" if h.planned else "unplanned",
            "called": h.called,
            "called_by": h.by,
            "reason": h.reason,
            "step": None,
            "recycled_to_t_s": h.to_t,
        }
        for h in story.holds
    ]
    steps = _steps(story, lines, utc)
    polls = [{"step": x["step"], "pass": x["pass"], "station": x["station"], "answer": x["answer"], "utc": x["utc"]} for x in _polls(lines)]
    return {
        "count": story.scenario.name,
        "outcome": story.outcome,
        "outcome_utc": utc(story.outcome_at),
        "t0_actual": utc(story.outcome_at) if story.outcome == "liftoff" else None,
        "clock": clock,
        "holds": holds,
        "steps": steps,
        "lines": lines,
        "sources": sources,
        "polls": polls,
    }


def _polls(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    out: dict[tuple[str, int, str, str], dict[str, Any]] = {}
    for line in sorted(lines, key=lambda x: str(x["utc"])):
        if line["kind"] == "poll" and line["part"] == "response":
            answer = "no go" if "no go" in line["meant"].lower() else "go"
            out.setdefault((line["step"], line["pass"], line["station"], answer), line | {"answer": answer})
    return list(out.values())


def _steps(story: Story, lines: list[dict[str, Any]], utc: Any) -> list[dict[str, Any]]:
    heard: dict[tuple[str, int], set[str]] = {}
    for line in lines:
        if line["step"] is not None and not line["near_miss"]:
            heard.setdefault((line["step"], line["pass"]), set()).add("machine" if line.get("machine") else line["part"])
    done = {(d.row.step, d.number): d for d in story.deeds if not d.again and (d.row.step, d.number) in heard}
    again = {(d.row.step, d.number) for d in story.deeds if d.again}
    facts = {key: _facts(story, d, heard[key]) for key, d in done.items()}
    order = _displaced(story, facts)
    out = []
    for number in sorted({s.number for s in story.segments}):
        first = min(s.start_t for s in story.segments if s.number == number)
        for row in (r for r in story.rows if "hold" not in r.flags and (number == 1 or r.t >= first)):
            key = (row.step, number)
            if number > 1 and "into" in row.flags and row.t <= first and key not in done:
                continue
            out.append(_step(story, row, key, facts.get(key), order, key in again, utc) | _violations(row, number, facts))
    return out


def _step(
    story: Story, row: Row, key: tuple[str, int], fact: dict[str, Any] | None, order: dict[tuple[str, int], str], again: bool, utc: Any
) -> dict[str, Any]:
    base = {
        "step": row.step,
        "pass": key[1],
        "due_utc": utc(story.due.get(key)),
        "status": "not_reached",
        "actual_utc": None,
        "deviation_s": None,
        "timing": None,
        "out_of_order": False,
        "ambiguous": False,
        "violates": [],
        "response_s": None,
        "response": None,
        "times_seen": 0,
    }
    if fact is None:
        reached = key in story.due
        return base | {"status": "not_reached" if not reached else "skipped" if "opt" in row.flags else "missed"}
    return base | {
        "status": "done",
        "actual_utc": utc(fact["at"]),
        "deviation_s": round(fact["off"], 3),
        "timing": fact["timing"],
        "out_of_order": order.get(key) == "displaced",
        "ambiguous": order.get(key) == "ambiguous",
        "response_s": fact["response_s"],
        "response": fact["response"],
        "times_seen": 2 if again else 1,
    }


def _facts(story: Story, deed: Deed, parts: set[str]) -> dict[str, Any]:
    row = deed.row
    at = deed.begun
    if "call" not in parts and "machine" not in parts:
        at = deed.ends if deed.ends is not None else deed.begun
    off = at - deed.due
    if "into" not in row.flags:
        off = story.at(at)[0] - row.t if story.at(at)[2] == deed.number else off
    fair = min(abs(off - row.late), abs(off + row.early)) >= FAIR_S or (abs(off) < 0.6 * min(row.late, row.early))
    timing = ("late" if off > row.late else "early" if off < -row.early else "on_time") if fair else None
    response, response_s = None, None
    if "r" in row.flags and "call" in parts and "poll" not in row.flags:
        firsts = [x for x in (deed.answered, deed.ends) if x is not None]
        response_s = round(min(firsts) - deed.begun, 3) if firsts else None
        limit = float(row.flags["r"])
        response = "none" if response_s is None else "late" if response_s > limit else "answered"
        if response_s is not None and abs(response_s - limit) < FAIR_S and not ("response" in parts or "report" in parts):
            response = None
    return {
        "row": row,
        "at": at,
        "off": off,
        "timing": timing,
        "response": response,
        "response_s": response_s,
        "fault": deed.fault,
        "due": deed.due,
    }


def _violations(row: Row, number: int, facts: dict[tuple[str, int], dict[str, Any]]) -> dict[str, Any]:
    mine = facts.get((row.step, number))
    needs = [n for n in row.flags.get("after", "").split() if n]
    if mine is None or not needs:
        return {}
    return {"violates": [n for n in needs if (n, number) in facts and facts[n, number]["at"] > mine["at"]]}


def _displaced(story: Story, facts: dict[tuple[str, int], dict[str, Any]]) -> dict[tuple[str, int], str]:
    """`displaced` for a step that alone explains two conflicts and more; everyone else in a conflict is ambiguous."""
    out: dict[tuple[str, int], str] = {}
    for number in {n for _, n in facts}:
        mine = [(key, f) for key, f in facts.items() if key[1] == number]
        pairs = [
            (a, b)
            for a, x in mine
            for b, y in mine
            if y["due"] - x["due"] > max(x["row"].late, y["row"].early) and y["at"] < x["at"] and not (x["timing"] == y["timing"] == "on_time")
        ]
        degree: dict[tuple[str, int], int] = {}
        for a, b in pairs:
            degree[a] = degree.get(a, 0) + 1
            degree[b] = degree.get(b, 0) + 1
        sole = {k for k, n in degree.items() if n >= 2 and all(degree[b if k == a else a] == 1 for a, b in pairs if k in (a, b))}
        for a, b in pairs:
            for k, other in ((a, b), (b, a)):
                if k in sole:
                    out[k] = "displaced"
                elif other not in sole:
                    out[k] = "ambiguous"
    return out
