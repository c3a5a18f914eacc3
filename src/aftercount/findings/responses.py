"""Was a call answered, and in time?

Conventions: `response_s` is the time from the call that ordered the step to the first response or completion report, in
seconds of wall time; None when no call or no answer was heard, or none is due. `response` is None when none is due, neither a call
nor the acceptance of one was heard, or no log that carried the call carries answers: a note keeper who writes down calls alone proves no silence, and one
who leaves acceptances out proves no late answer. An answer is late only when it is beyond its limit by more than `FLAG_SIGMAS` standard deviations. It does not decide what an
utterance is: see `answers`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from aftercount.findings.answers import UNNAMED_S, Talk, telling
from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, apart_sigma_s, plain
from aftercount.findings.steps import FLAG_SIGMAS, Timed

# A log carries answers when at least this share of the calls matched in it that wanted one were answered in it: the loop
# carries all of them, however few are made out; a keeper who leaves one in five out may leave any out.
ANSWERING_SHARE = {"speech": 0.3, "machine": 0.8, "typed": 0.8}
# A keeper who writes down the acceptance of fewer than this share of such calls leaves acceptances out: the report that he writes
# down after the limit does not show that the call was answered late. Where as many as TIMELY_SHARE have an answer within the limit all the
# same, reports are the answers there, and one that is late stands out.
ACCEPTED_SHARE = 0.5
TIMELY_SHARE = 0.75


@dataclass(frozen=True, slots=True)
class Response:
    """response: answered | late | none, None when it cannot be told."""

    response: str | None = None
    response_s: float | None = None
    answer: Utterance | None = None
    call: Utterance | None = None


Pair = tuple[Utterance, Utterance]


def limit_s(fact: Fact) -> float | None:
    value = plain(fact.plan.get("response_s"))
    return None if value is None else float(value)


def judge(facts: Sequence[Fact], times: Sequence[Timed], heard: Heard, stations: Mapping[str, Iterable[str]]) -> list[Response]:
    """One Response a step."""
    carrying, terse = _carrying(facts), _terse(facts)
    talk = Talk(facts, heard, stations)
    return [_response(f, carrying, terse, talk) if t.done else Response() for f, t in zip(facts, times, strict=True)]


def _response(fact: Fact, carrying: set[str], terse: set[str], talk: Talk) -> Response:
    limit, calls = limit_s(fact), fact.heard.get("call", ())
    if limit is None:
        return Response()
    if not calls:
        return _uncalled(fact)
    pair = _earlier(_pair(fact), talk.answer(fact, limit))
    if pair is not None:
        call, answer = pair
        took = max(0.0, apart_s(answer, call) or 0.0)
        late = took - limit > FLAG_SIGMAS * apart_sigma_s(call, answer)
        if not late:
            return Response("answered", took, answer, call)
    inside = talk.within(fact)
    if inside is not None:
        return Response("answered", None, inside, inside)
    if pair is not None:
        return Response() if answer.source in terse and answer.kind != "response" else Response("late", took, answer, call)
    answers = [u for part in ("response", "report") for u in fact.heard.get(part, ()) if u.us is None]
    if answers:
        return Response("answered", None, answers[0], calls[0])
    return Response("none", call=calls[0]) if any(c.source in carrying for c in calls) else Response()


def _uncalled(fact: Fact) -> Response:
    """Of a step whose call was not made out: who performs it and accepts an order was called, and answered; how soon, cannot be told."""
    by = plain(fact.plan.get("by"))
    accepted = [u for u in fact.heard.get("response", ()) if u.kind == "response" and u.station in (None, by)]
    return Response("answered", None, accepted[0]) if accepted else Response()


def _earlier(matched: Pair | None, unmatched: Pair | None) -> Pair | None:
    """The answer that came first; of two within the clocks' uncertainty, the one that was matched."""
    if matched is None or unmatched is None:
        return matched or unmatched
    one, other = apart_s(matched[1], matched[0]), apart_s(unmatched[1], unmatched[0])
    blur = apart_sigma_s(*matched) + apart_sigma_s(*unmatched)
    return unmatched if one is not None and other is not None and other < one - blur else matched


