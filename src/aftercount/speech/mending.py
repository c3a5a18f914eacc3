"""Which word of the count was meant by one that was heard badly or typed short?

Conventions: one token for one token, so that positions stay. Only the few words that carry count readings and calls are
mended, each from one wrong, missing or added letter, and never from a word of its own standing; typed short forms are listed.

It does not mend call signs (`directory`) or the words of steps (`match`).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from string import ascii_lowercase

from aftercount.speech.numbers import NUMBER_WORDS
from aftercount.speech.wordsets import word_set

# Long enough that one letter off is still nearer to them than to other words.
_MENDED = ["minutes", "minute", "seconds", "counting", "holding", "resume", "resumed", "resuming", "recycle", "recycled", "recycling", "scrubbed", "scrubbing", "liftoff", "cutoff", "countdown", "released", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty", "thirty", "ninety", "seventy", "eighty"]
# One letter from those above, and words of their own.
_OWN = word_set(
    "mounting courting folding molding moulding golding bolding presume resumes rescued recycles scrubbers scrubber minuses second hour thirsty plenty eighth "
    "release releases minted sounding counted weighty eights elevens elevenths")
# What recognisers and hasty typists make of them beyond one letter.
_LISTED = {
    "minced": "minutes", "minuets": "minutes", "minuet": "minute", "segments": "seconds", "secants": "seconds", "olding": "holding", "holden": "holding",
    "hldg": "holding", "hldng": "holding", "cntg": "counting", "cntng": "counting", "accounting": "counting", "rsmd": "resumed", "resmd": "resumed",
    "rsm": "resume", "rcycl": "recycle", "recyc": "recycle", "wun": "one", "nein": "nine", "clk": "clock", "ct": "count", "cnt": "count", "hld": "hold",
    "heaven": "seven", "sicks": "six", "fife": "five", "sekonds": "seconds",
}


def _one_letter_off(word: str) -> set[str]:
    cuts = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    changed = {a + c + b[1:] for a, b in cuts if b for c in ascii_lowercase}
    added = {a + c + b for a, b in cuts for c in ascii_lowercase}
    dropped = {a + b[1:] for a, b in cuts if b}
    return changed | added | dropped


@lru_cache(maxsize=1)
def _mends() -> dict[str, str]:
    out: dict[str, str] = {}
    for meant in _MENDED:
        for heard in sorted(_one_letter_off(meant)):
            out.setdefault(heard, meant)
    for word in (*_MENDED, *_OWN, *NUMBER_WORDS):
        out.pop(word, None)
    return out | _LISTED


def mend(tokens: Sequence[str]) -> tuple[str, ...]:
    """The tokens with the count's own words put right."""
    mends = _mends()
    if mends.keys().isdisjoint(tokens):
        return tuple(tokens)
    return tuple([mends.get(t, t) for t in tokens])
