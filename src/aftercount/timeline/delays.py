"""How late are the entries of a log stamped, on average, after what they tell of?

A person hears, looks up, reads a clock cut to the second, and writes. No log shares an undelayed moment with itself, so the mean delay cannot be
told from its clock's offset by the times alone; but delays are never negative and spread about as wide as they are long, so their spread
tells of their length: `lateness` weighs the laws that they may follow. The answer is the mean of what is then thought of the delay, and how sure
it is; with few entries that is what is thought of people. Seconds. It does not decide what the entries tell of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aftercount.speech.entries import CUE_EDGE_S, MACHINE_SIGMA_S, NOTE_DELAY_S, RESOLUTION_SHARE
from aftercount.timeline.lateness import Residuals, boxed, lateness
from aftercount.timeline.scale import honest

CUES_SHARE = 1 / 3  # of what one cue of a recogniser may start early or late by: what all of them may
COARSE_S = 5.0  # a log whose stamps step by more than this says nothing of seconds


@dataclass(frozen=True)
class Delay:
    """mean: stamps are this late; sigma: how sure that is, beside what the log's line is sure of. whole: what all of them together are off by, were the
    delay taken for none; left: once its mean is taken out. single, stamp: how one entry scatters about the log's line, and its stamp about the instant that
    it tells of. NaN where it is as its words say."""

    mean: float
    sigma: float
    whole: float
    single: float = np.nan
    stamp: float = np.nan
    left: float = np.nan


def resolution(medium: str, sigma: float) -> float:
    """The step of a log's stamps in seconds, from the sigma that its best entry was read with."""
    own = {"machine": MACHINE_SIGMA_S, "typed": NOTE_DELAY_S}.get(medium, CUE_EDGE_S)
    return float(max(sigma**2 - own**2, 0.0) ** 0.5) / RESOLUTION_SHARE


def machine(step: float) -> Delay:
    """A clock shows the last whole step that it reached."""
    cut = step / 12**0.5
    return Delay(-step / 2, cut, float(np.hypot(step / 2, cut)))


def speech(step: float, single: float) -> Delay:
    """single: how its cues scatter (cues)."""
    cut = step / 12**0.5
    sigma = float(np.hypot(cut, CUES_SHARE * single))
    whole = float(np.hypot(step / 2, sigma))
    return Delay(-step / 2, sigma, whole, float(np.hypot(cut, single)), float(np.hypot(whole, single)))


def typed(told: Sequence[Residuals], step: float) -> Delay:
    """What is thought of a person's mean delay, less what the clock cuts off; the sigma is beside the line's own."""
    found = boxed(told, step) if step > COARSE_S else lateness(told, step)
    late, weight = found.whole()
    mean = float(late @ weight)
    sigma, whole = (honest(np.abs(late - at), weight) for at in (mean, 0.0))
    beside = max(sigma**2 - found.error**2, 0.0) ** 0.5 if np.isfinite(found.error) else sigma
    return Delay(mean, beside, whole, found.single(about_mean=True), found.single(about_mean=False), sigma)
