"""Which of a step's chosen utterances are its order, its record, its acceptance and its report?

Conventions: parts `call`, `record`, `response`, `report`; each part is one moment as every log has it, the surest time
first. Who speaks decides before the wording; of several orders the one that was answered counts, since talk of a step some
time ahead is the commonest false match. It does not choose utterances: the matcher did.
"""

from __future__ import annotations

from math import log
from typing import Any

from aftercount.findings.heard import Heard, Utterance, apart_s, apart_sigma_s, plain

PARTS = ("call", "record", "response", "report")
# Two logs heard one moment when their times differ by no more than this many standard deviations, or this many seconds
# (a sentence's length: one log may stamp its start, another its end).
TWIN_SIGMAS = 3.0
TWIN_S = 5.0
# An order is answered, or what it orders is recorded, within this many seconds (response limits are of that size).
ANSWERED_S = 60.0
# An answer outweighs this much of the matcher's score between two candidate orders.
ANSWER_WORTH = 0.5
# So does standing where the plan has it: of two orders, the one on time and the one heeded, the earlier began the step.
ON_TIME_WORTH = 0.5
# An order given again within this many seconds, unanswered, is the same order: the first time counts...
AGAIN_S = 30.0
# ... if it is about as sure: by more than this many nats less, it was other talk.
AGAIN_NATS = 3.0
# Scores nearer to 0 or 1 than this are as good as those.
LEAST_DOUBT = 1e-9
# A call takes some two seconds to say, so nothing that answers it is stamped this soon after its beginning; where the
# clocks are less sure, up to twice that.
AT_ONCE_S = 1.5
# What follows an order may be stamped this much before it by another log, seconds.
SLACK_S = 2.0

Chosen = tuple[int, str, float]
# When a step may begin: earliest and latest instant within its tolerance, POSIX us; None when its due time is not known.
Due = tuple[int, int] | None
Members = dict[str, dict[int, Utterance]]


def heard_parts(verdict: dict[str, Any] | None, chosen: list[Chosen], heard: Heard,
                planned: tuple[dict[str, Any], Due]) -> dict[str, tuple[Utterance, ...]]:
    """By part, its moment as each log has it. planned: the plan's row, and when the step was due."""
    if verdict is None or not verdict["seen"]:
        return {}
    row, due = planned
    score = {event: s for event, _, s in chosen}
    named = [(plain(verdict[f"event_{part}"]), part, 0.0) for part in PARTS]
    members: Members = {}
    for event, part, _ in [*named, *chosen]:
        utterance = heard.get(event)
        if utterance is not None and not any(utterance.event in found for found in members.values()):
            members.setdefault(role(utterance, part, row), {})[utterance.event] = utterance
    by = plain(row.get("by"))
    _settle(members, by)
    _written_too(members, by)
    order = _order(members, score, due)
    return {part: _moment(_from(list(members[part].values()), order)) for part in PARTS if part in members}


def _order(members: Members, score: dict[int, float], due: Due) -> Utterance | None:
    """The order that the rest follows from."""
    calls = sorted((u for u in members.get("call", {}).values() if u.us is not None), key=lambda u: (u.us or 0, u.event))
    if not calls:
        return None
    answers = [u for part in PARTS[1:] for u in members.get(part, {}).values()]
    worth = [score.get(c.event, 0.0) + ANSWER_WORTH * _answered(c, calls[k + 1:], answers) + ON_TIME_WORTH * _on_time(c, due)
             for k, c in enumerate(calls)]
    at = max(range(len(calls)), key=lambda k: (worth[k], -k))
    best = at
    while at and (apart_s(calls[at], calls[at - 1]) or 0.0) <= AGAIN_S and _again(calls[at - 1], calls[best], score):
        at -= 1
    return calls[at]


def _again(earlier: Utterance, order: Utterance, score: dict[int, float]) -> bool:
    """Whether `earlier` can be the same order: about as sure, or what another log has at that moment."""
    if earlier.source != order.source and _same_moment(earlier, order):
        return True
    return _nats(score.get(order.event, 0.0)) - _nats(score.get(earlier.event, 0.0)) <= AGAIN_NATS


def _nats(probability: float) -> float:
    kept = min(max(probability, LEAST_DOUBT), 1.0 - LEAST_DOUBT)
    return log(kept / (1.0 - kept))


def _on_time(call: Utterance, due: Due) -> bool:
    return due is not None and call.us is not None and due[0] <= call.us <= due[1]


