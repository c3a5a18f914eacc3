"""What comes before what, both among the things worth talking about and among what differed.

Conventions: the more serious first (`rank`, 0 the most), then by weight: what ended or stopped the count, then what was not
done, then what was done otherwise. It does not judge how serious a finding is: the findings say.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

SEVERITIES = ("major", "minor", "note")
OUTCOME, HOLD, STORY, MISSED, AUTHORITY, POLL, SILENT, ORDER, LATE, EARLY, EYE, WELL = (
    100.0, 80.0, 72.0, 70.0, 68.0, 65.0, 60.0, 58.0, 50.0, 30.0, 10.0, 5.0)
_OF_KIND = {
    "outcome": OUTCOME, "recycle": HOLD, "missed": MISSED, "authority": AUTHORITY, "no_response": SILENT, "after_violated": ORDER,
    "out_of_order": ORDER, "late": LATE, "early": EARLY, "no_go": POLL,
}
_OF_FAMILY = {"hold": HOLD, "poll": POLL}
_FAULTS = frozenset({"missed", "no_response", "after_violated", "out_of_order", "late", "early"})  # of one step; two kinds are a story
_ONE = {"after_violated": "out_of_order"}  # two names of one fault


def of_kinds(kinds: Iterable[str]) -> float:
    """The weight of findings that belong together."""
    told = set(kinds)
    several = len({_ONE.get(k, k) for k in told & _FAULTS}) > 1
    return max([STORY if several else 0.0, *(_of(k) for k in told)])


def _of(kind: str) -> float:
    return _OF_KIND.get(kind, _OF_FAMILY.get(kind.split("_")[0], EYE))


def rank(findings: Iterable[dict[str, Any]]) -> int:
    """That of the most serious; what no finding tells of is as serious as the middle."""
    return min((SEVERITIES.index(f["severity"]) for f in findings if f["severity"] in SEVERITIES), default=1)
