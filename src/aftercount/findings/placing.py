"""Which steps were surely begun out of the plan's order?

Conventions: as in `order`; pass by pass. A step takes part when its place can be relied on: it was begun on time, a reviewer
settled it, or its match is strong enough to bear that it strayed. Few steps stray, and a wrong match strays as a rule; so off
its time a step needs an order, a record or a report in its own words, or an order to its performer and his answer, beside the matcher's confidence. A step that does not
take part is not out of order and puts no other out of order. It does not find the displaced set: `order` does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from aftercount.count import CountFolder
from aftercount.findings import order
from aftercount.findings.facts import Fact
from aftercount.findings.heard import Utterance, plain
from aftercount.findings.steps import Timed
from aftercount.plan import Plan

# The matcher's confidence, and the share of a step's telling words that one utterance of it must say, that together bear a finding on order: all
# words, one of them perhaps misheard; half of them; a few, where people have other words for it and all else agrees. Of those that would be out of order, nine in
# ten of the first and six in seven of the second truly are, in simulated counts with three times the usual faults.
BEARS = ((0.65, 0.65), (0.8, 0.5), (0.95, 0.2))
# ... and the confidence that does so in whatever words, where the step's caller was heard to order who performs it, who answered or reported.
TALKED = 0.75
SURE_ON_TIME = 0.85  # the confidence from which whatever was made out is in its place
# Parts that can carry a step's words; an acceptance repeats what it was told, if anything: then it tells as much as the order.
TELLING_PARTS = ("call", "record", "report", "response")


class Says(Protocol):
    """How much of a plan row's wording an utterance says, 0..1."""

    def __call__(self, heard: Utterance, row: int) -> float: ...


class Wordings:
    """`Says` by the matcher's own words of the plan, for the utterances of FACTS that tell of a step."""

    def __init__(self, plan: Plan, count: CountFolder, facts: Sequence[Fact]) -> None:
        import numpy as np

        from aftercount.match import lexicon, likeness

        told = [u for f in facts for u in telling(f)]
        spoken = [(u.text, tuple(name for name in (u.station, u.to) if name)) for u in told]
        log = np.unique([u.source for u in told], return_inverse=True)[1] if told else np.zeros(0, dtype=np.int64)
        alike = likeness.compare(spoken, log, lexicon.build(plan, count))
        self._coverage = {u.event: alike.coverage[row] for u, row in zip(told, alike.text_of.tolist(), strict=True)}

    def __call__(self, heard: Utterance, row: int) -> float:
        return float(self._coverage[heard.event][row])


def telling(fact: Fact) -> list[Utterance]:
    """The utterances of a step that can carry its words."""
    return [u for part in TELLING_PARTS for u in fact.heard.get(part, ())]


def _by_another(heard: Utterance, fact: Fact) -> bool:
    """Whether a report is somebody's who neither does the step nor calls for it: others speak of a thing ('sea state is three') at any time."""
    theirs = {name for name in (plain(fact.plan.get("by")), plain(fact.plan.get("to"))) if name}
    if not theirs or heard.station is None or heard.medium == "machine":
        return False
    return heard.station not in theirs and heard in fact.heard.get("report", ())


def _gauge(heard: Utterance) -> bool:
    """Whether a machine wrote down what a gauge reads, as it does all along: nobody reported it."""
    from aftercount.match import language

    return heard.medium == "machine" and bool(language.STATE.search(heard.text.lower()))


def _talked(fact: Fact) -> bool:
    by, to = plain(fact.plan.get("by")), plain(fact.plan.get("to"))
    if not by or not to or by == to:
        return False
    ordered = any(u.station == to and u.to == by for u in fact.heard.get("call", ()))
    return ordered and any(u.station == by for part in ("response", "report") for u in fact.heard.get(part, ()))


def sure(fact: Fact, time: Timed, says: Says) -> bool:
    """Whether the step's match can bear that it was begun out of order."""
    if time.begun is None:
        return False
    if fact.decided or (time.timing == "on_time" and fact.confidence >= SURE_ON_TIME):
        return True
    if fact.confidence >= TALKED and _talked(fact):
        return True
    words = max((says(u, fact.row) for u in telling(fact) if not _by_another(u, fact) and not _gauge(u)), default=0.0)
    return any(fact.confidence >= confidence and words >= least for confidence, least in BEARS)


def displaced(facts: Sequence[Fact], times: Sequence[Timed], sure: Sequence[bool]) -> list[bool]:
    """Out of order, pass by pass."""
    out = [False] * len(facts)
    for in_pass in sorted({f.in_pass for f in facts}):
        seen = [i for i, f in enumerate(facts) if f.in_pass == in_pass and sure[i]]
        timed_us = [i for i in seen if _begun_us(times[i]) is not None]
        chosen = timed_us or [i for i in seen if _begun_t(times[i]) is not None]
        placed = [_placed(facts[i], times[i], bool(timed_us)) for i in chosen]
        for i, strayed in zip(chosen, order.displaced(placed), strict=True):
            out[i] = strayed
    return out


def _begun_us(time: Timed) -> int | None:
    return time.begun.us if time.begun is not None else None


def _begun_t(time: Timed) -> float | None:
    return time.begun.t_s if time.begun is not None else None


def _placed(fact: Fact, time: Timed, by_utc: bool) -> order.Placed:
    assert time.begun is not None
    actual = (time.begun.us or 0) / 1e6 if by_utc else float(time.begun.t_s or 0.0)
    planned = fact.planned_us / 1e6 if fact.planned_us is not None else fact.planned_t_s
    return order.Placed(planned, actual, fact.early_s, fact.late_s, time.begun.sigma_s, fact.confidence,
                        time.timing == "on_time", time.deviation_s or 0.0, time.begun.source, time.begun.own_sigma_s, time.ahead_s)
