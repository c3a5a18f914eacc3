"""Did the station read the order back as it was given?

Conventions: texts are compared as stems of canonical words (`speech.words`, `match.language`). A read-back is what the called
station says first, soon after the call, if it repeats enough of the call; it is wrong when it has another word where the
call's stood: a word by which two steps of this plan differ (stage 1 or 2, upper or lower), an opposite (open, close), or
another number. Another word for the same (begin for start, or any wording of this step) is right. Plain answers ('in work', 'copy')
repeat nothing and are never wrong. What repeats another order, not yet answered, answers that one. A step ordered again is read back
again. It does not decide whether an answer was due.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from aftercount.findings.answers import garbled_logs
from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, plain
from aftercount.findings.instead import Stems, alternatives, opposed, wordings
from aftercount.findings.steps import Timed
from aftercount.match.dialogue import SAYS_DONE
from aftercount.match.language import LIKE_STEMS, NOT_NOW, STOP_STEMS, stem
from aftercount.speech.words import words

# Words an answer must share with its call to be a read-back, besides stations and words of grammar and courtesy; one is enough if the
# rest is one word for another.
SHARED_WORDS = 2
# A read-back begins within this many seconds of the call's beginning (a call takes some five seconds to say)...
ANSWER_S = 15.0
# ...and within this many sentences of that log. One that repeats all but a word may come later.
ANSWER_SENTENCES = 4
LATE_ANSWER_S = 90.0
LATE_SENTENCES = 16
# A call matched at least this surely ordered its step, whatever of its words was made out.
SURE_CALL = 0.9
# A wrong read-back is put right within this many seconds and sentences.
CORRECTION_S = 20.0
CORRECTION_SENTENCES = 4
# A text begins with two call signs at most.
ENDS = 2
_STEP_NUMBER = re.compile(r"\b(?:step|item|task) (?:number )?\d[\d.]*(?: (?:dot|dash|point|decimal) \d+)*|\b\d+(?: (?:dot|dash) \d+)+")
_AHEAD = re.compile(r"\b(?:stand ?by (?:to|for)|coming up on)\b", re.IGNORECASE)  # of what comes next
CORRECTIONS = frozenset({"negative", "correction", "incorrect", "disregard"})
# Who gave the order does not accept what was read back, and says it again.
_REJECTED = re.compile(r"^(?:[\w ]{0,24}, )?(?:(?:negative|no|nope|incorrect|wrong|correction|disregard)\b(?! (?:issues?|problems?|go\b))|(?:say again\W+)?i (?:said|say again)\b|that's (?:not|wrong)\b)", re.IGNORECASE)
# A plan that names things so has an A among them, which is an article elsewhere.
_LETTERS = frozenset("bcdefgh")
# What is said in acceptance tells of no deed done: 'roger, vent closed' reads an order back.
_ACCEPTED = frozenset({"copy", "copies", "copied", "roger", "wilco", "understand", "understands", "understood", "acknowledged", "aye"})
# It stands among this many words, behind who says it.
ACCEPTED_WORDS = 4


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A wrong read-back: the word said for the word ordered."""

    ordered: str
    said: str
    corrected: bool
    heard: Utterance


