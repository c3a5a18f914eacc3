"""What does a sentence say was done to the count, and how far is it to be believed?

Conventions: `what` is hold, resume, recycle, cutoff, scrub or liftoff; times in count seconds, lengths in seconds; `by`
is a station the words name ('hold called by RANGE'), else None. Grades as for marks: what may be, will be, was or is asked
about is doubtful; what is denied is not a call at all.

It does not decide whether the clock obeyed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from aftercount.speech.cues import DENIED, FUTURE, IF, PAST, QUESTION, QUOTED, cues
from aftercount.speech.directory import Directory
from aftercount.speech.marks import CERTAIN, DOUBTFUL, LIKELY, Mark, lower
from aftercount.speech.numbers import is_number
from aftercount.speech.spans import UNITS_FORM, read_spans, read_united
from aftercount.speech.triggers import HOLD, LIFTOFF, MAYBE, NOT_THE_COUNT, RECYCLE, RESUME, SCRUB, TRIGGERS
from aftercount.speech.words import PUNCTUATION
from aftercount.speech.wordsets import word_set

CUE_BEFORE, CUE_AFTER = 7, 6  # tokens either side in which a cue speaks of the call
PLAN_SHARE = 0.6  # of a planned action's words: a sentence with these is that action, not a call
MACHINE_WORDS = 5  # a machine's line of more words than this before the trigger speaks of something else
_REASON = re.compile(r"\b(?:due to|because of|because|on account of|owing to|caused by|reason(?:\s+is|\s*:|\s+being)?|for|to allow for|to work|while we work)\s+(?P<why>[^.;?!]+)", re.I)
_DASHED = re.compile(r"(?:\s[-–—]+\s|:\s+|,\s+)(?P<why>[A-Za-z][^.;?!]{2,})$")
_NO_REASON = re.compile(r"^(?:(?:about|approximately|another|up to|at least|some|the next)\s+)?(?:\d|an? (?:hour|minute|second|moment|few)|(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|"
                        r"thirty|forty|fifty|sixty|ninety)\b|now\b|the day|today|tonight|launch\b|t\b|t-|this attempt|the (?:count|time being|moment)|lift)", re.I)
_CUT_REASON = re.compile(r",?\s*(?:\band (?:resume|expect|stand|we)\b|\bresum|\bexpect|\bstand ?by|\bwill\b|\bat T[ -]|\bT-\d).*$", re.I)
_BY = re.compile(r"\b(?:called|declared|requested|initiated|ordered|directed|released|issued|scrubbed|aborted)\s+by\s+(?:the\s+)?|\bper\s+|\bby\s+(?:the\s+)?|\breq(?:uest)?\s+of\s+")
_CALLS_FOR = word_set("calls called calling declares declared requests requested calls initiates initiated orders ordered")
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


@dataclass(frozen=True)
class PlanWords:
    """Planned actions that use the words of calls ('hold LOX at 98 %'), as sets of words."""

    actions: tuple[frozenset[str], ...] = ()

    def describes(self, tokens: Sequence[str]) -> bool:
        said = frozenset(tokens)
        return any(len(a & said) >= max(2, PLAN_SHARE * len(a)) for a in self.actions)


def read_calls(text: str, tokens: Sequence[str], marks: Sequence[Mark], medium: str, directory: Directory, plan: PlanWords) -> list[Call]:
    """Every call of one sentence; the first of each kind."""
    if not MAYBE.search(text):
        return []
    joined = " ".join(tokens)
    taken = [m.span() for m in NOT_THE_COUNT.finditer(joined)]
    planned = plan.describes(tokens)
    out: dict[str, Call] = {}
    for trigger in TRIGGERS:
        for found in trigger.pattern.finditer(joined):
            if found.end() == found.start() or any(a < found.end() and found.start() < b for a, b in taken):
                continue
            taken.append(found.span())
            begin = joined.count(" ", 0, found.start())
            end = joined.count(" ", 0, found.end()) + 1
            grade = _grade(trigger.what, trigger.grade, tokens, begin, end, medium)
            if grade is None:
                continue
            if planned and trigger.what != LIFTOFF:
                grade = DOUBTFUL
            made = _make(trigger.what, grade, text, tokens, (begin, end), marks, directory)
            known = out.get(trigger.what)
            if known is None or (known.grade == DOUBTFUL and grade != DOUBTFUL):
                out[trigger.what] = made
    return _consistent(list(out.values()))


def _grade(what: str, grade: str, tokens: Sequence[str], begin: int, end: int, medium: str) -> str | None:
    """The grade after tense, condition, question and denial; None when the words deny it."""
    before, after = tokens[max(0, begin - CUE_BEFORE):begin], tokens[end:end + CUE_AFTER]
    found = cues(before, after)
    if what in (SCRUB, HOLD):
        found -= {QUOTED} if "per" in after[:2] or "per" in before[-2:] else set()
    if DENIED in cues(before[-3:], after[:2]):
        return None if before and not {"cancel", "disregard", "negative", "rescinded"} & set(before) else DOUBTFUL
    if "?" in tokens[end:]:
        return DOUBTFUL
    if _in_a_while(after):
        return DOUBTFUL
    if found & {IF, QUESTION} or FUTURE in cues(before, after[:2]):
        return DOUBTFUL
    if QUOTED in found:
        return lower(grade)
    if PAST in found and (medium == "speech" or _PAST_WORDS & set(before) | _PAST_WORDS & set(after)):
        return DOUBTFUL if _PAST_WORDS & set((*before, *after)) or "after" in before or "since" in before else lower(grade)
    if "after" in before[-3:] or " ".join(before[-2:]) == "in the":
        return DOUBTFUL
    if what == LIFTOFF and ({"for", "to", "of", "from", "until", "minutes", "at"} & set(before[-2:]) or "plus" in after[:2]):
        return DOUBTFUL
    if medium == "machine" and begin > MACHINE_WORDS:
        return lower(grade)
    return grade


def _in_a_while(after: Sequence[str]) -> bool:
    """'... in two minutes', '... in about ten seconds'."""
    for i, token in enumerate(after[:4]):
        if token == "in" and any(is_number(t) or t in ("a", "another") for t in after[i + 1:i + 3]):
            return True
    return False


def _make(what: str, grade: str, text: str, tokens: Sequence[str], at: tuple[int, int], marks: Sequence[Mark], directory: Directory) -> Call:
    begin, end = at
    usual = _usual(marks)
    t_s, to_t_s = None, None
    if what == RECYCLE:
        to_t_s = next((m.t_s for m in usual if m.begin >= begin), None)
        t_s = next((m.t_s for m in usual if m.end <= begin), None)
        if to_t_s is None and (spans := read_spans(tokens, _past(tokens, end))) and tokens[end - 1] == "to":
            to_t_s = -(spans[0] if spans[0].form == UNITS_FORM else spans[-1]).seconds
    elif what != SCRUB and usual:
        t_s = usual[0].t_s
    if what == LIFTOFF:
        t_s = 0.0 if grade != DOUBTFUL else None
    length = _length(tokens, begin, end) if what == HOLD else None
    reason = _reason(text, what) if what not in (LIFTOFF, RESUME) else None
    return Call(what, grade, t_s, to_t_s, length, reason, _named_by(text, tokens, begin, directory))


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


def _length(tokens: Sequence[str], begin: int, end: int) -> float | None:
    """'for ten minutes', 'a ten minute hold', 'duration 00:10:00'."""
    for i in range(begin, len(tokens)):
        if tokens[i] in ("for", "of", "duration", "length", "lasting", "planned") and i + 1 < len(tokens):
            at = i + 1
            while at < len(tokens) and tokens[at] in ("about", "approximately", "another", "up", "to", "=", ":", "of", "a"):
                at += 1
            spans = read_spans(tokens, at)
            if spans and (spans[0].form == UNITS_FORM or ":" in tokens[at]):
                return spans[0].seconds
    for i in range(max(0, begin - 4), end):
        joined = [t for t in tokens[i:i + 6] if t != "-"]
        span = read_united(joined, 0) if is_number(tokens[i]) else None
        if span and span.end < len(joined) and joined[span.end] in ("hold", "built", "planned"):
            return span.seconds
    return None


def _reason(text: str, what: str) -> str | None:
    for found in _REASON.finditer(text):
        why = found["why"].strip(" ,.-")
        if _NO_REASON.match(why):
            continue
        why = _CUT_REASON.sub("", why).strip(" ,.-")
        if why:
            return why
    found_dash = _DASHED.search(text)
    if what in (HOLD, SCRUB) and found_dash:
        why = _CUT_REASON.sub("", found_dash["why"]).strip(" ,.-")
        if why and not NOT_A_REASON.match(why):
            return why
    return None


NOT_A_REASON = re.compile(r"^(?:hold|count|clock|t\b|t-|we|called|per|by|all|stand|resum|go\b|no\b|over|out|and|built|planned|pass|copy|roger|i\b|this|at\b|the (?:count|clock))", re.I)


def _named_by(text: str, tokens: Sequence[str], begin: int, directory: Directory) -> str | None:
    lowered = text.lower()
    for found in _BY.finditer(lowered):
        tail = re.findall(r"[a-z0-9]+", lowered[found.end():])[:4]
        if tail and (sign := directory.at(tail, 0, near=True)):
            return sign[0]
    for i in range(min(begin + 1, len(tokens))):
        if tokens[i] in _CALLS_FOR and i and (named := _ending_at(tokens, i, directory)):
            return named
    return None


def _ending_at(tokens: Sequence[str], end: int, directory: Directory) -> str | None:
    for start in range(max(0, end - 3), end):
        found = directory.at(tokens, start)
        if found is not None and found[1] == end:
            return found[0]
    return None


def _consistent(calls: list[Call]) -> list[Call]:
    """A hold named only beside a firm resume or recycle is the hold being left, not a new one."""
    firm = {c.what for c in calls if c.grade != DOUBTFUL}
    if HOLD in firm and RESUME in firm:
        return [c for c in calls if c.what != HOLD]
    return calls
