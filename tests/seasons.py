"""Simulated seasons as review tables, with what is true of each step known. Nothing here is shared with what it tests."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from aftercount.campaign.gather import CountData


@dataclass
class SeasonSpec:
    """slopes and slips: by place of the step; a slip is (first rehearsal from 0, seconds).

    outlier_rate: share of values that are late by up to minutes. learning: how much later than its level a step is at most
    in the first rehearsal, falling off as a power of the rehearsal. whole_seconds: as a log kept to the second gives them.
    """

    counts: int = 12
    steps: int = 40
    slopes: dict[int, float] = field(default_factory=dict)
    slips: dict[int, tuple[int, float]] = field(default_factory=dict)
    miss_rate: float = 0.01
    outlier_rate: float = 0.0
    sigma: tuple[float, float] = (1.0, 5.0)
    learning: float = 0.0
    whole_seconds: bool = False


def season(seed: int, spec: SeasonSpec) -> list[CountData]:
    rng = np.random.default_rng(seed)
    sigma = rng.uniform(*spec.sigma, size=spec.steps)
    level = rng.normal(0, 5, size=spec.steps)
    learnt = rng.uniform(0, spec.learning, size=spec.steps) if spec.learning else np.zeros(spec.steps)
    out = []
    for number in range(spec.counts):
        value = level + sigma * rng.normal(size=spec.steps)
        value += np.where(rng.random(spec.steps) < spec.outlier_rate, rng.exponential(40, spec.steps), 0.0)
        for i, slope in spec.slopes.items():
            value[i] += slope * number
        for i, (first, size) in spec.slips.items():
            value[i] += size * (number >= first)
        value += learnt * (number + 1.0) ** -0.7
        if spec.whole_seconds:
            value = np.round(value)
        missed = rng.random(spec.steps) < spec.miss_rate
        out.append(count(number, value, missed, rng))
    return out


def count(number: int, value: np.ndarray, missed: np.ndarray, rng: np.random.Generator) -> CountData:
    n = len(value)
    hold = float(rng.choice([0, 0, 60, 180, 420])) * float(rng.uniform(0.7, 1.4))
    steps = pd.DataFrame({
        "step": [f"{i // 10 + 1}.{i % 10 + 1}" for i in range(n)], "pass": 1, "phase": [f"phase {i // 10 + 1}" for i in range(n)],
        "action": [f"open valve number {i} of line {i % 7}" for i in range(n)], "by": [("PROP", "GND", "AVN")[i % 3] for i in range(n)],
        "planned_t_s": -3600.0 + 60 * np.arange(n), "status": np.where(missed, "missed", "done"),
        "timing": pd.Series(np.where(missed, None, np.where(value > 10, "late", np.where(value < -10, "early", "on_time")))),
        "deviation_s": np.where(missed, np.nan, value), "deviation_sigma_s": 0.6, "out_of_order": rng.random(n) < 0.01,
        "response_s": rng.gamma(4, 2, size=n), "response": np.where(rng.random(n) < 0.02, "none", "answered"), "must": True,
        "early_s": 10.0, "late_s": 10.0,
    })
    summary = {"count": f"heron-7-r{number + 1:02d}", "kind": "rehearsal", "outcome": "liftoff", "delay_s": hold, "unplanned_hold_s": hold,
               "built_in_hold_s": 600.0, "t0_scheduled": f"2031-{number % 12 + 1:02d}-{number // 12 % 28 + 1:02d}T14:30:00Z"}
    holds = pd.DataFrame({"kind": ["unplanned"] if hold else [], "duration_s": [hold] if hold else [], "excess_s": [hold] if hold else [],
                          "reason": ["ground supply pressure"] if hold else []})
    return CountData(f"r{number}", summary, steps, holds)
