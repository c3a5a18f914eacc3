"""The chosen utterances of one step due as moments: what is one event heard on several logs, what a repeat.

Question answered: of a step's chosen utterances, which belong to the step's one doing (its thread), which utterance stands for each
part, and how often the step was seen. Conventions: times are UTC seconds (NaN unknown: such an utterance joins the strongest thread).
It does not choose between steps: see `assign`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match import logodds
from aftercount.match.calibrate import SURE
from aftercount.match.context import THREAD_S
from aftercount.match.signs import CALL, PARTS, RECORD, REPORT, RESPONSE

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

EVEN = 0.0  # log-odds of an even chance
STRONG, SURE_ENOUGH = 3.0, 1.0  # beside an utterance this strong, another must be this sure to count for the same step
ABOUT_LOGIT = 1.0  # talk about a step costs its odds enough; it may be the step from this much on
REPEAT_LOGIT = 1.0  # log-odds from which a further thread of the same step counts as the step seen again
REPEAT_COVERAGE = 0.7  # share of the step's words that such a thread must say
CALL_AGAIN_S = 45.0  # a call for a step later than this after it began orders it again
DONE_AFTER_S = 6.0  # of two calls for one step on one log, one this much later reports it
CLOCK_CALLS = ("mark", "liftoff")  # calls of the count say where it is, in words that a step may have too ('T minus 40 to drop') ...
CLOCK_COVERAGE = 0.6  # ... so one that says less of a step than this did not begin it, if anything else was heard of it
_COVERAGE, _DISTANCE, _LEAD_IN = (logodds.FEATURES.index(name) for name in ("coverage", "distance", "lead_in"))
AT_DUE = 1.0  # of the feature `distance`: what a line says of a thing within some 16 s of due is hardly ahead of the step
CLOSE_CALL = 3.0  # nats: of calls that are nearly as sure, the earlier began the step


@dataclass(frozen=True)
class Thread:
    """One doing of a step. `members` are pair indices, `roles` the part each plays; `lead[part]` the one that stands for it, -1 none.
    `coverage`: the most of the step's words that one of them says."""

    members: tuple[int, ...]
    roles: tuple[int, ...]
    lead: tuple[int, ...]
    strength: float
    exact: bool
    coverage: float


def begun(thread: Thread) -> int:
    """The pair that says when the step was begun: its call, else a machine's record, its acceptance, its report."""
    return next(i for part in (CALL, RECORD, RESPONSE, REPORT) for i in [thread.lead[part]] if i >= 0)


def threads(index: np.ndarray, scored: Scored, logit: np.ndarray, telling: np.ndarray) -> list[Thread]:
    """The pairs `index` of one step due as threads, the strongest first. Bare answers alone are no doing of a step. telling: of all pairs, those
    whose words are enough at whatever odds."""
    kept = _credible(index, scored, logit, telling)
    u, said = scored.u[kept], scored.said
    when, part = said.utc_s[u], scored.part[kept]
    order = np.lexsort((kept, np.nan_to_num(when, nan=np.inf)))
    groups: list[list[int]] = []
    line = list(zip(said.source[u].tolist(), scored.text[u].tolist(), strict=True))
    for at in order.tolist():
        if groups and _joins(at, groups[-1], when, part, said.sigma_s[u], line):
            groups[-1].append(at)
        else:
            groups.append([at])
    made = [_thread(_sure(kept[group], scored, logit), scored, logit) for group in groups if not scored.bare[kept[group]].all()]
    return sorted(made, key=lambda t: (-t.strength, t.members))


def _credible(index: np.ndarray, scored: Scored, logit: np.ndarray, by_words: np.ndarray) -> np.ndarray:
    """The pairs worth more than even odds, or whose words are the step's; if none, the best there is."""
    # What says that the step is not now must be strong in spite of it; what says that it is not done counts only by decision.
    index = index[~scored.missed[index] | (logit[index] >= np.where(scored.later[index], STRONG, ABOUT_LOGIT))]
    index = index[~scored.refuted[index] | (logit[index] >= SURE)]
    telling = index[~scored.bare[index]]
    if not len(telling):
        return telling
    if logit[telling].max() < EVEN:  # far from due, if any: those in its words, and the likeliest
        return telling[_exact(telling, scored) | by_words[telling] | (np.lexsort((telling, -logit[telling])).argsort() == 0)]
    kept = index[(logit[index] >= EVEN) | _exact(index, scored) | by_words[index]]
    of_clock = np.isin(scored.said.kind[scored.u[kept]], CLOCK_CALLS) & (scored.own[kept, _COVERAGE] < CLOCK_COVERAGE)
    if (~of_clock & ~scored.bare[kept]).any():
        kept = kept[~of_clock]
    return kept[~_ahead(kept, scored, logit)]


