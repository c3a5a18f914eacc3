"""Time, station and kind of an utterance against a step that was due: the signs that are not in the words.

Question answered: how far from due was it said, by and to whom, and in what manner. Conventions: `lateness_s` is utterance minus
due, positive late, on the count clock where it is known (a hold stops it) with a share of the wall time held; station agreement is -1 (another
station), 0 (not known) or 1 (the planned one). It does not weigh them: see `logodds`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from aftercount.match.conflict import poll_end
from aftercount.plan import Plan

US = 1_000_000  # microseconds in a second
HELD_SHARE = 0.15  # of the time held between due and said that counts as lateness: people work on in a hold
PARTS = ("call", "response", "report", "record")
CALL, RESPONSE, REPORT, RECORD = range(4)
PACE_S = 12.0  # a step this far from due is nothing unusual ...
TOLERANCE_SHARE = 0.4  # ... or this share of what the plan allows it, where that is more
POLL_ENDED = 0.4  # likeness to the end of a poll from which a line calls none
WITHDRAWN = "withdrawn"  # kind, within the match, of an order that came to nothing
_ORDERS = {"call": CALL, "response": RESPONSE, "report": REPORT, "poll": CALL}


@dataclass(frozen=True)
class Said:
    """The utterances as arrays. `part` is what each could be of a step; stations are small integers, -1 unknown; `rolled`: whether stations answered one after another
    after it."""

    utc_s: np.ndarray
    t_s: np.ndarray
    pass_: np.ndarray
    sigma_s: np.ndarray
    station: np.ndarray
    to: np.ndarray
    part: np.ndarray
    kind: np.ndarray
    medium: np.ndarray
    source: np.ndarray
    rolled: np.ndarray


@dataclass(frozen=True)
class Planned:
    """The due rows as arrays; `row` is the plan row."""

    row: np.ndarray
    due_s: np.ndarray
    planned_t_s: np.ndarray
    pass_: np.ndarray
    sigma_s: np.ndarray
    reached: np.ndarray
    in_hold: np.ndarray
    by: np.ndarray
    to: np.ndarray
    is_poll: np.ndarray
    must: np.ndarray
    early_s: np.ndarray
    late_s: np.ndarray


def seconds(column: pd.Series) -> np.ndarray:
    """POSIX seconds of a column of microseconds or of timestamps, NaN where null."""
    if isinstance(column.dtype, pd.DatetimeTZDtype):
        whole = column.astype("int64").to_numpy().astype(np.float64) / US
        return np.where(column.isna(), np.nan, whole)
    return column.astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan) / US


def said(utterances: pd.DataFrame, station_id: dict[str, int]) -> Said:
    medium = utterances["medium"].to_numpy(dtype=object)
    kind = utterances["kind"].to_numpy(dtype=object)
    part = np.array([_ORDERS.get(k, REPORT) for k in kind], dtype=np.int64)
    polls = np.flatnonzero(kind == "poll")
    part[polls[poll_end(utterances["text"].iloc[polls].fillna("").tolist()) >= POLL_ENDED]] = REPORT
    part[medium == "machine"] = RECORD
    return Said(
        utc_s=seconds(utterances["utc_us"]),
        t_s=_floats(utterances["t_s"]),
        pass_=utterances["pass"].astype("Int64").to_numpy(dtype=np.int64, na_value=0),
        sigma_s=np.nan_to_num(_floats(utterances["sigma_s"]), nan=0.0, posinf=0.0),
        station=_stations(utterances["station"], station_id),
        to=_stations(utterances["to"], station_id),
        part=part, kind=kind, medium=medium,
        source=pd.factorize(utterances["source"], sort=True)[0],
        rolled=(utterances["roll"].fillna(0) > 0).to_numpy(dtype=bool) & (part != RECORD),
    )


def planned(due: pd.DataFrame, plan: Plan, station_id: dict[str, int]) -> Planned:
    row = due["row"].to_numpy(dtype=np.int64)
    position = {r: i for i, r in enumerate(plan.table["row"].tolist())}
    at = np.array([position[r] for r in row.tolist()], dtype=np.int64)
    table = plan.table.iloc[at]
    return Planned(
        row=at,
        due_s=seconds(due["due_utc"]),
        planned_t_s=_floats(due["planned_t_s"]),
        pass_=due["pass"].to_numpy(dtype=np.int64),
        sigma_s=_floats(due["due_sigma_s"]),
        reached=due["reached"].to_numpy(dtype=bool),
        in_hold=due["in_hold"].to_numpy(dtype=bool),
        by=_stations(table["by"], station_id),
        to=_stations(table["to"], station_id),
        is_poll=(table["kind"] == "poll").to_numpy(),
        must=table["must"].to_numpy(dtype=bool),
        early_s=_floats(table["early_s"]),
        late_s=_floats(table["late_s"]),
    )


def _floats(column: pd.Series) -> np.ndarray:
    return column.astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)


def _stations(column: pd.Series, station_id: dict[str, int]) -> np.ndarray:
    return np.array([station_id.get(str(s).upper(), -2) if isinstance(s, str) and s else -1 for s in column], dtype=np.int64)


def lateness_s(said_: Said, planned_: Planned, u: np.ndarray, d: np.ndarray) -> np.ndarray:
    """Utterance minus due for the pairs (u, d); NaN where neither clock is known."""
    wall = said_.utc_s[u] - planned_.due_s[d]
    counted = (said_.pass_[u] == planned_.pass_[d]) & ~planned_.in_hold[d]
    count = np.where(counted, said_.t_s[u] - planned_.planned_t_s[d], np.nan)
    held = np.where(np.isnan(wall), 0.0, wall - count)
    mixed = count + HELD_SHARE * held
    better = ~np.isnan(mixed) & (np.isnan(wall) | (np.abs(mixed) < np.abs(wall)))
    return np.asarray(np.where(better, mixed, wall))


def allowed_s(planned_: Planned, d: np.ndarray, late: np.ndarray) -> np.ndarray:
    """Seconds that the plan allows each step to be off its time, on the side of `late`."""
    return np.nan_to_num(np.where(late < 0, planned_.early_s[d], planned_.late_s[d]))


def pace_s(planned_: Planned, d: np.ndarray, late: np.ndarray) -> np.ndarray:
    """The distance from due that is nothing unusual for each step, on the side of `late`: the unit in which distance is counted."""
    return np.maximum(PACE_S, TOLERANCE_SHARE * allowed_s(planned_, d, late))


def parts(said_: Said, planned_: Planned, u: np.ndarray, d: np.ndarray) -> np.ndarray:
    """What each pair's utterance can be of its step: who speaks decides before the manner, since orders and reports share their words. Who performs
    the step gives no order for it; what who calls for it says to the other, or writes down in no manner, is the order."""
    part, kind = said_.part[u], said_.kind[u]
    by, to = planned_.by[d], planned_.to[d]
    two = (by >= 0) & (to >= 0) & (by != to) & (part != RECORD) & ~planned_.is_poll[d]
    told = two & (said_.station[u] == to) & ((kind == "note") | ((kind == "report") & (said_.to[u] == by)))
    done = two & (said_.station[u] == by) & (part == CALL)
    return np.asarray(np.where(told, CALL, np.where(done, REPORT, part)))


def station_agreement(said_: Said, planned_: Planned, pairs: tuple[np.ndarray, np.ndarray], part: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(speaker, addressee) agreement: a call goes from `to` to `by`, everything else from `by` (back) to `to`. part: of each pair."""
    u, d = pairs
    call = part == CALL
    speaker = _agreement(said_.station[u], np.where(call, planned_.to[d], planned_.by[d]))
    addressee = _agreement(said_.to[u], np.where(call, planned_.by[d], planned_.to[d]))
    return speaker, addressee


def _agreement(heard: np.ndarray, expected: np.ndarray) -> np.ndarray:
    known = (heard != -1) & (expected >= 0)
    return np.where(~known, 0.0, np.where(heard == expected, 1.0, -1.0))
