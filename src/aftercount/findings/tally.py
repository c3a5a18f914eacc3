"""Counts and samples of one score or of many together, and the figures they come to.

Conventions: a rate is null when there is nothing to rate; errors are in seconds (drift in ppm), absolute unless said.
Counts add up over counts and samples join, so a figure over a hundred counts is not a mean of means.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

# Bins of stated confidence for the calibration error.
CONFIDENCE_BINS = 10


@dataclass
class Tally:
    """counts: how many. samples: errors by name. sureness: (stated confidence, was it right) a step."""

    counts: Counter[str] = field(default_factory=Counter)
    samples: dict[str, list[float]] = field(default_factory=dict)
    sureness: list[tuple[float, bool]] = field(default_factory=list)

    def add(self, name: str, value: float) -> None:
        self.samples.setdefault(name, []).append(value)

    def hit(self, name: str, right: bool) -> None:
        """One more of `name`, right or not."""
        self.counts[f"{name}_total"] += 1
        self.counts[f"{name}_right"] += bool(right)

    def flag(self, name: str, true: bool, said: bool) -> None:
        """One more yes-or-no question, for precision and recall."""
        self.counts[f"{name}_tp"] += true and said
        self.counts[f"{name}_fp"] += said and not true
        self.counts[f"{name}_fn"] += true and not said


def pool(tallies: Iterable[Tally]) -> Tally:
    """All of them as one."""
    whole = Tally()
    for tally in tallies:
        whole.counts.update(tally.counts)
        for name, values in tally.samples.items():
            whole.samples.setdefault(name, []).extend(values)
        whole.sureness.extend(tally.sureness)
    return whole


def ratio(part: float, whole: float) -> float | None:
    return part / whole if whole else None


def precision_recall(tally: Tally, name: str) -> dict[str, float | None]:
    tp, fp, fn = (tally.counts[f"{name}_{k}"] for k in ("tp", "fp", "fn"))
    return {
        f"{name}_precision": ratio(tp, tp + fp), f"{name}_recall": ratio(tp, tp + fn),
        f"{name}_f1": ratio(2 * tp, 2 * tp + fp + fn),
    }


def rate(tally: Tally, name: str) -> float | None:
    return ratio(tally.counts[f"{name}_right"], tally.counts[f"{name}_total"])


def percentile(values: list[float], percent: float) -> float | None:
    """By linear interpolation between order statistics."""
    if not values:
        return None
    ordered = sorted(values)
    at = (len(ordered) - 1) * percent / 100.0
    low = int(at)
    high = min(low + 1, len(ordered) - 1)
    if ordered[low] == ordered[high]:  # also keeps two infinities from making a NaN
        return ordered[low]
    return ordered[low] + (ordered[high] - ordered[low]) * (at - low)


def calibration_error(sureness: list[tuple[float, bool]], bins: int = CONFIDENCE_BINS) -> float | None:
    """Mean gap between stated confidence and how often it was right, over equal bins, weighted by their size."""
    if not sureness:
        return None
    filled: dict[int, list[tuple[float, bool]]] = {}
    for stated, right in sureness:
        filled.setdefault(min(bins - 1, int(stated * bins)), []).append((stated, right))
    gaps = (abs(sum(s for s, _ in b) - sum(r for _, r in b)) for b in filled.values())
    return sum(gaps) / len(sureness)
