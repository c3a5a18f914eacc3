"""The time base once more, with the steps that were found in several logs.

An entry of one log and an entry of another that are the same part of the same step are of one moment. The logs' clocks are set again
with these beside the count marks, and the count clock is rebuilt on them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from aftercount.timeline.evidence import spoken
from aftercount.timeline.rebuild import rebuild
from aftercount.timeline.result import Timeline

if TYPE_CHECKING:
    from aftercount.count import CountFolder
    from aftercount.plan import Plan
    from aftercount.speech import Speech

SAME_PART_SIGMA_S = 2.0  # one log has the words as they are said, another when they were typed
ENOUGH_SHARED = 3  # fewer say less than the marks already did


def refine(timeline: Timeline, anchors: pd.DataFrame, speech: Speech, count: CountFolder, plan: Plan) -> Timeline:
    """The timeline with the logs' clocks set again.

    anchors: one row an entry: `utterance`, and `moment`, equal for entries of one moment (such as step, pass and part). Logs that share
    fewer than ENOUGH_SHARED moments with another keep their time; with none that share more the timeline is returned as it is.
    """
    said = spoken(speech.utterances, timeline.sources, count.t0_us)
    at = (timeline.utc_us.astype("float64").to_numpy(dtype=float, na_value=np.nan) - count.t0_us) / 1e6
    reference = timeline.sources["reference"].tolist()
    shared: dict[int, list[tuple[int, float, float, float]]] = {}
    for _, group in anchors.groupby("moment", sort=True):
        entries = [int(u) for u in group["utterance"].tolist() if np.isfinite(said.own[int(u)])]
        for mine in entries:
            others = [k for k in entries if said.source[k] != said.source[mine] and np.isfinite(at[k])]
            best = min(others, key=lambda k: (not reference[said.source[k]], timeline.utc_sigma_s[k], k), default=None)
            if best is not None:
                sigma = float(np.hypot(SAME_PART_SIGMA_S, timeline.utc_sigma_s[best]))
                shared.setdefault(int(said.source[mine]), []).append((mine, float(said.own[mine]), float(at[best]), sigma))
    shared = {s: rows for s, rows in shared.items() if len(rows) >= ENOUGH_SHARED and not reference[s]}
    return rebuild(speech, timeline.sources, count, plan, shared) if shared else timeline
