"""Which steps were due in which pass, and when, by the clock as it ran?

Conventions: one row a step and pass. A step at T is due when the clock first read T in that pass (at a hold's own T:
when the hold began). A step inside a built-in hold is due on the wall clock, `into_hold` after that hold began; if the
hold was cut short, when it ended, since the count may not go on without it; if the hold was not taken, when the clock
passed T. Pass 1 has every step; a later pass those from its first count time on. A step that its pass ended before is
`reached` False, with no due time; one that it ended short of by no more than the clock is good to may have been reached, at
its end: whether it was, the logs tell. A step planned before the clock's first reading is dated by the schedule, moved
by as much as the count was off its schedule at that reading; so is the start of a hold that the clock begins in.
After a lift-off nothing stops the clock: what was planned past the end of the logs fell due though no log tells of it.
With no clock at all every step is in pass 1, reached, at no known time.
It does not decide whether a step was done, nor its deviation.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from aftercount.count.model import CountFolder
from aftercount.countclock import at, from_us, to_us, utc_of
from aftercount.plan.model import Plan
from aftercount.plan.schedule import schedule_utc
from aftercount.tables import DUE

_US = 1_000_000.0
# (T, start, end, resumed) of a hold that was taken; one that lasted to the end of its pass was not resumed.
Span = tuple[float, int, int, bool]
# How far from its planned T a built-in hold may have been taken and still be that hold, seconds.
HOLD_REACH_S = 60.0
# Count times are rebuilt from marks; one that misses a step's T by less than this is the same, seconds.
_SAME_S = 1e-3
# Clocks are good to this many seconds at best where people call the marks.
LEAST_SIGMA_S = 1.0


def due_steps(plan: Plan, count: CountFolder, clock: pd.DataFrame, holds: pd.DataFrame, *, lifted: bool = False) -> pd.DataFrame:
    """The DUE frame: by pass, then in plan order. lifted: whether the last pass ended in a lift-off."""
    steps = plan.steps
    if clock.empty:
        return _rows(plan, count, steps, 1)
    frames: list[pd.DataFrame] = []
    for number in sorted(int(p) for p in clock["pass"].unique()):
        one = clock[clock["pass"] == number].reset_index(drop=True)
        first_t = float(one["start_t_s"].iloc[0])
        due = steps if not frames else steps[steps["t_s"] >= first_t - _SAME_S]
        held = holds[(holds["pass"] == number) & (holds["kind"] == "built_in")]
        frames.append(_pass(_rows(plan, count, due, number), plan, count, (one, held)))
    if lifted:
        _run_on(frames[-1], clock)
    return DUE.conform(pd.concat(frames, ignore_index=True))


def _rows(plan: Plan, count: CountFolder, steps: pd.DataFrame, number: int) -> pd.DataFrame:
    """The steps of one pass with their scheduled times, not yet set against the clock."""
    into = steps["into_hold_s"].to_numpy(dtype=float)
    planned = schedule_utc(plan, count, steps["t_s"].to_numpy(dtype=float)).earliest_us
    planned = planned + np.rint(np.nan_to_num(into) * _US).astype(np.int64)
    return DUE.conform(pd.DataFrame({
        "step": steps["step"].to_numpy(), "pass": number, "row": steps["row"].to_numpy(), "planned_t_s": steps["t_s"].to_numpy(),
        "planned_utc": from_us(planned), "due_utc": pd.Series(pd.NaT, index=range(len(steps)), dtype="datetime64[us, UTC]"),
        "due_sigma_s": 0.0, "reached": True, "in_hold": ~np.isnan(into), "into_hold_s": into,
    }))


def _pass(due: pd.DataFrame, plan: Plan, count: CountFolder, ran: tuple[pd.DataFrame, pd.DataFrame]) -> pd.DataFrame:
    """The rows of one pass with due time and `reached` by the clock of that pass."""
    clock, held = ran
    t_s = due["planned_t_s"].to_numpy(dtype=float)
    first_us, first_t = int(to_us(clock["start_utc"])[0]), float(clock["start_t_s"].iloc[0])
    number = int(clock["pass"].iloc[0])
    crossed = utc_of(clock, _snap(t_s, clock), number)
    us = np.asarray(crossed.fillna(0), dtype=np.int64)
    reached = ~np.asarray(crossed.isna())
    before = ~reached & (t_s < first_t)
    off_us = _off_schedule(plan, count, first_us, first_t)
    into_us = np.rint(due["into_hold_s"].fillna(0).to_numpy(dtype=float) * _US).astype(np.int64)
    us[before] = schedule_utc(plan, count, t_s[before]).earliest_us + into_us[before] + off_us
    reached |= before
    begun = int(schedule_utc(plan, count, first_t).earliest_us[0]) + off_us if number == 1 else first_us
    _hold_steps(due, us, reached, _spans(held, (first_us, begun), int(to_us(clock["end_utc"])[-1])))
    sigma = at(clock, np.clip(us, first_us, int(to_us(clock["end_utc"])[-1])))[3]
    out = due.assign(reached=reached, due_sigma_s=np.where(reached, np.nan_to_num(sigma), 0.0))
    out["due_utc"] = from_us(pd.arrays.IntegerArray(us, ~reached))
    return out


def _run_on(due: pd.DataFrame, clock: pd.DataFrame) -> None:
    """Dates the steps planned past the end of a clock that ran on unseen, in place."""
    last = clock.iloc[-1]
    after = (~due["in_hold"] & (due["planned_t_s"] > last["end_t_s"])).to_numpy()
    us = int(to_us(clock["end_utc"])[-1]) + np.rint((due.loc[after, "planned_t_s"] - last["end_t_s"]) * _US).astype(np.int64)
    due.loc[after, "due_utc"] = from_us(us).to_numpy()
    due.loc[after, "due_sigma_s"] = last["sigma_s"]
    due.loc[after, "reached"] = True


def _snap(t_s: np.ndarray, clock: pd.DataFrame) -> np.ndarray:
    """Count times past the end of the pass by no more than the clock is good to count as its end."""
    last, sigma = float(clock["end_t_s"].iloc[-1]), float(clock["sigma_s"].iloc[-1])
    return np.where((t_s > last) & (t_s <= last + max(LEAST_SIGMA_S, sigma)), last, t_s)


def _off_schedule(plan: Plan, count: CountFolder, first_us: int, first_t: float) -> int:
    """Microseconds by which the count was behind its schedule at the clock's first reading, negative if ahead."""
    planned = schedule_utc(plan, count, first_t)
    return first_us - int(np.clip(first_us, planned.earliest_us[0], planned.latest_us[0]))


