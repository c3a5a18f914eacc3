"""How right are the clock, the holds and the time base of a review, against the truth of a simulated count?

Conventions: instants POSIX microseconds UTC. The clock is read at `INSTANTS` evenly spread instants of the true clock;
an instant the rebuilt clock does not cover is counted apart. A hold is found when a hold of the same pass overlaps it (or
begins within `SAME_START_S` of it); each hold is found once. It does not score steps.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd

from aftercount import countclock, tables
from aftercount.counttime import datetime_us
from aftercount.findings.heard import micros, plain
from aftercount.findings.tally import Tally

INSTANTS = 600
SAME_START_S = 15.0
# A hold nobody called can be told from slow talk when it lasts this long (the figure that is asked for).
SILENT_S = 30.0
# The bracket's edges come from marks good to about a second.
BRACKET_SLACK_S = 1.0


def to_us(text: str) -> int:
    return datetime_us(dt.datetime.fromisoformat(text))


def score_clock(made: dict[str, pd.DataFrame], truth: dict[str, Any], tally: Tally) -> None:
    """Add the clock's, holds' and sources' counts and errors to `tally`."""
    _readings(made, truth, tally)
    _holds(made["holds"], truth["holds"], tally)
    _sources(made["sources"], truth.get("sources") or [], tally)
    _event_times(made["events"], truth["lines"], tally)


def true_clock(truth: dict[str, Any]) -> pd.DataFrame:
    return tables.CLOCK.from_rows(
        {"segment": n, "pass": row["pass"], "state": row["state"], "sigma_s": 0.0, "start_t_s": row["start_t_s"],
         "end_t_s": row["end_t_s"], "start_utc": pd.Timestamp(row["start_utc"]), "end_utc": pd.Timestamp(row["end_utc"])}
        for n, row in enumerate(truth["clock"], start=1))


def _readings(made: dict[str, pd.DataFrame], truth: dict[str, Any], tally: Tally) -> None:
    real = true_clock(truth)
    if real.empty or made["clock"].empty:
        return
    first, last = micros(real["start_utc"])[0], micros(real["end_utc"])[-1]
    instants = np.linspace(first or 0, last or 0, INSTANTS + 2)[1:-1].astype(np.int64)
    true_t, _, true_pass, _ = countclock.at(real, instants)
    said_t, _, said_pass, sigma = countclock.at(made["clock"], instants)
    inside = _in_brackets(made["holds"], true_t, true_pass) | _in_brackets(made["holds"], said_t, said_pass)
    for k in range(len(instants)):
        covered = not np.isnan(said_t[k])
        tally.hit("clock_covered", covered)
        if not covered:
            continue
        tally.hit("clock_pass", bool(true_pass[k] == said_pass[k]))
        error = abs(float(said_t[k] - true_t[k]))
        tally.add("clock_error_s", error)
        if not inside[k]:
            tally.add("clock_error_outside_brackets_s", error)
            tally.hit("clock_within_1_sigma", error <= sigma[k])
            tally.hit("clock_within_95", error <= 1.96 * sigma[k])


def _in_brackets(holds: pd.DataFrame, t_s: np.ndarray, passes: np.ndarray) -> np.ndarray:
    """Readings that lie where an inferred hold may be."""
    inside = np.zeros(len(t_s), dtype=bool)
    inferred = holds[holds["basis"] == "inferred"]
    for in_pass, low, high in zip(inferred["pass"], inferred["t_low_s"], inferred["t_high_s"], strict=True):
        inside |= (passes == in_pass) & (t_s >= low) & (t_s <= high)
    return inside


