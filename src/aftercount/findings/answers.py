"""What was said in answer to a call, when nobody could match it to the call's step?

Conventions: as in `heard`; one log at a time, on its own clock. An answer is what the station called says next, or a voice
nobody could name while no other call has gone out. In a garbled log (`GARBLED`) the very next sentence of a voice nobody
could name is taken for the answer, and so is a word of acceptance in the call's own sentence: a mangled 'in work' is no
silence. Hesitations are no sentences; talk of the loop itself, answers to a poll and remarks on nothing that was ordered answer no order.
It does not decide whether an answer was due or late.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, plain
from aftercount.match.language import ASKED, CHASING, HESITATIONS, OF_THE_LOOP, STOP_STEMS, stem
from aftercount.speech.words import words

# An answer is looked for within this many times the response limit, among this many next sentences of the log.
STRAY_LIMITS = 2.0
STRAY_SENTENCES = 12
# What the station called accepts in so many words is looked for within this many times the limit, if nothing else has been asked of it.
LATE_LIMITS = 5.0
# A voice nobody could name answers a call this soon, seconds, or as long as no other call has gone out.
UNNAMED_S = 12.0
# 'On it', 'Yep', 'Doing it now': an answer of no known form is as short as this many words, and the very next thing said.
BRIEF_WORDS = 4
# A longer one takes up a word of the call, and is among this many next sentences.
NEXT_SENTENCES = 3
# In a garbled log the next thing said may be any answer of so many words, and so may so many words behind the call sign of the station called.
SHORT_WORDS = 5
NAMED_WORDS = 2
# A log is garbled when more than this share of the words of its matched lines were said once and are not the plan's: clean
# talk of the fitting scenarios has 0.01 to 0.05, talk with 15 % word error 0.05 to 0.14, with 30 % 0.11 to 0.22.
GARBLED = 0.055
# Fewer words than this say nothing about a log.
LEAST_WORDS = 40
# Words of acceptance that nobody uses in an order, and how many words an order has before one may follow it.
ACCEPTING = frozenset({"copy", "roger", "wilco", "okay", "ok", "aye", "working", "understood"})
LEAST_CALL = 4
# So many letters a word of acceptance has that is known though one of them was misheard.
LEAST_LETTERS = 5
_ACCEPTANCES = ("roger", "wilco", "copies", "copied", "acknowledge", "acknowledged", "acknowledges", "understood")
# What a remark on something else does not say.
_CLOSING = ACCEPTING | {"copies", "done", "complete", "completed", "finished", "that", "negative", "yes", "no", "unable"}
_FILLERS = HESITATIONS | {"a", "an", "the", "and"}
_THANKS = re.compile(r"(?:okay,? )?(?:thank you|thanks)(?: \w+){0,2}[.!]?", re.IGNORECASE)
_CALLED_UPON = ("call", "poll")
_NO_ANSWER = frozenset({"mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff", "poll"})


@dataclass(frozen=True, slots=True)
class _Claim:
    """Which step an utterance was matched to, and as what."""

    key: tuple[str, int]
    part: str


class _Turn(NamedTuple):
    """What is said after a call. moved_on: whether another call has gone out since; asked: whether something else was asked of the station called; spoke:
    whether that has spoken since; polled: whether a poll has begun; nth: how many sentences on."""

    said: Utterance
    moved_on: bool
    asked: bool
    spoke: bool
    polled: bool
    nth: int


class Talk:
    """The conversation of each log, and what the steps have claimed of it."""

    def __init__(self, facts: Sequence[Fact], heard: Heard, stations: Mapping[str, Iterable[str]] | None = None) -> None:
        self.heard = heard
        self.claims: dict[int, _Claim] = {}
        for fact in facts:
            for part, utterances in fact.heard.items():
                for u in utterances:
                    self.claims.setdefault(u.event, _Claim((fact.step, fact.in_pass), part))
        self.by = {(f.step, f.in_pass): plain(f.plan.get("by")) for f in facts}
        self.polls = {(f.step, f.in_pass) for f in facts if f.plan.get("kind") == "poll"}
        self.garbled = garbled_logs(facts)
        self.things = {word for fact in facts for word in telling(fact.action)}
        self.names = {words(form) for s, forms in (stations or {}).items() for form in (s, *forms)} - {()}
        self.signs = {stem(word) for name in self.names for word in name}

    def answer(self, fact: Fact, limit: float, late: float = LATE_LIMITS) -> tuple[Utterance, Utterance] | None:
        """(call, answer): the first answer to this step's call in a log that carried it. late: how many limits after the call an acceptance may come."""
        by = plain(fact.plan.get("by"))
        if by is None:
            return None
        for call in fact.heard.get("call", ()):
            for turn in self._after(call, fact, str(by)):
                took = apart_s(turn.said, call)
                if took is None or took > late * limit:
                    break
                if took > STRAY_LIMITS * limit and (turn.asked or not self._accepts(turn, str(by), call, fact)):
                    continue
                if self._answers(turn, str(by), (call, took), fact):
                    return call, turn.said
        return None

    def accepted(self, fact: Fact) -> bool:
        """Whether the station called accepted the order of the one who calls for the step, soon after it."""
        found = self.answer(fact, UNNAMED_S / STRAY_LIMITS, STRAY_LIMITS)
        if found is None:
            return False
        call, answer = found
        by, to = plain(fact.plan.get("by")), plain(fact.plan.get("to"))
        return call.kind == "call" and call.to == by and (to is None or call.station == to) and answer.station == by and answer.kind == "response"

    def within(self, fact: Fact) -> Utterance | None:
        """The call that has its own answer run into it: 'heat the core copy heating the core', in a garbled log."""
        return next((u for u in fact.heard.get("call", ()) if u.source in self.garbled and self._run_in(words(u.text))), None)

    def _run_in(self, told: tuple[str, ...]) -> bool:
        """Whether an acceptance follows, and after it nothing, a name, or a word of the order once more: a stray 'okay' is within the order."""
        at = next((i for i in range(LEAST_CALL, len(told)) if told[i] in ACCEPTING), None)
        if at is None:
            return False
        tail = told[at + 1:]
        return not tail or tail in self.names or not telling(" ".join(tail)).isdisjoint(telling(" ".join(told[:at])))

    def _answers(self, turn: _Turn, by: str, called: tuple[Utterance, float], fact: Fact) -> bool:
        """called: the call, and how long ago it was."""
        (call, took), said = called, turn.said
        if OF_THE_LOOP.search(said.text) or (turn.polled and self._goes(said, call, fact)):
            return False
        if _theirs(said, by, call):
            return took <= UNNAMED_S or not self._remark(said, call, fact)
        if call.to is not None and call.to == said.station == plain(fact.plan.get("to")):  # of the call signs only the caller's own was made out, and he was taken for called
            return said.kind == "response" and took <= UNNAMED_S and not turn.moved_on and not _thanks(said)
        return (self._accepts(turn, by, call, fact) and said.station is None) or self._unnamed(turn, call, took, fact) or self._misheard(turn, by, called, fact)

    def _accepts(self, turn: _Turn, by: str, call: Utterance, fact: Fact) -> bool:
        """Whether the station called accepts what it was told, by its own voice, in its own name ('copy, PROP' closes only what PROP has said) or as the
        next thing said; in a garbled log by hardly more than its name."""
        said = turn.said
        signed = said.station is None and said.to == by and not turn.spoke
        alone = turn.nth == 1 and {said.station, said.to} == {None} and not self._of_something_else(said, call, fact)
        if _thanks(said) or not (said.station == by or signed or alone):
            return False
        brief = len(words(said.text)) <= BRIEF_WORDS
        return said.kind == "response" or (brief and (_sounds_accepting(said) or (said.source in self.garbled and self._in_own_name(said))))

    def _in_own_name(self, said: Utterance) -> bool:
        """Whether a call sign is said, and hardly anything else."""
        told = words(said.text)
        return any(name in (told[:len(name)], told[-len(name):]) and 0 < len(told) - len(name) <= NAMED_WORDS for name in self.names)

    def _goes(self, said: Utterance, call: Utterance, fact: Fact) -> bool:
        """Whether it answers a poll: 'go', and no word of the order."""
        return "go" in words(said.text) and (telling(said.text) - self.signs).isdisjoint(_ordered(call, fact))

    def _remark(self, said: Utterance, call: Utterance, fact: Fact) -> bool:
        """Whether the station called, or who was thought to be it, says something that is not of the order, in nobody's name."""
        if said.kind not in ("note", "report") or len(told := words(said.text)) <= BRIEF_WORDS or not _CLOSING.isdisjoint(told):
            return False
        named = any(name in (told[:len(name)], told[-len(name):]) for name in self.names)
        return not named and telling(said.text).isdisjoint(_ordered(call, fact))

    def _misheard(self, turn: _Turn, by: str, called: tuple[Utterance, float], fact: Fact) -> bool:
        """In a garbled log the next thing said is the answer, unless another station is named in it or it is long and has no word of the order."""
        answer, (call, took) = turn.said, called
        if answer.source not in self.garbled or turn.nth > 1 or answer.kind in _NO_ANSWER or took > UNNAMED_S:
            return False
        if len(words(answer.text)) > SHORT_WORDS and telling(answer.text).isdisjoint(_ordered(call, fact)):
            return False
        return {answer.station, answer.to} <= {None, by, call.station} and not _asks(answer)

    def _after(self, call: Utterance, fact: Fact, by: str) -> Iterator[_Turn]:
        """The same log's next sentences that may answer."""
        moved_on = asked = spoke = polled = False
        nth = 0
        for event in range(call.event + 1, call.event + 1 + STRAY_SENTENCES):
            other = self.heard.get(event)
            if other is None or other.source != call.source:
                return
            if _FILLERS.issuperset(words(other.text)):
                continue
            nth += 1
            claim, turn = self.claims.get(event), _Turn(other, moved_on, asked, spoke, polled, nth)
            if claim is not None and claim.key != (fact.step, fact.in_pass):
                if claim.part == "call" and by == (other.to or self.by[claim.key]) and claim.key not in self.polls:
                    return  # what that station says next answers the next call
                if claim.part == "response" and other.station is not None and claim.key not in self.polls:
                    yield turn  # its words are another step's, as in a wrong read-back; its place is here
                moved_on = moved_on or claim.part == "call"
            elif claim is None or claim.part != "call":
                yield turn
                others = other.station not in (None, other.to) or (other.station is None and other.to not in (None, by, call.station))
                moved_on = moved_on or (claim is None and other.kind in _CALLED_UPON and others)
            polled = polled or other.kind == "poll" or (claim is not None and claim.key in self.polls)
            asked = asked or polled or (claim is None and other.to == by and other.kind in _CALLED_UPON)
            spoke = spoke or other.station == by

    def _of_something_else(self, answer: Utterance, call: Utterance, fact: Fact) -> bool:
        """Whether it tells of what another step is about, and of nothing that the order or its own step is about."""
        said = telling(answer.text)
        return not said.isdisjoint(self.things) and said.isdisjoint(_ordered(call, fact))

    def _unnamed(self, turn: _Turn, call: Utterance, took: float, fact: Fact) -> bool:
        """A voice nobody could name: an answer by its words, or short and the very next thing said."""
        answer, moved_on = turn.said, turn.moved_on
        if answer.station is not None or answer.kind in _NO_ANSWER or _thanks(answer) or _asks(answer):
            return False
        if answer.kind == "response" and answer.to in (None, call.to, call.station):
            return took <= UNNAMED_S or (not moved_on and not self._of_something_else(answer, call, fact))
        if took > UNNAMED_S or moved_on:
            return not moved_on and answer.kind == "report" and not telling(answer.text).isdisjoint(_ordered(call, fact))
        brief = turn.nth == 1 and answer.to is None and len(answer.text.split()) <= BRIEF_WORDS
        near = turn.nth <= NEXT_SENTENCES and answer.kind in ("note", "report")
        return near and (brief or bool(telling(answer.text) & telling(call.text)))