def _answered(call: Utterance, later: list[Utterance], answers: list[Utterance]) -> bool:
    """Whether something followed before the next order (one well after: two logs may have the same order)."""
    for answer in answers:
        apart = apart_s(answer, call)
        if apart is None or not -SLACK_S <= apart <= ANSWERED_S:
            continue
        between = (apart_s(answer, c) for c in later if (apart_s(c, call) or 0.0) > AGAIN_S)
        if not any(gap is not None and gap >= 0.0 for gap in between):
            return True
    return False


def _from(members: list[Utterance], order: Utterance | None) -> list[Utterance]:
    """Those from the order on, or all when none is."""
    if order is None:
        return members
    kept = [u for u in members if (gap := apart_s(u, order)) is None or gap >= -max(SLACK_S, apart_sigma_s(u, order))]
    return kept if any(u.us is not None for u in kept) else members


def role(utterance: Utterance, part: str, row: dict[str, Any]) -> str:
    """The part an utterance plays: who speaks decides before the wording, since orders and reports share their words.

    The station that performs a step gives no order for it; the one that calls for it does not report it in words that
    speech took for an order or for talk.
    """
    by, to = plain(row.get("by")), plain(row.get("to"))
    if utterance.medium == "machine":
        return "record"
    if by is None or to is None or by == to:
        return part
    if part == "call" and utterance.station == by:
        return "response" if utterance.kind == "response" else "report"
    orders = utterance.kind in ("call", "note", "poll") or (utterance.kind == "report" and utterance.to == by)
    if part in ("response", "report") and utterance.station == to and orders:
        return "call"
    return part


def _written_too(members: Members, by: Any) -> None:
    """What another log has at the very moment of the order, by nobody or not by who performs it, is that order.

    A note keeper writes 'energize the computer' for the order and for its report alike; no report comes within `AT_ONCE_S`.
    """
    calls = [u for u in members.get("call", {}).values() if u.us is not None]
    for part in ("report", "response"):
        same = {e: u for e, u in members.get(part, {}).items() if u.station is None or u.station != by
                if any(c.source != u.source and _at_once(c, u) for c in calls)}
        if not same:
            continue
        members.setdefault("call", {}).update(same)
        members[part] = {e: u for e, u in members[part].items() if e not in same}
        if not members[part]:
            del members[part]


def _at_once(call: Utterance, other: Utterance) -> bool:
    apart = apart_s(other, call)
    return apart is not None and abs(apart) <= min(max(AT_ONCE_S, apart_sigma_s(call, other)), 2.0 * AT_ONCE_S)


def _settle(members: Members, by: Any) -> None:
    """An acceptance answers an order: a 'call' after it was none, and a 'report' before it was the order. Who performs a step and says so after a
    machine recorded it ('purge running') reports it."""
    accepted, ordered, recorded = (_first(members.get(part, {})) for part in ("response", "call", "record"))
    if ordered is not None and recorded is not None and by is not None and ordered.station == by and _before(recorded, ordered):
        members.setdefault("report", {}).update(members.pop("call"))
        ordered = None
    if accepted is None:
        return
    if ordered is not None and _before(accepted, ordered):
        members.setdefault("report", {}).update(members.pop("call"))
    early = {e: u for e, u in members.get("report", {}).items() if _before(u, accepted)}
    if "call" not in members and early:
        members["call"] = early
        members["report"] = {e: u for e, u in members["report"].items() if e not in early}
        if not members["report"]:
            del members["report"]


def _first(members: dict[int, Utterance]) -> Utterance | None:
    return min((u for u in members.values() if u.us is not None), key=lambda u: (u.us or 0, u.event), default=None)


def _before(one: Utterance, other: Utterance) -> bool:
    """Whether `one` was surely said first: beyond a standard deviation of the time between them."""
    apart = apart_s(other, one)
    return apart is not None and apart > apart_sigma_s(one, other)


def _moment(members: list[Utterance]) -> tuple[Utterance, ...]:
    """The earliest of them and the same moment in other logs, the surest time first (untimed last)."""
    timed = [u for u in members if u.us is not None]
    if not timed:
        return tuple(sorted(members, key=lambda u: (not u.timed, u.sigma_s, u.event)))
    first = min(timed, key=lambda u: (u.us or 0, u.event))
    same = [u for u in timed if u is first or (u.source != first.source and _same_moment(first, u))]
    return tuple(sorted(same, key=lambda u: (u.sigma_s, u.event)))


def _same_moment(one: Utterance, other: Utterance) -> bool:
    allowed = max(TWIN_S, TWIN_SIGMAS * (one.sigma_s**2 + other.sigma_s**2) ** 0.5)
    return abs((one.us or 0) - (other.us or 0)) / 1e6 <= allowed
