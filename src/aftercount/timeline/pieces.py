"""What does the path say, in numbers: each stretch of one state, with its best Z or T and how sure it is?

Candidates are a grid; here each stretch gets the robust mean of the marks kept in it. Seconds after scheduled T-0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from aftercount.timeline.evidence import AMID, CALLED, CUT_SIGMAS, Evidence, cut
from aftercount.timeline.model import (
    COUNTING,
    HOLD,
    HOLD_CALL,
    HOLDING,
    JUMP,
    MARK,
    NEAR_S,
    RESUME,
    RESUME_CALL,
    SILENT,
    STEP,
    Field,
    Floats,
    Path,
)
from aftercount.timeline.nodes import Built
from aftercount.timeline.sureness import Readings, sure

APART_SIGMAS = 3.0  # two readings of one stretch are seldom further apart
LEAST_HEARD = 5.5  # nats: that a hold was seen there costs 2.5 more than that it was not (path.Costs), and 3 are odds of twenty to one
HEARD_TOGETHER_S = 20.0  # one moment, as a voice says it and a keeper writes it down
SET_S = 60.0  # a clock is not set twice within so long: who sets it says so, and then what it reads
NO_HOLD_S = 1.0  # a clock that was stopped and started again stood for longer than that
SOON_S = 20.0  # 'resume on my mark' is said so long before the clock runs, at most
ON_PLAN_SIGMA_S = 5.0  # a clock started as planned is started within some seconds of it


@dataclass(frozen=True)
class Piece:
    """A stretch in one state. value: Z if counting, T if holding. first, last: wall times of its kept evidence."""

    state: int
    value: float
    sigma: float
    first: float
    last: float
    move: int
    marks: int
    called: tuple[int, ...]  # evidence items (in time order) that are calls
    as_heard: bool = False  # of a hold: that it began where its evidence begins, not before
    voices: int = 1  # logs whose first word of it came within HEARD_TOGETHER_S of the first of all
    sure: bool = True  # of a hold: that it lay at this count time; one reading that says no state may as well be false
    read: bool = True  # False where nothing but steps tells of it
    stepped: tuple[float, float] | None = None  # first and last with the steps heard in it, which may have been early or late
    first_read: float = np.inf  # wall time of its first reading, that no call is
    step: float = 0.0  # s: by what the stamps of its first words go, if none is finer


def pieces(path: Path, built: Built, evidence: Evidence, u: Floats, field: Field, lines: Sequence[float] = ()) -> list[Piece]:
    """The path's stretches in order. A move ends a stretch even when the same state follows. lines: how sure each log's place in time is, by source."""
    ordered, at = evidence.take(built.order), u[built.order]
    starts = np.searchsorted(built.node_of, np.arange(len(built.nodes)))
    ends = np.append(starts[1:], len(built.order))
    out: list[Piece] = []
    groups: list[tuple[int, int, list[int]]] = []
    for node, state, move in zip(path.node, path.state, path.move, strict=True):
        if not groups or move != 0:
            groups.append((state, move, []))
        groups[-1][2].extend(range(int(starts[node]), int(ends[node])))
    whole = [items for _, _, items in groups]
    groups = [(state, move, _told(ordered, items)) for state, move, items in groups]
    read = _read(ordered, at, groups, field, lines)
    one = _one_stretch(ordered, at, groups, read, field)
    if one:
        for k in one[::-1]:
            whole[k - 1:k + 1] = [whole[k - 1] + whole[k]]
            groups[k - 1:k + 1] = [(*groups[k - 1][:2], groups[k - 1][2] + groups[k][2])]
        read = _read(ordered, at, groups, field, lines)
    read = _at_their_calls(ordered, at, groups, read, field)
    off = float(cut(ordered, np.arange(len(ordered))).min()) if groups else 0.0
    for (state, move, items), every, (value, sigma, used) in zip(groups, whole, read, strict=True):
        which = np.array(items)
        counting = state < len(field.z)
        if not counting and len(field.builtin_t):
            planned = float(field.builtin_t[np.abs(field.builtin_t - value).argmin()])
            value = planned if abs(planned - value) <= max(NEAR_S, 2 * sigma) else value
        if counting:
            line = max((lines[k] for k in ordered.source[which].tolist()), default=0.0) if len(lines) else 0.0
            value, sigma = _as_planned(value, sigma, field, off) if sigma**2 - line**2 > ON_PLAN_SIGMA_S**2 else (value, sigma)
        sure = counting or bool(field.is_builtin(np.array([value]))[0]) or _sure(ordered, which)
        out.append(Piece(COUNTING if counting else HOLDING, value, sigma, float(at[which[0]]), float(at[which[-1]]), move,
                         used, tuple(int(i) for i in which[ordered.origin[which] == CALLED]), voices=_voices(ordered, at, which), sure=sure,
                         read=bool((ordered.kind[which] != STEP).any()), stepped=(float(at[every[0]]), float(at[every[-1]])),
                         first_read=float(at[which[ordered.kind[which] == MARK]].min(initial=np.inf)), step=_step(ordered, at, which)))
    recycles = (ordered.origin == CALLED) & (ordered.kind == MARK) & (ordered.says == HOLDING)
    return _resumed_later(_went_on(_set_once(_held_on(_ran_on(out, field))), list(zip(at[recycles].tolist(), ordered.t[recycles].tolist(), strict=True))))


def _one_stretch(e: Evidence, at: Floats, groups: list[tuple[int, int, list[int]]], read: list[tuple[float, float, int]], field: Field) -> list[int]:
    """Which stretches are those before them: no hold was called, planned or seen between the two, and their readings are no further apart than they are unsure."""
    out = []
    for k in range(1, len(groups)):
        (state, _, before), (to, move, items), (z, off, _), (later, unsure, _) = groups[k - 1], groups[k], read[k - 1], read[k]
        between = field.passed(np.array([at[before[-1]] - z, at[items[0]] - later + NEAR_S]))
        if (move == SILENT and max(state, to) < len(field.z) and later - z <= APART_SIGMAS * np.hypot(off, unsure)
                and between[0] == between[1] and e.kind[items[0]] != RESUME_CALL):
            out.append(k)
    return out


def _at_their_calls(e: Evidence, at: Floats, groups: list[tuple[int, int, list[int]]], read: list[tuple[float, float, int]], field: Field) -> list[tuple[float, float, int]]:
    """The same, with holds that nobody read where the count stood when they were called: of the candidates that the call's slack allows all cost the same."""
    out = list(read)
    for k in range(1, len(groups)):
        (_, move, items), (t, off, marks), (z, _, _) = groups[k], read[k], read[k - 1]
        first = items[0]
        if (move == HOLD and marks == 0 and groups[k - 1][0] < len(field.z) and not field.is_builtin(np.array([t]))[0] and e.kind[first] == HOLD_CALL
                and not np.isfinite(e.t[items]).any() and abs(at[first] - z - t) <= e.slack[first]):
            out[k] = (float(at[first] - z), off, marks)
    return out


