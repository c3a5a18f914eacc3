"""Write one simulated count: a count folder and, beside it, the truth (`OUT` and `OUT.truth.json`).

Conventions: everything is drawn from `seed` and the options; the same two give the same bytes. The folder appears whole or not at all.
It does not read logs, and shares no code with what does.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from aftercount.errors import UsageError
from aftercount.rehearse import (
    counting,
    deeds,
    machine,
    paper,
    procedure,
    scenario,
    story,
    talk,
    transcript,
    truth,
    typed,
)
from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.loop import Loop, Said, ordered
from aftercount.rehearse.options import LOG_FORMATS, RehearsalOptions, RehearsalTruth

STRETCH_KEPT, STRETCH_LONGER = 0.7, 0.2   # built-in holds kept to the second, extended; the rest are cut short
_DEFAULT = RehearsalOptions()


@dataclass(frozen=True)
class Chapter:
    """What a rehearsal has of the season that it is part of. slow: seconds that steps are late beyond the habit, by id."""

    procedure: procedure.Procedure
    t0: datetime
    slow: Mapping[str, float]


def rehearse(out: str | Path, seed: int = 0, options: RehearsalOptions = _DEFAULT) -> RehearsalTruth:
    """Write a simulated count folder to `out` and its truth beside it; return the truth.

    Raises UsageError when `out` is there already and not empty, or an option cannot be met.
    """
    folder = Path(out)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UsageError(f"{folder}: expected a folder that is new or empty")
    return write(Made(seed, options, folder.name), folder)


def write(made: Made, folder: Path) -> RehearsalTruth:
    """Put a simulated count in place, whole, and its truth beside it."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    staging = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        staging.chmod(0o755)
        for name, content in made.files().items():
            (staging / name).write_bytes(content)
        if folder.exists():
            folder.rmdir()
        os.replace(staging, folder)
    except BaseException:
        shutil.rmtree(staging, ignore_errors=True)
        raise
    data = made.truth()
    file = folder.with_name(folder.name + ".truth.json")
    file.write_text(truth.as_json(data), encoding="utf-8")
    return RehearsalTruth(folder, file, data)


def scheduled(rng: Random) -> datetime:
    """A T-0 on a quarter of an hour, some day of the simulator's year."""
    day = datetime(2031, 1, 1, tzinfo=UTC) + timedelta(days=rng.randrange(360))
    return day + timedelta(minutes=15 * rng.randrange(96))


