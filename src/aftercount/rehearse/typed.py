"""Notes as one person types them during the count: short, lower case, abbreviated, a few seconds after the fact.

Conventions: a note's stamp is when the event happened as the keeper saw it, usually a second or more after; whole seconds.
It does not decide what happened.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from random import Random
from zoneinfo import ZoneInfo

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.loop import Said
from aftercount.rehearse.paper import Carried, Clock, Paper
from aftercount.rehearse.scenario import Scenario
from aftercount.rehearse.speaking import count_text
from aftercount.rehearse.story import Story

_SHORT = {
    "stage": "stg", "verify": "vfy", "pressurize": "press", "pressurized": "pressd", "pressure": "press", "temperature": "temp",
    "complete": "cmplt", "started": "strtd", "telemetry": "tlm", "valve": "vlv", "transfer": "xfer", "transferred": "xferd",
    "navigation": "nav", "computer": "cmptr", "minutes": "min", "seconds": "sec", "primary": "pri", "secondary": "sec'y",
    "holding": "hldg", "command": "cmd", "temperatures": "temps", "internal": "int", "external": "ext", "receiver": "rcvr",
    "configured": "config'd", "northern": "n", "confirmed": "cfm", "weather": "wx", "propellant": "prop", "vehicle": "veh",
}
STEP_SHARE = 0.93      # of the steps that were heard, those the keeper writes down
MARK_SHARE, TALK_SHARE = 0.25, 0.3
LATE_NOTE_RATE = 0.015
CONTINUED_RATE = 0.03   # of the entries, those that go on in a second line


@dataclass(frozen=True)
class Style:
    """One keeper's way of typing. time: utc | zulu | local | dated | ordinal | count."""

    time: str
    lower: bool
    short: float        # share of words abbreviated that can be
    who: str            # arrow | to | colon | plain
    end: str
    lag: float          # typical seconds between event and note


def draw_style(form: str, rng: Random) -> Style:
    time = form or rng.choice(("utc", "utc", "zulu", "local", "dated", "ordinal", "count"))
    return Style(time, rng.random() < 0.5, rng.choice((0.0, 0.0, 0.4, 0.8)), rng.choice(("arrow", "to", "colon", "plain")),
                 rng.choice(("", "", ".")), rng.choice((0.5, 1.0, 1.5)))


