"""The vocabulary of one plan: its steps as weighted words, and any text in the same words.

Question answered: which words tell this plan's steps apart, and how strongly. Conventions: a *word* here is canonical (number
words as digits, abbreviations and glossary terms resolved, endings removed); weights are 0..1 in a wording and sum to 1.
It does not decide how like two words are: see `likeness`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np

from aftercount.count import CountFolder
from aftercount.match import language
from aftercount.match.headcodes import without_codes
from aftercount.match.initials import initials, numbered, spelled_out
from aftercount.match.parting import LEAST_PART, parting, with_number
from aftercount.match.readings import without_readings
from aftercount.match.states import started, switched
from aftercount.match.wordlikeness import mended_number
from aftercount.plan import Plan
from aftercount.speech.sounds import SHORT_CODE, sound
from aftercount.speech.stepheads import without_numbers
from aftercount.speech.words import words

NEAR_COSINE = 0.35  # wordings more alike than this (idf cosine) are rivals, the more alike the more, that the differing words must tell apart
RIVAL_BOOST = 1.0  # weight a word gains when no rival has it, in units of the largest idf
COMMON_WORD = 0.15  # floor of a word's weight: even a word of every step is some evidence
PROGRESS_WEIGHT = 0.3  # 'complete', 'verify' and the like say less about which step it is than things and places do
STATION_WEIGHT = 0.35  # a call sign inside an action is also said on every other call to that station
MAX_TERM_WORDS = 4  # longest glossary form looked for, words

ARTICLE = "a"
_SPELLED_A = "A"  # what 'alpha' is until it is known which 'a' is an article
UNIT_LETTERS = frozenset("bcd")  # name a unit even where the plan has only its fellow, as 'a' does beside such words; others may be what is left of a call sign
_UNIT_LETTER = re.compile(r"(?<=\S )[A-D]\b|\b[Aa]l(?:ph|f)a\b|\b[Bb]ravo\b|(?<=[-/])[A-D]\b")
# An A in capitals inside lower case is a name; and so is one that ends what is said, or that such a word follows: no article does ('hook up a', 'a is capped').
_CAPITAL_A = re.compile(r"(?<=[a-z\d,;:] )A(?=[ .,;:?!)]|$)")
_NO_NOUNS = frozenset(("is", "are", "was", "has", "at", "to", "and", "off", "now", "from", "for", "on", "in"))
# 'Zero all channels' is something done, not a number: before a word that takes everything in, and at the head of a wording before things.
_ZERO_OUT = re.compile(r"\bzero(?= (?:all|the|every\w*|out|your|both|each)\b)|^zero(?= (?:[a-z]{2,} ){0,2}[a-z]{2,}s$)")
_WHOLE = re.compile(r"(?<=\d)(?<![.:]\d)(?<![.:]\d\d)\.0+(?![\d.:])")  # '82.0' is 82
_SLIGHT_STATES = frozenset(("on", "up"))  # said of anything ('on the loop'): little evidence that it is this thing
_LETTERS = re.compile(r"[^\W\d_]+")
_DIGIT = re.compile(r"\d")


@dataclass(frozen=True)
class Terms:
    """Phrases that stand for one word: glossary terms and stations, each in all its forms."""

    phrase: dict[tuple[str, ...], str]
    forms: dict[str, tuple[tuple[str, ...], ...]]
    stations: frozenset[str]
    begins: frozenset[str]

    def join(self, stems: Sequence[str]) -> tuple[str, ...]:
        """The words with every known phrase replaced by its term, longest phrase first."""
        if self.begins.isdisjoint(stems) and (_SPELLED_A not in stems or ARTICLE not in self.begins):
            return _without_spelled(stems)
        out: list[str] = []
        at = 0
        while at < len(stems):
            longest = min(MAX_TERM_WORDS, len(stems) - at) if stems[at] in self.begins or stems[at] == _SPELLED_A else 0
            for length in range(longest, 0, -1):
                term = self.phrase.get(tuple(ARTICLE if s == _SPELLED_A else s for s in stems[at:at + length]))
                if term is not None:
                    out.append(term)
                    at += length
                    break
            else:
                out.append(stems[at])
                at += 1
        return _without_spelled(out)


def _without_spelled(stems: Sequence[str]) -> tuple[str, ...]:
    """Without runs of single letters: what is left of a call sign spelled out and misheard, not the name of a unit."""
    if 1 not in map(len, stems):
        return tuple(stems)
    single = [len(s) == 1 and s.isalpha() for s in stems]
    last = len(stems) - 1
    return tuple(
        s for i, s in enumerate(stems) if not (single[i] and ((i and single[i - 1]) or (i < last and single[i + 1]))))


@dataclass(frozen=True)
class Lexicon:
    """A plan in words. `wordings[i]` is one way to say plan row `step_of[i]`; `weights[i, j]` what vocabulary word j is worth in it.
    `stated[i]`: the same with 'on' where it is a state, no preposition: what contradicts the step, though it's too common to be evidence.
    `beside_a`: the words beside 'A' where it names a unit ('link A'); elsewhere 'a' is an article."""

    terms: Terms
    beside_a: frozenset[str]
    wordings: tuple[tuple[str, ...], ...]
    stated: tuple[tuple[str, ...], ...]
    step_of: np.ndarray
    vocabulary: tuple[str, ...]
    weights: np.ndarray
    idf: np.ndarray
    rows: int
    known: frozenset[str]
    initials: Mapping[tuple[str, ...], tuple[str, ...]]

    @property
    def written(self) -> dict[str, tuple[str, ...]]:
        """Each stem with the words that the plan writes it as: what a short form was made from."""
        out: dict[str, list[str]] = {}
        for word in sorted(self.known):
            out.setdefault(language.stem(word), []).append(word)
        return {stem: tuple(ways) for stem, ways in out.items()}

    @cached_property
    def of_stations(self) -> frozenset[tuple[str, str]]:
        """Stations that wordings are about, each with the word behind it."""
        return frozenset(pair for wording in self.wordings for pair in pairwise(wording) if pair[0] in self.terms.stations)

    @property
    def present(self) -> np.ndarray:
        """wordings x vocabulary: 1 where the wording has the word."""
        return (self.weights > 0).astype(np.float32)

    def canonical(self, text: str, names: tuple[str, ...] = ()) -> tuple[str, ...]:
        """The text in canonical words. `names`: the stations that speak and are spoken to; where they are called they say nothing of a step."""
        return self.without_call_signs(self.stems(text), names)

    def stems(self, text: str) -> tuple[str, ...]:
        """The text in canonical words, call signs among them."""
        text = _CAPITAL_A.sub("alpha", text) if self.beside_a else text
        stems = spelled_out(_marked(without_numbers(text), self.known), self.initials)
        return _without_article(self.terms.join(stems), self.beside_a)

    def without_call_signs(self, stems: tuple[str, ...], names: tuple[str, ...]) -> tuple[str, ...]:
        """The stems but for stations that are called by these names. Called are those in the address ('SURF, this is LC ...', 'SURF in work') and the last word ('in work, SURF'); not 'surface wind'."""
        kept = list(stems)
        said = (i for i, s in enumerate(stems) if s not in self.terms.stations and (s not in language.STOP_STEMS or s in _SLIGHT_STATES))
        address = next(said, len(stems))  # 'gondola on battery' calls no gondola
        for name in map(_term, names):
            if name in stems[:address] and address > 1 and not self._spoken_of(name, stems[:address + 1]):
                kept.remove(name)
            elif kept and kept[-1] == name:
                kept.pop()
        return tuple(kept)

    def _spoken_of(self, name: str, stems: tuple[str, ...]) -> bool:
        """Whether the station is what the last word is about, as a wording has it: 'chase, vehicle clear' where a step is 'report vehicle clear'."""
        told = [s for s in stems if s not in language.STOP_STEMS]
        return stems.count(name) == 1 and told[-2:-1] == [name] and (name, told[-1]) in self.of_stations


def _without_article(stems: tuple[str, ...], beside_a: frozenset[str]) -> tuple[str, ...]:
    if ARTICLE not in stems:
        return tuple(ARTICLE if s == _SPELLED_A else s for s in stems) if _SPELLED_A in stems else stems
    last = len(stems) - 1
    return tuple(s.lower() for i, s in enumerate(stems) if s != ARTICLE or (i and stems[i - 1] in beside_a) or (i < last and stems[i + 1] in beside_a) or (
        beside_a and last and (i == last or stems[i + 1] in _NO_NOUNS)))


def stems_of(text: str, known: frozenset[str] | None = None) -> tuple[str, ...]:
    """Canonical stems of a text, count readings left out: 'T minus 5 minutes, stage two vent opened' -> stage 2 vent open.
    `known`: words that are themselves; any other that is nearly a number word is that number garbled. None: nothing is garbled."""
    return tuple(ARTICLE if s == _SPELLED_A else s for s in _marked(text, known))


def _marked(text: str, known: frozenset[str] | None) -> tuple[str, ...]:
    """The same with _SPELLED_A for an A that is no article."""
    text = _WHOLE.sub("", _ZERO_OUT.sub("zeroing", text.lower()))
    if known is not None:
        text = " ".join([word if word in known else mended_number(word) for word in text.split()])
    tokens: Sequence[str] = words(text)
    if _DIGIT.search(text) or any(map(str.isdigit, tokens)):  # every count reading has one
        tokens = without_readings(tokens)
        tokens = [one for token in tokens for one in with_number(token, known)] if known else tokens
    if known and max(map(len, tokens), default=0) >= 2 * LEAST_PART:
        tokens = [one for token in tokens for one in (parting(known)(token) if len(token) >= 2 * LEAST_PART else (token,))]
    return tuple(_designators(tokens, known or frozenset()))


def _designators(tokens: Sequence[str], known: frozenset[str]) -> Iterable[str]:
    last, designator = len(tokens) - 1, _designator(known)
    for at, token in enumerate(tokens):
        if token in language.ORDINALS and at < last and not (at and tokens[at - 1].isdigit()):
            yield language.ORDINALS[token]
        else:
            yield designator(token)


@lru_cache(maxsize=8)
def _designator(known: frozenset[str]) -> Callable[[str], str]:
    """For a word its stem, or the name of a unit that it spells out."""

    @lru_cache(maxsize=65536)
    def read(token: str) -> str:
        unit = language.LETTERS.get(token) or language.ROMAN.get(token)
        if unit is not None:
            return _SPELLED_A if unit == ARTICLE else unit
        stem = language.stem(token)
        # Its ending may be part of the sound: 'locks' is LOX misheard, 'lock' is not.
        return token if stem != token and token not in known and sound(token) in _sounds(known) else stem

    return read


@lru_cache(maxsize=64)
def _sounds(known: frozenset[str]) -> frozenset[str]:
    """How the words of the plan sound that have no ending to lose."""
    return frozenset(code for word in known if word == language.stem(word) and len(code := sound(word)) > SHORT_CODE)


@lru_cache(maxsize=4096)
def _term(name: str) -> str:
    """The one word that stands for a glossary term or a station."""
    return "_".join(stems_of(name)) or name.lower()


def terms_of(count: CountFolder) -> Terms:
    """Glossary and stations as phrases; a term's own spelling is one of its forms."""
    phrase = {stems_of(act): act.replace(" ", "") for act in language.ACTS}
    forms: dict[str, tuple[tuple[str, ...], ...]] = {}
    stations = set()
    for table, is_station in ((count.stations, True), (count.glossary, False)):
        for term, spoken in sorted(table.items()):
            name = _term(term)
            ways = [stems_of(form) for form in (term, *spoken)]
            if is_station or (term.isalpha() and term.isupper()):
                ways.append(tuple(term.lower()))  # spelled out: 't c', 'f t s'
            ways = [way for way in ways if 0 < len(way) <= MAX_TERM_WORDS]
            for way in ways:
                phrase.setdefault(way, name)
            forms[name] = tuple(way for way in ways if way != (name,))
            if is_station:
                stations.add(name)
    return Terms(phrase, forms, frozenset(stations), frozenset(way[0] for way in phrase))


