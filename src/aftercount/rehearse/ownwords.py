"""What a step is called by people who have a name of their own for it: words that the plan does not have.

Conventions: texts as in `phrasing`; designators, numbers, call signs and small words stay, since whoever is talked to must know which of several is meant.
It does not decide which steps are told so: `phrasing` does.
"""

from __future__ import annotations

from random import Random

REPLACED = (0.4, 1.0)  # share of the words of such a step that are others, from one saying of it to the next
LEAST_LETTERS = 3
PLAIN = (
    "base", "basket", "board", "boat", "body", "box", "bridge", "building", "candle", "case", "chair", "clamp", "coat", "corner", "cover", "cradle",
    "door", "edge", "face", "family", "fence", "field", "finger", "fish", "floor", "garden", "glass", "guests", "hall", "hammer", "hat",
    "hill", "home", "horse", "hose", "house", "island", "kettle", "king", "ladder", "lady", "leaf", "letter", "market", "mirror", "moon", "neck",
    "needle", "office", "paint", "people", "piano", "pocket", "porch", "road", "rock", "roof", "rope", "saddle", "sand", "shape", "shed", "shelf", "shoe",
    "sister", "skirt", "sledge", "stone", "street", "tail", "tent", "thread", "toe", "town", "tree", "village", "wagon", "wheel", "yard",
)
ERRAND_VERBS = ("move", "turn", "get", "bring", "check", "fix", "take", "put", "look after", "see to")


def own_words(text: str, rng: Random) -> str:
    share = rng.uniform(*REPLACED)
    return " ".join(rng.choice(PLAIN) if _replaceable(word) and rng.random() < share else word for word in text.split())


def errand(rng: Random) -> str:
    """An order for something that no plan has."""
    return f"{rng.choice(ERRAND_VERBS)} the {' '.join(rng.sample(PLAIN, rng.choice((1, 2))))}"


def _replaceable(word: str) -> bool:
    return word.isalpha() and word.islower() and len(word) >= LEAST_LETTERS and word not in ("and", "the", "for", "not", "off", "out")
