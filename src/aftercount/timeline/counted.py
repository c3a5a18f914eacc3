"""When was each entry written of a log that tells only the count?

Its entries stand in order, and the count runs on between them: where the count falls back for good it was recycled, where it
falls back for one entry that entry was late. In a hold the log's time stands still, and its entries are spread over the hold.
Where the clock is known from other logs the entries are placed by it. With no other log they are laid on the schedule: a
planned hold as long as planned, any other hold of unknown length, for which each entry stands for STANDING_S.

Count times and lengths in seconds; instants in seconds after the scheduled T-0; entries in the order of the file.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount.countclock import to_us
from aftercount.timeline import clock as clocks
from aftercount.timeline.evidence import Spoken
from aftercount.timeline.model import BACK_S, NEAR_S, Floats, Ints

STANDING_S = 15.0  # notes in a hold follow one another by some such time; it only keeps their order
LATE_COST, UNREAD_COST, NEXT_COST = 1.0, 1.5, 0.1  # of an entry out of order, or in a pass that never read its count; of going on to a pass
RECYCLE_REACH = 3  # entries after a call to recycle within which the clock is set back
OFF_S = 5.0  # a log's count that was set by hand is off by some seconds
EVEN = 12**-0.5  # standard deviation of an instant that may lie anywhere in a span, as a share of it


Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Placed:
    """Instants of the entries (NaN unknown), and how unsure a hold leaves them."""

    u: Floats
    sigma: Floats


@dataclass(frozen=True)
class Told:
    """Entries of one log in order: their count times, and which call a hold, a resume, a recycle."""

    t: Floats
    hold: Flags
    resume: Flags
    recycle: Flags

    @classmethod
    def of(cls, said: Spoken, which: Ints, calls: pd.DataFrame) -> Told:
        firm = calls[calls["grade"] != "doubtful"]
        flags = [np.isin(which, firm.loc[firm["what"].isin(what), "utterance"])
                 for what in (["hold", "cutoff"], ["resume"], ["recycle"])]
        return cls(said.own[which], *flags)


def laid(said: Spoken, calls: pd.DataFrame, holds: tuple[tuple[float, float], ...]) -> Spoken:
    """Where nothing but the count is told: its logs with the time of the schedule for their own."""
    if "count" not in said.time_kind or {"utc", "elapsed"} & set(said.time_kind):
        return said
    own, counted, spread = said.own.copy(), said.counted.copy(), said.spread.copy()
    for s in (k for k, kind in enumerate(said.time_kind) if kind == "count"):
        mine = np.flatnonzero((said.source == s) & np.isfinite(said.own))
        made = lay(Told.of(said, mine, calls), holds)
        own[mine], counted[mine], spread[mine] = made.u, said.own[mine], made.sigma
    kinds = ["elapsed" if kind == "count" else kind for kind in said.time_kind]
    return replace(said, own=own, counted=counted, spread=spread, time_kind=kinds)


def passes(t: Floats, recycle: Flags) -> Ints:
    """Which pass of the count each entry was made in, from 1; 0 for an entry made late."""
    out = np.ones(len(t), dtype=np.int64)
    now, latest, called = 1, -np.inf, -RECYCLE_REACH
    for i, at in enumerate(t.tolist()):
        if at < latest - BACK_S:
            after = t[i:][t[i:] != at]  # what one entry says in several sentences has one time
            back_at_once = len(after) > 0 and after[0] >= latest - BACK_S
            if back_at_once and i - called > RECYCLE_REACH:
                out[i] = 0
                continue
            now, latest, called = now + 1, at, -RECYCLE_REACH
        called = i if recycle[i] else called
        latest = max(latest, at)
        out[i] = now
    return out


def place(told: Told, clock: pd.DataFrame, t0_us: int) -> Placed:
    """The entries on a clock that is known."""
    t = told.t
    read = [clocks.utc_of(clock, t, number + 1) for number in range(int(clock["pass"].max()))]
    at = np.array([np.where(r.isna(), np.nan, (r.fillna(0).to_numpy(dtype=np.int64) - t0_us) / 1e6) for r in read])
    of = _among(t, np.isfinite(at))
    u, sigma = at[of, np.arange(len(t))], np.zeros(len(t))
    held = clock[clock["state"] == "holding"]
    starts, ends = ((to_us(held[c]) - t0_us) / 1e6 for c in ("start_utc", "end_utc"))
    for number, at_t, start, end in zip(held["pass"], held["start_t_s"], starts, ends, strict=True):
        inside = np.flatnonzero((of + 1 == number) & (np.abs(t - at_t) < NEAR_S))
        _spread(u, sigma, inside, (float(start), float(end)), told)
    return Placed(u, sigma)


def _among(t: Floats, readable: Flags) -> Ints:
    """Which pass, from 0, of those that the clock is known to have, for each entry: the fewest entries late or unreadable."""
    total, came = np.zeros(len(readable)), np.zeros((len(t), len(readable)), dtype=np.int64)
    for i in range(len(t)):
        late = LATE_COST if i and t[i] < t[i - 1] - BACK_S else 0.0
        for number in range(len(readable) - 1, -1, -1):
            before = total[:number + 1] + np.where(np.arange(number + 1) < number, NEXT_COST, late)
            came[i, number] = int(np.argmin(before)) if i else number
            total[number] = before[came[i, number]] + (0.0 if readable[number, i] else UNREAD_COST)
    of = np.zeros(len(t), dtype=np.int64)
    best = int(np.argmin(total))
    for i in range(len(t) - 1, -1, -1):
        of[i], best = best, int(came[i, best])
    return of


def lay(told: Told, holds: tuple[tuple[float, float], ...]) -> Placed:
    """The entries on the schedule. holds: planned count times and lengths."""
    t = told.t
    u, sigma = np.full(len(t), np.nan), np.zeros(len(t))
    of = passes(t, told.recycle)
    z = -sum(length for at, length in holds if len(t) and at >= t[0] - NEAR_S)
    last_u, last_t, pass_ = -np.inf, -np.inf, 1
    for inside in _standing(t, of):
        i = inside[0]
        if of[i] != pass_:
            pass_, z, last_t = int(of[i]), last_u + STANDING_S - t[i], t[i]
        z += sum(length for at, length in holds if last_t + NEAR_S <= at < t[i] - NEAR_S)
        planned = sum(length for at, length in holds if abs(at - t[i]) < NEAR_S and not abs(at - last_t) < NEAR_S)
        length = planned or (STANDING_S * len(inside) if told.hold[inside].any() else 0.0)
        u[inside] = t[inside] + z
        if length:
            _spread(u, sigma, inside, (t[i] + z, t[i] + z + length), told)
        z += length
        last_u, last_t = float(u[inside[-1]]), float(t[inside[-1]])
    late = of == 0
    if late.any() and not late.all():
        order = np.flatnonzero(~late)[np.argsort(t[~late], kind="stable")]
        u[late] = np.interp(t[late], t[order], u[order])
    return Placed(u, sigma)


def _standing(t: Floats, of: Ints) -> list[Ints]:
    """Entries in order, those together that follow one another at one count time; those made late are left out."""
    timely = np.flatnonzero(of > 0)
    moved = (np.diff(t[timely]) >= NEAR_S) | (np.diff(t[timely]) <= -NEAR_S) | (np.diff(of[timely]) != 0)
    return [part for part in np.split(timely, np.flatnonzero(moved) + 1) if len(part)]


def _spread(u: Floats, sigma: Floats, inside: Ints, span: tuple[float, float], told: Told) -> None:
    """Entries over a hold in their order, the first at its beginning unless the hold was called before it, a resume at its end."""
    start, end = span
    if not len(inside):
        return
    ends = len(inside) > 1 and bool(told.resume[inside[-1]])
    begun = int(_called_before(told, int(inside[0])))
    u[inside] = start + (end - start) * (np.arange(len(inside)) + begun) / (len(inside) - ends + begun)
    sigma[inside[1 - begun:len(inside) - ends]] = EVEN * (end - start)


def _called_before(told: Told, first: int) -> bool:
    """Whether the hold at whose count entry `first` is the first was called in an entry before, by a clock that is a little off."""
    calls = np.flatnonzero(told.hold[:first])
    return len(calls) > 0 and abs(told.t[calls[-1]] - told.t[first]) <= OFF_S
