"""The tables of a trend folder, beside those that a review has.

Conventions as in `aftercount.tables`. `rehearsal` numbers the counts of a season from 1, in order of scheduled T-0.
Columns below a blank line are ours, after the agreed ones.
"""

from __future__ import annotations

import pyarrow as pa

from aftercount.tables import UTC_US, Table

_F, _I, _S, _B = pa.float64(), pa.int64(), pa.string(), pa.bool_()


def _table(name: str, fields: dict[str, pa.DataType]) -> Table:
    return Table(name, pa.schema([pa.field(k.rstrip("!"), v, nullable=not k.endswith("!")) for k, v in fields.items()]))


TREND = _table("trend", {
    "step!": _S, "action!": _S, "by": _S, "phase": _S, "n!": _I, "done!": _I, "missed!": _I, "late!": _I, "early!": _I,
    "out_of_order!": _I, "median_deviation_s": _F, "spread_s": _F, "slope_s": _F, "slope_low_s": _F, "slope_high_s": _F,
    "p": _F, "q": _F, "limit_low_s": _F, "limit_high_s": _F, "suggested_t_s": _F, "suggested_early_s": _F, "suggested_late_s": _F,

    # level and sigma now: what `gate` holds the next count against. course: level | line | learning | step, '' when n is
    # small; learning: what it tends to (null where too flat), the exponent. change: the likeliest new level, change_q over the steps.
    # range_high: the limit of the moving ranges. line: ordinary regression.
    "planned_t_s!": _F, "missed_low!": _F, "missed_high!": _F, "late_low!": _F, "late_high!": _F,
    "line_slope_s": _F, "line_low_s": _F, "line_high_s": _F, "range_high_s": _F,
    "course!": _S, "learnt_to_s": _F, "learning_exponent": _F, "change_count": _S, "change_s": _F, "change_q": _F,
    "level_s": _F, "sigma_s": _F, "small!": _B,
})
SIGNALS = _table("signals", {
    "step!": _S, "count!": _S, "kind!": _S, "value_s": _F, "limit_s": _F, "text!": _S,

    "rehearsal!": _I,
})
HISTORY = _table("history", {
    # one step in one count: the pass that decided it. deviation_s and response_s are null unless seen.
    "rehearsal!": _I, "count!": _S, "step!": _S, "step_there!": _S, "pass!": _I, "status!": _S, "timing": _S, "deviation_s": _F,
    "deviation_sigma_s": _F, "out_of_order!": _B, "response_s": _F, "response": _S, "must!": _B,
})
CONTROL = _table("control", {
    # the charts of each step: its score in each count (standard deviates of its chance given the counts before; null where
    # there were too few, or a gap), and the EWMA and CUSUM of the scores.
    "step!": _S, "rehearsal!": _I, "count!": _S, "deviation_s": _F, "moving_range_s": _F, "score": _F, "ewma!": _F, "cusum_high!": _F,
    "cusum_low!": _F,
})
COUNTS = _table("counts", {
    "rehearsal!": _I, "count!": _S, "kind": _S, "outcome!": _S, "t0_scheduled!": UTC_US, "delay_s": _F, "unplanned_hold_s!": _F,
    "built_in_hold_s!": _F, "steps!": _I, "done!": _I, "missed!": _I, "late!": _I, "early!": _I, "out_of_order!": _I,
    "unanswered!": _I, "median_deviation_s": _F, "median_response_s": _F,
})
GROUPS = _table("groups", {
    # the same over all steps of a station or a phase. shares are of the steps reached.
    "of!": _S, "name!": _S, "steps!": _I, "n!": _I, "done!": _I, "missed!": _I, "missed_low!": _F, "missed_high!": _F,
    "late!": _I, "late_low!": _F, "late_high!": _F, "out_of_order!": _I, "median_deviation_s": _F, "spread_s": _F,
    "slope_s": _F, "slope_low_s": _F, "slope_high_s": _F, "p": _F,
})
HELD = _table("held", {
    # an unplanned hold, or a built-in one that ran over: cost_s is what it cost the count.
    "rehearsal!": _I, "count!": _S, "cause!": _S, "kind!": _S, "cost_s!": _F,
})
HOLD_CAUSES = _table("hold_causes", {
    "cause!": _S, "kind!": _S, "holds!": _I, "counts!": _I, "total_s!": _F, "first_count!": _S, "last_count!": _S,
})
PLAN_CHANGES = _table("plan_changes", {
    # how the steps of an earlier plan were joined to those of the last: joined | added | dropped.
    "count!": _S, "what!": _S, "step": _S, "step_there": _S, "likeness": _F, "text!": _S,
})

TREND_TABLES = (TREND, SIGNALS, CONTROL, HISTORY, COUNTS, GROUPS, HELD, HOLD_CAUSES, PLAN_CHANGES)
