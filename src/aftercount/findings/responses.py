"""Was a call answered in time, and was the read-back right?

Conventions: `response_s` is the time from the call that ordered the step to the first response or completion report, in
seconds of wall time; None when no call or no answer was heard, or none is due. `response` is None when none is due or no
call was heard. An answer is late only when it is beyond its limit by more than `FLAG_SIGMAS` standard deviations. `none`
says that no log has an answer; it is a finding (`silent`) only where a log that carried the call also carries answers: a
note keeper who writes down calls alone proves no silence. It does not decide what an utterance is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, apart_sigma_s, plain
from aftercount.findings.steps import FLAG_SIGMAS, Timed
from aftercount.match.language import STOP_STEMS, stem
from aftercount.speech.words import words

# A log carries answers when at least this share of the calls matched in it that wanted one were answered in it.
ANSWERING_SHARE = 0.3
# An answer that nobody matched may still be one: from the station called, within this many times the limit.
STRAY_LIMITS = 1.5
# ...among this many next sentences of that log; from a speaker nobody could name only right after the call.
STRAY_SENTENCES = 12
UNNAMED_S = 12.0
# 'On it', 'Yep', 'Doing it now': an answer of no known form is as short as this.
BRIEF_WORDS = 4
# ...and a longer one takes up a word of the call, and is among this many next sentences.
NEXT_SENTENCES = 3


@dataclass(frozen=True, slots=True)
class Response:
    """response: answered | late | none, None when none is due or no call was heard. silent: 'none' can be relied on."""

    response: str | None = None
    response_s: float | None = None
    answer: Utterance | None = None
    call: Utterance | None = None
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Free:
    """What no step has claimed."""

    heard: Heard
    used: frozenset[int]

    def after(self, call: Utterance) -> Iterator[Utterance]:
        """The same log's next sentences, in order, that no step has claimed."""
        for event in range(call.event + 1, call.event + 1 + STRAY_SENTENCES):
            other = self.heard.get(event)
            if other is None or other.source != call.source:
                return
            if event not in self.used:
                yield other


def limit_s(fact: Fact) -> float | None:
    value = plain(fact.plan.get("response_s"))
    return None if value is None else float(value)


def judge(facts: Sequence[Fact], times: Sequence[Timed], heard: Heard) -> list[Response]:
    """One Response a step."""
    carrying = _carrying(facts)
    used = {u.event for f in facts for us in f.heard.values() for u in us}
    free = Free(heard, frozenset(used))
    return [_response(f, carrying, free) if t.done else Response() for f, t in zip(facts, times, strict=True)]


def _response(fact: Fact, carrying: set[str], free: Free) -> Response:
    limit, calls = limit_s(fact), fact.heard.get("call", ())
    if limit is None or not calls:
        return Response()
    pair = _pair(fact)
    if pair is None or pair[1] in fact.heard.get("report", ()):  # a word in between may have accepted it
        pair = _stray(fact, calls, free, limit) or pair
    if pair is not None:
        call, answer = pair
        took = max(0.0, apart_s(answer, call) or 0.0)
        late = took - limit > FLAG_SIGMAS * apart_sigma_s(call, answer)
        return Response("late" if late else "answered", took, answer, call)
    answers = [u for part in ("response", "report") for u in fact.heard.get(part, ()) if u.us is None]
    if answers:
        return Response("answered", None, answers[0], calls[0])
    return Response("none", call=calls[0], silent=any(c.source in carrying for c in calls))


def _pair(fact: Fact) -> tuple[Utterance, Utterance] | None:
    """(call, answer) that measure the response best: one log's own pair first, then the least uncertain."""
    pairs = []
    for part in ("response", "report"):
        for call in fact.heard.get("call", ()):
            for answer in fact.heard.get(part, ()):
                took, sigma = apart_s(answer, call), apart_sigma_s(call, answer)
                own = answer.station is not None and answer.station == call.station
                if took is not None and not own and took >= -FLAG_SIGMAS * sigma:
                    pairs.append((part == "report", call.source != answer.source, sigma, call.event, call, answer))
    if not pairs:
        return None
    best = min(pairs, key=lambda p: p[:4])
    return best[4], best[5]


def _stray(fact: Fact, calls: Sequence[Utterance], free: Free, limit: float) -> tuple[Utterance, Utterance] | None:
    """The first unclaimed answer to the call, in the log that carried it."""
    by = plain(fact.plan.get("by"))
    for call in calls:
        for answer in free.after(call):
            took = apart_s(answer, call)
            if took is None or took > STRAY_LIMITS * limit:
                break
            if by is not None and (_theirs(answer, str(by), call) or _unnamed(answer, call, took)):
                return call, answer
    return None


def _theirs(answer: Utterance, by: str, call: Utterance) -> bool:
    """The station called, speaking back; a call of its own to somebody else is none."""
    back = answer.to is None or answer.to == call.station or call.station is None
    return answer.station == by and (answer.kind in ("response", "report", "note") or (answer.kind == "call" and back))


def _unnamed(answer: Utterance, call: Utterance, took: float) -> bool:
    """A voice nobody could name, right after the call: an answer by its words, or short and the very next thing said."""
    if answer.station is not None or took > UNNAMED_S:
        return False
    if answer.kind == "response":
        return True
    next_said = answer.event - call.event <= NEXT_SENTENCES and answer.kind in ("note", "report")
    brief = answer.event == call.event + 1 and answer.to is None and len(answer.text.split()) <= BRIEF_WORDS
    return next_said and (brief or bool(_telling(answer.text) & _telling(call.text)))


def _telling(text: str) -> set[str]:
    return {s for s in (stem(w) for w in words(text)) if s not in STOP_STEMS}


def _carrying(facts: Sequence[Fact]) -> set[str]:
    """Logs in which calls that want an answer get one."""
    asked: dict[str, int] = {}
    answered: dict[str, int] = {}
    for fact in facts:
        if limit_s(fact) is None:
            continue
        sources = {u.source for part in ("response", "report") for u in fact.heard.get(part, ())}
        for call in fact.heard.get("call", ()):
            asked[call.source] = asked.get(call.source, 0) + 1
            answered[call.source] = answered.get(call.source, 0) + (call.source in sources)
    return {s for s, n in asked.items() if answered[s] >= ANSWERING_SHARE * n and answered[s] > 0}