def _ordered(call: Utterance, fact: Fact) -> set[str]:
    """What the order and its step are about."""
    return telling(call.text) | {word for text in (fact.action, *(fact.plan.get("says") or ())) for word in telling(str(text))}


def _sounds_accepting(said: Utterance) -> bool:
    """'rogar' and 'copees'."""
    from rapidfuzz.distance import OSA

    return any(len(w) >= LEAST_LETTERS and OSA.distance(w, known) <= 1 for w in words(said.text) for known in _ACCEPTANCES)


def _theirs(answer: Utterance, by: str, call: Utterance) -> bool:
    """The station called, speaking back; what it says to somebody else is no answer, unless it accepts something."""
    back = answer.to is None or answer.to == call.station or call.station is None
    return answer.station == by and not _thanks(answer) and not _chases(answer) and (answer.kind == "response" or (answer.kind in ("report", "note", "call") and back))


def _thanks(answer: Utterance) -> bool:
    """Whether all that is said is thanks: that closes an exchange and takes no order up."""
    return bool(_THANKS.fullmatch(answer.text.strip()))


def _chases(answer: Utterance) -> bool:
    """Whether it is the caller once more, of a log that does not tell who speaks."""
    return bool(CHASING.search(answer.text))


def _asks(answer: Utterance) -> bool:
    """A question of a voice that nobody could name: the caller's, or no answer yet."""
    return _chases(answer) or answer.text.rstrip().endswith("?") or bool(ASKED.search(answer.text.lower()))


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