class ReadBacks:
    """The read-backs of one count against one plan's words."""

    def __init__(self, heard: Heard, stations: Mapping[str, Iterable[str]], plan: Any, steps: Iterable[tuple[Fact, Timed]]) -> None:
        self.heard = heard
        # a report of another step, given in between, is not a read-back of this one; but what alone tells of one, off its time, is likelier that
        known = list(steps)
        self.reports = {u.event for f, t in known if not _alone_off_time(f, t) for u in f.heard.get("report", ())}
        # nor is the answer to another call, given before it
        self.answers = {(u.event, f.step) for f, _ in known for u in f.heard.get("response", ()) if _answers_call(f, u)}
        self.names = sorted({words(form) for s, forms in stations.items() for form in (s, *forms)} - {()}, key=lambda name: (-len(name), name))
        worded = wordings(plan)
        self.things = {w for texts in worded.values() for t in texts for w in words(t)}  # 'topping', 'housing' are no doing
        self.lettered = not _LETTERS.isdisjoint(self.things)
        self.own = {step: [_stems(words(t), self.lettered) for t in texts] for step, texts in worded.items()}
        self.instead = alternatives((step, stems) for step, own in self.own.items() for stems in own)
        # in garbled talk the order that a later answer is for may not have been made out
        self.garbled = garbled_logs([f for f, _ in known])
        self.again = self._ordered_again([f for f, _ in known])

    def stems(self, text: str) -> Stems:
        return _stems(self._bare(text), self.lettered)

    def _bare(self, text: str) -> Stems:
        """Words without the call signs at the ends and the number of the step: 'stage one' is also a thing that is spoken of."""
        told = words(_STEP_NUMBER.sub(" ", " ".join(words(text))))
        first: Stems | None = None
        for _ in range(ENDS):
            at = next((i for i, w in enumerate(told) if w not in STOP_STEMS), 0)
            name = next((n for n in self.names if told[at:at + len(n)] == n), None)
            if name is None or name == first:
                break
            told, first = told[at + len(name):], name
        name = next((n for n in self.names if told[-len(n):] == n and not self.things.issuperset(n)), None)  # 'test the timer' ends with a thing
        return told[:-len(name)] if name and name != told else told

    def _first(self, text: str) -> str | None:
        """The first word besides call signs and words of grammar, as it was said; letters of a spelt call sign are no words."""
        return next((w for w in self._bare(text) if len(w) > 1 and w not in STOP_STEMS), None)

    def wrong(self, fact: Fact) -> ReadBack | None:
        """The first wrong read-back of this step's calls in any log."""
        by = plain(fact.plan.get("by"))
        for call in (*fact.heard.get("call", ()), *self.again.get((fact.step, fact.in_pass), ())):
            if by is None or call.station == by:
                continue
            for answer in self._repeats(call, str(by), fact):
                swap = self._rejected(fact, call, answer)
                if swap is None and (swap := self._swap(fact, call, answer)) is not None and self._of_another(swap[1], answer, call, str(by)):
                    swap = None
                if swap is not None:
                    return ReadBack(_as_said(swap[0], f"{call.text} {fact.action}"), _as_said(swap[1], answer.text), self._corrected(answer), answer)
        return None

    def _repeats(self, call: Utterance, by: str, fact: Fact) -> Iterator[Utterance]:
        """What the called station says next, up to the first that repeats the order's words or its next call."""
        own = {w for wording in (self.stems(call.text), *self.own.get(fact.step, ())) for w in wording}
        within = (ANSWER_S, ANSWER_SENTENCES) if call.source in self.garbled else (LATE_ANSWER_S, LATE_SENTENCES)
        for u in self._after(call, *within):
            if u.kind == "call" and u.to == by and not self._answers(u, by):
                return
            if not self._answers(u, by) or self._told_done(u, call) or _of_another_time(u) or (u.kind != "response" and u.event in self.reports):
                continue
            if any(event == u.event and step != fact.step for event, step in self.answers):
                continue
            yield u
            if not own.isdisjoint(self.stems(u.text)):
                return

    def _swap(self, fact: Fact, call: Utterance, answer: Utterance) -> tuple[str, str] | None:
        """(word ordered, word said for it). A word of the order that was not made out is known from the plan, if it surely was this step's."""
        own = self.own.get(fact.step, [])
        orders = [self.stems(call.text), *(own if fact.confidence >= SURE_CALL else ())]
        soon = self._soon(call, answer)
        said, allowed = self.stems(answer.text), {w for wording in (*own, orders[0]) for w in wording}
        found = (swap for o in orders if (swap := self.swapped(o, said, allowed, soon)))
        return next((swap for swap in found if not (answer.source in self.garbled and _lost_a_word(*swap))), None)

    def _rejected(self, fact: Fact, call: Utterance, answer: Utterance) -> tuple[str, str] | None:
        """(word ordered, word said for it) where who ordered it says the one word again at once: no plan need know the two apart."""
        if not self._soon(call, answer):
            return None
        own, ordered, said = self.own.get(fact.step, []), self.stems(call.text), self.stems(answer.text)
        missing, new = _only_in(ordered, said), _only_in(said, [*ordered, *(w for wording in own for w in wording)])
        if not missing or not new or len(missing) == len(ordered):
            return None
        for u in self._after(answer, CORRECTION_S, CORRECTION_SENTENCES):
            if _REJECTED.search(u.text) and (u.station is None or u.station != plain(fact.plan.get("by"))):
                again = self.stems(u.text)
                return next(((word, new[0]) for word in missing if word in again and not _like_any(word, new)), None)
        return None

    @staticmethod
    def _soon(call: Utterance, answer: Utterance) -> bool:
        return answer.event <= call.event + ANSWER_SENTENCES and (apart_s(answer, call) or 0.0) <= ANSWER_S

    def swapped(self, ordered: Stems, said: Stems, allowed: Iterable[str] = (), soon: bool = True) -> tuple[str, str] | None:
        """(word ordered, word said for it), or None. allowed: words that are right whatever the call said; soon: few words will do."""
        missing, new = _only_in(ordered, said), _only_in(said, [*ordered, *allowed])
        shared = sum(w not in missing or _like_any(w, said) for w in dict.fromkeys(ordered))
        but_for_one = shared > 0 and len(new) == 1 and sum(not _like_any(w, said) for w in missing) == 1
        if not but_for_one and (shared < SHARED_WORDS or not soon):
            return None
        return next(((word, other) for word in missing for other in new if self._stands_for(word, other)), None)

    def _of_another(self, word: str, answer: Utterance, call: Utterance, by: str) -> bool:
        """Whether the last who said the word to the one who answers, on that log, ordered something by it: then that is what is answered, if it came after
        the call or is no less like the answer."""
        for event in range(answer.event - 1, answer.event - 1 - LATE_SENTENCES, -1):
            before = self.heard.get(event)
            if before is None or before.source != answer.source or not 0.0 <= (apart_s(answer, before) or 0.0) <= LATE_ANSWER_S:
                return False
            if before.event != call.event and before.station != by and word in (ordered := set(self.stems(before.text))):
                said = set(self.stems(answer.text))
                since = before.event > call.event or len(said & ordered) >= len(said & set(self.stems(call.text)))
                return since and (before.kind == "call" or (before.station is not None and before.station == call.station))
        return False

    def _ordered_again(self, facts: Iterable[Fact]) -> dict[tuple[str, int], list[Utterance]]:
        """Calls that say one step whole to who does it, and were taken for no step's doing: by step and pass."""
        wanted: dict[str, list[tuple[tuple[str, int], frozenset[str]]]] = {}
        taken: set[int] = set()
        for fact in facts:
            taken.update(u.event for told in fact.heard.values() for u in told)
            if fact.seen and (by := plain(fact.plan.get("by"))) is not None:
                wanted.setdefault(str(by), []).extend(((fact.step, fact.in_pass), frozenset(own)) for own in self.own.get(fact.step, ()) if own)
        out: dict[tuple[str, int], list[Utterance]] = {}
        for u in self.heard.all:
            if u.kind != "call" or u.to is None or u.to not in wanted or u.event in taken or u.source in self.garbled:
                continue
            said = set(self.stems(u.text))
            keys = {key for key, own in wanted[u.to] if key[1] == u.in_pass and own <= said}
            if len(keys) == 1:
                out.setdefault(keys.pop(), []).append(u)
        return out

    def _stands_for(self, word: str, other: str) -> bool:
        both_numbers = word.isdigit() and other.isdigit()
        differ = both_numbers or other in self.instead.get(word, ()) or opposed(word, other)
        return differ and not any(word in group and other in group for group in LIKE_STEMS)

    def _after(self, first: Utterance, within_s: float, sentences: int) -> Iterator[Utterance]:
        """What the same log has next."""
        for event in range(first.event + 1, first.event + 1 + sentences):
            other = self.heard.get(event)
            if other is None or other.source != first.source:
                return
            apart = apart_s(other, first)
            if apart is not None and apart > within_s:
                return
            yield other

    def _answers(self, u: Utterance, by: str) -> bool:
        """Said by that station; or in its own name, or by nobody known: 'Propulsion, opening the vent' answers 'Propulsion, open ...', whoever
        is thought to say it."""
        return u.station == by or (u.kind == "response" and ((u.to == by and self._doing(u)) or (u.station is None and u.to in (None, by))))

    def _told_done(self, u: Utterance, call: Utterance) -> bool:
        """A report of a deed done ('valve opened', 'scrubber running, complete') reads nothing back; 'opening the valve' does, and what begins with the
        word that the order began with. A keeper's notes tell of deeds, not of answers."""
        if u.medium == "speech" and (not _ACCEPTED.isdisjoint(words(u.text)[:ACCEPTED_WORDS]) or self._first(u.text) == self._first(call.text)):
            return False
        return (u.kind == "report" or u.medium == "typed") and not (self._doing(u) and not SAYS_DONE.search(u.text))

    def _doing(self, u: Utterance) -> bool:
        return any(word.endswith("ing") and word not in self.things for word in words(u.text))

    def _corrected(self, answer: Utterance) -> bool:
        later = self._after(answer, CORRECTION_S, CORRECTION_SENTENCES)
        return any(CORRECTIONS & set(words(u.text)) for u in later if u.station != answer.station or u.station is None)


