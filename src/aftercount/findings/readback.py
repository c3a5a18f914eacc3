"""Did the station read the order back as it was given?

Conventions: texts are compared as stems of canonical words (`speech.words`, `match.language`). A read-back is what the called
station says first, soon after the call, if it repeats enough of the call; it is wrong when it has another word where the
call's stood: a word that this plan puts in the same place of an otherwise equal action (stage 1 or 2, upper or lower), an
opposite (open, close), or another number. Plain answers ('in work', 'copy') repeat nothing and are never wrong. It does not
decide whether an answer was due.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Heard, Utterance, apart_s, plain
from aftercount.match.language import OPPOSITE_STEMS, STOP_STEMS, stem
from aftercount.speech.words import words

# Words an answer must share with its call to be a read-back, besides stations and words of grammar and courtesy.
SHARED_WORDS = 2
# A read-back begins within this many seconds of the call's beginning (a call takes some five seconds to say)...
ANSWER_S = 15.0
# ...and within this many sentences of that log.
ANSWER_SENTENCES = 4
# A wrong read-back is put right within this many seconds and sentences.
CORRECTION_S = 20.0
CORRECTION_SENTENCES = 4
CORRECTIONS = frozenset({"negative", "correction", "incorrect", "disregard"})

Stems = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A wrong read-back: the word said for the word ordered."""

    ordered: str
    said: str
    corrected: bool
    heard: Utterance


class ReadBacks:
    """The read-backs of one count against one plan's words."""

    def __init__(self, heard: Heard, stations: Mapping[str, Iterable[str]], actions: Iterable[str],
                 facts: Iterable[Fact]) -> None:
        self.heard = heard
        # a report of another step, given in between, is not a read-back of this one
        self.reports = {u.event for f in facts for u in f.heard.get("report", ())}
        self.names = {w for s, forms in stations.items() for form in (s, *forms) for w in words(form)}
        self.instead = _alternatives(self.stems(a) for a in actions)

    def stems(self, text: str) -> Stems:
        return tuple(s for s in (stem(w) for w in words(text) if w not in self.names) if s not in STOP_STEMS)

    def wrong(self, fact: Fact) -> ReadBack | None:
        """The first wrong read-back of this step's call in any log."""
        by = plain(fact.plan.get("by"))
        for call in fact.heard.get("call", ()):
            if by is None or call.station == by:
                continue
            next_said = self._after(call, ANSWER_S, ANSWER_SENTENCES)
            answer = next((u for u in next_said if u.station == by and u.event not in self.reports), None)
            swap = None if answer is None else self.swapped(self.stems(call.text), self.stems(answer.text))
            if swap is not None and answer is not None:
                return ReadBack(swap[0], swap[1], self._corrected(answer), answer)
        return None

    def swapped(self, ordered: Stems, said: Stems) -> tuple[str, str] | None:
        """(word ordered, word said for it), or None."""
        missing = [w for w in dict.fromkeys(ordered) if w not in said]
        new = [w for w in dict.fromkeys(said) if w not in ordered]
        for word in missing:
            for other in new:
                shared = set(ordered) & set(said)
                if len(shared) >= SHARED_WORDS and self._stands_for(word, other):
                    return word, other
        return None

    def _stands_for(self, word: str, other: str) -> bool:
        both_numbers = word.isdigit() and other.isdigit()
        return both_numbers or other in self.instead.get(word, ()) or _opposed(word, other)

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

    def _corrected(self, answer: Utterance) -> bool:
        later = self._after(answer, CORRECTION_S, CORRECTION_SENTENCES)
        return any(CORRECTIONS & set(words(u.text)) for u in later if u.station != answer.station or u.station is None)


def _alternatives(actions: Iterable[Stems]) -> dict[str, set[str]]:
    """Words that stand in the same place of two otherwise equal actions."""
    places: dict[tuple[Stems, int], set[str]] = {}
    for action in actions:
        for i, word in enumerate(action):
            places.setdefault((action[:i] + ("",) + action[i + 1:], i), set()).add(word)
    out: dict[str, set[str]] = {}
    for together in places.values():
        for word in together:
            out.setdefault(word, set()).update(together - {word})
    return out


def _opposed(word: str, other: str) -> bool:
    for groups in OPPOSITE_STEMS:
        sides = [k for k, group in enumerate(groups) for w in (word, other) if w in group]
        if len(sides) == 2 and sides[0] != sides[1]:
            return True
    return False


def actions_of(plan: Any) -> list[str]:
    """Every wording of every step."""
    rows = zip(plan.table["action"].tolist(), plan.table["says"].tolist(), strict=True)
    return [text for action, says in rows for text in (action, *(says or ())) if isinstance(text, str)]
