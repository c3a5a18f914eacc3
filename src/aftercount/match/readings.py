"""What a text says besides the count: its words without those of a count reading.

Question answered: which words are left to tell of a step. Conventions: words are lower case, numbers in digits. It does not read the count: see `speech.marks`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

_READ = (
    r"(?:\b(?:clock|count)(?: (?:is|at|now|the|of|,))* )?\b(t|tee|tea|l)\s?(-|minus|plus|\+)\s?\d[\d:.]*(\s?(hours?|minutes?|seconds?|mins?|secs?|hrs?|h|m|s))?"
    r"((\s|,|and)+\d+\s?(hours?|minutes?|seconds?|mins?|secs?))*|\b(minus|plus) \d[\d:]*( (minutes?|seconds?|hours?))*|(?<!\d)\d+:\d\d(:\d\d)?z?"
    r"|\b\d+ ?(minutes?|seconds?|mins?|secs?|hours?)\b"
)
# What the clock does ('clock is at ...', '..., clock running', '... and counting') is part of its reading, and no step's act misheard.
_RUNS = (
    r"(?:(?: (?:and|an|in|the|is|now|,|hours?|minutes?|seconds?))* (?:clock|count) (?:is |still )?(?:running|counting)\b"
    r"|(?: (?:and|an|in|minutes?|seconds?))+ (?:running|counting)\b)?"
)
_READING = re.compile(f"(?:{_READ}){_RUNS}")


def without_readings(words: Sequence[str]) -> list[str]:
    """The words but for every count reading among them."""
    return _READING.sub(" ", " ".join(words)).split()
