"""What a text says that contradicts a step, and whether it speaks of something not done or not now.

Question answered: does this text name the opposite state or another unit than the step does; is it a near miss. Conventions:
clashes count 1 each, texts x wordings; near-miss signs are booleans relative to a step (a plan may itself say 'stand by for').
It does not decide what a clash costs: see `logodds`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from itertools import permutations

import numpy as np

from aftercount.match import language
from aftercount.match.lexicon import ARTICLE, UNIT_LETTERS, Lexicon
from aftercount.speech.kinds import INVITES
from aftercount.speech.stepheads import without_numbers

MAX_DESIGNATOR_DIGITS = 2  # longer numbers are readings (psi, volts), not names of units
NOT_DONE, NOT_NOW, ABOUT, STATE, LEAD, MISHEARD, ASKED, ASKED_ABOUT = 1, 2, 4, 8, 16, 32, 64, 128  # bits of `near_miss`; LEAD of `own_misses` alone
Sign = tuple[str, ...]  # stems of the words
BESIDE_READING = 4  # words beside a reading of the count from which the line tells of something else
LEADS = 0.5  # likeness to a lead-in from which a wording begins like one itself ('arm to stand-by')
LEAD_IN_FLOOR = 0.72  # likeness of two phrases, written together, below which they share letters by chance
TOLD_FIRST = 7  # words before 'going to', call signs among them, from which something was told first; two fewer where a comma parts them
LEAD_IN_WORDS = (2, 3, 4)
HALF_HEARD = 0.5  # likeness to a lead-in of which one half is whole and of the other little more than a letter
_SIGNS = ((NOT_DONE, language.NOT_DONE), (NOT_NOW, language.NOT_NOW), (ABOUT, language.ABOUT), (ASKED, language.ASKED), (ASKED_ABOUT, language.ASKED_ABOUT))
_WORD = re.compile(r"[a-z0-9']+")
# 'Tank at ninety percent, going to replenish': who tells what is done, and then what comes next, says nothing against the first.
_GOES_ON = re.compile(r"(?<!\bwe)(?<!\bi)(?<!\bare)(?<!\bis)(?<!\bam)(?<!\bbe)(?<!\bnot)(?<!'re)(?<!'m)(?<!'s)(?<!\bnow)(?<!\bstill)(?<!\bjust),? going (?:to|two|too)\b")
# 'Let me know when you are ready', 'we load when you are ready': what stands before it is no order.
_NO_ORDER = re.compile(r"^\W*$|\b(?:i|we|they|he|she|it(?= (?:is|was|will|may|can|has|goes|comes)\b)|(?:is|are)(?! \w+\W*$)|be|let|report|call|tell|say|advise|stand(?:ing)? by)\b|'")
_HESITATION = re.compile(rf"\b(?:{'|'.join(sorted(language.HESITATIONS))})\b[ ,]*")


def clashes(said: Sequence[tuple[str, ...]], lexicon: Lexicon) -> np.ndarray:
    """Opposite words and other designators, texts x wordings (float32)."""
    out = np.zeros((len(said), len(lexicon.wordings)), dtype=np.float32)
    text, step = _Where(said), _Where(lexicon.stated)
    for groups in language.OPPOSITE_STEMS:
        _add_opposites(out, text, step, groups)
    _add_other_designator(out, text, step, is_letter=True)
    text, step = _Where([_without_readings(s) for s in said]), _Where([_without_readings(s) for s in lexicon.stated])
    _add_other_designator(out, text, step, is_letter=False)
    return out


def _without_readings(stems: tuple[str, ...]) -> tuple[str, ...]:
    """The words without numbers that count a unit of measure: '30 percent' names no thing."""
    if language.MEASURE_STEMS.isdisjoint(stems):
        return stems
    return tuple(s for i, s in enumerate(stems) if not (s.isdigit() and stems[i + 1:i + 2] and stems[i + 1] in language.MEASURE_STEMS))


class _Where:
    """In which rows each word is."""

    def __init__(self, rows: Sequence[tuple[str, ...]]) -> None:
        self.count = len(rows)
        self.rows: dict[str, list[int]] = {}
        for row, tokens in enumerate(rows):
            for token in tokens:
                self.rows.setdefault(token, []).append(row)

    def incidence(self, words: Sequence[str]) -> np.ndarray:
        """rows x words: True where the row has the word."""
        out = np.zeros((self.count, len(words)), dtype=bool)
        for column, word in enumerate(words):
            out[self.rows.get(word, []), column] = True
        return out


def _add_opposites(out: np.ndarray, said: _Where, planned: _Where, groups: Sequence[frozenset[str]]) -> None:
    """One more where the wording has a word of one group and the text one of another. A word that both have ('isolation valve') says nothing."""
    words = sorted(frozenset().union(*groups))
    text, step = said.incidence(words), planned.incidence(words)
    texts, steps = np.flatnonzero(text.any(axis=1)), np.flatnonzero(step.any(axis=1))
    if not len(texts) or not len(steps):
        return
    text, step = text[texts][:, None, :], step[steps][None, :, :]
    only_said, only_planned = text & ~step, step & ~text
    sides = [sorted(words.index(word) for word in group) for group in groups]
    heard = [only_said[:, :, at].any(axis=2) for at in sides]
    meant = [only_planned[:, :, at].any(axis=2) for at in sides]
    clash = np.zeros((len(texts), len(steps)), dtype=np.float32)
    for a, b in permutations(range(len(groups)), 2):
        clash += meant[a] & ~heard[a] & heard[b] & ~meant[b]
    out[np.ix_(texts, steps)] += clash


def opposed(said: Sequence[str], planned: Sequence[str]) -> list[tuple[str, str]]:
    """(word of the text, word of the plan) that contradict each other, in the order of the plan: why `clashes` counted."""
    said, planned = _without_readings(tuple(said)), _without_readings(tuple(planned))
    mine, theirs = [w for w in said if w not in planned], [w for w in planned if w not in said]
    return [(a, b) for b in theirs for a in mine if _contradict(a, b)]


def _contradict(one: str, other: str) -> bool:
    if any(one in g and other in h for groups in language.OPPOSITE_STEMS for g, h in permutations(groups, 2)):
        return True
    return any(_is_designator(one, is_letter) and _is_designator(other, is_letter) for is_letter in (False, True))


def _add_other_designator(out: np.ndarray, said: _Where, planned: _Where, is_letter: bool) -> None:
    """One more where text and wording both name units and share none: stage 1 for stage 2, A for B."""
    known = sorted(word for word in planned.rows if _is_designator(word, is_letter))
    if not known:
        return
    units = [w for w in said.rows if _is_designator(w, is_letter) and (not is_letter or w in known or w in UNIT_LETTERS or w == ARTICLE)]
    text, step = np.flatnonzero(said.incidence(units).any(axis=1)), planned.incidence(known)
    named = np.asarray(step.any(axis=1))
    shared = said.incidence(known)[text].astype(np.float32) @ step.T.astype(np.float32)
    out[text] += (named[None, :] & (shared == 0)).astype(np.float32)


@lru_cache(maxsize=65536)
def _is_designator(word: str, is_letter: bool) -> bool:
    if is_letter:
        return len(word) == 1 and word.isalpha()
    return word.isdigit() and len(word) <= MAX_DESIGNATOR_DIGITS


def lead_in(texts: Sequence[str]) -> np.ndarray:
    """0..1 for each text: how like any run of its words is to the beginning of a call for something to come ('stand be for')."""
    return np.maximum(_phrase(texts, language.LEAD_INS), [HALF_HEARD if language.HALF_LEAD_INS.search(text.lower()) else 0.0 for text in texts])


def poll_end(texts: Sequence[str]) -> np.ndarray:
    """0..1 for each text: how like any run of its words is to the end of a poll."""
    return _phrase(texts, language.POLL_ENDS)


def _phrase(texts: Sequence[str], among: Sequence[str]) -> np.ndarray:
    """0..1 for each text: the best likeness of any run of its words to any of the phrases, above what letters share by chance."""
    from rapidfuzz import fuzz, process

    runs: dict[str, int] = {}
    of_text = [[runs.setdefault(run, len(runs)) for run in _runs(text)] for text in texts]
    phrases = [phrase.replace(" ", "") for phrase in among]
    percent = process.cdist(list(runs), phrases, scorer=fuzz.ratio, score_cutoff=100 * LEAD_IN_FLOOR, dtype=np.uint8).max(axis=1, initial=0)
    best = np.array([max((int(percent[i]) for i in found), default=0) for found in of_text], dtype=np.float64)
    return np.maximum(best / 100 - LEAD_IN_FLOOR, 0.0) / (1.0 - LEAD_IN_FLOOR)


def _runs(text: str) -> set[str]:
    spoken = [word for word in _WORD.findall(_orders(without_numbers(text).lower())) if word not in language.HESITATIONS]
    return {"".join(spoken[i:i + n]) for n in LEAD_IN_WORDS for i in range(len(spoken) - n + 1)} - language.NO_LEAD_INS


def near_miss(texts: Sequence[str]) -> np.ndarray:
    """Bits for each text: it says that something is not done (NOT_DONE), is not now (NOT_NOW), or is only
    talked about (ABOUT: 'looks steady'), how a thing is (STATE: 'is nominal'), or asks for it (ASKED, ASKED_ABOUT); MISHEARD: all that
    these but STATE rest on are words that recognition puts for others."""
    return np.array([_missed_by(text) for text in texts], dtype=np.int16)


@lru_cache(maxsize=65536)
def _missed_by(text: str, own: frozenset[Sign] = frozenset()) -> int:
    """The bits of a text for a step whose own wording has these signs."""
    found, is_state = _signs(text)
    left = {bit: {sign for sign in signs if _sign(sign) not in own} for bit, signs in found.items()}
    words = set().union(*left.values())
    said = sum(bit for bit, signs in left.items() if signs) + MISHEARD * (bool(words) and words <= language.MISHEARD)
    return said + STATE * is_state


def _sign(words: str) -> Sign:
    return tuple(language.stem(word) for word in words.split())


def _signs(text: str) -> tuple[dict[int, set[str]], bool]:
    """The words on which each of NOT_DONE, NOT_NOW and ABOUT rests, and whether a state is told."""
    lowered = _orders(_HESITATION.sub("", text.lower()))
    rest = language.COUNT_READING.sub(" ", lowered)
    lowered = rest if len(rest.split()) >= BESIDE_READING else lowered
    found = {bit: {m.group() for m in sign.finditer(lowered)} for bit, sign in _SIGNS}
    if (goes_on := _GOES_ON.search(lowered)) and len(_WORD.findall(lowered, 0, goes_on.start())) >= (TOLD_FIRST - 2 * goes_on[0].startswith(",")):
        found[NOT_NOW] -= {"going to", "going two", "going too"}
    return found, bool(language.STATE.search(lowered))


def _orders(lowered: str) -> str:
    """The text without what only leaves the moment of an order to who is told, where words for one are left."""
    found = INVITES.search(lowered)
    if found is None or (found.end() >= len(lowered) and _NO_ORDER.search(lowered, 0, found.start())):
        return lowered
    return lowered[:found.start()] + lowered[found.end():]


def own_signs(wordings: Sequence[str]) -> tuple[frozenset[Sign], ...]:
    """The words of each wording that would be signs of a near miss, by their stems: a text for the step may have these, and no others."""
    return tuple(frozenset(_sign(words) for signs in _signs(wording)[0].values() for words in signs) for wording in wordings)


def missed_besides(texts: Sequence[str], own: Sequence[frozenset[Sign]]) -> np.ndarray:
    """The bits of `near_miss` of each text, but for the signs that are its step's own."""
    return np.array([_missed_by(text, signs) for text, signs in zip(texts, own, strict=True)], dtype=np.int16)


def own_misses(wordings: Sequence[str]) -> np.ndarray:
    """The bits of `near_miss` that are none for a step so worded: what its own words have, be it only like a lead-in (LEAD), and a state
    or the question for it where it asks for one."""
    asks = np.array([bool(language.ASKS_STATE.search(wording.lower())) for wording in wordings], dtype=bool)
    leads = lead_in([wording.lower() for wording in wordings]) >= LEADS
    return np.asarray(near_miss(wordings) & ~np.int16(MISHEARD) | ((STATE | ASKED | ASKED_ABOUT) * asks + LEAD * leads).astype(np.int16))
