"""What a review comes to, in one dictionary: the figures of summary.json, each recomputed from the tables alone.

Durations in seconds, instants RFC 3339. `delay_s` is actual minus scheduled T-0 and null unless there was a lift-off.
`built_in_hold_s` and `unplanned_hold_s` are the times spent in holds of each kind; a built-in hold's extension stays
with its hold (`holds.excess_s` tells it apart). `slips` are what moved T-0 and add up to `delay_s` exactly. It does not decide anything a table has not decided.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from aftercount.count import CountFolder
from aftercount.counttime import format_utc
from aftercount.timeline.slips import Slip
from aftercount.timeline.sourcetime import FAR_OFF_S, ZONE_STEP_S, by_zone

CAUTION = (
    "This is a review of a count that is over. It does not advise a running count, and it decides nothing: the range's "
    "rules and the licensed, responsible people do."
)
SAY_UTC = ("utc", "local")  # logs of these times are off only if something is wrong with their clock or with what was said of it


def summarise(tables: Mapping[str, pd.DataFrame], count: CountFolder, ending: Mapping[str, Any]) -> dict[str, Any]:
    """The summary of one review.

    tables: by name, conforming to `aftercount.tables`. ending: `outcome`, `outcome_us` (POSIX us or None), `utc_known` and `slips`.
    """
    holds = tables["holds"]
    lift_off = ending["outcome"] == "liftoff" and ending["outcome_us"] is not None
    t0_actual = int(ending["outcome_us"]) if lift_off else None
    return {
        "count": count.id,
        "title": count.title,
        "kind": count.kind,
        "outcome": ending["outcome"],
        "outcome_utc": None if ending["outcome_us"] is None else format_utc(int(ending["outcome_us"])),
        "t0_scheduled": format_utc(count.t0_us),
        "t0_actual": None if t0_actual is None else format_utc(t0_actual),
        "delay_s": None if t0_actual is None else round((t0_actual - count.t0_us) / 1e6, 3),
        "slips": _slips(ending["slips"], t0_actual, count),
        "built_in_hold_s": _held(holds, "built_in"),
        "unplanned_hold_s": _held(holds, "unplanned"),
        "recycles": int(holds["recycled_to_t_s"].notna().sum()),
        "passes": int(tables["clock"]["pass"].max()) if len(tables["clock"]) else 1,
        "window": None if count.window is None else [format_utc(w) for w in count.window],
        "window_left_s": _window_left(count, t0_actual),
        "utc_known": bool(ending["utc_known"]),
        "steps": step_counts(tables["steps"]),
        "entries": int(tables["sources"]["entries"].sum()),
        "rejected": int(tables["sources"]["rejected"].sum()),
        "findings": [_finding(row) for row in tables["findings"].to_dict("records")],
        "cautions": _cautions(tables["sources"], ending["slips"]),
        "caution": CAUTION,
    }


def step_counts(steps: pd.DataFrame) -> dict[str, int]:
    """How many steps fell under each status, timing and flag; `total` counts rows (a step due in two passes is two)."""
    counts = {"total": len(steps)}
    for column, values in (("status", ("done", "missed", "not_reached", "skipped")),
                           ("timing", ("on_time", "early", "late"))):
        seen = steps[column].value_counts()
        counts |= {value: int(seen.get(value, 0)) for value in values}
    counts["out_of_order"] = int(steps["out_of_order"].sum())
    counts["after_violated"] = int(sum(len(v) > 0 for v in steps["violates"]))
    counts["answered_late"] = int((steps["response"] == "late").sum())
    counts["unanswered"] = int((steps["response"] == "none").sum())
    counts["repeated"] = int((steps["times_seen"] > 1).sum())
    counts["review"] = int(steps["review"].sum())
    counts["decided"] = int(steps["decided"].sum())
    return counts


def _cautions(sources: pd.DataFrame, slips: Sequence[Slip]) -> list[str]:
    """What makes this count's times doubtful: logs that say UTC, or a zone's time, and are off it by more than clocks are."""
    out = []
    for name, time, offset, reference in zip(sources["source"], sources["time"], sources["offset_s"], sources["reference"], strict=True):
        if time in SAY_UTC and not reference and abs(offset) > FAR_OFF_S:
            zone = ", as if its times were another zone's" if by_zone(offset) else ""
            out.append(f"{name} was taken to be {_apart(offset)} {'behind' if offset > 0 else 'ahead of'} the other logs{zone}: check its time and zone in count.toml.")
        late = next((s.seconds for s in slips if s.cause == "began_late"), 0.0)
        if time in SAY_UTC and reference and abs(late) > FAR_OFF_S and by_zone(late):
            out.append(f"By {name} the count began {_apart(late)} {'late' if late > 0 else 'early'}. If it did not, that log's times are another zone's: check its time and zone in count.toml.")
    return out


def _apart(seconds: float) -> str:
    minutes, rest = divmod(round(abs(ZONE_STEP_S * round(seconds / ZONE_STEP_S) if by_zone(seconds) else seconds)), 60)
    parts = [(minutes // 60, "h"), (minutes % 60, "min"), (rest, "s")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n)


def _slips(made: Sequence[Slip], t0_actual: int | None, count: CountFolder) -> list[dict[str, Any]]:
    """What moved T-0, in milliseconds so that they add up to the delay; what rounding leaves goes to the largest."""
    ms = [round(s.seconds * 1000) for s in made]
    if t0_actual is not None and ms:
        largest = max(range(len(ms)), key=lambda k: abs(ms[k]))
        ms[largest] += round((t0_actual - count.t0_us) / 1000) - sum(ms)
    return [{"cause": s.cause, "t_s": s.t_s, "hold": s.hold, "seconds": size / 1000} for s, size in zip(made, ms, strict=True)]


def _held(holds: pd.DataFrame, kind: str) -> float:
    return round(float(holds.loc[holds["kind"] == kind, "duration_s"].sum()), 3)


def _window_left(count: CountFolder, t0_actual: int | None) -> float | None:
    if count.window is None or t0_actual is None:
        return None
    return round((count.window[1] - t0_actual) / 1e6, 3)


def _finding(row: Mapping[Any, Any]) -> dict[str, Any]:
    return {str(key): None if _missing(value) else _plain(value) for key, value in row.items()}


def _missing(value: Any) -> bool:
    return bool(pd.isna(value)) if pd.api.types.is_scalar(value) else False


def _plain(value: Any) -> Any:
    return value.item() if hasattr(value, "item") else value
