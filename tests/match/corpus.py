"""Simulated counts as the match sees them, with the truth of every line: what it is fitted on and measured on.

Conventions: a `Spec` names one count; the same spec gives the same count. FIT_SEEDS and the seeds of the accuracy figures never
overlap, and scenarios held back are never fitted on.
"""

from __future__ import annotations

import json
import pickle
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from typing import Any

import pandas as pd

from aftercount import count as counts
from aftercount import logs, plan, speech, timeline
from aftercount.count import CountFolder
from aftercount.plan import Plan
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse
from aftercount.timeline import Timeline

LOGS = (("sequencer", "notes", "transcript"), ("transcript",), ("notes",), ("notes", "transcript"), ("sequencer", "notes"))
WORD_ERRORS = (0.0, 0.04, 0.14, 0.25, 0.30, 0.55)
OWN_WORDS, ERRANDS = (0.1, 0.2, 0.3), (0.05, 0.1, 0.2)


@dataclass(frozen=True)
class Spec:
    scenario: str
    seed: int
    word_error: float
    logs: tuple[str, ...]
    steps: int = 60
    paraphrase: float = 0.35
    deviations: float = 1.0
    own_words: float = 0.0
    errands: float = 0.0


@dataclass(frozen=True)
class Case:
    """One count up to the match. `carried[(source, line)]` are the (step, pass, part) that the line truly carries."""

    spec: Spec
    due: pd.DataFrame
    timed: pd.DataFrame
    plan: Plan
    count: CountFolder
    decisions: pd.DataFrame
    timeline: Timeline
    truth: dict[str, Any]
    carried: dict[tuple[str, int], list[tuple[str, int, str]]]


def spread(scenarios: tuple[str, ...], seeds: range, deviations: float = 1.0, own: bool = False) -> list[Spec]:
    """One spec a seed, over scenarios, logs, noise, sizes and freedom of wording; deviations: how many times the usual rate of faults; own: whether
    people have words of their own for some steps, and orders besides the plan's."""
    out = []
    for seed in seeds:
        rng = Random(seed)
        out.append(Spec(rng.choice(scenarios), seed, rng.choice(WORD_ERRORS), rng.choices(LOGS, (4, 3, 2, 2, 1))[0],
                        rng.choice((40, 60, 90)), rng.choice((0.2, 0.35, 0.6)), deviations,
                        *((rng.choice(OWN_WORDS), rng.choice(ERRANDS)) if own else (0.0, 0.0))))
    return out


def cases(specs: list[Spec], cache: Path | None = None) -> Iterator[Case]:
    """The counts of the specs, each kept in `cache` once made."""
    for spec in specs:
        often = ("" if spec.deviations == 1.0 else f"-{spec.deviations}") + (f"-own{spec.own_words}-{spec.errands}" if spec.own_words or spec.errands else "")
        name = f"{spec.scenario}-{spec.seed}-{spec.word_error}-{'+'.join(spec.logs)}-{spec.steps}-{spec.paraphrase}{often}.pickle"
        kept = cache / name if cache else None
        if kept is not None and kept.exists():
            yield pickle.loads(kept.read_bytes())
            continue
        made = make(spec)
        if kept is not None:
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_bytes(pickle.dumps(made))
        yield made


def make(spec: Spec) -> Case:
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch) / "count"
        options = RehearsalOptions(scenario=spec.scenario, steps=spec.steps, logs=spec.logs, word_error=spec.word_error, paraphrase=spec.paraphrase,
                                   deviations=spec.deviations, own_words=spec.own_words, errands=spec.errands)
        rehearse(out, seed=spec.seed, options=options)
        truth = json.loads(Path(str(out) + ".truth.json").read_text())
        return up_to_match(out, truth, spec)


def up_to_match(folder: Path, truth: dict[str, Any], spec: Spec) -> Case:
    count, _ = counts.load(folder)
    assert count is not None
    procedure, _ = plan.load(count)
    assert procedure is not None
    records, _, sources = logs.read(count)
    spoken = speech.understand(records, count, procedure)
    clocked = timeline.rebuild(spoken, sources, count, procedure)
    due = plan.due_steps(procedure, count, clocked.clock, clocked.holds, lifted=clocked.outcome == "liftoff")
    t_s, state, passes, sigma = timeline.clock.at(clocked.clock, clocked.utc_us)
    timed = spoken.utterances.assign(utc_us=clocked.utc_us, sigma_s=timeline.against_clock(spoken.utterances, clocked.utc_sigma_s, clocked.sources),
                                     t_s=t_s, state=state, **{"pass": passes}, clock_sigma_s=sigma)
    decisions, _ = counts.load_decisions(count, procedure)
    return Case(spec, due, timed, procedure, count, decisions, replace(clocked, base=None), truth, carried_by_line(truth))


def carried_by_line(truth: dict[str, Any]) -> dict[tuple[str, int], list[tuple[str, int, str]]]:
    carried: dict[tuple[str, int], list[tuple[str, int, str]]] = {}
    for line in truth["lines"]:
        if line.get("step") is not None and not line.get("near_miss"):
            for number in range(int(line["line"]), int(line.get("line_end") or line["line"]) + 1):
                carried.setdefault((line["source"], number), []).append((line["step"], int(line["pass"]), line.get("part") or ""))
    return carried
