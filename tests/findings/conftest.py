"""A count in a few lines of text: plan, clock, holds and what was heard, judged in one call.

    plan   step | t | action | further columns as key=value, separated by ';'
    clock  T-00:20:00 counting until T-00:09:00; hold 600; ...   (built from holds)
    heard  source:line | count time or +seconds into the hold at that time | STATION>TO | kind | step:part | text
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from aftercount import tables
from aftercount.counttime import parse_count
from aftercount.findings import Findings, judge
from aftercount.timeline import against_clock

T0_US = 1_934_375_400_000_000  # some T-0: 2031-04-19T14:30:00Z
START_S = -3600.0
_EMPTY: dict[str, pd.DataFrame] = {}


def rows_of(table: tables.Table, rows: Iterable[dict[str, Any]]) -> pd.DataFrame:
    """As `from_rows`; a table without rows is made once, since most small counts have several."""
    listed = list(rows)
    if listed:
        return table.from_rows(listed)
    if table.name not in _EMPTY:
        _EMPTY[table.name] = table.empty()
    return _EMPTY[table.name].copy()


@dataclass
class Hold:
    t_s: float
    length_s: float
    planned_s: float = 0.0
    recycle_to_s: float | None = None
    called_by: str | None = None
    resumed_by: str | None = None
    basis: str = "called"
    reason: str | None = None
    resumed: bool = True


@dataclass
class Count:
    """A hand-made count. Wall time starts at T-1 h; every hold moves what follows."""

    plan: str
    heard: str
    holds: list[Hold] = field(default_factory=list)
    end_s: float = 0.0
    outcome: str = "liftoff"
    sigma_s: float = 0.1
    clock_sigma_s: float = 0.05
    authority: dict[str, tuple[str, ...]] = field(default_factory=dict)
    decisions: list[dict[str, Any]] = field(default_factory=list)
    verdicts: dict[str, dict[str, Any]] = field(default_factory=dict)
    scores: dict[int, float] = field(default_factory=dict)  # of matches, by the number of the line heard; others 1
    begins: dict[tuple[str, int], float] = field(default_factory=dict)  # of (step, number of the line heard): how surely it is the step's
    poll_answers: list[tuple[int, str, str]] = field(default_factory=list)
    sources: list[dict[str, Any]] = field(default_factory=list)
    sigmas: dict[str, float] = field(default_factory=dict)
    own_sigma_s: float | None = None
    stations: dict[str, tuple[str, ...]] = field(default_factory=lambda: {s: () for s in ("TC", "PROP", "LOX", "FTS", "RSO", "DRY")})

    def judge(self) -> Findings:
        plan, clock = self._plan(), self._clock()
        heard, given = self._heard(clock)
        due = self._due(plan, clock)
        matched = SimpleNamespace(matches=self._matches(given), verdicts=self._verdicts(due, given), beginnings=self._beginnings())
        timeline = SimpleNamespace(
            clock=clock, holds=self._holds(), sources=rows_of(tables.SOURCES, self.sources),
            outcome=self.outcome, outcome_us=self._wall(clock, self.end_s), utc_known=True)
        count = SimpleNamespace(early_s=10.0, late_s=10.0, authority=self.authority, t0_us=T0_US,
                                glossary={}, stations=self.stations)
        decisions = pd.DataFrame(self.decisions, columns=["step", "pass", "decision", "source", "line", "note", "row_line"])
        answers = rows_of(tables.POLL_ANSWERS, ({"utterance": u, "station": s, "answer": a} for u, s, a in self.poll_answers))
        return judge(due, matched, heard, timeline, answers, plan, count, decisions)

    def _plan(self) -> Any:
        rows = []
        for n, text in enumerate(line for line in self.plan.strip().splitlines()):
            step, t, action, *more = [c.strip() for c in text.split("|")]
            row = {"row": n, "line": n + 2, "step": step, "t_s": parse_count(t), "action": action, "kind": "step",
                   "duration_s": None, "into_hold_s": None, "by": None, "to": None, "early_s": 10.0, "late_s": 10.0,
                   "after": [], "response_s": None, "says": [], "must": True, "phase": None}
            for pair in (p for m in more for p in m.split(";") if p.strip()):
                key, value = (x.strip() for x in pair.split("="))
                row[key] = (value.split() if key == "after" else [value] if key == "says" else value == "yes" if key == "must" else
                            float(value) if key.endswith("_s") else value)
            rows.append(row)
        extra = tuple(k for k in rows[0] if k == "console")
        return SimpleNamespace(table=pd.DataFrame(rows), extra=extra, file="plan.csv")

    def _clock(self) -> pd.DataFrame:
        rows, at_us, t_s, in_pass = [], T0_US + int(START_S * 1e6), START_S, 1

        def add(state: str, wall_s: float, to_s: float) -> None:
            nonlocal at_us, t_s
            end = at_us + round(wall_s * 1e6)
            rows.append({"segment": len(rows) + 1, "pass": in_pass, "state": state, "start_utc": _ts(at_us),
                         "end_utc": _ts(end), "start_t_s": t_s, "end_t_s": to_s, "sigma_s": self.clock_sigma_s})
            at_us, t_s = end, to_s

        for hold in self.holds:
            add("counting", hold.t_s - t_s, hold.t_s)
            add("holding", hold.length_s, hold.t_s)
            if hold.recycle_to_s is not None:
                in_pass, t_s = in_pass + 1, hold.recycle_to_s
        if self.end_s > t_s:
            add("counting", self.end_s - t_s, self.end_s)
        return tables.CLOCK.from_rows(rows)

    def _wall(self, clock: pd.DataFrame, t_s: float, into_s: float | None = None, in_pass: int | None = None) -> int | None:
        """When the clock first read t_s in that pass (default: the first pass that did)."""
        for row in clock.to_dict("records"):
            if in_pass in (None, row["pass"]) and row["start_t_s"] <= t_s <= row["end_t_s"]:
                if into_s is not None and row["state"] != "holding":
                    continue
                start = row["start_utc"].value // 1000
                return int(start + (into_s * 1e6 if into_s is not None else (t_s - row["start_t_s"]) * 1e6))
        return None

    def _heard(self, clock: pd.DataFrame) -> tuple[pd.DataFrame, list[tuple[int, str, int, str]]]:
        rows, given = [], []
        for n, text in enumerate(line for line in self.heard.strip().splitlines() if line.strip()):
            place, when, who, kind, match, words = [c.strip() for c in text.split("|")]
            source, line = place.rsplit(":", 1)
            station, _, to = who.partition(">")
            in_pass = int(when.rpartition("#")[2]) if "#" in when else 1
            base, _, into = when.partition("#")[0].partition("+")
            t_s = parse_count(base.strip() if base.strip() else f"T+{into}")
            into_s = float(into) if base.strip() and into else None
            us = self._wall(clock, t_s, into_s, in_pass)
            sigma = self.sigmas.get(source, self.sigma_s)
            rows.append({"utterance": n, "record": n, "source": source, "line": int(line), "raw_time": None,
                         "time_kind": "utc", "own_us": us, "own_sigma_s": sigma if self.own_sigma_s is None else self.own_sigma_s, "stamp_t_us": None, "length_s": None, "roll": None,
                         "station": station or None, "to": to or None, "net": None,
                         "medium": {"log": "machine", "txt": "typed"}.get(source[-3:], "speech"), "kind": kind, "text": words,
                         "utc_us": us, "sigma_s": sigma, "t_s": t_s, "pass": in_pass,
                         "clock_sigma_s": self.clock_sigma_s, "state": "holding" if into_s is not None else "counting"})
            for one in match.split():
                step, part = one.split(":")
                given.append((n, step, in_pass, part))
        frame = pd.DataFrame(rows)
        extra = frame[["utc_us", "sigma_s", "t_s", "state", "pass", "clock_sigma_s"]]
        timed = tables.UTTERANCES.conform(frame).assign(**{c: extra[c] for c in extra})
        timed["utc_us"] = timed["utc_us"].astype("Int64")
        timed["sigma_s"] = against_clock(timed, timed["sigma_s"].to_numpy(dtype=float), rows_of(tables.SOURCES, self.sources))
        return timed, given

    def _due(self, plan: Any, clock: pd.DataFrame) -> pd.DataFrame:
        rows = []
        lowest = {1: START_S} | {n + 2: h.recycle_to_s for n, h in
                                 enumerate([h for h in self.holds if h.recycle_to_s is not None])}
        shift = 0.0
        for in_pass, low in lowest.items():
            for p in plan.table.to_dict("records"):
                if p["kind"] == "hold":
                    shift += p["duration_s"] or 0.0
                if p["kind"] == "hold" or p["t_s"] < low:
                    continue
                into = None if pd.isna(p["into_hold_s"]) else p["into_hold_s"]
                due = self._wall(clock, p["t_s"], into, in_pass)
                rows.append({"step": p["step"], "pass": in_pass, "row": p["row"], "planned_t_s": p["t_s"],
                             "planned_utc": _ts(T0_US + round((p["t_s"] + shift + (into or 0.0)) * 1e6)),
                             "due_utc": None if due is None else _ts(due), "due_sigma_s": self.clock_sigma_s,
                             "reached": due is not None, "in_hold": into is not None, "into_hold_s": into})
        return tables.DUE.from_rows(rows)

    def _matches(self, given: list[tuple[int, str, int, str]]) -> pd.DataFrame:
        return rows_of(tables.MATCHES, (
            {"step": s, "pass": p, "event": e, "part": "report" if part == "record" else part, "text_score": 1.0,
             "time_score": 1.0, "station_score": 1.0, "score": self.scores.get(e, 1.0), "rank": 1} for e, s, p, part in given))

    def _beginnings(self) -> pd.DataFrame:
        return rows_of(tables.BEGINNINGS, ({"step": step, "pass": 1, "event": event, "confidence": sure} for (step, event), sure in self.begins.items()))

    def _verdicts(self, due: pd.DataFrame, given: list[tuple[int, str, int, str]]) -> pd.DataFrame:
        rows = []
        for step, in_pass in zip(due["step"], due["pass"], strict=True):
            row = {"step": step, "pass": in_pass, "confidence": 0.98, "decided": False}
            mine = [(e, part) for e, s, p, part in given if (s, p) == (step, in_pass)]
            for event, part in mine:
                row.setdefault(f"event_{part}", event)
            row |= {"seen": bool(mine), "times_seen": int(bool(mine))}
            rows.append(row | self.verdicts.get(step, {}))
        return tables.VERDICTS.from_rows(rows)

    def _holds(self) -> pd.DataFrame:
        rows, shift = [], 0.0
        for n, h in enumerate(self.holds, start=1):
            start = T0_US + round((h.t_s + shift) * 1e6)
            shift += h.length_s + (h.t_s - h.recycle_to_s if h.recycle_to_s is not None else 0.0)
            rows.append({
                "hold": n, "pass": 1 + sum(1 for x in self.holds[: n - 1] if x.recycle_to_s is not None), "t_s": h.t_s,
                "start_utc": _ts(start), "end_utc": _ts(start + round(h.length_s * 1e6)) if h.resumed else None,
                "duration_s": h.length_s, "planned_s": h.planned_s, "excess_s": h.length_s - h.planned_s,
                "kind": "built_in" if h.planned_s else "unplanned", "basis": h.basis, "called_by": h.called_by,
                "resumed_by": h.resumed_by, "reason": h.reason, "recycled_to_t_s": h.recycle_to_s})
        return rows_of(tables.HOLDS, rows)


def _ts(us: int) -> pd.Timestamp:
    return pd.Timestamp(us, unit="us", tz="UTC")


@pytest.fixture
def count() -> type[Count]:
    return Count


@pytest.fixture
def hold() -> type[Hold]:
    return Hold
