"""A made-up review, built by hand and seed, for the report's own tests: a built-in hold extended, an unplanned hold, a
recycle, misses, late and early steps, one out of order, unanswered calls, a doubtful match, rejects. No stage of the
pipeline is used, so these tests say nothing about the stages and the stages cannot break them."""

from __future__ import annotations

import random
from types import SimpleNamespace
from typing import Any

import pandas as pd

from aftercount import tables

START = pd.Timestamp("2031-04-18T12:20:00Z")
SEGMENTS = [  # pass, state, minutes from START, to, count s from, to
    (1, "counting", 0, 6000, -7200, -1200), (1, "holding", 6000, 6840, -1200, -1200),
    (1, "counting", 6840, 7740, -1200, -300), (1, "holding", 7740, 8220, -300, -300),
    (1, "counting", 8220, 8489, -300, -31), (1, "holding", 8489, 9000, -31, -31),
    (2, "counting", 9000, 9660, -600, 60),
]
VERBS = ("verify", "open", "close", "start", "arm", "report")
THINGS = ("helium supply valve", "fuel vent", "LOX topping", "guidance alignment", "flight battery", "water deluge", "range tracking")
STATIONS = ("PROP", "GUID", "PAD", "ELEC", "RANGE", "RECOV")


def at(seconds: float) -> pd.Timestamp:
    return START + pd.Timedelta(seconds=seconds)


def utc_of(pass_: int, t_s: float) -> pd.Timestamp | None:
    for p, state, a, _, t0, t1 in SEGMENTS:
        if p == pass_ and state == "counting" and t0 <= t_s <= t1:
            return at(a + (t_s - t0))
    return None


def t_of(seconds: float) -> tuple[float, str, int]:
    for p, state, a, b, t0, _ in SEGMENTS:
        if a <= seconds < b:
            return (t0 if state == "holding" else t0 + seconds - a, state, p)
    return (60.0, "counting", 2)


def make_review(steps: int = 60, chatter: int = 300, seed: int = 7, say: str | None = None) -> Any:
    """The review. say: a text put into every place a log or a plan can reach (for hostile tests)."""
    made = _Maker(steps, chatter, random.Random(seed), say)
    return made.review()


