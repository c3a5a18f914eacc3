"""The invented vehicles and their procedures, in a compact text each.

A procedure text has phases and steps, one a line::

    = tanking -5400 -2400          steps spread from T-5400 s to T-2400 s
    ! planning hold -2400 900      a built-in hold at T-2400 s of 900 s, the steps below are inside it
    PROP<TC | open {LOX|fuel} vent            performed by PROP, called for by TC; braces multiply the line
    +INST<TC | verify sensor {1..24} ~on line   only in large procedures
    SEQ | start ignition timer | auto           nobody calls for it; flags after the second bar

Flags: auto (a machine does it), opt (optional), r20 (response within 20 s), wide (30 s early, 60 s late), tight (3 s), poll.
It does not decide step times, ids or tolerances: `procedure` does.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from importlib import import_module

from aftercount.errors import UsageError


@dataclass(frozen=True)
class Habit:
    """How people of one team talk, type and name things."""

    call: str = "{to}, {by}, {text}"       # {to} called station, {by} the caller
    answer: str = "{text}, {by}"
    report: str = "{to}, {by}, {text}"
    accept: tuple[str, ...] = ("in work", "copy, in work", "roger, {doing}", "{doing}")
    copy: tuple[str, ...] = ("copy", "copy that", "roger")
    mark: tuple[str, ...] = ("{count} and counting", "{count}", "mark, {count}")
    machine: str = "words"                  # words | tags | keys | codes
    liftoff: str = "lift-off"


@dataclass(frozen=True)
class Scenario:
    name: str
    title: str
    vehicle: str
    kind: str
    stations: dict[str, tuple[str, ...]]
    conductor: str
    clock_voice: str
    procedure: str
    glossary: dict[str, tuple[str, ...]]
    causes: tuple[str, ...]
    chatter: tuple[str, ...]
    habit: Habit = Habit()
    zone: str = "UTC"
    ends: str = "liftoff"                   # liftoff | cutoff: a wet dress stops before zero on purpose


@dataclass(frozen=True)
class Line:
    """One step line of a procedure text, multiplied out."""

    phase: int
    by: str
    to: str | None
    action: str
    flags: frozenset[str]
    extra: bool
    family: int


@dataclass(frozen=True)
class Phase:
    name: str
    start_t: int
    end_t: int | None
    hold_s: int | None


# Simulated teams that weights may be fitted on, and those kept back to measure on. Heron is the sample scenario.
FITTING = ("bittern", "chough", "dotterel", "eider", "godwit", "hoopoe", "jacana", "siskin")
HELD_BACK = ("heron", "nightjar", "pipit", "redshank", "turnstone", "wagtail")
SCENARIOS = FITTING + HELD_BACK


def scenario(name: str) -> Scenario:
    if name not in SCENARIOS:
        raise UsageError(f"scenario {name!r}: expected one of {', '.join(sorted(SCENARIOS))}")
    module = import_module(f"aftercount.rehearse.scenarios.{name}")
    found = module.SCENARIO
    assert isinstance(found, Scenario)
    return found


def multiply(text: str) -> list[str]:
    """'open {LOX|fuel} vent {1..2}' as four lines, the first brace slowest."""
    pieces = re.split(r"\{([^}]*)\}", text)
    choices: list[list[str]] = []
    for i, piece in enumerate(pieces):
        span = re.fullmatch(r"(\d+)\.\.(\d+)", piece) if i % 2 else None
        if span:
            choices.append([str(n) for n in range(int(span[1]), int(span[2]) + 1)])
        else:
            choices.append(piece.split("|") if i % 2 else [piece])
    return ["".join(parts) for parts in itertools.product(*choices)]


def parse(text: str) -> tuple[list[Phase], list[Line]]:
    phases: list[Phase] = []
    lines: list[Line] = []
    for family, raw in enumerate(text.strip().splitlines()):
        row = raw.strip()
        if not row:
            continue
        if row[0] in "=!":
            *name, a, b = row[1:].split()
            hold = row[0] == "!"
            phases.append(Phase(" ".join(name), int(a), None if hold else int(b), int(b) if hold else None))
            continue
        who, action, *flags = (p.strip() for p in row.lstrip("+").split("|", 1)[:1] + _fields(row))
        by, _, to = who.partition("<")
        kinds = frozenset(flags[0].split()) if flags else frozenset()
        lines += [Line(len(phases) - 1, by, to or None, a, kinds, row[0] == "+", family) for a in multiply(action)]
    return phases, lines


def _fields(row: str) -> list[str]:
    """Action and flags of a step row: bars inside braces are choices, not separators."""
    rest = row.split("|", 1)[1]
    return re.split(r"\|(?![^{}]*\})", rest)