def _told(e: Evidence, items: list[int]) -> list[int]:
    """The items of a stretch that tell of the clock; the steps only where nothing else does, for they come early and late."""
    return [i for i in items if e.kind[i] != STEP] or items


def _ran_on(parts: list[Piece], field: Field) -> list[Piece]:
    """A hold that nobody planned and nobody read, after which the count goes on as if there had been none, was none: it was called, and taken back at once."""
    out: list[Piece] = []
    for part in parts:
        if (len(out) > 1 and part.state == out[-2].state == COUNTING and out[-1].move == HOLD and part.move == RESUME and out[-1].marks == 0
                and part.value - out[-2].value <= max(NO_HOLD_S, APART_SIGMAS / 2 * np.hypot(part.sigma, out[-2].sigma)) and not field.is_builtin(np.array([out[-1].value]))[0]):
            called, before = out.pop().called, out.pop()
            surer = min(before, part, key=lambda p: p.sigma)
            part = replace(before, value=surer.value, sigma=surer.sigma, last=part.last, marks=before.marks + part.marks, called=(*before.called, *called, *part.called))
        out.append(part)
    return out


def _held_on(parts: list[Piece]) -> list[Piece]:
    """A count that ran for no longer than readings of one hold differ, between two holds, did not run."""
    out: list[Piece] = []
    for part in parts:
        if (len(out) > 1 and part.state == out[-2].state == HOLDING and part.move == HOLD and out[-1].move == RESUME
                and abs(part.value - out[-2].value) <= NEAR_S):
            called, before = out.pop().called, out.pop()
            part = replace(before, read=before.read or part.read, last=part.last, marks=before.marks + part.marks, called=(*before.called, *called, *part.called), sure=before.sure or part.sure)
        out.append(part)
    return out


def _set_once(parts: list[Piece]) -> list[Piece]:
    """A clock that is said to have been set twice within a minute, or twice while it was held, was set once for all that came of it: what was said first was
    misheard, or was put right."""
    out: list[Piece] = []
    for part in parts:
        if out and part.move == out[-1].move == JUMP and (out[-1].state == part.state == HOLDING or part.first - out[-1].first <= SET_S):
            part = replace(part, called=(*out.pop().called, *part.called))
        out.append(part)
    return out


