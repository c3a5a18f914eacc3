"""One thing that differs from the plan: its kind, how serious it is, the words for it, and the evidence.

Conventions: severity is `major` (the count's safety or outcome could rest on it), `minor` (the plan was not kept) or
`note` (worth knowing). It does not decide what is found: the modules beside it do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from aftercount import tables
from aftercount.findings.heard import Utterance

SEVERITIES = ("major", "minor", "note")
# Kinds in the order in which findings on one step are told.
KINDS = (
    "outcome", "recycle", "hold_unplanned", "hold_extended", "hold_cut_short", "hold_not_taken", "hold_not_resumed",
    "authority", "no_go", "poll_missing", "poll_unclear", "poll_changed", "missed", "after_violated", "out_of_order", "late", "early",
    "readback_wrong", "answered_no", "no_response", "response_late", "repeated", "clock_disagrees",
)


@dataclass(frozen=True, slots=True)
class Finding:
    """`place` orders findings in time: plan row for steps, or POSIX us for what has no row."""

    kind: str
    severity: str
    text: str
    step: str | None = None
    in_pass: int | None = None
    deviation_s: float | None = None
    heard: Utterance | None = None
    decided: bool = False
    at_us: int | None = None
    row: int = -1

    @property
    def key(self) -> tuple[int, int, int, int, int, str, str]:
        """Most serious first, then as the count ran."""
        return (SEVERITIES.index(self.severity), self.in_pass or 0, self.at_us if self.at_us is not None else 2**62,
                self.row, KINDS.index(self.kind), self.step or "", self.text)


def table(findings: Iterable[Finding]) -> pd.DataFrame:
    """The FINDINGS table, in a fixed order, numbered from 1."""
    ordered = sorted(findings, key=lambda f: f.key)
    return tables.FINDINGS.from_rows({
        "finding": number, "kind": f.kind, "step": f.step, "pass": f.in_pass, "deviation_s": f.deviation_s,
        "severity": f.severity, "text": f.text, "event": f.heard.event if f.heard else None,
        "source": f.heard.source if f.heard else None, "line": f.heard.line if f.heard else None, "decided": f.decided,
    } for number, f in enumerate(ordered, start=1))
