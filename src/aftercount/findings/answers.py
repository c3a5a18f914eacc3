"""What was said in answer to a call, when nobody could match it to the call's step?

Conventions: as in `heard`; one log at a time, on its own clock. An answer is what the station called says next, or a voice
nobody could name while no other call has gone out. In a garbled log (`GARBLED`) the very next sentence of a voice nobody
could name is taken for the answer, and so is a word of acceptance in the call's own sentence: a mangled 'in work' is no
silence. It does not decide whether an answer was due or late.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, plain
from aftercount.match.language import CHASING, STOP_STEMS, stem
from aftercount.speech.words import words

# An answer is looked for within this many times the response limit, among this many next sentences of the log.
STRAY_LIMITS = 2.0
STRAY_SENTENCES = 12
# A voice nobody could name answers a call this soon, seconds, or as long as no other call has gone out.
UNNAMED_S = 12.0
# 'On it', 'Yep', 'Doing it now': an answer of no known form is as short as this many words, and the very next thing said.
BRIEF_WORDS = 4
# A longer one takes up a word of the call, and is among this many next sentences.
NEXT_SENTENCES = 3
# A log is garbled when more than this share of the words of its matched lines were said once and are not the plan's: clean
# talk of the fitting scenarios has 0.01 to 0.05, talk with 15 % word error 0.05 to 0.14, with 30 % 0.11 to 0.22.
GARBLED = 0.055
# Fewer words than this say nothing about a log.
LEAST_WORDS = 40
# Words of acceptance that nobody uses in an order, and how many words an order has before one may follow it.
ACCEPTING = frozenset({"copy", "roger", "wilco", "okay", "ok", "aye", "working", "understood"})
LEAST_CALL = 4
_THANKS = re.compile(r"(?:okay,? )?(?:thank you|thanks)(?: \w+){0,2}[.!]?", re.IGNORECASE)
_CALLED_UPON = ("call", "poll")
_NO_ANSWER = frozenset({"mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff", "poll"})


@dataclass(frozen=True, slots=True)
class _Claim:
    """Which step an utterance was matched to, and as what."""

    key: tuple[str, int]
    part: str


class Talk:
    """The conversation of each log, and what the steps have claimed of it."""

    def __init__(self, facts: Sequence[Fact], heard: Heard) -> None:
        self.heard = heard
        self.claims: dict[int, _Claim] = {}
        for fact in facts:
            for part, utterances in fact.heard.items():
                for u in utterances:
                    self.claims.setdefault(u.event, _Claim((fact.step, fact.in_pass), part))
        self.garbled = garbled_logs(facts)
        self.things = {word for fact in facts for word in telling(fact.action)}

    def answer(self, fact: Fact, limit: float) -> tuple[Utterance, Utterance] | None:
        """(call, answer): the first answer to this step's call in a log that carried it."""
        by = plain(fact.plan.get("by"))
        if by is None:
            return None
        for call in fact.heard.get("call", ()):
            for answer, moved_on in self._after(call, fact):
                took = apart_s(answer, call)
                if took is None or took > STRAY_LIMITS * limit:
                    break
                if _theirs(answer, str(by), call) or self._unnamed(answer, call, took, moved_on, fact) or self._misheard(answer, str(by), call, took):
                    return call, answer
        return None

    def accepted(self, fact: Fact) -> bool:
        """Whether the station called accepted the order of the one who calls for the step, soon after it."""
        found = self.answer(fact, UNNAMED_S / STRAY_LIMITS)
        if found is None:
            return False
        call, answer = found
        by, to = plain(fact.plan.get("by")), plain(fact.plan.get("to"))
        return call.kind == "call" and call.to == by and (to is None or call.station == to) and answer.station == by and answer.kind == "response"

    def within(self, fact: Fact) -> Utterance | None:
        """The call that has its own answer run into it: 'heat the core copy heating the core', in a garbled log."""
        return next((u for u in fact.heard.get("call", ()) if u.source in self.garbled
                     and not ACCEPTING.isdisjoint(words(u.text)[LEAST_CALL:])), None)

    def _misheard(self, answer: Utterance, by: str, call: Utterance, took: float) -> bool:
        """In a garbled log the next thing said is the answer, unless another station is named in it."""
        if answer.source not in self.garbled or answer.event != call.event + 1 or answer.kind in _NO_ANSWER or took > UNNAMED_S:
            return False
        return {answer.station, answer.to} <= {None, by, call.station} and not _asks(answer)

    def _after(self, call: Utterance, fact: Fact) -> Iterator[tuple[Utterance, bool]]:
        """The same log's next sentences that may answer, each with whether another call has gone out since."""
        moved_on = False
        for event in range(call.event + 1, call.event + 1 + STRAY_SENTENCES):
            other = self.heard.get(event)
            if other is None or other.source != call.source:
                return
            claim = self.claims.get(event)
            if claim is not None and claim.key != (fact.step, fact.in_pass):
                if claim.part == "call" and other.to == call.to and other.to is not None:
                    return  # what that station says next answers the next call
                if claim.part == "response" and other.station is not None:
                    yield other, moved_on  # its words are another step's, as in a wrong read-back; its place is here
                moved_on = moved_on or claim.part == "call"
            elif claim is None or claim.part != "call":
                yield other, moved_on
                moved_on = moved_on or (claim is None and other.kind in _CALLED_UPON and other.station not in (None, other.to))

    def _of_something_else(self, answer: Utterance, call: Utterance, fact: Fact) -> bool:
        """Whether it tells of what another step is about, and of nothing that the order or its own step is about."""
        said = telling(answer.text)
        return not said.isdisjoint(self.things) and said.isdisjoint(telling(call.text) | telling(fact.action))

    def _unnamed(self, answer: Utterance, call: Utterance, took: float, moved_on: bool, fact: Fact) -> bool:
        """A voice nobody could name: an answer by its words, or short and the very next thing said."""
        if answer.station is not None or answer.kind in _NO_ANSWER or _thanks(answer) or _asks(answer):
            return False
        if answer.kind == "response" and answer.to in (None, call.to, call.station):
            return took <= UNNAMED_S or (not moved_on and not self._of_something_else(answer, call, fact))
        if took > UNNAMED_S or moved_on:
            return not moved_on and answer.kind == "report" and not telling(answer.text).isdisjoint(telling(call.text) | telling(fact.action))
        brief = answer.event == call.event + 1 and answer.to is None and len(answer.text.split()) <= BRIEF_WORDS
        near = answer.event - call.event <= NEXT_SENTENCES and answer.kind in ("note", "report")
        return near and (brief or bool(telling(answer.text) & telling(call.text)))