def _hold_steps(due: pd.DataFrame, us: np.ndarray, reached: np.ndarray, spans: list[Span]) -> None:
    """Moves the steps inside built-in holds, in place, to wall time since their hold began."""
    t_s, into = due["planned_t_s"].to_numpy(dtype=float), due["into_hold_s"].to_numpy(dtype=float)
    for i in np.flatnonzero(~np.isnan(into)):
        near = min(spans, key=lambda span: abs(span[0] - t_s[i]), default=None)
        if near is None or abs(near[0] - t_s[i]) > HOLD_REACH_S:
            continue  # the hold was not taken: due when the clock passed T
        _, start, end, resumed = near
        wanted = start + round(into[i] * _US)
        us[i] = min(wanted, end) if resumed else wanted
        reached[i] = resumed or wanted <= end


def _spans(held: pd.DataFrame, first: tuple[int, int], pass_end: int) -> list[Span]:
    """The holds of a pass. first: the clock's first reading, and when a hold that was on by then had begun."""
    open_ended = held["end_utc"].isna().to_numpy()
    ends = np.where(open_ended, pass_end, to_us(held["end_utc"]))
    starts = np.where(to_us(held["start_utc"]) == first[0], first[1], to_us(held["start_utc"]))
    return [(float(t), int(a), int(b), bool(b < pass_end)) for t, a, b in zip(held["t_s"], starts, ends, strict=True)]
