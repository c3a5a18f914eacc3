"""Planned times that never hold: what the record says they should be.

A suggestion is made only for a step whose deviations lie off zero beyond doubt (the sign of the median is certain at
95 %, and it is at least LEAST_MOVE_S off), from its last values, none older than a change of its level; tolerances cover
nine in ten of them. It is something to consider, never applied by itself.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

# A plan is written to the second and kept to a few; a smaller move is not worth a change, seconds.
LEAST_MOVE_S = 5.0
# Values from which a sign can be certain at 95 % two-sided: all of six on one side (p = 1/32).
LEAST_VALUES = 6
SIGN_P = 0.05
# Share of the recent values a tolerance should cover, and the step it is rounded up to, seconds.
COVER, ROUND_S = 0.9, 5.0
# Values looked back on: enough to be certain of a sign, few enough to be of the team as it is.
_LOOK_BACK = LEAST_VALUES


def suggest(steps: pd.DataFrame, plan: pd.DataFrame, deviations: np.ndarray, since: np.ndarray) -> pd.DataFrame:
    """The trend rows with suggested times and tolerances filled where the record calls for them.

    since: the first column of each step's present level.
    """
    out = steps.copy()
    planned = plan["planned_t_s"].to_numpy(dtype=float)
    for i, values in enumerate(deviations):
        now = values[since[i]:]
        recent = now[~np.isnan(now)][-_LOOK_BACK:]
        if not _is_off(recent):
            continue
        move = float(np.round(np.median(recent)))
        rest = recent - move
        out.loc[i, "suggested_t_s"] = planned[i] + move
        out.loc[i, "suggested_early_s"] = _tolerance(-rest)
        out.loc[i, "suggested_late_s"] = _tolerance(rest)
    return out


def _is_off(values: np.ndarray) -> bool:
    """Whether the median is off zero by enough, and for certain (sign test)."""
    from scipy.stats import binomtest

    if len(values) < LEAST_VALUES or abs(float(np.median(values))) < LEAST_MOVE_S:
        return False
    above, below = int((values > 0).sum()), int((values < 0).sum())
    return above + below > 0 and float(binomtest(above, above + below).pvalue) < SIGN_P


def _tolerance(excess: np.ndarray) -> float:
    return max(ROUND_S, float(np.ceil(np.quantile(excess, COVER) / ROUND_S) * ROUND_S))
