"""Words as a speech recogniser hears them, at a stated word error rate.

Conventions: the rate is (substitutions + deletions + insertions) / words said, over the whole of a transcript. Homophones and near
sounds first, then dropped and inserted words, words split and run together. It does not decide which log is noisy.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from aftercount.rehearse.lexicon import Lexicon

HOMOPHONES: dict[str, tuple[str, ...]] = {
    "two": ("to", "too"), "four": ("for", "fore"), "eight": ("ate",), "one": ("won", "wun"), "ten": ("tin", "then"), "five": ("fife", "hive"),
    "six": ("sicks", "sex"), "seven": ("heaven",), "nine": ("nein", "mine"), "three": ("free", "tree"), "zero": ("the row",), "minus": ("my nose", "minors", "mine is"),
    "a": ("eh", "hey", "the"), "b": ("be", "bee", "v"), "c": ("see", "sea"), "o": ("oh",), "r": ("are",), "k": ("kay", "okay"),
    "n": ("an", "and"), "x": ("ex",), "i": ("eye",), "v": ("we", "b"), "l": ("el",), "s": ("ess",), "p": ("pea",), "d": ("the",),
    "t": ("tea", "tee", "key", "d"), "tc": ("tea sea", "teesee", "dc"), "lox": ("locks", "locks", "lots"), "vent": ("bent", "went", "fent"),
    "valve": ("valves", "wealth", "vowel"), "stage": ("state", "stayed", "page"), "fuel": ("few", "full", "fool"), "purge": ("perch", "urge"),
    "go": ("no", "goal", "so"), "hold": ("old", "whole", "told"), "closed": ("clothes", "close"), "close": ("clothes", "closed"), "open": ("opened", "oven"),
    "arm": ("arms", "on"), "armed": ("arm", "alarmed"), "tank": ("thank", "bank"), "range": ("strange", "arrange"), "flight": ("light", "fright"),
    "clear": ("gear", "clean"), "verify": ("very five", "verified"), "pressure": ("precious", "fresher"), "pressurize": ("pressurized",),
    "start": ("star", "tart"), "stop": ("top", "step"), "count": ("account", "cow"), "counting": ("accounting", "county"), "holding": ("folding", "olding"),
    "prop": ("prof", "crop"), "safe": ("save",), "in": ("and", "an"), "work": ("worked", "word"), "copy": ("coffee", "copied"), "complete": ("completed", "compete"),
    "pad": ("bad", "pat"), "water": ("what her", "order"), "pump": ("bump", "pumps"), "power": ("hour", "tower"), "seconds": ("second", "segments"),
    "minutes": ("minute", "minced"), "and": ("in", "an", "end"), "the": ("a", "duh"), "is": ("his", "as"), "for": ("four",), "to": ("two",), "level": ("devil",),
}
_NEAR = {"b": "pd", "p": "bt", "d": "tb", "t": "dk", "m": "n", "n": "m", "s": "fz", "f": "sv", "v": "bf", "g": "k", "k": "gt", "c": "k", "l": "r",
         "r": "l", "a": "eo", "e": "ai", "i": "ea", "o": "au", "u": "oa"}
_INSERTED = ("uh", "the", "a", "and", "um", "is", "to", "so", "okay", "on", "it")
NUMBER_WORDS = frozenset(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety", "hundred"])
_OTHER_NUMBER = {"five": "nine", "nine": "five", "fifteen": "fifty", "fifty": "fifteen", "thirteen": "thirty", "thirty": "thirteen",
                 "sixteen": "sixty", "sixty": "sixteen", "forty": "fourteen", "six": "seven", "seven": "eleven"}
KNOWN_WORD_SHARE = 0.85      # of the words misheard, those written as another word rather than as letters
NUMBER_CHANGED_SHARE = 0.08  # of the errors on number words, those that give another number
# errors by kind, and what each counts in the rate: a split or a join is a substitution and an insertion or a deletion
_KINDS = ("swap", "drop", "insert", "split", "join")
_WEIGHTS = (0.60, 0.20, 0.08, 0.06, 0.06)
_COSTS = {"swap": 1.0, "drop": 1.0, "insert": 1.0, "split": 2.0, "join": 2.0}


@dataclass
class Recogniser:
    """Hears a transcript's words. The error budget is kept over the whole transcript so that the rate is met."""

    rate: float
    rng: Random
    lexicon: Lexicon = field(default_factory=lambda: Lexicon(()))
    owed: float = 0.0

    def hear(self, text: str) -> tuple[str, bool]:
        """The words as heard, and whether every number in them is still the one said."""
        words = text.split()
        if self.rate <= 0 or not words:
            return text, True
        out: list[str] = []
        right = True
        i = 0
        while i < len(words):
            self.owed += self.rate
            word = words[i]
            if self.rng.random() >= self._chance():
                out.append(word)
                i += 1
                continue
            kind = self.rng.choices(_KINDS, _WEIGHTS)[0]
            if kind == "join" and i + 1 < len(words):
                out.append(word + words[i + 1])
                self.owed += self.rate
                i += 1
                self.owed -= 2
            elif kind == "insert":
                out += [word, self.rng.choice(_INSERTED)]
                self.owed -= 1
            elif kind == "drop":
                right = right and word.lower() not in NUMBER_WORDS
                self.owed -= 1
            else:
                heard, same = self._swap(word, kind == "split")
                right = right and same
                self.owed -= max(1, len(heard.split()))
                out.append(heard)
            i += 1
        return " ".join(out), right

    def _chance(self) -> float:
        """Chance of an error at this word: the rate over an error's mean cost, steered by what is still owed."""
        mean = 1.2
        return min(0.95, max(0.0, self.rate / mean + 0.04 * max(-8.0, min(8.0, self.owed))))

    def _swap(self, word: str, split: bool) -> tuple[str, bool]:
        bare = word.strip(".,?!").lower()
        if bare in _OTHER_NUMBER and self.rng.random() < NUMBER_CHANGED_SHARE:
            return _OTHER_NUMBER[bare], False
        if bare in HOMOPHONES and self.rng.random() < 0.75:
            return self.rng.choice(HOMOPHONES[bare]), True
        if split and len(bare) >= 5:
            cut = self.rng.randrange(2, len(bare) - 1)
            return f"{bare[:cut]} {bare[cut:]}", True
        known = self.lexicon.near(bare) if bare not in NUMBER_WORDS else ()
        if known and self.rng.random() < KNOWN_WORD_SHARE:
            return self.rng.choice(known), True
        return self._near_sound(bare), True

    def _near_sound(self, word: str) -> str:
        places = [i for i, c in enumerate(word) if c in _NEAR]
        if not places:
            return word + "s" if word else "uh"
        letters = list(word)
        for i in self.rng.sample(places, min(len(places), self.rng.choice((1, 1, 2)))):
            letters[i] = self.rng.choice(_NEAR[letters[i]])
        return "".join(letters)
