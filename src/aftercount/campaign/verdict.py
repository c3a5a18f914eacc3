"""What the gate says of a count: the ways in which it is worse, and what is only unusual."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aftercount.counttime import format_duration

# A baseline of fewer counts is small: only large differences can be told from chance.
SMALL_BASELINE = 6
# From here on a length is written as hours, minutes and seconds.
_LONG_S = 100.0


def duration(seconds: float) -> str:
    """A length of time to read: '14.6 s', or '00:05:20'."""
    return f"{seconds:.1f} s" if seconds < _LONG_S else format_duration(round(seconds))


@dataclass(frozen=True)
class Worse:
    """One way in which the count is worse; `step` is None when the whole count is meant."""

    kind: str
    step: str | None
    value: float
    limit: float
    text: str

    def as_dict(self) -> dict[str, Any]:
        return {"kind": self.kind, "step": self.step, "value": round(self.value, 3), "limit": round(self.limit, 3), "text": self.text}


@dataclass(frozen=True)
class Verdict:
    """worse: what fails the gate; notes: unusual, but within chance."""

    count: str
    baseline: tuple[str, ...]
    worse: tuple[Worse, ...]
    notes: tuple[Worse, ...] = ()

    @property
    def passed(self) -> bool:
        return not self.worse

    @property
    def small(self) -> bool:
        return len(self.baseline) < SMALL_BASELINE

    def as_dict(self) -> dict[str, Any]:
        return {"count": self.count, "baseline": list(self.baseline), "small_baseline": self.small, "passed": self.passed,
                "worse": [w.as_dict() for w in self.worse], "notes": [w.as_dict() for w in self.notes]}

    def sentence(self) -> str:
        """The verdict in one line."""
        n = len(self.baseline)
        small = ", a small one: only large differences can show" if self.small else ""
        return f"{self.count}: {'no worse than' if self.passed else 'worse than'} its baseline of {n} count{'' if n == 1 else 's'}{small}"