def _of_another_time(u: Utterance) -> bool:
    """Whether it is of what is to come ('stand by for'), or a remark on what was."""
    return bool(_AHEAD.search(u.text)) or (u.kind == "note" and bool(NOT_NOW.search(u.text.lower())))


def _stems(told: Stems, lettered: bool = False) -> Stems:
    """lettered: whether an A may be a name wherever it stands."""
    last = next((w for w in reversed(told) if w != "over"), "")  # 'computer A': a name at the end, elsewhere an article
    kept = [s for s in (stem(w) for w in told) if s not in STOP_STEMS or (lettered and s == "a")]
    if lettered and last == "a":
        return tuple(kept)
    return (*kept, last) if len(last) == 1 and last.isalpha() and last in STOP_STEMS else tuple(kept)


def _alone_off_time(fact: Fact, time: Timed) -> bool:
    return time.timing in ("early", "late") and list(fact.heard) == ["report"] and len(fact.heard["report"]) == 1


def _lost_a_word(one: str, other: str) -> bool:
    """Whether of two numbers the one is what is left of the other: 82 without its 'two', 352 without its 'three'. In garbled talk that is no slip."""
    if not (one.isdigit() and other.isdigit()):
        return False
    short, long = sorted((one, other), key=lambda n: (len(n), -int(n[-1] == "0")))
    tens = len(long) == len(short) == 2 and short[1] == "0" and short[0] == long[0]
    return tens or (len(short) < len(long) and (long.startswith(short) or long.endswith(short)))


def _answers_call(fact: Fact, answer: Utterance) -> bool:
    """Whether it answers a call for this step that came before it on its log."""
    apart = (apart_s(answer, call) for call in fact.heard.get("call", ()) if call.source == answer.source)
    return any(gap is not None and 0.0 <= gap <= ANSWER_S for gap in apart)


def _like_any(word: str, said: Iterable[str]) -> bool:
    """Whether another word for the same was said: 'clear' for 'evacuate'."""
    others = {w for form in said for w in (form, stem(form))}
    return any(word in group and not group.isdisjoint(others) for group in LIKE_STEMS)


def _as_said(wanted: str, text: str) -> str:
    """The word of a text that has this stem."""
    return next((w for w in words(text) if stem(w) == wanted), wanted)


def _only_in(mine: Iterable[str], theirs: Iterable[str]) -> list[str]:
    """Words of the one text that the other lacks; an ending that hides another ('deploying', 'deploy') makes no difference."""
    known = {w for other in theirs for w in (other, stem(other))}
    return [w for w in dict.fromkeys(mine) if w not in known and stem(w) not in known]
