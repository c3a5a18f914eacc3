"""How does a word sound? Recognisers write what they hear: 'locks' for LOX, 'guess' for GAS."""

from __future__ import annotations

from functools import lru_cache

SHORT_CODE = 2  # phonetic symbols: shorter codes are shared by chance


@lru_cache(maxsize=65536)
def sound(word: str) -> str:
    """The word's metaphone code; '' for what is no word."""
    import jellyfish

    return jellyfish.metaphone(word) if word.isascii() and word.isalpha() else ""
