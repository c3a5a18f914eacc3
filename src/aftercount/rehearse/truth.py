"""The truth file: what happened, as far as the logs that were written carry it.

Conventions: as the tables of a review (UTC as RFC 3339 with microseconds, count times and durations in seconds). A step's status is
by evidence: done in the world but in none of the written logs is `missed` (or `skipped`), and `world_utc` says when it was done.
It does not decide what the logs carry: the writers say so line by line.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.deeds import Deed
from aftercount.rehearse.loop import Said
from aftercount.rehearse.order import Placed, displaced
from aftercount.rehearse.paper import Paper
from aftercount.rehearse.procedure import Procedure
from aftercount.rehearse.story import Story

_PART_RANK = {"call": 0, "record": 1, "response": 2, "report": 3}
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
AFTER_MARGIN_S = 3.0


def utc_text(us: int | None) -> str | None:
    if us is None:
        return None
    return (_EPOCH + timedelta(microseconds=us)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def clock_rows(story: Story) -> list[dict[str, Any]]:
    return [{"segment": i, "pass": s.number, "state": s.state, "start_utc": utc_text(s.u0), "end_utc": utc_text(s.u1),
             "start_t_s": s.t0 / SECOND, "end_t_s": s.t1 / SECOND} for i, s in enumerate(story.clock.segments)]


def hold_rows(story: Story, papers: list[Paper]) -> list[dict[str, Any]]:
    rows = []
    for h in story.holds:
        callers = [c.said.by for p in papers for c in p.carried if c.said.kind in ("hold", "cutoff") and not c.said.machine
                   and 0 <= c.said.utc - h.start < 3 * SECOND]
        rows.append({
            "pass": h.number, "t_s": float(h.t), "start_utc": utc_text(h.start), "end_utc": utc_text(h.end),
            "duration_s": None if h.end is None else (h.end - h.start) / SECOND, "planned_s": float(h.planned_s), "kind": h.kind,
            "called": h.called, "called_by": callers[0] if callers else None, "reason": h.reason or None, "step": h.step,
            "recycled_to_t_s": None if h.recycle_to is None else float(h.recycle_to)})
    return _one_stop(rows)


def _one_stop(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A clock that is set back while it stands still is one hold, from the stop to the resume."""
    out: list[dict[str, Any]] = []
    for row in rows:
        if out and out[-1]["recycled_to_t_s"] is not None and out[-1]["end_utc"] == row["start_utc"]:
            length = None if row["end_utc"] is None else round(out[-1]["duration_s"] + row["duration_s"], 6)
            out[-1] |= {"end_utc": row["end_utc"], "duration_s": length}
        else:
            out.append(row)
    return out


def line_rows(papers: list[Paper]) -> list[dict[str, Any]]:
    rows = []
    for paper in papers:
        for c in paper.carried:
            s = c.said
            rows.append({
                "source": paper.path, "line": c.line, "line_end": c.line_end, "step": s.step, "pass": s.number, "part": s.part,
                "kind": s.kind, "near_miss": s.near is not None, "near": s.near, "seen": s.seen, "slip": s.slip, "utc": utc_text(s.utc),
                "station": s.by, "to": s.to, "said": c.clean or None})
    return rows


def mark_rows(papers: list[Paper]) -> list[dict[str, Any]]:
    return [{"source": p.path, "line": c.line, "utc": utc_text(c.said.utc), "t_s": c.said.mark_t,
             "false": c.said.false or not c.numbers_heard}
            for p in papers for c in p.carried if c.said.mark_t is not None]


def source_rows(papers: list[Paper]) -> list[dict[str, Any]]:
    rows = []
    for p in papers:
        known = p.time != "elapsed" or "start" in p.spec
        base = 0.0 if known or p.zero_us is None else p.zero_us / SECOND
        reset = None
        if p.clock.reset_us is not None:
            line = next((c.line for c in p.carried if c.said.utc >= p.clock.reset_us), None)
            reset = None if line is None else {"at_line": line, "offset_s": base + p.clock.reset_offset_s}
        rows.append({"source": p.path, "format": "notes" if p.kind == "notes" else p.form, "time": p.time,
                     "offset_s": None if p.time == "count" else round(base + p.clock.offset_s, 6),
                     "offset_at_utc": utc_text(p.clock.at_us), "drift_ppm": None if p.time == "count" else p.clock.drift_ppm,
                     "start_known": known, "reset": reset})
    return rows


def poll_rows(papers: list[Paper]) -> list[dict[str, Any]]:
    """Answers in the order given; one heard on several nets or logs counts once."""
    heard = {(c.said.number or 1, c.said.step or "", c.said.by, c.said.answer): c.said
             for p in papers for c in p.carried if c.said.answer is not None}
    rows = sorted(heard.values(), key=lambda s: (s.number or 1, s.step or "", s.utc))
    return [{"step": s.step, "pass": s.number, "station": s.by, "answer": s.answer, "utc": utc_text(s.utc)} for s in rows]


