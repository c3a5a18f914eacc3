"""How right was a review? Its tables against the truth a simulated count was written from.

    score(tables, truth) -> figures        tally_of(tables, truth) -> Tally, to be pooled over many counts

Conventions: rates 0..1, more is better (except calibration error and false flags); errors absolute, in seconds; a figure
with nothing behind it is null. It does not run the review.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from aftercount.findings.score_clock import score_clock
from aftercount.findings.score_steps import score_steps
from aftercount.findings.tally import Tally, calibration_error, percentile, precision_recall, rate, ratio

RATES = (
    "status", "match", "evidence", "timing", "response", "times_seen", "clock_covered", "clock_pass",
    "clock_within_1_sigma", "clock_within_95", "deviation_within_1_sigma", "deviation_within_95", "offset_within_95",
    "event_within_1_sigma", "event_within_95", "bracket", "hold_kind", "poll_missing",
)
QUESTIONS = (
    "out_of_order", "order_tellable", "after", "unanswered", "late_answer", "readback", "poll_answer", "off_time", "hold_called", "hold_silent",
)
ERRORS = (
    "clock_error_s", "clock_error_outside_brackets_s", "event_time_error_s", "deviation_error_s", "response_error_s",
    "hold_called_duration_error_s", "hold_silent_duration_error_s", "offset_error_s", "drift_error_ppm",
)
PERCENTS = (50, 95, 100)


def tally_of(tables: Mapping[str, pd.DataFrame], truth: dict[str, Any], outcome: str | None = None) -> Tally:
    """Everything counted of one review; `outcome` as its summary has it."""
    tally = Tally()
    score_steps(dict(tables), truth, tally)
    score_clock(dict(tables), truth, tally)
    if outcome is not None:
        tally.hit("outcome", outcome == truth["outcome"])
    return tally


def figures(tally: Tally) -> dict[str, Any]:
    """The figures a tally comes to."""
    counts = tally.counts
    out: dict[str, Any] = {f"{name}_rate": rate(tally, name) for name in ("outcome", *RATES)}
    for name in QUESTIONS:
        out |= precision_recall(tally, name)
    for name in ERRORS:
        out |= {f"{name}_p{p}": percentile(tally.samples.get(name, []), p) for p in PERCENTS}
    out |= {
        "steps": counts["status_total"],
        "status_wrong": counts["status_total"] - counts["status_right"],
        "false_flag_rate": ratio(counts["nominal_flagged"], counts["nominal"]),
        "calibration_error": calibration_error(tally.sureness),
        "review_share": ratio(counts["review"], counts["steps"]),
        "review_recall_of_wrong": ratio(counts["wrong_in_review"], counts["wrong"]),
        "confusion": {k: counts[k] for k in sorted(counts) if ":" in k and counts[k]},
    }
    return out


def score(tables: Mapping[str, pd.DataFrame], truth: dict[str, Any], outcome: str | None = None) -> dict[str, Any]:
    """The accuracy figures of one review. tables: by name, as in a review folder. truth: the simulator's record."""
    return figures(tally_of(tables, truth, outcome))