def _theirs(answer: Utterance, by: str, call: Utterance) -> bool:
    """The station called, speaking back; a call of its own to somebody else is none."""
    back = answer.to is None or answer.to == call.station or call.station is None
    return answer.station == by and not _thanks(answer) and not _chases(answer) and (answer.kind in ("response", "report", "note") or (answer.kind == "call" and back))


def _thanks(answer: Utterance) -> bool:
    """Whether all that is said is thanks: that closes an exchange and takes no order up."""
    return bool(_THANKS.fullmatch(answer.text.strip()))


def _chases(answer: Utterance) -> bool:
    """Whether it is the caller once more, of a log that does not tell who speaks."""
    return bool(CHASING.search(answer.text))


def _asks(answer: Utterance) -> bool:
    """A question of a voice that nobody could name: the caller's, or no answer yet."""
    return _chases(answer) or answer.text.rstrip().endswith("?")


def telling(text: str) -> set[str]:
    return {s for s in (stem(w) for w in words(text)) if s not in STOP_STEMS}


def garbled_logs(facts: Sequence[Fact]) -> frozenset[str]:
    """Logs whose matched lines are full of words that nobody uses elsewhere."""
    lines = {u.event: u for f in facts for us in f.heard.values() for u in us if u.medium == "speech"}
    spoken: dict[str, Counter[str]] = {}
    for u in lines.values():
        spoken.setdefault(u.source, Counter()).update(telling(u.text))
    planned = {s for f in facts for t in (f.action, *(f.plan.get("says") or ())) for s in telling(str(t))}
    return frozenset(source for source, said in spoken.items() if said.total() >= LEAST_WORDS and _odd_share(said, planned) > GARBLED)


def _odd_share(said: Counter[str], planned: set[str]) -> float:
    """The share of words said once that are not the plan's."""
    return sum(n == 1 and w not in planned and not w.isdigit() for w, n in said.items()) / said.total()
