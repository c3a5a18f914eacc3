"""A procedure revised between two rehearsals: steps dropped, steps added, ids renumbered after them.

Conventions: ids are `phase.place`, so a step that goes or comes moves the ids behind it in its phase; planned times of the
steps that stay do not move. It does not decide when the revision comes into force: `season` does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from aftercount.rehearse import verbs
from aftercount.rehearse.procedure import AUTO_GAP_S, PlanStep, Procedure
from aftercount.rehearse.scenario import Line, Scenario, parse


@dataclass(frozen=True)
class Revision:
    """The new procedure. moved: old id -> new id of every step that stays; dropped: old ids; added: new ids."""

    procedure: Procedure
    moved: dict[str, str]
    dropped: tuple[str, ...]
    added: tuple[str, ...]


def revise(procedure: Procedure, scenario: Scenario, changes: int, rng: Random, keep: frozenset[str] = frozenset()) -> Revision:
    """`changes` steps dropped and as many added, where the procedure has room; the steps in `keep` stay."""
    needed = {prior for step in procedure.steps for prior in step.after} | keep
    free = [s for s in procedure.steps if _is_called(s) and s.step not in needed]
    dropped = tuple(s.step for s in rng.sample(free, min(changes, len(free))))
    steps = [s for s in procedure.steps if s.step not in dropped]
    added: list[PlanStep] = []
    for line in _unused(scenario, procedure, rng)[:4 * changes]:
        new = _placed(line, steps, rng)
        if new is not None and len(added) < changes:
            added.append(new)
            steps = sorted([*steps, new], key=lambda s: (s.t, s.into or 0))
    ids = _numbered(steps)
    moved = {s.step: ids[s.step] for s in steps if s not in added}
    revised = tuple(replace(s, step=ids[s.step], after=tuple(moved[a] for a in s.after)) for s in steps)
    return Revision(replace(procedure, steps=revised), moved, dropped, tuple(ids[s.step] for s in added))


def _is_called(step: PlanStep) -> bool:
    return bool(step.to and step.action and step.into is None and step.must)


def _unused(scenario: Scenario, procedure: Procedure, rng: Random) -> list[Line]:
    """Lines of the scenario that this procedure has not, in random order: somebody calls for them, none inside a hold."""
    phases, lines = parse(scenario.procedure)
    have = {step.text.lower() for step in procedure.steps}
    found = [line for line in lines if line.to and line.to != line.by and phases[line.phase].hold_s is None
             and not line.flags & {"poll", "opt"} and verbs.parse(line.action).plain.lower() not in have]
    return rng.sample(found, len(found))


def _placed(line: Line, steps: list[PlanStep], rng: Random) -> PlanStep | None:
    """The line as a step in the middle of a gap of its phase; None where the phase has no room."""
    mine = [s for s in steps if s.step.partition(".")[0] == str(line.phase + 1) and s.into is None]
    gaps = [(a.t, b.t) for a, b in zip(mine, mine[1:], strict=False) if b.t - a.t >= 4 * AUTO_GAP_S]
    if not gaps:
        return None
    low, high = rng.choice(gaps)
    action = verbs.parse(line.action)
    text = action.plain[0].upper() + action.plain[1:]
    # No id of the procedure has a dash: this one holds the phase until all are numbered.
    return PlanStep(step=f"{line.phase + 1}.-{text}", t=(low + high) // 2, action=action, text=text, kind="step", by=line.by,
                    to=line.to, phase=mine[0].phase)


def _numbered(steps: list[PlanStep]) -> dict[str, str]:
    """Each id as its phase and its place there."""
    ids: dict[str, str] = {}
    places: dict[str, int] = {}
    for step in steps:
        phase = step.step.partition(".")[0]
        places[phase] = places.get(phase, 0) + 1
        ids[step.step] = f"{phase}.{places[phase]}"
    return ids
