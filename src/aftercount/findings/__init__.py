"""Findings: what differs from the plan, from the matches and the clock."""

from aftercount.findings.judging import Findings, judge

__all__ = ["Findings", "judge"]
