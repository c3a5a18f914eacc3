"""What changed since an earlier count of the same procedure: better, worse, and by how much.

Steps are joined by id; where a step was due in several passes its last one counts. Reads an earlier review folder.
It does not test whether a change is more than chance: one pair of counts cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.load import load_review
from aftercount.report.marks import sign_of

_WORTH_S = 5.0  # a change of a deviation smaller than this is not told


@dataclass(frozen=True)
class Change:
    step: str
    action: str
    before: str
    now: str
    better: bool


@dataclass(frozen=True)
class Comparison:
    name: str
    sentences: tuple[str, ...]
    changes: tuple[Change, ...]


def compare(data: ReviewData, baseline: Path) -> Comparison:
    """Raises InputError when `baseline` is no review folder."""
    earlier = load_review(baseline)
    then, now = _last_pass(earlier), _last_pass(data)
    shared = [s for s in now if s in then]
    changes = [c for s in shared if (c := _change(then[s], now[s])) is not None]
    name = str(earlier.summary.get("title") or earlier.summary.get("count"))
    better = sum(c.better for c in changes)
    sentences = [f"Compared with {name}: {wording.counted(better, 'step')} better, {wording.counted(len(changes) - better, 'step')} worse, of {len(shared)} in both."]
    sizes = [_sizes(then, shared), _sizes(now, shared)]
    if all(sizes):
        before, after = (median(s) for s in sizes)
        sentences.append(f"The median deviation, either way, went from {before:.1f} s to {after:.1f} s.")
    return Comparison(name, tuple(sentences), tuple(sorted(changes, key=lambda c: c.better)))


def _last_pass(data: ReviewData) -> dict[str, dict[str, Any]]:
    return {s["step"]: s for s in sorted(rows(data.steps), key=lambda s: s["pass"])}


def _sizes(steps: dict[str, dict[str, Any]], ids: list[str]) -> list[float]:
    return [abs(steps[i]["deviation_s"]) for i in ids if steps[i]["deviation_s"] is not None]


def _change(before: dict[str, Any], now: dict[str, Any]) -> Change | None:
    was, is_ = sign_of(before), sign_of(now)
    if {"not_reached", "untimed"} & {was, is_} or was == is_ == "on_time":
        return None
    a, b = before["deviation_s"], now["deviation_s"]
    if was == is_ and (a is None or b is None or abs(abs(b) - abs(a)) < _WORTH_S):
        return None
    better = abs(b) < abs(a) if was == is_ and a is not None and b is not None else _rank(is_) < _rank(was)
    return Change(now["step"], now["action"], _words(was, a), _words(is_, b), better)


def _rank(sign: str) -> int:
    return {"on_time": 0, "untimed": 0, "skipped": 1, "early": 2, "late": 2, "missed": 3}[sign]


def _words(sign: str, off: float | None) -> str:
    return sign.replace("_", " ") + ("" if off is None else f" ({wording.deviation(off)})")