class _Maker:
    def __init__(self, steps: int, chatter: int, rng: random.Random, say: str | None) -> None:
        self.rng, self.say = rng, say
        self.events: list[dict[str, Any]] = []
        self.steps: list[dict[str, Any]] = []
        self.matches: list[dict[str, Any]] = []
        self.plan = self._plan(steps)
        for pass_ in (1, 2):
            for row in self.plan:
                if pass_ == 1 or row["t"] >= -600:
                    self._step(row, pass_)
        for _ in range(chatter):
            self._event(rng.uniform(0, 9600), rng.choice(STATIONS), "TC", "note", f"{rng.choice(THINGS)} steady at {rng.randint(10, 99)}")

    def _plan(self, n: int) -> list[dict[str, Any]]:
        rows = []
        for i in range(n):
            t = -7200 + 7200 * (1 - (1 - i / n) ** 2)
            rows.append({"step": f"{1 + i // 12}.{i % 12 + 1}", "t": float(round(t / 5) * 5), "by": STATIONS[i % 6],
                         "action": self.say or f"{VERBS[i % 6]} {THINGS[i % 7]} {'AB'[i % 2]}", "phase": f"phase {1 + i // 15}",
                         "says": i % 5 == 0, "row": i})
        rows.append({"step": "9.9", "t": 0.0, "by": "PAD", "action": self.say or "lift-off", "phase": "phase 9", "says": False, "row": n})
        return rows

    def _event(self, seconds: float, station: str, to: str | None, kind: str, text: str) -> int:
        t_s, state, pass_ = t_of(seconds)
        number = len(self.events)
        source = ("net1.vtt", "notes.txt", "seq.log")[number % 3]
        self.events.append({
            "event": number, "source": source, "line": 10 + number, "utc": at(seconds), "utc_sigma_s": 0.4, "t_s": t_s,
            "state": state, "pass": pass_, "station": station, "to": to, "net": "NET 1", "kind": kind, "text": self.say or text,
            "raw_time": self.say or f"{at(seconds):%H:%M:%S}", "medium": ("speech", "typed", "machine")[number % 3],
        })
        return number

    def _step(self, row: dict[str, Any], pass_: int) -> None:
        due = utc_of(pass_, row["t"])
        base: dict[str, Any] = {
            "step": row["step"], "pass": pass_, "phase": row["phase"], "action": row["action"], "by": row["by"], "to": "TC",
            "planned_t_s": row["t"], "planned_utc": pd.Timestamp("2031-04-18T14:30:00Z") + pd.Timedelta(seconds=row["t"] - (600 if row["t"] <= -1200 else 0)),
            "due_utc": due, "out_of_order": False, "violates": [], "times_seen": 0, "confidence": 0.97, "review": False,
            "decided": False, "early_s": 10.0, "late_s": 10.0 if row["row"] % 4 else 30.0, "kind": "step", "must": row["row"] % 11 != 3,
            "plan_line": row["row"] + 2, "status": "done", "timing": "on_time", "deviation_sigma_s": 0.4,
        }
        n = row["row"]
        if due is None:
            self.steps.append(base | {"status": "not_reached", "timing": None})
            return
        if n % 17 == 5 and pass_ == 1:
            self.steps.append(base | {"status": "missed" if base["must"] else "skipped", "timing": None, "confidence": 0.9, "review": n % 2 == 0})
            return
        off = self.rng.gauss(0, 3)
        if n % 13 == 6:
            off = self.rng.choice([45.0, 150.0, 22.0])
        if n % 19 == 9:
            off = -25.0
        begun = (due - START).total_seconds() + off
        timing = "late" if off > base["late_s"] else "early" if off < -10 else "on_time"
        call = self._event(begun, "TC", row["by"], "call", f"{row['by']}, TC, {row['action']}")
        answered = n % 9 != 4
        seen: dict[str, Any] = {}
        if answered:
            reply = self._event(begun + 4 + n % 5, row["by"], "TC", "response", "in work")
            seen = {"response": "answered", "response_s": 4.0 + n % 5, "response_event": reply}
            report = self._event(begun + 11 + n % 4, row["by"], "TC", "report", "complete")
            self.matches.append({"step": row["step"], "pass": pass_, "event": report, "part": "report", "text_score": 0.8,
                                 "time_score": 0.8, "station_score": 1.0, "score": 0.8, "rank": 1})
            seen["completed_utc"] = self.events[report]["utc"]
        elif row["says"] or n % 2:
            seen = {"response": "none"}
        actual = at(begun)
        self.steps.append(base | seen | {
            "actual_utc": actual, "actual_t_s": row["t"] + off, "deviation_s": off, "timing": timing, "times_seen": 1,
            "event": call, "source": self.events[call]["source"], "line": self.events[call]["line"], "evidence": self.events[call]["text"],
            "out_of_order": n % 29 == 12, "violates": [self.plan[n - 1]["step"]] if n % 29 == 12 else [],
            "review": n % 23 == 11, "confidence": 0.55 if n % 23 == 11 else 0.97, "decided": n == 3, "completed_utc": seen.get("completed_utc", actual),
        })
        for rank, (event, score) in enumerate([(call, 0.9), (max(call - 3, 0), 0.4)], 1):
            self.matches.append({"step": row["step"], "pass": pass_, "event": event, "part": "call", "text_score": score,
                                 "time_score": 0.8, "station_score": 1.0, "score": score, "rank": rank})

    def _holds(self) -> list[dict[str, Any]]:
        why = self.say or "helium supply pressure low"
        called = self._event(7740, "TC", None, "hold", "Hold, hold, hold. T minus five minutes and holding, helium supply pressure low")
        resumed = self._event(8220, "TC", None, "resume", "Count resumes on my mark, mark, T minus five minutes and counting")
        cut = self._event(8489, "PROP", "TC", "hold", "Hold hold hold, ignition sequencer out of limits")
        nothing: dict[str, Any] = {"reason": None, "called_by": None, "recycled_to_t_s": None, "event": None}
        rows = [
            {"pass": 1, "t_s": -1200.0, "start": 6000, "end": 6840, "planned_s": 600.0, "kind": "built_in", "basis": "called", "slip_s": 240.0} | nothing | {"reason": self.say or "range tracking not ready", "reason_basis": "worked"},
            {"pass": 1, "t_s": -300.0, "start": 7740, "end": 8220, "planned_s": 0.0, "kind": "unplanned", "basis": "called", "called_by": "TC", "reason": why, "event": called, "resume_event": resumed, "resumed_by": "TC", "slip_s": 480.0, "recycled_to_t_s": None, "reason_basis": "said"},
            {"pass": 1, "t_s": -31.0, "start": 8489, "end": 9000, "planned_s": 0.0, "kind": "unplanned", "basis": "inferred", "called_by": "PROP", "reason": self.say or "ignition sequencer out of limits", "event": cut, "slip_s": 1080.0, "recycled_to_t_s": -600.0, "t_low_s": -33.0, "t_high_s": -29.0, "reason_basis": "said"},
        ]
        out = []
        for number, row in enumerate(rows, 1):
            length = float(row["end"] - row["start"])
            out.append(row | {"hold": number, "start_utc": at(row["start"]), "end_utc": at(row["end"]), "duration_s": length, "excess_s": length - row["planned_s"]})
        return out

    def _marks(self) -> list[dict[str, Any]]:
        rows = []
        for number, seconds in enumerate(range(30, 9600, 120)):
            t_s, _, _ = t_of(seconds)
            kept = number % 9 != 4
            event = self._event(seconds, "TC", None, "mark", f"T minus {abs(t_s):.0f} seconds")
            rows.append({"mark": number, "event": event, "utc": at(seconds), "t_s": t_s if kept else t_s + 400, "clock": "T", "says": "now",
                         "grade": "certain" if kept else "doubtful", "form": "spoken", "sigma_s": 1.0, "kept": kept, "residual_s": 0.2 if kept else 400.0})
        return rows

    def _polls(self) -> list[dict[str, Any]]:
        rows = []
        for order, station in enumerate(STATIONS, 1):
            answer = "no go" if station == "ELEC" else "go"
            event = self._event(6700 + 4 * order, station, "TC", "poll", f"{station} is {answer}")
            rows.append({"poll": 1, "step": "3.3", "pass": 1, "order": order, "station": self.say or station, "answer": answer, "utc": at(6700 + 4 * order), "event": event})
        rows.append({"poll": 1, "step": "3.3", "pass": 1, "order": 7, "station": "WX", "answer": "missing", "utc": None, "event": None})
        return rows

    def _findings(self) -> list[dict[str, Any]]:
        found = []
        for s in self.steps:
            kinds = [s["status"]] * (s["status"] == "missed") + [s["timing"]] * (s["timing"] in ("late", "early"))
            kinds += ["out_of_order"] * s["out_of_order"] + ["no_response"] * (s.get("response") == "none")
            for kind in kinds:
                found.append({"kind": kind, "step": s["step"], "pass": s["pass"], "deviation_s": s.get("deviation_s"),
                              "severity": "major" if kind in ("missed", "out_of_order") else "minor", "text": self.say or f"{s['step']} {s['action']}: {kind.replace('_', ' ')}",
                              "event": s.get("event"), "source": s.get("source"), "line": s.get("line"), "decided": s["decided"]})
        return [f | {"finding": i} for i, f in enumerate(found)]

    def _sources(self) -> list[dict[str, Any]]:
        rows = []
        for source, fmt, kind, offset in (("net1.vtt", "webvtt", "elapsed", 44400.0), ("notes.txt", "notes", "local", 0.7), ("seq.log", "syslog", "utc", 0.0)):
            rows.append({"source": source, "format": fmt, "time": kind, "entries": sum(e["source"] == source for e in self.events), "rejected": 1,
                         "offset_s": offset, "offset_sigma_s": 0.3, "drift_ppm": 1.5, "reference": source == "seq.log", "note": self.say})
        return rows

    def review(self) -> Any:
        holds, marks, polls, findings = self._holds(), self._marks(), self._polls(), self._findings()
        clock = [{"segment": i, "pass": p, "state": s, "start_utc": at(a), "end_utc": at(b), "start_t_s": float(t0), "end_t_s": float(t1), "sigma_s": 0.3}
                 for i, (p, s, a, b, t0, t1) in enumerate(SEGMENTS)]
        rejects = [{"source": s, "line": 5, "reason": "no time that could be read", "raw": self.say or "@@@@ ??"} for s in ("net1.vtt", "notes.txt", "seq.log")]
        frames = {name: getattr(tables, name.upper()).from_rows(value) for name, value in {
            "events": self.events, "clock": clock, "holds": holds, "steps": self.steps, "matches": self.matches, "sources": self._sources(),
            "rejects": rejects, "marks": marks, "polls": polls, "findings": findings}.items()}
        frames["events"] = tables.EVENTS.conform(frames["events"].sort_values("utc", kind="stable"))
        summary = {
            "count": "heron-7-r09", "title": self.say or "Heron flight 7, rehearsal 9", "kind": "rehearsal", "outcome": "liftoff",
            "t0_scheduled": "2031-04-18T14:30:00Z", "t0_actual": "2031-04-18T15:00:00Z", "delay_s": 1800.0, "built_in_hold_s": 840.0,
            "unplanned_hold_s": 991.0, "recycles": 1, "steps": {"done": 50}, "findings": findings,
            "window": ["2031-04-18T14:30:00Z", "2031-04-18T16:30:00Z"],
        }
        return SimpleNamespace(**frames, summary=summary, count=None, plan=None)