class StepTruth:
    """Judges every due step from the lines that carry it."""

    def __init__(self, procedure: Procedure, story: Story, deeds: list[Deed], papers: list[Paper]) -> None:
        self.procedure, self.story, self.deeds = procedure, story, deeds
        self._evidence: dict[tuple[str, int, int], list[Said]] = {}
        for paper in papers:
            for c in paper.carried:
                if c.said.step is not None and c.said.part is not None:
                    self._evidence.setdefault((c.said.step, c.said.number or 1, c.said.seen), []).append(c.said)
        self._row = {s.step: i for i, s in enumerate(procedure.steps)}

    def _begun(self, deed: Deed, seen: int = 1) -> Said | None:
        found = self._evidence.get((deed.plan.step, deed.number, seen), [])
        return min(found, key=lambda s: (_PART_RANK[s.part or "report"], s.utc), default=None)

    def rows(self) -> list[dict[str, Any]]:
        begun = [self._begun(d) or self._begun(d, 2) for d in self.deeds]
        order: dict[int, tuple[bool, bool]] = {}
        for number in self.story.clock.passes():
            order.update(displaced([self._placed(i, d, b) for i, (d, b) in enumerate(zip(self.deeds, begun, strict=True))
                                    if d.number == number and b is not None]))
        actual = {(d.plan.step, d.number): b.utc for d, b in zip(self.deeds, begun, strict=True) if b is not None}
        return [self._one(d, b, order.get(i, (False, False)), actual) for i, (d, b) in enumerate(zip(self.deeds, begun, strict=True))]

    def _placed(self, key: int, deed: Deed, begun: Said | None) -> Placed:
        assert begun is not None
        plan = deed.plan
        waited = sum(h.duration for h in self.procedure.holds if h.t < plan.t) + (plan.into or 0)
        return Placed(key, plan.t + waited, begun.utc / SECOND, plan.early_s, plan.late_s)

    def _one(self, deed: Deed, begun: Said | None, order: tuple[bool, bool], actual: dict[tuple[str, int], int]) -> dict[str, Any]:
        plan = deed.plan
        row: dict[str, Any] = {"step": plan.step, "pass": deed.number, "due_utc": utc_text(deed.due) if deed.reached else None,
                               "world_utc": utc_text(deed.begun)}
        if begun is None:
            status = "not_reached" if not deed.reached else "missed" if plan.must else "skipped"
            return row | {"status": status, "actual_utc": None, "deviation_s": None, "timing": None, "margin_s": None,
                          "out_of_order": False, "ambiguous": False, "violates": [], "response_s": None, "response": None, "times_seen": 0}
        deviation = self._deviation(deed, begun.utc)
        timing = "early" if deviation < -plan.early_s else "late" if deviation > plan.late_s else "on_time"
        seen = sum(bool(self._evidence.get((plan.step, deed.number, n))) for n in (1, 2))
        violates, close = self._violates(deed, begun.utc, actual)
        return row | {"status": "done", "actual_utc": utc_text(begun.utc), "deviation_s": round(deviation, 3), "timing": timing,
                      "margin_s": round(min(abs(deviation + plan.early_s), abs(deviation - plan.late_s)), 3), "out_of_order": order[0],
                      "ambiguous": order[1] or close, "violates": violates, **self._response(deed), "times_seen": seen}

    def _deviation(self, deed: Deed, utc: int) -> float:
        assert deed.due is not None
        t, _, number = self.story.clock.at(utc)
        if deed.plan.into is not None or number != deed.number:
            return (utc - deed.due) / SECOND
        return t / SECOND - deed.plan.t

    def _violates(self, deed: Deed, utc: int, actual: dict[tuple[str, int], int]) -> tuple[list[str], bool]:
        broken, close = [], False
        for prior in deed.plan.after:
            first = actual.get((prior, deed.number))
            if first is not None and first > utc:
                broken.append(prior)
            close = close or (first is not None and abs(first - utc) < AFTER_MARGIN_S * SECOND)
        return broken, close

    def _response(self, deed: Deed) -> dict[str, Any]:
        found = self._evidence.get((deed.plan.step, deed.number, 1), [])
        call = min((s.utc for s in found if s.part == "call"), default=None)
        if deed.plan.response is None or call is None:
            return {"response_s": None, "response": None}
        answers = [s.utc for s in found if s.part in ("response", "report") and s.utc > call]
        if not answers:
            return {"response_s": None, "response": "none"}
        took = (min(answers) - call) / SECOND
        return {"response_s": round(took, 3), "response": "late" if took > deed.plan.response else "answered"}


def compose(count_id: str, procedure: Procedure, story: Story, deeds: list[Deed], papers: list[Paper],
            options: dict[str, Any]) -> dict[str, Any]:
    return {
        "count": count_id, "outcome": story.outcome,
        "t0_actual": utc_text(story.outcome_us) if story.outcome == "liftoff" else None,
        "outcome_utc": utc_text(story.outcome_us),
        "clock": clock_rows(story), "holds": hold_rows(story, papers),
        "steps": StepTruth(procedure, story, deeds, papers).rows(),
        "lines": line_rows(papers), "marks": mark_rows(papers), "sources": source_rows(papers), "polls": poll_rows(papers), "options": options,
    }


def as_json(data: dict[str, Any]) -> str:
    """The truth file's text: one row of each table a line, so that it can be read and compared."""
    parts = []
    for key, value in data.items():
        if isinstance(value, list) and value:
            rows = ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in value)
            parts.append(f"{json.dumps(key)}: [\n  {rows}\n ]")
        else:
            parts.append(f"{json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}")
    return "{\n " + ",\n ".join(parts) + "\n}\n"
