"""What does a sentence say was done to the count, and how far is it to be believed?

Conventions: `what` is hold, resume, recycle, cutoff, scrub or liftoff; times in count seconds, lengths in seconds; `by`
is a station the words name ('hold called by RANGE'), else None. Grades as for marks: what may be, will be, was or is asked
about is doubtful; what is denied is not a call at all.

It does not decide whether the clock obeyed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from aftercount.speech.callgrades import HAVING, grade_of, repeated
from aftercount.speech.callparts import beside, held_at, leading, named_by
from aftercount.speech.callparts import length as length_of
from aftercount.speech.directory import Directory
from aftercount.speech.garbled import Guess, guesses, set_to, weighty
from aftercount.speech.marks import CERTAIN, DOUBTFUL, LIKELY, Mark, lower
from aftercount.speech.reasons import read_reason, stated
from aftercount.speech.spans import UNITS_FORM, read_spans
from aftercount.speech.triggers import (
    CUTOFF,
    HOLD,
    LIFTOFF,
    MAYBE,
    NOT_THE_COUNT,
    RECYCLE,
    RESUME,
    SCRUB,
    TRIGGERS,
)
from aftercount.speech.words import PUNCTUATION, offsets
from aftercount.speech.wordsets import word_set

PLAN_SHARE = 0.6  # of a planned action's words: a sentence with these is that action, not a call
_OF_A_READING = word_set("at t minus s sec seconds minute minutes mark")


@dataclass(frozen=True, slots=True)
class Call:
    what: str
    grade: str
    t_s: float | None
    to_t_s: float | None
    length_s: float | None
    reason: str | None
    by: str | None
    t_group: int | None = None  # which reading of the sentence t_s is, and to_t_s: context may settle it otherwise
    to_group: int | None = None


@dataclass(frozen=True)
class PlanWords:
    """Planned actions that use the words of calls ('hold LOX at 98 %'), as sets of words."""

    actions: tuple[frozenset[str], ...] = ()

    @cached_property
    def words(self) -> frozenset[str]:
        return frozenset().union(*self.actions)

    def describes(self, tokens: Sequence[str]) -> bool:
        said = frozenset(tokens)
        return any(len(a & said) >= max(2, PLAN_SHARE * len(a)) for a in self.actions)


def read_calls(text: str, tokens: Sequence[str], marks: Sequence[Mark], medium: str, directory: Directory, plan: PlanWords) -> list[Call]:
    """Every call of one sentence; the first of each kind."""
    if MAYBE.isdisjoint(tokens) and (medium != "speech" or not marks and weighty().isdisjoint(tokens)):
        return []
    searched = directory.hidden(tokens)
    said = _Said(text, tokens, marks, directory, medium)
    out = _as_said(said, searched, medium, plan)
    if medium == "speech" and not out and not plan.describes(tokens):
        lost = [guess for mark in marks[:1] if mark.clock == "T" and (guess := set_to(searched, mark.begin))]
        return [call for guess in (*guesses(searched), *lost) if (call := _guessed(guess, said, searched)) is not None][:1]
    return _consistent(list(out.values()))


def _guessed(guess: Guess, said: _Said, searched: Sequence[str]) -> Call | None:
    """A call that was likely meant, if nothing round it speaks against it; a recycle is told to where."""
    grade = grade_of(guess.what, LIKELY, searched, guess.begin, guess.end, "speech")
    made = _make(guess.what, grade, (guess.begin, guess.end), said) if grade else None
    return made if made is None or guess.what != RECYCLE or made.to_t_s is not None else None


def _as_said(said: _Said, searched: Sequence[str], medium: str, plan: PlanWords) -> dict[str, Call]:
    """The calls whose words were said, by kind."""
    tokens, joined = said.tokens, " ".join(searched)
    heard = [(trigger, found) for trigger in TRIGGERS for found in trigger.find(joined)]
    if not heard:
        return {}
    taken = [m.span() for m in NOT_THE_COUNT.finditer(joined)]
    planned = plan.describes(tokens)
    out: dict[str, Call] = {}
    for trigger, found in heard:
        if found.end() == found.start() or any(a < found.end() and found.start() < b for a, b in taken):
            continue
        taken.append(found.span())
        begin = joined.count(" ", 0, found.start()) + _lead(found)
        end = joined.count(" ", 0, found.end()) + 1
        grade = grade_of(trigger.what, trigger.grade, searched, begin, end, medium)
        if grade is None:
            continue
        of_plan = planned and trigger.what != LIFTOFF or trigger.what == CUTOFF and _a_thing(searched, (begin, end), plan, medium)
        if of_plan and not repeated(searched[begin:end]):
            grade = DOUBTFUL
        made = _make(trigger.what, grade, (begin, end), said)
        known = out.get(trigger.what)
        if known is None or (known.grade == DOUBTFUL and grade != DOUBTFUL):
            out[trigger.what] = made
    return out


def _a_thing(tokens: Sequence[str], at: tuple[int, int], plan: PlanWords, medium: str) -> bool:
    """A word that the plan has for a thing or an act of its own ('open the abort vent'), said once, among others and with no word that makes it a call."""
    begin, end = at
    rest = [t for t in (*tokens[:begin], *tokens[end:]) if t not in PUNCTUATION]
    if not any(t.isalpha() and t not in _OF_A_READING for t in rest) and (rest or medium == "typed"):
        return False  # 'cutoff at T-10 s', and 'CUTOFF' as a keeper writes it; of speech other words may have been lost
    once = len({t for t in tokens[begin:end] if t not in PUNCTUATION}) == len([t for t in tokens[begin:end] if t not in PUNCTUATION])
    return once and bool(plan.words & set(tokens[begin:end])) and HAVING.isdisjoint(tokens[max(0, begin - 3):begin])


def _lead(found: re.Match[str]) -> int:
    """How many words of a match only lead up to the call ('TC , hold'): cues among them count as before it."""
    return (found.groupdict().get("lead") or "").count(" ")


@dataclass(frozen=True, slots=True)
class _Said:
    """A sentence and what has been read of it."""

    text: str
    tokens: Sequence[str]
    marks: Sequence[Mark]
    directory: Directory
    medium: str


def _make(what: str, grade: str, at: tuple[int, int], said: _Said) -> Call:
    text, tokens, marks, directory = said.text, said.tokens, said.marks, said.directory
    begin, end = at
    here, target = _readings(what, tokens, begin, marks, grade)
    t_s = here.t_s if here else held_at(tokens, begin) if what == HOLD else None
    to_t_s = target.t_s if target else None
    if what == RECYCLE and target is None and (spans := read_spans(tokens, _past(tokens, end))) and tokens[end - 1] == "to":
        to_t_s = -(spans[0] if spans[0].form == UNITS_FORM else spans[-1]).seconds
    if what == LIFTOFF:
        here, t_s = None, 0.0 if grade != DOUBTFUL else None
    length = length_of(tokens, begin, end) if what == HOLD else None
    at_character = _character(text, tokens, begin)
    other = beside(text, at_character, directory) if what in (HOLD, CUTOFF) else None
    reason = read_reason(other[1] if other else text, at_character) if what not in (LIFTOFF, RESUME) else None
    sign = _this_is(tokens, end, directory)
    if sign is not None and what in (HOLD, CUTOFF) and sign[1] < len(tokens):
        reason = reason or stated(text[_character(text, tokens, sign[1]):])
    by = named_by(text, tokens, begin, directory) or (sign[0] if sign else other[0] if other else None)
    if by is None and what in (HOLD, CUTOFF) and said.medium == "typed":
        by = leading(tokens, begin, directory)
    return Call(what, grade, t_s, to_t_s, length, reason, by, here.group if here else None, target.group if target else None)


def _this_is(tokens: Sequence[str], end: int, directory: Directory) -> tuple[str, int] | None:
    """Who calls it and where the name ends: 'hold, hold, this is RANGE'."""
    at = end
    while at < len(tokens) and tokens[at] in PUNCTUATION:
        at += 1
    return directory.at(tokens, at + 2, near=True) if tuple(tokens[at:at + 2]) == ("this", "is") else None


def _character(text: str, tokens: Sequence[str], at: int) -> int:
    """Where in the text the token at `at` begins; mending may have changed how many tokens there are."""
    places = offsets(text)
    if len(places) == len(tokens):
        return places[at]
    return max(0, text.lower().find(tokens[at]))


def _readings(what: str, tokens: Sequence[str], begin: int, marks: Sequence[Mark], grade: str) -> tuple[Mark | None, Mark | None]:
    """The reading at which it happened, and for a recycle the one the clock is set to: the last, after 'to' if both are said."""
    usual = _usual(marks)
    if what == RECYCLE:
        after = [m for m in usual if m.begin >= begin]
        before = [m for m in usual if m.end <= begin]
        here = before[0] if before else after[0] if len(after) > 1 and tokens[after[0].begin - 1] != "to" else None
        return here, (after[-1] if here is not None and not before else after[0]) if after else None
    firm = [m for m in usual if m.grade != DOUBTFUL or grade == DOUBTFUL]
    return (firm[0] if firm and what != SCRUB else None), None


def settled(call: Call, marks: Sequence[Mark]) -> Call:
    """The call with its times as context settled the readings they came from."""
    best = {m.group: m.t_s for m in _usual(marks)}
    t_s = best.get(call.t_group, call.t_s) if call.t_group is not None else call.t_s
    # a clock is set back by minutes: of two readings of the time, the earlier
    to_t_s = min((m.t_s for m in marks if m.group == call.to_group and m.clock == "T"), default=call.to_t_s)
    return replace(call, t_s=t_s, to_t_s=to_t_s)


def _usual(marks: Sequence[Mark]) -> list[Mark]:
    """One T reading a place, the one best believed."""
    best: dict[int, Mark] = {}
    order = {CERTAIN: 0, LIKELY: 1, DOUBTFUL: 2}
    for mark in marks:
        known = best.get(mark.group)
        if mark.clock == "T" and (known is None or order[mark.grade] < order[known.grade]):
            best[mark.group] = mark
    return sorted(best.values(), key=lambda m: m.begin)


def _past(tokens: Sequence[str], at: int) -> int:
    while at < len(tokens) and (tokens[at] in PUNCTUATION or tokens[at] in ("to", "the")):
        at += 1
    return at


def _consistent(calls: list[Call]) -> list[Call]:
    """A hold named only beside a firm resume or recycle is the hold being left, not a new one."""
    firm = {c.what for c in calls if c.grade != DOUBTFUL}
    if HOLD in firm and RESUME in firm:
        return [c for c in calls if c.what != HOLD]
    if HOLD in firm and RECYCLE in firm:  # 'set back to T-22 and holding': it may be the hold of before
        return [replace(c, grade=lower(c.grade)) if c.what == HOLD else c for c in calls]
    return calls
