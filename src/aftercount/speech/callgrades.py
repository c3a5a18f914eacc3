"""How far is a call on the count to be believed, by what stands round it?

Conventions: `tokens` are a sentence's, call signs hidden; the call is tokens[begin:end]. Grades as for marks: what may be, will be, was or is asked about is
doubtful; what is denied is no call at all (None). It does not find the calls: see `triggers` and `garbled`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from aftercount.speech.anchors import MINUS
from aftercount.speech.countdowns import counted_to_mark
from aftercount.speech.cues import DENIED, FUTURE, IF, PAST, QUESTION, QUOTED, cues, in_a_while
from aftercount.speech.marks import CERTAIN, DOUBTFUL, GRADES, LIKELY, lower, to_come
from aftercount.speech.numbers import is_number
from aftercount.speech.spans import UNITS
from aftercount.speech.triggers import CUTOFF, HOLD, LIFTOFF, RECYCLE, RESUME, SCRUB
from aftercount.speech.words import PUNCTUATION
from aftercount.speech.wordsets import word_set

SENTENCE = 16  # tokens in which the rest of a condition is said
LED_BY = 3  # tokens of call signs and the like that may lead up to a call
HAVING = word_set("have has had got a an we called calls calling declare declared is that's this")
CUE_BEFORE, CUE_AFTER = 7, 6  # tokens either side in which a cue speaks of the call
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
_SET_TO = frozenset(("to", "two", "too"))
_SPOKEN_OF = (("for", "a"), ("in", "a"), ("of", "a"), ("during", "a"))
_BY_THE_PLAN = (("on", "schedule"), ("on", "scheduled"), ("on", "time"), ("on", "the"), ("as", "planned"), ("as", "scheduled"), ("at", "the"))
_PAST_WORDS = word_set("earlier ago previous previously yesterday last history during rehearsal since originally recall remember had")


def grade_of(what: str, grade: str, tokens: Sequence[str], begin: int, end: int, medium: str) -> str | None:
    """The grade after tense, condition, question and denial; None when the words deny it."""
    twice = repeated(tokens[begin:end]) or (what in (CUTOFF, SCRUB) and begin == 0 and tokens.count(tokens[0]) > 1)  # shouted first, and told then
    before, after = tokens[max(0, begin - CUE_BEFORE):begin], () if twice else tokens[end:end + CUE_AFTER]
    found = cues(before, after) - ({QUESTION} if _told(tokens, begin) else set()) - ({IF} if twice and _CONDITIONS.isdisjoint(before) else set())
    if what in (SCRUB, HOLD):
        found -= {QUOTED} if "per" in after[:2] or "per" in before[-2:] else set()
    if DENIED in cues(before[-3:], after[:2]) or _TAKEN_BACK & set(after[:4]):
        return None if before and not {"cancel", "disregard", "negative", "rescinded"} & set(before) else DOUBTFUL
    if "?" in tokens[end:] or (what == HOLD and _GOING_ON & set(before[-3:])) or (_asked(before) and not twice and not _told(tokens, begin) and not (what in _DECIDED and _decided(before))):
        return DOUBTFUL
    if what == RESUME and tokens[begin] == "end" and not UNITS.keys().isdisjoint(before[-UNTIL:]):
        return DOUBTFUL  # 'one minute to the end of the hold', be the 'to' lost or not
    if what == RESUME and (tuple(after[:2]) in _BY_THE_PLAN or tuple(before[-2:]) == ("to", "come")):
        return DOUBTFUL  # 'clock picks up on schedule', 'status to come out of the hold'
    if what == RESUME and counted_to_mark(tokens[end:]):
        return min(LIKELY, grade, key=GRADES.index)
    if what == RESUME and medium == "speech" and not tokens[begin].endswith("ing") and (_FOR & set(before[-1:]) or _ANSWERING & set(before[-3:])):
        return DOUBTFUL  # 'go four resume', 'verify on to resume': of a poll
    if what == HOLD and not twice and medium == "speech" and ("then" in tokens[end:end + SENTENCE] or _counts_on(tokens[end:])):
        return DOUBTFUL  # 'hold for five minutes there and then vent' is a tale; 'the hold, T minus nine and counting' had its release lost
    if medium == "speech" and what in (HOLD, RECYCLE) and tokens[end - 1 if what == HOLD else begin].endswith("ed") and _PAST_WORDS & set(before):
        return DOUBTFUL  # 'in the rehearsal the clock stopped'
    if what == RECYCLE and medium == "speech" and _tale_of_setting(tokens, begin, end):
        return DOUBTFUL
    if medium == "speech" and (what == RECYCLE and _SET_TO & set(before[-1:]) and not _decided(before) or what == HOLD and tokens[begin:end] == ("hold", "at") and grade == CERTAIN):
        grade = lower(grade)  # 'to recycle', 'hold at T minus nine': of what may be, more often than of what is
    if what == RESUME and tuple(before[-2:]) in _ALLOWED or before[-1:] == ("be",) and not (what in _DECIDED and _decided(before)):
        return DOUBTFUL
    if in_a_while(after):
        return DOUBTFUL
    if found & {IF, QUESTION}:
        return DOUBTFUL
    if FUTURE in cues(before, after[:2]):
        return lower(grade) if twice or (what in _DECIDED and _decided(before)) else DOUBTFUL
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
    if what in (HOLD, RESUME) and "at" in tokens[end - 1:end + 1] and "holding" not in tokens[begin:end] and _STAYING & set(tokens[end:end + SENTENCE]) and "this" not in tokens[end:end + 2]:
        return DOUBTFUL  # '(if we) hold at T minus nine we stay there': the condition lost
    if what == CUTOFF and medium == "speech" and not twice and begin > LED_BY and not HAVING & set(before[-3:]) and "," not in before[-1:]:
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


def repeated(words: Sequence[str]) -> bool:
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