def _holds(said: pd.DataFrame, true: list[dict[str, Any]], tally: Tally) -> None:
    mine = [{str(k): plain(v) for k, v in row.items()} for row in said.to_dict("records")]
    for row, start, end in zip(mine, micros(said["start_utc"]), micros(said["end_utc"]), strict=True):
        row |= {"start": start, "end": end}
    free = list(range(len(mine)))
    for real in sorted(true, key=lambda h: str(h["start_utc"])):
        kind = "called" if real["called"] else "silent"
        if kind == "silent" and (real["duration_s"] or 0.0) < SILENT_S:
            free = [k for k in free if _overlap_s(mine[k], real) is None]
            continue
        found = max((k for k in free if _overlap_s(mine[k], real) is not None),
                    key=lambda k: (_overlap_s(mine[k], real) or 0.0, -k), default=None)
        tally.counts[f"hold_{kind}_tp"] += found is not None
        tally.counts[f"hold_{kind}_fn"] += found is None
        if found is not None:
            free.remove(found)
            _hold_errors(mine[found], real, kind, tally)
    for k in free:
        tally.counts["hold_called_fp" if mine[k]["basis"] == "called" else "hold_silent_fp"] += 1


def _overlap_s(mine: dict[str, Any], real: dict[str, Any]) -> float | None:
    """Seconds in common, 0 when they only begin together, None when they are two holds. An inferred hold may lie anywhere in its bracket."""
    if mine["pass"] != real["pass"]:
        return None
    forever = 2**62
    start, end = to_us(real["start_utc"]), to_us(real["end_utc"]) if real.get("end_utc") else forever
    sooner, later = (0.0, 0.0) if mine["t_low_s"] is None or mine["t_high_s"] is None else (
        mine["t_s"] - mine["t_low_s"], mine["t_high_s"] - mine["t_s"])
    common = (min(end, (mine["end"] or forever) + round(later * 1e6)) - max(start, mine["start"] - round(sooner * 1e6))) / 1e6
    if common > 0:
        return common
    return 0.0 if abs(mine["start"] - start) / 1e6 <= SAME_START_S else None


def _hold_errors(mine: dict[str, Any], real: dict[str, Any], kind: str, tally: Tally) -> None:
    if mine["duration_s"] is not None and real.get("duration_s") is not None:
        tally.add(f"hold_{kind}_duration_error_s", abs(mine["duration_s"] - float(real["duration_s"])))
    tally.hit("hold_kind", mine["kind"] == real["kind"])
    if kind == "silent" and mine["t_low_s"] is not None and mine["t_high_s"] is not None:
        low, high = mine["t_low_s"] - BRACKET_SLACK_S, mine["t_high_s"] + BRACKET_SLACK_S
        tally.hit("bracket", low <= float(real["t_s"]) <= high)


def _sources(said: pd.DataFrame, true: list[dict[str, Any]], tally: Tally) -> None:
    mine = {str(r["source"]): {k: plain(v) for k, v in r.items()} for r in said.to_dict("records")}
    for real in true:
        row = mine.get(str(real["source"]))
        if row is None or real.get("offset_s") is None or row["reference"]:
            continue
        if row["offset_s"] is None:
            tally.counts["offset_unknown"] += 1
            continue
        error = abs(row["offset_s"] - float(real["offset_s"]))
        tally.add("offset_error_s", error)
        if row["offset_sigma_s"] is not None:
            tally.hit("offset_within_95", error <= 1.96 * row["offset_sigma_s"])
        if real.get("drift_ppm") is not None and row["drift_ppm"] is not None:
            tally.add("drift_error_ppm", abs(row["drift_ppm"] - float(real["drift_ppm"])))


def _event_times(events: pd.DataFrame, lines: list[dict[str, Any]], tally: Tally) -> None:
    """How far each event lies from when it was said (a keeper's own delay in typing included)."""
    at: dict[tuple[str, int], list[tuple[int, float]]] = {}
    rows = zip(events["source"], events["line"].tolist(), micros(events["utc"]), events["utc_sigma_s"].tolist(), strict=True)
    for source, line, us, sigma in rows:
        if us is not None:
            at.setdefault((source, int(line)), []).append((us, float(sigma)))
    for real in lines:
        near = at.get((str(real["source"]), int(real["line"])))
        if near is None or not real.get("utc"):
            continue
        true = to_us(real["utc"])
        us, sigma = min(near, key=lambda n: (abs(n[0] - true), n[0]))
        error = abs(us - true) / 1e6
        tally.add("event_time_error_s", error)
        tally.hit("event_within_1_sigma", error <= sigma)
        tally.hit("event_within_95", error <= 1.96 * sigma)
