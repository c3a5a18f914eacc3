"""Which count readings does a sentence hold, and how far is each to be believed?

Conventions: `t_s` is count time in seconds, negative before T-0 (for clock 'L': time to the scheduled lift-off). Grades:
certain, likely, doubtful. `says` is counting, holding or either. `sigma_s` is how far such words are from the clock, not
how well the log's own time is known. Both readings of an ambiguous time are given; `context` regrades them.

It does not drop a reading because the clock contradicts it: the path decides.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from aftercount.speech.anchors import GLUED, MINUS, PLUS, Anchor, anchors
from aftercount.speech.countdowns import MAX_COUNTDOWN, fall, falls, to_mark_s
from aftercount.speech.cues import FUTURE, IF, NOW, PAST, QUESTION, QUOTED, ROUGH, cues, in_a_while
from aftercount.speech.numbers import NUMBER_WORDS, is_number, read_number
from aftercount.speech.spans import (
    BARE_FORM,
    COLON_FORM,
    PAIR_FORM,
    UNITS,
    UNITS_FORM,
    Span,
    read_spans,
    read_united,
)
from aftercount.speech.wordsets import word_set

CERTAIN, LIKELY, DOUBTFUL = "certain", "likely", "doubtful"
GRADES = (DOUBTFUL, LIKELY, CERTAIN)
# Spoken marks are good to a second or two: the speaker reads a clock and takes a second to say it.
SPOKEN_SIGMA_S = 1.5
TYPED_SIGMA_S = 1.5
COUNTDOWN_SIGMA_S = 0.7  # 'ten, nine, eight' is said with the clock
MACHINE_SIGMA_S = 0.3  # a count time inside a machine's words, cut to the second
ROUGH_SIGMA_S = 20.0  # 'about', 'just over': to the nearest minute at best
LONG_WORDS = 14  # words: a longer sentence is commentary, whose times are rounded to the unit said
LONG_SIGMA_SHARE = 0.12  # of that unit: minutes in commentary are off by some 7 s
COUNTED_TO_SIGMA_S = 1.5  # of a mark that is counted down to: seconds are called out by feel
_AHEAD = word_set("coming approaching nearing standby stand standing")
WHOLE_WORDS = 2  # words beside the time and call signs that a time said alone may have
LEAST_FALLING = 3
UNIT_NOISE = word_set("degrees degree psi psia psig bar percent % volts volt amps knots feet celsius fahrenheit kelvin pounds kilograms gallons inches hertz "
    "megahertz kilohertz milliamps millivolts kilopascals microns torr db decibels kpa kg lbs c f meters metres")
_COUNTING = word_set("counting county countin accounting counted recounting counter")
_HOLDING = word_set("holding holden hold held folding")
_TO_GO = (("to", "go"), ("and", "counting"), ("and", "county"), ("remaining",), ("to", "launch"), ("to", "liftoff"), ("to", "lift"), ("to", "zero"),
          ("to", "t"), ("until", "launch"), ("until", "liftoff"), ("until", "lift"), ("from", "launch"), ("from", "liftoff"), ("before", "liftoff"),
          ("before", "launch"), ("on", "the", "clock"), ("in", "the", "count"), ("on", "the", "countdown"))
_FILLER = word_set("and the at is now this all stations we're we are mark on my a of to in your time count clock control launch go uh um er "
    "terminal check up for net everyone here")
_DIGIT = re.compile(r"\d")
_MAYBE = NUMBER_WORDS | MINUS | PLUS | frozenset(UNITS) | frozenset(GLUED)
_JOINING = frozenset((",", "and", "an", "end", "in", "hand", "-", "/", ".", ";", ":", "is", "are", "we", "we're", "now", "count", "clock", "the"))
_STOPPED = frozenset(("holding", "hold", "held", "stopped", "stop", "halted", "cutoff"))
MARK_WORDS = 3  # in which 'on my mark' is heard at the end of a sentence, however badly
_STARTED = frozenset(("resume", "resumed", "resuming", "release", "released", "restarted"))
_UNITS = frozenset(UNITS)
_UNIT_WORDS = word_set("minutes minute seconds second hours hour sec min")
_TEST_COUNT = word_set("test check radio voice short mic")


@dataclass(frozen=True, slots=True)
class Mark:
    """One reading. `group` numbers the places in the sentence: readings of one place exclude each other."""

    clock: str
    t_s: float
    says: str
    grade: str
    form: str
    sigma_s: float
    group: int
    begin: int
    end: int
    open: bool = False  # an ambiguous time that context may settle


def lower(grade: str, by: int = 1) -> str:
    return GRADES[max(0, GRADES.index(grade) - by)]


def to_come(after: Sequence[str]) -> bool:
    """'resume the count at T minus nine on my mark': the mark is yet to come. Often no more than the 'on' is heard right."""
    said = after[:-1] if after and after[-1] in (".", "!") else after
    return ("on" in said[-MARK_WORDS:-1] or tuple(said[-2:]) == ("my", "mark")) and "now" not in after


def read_marks(text: str, tokens: Sequence[str], medium: str, signs: int = 0) -> list[Mark]:
    """Every count reading of one sentence; `signs` is how many tokens of it are call signs."""
    if _MAYBE.isdisjoint(tokens) and not _DIGIT.search(text):
        return []
    out: list[Mark] = []
    for anchor in anchors(tokens):
        if out and anchor.begin < out[-1].end:
            continue
        out.extend(_anchored(tokens, anchor, medium, len({m.group for m in out})))
    falling = _countdown(tokens, len({m.group for m in out}), medium)
    if falling is not None:
        return [m for m in out if m.end <= falling.begin or m.begin >= falling.end] + [falling]
    return out or _unanchored(tokens, medium, signs)


def _anchored(tokens: Sequence[str], anchor: Anchor, medium: str, group: int) -> list[Mark]:
    spans = read_spans(tokens, anchor.at, homophones=True)
    if spans and anchor.bare and anchor.begin > 0 and tokens[anchor.begin - 1] in (("-", "of", "or", "plus") if spans[0].form == UNITS_FORM else ("-", "is", "of", "or")):
        return []
    if not spans or (spans[0].end < len(tokens) and tokens[spans[0].end] in UNIT_NOISE):
        return []
    written = medium == "machine" and spans[0].form == COLON_FORM  # a machine writes its seconds
    if anchor.keyed or written or (spans[0].form == BARE_FORM and falls(tokens, anchor.at) >= LEAST_FALLING):
        spans = spans[:1]
    before, after = tokens[:anchor.begin], tokens[spans[0].end:]
    typed = medium == "typed" and spans[0].form == COLON_FORM  # 'hold T-2:30:00 (20 min)': nothing of such a time is lost
    grade = DOUBTFUL if not typed and _cut_short(after) else _grade(before, after, anchor, spans[0].form == UNITS_FORM)
    if _STARTED & set(before) and to_come(after):
        grade = lower(grade)
    if anchor.clock == "L" and spans[0].form in (BARE_FORM, PAIR_FORM):
        spans = spans[::-1] if spans[0].form == BARE_FORM else spans
        spans = [replace(s, usual=i == 0) for i, s in enumerate(spans)]
    says = _says(before, after)
    drafts = [_mark(span, anchor, grade, group, open_=len(spans) > 1) for span in spans]
    rough = ROUGH in cues(tokens[max(0, anchor.begin - 2):anchor.begin], ())
    to_mark = to_mark_s(tokens, spans[0].end) if medium == "speech" and not _AHEAD.isdisjoint(before) and grade == DOUBTFUL else None
    if to_mark is not None and spans[0].form == UNITS_FORM:  # 'coming up on T minus six minutes, three, two, one, mark'
        return [replace(drafts[0], t_s=drafts[0].t_s - to_mark, grade=LIKELY, says="counting", sigma_s=COUNTED_TO_SIGMA_S)]
    return [
        replace(draft, says=says, sigma_s=_sigma(span, tokens, medium, rough), form="rough" if rough else draft.form) for draft, span in zip(drafts, spans, strict=True)
    ]


def _mark(span: Span, anchor: Anchor, grade: str, group: int, open_: bool) -> Mark:
    """The reading as graded by its form; `open_` when another reading of the same words is possible."""
    if not span.usual:
        grade = DOUBTFUL
    elif open_ and span.form != COLON_FORM and grade == CERTAIN:
        grade = LIKELY
    form = {UNITS_FORM: "words", COLON_FORM: "digits", PAIR_FORM: "pair", BARE_FORM: "bare"}[span.form]
    return Mark(anchor.clock, anchor.sign * span.seconds, "either", grade, form, SPOKEN_SIGMA_S, group, anchor.begin, span.end, open_)


def _sigma(span: Span, tokens: Sequence[str], medium: str, rough: bool) -> float:
    if rough:
        return ROUGH_SIGMA_S
    base = {"machine": MACHINE_SIGMA_S, "typed": TYPED_SIGMA_S}.get(medium, SPOKEN_SIGMA_S)
    if medium != "machine" and len(tokens) > LONG_WORDS and "mark" not in tokens:
        return max(base, min(ROUGH_SIGMA_S, LONG_SIGMA_SHARE * span.grain_s))
    return base


def _grade(before: Sequence[str], after: Sequence[str], anchor: Anchor, united: bool) -> str:
    """How far the words round a reading let it be one of this moment. united: said with its units."""
    if not before and "," in after[:2]:  # 'T minus ten minutes, ...': what follows is another matter
        after = after[:after.index(",") + 1]
    ahead = "coming" in before[-4:] or in_a_while(before[-4:]) or in_a_while(after[:4])
    found = cues(before[-7:], after[:7]) | ({FUTURE} if ahead else set())
    near = cues(before[-4:], after[:3])
    grade = CERTAIN if anchor.heard else LIKELY
    if anchor.bare:
        grade = LIKELY if united or not before or before[-1] in ("at", ",", "now", "holding", "mark", "count", "clock", "stopped", "resumed") else DOUBTFUL
    head = [t for t in after[:5] if t not in _JOINING]
    running = bool(head) and (head[0] in _COUNTING or head[0] in _HOLDING or head[0] == "mark")
    if running and not found & {FUTURE, IF, QUOTED} and anchor.clock == "T":
        return CERTAIN if PAST not in found and (anchor.heard or head[0] != "mark") else LIKELY
    if found & {FUTURE, IF, PAST, QUESTION, QUOTED}:
        soft = NOW in near and not near & {IF, QUOTED} and FUTURE not in found
        return lower(grade) if soft else DOUBTFUL
    if before and before[-1] in ("at", "from", "to", "the", "for", "by", "planned", "scheduled") and NOW not in near and not _ends(after) and "holding" not in before[-3:]:
        return lower(grade) if before[-1] == "at" else DOUBTFUL
    if before and before[-1] in ("from", "to", "for", "the", "by"):
        return lower(grade)
    return grade


def _cut_short(after: Sequence[str]) -> bool:
    """'four minutes twe nty seconds': a unit close behind the time shows that part of it was lost."""
    if len(after) > 1 and after[0].isalpha() and after[0] not in _JOINING and is_number(after[1]) and (len(after) == 2 or after[2] in _JOINING):
        return True  # 'five minutes made fifty and counting'
    if len(after) > 1 and after[1] in UNIT_NOISE and is_number(after[0]) and (read := read_number(after, 0)) is not None and read[0] < 60:
        return True  # 'twenty four minutes ten knots': seconds, misheard
    return any(t in _UNIT_WORDS for t in after[:3]) and "in" not in after[:3] and "for" not in after[:3]


def _ends(after: Sequence[str]) -> bool:
    return not after or (len(after) == 1) or after[0] in (",", ".", "and", "mark")


def _says(before: Sequence[str], after: Sequence[str]) -> str:
    head = [t for t in after[:5] if t not in _JOINING]
    if head and head[0] in _COUNTING:
        return "counting"
    if head and head[0] in _HOLDING:
        return "holding"
    if _STARTED & set(before):
        return "holding" if to_come(after) else "counting" if "counting" in before[-3:] else "either"
    if _STOPPED & set(before[-4:]):
        return "holding"
    if before[-1:] == ("from",):  # the count is picked up from there
        return "counting"
    return "counting" if "counting" in before[-3:] else "either"


def _countdown(tokens: Sequence[str], group: int, medium: str) -> Mark | None:
    """'ten, nine, eight ...': seconds, at the first number."""
    numbers = [] if medium == "machine" else [i for i, token in enumerate(tokens) if is_number(token)]
    for at in numbers[:1 - LEAST_FALLING]:
        many, first, end = fall(tokens, at)
        if many >= LEAST_FALLING:
            grade = CERTAIN if many > LEAST_FALLING else LIKELY
            if "mark" in tokens[end:end + 2]:  # counted down to a mark, not to zero
                grade = DOUBTFUL
            if _TEST_COUNT & set(tokens) or (end < len(tokens) and tokens[end] in UNIT_NOISE):
                grade = DOUBTFUL
            return Mark("T", -first, "counting", grade, "countdown", COUNTDOWN_SIGMA_S, group, at, end)
    return None


def _unanchored(tokens: Sequence[str], medium: str, signs: int) -> list[Mark]:
    """A time said alone ('ninety seconds') or 'five minutes and counting', 'two minutes to lift-off'."""
    if medium == "machine":
        return []
    single = _single_number(tokens) if len(tokens) < 5 else None
    if single is not None:
        return [single]
    if _UNITS.isdisjoint(tokens):
        return []
    at = 0
    while at < len(tokens):
        span = read_united(tokens, at, homophones=at == 0) if is_number(tokens[at]) or at == 0 or tokens[at] in ("half", "a", "an") else None
        if span is None:
            at += 1
            continue
        grade, form = _alone(tokens, at, span, signs)
        if grade is not None:
            before, after = tokens[:at], tokens[span.end:]
            rough = ROUGH in cues(before[-2:], ())
            sigma = _sigma(span, tokens, medium, rough)
            return [Mark("T", -span.seconds, _says(before, after), grade, form, sigma, 0, at, span.end)]
        at = span.end
    return []


def _single_number(tokens: Sequence[str]) -> Mark | None:
    """A number said all by itself: perhaps one of a count down to zero; only what went before can tell."""
    heard = [t for t in tokens if t not in (",", ".", "!")]
    read = read_number(heard, 0, homophones=True) if heard and len(heard) <= 2 and ":" not in heard[0] else None
    if read is None or read[1] != len(heard) or not 0 < read[0] <= MAX_COUNTDOWN:
        return None
    return Mark("T", -read[0], "counting", DOUBTFUL, "single", COUNTDOWN_SIGMA_S, 0, 0, len(tokens))


def _alone(tokens: Sequence[str], at: int, span: Span, signs: int) -> tuple[str | None, str]:
    before, after = tokens[:at], tokens[span.end:]
    if {"hold", "window"} & set(after[:6]):
        return None, ""
    found = cues(before[-6:], after[:6])
    impostor = found & {FUTURE, IF, PAST, QUESTION, QUOTED}
    words = [t for t in after if t not in (",", ".")]
    if any(tuple(words[:len(p)]) == p for p in _TO_GO):
        clear = LIKELY if words[:1] != ["remaining"] else DOUBTFUL
        if impostor - {FUTURE, PAST} or {"hold", "in"} & set(before[-2:]):
            clear = DOUBTFUL
        if words[:2] == ["and", "counting"]:
            clear = CERTAIN if not impostor else LIKELY
        return clear, "to go"
    if words[:1] and words[0] in ("mark", "holding") or words[:2] == ["and", "holding"]:
        return (LIKELY if not impostor else DOUBTFUL), "alone"
    other = [t for t in (*before, *after) if len(t) > 2 and t not in _FILLER and t.isalnum()]
    if len(other) - signs <= 0 and not impostor and not {"in", "for", "hold"} & set(before):
        return LIKELY, "alone"
    return None, ""
