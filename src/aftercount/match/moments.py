"""The chosen utterances of one step due as moments: what is one event heard on several logs, what a repeat.

Question answered: of a step's chosen utterances, which belong to the step's one doing (its thread), which utterance stands for each
part, and how often the step was seen. Conventions: times are UTC seconds (NaN unknown: such an utterance joins the strongest thread).
It does not choose between steps: see `assign`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match.context import SAME_MOMENT_S, THREAD_S
from aftercount.match.signs import CALL, PARTS

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

EVEN = 0.0  # log-odds of an even chance
STRONG, SURE_ENOUGH = 3.0, 1.0  # beside an utterance this strong, another must be this sure to count for the same step
REPEAT_LOGIT = 1.0  # log-odds from which a further thread of the same step counts as the step seen again
LINK_S = SAME_MOMENT_S  # utterances of the same part within this, on any logs, are one moment


@dataclass(frozen=True)
class Thread:
    """One doing of a step. `members` are pair indices; `lead[part]` the one that stands for the part, -1 none."""

    members: tuple[int, ...]
    lead: tuple[int, ...]
    strength: float


def threads(index: np.ndarray, scored: Scored, logit: np.ndarray) -> list[Thread]:
    """The chosen pairs `index` of one step due as threads, the strongest first. Bare answers alone are no doing of a step."""
    kept = _credible(index, scored, logit)
    u, said = scored.u[kept], scored.said
    when, part = said.utc_s[u], said.part[u]
    order = np.lexsort((kept, np.nan_to_num(when, nan=np.inf)))
    groups: list[list[int]] = []
    for at in order.tolist():
        if groups and _joins(at, groups[-1], when, part, said.sigma_s[u]):
            groups[-1].append(at)
        else:
            groups.append([at])
    made = [_thread(kept[group], scored, logit) for group in groups if not scored.bare[kept[group]].all()]
    return sorted(made, key=lambda t: (-t.strength, t.members))


def _credible(index: np.ndarray, scored: Scored, logit: np.ndarray) -> np.ndarray:
    """The pairs worth more than even odds; a weak one beside a strong one isn't worth its risk; if none, the best there is."""
    telling = index[~scored.bare[index]]
    if not len(telling):
        return telling
    best = logit[telling].max()
    if best < EVEN:
        return telling[np.lexsort((telling, -logit[telling]))[:1]]
    return index[logit[index] >= (SURE_ENOUGH if best >= STRONG else EVEN)]


def _joins(at: int, group: list[int], when: np.ndarray, part: np.ndarray, sigma: np.ndarray) -> bool:
    """True when this utterance continues the doing: soon after it began, and not a new call for it."""
    if np.isnan(when[at]):
        return True
    gap = when[at] - when[group[0]]
    calls = [g for g in group if part[g] == CALL]
    if part[at] == CALL and (calls or len(group)):
        last = when[group[-1]]
        return bool(when[at] - last <= LINK_S + 2.0 * np.hypot(sigma[at], sigma[group[-1]]))
    return bool(gap <= THREAD_S + 2.0 * sigma[at])


def _thread(members: np.ndarray, scored: Scored, logit: np.ndarray) -> Thread:
    part, bare = scored.said.part[scored.u[members]], scored.bare[members]
    called = bool(((part == CALL) & ~bare).any())
    lead = []
    for number in range(len(PARTS)):
        # A bare 'copy' stands for the acceptance only of a call that was heard.
        own = members[(part == number) & (called | ~bare)]
        best = own[np.lexsort((own, -logit[own], scored.bare[own]))] if len(own) else own
        lead.append(int(best[0]) if len(own) else -1)
    strength = float(np.logaddexp.reduce(logit[members[~bare]]))
    return Thread(tuple(int(m) for m in members), tuple(lead), strength)


def times_seen(found: list[Thread]) -> int:
    return max(sum(t.strength >= REPEAT_LOGIT for t in found), 1 if found else 0)