class Made:
    """One simulated count in memory. Every aspect draws from its own stream, so that changing one leaves the others alone."""

    def __init__(self, seed: int, options: RehearsalOptions, name: str, chapter: Chapter | None = None) -> None:
        self.seed, self.options, self.name = seed, options, name
        self.scenario = scenario.scenario(options.scenario)
        self.procedure = chapter.procedure if chapter else procedure.build(self.scenario, options.steps)
        self.t0 = chapter.t0 if chapter else scheduled(self._rng("date"))
        self.slow = chapter.slow if chapter else {}
        self.story = story.run(self.procedure, self._stops(), round(self.t0.timestamp()) * SECOND, self._stretch(self._rng("stretch")))
        self.deeds = self._perform()
        self.said = self._speak()
        self.papers = self._papers()

    def _rng(self, aspect: str) -> Random:
        return Random(f"{self.seed}:{self.options.scenario}:{self.options.steps}:{aspect}")

    def _stops(self) -> list[story.Stop]:
        return story.pick(self.options.story, self.scenario, self.procedure, self.options, self._rng("stops"))

    def _perform(self) -> list[deeds.Deed]:
        return deeds.perform(self.procedure, self.story, self.options, self._rng("deeds"), self.slow)

    def _stretch(self, rng: Random) -> dict[str, float]:
        stretch = {}
        for hold in self.procedure.holds:
            roll = rng.random()
            if self.options.story == "clean" or roll < STRETCH_KEPT:
                continue
            inside = max((s.into or 0 for s in self.procedure.steps if s.t == hold.t and s.into is not None), default=0)
            if roll < STRETCH_KEPT + STRETCH_LONGER:
                stretch[hold.step] = hold.duration + float(rng.choice((60, 120, 300, 600))) + round(rng.uniform(-20, 20), 1)
            else:
                stretch[hold.step] = max(hold.duration * rng.uniform(0.5, 0.9), inside + 60.0)
        return {k: round(v, 1) for k, v in stretch.items()}

    def _speak(self) -> list[Said]:
        loop = Loop(self.scenario, self.options, self._rng("loop"), self.procedure.steps)
        for deed in self.deeds:
            loop.deed(deed)
        counting.Counting(loop, self.story, self.options, self._rng("counting")).everything()
        talk.near_misses(loop, self.deeds, self.options, self._rng("near"))
        talk.readings(loop, self.deeds, self.story, self.options, self._rng("readings"))
        talk.chatter(loop, self.deeds, self.story, self.options, self._rng("chatter"))
        talk.errands(loop, self.deeds, self.story, self.options, self._rng("errands"))
        return ordered(loop.said)

    def _papers(self) -> list[paper.Paper]:
        out: list[paper.Paper] = []
        start, end = self.story.clock.start, self.story.clock.end
        for place, log in enumerate(self.options.logs):
            kind, _, form = log.partition(".")
            rng = self._rng(f"log {place}")
            clock = paper.draw_clock(place, kind, self.options, start, end, rng)
            count = sum(1 for p in out if p.kind == kind)
            if kind == "sequencer":
                form = form or rng.choice(LOG_FORMATS[kind][:4])
                out.append(self._sequencer(form, clock, count, rng))
            elif kind == "notes":
                out.append(self._notes(form, clock, count, rng))
            else:
                form = form or rng.choice(LOG_FORMATS[kind])
                out += [self._transcript(form, clock, net, count, rng) for net in range(self.options.nets)]
        return out

    def _sequencer(self, form: str, clock: paper.Clock, count: int, rng: Random) -> paper.Paper:
        plans = {s.step: s for s in self.procedure.steps}
        rows = machine.records(self.scenario, self.story, self.said, plans, rng)
        suffix = {"syslog": "log", "rfc3164": "log", "csv": "csv", "jsonl": "jsonl", "parquet": "parquet"}[form]
        made = machine.write(form, self.scenario, rows, clock, f"sequencer{count + 1 if count else ''}.{suffix}", rng)
        made.reference = count == 0 and rng.random() < 0.7
        return made

    def _notes(self, form: str, clock: paper.Clock, count: int, rng: Random) -> paper.Paper:
        return typed.write(form, self.scenario, self.story, self.said, clock, f"notes{count + 1 if count else ''}.txt", rng)

    def _transcript(self, form: str, clock: paper.Clock, net: int, count: int, rng: Random) -> paper.Paper:
        zero = self.story.clock.start - round(rng.uniform(20, 400)) * SECOND
        heard = [s for s in self.said if not s.machine and s.net == net]
        name = f"net{net + 1}{'-' + str(count + 1) if count else ''}.{'vtt' if form == 'webvtt' else 'srt'}"
        made = transcript.write(form, self.scenario, heard, clock, zero, self.options.word_error, self.options.speakers, name, rng)
        known = rng.random() < 0.6 if self.options.transcript_start is None else self.options.transcript_start
        if known and self._listed:
            made.spec = {"start": datetime.fromtimestamp(zero // SECOND, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")}
        if self._listed:
            made.spec["net"] = json.dumps(f"NET {net + 1}")
        return made

    @property
    def _listed(self) -> bool:
        if self.options.list_logs is not None:
            return self.options.list_logs
        return bool(self.options.transcript_start) or self._rng("listed").random() < 0.7

    def files(self) -> dict[str, bytes]:
        plan = procedure.plan_csv(self.procedure, Random(f"plan csv:{self.options.scenario}:{self.options.steps}"))
        return {"count.toml": self._toml().encode(), "plan.csv": plan.encode()} | {p.path: p.content for p in self.papers}

    def truth(self) -> dict[str, object]:
        return truth.compose(self.name, self.procedure, self.story, self.deeds, self.papers, {"seed": self.seed} | self.options.as_dict())

    def _toml(self) -> str:
        rng = self._rng("toml")
        lines = ["[count]", f"id = {json.dumps(self.name)}", f"title = {json.dumps(self.scenario.title + f', simulated {self.seed}')}",
                 f'kind = "{self.scenario.kind}"', f"t0 = {self.t0:%Y-%m-%dT%H:%M:%SZ}"]
        if rng.random() < 0.5:
            lines.append(f"window = [{self.t0:%Y-%m-%dT%H:%M:%SZ}, {self.t0 + timedelta(hours=2):%Y-%m-%dT%H:%M:%SZ}]")
        if self.scenario.zone != "UTC":
            lines.append(f'zone = "{self.scenario.zone}"')
        for p in self.papers if self._listed else ():
            lines += ["", "[[log]]", f"path = {json.dumps(p.path)}"]
            if rng.random() < 0.5:
                lines.append(f'format = "{"notes" if p.kind == "notes" else p.form}"')
            if rng.random() < 0.5:
                lines.append(f'time = "{p.time}"')
            lines += [f"{key} = {value}" for key, value in p.spec.items()]
            if p.reference:
                lines.append("reference = true")
        lines += ["", "[stations]"] + [f"{c} = {json.dumps(list(f))}" for c, f in self.scenario.stations.items()]
        lines += ["", "[glossary]"] + [f"{json.dumps(c)} = {json.dumps(list(f))}" for c, f in self.scenario.glossary.items()]
        return "\n".join(lines) + "\n"