def build(plan: Plan, count: CountFolder) -> Lexicon:
    """The lexicon of a plan: one wording for each action and each of its `says`, and of each that switches, starts or stops a thing one by its new state."""
    terms = terms_of(count)
    spelled = numbered(map(stems_of, _wordings(plan))) | initials(_wordings(plan), frozenset(terms.phrase))
    actions = without_codes([str(action) for action in plan.table["action"]])
    beside_a = _beside_a(plan, terms)
    wordings: list[tuple[str, ...]] = []
    stated: list[tuple[str, ...]] = []
    step_of: list[int] = []
    for row, (action, says) in enumerate(zip(actions, plan.table["says"], strict=True)):
        seen = set()
        for text in (action, *says):
            wording = _evidence(_without_article(terms.join(stems_of(text)), beside_a))
            states, acts = switched(text)[1], wording if started(text)[1] else ()  # told to run, it is still opposed to 'stopped'
            told = ((_evidence(_without_article(terms.join(stems_of(things)), beside_a)), some) for things, some in (switched(text), started(text)) if things)
            for way in (wording, *((*things, language.stem(state)) for things, some in told for state in some if things)):
                if way and way not in seen:
                    seen.add(way)
                    wordings.append(way)
                    stated.append(tuple(dict.fromkeys((*way, *states[:1], *acts))))
                    step_of.append(row)
    vocabulary = tuple(sorted({word for wording in wordings for word in wording}))
    incidence = _incidence(wordings, vocabulary)
    rows = np.array(step_of, dtype=np.int64)
    idf = _idf(incidence, rows, vocabulary, terms.stations)
    weights = _weights(incidence, idf, rows)
    return Lexicon(terms, beside_a, tuple(wordings), tuple(stated), rows, vocabulary, weights, idf, len(plan.table), _known(plan, count), spelled)