def stamp_text(own_us: int, form: str, *, ms: bool = False, zone: str = "UTC") -> str:
    when = datetime.fromtimestamp(own_us // SECOND, UTC)
    part = f".{own_us % SECOND // 1000:03d}" if ms else ""
    if form == "rfc3339":
        return when.strftime("%Y-%m-%dT%H:%M:%S") + part + "Z"
    if form == "ordinal date":
        return when.strftime("%Y-%jT%H:%M:%S") + part + "Z"
    if form == "bsd":
        return f"{when:%b} {when.day:2d} {when:%H:%M:%S}"
    if form == "zulu":
        return when.strftime("%H%M:%SZ")
    if form == "dated":
        return when.strftime("%Y-%m-%d %H:%M:%S")
    if form == "ordinal":
        return when.strftime("%j/%H:%M:%SZ")
    if form == "dated local":
        return when.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M:%S")
    if form == "local":
        return when.astimezone(ZoneInfo(zone)).strftime("%H:%M:%S")
    return when.strftime("%H:%M:%S")


def choose(said: list[Said], rng: Random) -> list[Said]:
    """What the keeper takes down: most steps once (the order or the completion), clock events, some talk."""
    spoken: dict[tuple[str, int, int], list[Said]] = {}
    rest: list[Said] = []
    seen_texts: set[tuple[str, int]] = set()
    for s in said:
        if s.machine:
            continue
        if s.step is not None and s.number is not None and s.answer is None:
            spoken.setdefault((s.step, s.number, s.seen), []).append(s)
        elif (s.text, s.utc // (3 * SECOND)) not in seen_texts:
            seen_texts.add((s.text, s.utc // (3 * SECOND)))
            rest.append(s)
    taken: list[Said] = []
    for heard in spoken.values():
        if rng.random() > STEP_SHARE:
            continue
        calls = [s for s in heard if s.part == "call"]
        reports = [s for s in heard if s.part == "report"]
        pick = calls if calls and (not reports or rng.random() < 0.7) else reports or heard
        taken.append(pick[0])
        if calls and reports and pick is calls and rng.random() < 0.3:
            taken.append(reports[0])
    for s in rest:
        share = 1.0 if s.answer == "no go" or s.kind in ("hold", "resume", "recycle", "cutoff", "scrub", "liftoff") else (
            MARK_SHARE if s.mark_t is not None and s.mark_t <= -60 else 0.0 if s.mark_t is not None else
            TALK_SHARE if len(s.text.split()) > 3 else 0.0)
        if rng.random() < share:
            taken.append(s)
    return sorted(taken, key=lambda s: (s.utc, s.text))


class Keeper:
    def __init__(self, scenario: Scenario, style: Style, rng: Random) -> None:
        self.scenario, self.style, self.rng = scenario, style, rng

    def words(self, said: Said) -> str:
        text = said.text
        who, to = said.by, said.to
        names = "|".join(re.escape(s) for s in self.scenario.stations)
        if said.step is not None or said.to is not None:
            text = re.sub(rf"^(?:(?:{names}|this is|from|for|to|over|,)\b[\s,:.!]*)+", "", text)
            text = re.sub(rf",\s*(?:{names}|over)$", "", text)
        text = re.sub(r"\b(T|L) (minus|plus) ", lambda m: f"{m[1]}{'-' if m[2] == 'minus' else '+'}", text)
        if self.rng.random() < self.style.short:
            text = " ".join(_SHORT.get(w, w) if self.rng.random() < self.style.short else w for w in text.split())
        if self.style.lower:
            text = text.lower()
        elif text:
            text = text[0].upper() + text[1:]
        return self._who(who, to, said) + text + ("" if text.endswith("?") else self.style.end)

    def _who(self, by: str, to: str | None, said: Said) -> str:
        if self.style.who == "plain" and (said.step is None or self.rng.random() < 0.5):
            return ""
        if to and to != by:
            if self.style.who == "arrow":
                return f"{by}>{to} "
            if self.style.who == "to":
                return f"{by} to {to}: "
        return f"{by}: "


def write(form: str, scenario: Scenario, story: Story, said: list[Said], clock: Clock, path: str, rng: Random) -> Paper:
    style = draw_style(form, rng)
    if scenario.zone != "UTC" and style.time in ("utc", "dated"):
        style = replace(style, time="local" if style.time == "utc" else "dated local")  # a bare time of day is the zone's
    keeper = Keeper(scenario, style, rng)
    entries: list[tuple[int, Said, str]] = []
    for s in choose(said, rng):
        lag = max(0.0, rng.gauss(style.lag, style.lag * 0.6))
        seen = s.utc + round(lag * SECOND)
        own = clock.stamp(seen)
        if style.time == "count":
            stamp = count_text(int(story.clock.at(seen)[0] // SECOND), "minutes")
        else:
            stamp = stamp_text(own, style.time, zone=scenario.zone)
        late = rng.random() < LATE_NOTE_RATE and s.kind not in ("hold", "resume", "recycle")
        typed_at = seen + (round(rng.uniform(20, 60) * SECOND) if late else 0)
        entries.append((typed_at, s, f"{stamp} {keeper.words(s)}" + (" (late entry)" if late else "")))
    entries.sort(key=lambda e: e[0])
    lines: list[str] = []
    carried: list[Carried] = []
    for _, s, text in entries:
        first = len(lines) + 1
        lines.append(text)
        if rng.random() < CONTINUED_RATE:
            lines.append("  " + rng.choice(scenario.chatter))
        carried.append(Carried(first, len(lines), s))
    paper = Paper(path, "notes", style.time, ("\n".join(lines) + "\n").encode(), carried, clock)
    paper.time = {"utc": "utc", "zulu": "utc", "dated": "utc", "ordinal": "utc", "local": "local", "dated local": "local", "count": "count"}[style.time]
    return paper
