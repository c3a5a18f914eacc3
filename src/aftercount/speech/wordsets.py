"""How is a set of words written down? As one line of text, words apart by spaces."""

from __future__ import annotations


def word_set(text: str) -> frozenset[str]:
    return frozenset(text.split())