def _wordings(plan: Plan) -> list[str]:
    """Every action and every other wording, as the plan writes them."""
    return [text for action, says in zip(plan.table["action"], plan.table["says"], strict=True) for text in (str(action), *says)]


def _known(plan: Plan, count: CountFolder) -> frozenset[str]:
    """The words as plan, glossary and stations write them."""
    texts = _wordings(plan)
    texts += [form for table in (count.stations, count.glossary) for term, spoken in table.items() for form in (term, *spoken)]
    return frozenset(word for text in texts for word in _LETTERS.findall(text.lower()))


def _beside_a(plan: Plan, terms: Terms) -> frozenset[str]:
    """The words next to a letter that names a unit in the plan's own wordings; grammar words don't count."""
    beside: set[str] = set()
    for action, says in zip(plan.table["action"], plan.table["says"], strict=True):
        for text in (str(action), *says):
            stems = terms.join(stems_of(text))
            if _UNIT_LETTER.search(text):
                at = [i for i, s in enumerate(stems) if s == ARTICLE or s in UNIT_LETTERS]
                beside |= {stems[j] for i in at for j in (i - 1, i + 1) if 0 <= j < len(stems)}
    return frozenset(beside - language.STOP_STEMS)


def _evidence(stems: tuple[str, ...]) -> tuple[str, ...]:
    """The words of a wording that carry it; all of them if it is made of procedure words alone ('stand by')."""
    return tuple(dict.fromkeys(s for s in stems if s == ARTICLE or s not in language.STOP_STEMS)) or tuple(dict.fromkeys(stems))


