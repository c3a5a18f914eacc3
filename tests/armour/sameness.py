"""What must be the same in two reviews of one count, told in words so that a difference can be read.

Conventions: only count times and durations are compared, never wall times, so that a count may be moved as a whole.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

import aftercount as ac

# How far figures may move where nothing but the writing changed: what rounding in the fits leaves, seconds and probability.
SAME_S, SAME_CONFIDENCE = 0.01, 0.001
_JUDGED = ("status", "timing", "out_of_order", "violates", "response", "decided")


def steps(review: ac.Review) -> dict[tuple[str, int], dict[str, Any]]:
    """What was judged of each step and pass."""
    out = {}
    for row in review.steps.to_dict("records"):
        kept = {name: row[name] for name in (*_JUDGED, "deviation_s", "confidence", "actual_t_s")}
        out[(row["step"], int(row["pass"]))] = {k: v if isinstance(v, list) or pd.notna(v) else None for k, v in kept.items()}
    return out


def holds(review: ac.Review) -> list[dict[str, Any]]:
    names = ["pass", "t_s", "duration_s", "planned_s", "kind", "basis", "recycled_to_t_s"]
    frame = review.holds[names].astype(object)
    return frame.where(review.holds[names].notna(), None).to_dict("records")


def findings(review: ac.Review, without: tuple[str, ...] = ()) -> list[tuple[Any, ...]]:
    rows = review.findings
    rows = rows[~rows["kind"].isin(without)]
    return sorted((r["kind"], r["step"] if pd.notna(r["step"]) else "", int(r["pass"]) if pd.notna(r["pass"]) else 0)
                  for r in rows.to_dict("records"))


def differences(before: ac.Review, after: ac.Review, *, within_s: float = SAME_S,
                confidence: float = SAME_CONFIDENCE, without: tuple[str, ...] = ()) -> list[str]:
    """Every judgement that is not what it was, one line each. without: columns, and kinds of finding, that are not compared."""
    out = []
    if before.summary["outcome"] != after.summary["outcome"]:
        out.append(f"outcome {before.summary['outcome']} -> {after.summary['outcome']}")
    old, new = steps(before), steps(after)
    if old.keys() != new.keys():
        out.append(f"steps due: {sorted(old.keys() ^ new.keys())}")
    for key in old.keys() & new.keys():
        out += [f"step {key}: {name} {a!r} -> {b!r}" for name, a, b in _unlike(old[key], new[key], within_s, confidence) if name not in without]
    ours, theirs = holds(before), holds(after)
    if len(ours) != len(theirs):
        out.append(f"holds: {[h['t_s'] for h in ours]} -> {[h['t_s'] for h in theirs]}")
    for a, b in zip(ours, theirs, strict=False):
        out += [f"hold at {a['t_s']}: {name} {x!r} -> {y!r}" for name, x, y in _unlike(a, b, within_s, confidence)]
    gone, come = set(findings(before, without)) - set(findings(after, without)), set(findings(after, without)) - set(findings(before, without))
    return out + [f"finding gone: {f}" for f in sorted(gone)] + [f"finding new: {f}" for f in sorted(come)]


def _unlike(a: dict[str, Any], b: dict[str, Any], within_s: float, confidence: float) -> list[tuple[str, Any, Any]]:
    out = []
    for name, x in a.items():
        y = b[name]
        if isinstance(x, float) and isinstance(y, float):
            if abs(x - y) > (confidence if name == "confidence" else within_s):
                out.append((name, x, y))
        elif x != y:
            out.append((name, x, y))
    return out
