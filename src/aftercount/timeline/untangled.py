"""In which order do entries that are stamped coarsely come among others? As the count has them.

A keeper who writes hours and minutes tells of a hold at T-13:22 in the same minute in which a sequencer wrote T-14:00; which came first their stamps cannot
tell, but what they read can. Such an entry is put just behind the last finer reading near it of an earlier count, or just before the first of a later one,
within what its own stamp may be off by. Seconds after the scheduled T-0; count times in seconds. It does not say when the entry happened: only in what order
the path takes it.
"""

from __future__ import annotations

import numpy as np

from aftercount.timeline.evidence import AMID, COARSE_S, CUT_SIGMAS, MARK_WEIGHT, Evidence
from aftercount.timeline.model import HOLD_CALL, MARK, Floats

SAME_T_S = 2.0  # readings of people are good to that
NEXT_S = 1e-3  # behind, as nothing else is


def untangled(evidence: Evidence, u: Floats, stamp: Floats) -> Floats:
    """The wall times u with those of coarse entries moved into the count's order. stamp: of each item, the sigma of its entry's own time."""
    coarse = stamp >= COARSE_S
    fine = ~coarse & (evidence.kind == MARK) & (evidence.origin != AMID) & (evidence.weight >= MARK_WEIGHT["likely"])
    if not coarse.any() or not fine.any():
        return u
    order = np.flatnonzero(fine)[np.argsort(u[fine], kind="stable")]
    at, t = u[order], evidence.t[order]
    out = u.copy()
    told = coarse & np.isin(evidence.kind, (MARK, HOLD_CALL)) & np.isfinite(evidence.t)
    for i in np.flatnonzero(told):
        reach = CUT_SIGMAS * stamp[i]
        near = slice(*np.searchsorted(at, [u[i] - reach, u[i] + reach]))
        before, after = at[near][t[near] < evidence.t[i] - SAME_T_S], at[near][t[near] > evidence.t[i] + SAME_T_S]
        low, high = before.max(initial=-np.inf), after.min(initial=np.inf)
        if low < high and not low < u[i] < high:
            out[evidence.utterance == evidence.utterance[i]] = low + NEXT_S if u[i] <= low else high - NEXT_S
    return out
