"""How sure is the time of an utterance against the count clock, rather than against UTC?

Conventions: one standard deviation in seconds. When no log tells UTC the reference is laid on the schedule, good to a minute; but the count
clock is laid with it, so that minute says nothing about how far from due a thing was said. It settles no clock.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def against_clock(utterances: pd.DataFrame, utc_sigma_s: NDArray[np.float64], sources: pd.DataFrame) -> NDArray[np.float64]:
    """The sigma of each row of UTTERANCES without what the reference log's offset may be off UTC by; no less than its own log's. sources: SOURCES."""
    frame = sources.loc[sources["reference"].astype(bool), "source"].tolist()
    shared = float(sources.loc[sources["reference"].astype(bool), "offset_sigma_s"].fillna(0.0).sum())
    own = utterances["own_sigma_s"].to_numpy(dtype=float)
    rest = np.maximum(own, np.sqrt(np.maximum(utc_sigma_s**2 - shared**2, 0.0)))
    return np.asarray(np.where(utterances["source"].isin(frame).to_numpy() & (shared > 0.0), rest, utc_sigma_s))
