"""How like a word of the logs is to a word of the plan, once for every pair of distinct words.

Question answered: may this written word stand for that one: by spelling, by sound, as an abbreviation, as a word of like
meaning. Convention: likeness 0..1, more is better, 1 only for the same word; numbers and single letters are the same or nothing.
It does not decide what a shared word is worth: see `likeness`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from aftercount.match import language
from aftercount.speech.sounds import SHORT_CODE, sound

SPELLING_FLOOR = 0.60  # indel similarity below which two words share letters only by chance
SPELLING_TOP = 0.95  # likeness of words that differ by one letter in very many
SOUND_SAME = 0.85  # same phonetic code: a homophone, the commonest error of speech recognition
SOUND_FLOOR = 0.78  # similarity of codes below which sounds are unrelated
SHORT_WORD = 3  # letters: shorter words resemble each other by chance, so near spellings don't count
ABBREVIATED = 0.85  # 'press' for 'pressurization', 'vlv' for 'valve'
LIKE_MEANING = 0.70  # a word of the same group in language.LIKE
KNOWN_OTHER = 0.55  # factor for a word that is itself a word of the plan, yet sounds or means like another
MIN_PREFIX = 3  # letters of an abbreviation by cutting off
NUMBER_FLOOR = 0.72  # similarity from which a word that is nothing else is a garbled number word
SHORTEST_NUMBER = 5  # letters: shorter words are too many to tell from numbers
LONG_NUMBERS = ("three", "seven", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",
                "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety", "hundred")
# English words that are nearly number words by their letters.
NOT_NUMBERS = frozenset(["bright", "deliver", "delve", "dirty", "eight", "eighth", "element", "elements", "elevate", "eleventh", "elevon", "empty", "entry", "even", "evenly", "event", "events", "fifth", "fight", "flight", "forest", "forget", "format", "fort", "forth", "fourth", "freight", "gravity", "height", "heights", "inset", "knight", "leave", "leaves", "level", "levels", "lever", "light", "lights", "might", "never", "night", "ninth", "north", "party", "plenty", "right", "sanity", "screen", "sentry", "serve", "server", "serves", "service", "seventh", "sever", "several", "severe", "severity", "shred", "sieve", "sight", "sixth", "sunset", "tenth", "their", "theme", "there", "these", "third", "thirsty", "thread", "threaded", "threads", "thresh", "threshold", "threw", "tight", "tree", "trees", "uneven", "unity", "velvet", "weight", "weighted", "weights"])
MIN_SKELETON = 2  # letters of an abbreviation by leaving out vowels


def likeness(spoken: Sequence[str], planned: Sequence[str], written: Mapping[str, Sequence[str]] | None = None) -> np.ndarray:
    """Matrix spoken x planned of likeness 0..1 (float32). `written`: the whole words of the planned stems, which people shorten."""
    if not spoken or not planned:
        return np.zeros((len(spoken), len(planned)), dtype=np.float32)
    out = np.maximum(_spelling(spoken, planned), _sound(spoken, planned))
    fixed = np.array([_is_designator(w) for w in spoken])[:, None] | np.array([_is_designator(w) for w in planned])[None, :]
    out[fixed] = 0.0
    _add_meaning(out, spoken, planned)
    _add_abbreviations(out, spoken, planned, written or {})
    column = {word: j for j, word in enumerate(planned)}
    for i, word in enumerate(spoken):
        j = column.get(word)
        if j is not None:
            out[i] *= KNOWN_OTHER
            out[i, j] = 1.0
    return out


@lru_cache(maxsize=65536)
def mended_number(word: str) -> str:
    """The number word that a garbled word must be ('twanty' -> 'twenty'), else the word; with its punctuation, for 'three, two' are two numbers."""
    from rapidfuzz import fuzz, process

    bare = word.rstrip(",.;:?!")
    if len(bare) < SHORTEST_NUMBER or bare in NOT_NUMBERS or bare in LONG_NUMBERS:
        return word
    found = process.extractOne(bare, LONG_NUMBERS, scorer=fuzz.ratio, score_cutoff=100 * NUMBER_FLOOR)
    return found[0] + word[len(bare):] if found else word


def _is_designator(word: str) -> bool:
    return len(word) == 1 or word.isdigit() or not any(c.isalpha() for c in word)


def _spelling(spoken: Sequence[str], planned: Sequence[str]) -> np.ndarray:
    from rapidfuzz import fuzz, process

    percent = process.cdist(spoken, planned, scorer=fuzz.ratio, score_cutoff=100 * SPELLING_FLOOR, dtype=np.uint8)
    scaled = (percent.astype(np.float32) / 100 - SPELLING_FLOOR) / (1 - SPELLING_FLOOR) * SPELLING_TOP
    short = np.array([len(w) <= SHORT_WORD for w in spoken])[:, None] | np.array([len(w) <= SHORT_WORD for w in planned])[None, :]
    scaled[short] = 0.0
    return np.maximum(scaled, 0.0)


def _sound(spoken: Sequence[str], planned: Sequence[str]) -> np.ndarray:
    from rapidfuzz import fuzz, process

    said, said_at = np.unique([sound(w) for w in spoken], return_inverse=True)
    meant, meant_at = np.unique([sound(w) for w in planned], return_inverse=True)
    percent = process.cdist(said.tolist(), meant.tolist(), scorer=fuzz.ratio, score_cutoff=100 * SOUND_FLOOR, dtype=np.uint8)
    scaled = np.maximum((percent.astype(np.float32) / 100 - SOUND_FLOOR) / (1 - SOUND_FLOOR), 0.0) * SOUND_SAME
    scaled[[len(c) < SHORT_CODE for c in said], :] = 0.0
    scaled[:, [len(c) < SHORT_CODE for c in meant]] = 0.0
    return np.asarray(scaled[np.ix_(said_at, meant_at)])


def _add_meaning(out: np.ndarray, spoken: Sequence[str], planned: Sequence[str]) -> None:
    groups: dict[str, list[int]] = defaultdict(list)
    for j, word in enumerate(planned):
        for number, group in enumerate(language.LIKE_STEMS):
            if word in group:
                groups[str(number)].append(j)
    for i, word in enumerate(spoken):
        for number, group in enumerate(language.LIKE_STEMS):
            if word in group:
                for j in groups.get(str(number), ()):
                    out[i, j] = max(out[i, j], LIKE_MEANING)


def _add_abbreviations(out: np.ndarray, spoken: Sequence[str], planned: Sequence[str], written: Mapping[str, Sequence[str]]) -> None:
    by_letter: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for j, word in enumerate(planned):
        by_letter[word[:1]].append((j, word))
    for i, word in enumerate(spoken):
        for j, other in by_letter.get(word[:1], ()):
            if word != other and (abbreviates(word, other) or abbreviates(other, word) or any(_shortens(word, whole) for whole in written.get(other, ()))):
                out[i, j] = max(out[i, j], ABBREVIATED)


def _shortens(word: str, whole: str) -> bool:
    """Whether the word is short for the whole one, its ending kept or not: 'hdg' heading, 'btls' bottle, 'chgd' charge."""
    bare = word[:-1] if word[-1:] in ("s", "d") and len(word) > MIN_SKELETON + 1 else word
    return abbreviates(word, whole) or abbreviates(bare, whole)


def abbreviates(short: str, full: str) -> bool:
    """True when `short` is a cut-off or vowelless form of `full`: press/pressurization, vlv/valve, chk/check."""
    if len(short) >= len(full) or not short.isalpha() or not full.isalpha():
        return False
    if len(short) >= MIN_PREFIX and full.startswith(short):
        return True
    if len(short) < MIN_SKELETON or any(c in "aeiou" for c in short[1:]):
        return False
    rest = iter(full)
    consonants = sum(c not in "aeiou" for c in full)
    return all(c in rest for c in short) and 2 * len(short) > consonants