def _pair(fact: Fact) -> Pair | None:
    """(call, answer) that measure the response best: the first to answer, one log's own pair before two logs', then the least
    uncertain."""
    pairs = []
    for part in ("response", "report"):
        for call in fact.heard.get("call", ()):
            for answer in fact.heard.get(part, ()):
                took, sigma = apart_s(answer, call), apart_sigma_s(call, answer)
                own = answer.station is not None and answer.station == call.station
                own = (own or (part == "response" and _anothers(answer, call, fact))) and not _read_back(answer, call, fact)
                if took is not None and not own and not _remark(answer, call, fact, took) and took >= -FLAG_SIGMAS * sigma:
                    pairs.append((took, call.source != answer.source, sigma, call.event, call, answer))
    if not pairs:
        return None
    first = min(p[0] + FLAG_SIGMAS * p[2] for p in pairs)
    best = min((p for p in pairs if p[0] <= first), key=lambda p: p[1:4])
    return best[4], best[5]


def _read_back(answer: Utterance, call: Utterance, fact: Fact) -> bool:
    """Whether words of the order are accepted with the name of the one who performs it: no caller reads his own order back, whoever is thought to speak."""
    named = answer.to is not None and answer.to == plain(fact.plan.get("by"))
    said = telling(answer.text)
    return named and answer.kind == "response" and (not said.isdisjoint(telling(fact.action)) or len(said & telling(call.text)) > 1)  # one is the name


def _anothers(answer: Utterance, call: Utterance, fact: Fact) -> bool:
    """Whether an acceptance is of another station than the one that the call named and the plan has perform the step."""
    by = plain(fact.plan.get("by"))
    return answer.station is not None and by is not None and call.to == by != answer.station


def _remark(answer: Utterance, call: Utterance, fact: Fact, took: float) -> bool:
    """Whether it is only talk of nobody known, well after the call and with no word of it."""
    if answer.medium != "speech" or answer.kind != "note" or answer.station is not None or took <= UNNAMED_S:
        return False
    return telling(answer.text).isdisjoint(telling(call.text) | telling(fact.action))


def _carrying(facts: Sequence[Fact]) -> set[str]:
    """Logs in which calls that want an answer get one."""
    asked: dict[str, int] = {}
    answered: dict[str, int] = {}
    enough: dict[str, float] = {}
    for fact in facts:
        if limit_s(fact) is None:
            continue
        sources = {u.source for part in ("response", "report") for u in fact.heard.get(part, ())}
        for call in fact.heard.get("call", ()):
            enough[call.source] = ANSWERING_SHARE.get(call.medium, 1.0)
            asked[call.source] = asked.get(call.source, 0) + 1
            answered[call.source] = answered.get(call.source, 0) + (call.source in sources)
    return {s for s, n in asked.items() if answered[s] >= enough[s] * n and answered[s] > 0}


def _terse(facts: Sequence[Fact]) -> set[str]:
    """Typed logs whose keepers leave acceptances out, and in which reports do not stand for them."""
    asked, accepted, timely = Counter[str](), Counter[str](), Counter[str]()
    for fact in facts:
        limit = limit_s(fact)
        for call in fact.heard.get("call", ()) if limit is not None else ():
            if call.medium == "typed":
                responses, reports = ([u for u in fact.heard.get(part, ()) if u.source == call.source] for part in ("response", "report"))
                asked[call.source] += 1
                accepted[call.source] += bool(responses)
                timely[call.source] += any((apart_s(u, call) or 0.0) <= (limit or 0.0) for u in (*responses, *reports))
    return {s for s, n in asked.items() if accepted[s] < ACCEPTED_SHARE * n and timely[s] < TIMELY_SHARE * n}
