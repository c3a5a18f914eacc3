"""The sequencer's log: count stamps, commands and states in terse machine phrases.

Sample (syslog): ``<134>1 2031-04-18T13:05:00.120Z seq-a count - CLK - T-01:25:00 COUNTING``. Conventions: times are UTC to the
millisecond; a count stamp may come in a field of its own. It does not decide what machines saw: `loop` says.
"""

from __future__ import annotations

import csv
import io
import json
import re
from random import Random

from aftercount.rehearse import verbs
from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.loop import Said, _later
from aftercount.rehearse.paper import Carried, Clock, Paper
from aftercount.rehearse.procedure import PlanStep
from aftercount.rehearse.scenario import Scenario
from aftercount.rehearse.speaking import count_text
from aftercount.rehearse.story import Story
from aftercount.rehearse.typed import stamp_text

_TAGS = {
    "stage": "STG", "valve": "VLV", "vent": "VNT", "pressure": "PRESS", "telemetry": "TLM", "computer": "CMPTR", "primary": "PRI",
    "backup": "BKUP", "navigation": "NAV", "service": "SVC", "transducers": "XDCR", "temperature": "TEMP", "command": "CMD",
    "receiver": "RCVR", "engine": "ENG", "umbilical": "UMB", "separation": "SEP", "circuit": "CKT", "transfer": "XFER",
    "terminal": "TERM", "sequencer": "SEQ", "flight": "FLT", "system": "SYS", "guidance": "GUID", "igniter": "IGN", "battery": "BATT",
    "internal": "INT", "external": "EXT", "power": "PWR", "tank": "TK", "supply": "SPLY", "channel": "CH", "pump": "PMP",
}
_STATES = {"open": "OPEN", "close": "CLOSED", "start": "START", "stop": "STOP", "verify": "VERIFY OK", "arm": "ARMED", "safe": "SAFE"}


class Phrases:
    """How one sequencer words a step."""

    def __init__(self, scenario: Scenario, rng: Random) -> None:
        self.style = scenario.habit.machine
        self.rng = rng
        self._codes: dict[str, str] = {}

    def step(self, plan: PlanStep, verb_done: bool = True) -> str:
        if plan.action is None:
            return {"words": "poll started", "tags": "POLL INIT", "keys": "evt=poll state=START", "codes": "POLL START"}[self.style]
        action = plan.action
        state = _STATES.get(action.verb, verbs.VERBS[action.verb].done[0].upper())
        tail = f" {action.tail}" if action.tail else ""
        if self.style == "words":
            return f"{action.object} {verbs.VERBS[action.verb].done[0]}{tail}"
        if self.style == "tags":
            return f"{self._tag(action.object)} {state}{tail.upper()}"
        if self.style == "keys":
            return f"cmd={action.verb} dev={action.object.replace(' ', '.').lower()}{tail.replace(' ', '.')} state={state.replace(' ', '_')}"
        code = self._codes.setdefault(plan.step, f"{plan.by[:1]}{'VPSM'[len(self._codes) % 4]}-{100 + 7 * len(self._codes) % 900}")
        return f"{code} {action.object.upper()} {state}{tail.upper()}"

    def _tag(self, thing: str) -> str:
        words = [_TAGS.get(w, w.upper()) for w in thing.split()]
        joined = "_".join(words)
        return re.sub(r"_(\d+|[A-Z])(?=_|$)", r"\1", joined)


def records(scenario: Scenario, story: Story, said: list[Said], plans: dict[str, PlanStep], rng: Random) -> list[tuple[Said, str | None]]:
    """(what happened, count text of that instant) in time order, with count stamps and clock events among them."""
    phrases = Phrases(scenario, rng)
    every = rng.choice((10, 15, 20, 30))
    out: list[Said] = []
    for s in said:
        if s.machine and s.text:
            out.append(s)
        elif s.machine and s.step is not None:
            out.append(Said(**{**s.__dict__, "text": phrases.step(plans[s.step])}))
    for segment in story.clock.segments:
        out += _stamps(segment.u0, segment.u1, every, story)
    for hold in story.holds:
        if hold.called:
            out.append(Said(hold.start, "CLK", f"COUNT HOLD {count_text(hold.t)}", kind="hold", mark_t=hold.t, machine=True))
            if hold.end is not None and hold.recycle_to is None:
                out.append(Said(hold.end, "CLK", f"COUNT RESUME {count_text(hold.t)}", kind="resume", mark_t=hold.t, machine=True))
    for u, a, b in story.recycles:
        out.append(Said(u, "CLK", f"COUNT RECYCLE {count_text(a)} TO {count_text(b)}", kind="recycle", mark_t=b, machine=True))
    if story.outcome == "liftoff" and story.outcome_us:
        out.append(Said(story.outcome_us, "CLK", f"T-ZERO {scenario.habit.liftoff.upper()}", kind="liftoff", mark_t=0.0, machine=True))
    elif story.outcome == "cutoff" and story.outcome_us:
        out.append(Said(_later(story.outcome_us, 0.1), "SEQ", "CUTOFF COMMANDED", kind="cutoff", machine=True))
    out.sort(key=lambda s: (s.utc, s.by, s.text))
    return [(s, count_text(story.clock.at(s.utc)[0] / SECOND)) for s in out]


