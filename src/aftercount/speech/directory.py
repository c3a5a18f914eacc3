"""Which station does a call sign name, however it was spelled or heard?

Conventions: a station is known by its id as count.toml or the plan writes it. Its names are its id, its spoken forms,
the id spelled in letters ('t c', 'tee see') or by the radio alphabet ('papa romeo oscar papa'), together or apart. A near
spelling counts only where the caller asks for it (a place where a call sign is due) and never for an ordinary word.

It does not decide who speaks: see `address`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from aftercount.speech.numbers import is_number
from aftercount.speech.sounds import SHORT_CODE, sound
from aftercount.speech.triggers import MAYBE
from aftercount.speech.words import PUNCTUATION, scan
from aftercount.speech.wordsets import word_set

ALPHABET = {
    "a": "alfa alpha", "b": "bravo", "c": "charlie", "d": "delta", "e": "echo", "f": "foxtrot", "g": "golf", "h": "hotel",
    "i": "india", "j": "juliett juliet", "k": "kilo", "l": "lima", "m": "mike", "n": "november", "o": "oscar", "p": "papa",
    "q": "quebec", "r": "romeo", "s": "sierra", "t": "tango", "u": "uniform", "v": "victor", "w": "whiskey whisky",
    "x": "xray", "y": "yankee", "z": "zulu", "0": "zero", "1": "one", "2": "two", "3": "three", "4": "four", "5": "five",
    "6": "six", "7": "seven", "8": "eight", "9": "nine niner",
}
SOUNDS = {
    "a": "ay", "b": "bee be", "c": "see sea cee", "d": "dee", "e": "ee", "f": "eff", "g": "gee", "h": "aitch", "i": "eye", "j": "jay",
    "k": "kay", "l": "el ell", "m": "em", "n": "en", "o": "oh", "p": "pee pea", "q": "queue cue", "r": "are ar", "s": "ess",
    "t": "tee tea", "u": "you", "v": "vee", "w": "doubleu", "x": "ex", "y": "why", "z": "zee zed",
}
_LETTER_OF = {w: k for table in (ALPHABET, SOUNDS) for k, names in table.items() for w in names.split()}
_LETTER_OF |= {k: k for k in ALPHABET}
_SPELLED_MOST = 6  # letters: longer ids are spoken as words
_PIECE_LEAST = 2  # letters of a piece of a name
_PIECES_MOST = 3  # pieces that a name of one word is heard in
_SAME_SOUND = 0.9  # likeness of words that sound the same
_GARBLED_LEAST, _GARBLED_LEAD = 0.6, 0.1  # likeness to a name, and how much more than to any other, where a name is due
_FUZZY_LEAST = 4  # letters: one wrong letter in a shorter word makes another word too often
_FUZZY_EDITS = {4: 1, 5: 1, 6: 2, 7: 2}  # letters -> edits let pass; longer: a third of the length
_COLLECTIVE = word_set("all stations station everyone everybody net")
# Words of the loop that a call sign's near spelling must not swallow.
_ORDINARY = word_set("the this that with what when then them they there have here from for copy roger hold go complete open close closed start "
    "stop step stand by ready verify verified confirm check clear count counting holding minus mark load loading fill drain drop prep "
    "stage valve pump vent press pressure power internal external fuel tank line flow report work in on is are was will we you your "
    "all good time minute minutes second seconds hour hours going got and or not yes no negative affirm affirmative standby lift "
    "off launch green red yellow team crew now next set safe arm point sign test tests rate range cold gold told old")


_MARK_WORDS = word_set("t l tee tea minus plus mark minute minutes second seconds hour hours")
_STANDS_IN = "station"  # for each word of a call sign that is hidden: no call, time or cue has this word
_WITHIN = frozenset("-/.")  # how the words of one call sign may be joined


def _near(word: str) -> int:
    return _FUZZY_EDITS.get(len(word), len(word) // 3)


class Directory:
    """The stations of one count and everything they are called by."""

    def __init__(self, stations: Mapping[str, Sequence[str]], vocabulary: Iterable[str] = ()) -> None:
        self.ids = tuple(stations)
        self._names: dict[tuple[str, ...], str] = {}
        self._words = frozenset(vocabulary) | _ORDINARY
        for station in stations:
            self._add(station, station)
        for station, forms in stations.items():
            for form in forms:
                self._add(station, form)
        self._by_length = sorted({len(name) for name in self._names}, reverse=True)
        self._first = frozenset(name[0] for name in self._names)
        self._glued = {"".join(name): station for name, station in reversed(self._names.items())}
        self._begins = frozenset(name[:n] for name in self._glued if len(name) >= _FUZZY_LEAST for n in range(_PIECE_LEAST, len(name)))
        self._spellings = {id_.lower(): id_ for id_ in self.ids if 1 < len(id_) <= _SPELLED_MOST and id_.isalnum()}
        self.leads = self._first | frozenset(self._glued) | self._begins | (frozenset(_LETTER_OF) if self._spellings else frozenset())
        self._misleading = frozenset(name for name in self._names if any(t in MAYBE or t in _MARK_WORDS or is_number(t) for t in name))
        self._misleading_first = frozenset(name[0] for name in self._misleading)
        self.near = lru_cache(maxsize=65536)(self._near)
        self.at = self._at

    def _add(self, station: str, form: str) -> None:
        name = _plain(form)
        if name:
            self._names.setdefault(name, station)

    def named(self, text: str) -> str | None:
        """The station a whole field names, or None."""
        name = _plain(text)
        return self._names.get(name) or self._glued.get("".join(name)) if name else None

    def _at(self, tokens: Sequence[str], at: int, near: bool = False) -> tuple[str, int] | None:
        """(station, next position) for the call sign that begins at `at`, or None."""
        token = tokens[at]
        if token in self._begins and (split := self._split(tokens, at)) is not None:
            return split
        if token in self._first:
            for length in self._by_length:
                found = self._names.get(tuple(tokens[at:at + length])) if at + length <= len(tokens) else None
                if found is not None:
                    return found, at + length
        if token in _LETTER_OF:
            spelled = self._letters(tokens, at)
            if spelled is not None:
                return spelled
        if token in self._glued and token not in self._words:
            return self._glued[token], at + 1
        if near and (found := self.near(token)) is not None:
            return found, at + 1
        return None

    def _split(self, tokens: Sequence[str], at: int) -> tuple[str, int] | None:
        """A name that was heard in pieces: 'ox id'. Words of the plan and of the loop alone are none."""
        for end in range(min(at + _PIECES_MOST, len(tokens)), at + 1, -1):
            station = self._glued.get("".join(tokens[at:end]))
            if station is not None and tuple(tokens[at:end]) not in self._names and not self._words.issuperset(tokens[at:end]):
                return station, end
        return None

    def garbled(self, pieces: Sequence[str]) -> str | None:
        """The one station that must be meant where only a call sign can stand: 'guess is go' in a roll call is GAS, 'me thane' METHANE."""
        word = "".join(pieces)
        if not word.isalpha() or len(word) < _PIECE_LEAST or not (self._words | _COLLECTIVE).isdisjoint((*pieces, word)):
            return None
        from rapidfuzz import fuzz

        code, alike = sound(word), dict[str, float]()
        for name, station in self._glued.items():
            near = fuzz.ratio(word, name) / 100
            if len(code) >= SHORT_CODE and sound(name) == code:
                near = max(near, _SAME_SOUND)
            alike[station] = max(near, alike.get(station, 0.0))
        best, second = (sorted(alike.values(), reverse=True) + [0.0, 0.0])[:2]
        return max(alike, key=lambda s: alike[s]) if best >= _GARBLED_LEAST and best - second >= _GARBLED_LEAD else None

    def hidden(self, tokens: Sequence[str]) -> Sequence[str]:
        """The tokens with call signs that read like a call or a time ('abort desk') made harmless, as many as before."""
        if self._misleading_first.isdisjoint(tokens):
            return tokens
        out = list(tokens)
        for name in self._misleading:
            for at, token in enumerate(tokens):
                end = _written(tokens, at, name) if token == name[0] else None
                if end is not None and (len(name) > 1 or (name[0] in MAYBE and self._addressed(tokens, at))):
                    out[at:end] = [_STANDS_IN] * (end - at)
        return tuple(out)

    def _addressed(self, tokens: Sequence[str], at: int) -> bool:
        """Is the one word at `at` one of two call signs that a longer sentence opens with? Elsewhere it may be the call itself."""
        first = self.at(tokens, 0)
        if first is None:
            return False
        to = _comma(tokens, first[1])
        second = self.at(tokens, to) if first[1] < to < len(tokens) else None
        return second is not None and second[0] != first[0] and at in (0, to) and any(t not in PUNCTUATION for t in tokens[second[1]:])

    def _letters(self, tokens: Sequence[str], at: int) -> tuple[str, int] | None:
        """'papa romeo oscar papa', 't c', 'tee see': the longest id these letters spell."""
        spelled, best, end = "", None, at
        while end < len(tokens) and len(spelled) < _SPELLED_MOST:
            if tokens[end] in ("-", "."):
                end += 1
                continue
            if tokens[end] not in _LETTER_OF:
                break
            spelled, end = spelled + _LETTER_OF[tokens[end]], end + 1
            if spelled in self._spellings and len(spelled) > 1:
                best = (self._spellings[spelled], end)
        return best

    def _near(self, token: str) -> str | None:
        """The one station whose name is a near spelling of this word; None for an ordinary word or a tie."""
        if len(token) < _FUZZY_LEAST or token in self._words or not token.isalpha():
            return None
        from rapidfuzz.distance import OSA

        scored: dict[str, int] = {}
        for name, station in self._glued.items():
            most = _near(name)
            if len(name) < _FUZZY_LEAST or abs(len(name) - len(token)) > most:
                continue
            edits = OSA.distance(name, token, score_cutoff=most)
            if edits <= most:
                scored[station] = min(edits, scored.get(station, edits))
        least = min(scored.values(), default=0)
        nearest = [s for s, edits in scored.items() if edits == least]
        return nearest[0] if len(nearest) == 1 else None

    @staticmethod
    def everyone(tokens: Sequence[str], at: int) -> int:
        """Where 'all stations' at `at` ends, or `at` itself."""
        end = at
        while end < len(tokens) and end < at + 2 and tokens[end] in _COLLECTIVE:
            end += 1
        if end == at + 1 and tokens[at] == "all" and tuple(tokens[end:end + 1]) not in ((",",), (":",), ("this",), ("from",)):
            return at  # 'all clamps open'
        return end if end > at and tokens[at] in ("all", "everyone", "everybody", "stations") and end - at in (1, 2) else at


def _written(tokens: Sequence[str], at: int, name: tuple[str, ...]) -> int | None:
    """Where a call sign written at `at` ends, its words apart or joined by a sign ('abort-desk')."""
    for word in name:
        while at < len(tokens) and word != name[0] and tokens[at] in _WITHIN:
            at += 1
        if at >= len(tokens) or tokens[at] != word:
            return None
        at += 1
    return at


def _comma(tokens: Sequence[str], at: int) -> int:
    return at + 1 if at < len(tokens) and tokens[at] == "," else at


def _plain(text: str) -> tuple[str, ...]:
    return tuple(t for t in scan(text) if t not in PUNCTUATION)
