"""How a machine's log that tells no count lies beside the talk: a deed comes after the order for it and before it is reported.

Each step that the machine recorded and people spoke of allows the machine's clock a range of shifts; what is thought of the shift is the product of
them, each bounded, since some are of other deeds. Seconds; a shift is added to the log's wall time. It does not find the steps: the match has.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd

from aftercount.timeline.evidence import Spoken
from aftercount.timeline.model import Floats
from aftercount.timeline.sourcetime import UNCHECKED_SIGMA_S, SourceTime

EDGE_S = 2.0  # a cue begins early, a keeper stamps late
COMMON_S = 1.5  # people of one team are late, and their deeds recorded late, alike
LONGEST_S = 60.0  # where only one side was heard: a deed comes no longer after its order, or before its report
OTHER_DEED = 0.1  # share of the ranges that are of other deeds
REACH_S = 300.0  # from the range's ends that most agree with, how far a shift is looked for
STEP_S = 0.1
ENOUGH_RANGES = 3
HONEST_SHARE = 0.9  # of the logs that tell UTC, those that are off by no more than some UNCHECKED_SIGMA_S


class Shift(NamedTuple):
    """By how much a log's wall time is to be moved, and how sure that is; moved none with fewer than ENOUGH_RANGES."""

    mean: float
    sigma: float


def ranges(matches: pd.DataFrame, said: Spoken, times: list[SourceTime], s: int) -> Floats:
    """ranges x (least, most) shift of log s that each of its records of a step allows, one infinite where only the order or only the report was heard.
    matches: those taken for the steps, MATCHES with utterance ids."""
    event = matches["event"].to_numpy(dtype=np.int64)
    of = said.source[event]
    u = np.array([float(times[k].to_u(said.own[[e]], np.array([e]))[0]) for e, k in zip(event.tolist(), of.tolist(), strict=True)])
    table = matches.assign(u=u, ours=of == s, human=[said.medium[k] != "machine" for k in of.tolist()])
    table = table[np.isfinite(u)]
    out = []
    for _, step in table.groupby(["step", "pass"], sort=True):
        deed = step.loc[step["ours"], "u"]
        called, told = (step.loc[step["human"] & step["part"].isin(parts), "u"] for parts in (("call",), ("report",)))
        if len(deed) == 1 and len(called) + len(told):
            out.append((called.min() - deed.iloc[0] if len(called) else -np.inf, told.min() - deed.iloc[0] if len(told) else np.inf))
    return np.array([r for r in out if r[0] <= r[1]], dtype=float).reshape(-1, 2)


def shift(allowed: Floats) -> Shift:
    """What is thought of the shift. allowed: `ranges`."""
    if len(allowed) < ENOUGH_RANGES:
        return Shift(0.0, UNCHECKED_SIGMA_S)
    ends = np.concatenate([[0.0], allowed[np.isfinite(allowed)]])
    best = ends[np.argmax(_log_odds(ends, allowed))]
    at = np.arange(best - REACH_S, best + REACH_S + STEP_S, STEP_S)
    weight = _log_odds(at, allowed)
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    mean = float(at @ weight)
    return Shift(mean, float(((at - mean) ** 2 @ weight + COMMON_S**2) ** 0.5))


def _log_odds(at: Floats, allowed: Floats) -> Floats:
    honest = np.exp(-((at / UNCHECKED_SIGMA_S) ** 2) / 2) / UNCHECKED_SIGMA_S
    out = np.log(HONEST_SHARE * honest + (1 - HONEST_SHARE) / (2 * REACH_S))
    for least, most in allowed.tolist():
        out = out + np.log((1 - OTHER_DEED) * _density(at, least, most) + OTHER_DEED / (2 * REACH_S))
    return np.asarray(out)


def _density(at: Floats, least: float, most: float) -> Floats:
    """Of a shift that one deed allows: anywhere between order and report, its ends as sharp as the stamps are."""
    least, most = least if np.isfinite(least) else most - LONGEST_S, most if np.isfinite(most) else least + LONGEST_S
    return np.asarray(_risen((at - least) / EDGE_S) * _risen((most - at) / EDGE_S) / max(most - least, EDGE_S))


def _risen(x: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(1.7 * x, -50.0, 50.0))))
