"""What does a sentence say was done to the count, and how far is it to be believed?

Conventions: `what` is hold, resume, recycle, cutoff, scrub or liftoff; times in count seconds, lengths in seconds; `by`
is a station the words name ('hold called by RANGE'), else None. Grades as for marks: what may be, will be, was or is asked
about is doubtful; what is denied is not a call at all.

It does not decide whether the clock obeyed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from aftercount.speech.anchors import MINUS
from aftercount.speech.callparts import held_at, named_by
from aftercount.speech.callparts import length as length_of
from aftercount.speech.countdowns import counted_to_mark
from aftercount.speech.cues import DENIED, FUTURE, IF, PAST, QUESTION, QUOTED, cues, in_a_while
from aftercount.speech.directory import Directory
from aftercount.speech.marks import CERTAIN, DOUBTFUL, GRADES, LIKELY, Mark, lower, to_come
from aftercount.speech.numbers import is_number
from aftercount.speech.reasons import read_reason, stated
from aftercount.speech.spans import UNITS, UNITS_FORM, read_spans
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

SENTENCE = 16  # tokens in which the rest of a condition is said
LED_BY = 3  # tokens of call signs and the like that may lead up to a call
_HAVING = word_set("have has had got a an we called calls calling declare declared is that's this")
CUE_BEFORE, CUE_AFTER = 7, 6  # tokens either side in which a cue speaks of the call
PLAN_SHARE = 0.6  # of a planned action's words: a sentence with these is that action, not a call
UNTIL = 4  # tokens between a time and what it is the time to
MACHINE_WORDS = 5  # a machine's line of more words than this before the trigger speaks of something else
_GOING_ON = frozenset(("still", "remain", "remains", "remaining", "continue", "continuing", "continues"))
_STATE = frozenset(("state", "status", "mode"))
_TAKEN_BACK = word_set("cancelled canceled rescinded withdrawn retracted")
_STAYING = frozenset(("we", "stay", "remain"))
_CONDITIONS = frozenset(("if", "unless", "case", "event"))
_AS_PLANNED = frozenset(("planned", "scheduled"))
_VERBS = word_set("is are was has have did do does can could shall will")
# Leave given, not yet taken: 'you are go to resume the count'.
_ALLOWED = frozenset((("go", "to"), ("go", "for"), ("clear", "to"), ("cleared", "to"), ("permission", "to"), ("ok", "to"), ("okay", "to")))
_FOR = frozenset(("for", "four", "to", "two", "too"))
_ANSWERING = word_set("go goal ready verify")  # who is asked whether the count may go on says these, whatever is lost behind them
_GOING = word_set("go goal no")
_TOLD_OF = word_set("we it they you the just")
_NAMED_T0 = word_set("is at now will of")
_DECIDED = (SCRUB, RECYCLE)
_OF_A_READING = word_set("at t minus s sec seconds minute minutes mark")
_SET_TO = frozenset(("to", "two", "too"))
_SPOKEN_OF = (("for", "a"), ("in", "a"), ("of", "a"), ("during", "a"))
_BY_THE_PLAN = (("on", "schedule"), ("on", "scheduled"), ("on", "time"), ("on", "the"), ("as", "planned"), ("as", "scheduled"), ("at", "the"))
_PAST_WORDS = word_set("earlier ago previous previously yesterday last history during rehearsal since originally recall remember had")


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
    if MAYBE.isdisjoint(tokens):
        return []
    searched = directory.hidden(tokens)
    joined = " ".join(searched)
    heard = [(trigger, found) for trigger in TRIGGERS for found in trigger.find(joined)]
    if not heard:
        return []
    said = _Said(text, tokens, marks, directory)
    taken = [m.span() for m in NOT_THE_COUNT.finditer(joined)]
    planned = plan.describes(tokens)
    out: dict[str, Call] = {}
    for trigger, found in heard:
        if found.end() == found.start() or any(a < found.end() and found.start() < b for a, b in taken):
            continue
        taken.append(found.span())
        begin = joined.count(" ", 0, found.start()) + _lead(found)
        end = joined.count(" ", 0, found.end()) + 1
        grade = _grade(trigger.what, trigger.grade, searched, begin, end, medium)
        if grade is None:
            continue
        of_plan = planned and trigger.what != LIFTOFF or trigger.what == CUTOFF and _a_thing(searched, (begin, end), plan, medium)
        if of_plan and not _repeated(searched[begin:end]):
            grade = DOUBTFUL
        made = _make(trigger.what, grade, (begin, end), said)
        known = out.get(trigger.what)
        if known is None or (known.grade == DOUBTFUL and grade != DOUBTFUL):
            out[trigger.what] = made
    return _consistent(list(out.values()))


def _a_thing(tokens: Sequence[str], at: tuple[int, int], plan: PlanWords, medium: str) -> bool:
    """A word that the plan has for a thing or an act of its own ('open the abort vent'), said once, among others and with no word that makes it a call."""
    begin, end = at
    rest = [t for t in (*tokens[:begin], *tokens[end:]) if t not in PUNCTUATION]
    if not any(t.isalpha() and t not in _OF_A_READING for t in rest) and (rest or medium == "typed"):
        return False  # 'cutoff at T-10 s', and 'CUTOFF' as a keeper writes it; of speech other words may have been lost
    once = len({t for t in tokens[begin:end] if t not in PUNCTUATION}) == len([t for t in tokens[begin:end] if t not in PUNCTUATION])
    return once and bool(plan.words & set(tokens[begin:end])) and _HAVING.isdisjoint(tokens[max(0, begin - 3):begin])


def _lead(found: re.Match[str]) -> int:
    """How many words of a match only lead up to the call ('TC , hold'): cues among them count as before it."""
    return (found.groupdict().get("lead") or "").count(" ")


def _grade(what: str, grade: str, tokens: Sequence[str], begin: int, end: int, medium: str) -> str | None:
    """The grade after tense, condition, question and denial; None when the words deny it."""
    repeated = _repeated(tokens[begin:end])
    before, after = tokens[max(0, begin - CUE_BEFORE):begin], () if repeated else tokens[end:end + CUE_AFTER]
    found = cues(before, after) - ({QUESTION} if _told(tokens, begin) else set()) - ({IF} if repeated and _CONDITIONS.isdisjoint(before) else set())
    if what in (SCRUB, HOLD):
        found -= {QUOTED} if "per" in after[:2] or "per" in before[-2:] else set()
    if DENIED in cues(before[-3:], after[:2]) or _TAKEN_BACK & set(after[:4]):
        return None if before and not {"cancel", "disregard", "negative", "rescinded"} & set(before) else DOUBTFUL
    if "?" in tokens[end:] or (what == HOLD and _GOING_ON & set(before[-3:])) or (_asked(before) and not repeated and not _told(tokens, begin)):
        return DOUBTFUL
    if what == RESUME and tokens[begin] == "end" and not UNITS.keys().isdisjoint(before[-UNTIL:]):
        return DOUBTFUL  # 'one minute to the end of the hold', be the 'to' lost or not
    if what == RESUME and (tuple(after[:2]) in _BY_THE_PLAN or tuple(before[-2:]) == ("to", "come")):
        return DOUBTFUL  # 'clock picks up on schedule', 'status to come out of the hold'
    if what == RESUME and counted_to_mark(tokens[end:]):
        return min(LIKELY, grade, key=GRADES.index)
    if what == RESUME and medium == "speech" and not tokens[begin].endswith("ing") and (_FOR & set(before[-1:]) or _ANSWERING & set(before[-3:])):
        return DOUBTFUL  # 'go four resume', 'verify on to resume': of a poll
    if what == HOLD and not repeated and medium == "speech" and ("then" in tokens[end:end + SENTENCE] or _counts_on(tokens[end:])):
        return DOUBTFUL  # 'hold for five minutes there and then vent' is a tale; 'the hold, T minus nine and counting' had its release lost
    if medium == "speech" and what in (HOLD, RECYCLE) and tokens[end - 1 if what == HOLD else begin].endswith("ed") and _PAST_WORDS & set(before):
        return DOUBTFUL  # 'in the rehearsal the clock stopped'
    if what == RECYCLE and medium == "speech" and _tale_of_setting(tokens, begin, end):
        return DOUBTFUL
    if medium == "speech" and (what == RECYCLE and _SET_TO & set(before[-1:]) and not _decided(before) or what == HOLD and tokens[begin:end] == ("hold", "at") and begin and grade == CERTAIN):
        grade = lower(grade)  # 'to recycle', 'hold at T minus nine': of what may be, more often than of what is
    if what == RESUME and tuple(before[-2:]) in _ALLOWED or before[-1:] == ("be",) and not (what in _DECIDED and _decided(before)):
        return DOUBTFUL
    if in_a_while(after):
        return DOUBTFUL
    if found & {IF, QUESTION}:
        return DOUBTFUL
    if FUTURE in cues(before, after[:2]):
        return lower(grade) if repeated or (what in _DECIDED and _decided(before)) else DOUBTFUL
    if QUOTED in found:
        return lower(grade)
    if PAST in found and (medium == "speech" or _PAST_WORDS & set(before) | _PAST_WORDS & set(after)):
        return DOUBTFUL if _PAST_WORDS & set((*before, *after)) or "after" in before or "since" in before else lower(grade)
    if "after" in before[-3:] or " ".join(before[-2:]) == "in the":
        return DOUBTFUL
    if what == SCRUB and tuple(before[-2:]) in _SPOKEN_OF and "going" not in before[-3:]:
        return DOUBTFUL  # 'for a scrub the hatch stays shut': what is done in one
    if what == HOLD and begin and tokens[begin:end][:1] == ("hold",) and before[-1:] == ("we",):
        return DOUBTFUL  # 'we hold at T minus nine': what is done as a rule; a hold that began is 'we are holding'
    if what == RESUME and tokens[end - 1] == "running" and _read_first(tokens[:begin]):
        return DOUBTFUL
    if what == RESUME and to_come(tokens[end:]):
        return lower(grade)
    if what in (HOLD, RESUME) and "at" in tokens[end - 1:end + 1] and "holding" not in tokens[begin:end] and _STAYING & set(tokens[end:end + SENTENCE]):
        return DOUBTFUL  # '(if we) hold at T minus nine we stay there': the condition lost
    if what == CUTOFF and medium == "speech" and not repeated and begin > LED_BY and not _HAVING & set(before[-3:]) and "," not in before[-1:]:
        return DOUBTFUL  # 'check the redline cutoff': a thing, not a call
    if what == LIFTOFF and (before[-1:] in (("new",), ("revised",)) or tokens[end - 1] in ("0", "zero") and _NAMED_T0 & set(after[:1])):
        return DOUBTFUL  # a T-0 that is announced
    if what == LIFTOFF and tokens[end - 1] in ("0", "zero") and after[:1] and (after[0] in UNITS or is_number(after[0])):
        return None  # 'T minus zero hours twenty' is read on
    if what == LIFTOFF and ({"for", "to", "of", "from", "until", "minutes", "at"} & set(before[-2:]) or "plus" in after[:2]):
        return DOUBTFUL
    if medium == "speech" and what == HOLD and "holding" in tokens[begin:end] and not _AS_PLANNED & set(tokens[end:end + SENTENCE]):
        return lower(grade) if grade == CERTAIN else grade  # the state as somebody has it, not the call
    if medium == "machine":
        if what == HOLD and begin and ":" in tokens[begin - 1]:
            return None  # 'T-00:09:00 hold', written line by line, is its clock and the state of it
        if _STATE & set(tokens[:end]) and "-" not in tokens[end - 3:end + 1]:
            return DOUBTFUL  # a state reported line by line is no call; its change is
        return lower(grade) if begin > MACHINE_WORDS else grade
    return grade


def _counts_on(after: Sequence[str]) -> bool:
    """'... and counting': the count runs."""
    return "counting" in after and "holding" not in after


def _tale_of_setting(tokens: Sequence[str], begin: int, end: int) -> bool:
    """'(if) we have to recycle we go back to', '(yesterday) we recycled to': what would be, or was, with the word that says so lost."""
    before = tokens[max(0, begin - 1):begin]
    if tokens[begin] == "recycled":
        return bool(_TOLD_OF & set(before[-1:]))
    return tokens[begin] in ("go", "return") and not _SET_TO & set(before[-1:]) or bool(tokens[begin] == "recycle" and _GOING & set(tokens[end:end + 4]))


def _read_first(before: Sequence[str]) -> bool:
    """'T minus nine minutes, clock is running': a reading and the state, as in 'and counting', unless the clock was set to it."""
    return any(t in MINUS and _SET_TO.isdisjoint(before[max(0, i - 3):i]) for i, t in enumerate(before))


def _repeated(words: Sequence[str]) -> bool:
    """'cutoff, cutoff': said twice it is a call, whatever else was heard behind it."""
    return min(Counter(w for w in words if w not in PUNCTUATION).values(), default=0) > 1


def _told(tokens: Sequence[str], begin: int) -> bool:
    """'(we) are scrubbing', 'is recycling': nobody between the verb and what is done, as there would be in a question."""
    return tokens[begin].endswith(("ing", "ed")) and list(tokens[max(0, begin - 1):begin]) in (["are"], ["is"])


def _asked(before: Sequence[str]) -> bool:
    """'is the clock running', asked without the mark of it: the verb stands first."""
    return before[-1:] != () and before[-1] in _VERBS and (len(before) == 1 or before[-2] in PUNCTUATION)


def _decided(before: Sequence[str]) -> bool:
    """'we are going to scrub', 'we will recycle': said when it has been decided."""
    before = before[:-1] if before[-1:] == ("be",) else before
    return " ".join(before[-2:]) in ("going to", "we will", "are gonna", "we're gonna") or tuple(before[-3:]) == ("plan", "is", "to") or before[-1:] in (("we'll",), ("will",), ("gonna",))


@dataclass(frozen=True, slots=True)
class _Said:
    """A sentence and what has been read of it."""

    text: str
    tokens: Sequence[str]
    marks: Sequence[Mark]
    directory: Directory


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
    reason = read_reason(text, _character(text, tokens, begin)) if what not in (LIFTOFF, RESUME) else None
    sign = _this_is(tokens, end, directory)
    if sign is not None and what in (HOLD, CUTOFF) and sign[1] < len(tokens):
        reason = reason or stated(text[_character(text, tokens, sign[1]):])
    by = named_by(text, tokens, begin, directory) or (sign[0] if sign else None)
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
