"""Which words of people about the clock's state were overtaken by a machine's record of it?

A machine stamps a resume when it happens; who then says or types that the count holds at T tells what he saw some seconds before. Such words are not
struck out, they only weigh as little as doubtful ones. Seconds after the scheduled T-0. A hold that is called is no such word: it may be the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from aftercount.timeline.evidence import CALL_SLACK_S, CALL_WEIGHT, MARK_WEIGHT, Evidence
from aftercount.timeline.model import HOLD_CALL, HOLDING, MARK, RESUME_CALL, Floats


def weighed(evidence: Evidence, u: Floats, medium: Sequence[str]) -> Evidence:
    """The evidence at wall times u with overtaken words weighed as doubtful. medium: of each source."""
    machine = np.isin(evidence.source, [s for s, m in enumerate(medium) if m == "machine"])
    resumed = np.sort(u[machine & (evidence.kind == RESUME_CALL) & (evidence.weight >= CALL_WEIGHT["certain"])])
    if not len(resumed):
        return evidence
    since = u - np.append(-np.inf, resumed)[np.searchsorted(resumed, u, side="left")]
    late = ~machine & (evidence.kind == MARK) & (evidence.says == HOLDING) & (since <= CALL_SLACK_S)
    state = ~machine & (evidence.kind == HOLD_CALL) & np.isin(evidence.utterance, evidence.utterance[late])
    least = np.where(late, MARK_WEIGHT["doubtful"], np.where(state, CALL_WEIGHT["doubtful"], np.inf))
    return replace(evidence, weight=np.minimum(evidence.weight, least))
