"""Was each step done, when was it begun, and was that early or late?

Conventions: a deviation is actual minus due in seconds, on the count clock; for a step due inside a built-in hold, on the
wall clock. A step is late (early) only when its deviation lies beyond its tolerance by more than `FLAG_SIGMAS` standard
deviations of that deviation, so a lateness that the clocks' uncertainty can explain is never flagged. Nor is one that an
order lost in a garbled log can explain: there a report tells only that the step was begun by then.
It does not decide which utterance was which step, nor the order of steps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Utterance, seconds_between

# One-sided 97.7 %: a step exactly at its tolerance is flagged by clock noise about once in forty.
FLAG_SIGMAS = 2.0
# A call or acceptance heard this many standard deviations after the step was recorded or reported did not begin it.
AFTERTHOUGHT_SIGMAS = 3.0
# ... and at least this many seconds after: a sentence takes a while to say.
AFTERTHOUGHT_S = 5.0
# An order is accepted, recorded or reported within this many seconds of its beginning; one that nothing follows so soon,
# though the step is seen later, may have been talk ahead of it ('stand by', 'next is').
FOLLOWED_S = 12.0
# A poll runs through its stations before it is told to be complete.
POLLED_S = 120.0
# Most steps are reported complete within this many seconds of their order.
LOST_ORDER_S = 60.0
# A machine's record follows its order within about this.
RECORD_AFTER_S = 8.0
# What begins a step, the best evidence first (design: part and time of a step).
BEGINS = ("call", "record", "response", "report")


@dataclass(frozen=True, slots=True)
class Timed:
    """When a step was begun and how that compares with its due time. ahead_s: how much earlier it may have been, its order lost."""

    status: str
    begun: Utterance | None = None
    part: str | None = None
    deviation_s: float | None = None
    sigma_s: float | None = None
    timing: str | None = None
    on_wall: bool = False
    ahead_s: float = 0.0

    @property
    def done(self) -> bool:
        return self.status == "done"


def timed(fact: Fact, garbled: frozenset[str] = frozenset(), accepted: Callable[[Fact], bool] | None = None) -> Timed:
    """Status, beginning and timing of one step. garbled: logs in which an order may have been said and not made out; accepted: whether the
    station called said so at once, in words of no step."""
    if not fact.seen:
        return Timed(_absent(fact))
    part, begun = _begun(fact)
    if begun is None:
        return Timed("done")
    if part in ("call", "response") and (later := _instead(fact, begun)) is not None and not (accepted is not None and accepted(fact)):
        part, begun = later
    deviation, sigma, on_wall = deviation_of(fact, begun)
    timing = _timing(fact, deviation, sigma)
    order_lost = begun.source in garbled and (_ordered(fact) or fact.plan.get("kind") == "poll")
    if timing == "late" and part == "report" and order_lost and _timing(fact, (deviation or 0.0) - LOST_ORDER_S, sigma) != "late":
        timing = "on_time"
    return Timed("done", begun, part, deviation, sigma, timing, on_wall, _ahead_s(fact, part, order_lost, bool(garbled), (timing, deviation)))


def _ahead_s(fact: Fact, part: str | None, order_lost: bool, garbled: bool, kept: tuple[str | None, float | None]) -> float:
    """How much earlier the step may have been begun, by an order that was lost: nothing says that one which kept its time was early."""
    if part == "record":
        most = RECORD_AFTER_S if garbled and _ordered(fact) else 0.0
    else:
        most = LOST_ORDER_S if order_lost and part in ("response", "report") else 0.0
    timing, deviation = kept
    return min(most, max(0.0, (deviation or 0.0) + fact.early_s)) if timing == "on_time" else most


def _ordered(fact: Fact) -> bool:
    """Whether the plan has a station call for this step."""
    by, to = (fact.plan.get(c) for c in ("by", "to"))
    return isinstance(to, str) and bool(to) and to != by


def _instead(fact: Fact, begun: Utterance) -> tuple[str, Utterance] | None:
    """What began the step, when its order was off time and unheeded and what is seen next is on time."""
    after = [(seconds_between(u.us, begun.us), k, part, u) for k, part in enumerate(BEGINS)
             if (u := fact.first(part)) is not None and u is not begun and u.us is not None and begun.us is not None]
    if not after or _timing(fact, *deviation_of(fact, begun)[:2]) == "on_time":
        return None
    gap, _, part, heard = min(after, key=lambda a: a[:2])
    if gap <= (POLLED_S if fact.plan.get("kind") == "poll" else FOLLOWED_S) or _timing(fact, *deviation_of(fact, heard)[:2]) != "on_time":
        return None
    return part, heard


def _absent(fact: Fact) -> str:
    if not fact.reached:
        return "not_reached"
    return "missed" if fact.must and not fact.ignored else "skipped"


def _begun(fact: Fact) -> tuple[str | None, Utterance | None]:
    """The first part that can have begun it; a timed one before an untimed one."""
    untimed: tuple[str | None, Utterance | None] = (None, None)
    for part in BEGINS:
        utterance = fact.first(part)
        if utterance is None or (part in ("call", "response") and _afterthought(utterance, fact)):
            continue
        if utterance.timed:
            return part, utterance
        if untimed[1] is None:
            untimed = (part, utterance)
    return untimed


def _afterthought(call: Utterance, fact: Fact) -> bool:
    """A call or acceptance well after the step was seen done is talk about it (or a repeat), not what began it."""
    for part in ("record", "report"):
        other = fact.first(part)
        if other is None or other.us is None or call.us is None:
            continue
        spread = AFTERTHOUGHT_SIGMAS * (call.sigma_s**2 + other.sigma_s**2) ** 0.5
        if seconds_between(call.us, other.us) > max(AFTERTHOUGHT_S, spread):
            return True
    return False


def deviation_of(fact: Fact, begun: Utterance) -> tuple[float | None, float | None, bool]:
    """(deviation, its sigma, whether on the wall clock)."""
    on_wall = fact.into_hold_s is not None or begun.in_pass != fact.in_pass
    if not on_wall and begun.t_s is not None:
        read = begun.own_sigma_s if begun.stamped_t else begun.sigma_s
        return begun.t_s - fact.planned_t_s, _root(read, begun.clock_sigma_s), False
    if begun.us is None or fact.due_us is None:
        return None, None, on_wall
    return seconds_between(begun.us, fact.due_us), _root(begun.sigma_s, fact.due_sigma_s), True


def _root(*sigmas: float) -> float:
    return float(sum(s * s for s in sigmas) ** 0.5)


def _timing(fact: Fact, deviation: float | None, sigma: float | None) -> str | None:
    if deviation is None or sigma is None:
        return None
    if deviation - fact.late_s > FLAG_SIGMAS * sigma:
        return "late"
    if -deviation - fact.early_s > FLAG_SIGMAS * sigma:
        return "early"
    return "on_time"
