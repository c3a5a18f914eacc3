"""What was said: records into utterances, count readings, calls on the count and poll answers."""

from aftercount.speech.understanding import Speech, split, understand, understood
from aftercount.speech.words import words

__all__ = ["Speech", "split", "understand", "understood", "words"]
