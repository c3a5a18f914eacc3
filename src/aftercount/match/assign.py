"""One assignment over the whole count: which utterance is which part of which step, on which log.

Question answered: the choice of pairs with the greatest total gain in which an utterance is at most one step's, and a slot
(a part of a step due on one log, the first time or again) has at most one utterance. 'Not seen' and 'no step' are the choices of gain 0, so no pair of negative
gain is ever chosen. The optimum is exact. It does not decide which chosen moments are one: see `moments`.
"""

from __future__ import annotations

import numpy as np


def assign(row: np.ndarray, slot: np.ndarray, gain: np.ndarray) -> np.ndarray:
    """Boolean: which of the pairs (row, slot) of this gain are chosen. Duplicated pairs: the best one, the first if equal."""
    from scipy.sparse import csr_matrix
    from scipy.sparse.csgraph import connected_components

    chosen = np.zeros(len(row), dtype=bool)
    use = np.flatnonzero(gain > 0)
    if not len(use):
        return chosen
    rows, r = np.unique(row[use], return_inverse=True)
    slots, s = np.unique(slot[use], return_inverse=True)
    total = len(rows) + len(slots)
    graph = csr_matrix((np.ones(len(use)), (r, s + len(rows))), shape=(total, total))
    _, label = connected_components(graph, directed=False)
    part = label[r]
    order = np.argsort(part, kind="stable")
    cuts = np.flatnonzero(np.diff(part[order])) + 1
    for members in np.split(order, cuts):
        chosen[use[_best(members, r, s, gain[use])]] = True
    return chosen


def _best(members: np.ndarray, r: np.ndarray, s: np.ndarray, gain: np.ndarray) -> np.ndarray:
    """The best matching of one connected component; members are indices of pairs."""
    from scipy.optimize import linear_sum_assignment

    if len(members) == 1:
        return members
    rows, i = np.unique(r[members], return_inverse=True)
    slots, j = np.unique(s[members], return_inverse=True)
    table = np.zeros((len(rows), len(slots)))
    pair = np.full(table.shape, -1, dtype=np.int64)
    for at in np.lexsort((-members, gain[members])).tolist():
        table[i[at], j[at]] = gain[members[at]]
        pair[i[at], j[at]] = members[at]
    left, right = linear_sum_assignment(table, maximize=True)
    picked = pair[left, right]
    return np.asarray(picked[picked >= 0])