def _went_on(parts: list[Piece], told: Sequence[tuple[float, float]]) -> list[Piece]:
    """A clock that was read at no other T than that of the hold before, from where it goes on by its readings, was not set: it was resumed there, whatever log
    told so a little before. Where it was said to have been set to several Ts it was set to that from where it goes on. told: when and to what it was said to be set."""
    out: list[Piece] = []
    for part in parts:
        if out and part.move == JUMP and part.state == COUNTING and out[-1].state == HOLDING:
            held = out[-1]
            called = part.first < part.first_read
            least = (max(held.last, part.first) if called else held.last) - SOON_S
            most = min(part.first_read, part.first + SET_S)
            others = [t for u, t in told if held.move == JUMP and len(out) > 1 and out[-2].last <= u <= part.first]
            can = [t for t in (held.value, *others) if least <= part.value + t <= most]
            if can:
                t = min(can, key=lambda t: abs(part.value + t - part.first) if called else 0.0)
                out[-1] = replace(held, value=t)
                part = replace(part, move=RESUME, first=max(part.first, part.value + t))
        out.append(part)
    return out


def _resumed_later(parts: list[Piece]) -> list[Piece]:
    """A count that was called to resume, and that nobody read before it is found some seconds further behind, was resumed those seconds later."""
    out: list[Piece] = []
    for part in parts:
        if (len(out) > 1 and part.move == SILENT and out[-1].move == RESUME and part.value - out[-1].value <= SOON_S
                and out[-1].last - (out[-1].value + out[-2].value) <= SOON_S):
            part = replace(part, move=RESUME, called=(*out.pop().called, *part.called))
        out.append(part)
    return out


def _voices(e: Evidence, at: Floats, which: np.ndarray) -> int:
    first = {int(e.source[i]): float(at[i]) for i in which[::-1].tolist()}
    return sum(u - float(at[which[0]]) <= HEARD_TOGETHER_S for u in first.values())


def _step(e: Evidence, at: Floats, which: np.ndarray) -> float:
    return float(cut(e, which[at[which] - at[which[0]] <= HEARD_TOGETHER_S]).min() * CUT_SIGMAS)


def _sure(e: Evidence, which: np.ndarray) -> bool:
    """Whether what was heard in a hold that nobody planned outweighs that it lay elsewhere, unheard, and these readings are false.

    What one utterance says in two ways is heard once; one that names no state may be of the count on the run.
    """
    if len(which) == 1 and e.kind[which[0]] != HOLD_CALL and e.says[which[0]] != HOLDING:
        return False
    heard: dict[int, float] = {}
    for i in which[e.kind[which] != STEP].tolist():
        heard[int(e.utterance[i])] = max(heard.get(int(e.utterance[i]), 0.0), float(e.weight[i]))
    return sum(heard.values()) >= LEAST_HEARD


def _as_planned(z: float, sigma: float, field: Field, off: float) -> tuple[float, float]:
    """A projected T-0 that poor marks leave within reach of the schedule's is the schedule's: holds end when planned. off: what the finest
    stamps of all cut off. Poor are marks that scatter, not those of a log that is all off by as much."""
    planned = -field.remaining(np.append(field.builtin_t - 2 * NEAR_S, 0.0))
    nearest = float(planned[np.abs(planned - z).argmin()])
    if abs(nearest - z) <= 2 * sigma:
        return nearest, float(np.hypot(ON_PLAN_SIGMA_S, off))
    return z, sigma


def _read(e: Evidence, at: Floats, groups: list[tuple[int, int, list[int]]], field: Field,
          lines: Sequence[float]) -> list[tuple[float, float, int]]:
    """Reading, sigma and number of marks of each stretch. One without marks is where its candidate is."""
    grid = np.concatenate([field.z, field.t])
    found: list[tuple[float, float, int]] = []
    told: dict[int, Readings] = {}
    for k, (state, _, items) in enumerate(groups):
        which = np.array(items)
        marks = which[e.kind[which] == MARK]
        found.append((float(grid[state]), float(np.median(e.sigma[which])), len(marks)))
        if len(marks):
            counting = state < len(field.z)
            value, sigma = (at[marks] - e.t[marks], e.sigma[marks]) if counting else (e.t[marks], e.read[marks])
            told[k] = Readings(value, sigma, e.source[marks], float(grid[state]), np.where(e.origin[marks] == AMID, 0.0, cut(e, marks)) if counting else 0.0)
    for counting in (True, False):  # a log may say the count in a hold more surely than on the run
        mine = [k for k in told if (groups[k][0] < len(field.z)) == counting]
        for k, (middle, off) in zip(mine, sure([told[k] for k in mine], lines if counting else ()), strict=True):
            found[k] = (middle, off, found[k][2])
    return found