def _stamps(u0: int, u1: int, every: int, story: Story) -> list[Said]:
    """Stamps at whole multiples of count time while counting, at whole multiples of wall time while holding."""
    out = []
    t, state, _ = story.clock.at(u0)
    step = every * SECOND
    u = u0 + (-t) % step if state == "counting" else u0 + step
    while u < u1:
        t, _, _ = story.clock.at(u)
        label = "COUNTING" if state == "counting" else "HOLDING"
        out.append(Said(u, "CLK", f"{count_text(round(t / SECOND))} {label}", kind="mark", mark_t=t / SECOND, machine=True))
        u += step
    return out


def write(form: str, scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, path: str, rng: Random) -> Paper:
    numbered = list(enumerate(rows))
    writer = {"syslog": _syslog, "rfc3164": _rfc3164, "csv": _csv, "jsonl": _jsonl, "parquet": _parquet}[form]
    content, first = writer(scenario, rows, clock, rng)
    carried = [Carried(first + i, first + i, s) for i, (s, _) in numbered]
    return Paper(path, "sequencer", "syslog" if form == "rfc3164" else form, content, carried, clock)


def _syslog(scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, rng: Random) -> tuple[bytes, int]:
    host = rng.choice(("seq-a", "gse01", "count-master"))
    lines = [f"<134>1 {stamp_text(clock.stamp(s.utc), 'rfc3339', ms=True)} {host} {'count' if s.by == 'CLK' else s.by.lower()} - "
             f"{'CLK' if s.by == 'CLK' else 'EVT'} - {s.text}" for s, _ in rows]
    return ("\n".join(lines) + "\n").encode(), 1


def _rfc3164(scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, rng: Random) -> tuple[bytes, int]:
    """The old syslog line: no year, whole seconds: ``<134>Apr 18 13:05:00 seq-a count: T-01:25:00 COUNTING``."""
    host = rng.choice(("seq-a", "gse01"))
    lines = [f"<134>{stamp_text(clock.stamp(s.utc), 'bsd')} {host} {'count' if s.by == 'CLK' else s.by.lower()}: {s.text}" for s, _ in rows]
    return ("\n".join(lines) + "\n").encode(), 1


def _csv(scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, rng: Random) -> tuple[bytes, int]:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    names = rng.choice((("utc", "count", "source", "event"), ("time", "t", "station", "message"), ("timestamp", "count_time", "origin", "text")))
    writer.writerow(names)
    form = rng.choice(("rfc3339", "rfc3339", "rfc3339", "ordinal date"))
    writer.writerows((stamp_text(clock.stamp(s.utc), form, ms=True), count, s.by, s.text) for s, count in rows)
    return out.getvalue().encode(), 2


def _jsonl(scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, rng: Random) -> tuple[bytes, int]:
    key = rng.choice(("time", "ts", "utc"))
    lines = [json.dumps({key: stamp_text(clock.stamp(s.utc), "rfc3339", ms=True), "count": count, "station": s.by, "message": s.text})
             for s, count in rows]
    return ("\n".join(lines) + "\n").encode(), 1


def _parquet(scenario: Scenario, rows: list[tuple[Said, str | None]], clock: Clock, rng: Random) -> tuple[bytes, int]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    stamps = [clock.stamp(s.utc) // 1000 * 1000 for s, _ in rows]
    table = pa.table({
        "time": pa.array(stamps, pa.timestamp("us", tz="UTC")), "count": [c for _, c in rows],
        "station": [s.by for s, _ in rows], "message": [s.text for s, _ in rows]})
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink)
    return sink.getvalue().to_pybytes(), 1