def _ahead(index: np.ndarray, scored: Scored, logit: np.ndarray) -> np.ndarray:
    """Which pairs speak of the step ahead of its doing: near misses and calls for what is to come, before one that is neither; and questions ('status of the
    vent?'), though the step is to ask, well before what is none."""
    near = scored.missed[index] | (scored.own[index, _LEAD_IN] > 0)
    when = np.nan_to_num(scored.said.utc_s[scored.u[index]], nan=-np.inf)
    far = scored.own[index, _DISTANCE] > AT_DUE
    near &= (scored.own[index, _LEAD_IN] > 0) | scored.later[index] | far
    asks = far & scored.asks[index]
    plain = when[~near & ~asks & ~scored.bare[index] & (logit[index] >= SURE_ENOUGH)].max(initial=-np.inf)
    return np.asarray((near & (when < plain)) | (asks & (when < plain - CALL_AGAIN_S)))


def _exact(index: np.ndarray, scored: Scored) -> np.ndarray:
    """Which pairs say the step and nothing else, whatever their time."""
    return np.asarray((scored.own[index, logodds.FEATURES.index("exact")] > 0) & (scored.own[index, _LEAD_IN] == 0))


def _sure(members: np.ndarray, scored: Scored, logit: np.ndarray) -> np.ndarray:
    """The members of one thread without those too weak beside a strong one."""
    if logit[members[~scored.bare[members]]].max() < STRONG:
        return members
    return members[logit[members] >= SURE_ENOUGH]


def _joins(
    at: int, group: list[int], when: np.ndarray, part: np.ndarray, sigma: np.ndarray, line: list[tuple[int, int]],
) -> bool:
    """True when this utterance continues the doing: soon after it began; a call only at once, since a later one orders it anew, and so
    does a log that says again what it said of it, word by word. line: log and text of each."""
    if np.isnan(when[at]):
        return True
    reach = CALL_AGAIN_S if part[at] == CALL else THREAD_S
    since = when[at] - when[group[0]]
    again = any(line[i] == line[at] and when[at] - when[i] > CALL_AGAIN_S for i in group)
    return bool(since <= reach + 2.0 * sigma[at]) and not again


def _roles(members: np.ndarray, scored: Scored) -> np.ndarray:
    """The part each member plays. On one log the first of several is the call if its manner is not plain, and what sounds like a
    call well after it is the completion ('GNC, platform aligned')."""
    u = scored.u[members]
    role, when = scored.part[members].copy(), scored.said.utc_s[u]
    for source in np.unique(scored.said.source[u]).tolist():
        own = [i for i in np.lexsort((u, when)).tolist()
               if scored.said.source[u[i]] == source and not scored.bare[members[i]] and role[i] != RECORD]
        if len(own) < 2:
            continue
        first = own[0]
        if scored.said.kind[u[first]] == "note":
            role[first] = CALL
        for i in own[1:]:
            if role[i] == CALL and role[first] == CALL and when[i] - when[first] > DONE_AFTER_S:
                role[i] = REPORT
    return role


def _thread(members: np.ndarray, scored: Scored, logit: np.ndarray) -> Thread:
    role, bare = _roles(members, scored), scored.bare[members]
    when = np.nan_to_num(scored.said.utc_s[scored.u[members]], nan=np.inf)
    called = bool(((role == CALL) & ~bare).any())
    lead = []
    for part in range(len(PARTS)):
        # A bare 'copy' stands for the acceptance only of a call that was heard.
        own = np.flatnonzero((role == part) & (called | ~bare))
        worth = logit[members[own]]
        rank = (own, -worth, bare[own]) if part == REPORT else (own, -worth, when[own], worth < worth.max(initial=-np.inf) - CLOSE_CALL)
        lead.append(int(members[own[np.lexsort(rank)[0]]]) if len(own) else -1)
    strength = float(np.logaddexp.reduce(logit[members[~bare]]))
    coverage = float(scored.own[members[~bare], _COVERAGE].max())
    return Thread(tuple(members.tolist()), tuple(role.tolist()), tuple(lead), strength, bool(_exact(members[~bare], scored).any()), coverage)


def times_seen(found: list[Thread]) -> int:
    """How often the step was done; a repeat is off its time by nature, so words that are just the step's are enough, and talk that
    shares some of them is none."""
    again = sum(t.exact or (t.strength >= REPEAT_LOGIT and t.coverage >= REPEAT_COVERAGE) for t in found[1:])
    return again + bool(found)