def _incidence(wordings: Sequence[tuple[str, ...]], vocabulary: Sequence[str]) -> np.ndarray:
    column = {word: j for j, word in enumerate(vocabulary)}
    incidence = np.zeros((len(wordings), len(vocabulary)), dtype=np.float32)
    for i, wording in enumerate(wordings):
        incidence[i, [column[word] for word in wording]] = 1.0
    return incidence


def _idf(incidence: np.ndarray, step_of: np.ndarray, vocabulary: Sequence[str], stations: frozenset[str]) -> np.ndarray:
    """0..1: 1 for a word of a single step, COMMON_WORD at least; procedure words and call signs less."""
    if not len(step_of):
        return np.zeros(len(vocabulary), dtype=np.float32)
    steps = len(set(step_of.tolist()))
    first = np.searchsorted(step_of, np.unique(step_of))
    in_steps = np.maximum.reduceat(incidence, first, axis=0).sum(axis=0)
    idf = np.maximum(np.log((steps + 1) / np.maximum(in_steps, 1)) / math.log(steps + 1), COMMON_WORD)
    slight = language.PROGRESS_STEMS | _SLIGHT_STATES
    factor = [STATION_WEIGHT if w in stations else PROGRESS_WEIGHT if w in slight else 1.0 for w in vocabulary]
    return (idf * np.array(factor)).astype(np.float32)


def _weights(incidence: np.ndarray, idf: np.ndarray, step_of: np.ndarray) -> np.ndarray:
    """Rows sum to 1. A word counts for its idf, and more where the wordings most like this one lack it."""
    scaled = incidence * idf
    unit = scaled / np.maximum(np.linalg.norm(scaled, axis=1, keepdims=True), 1e-9)
    other = step_of[:, None] != step_of[None, :]
    rivals = (np.maximum(unit @ unit.T - NEAR_COSINE, 0.0) * other) ** 2
    lacking = (rivals @ (1.0 - incidence)) / np.maximum(rivals.sum(axis=1, keepdims=True), 1e-6)
    raw = incidence * (idf + RIVAL_BOOST * lacking)
    return np.asarray(raw / np.maximum(raw.sum(axis=1, keepdims=True), 1e-9), dtype=np.float32)
