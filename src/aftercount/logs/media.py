"""Did a machine write these entries, did a person type them, or are they people's talk written down?

Conventions: told by samples of the entries: their words, what the last digit of each stamp is worth (seconds), their lengths
(microseconds, 0 unknown). It does not know columns or files: the readers do.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from aftercount.logs.entries import Entries
from aftercount.logs.walltime import US

SAMPLE = 200  # entries that show what a log is
_MACHINE_STEP_S = 0.1
# Free text is a machine's when more of its stamps than this are so fine.
_FINE_TEXT = 0.5
# What only people say: answers on a loop, speaking to each other, counts in words. No machine's record has them.
_TALK = re.compile(
    r"\b(?:copy|copies|copied|roger|wilco|affirm(?:ative)?|say again|go ahead|stand(?:ing)? by|this is|please|okay|yes|we|we're|we'll|you|your|"
    r"i'm|i'll|let's|that's|don't|minus (?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|[a-z]+teen|[a-z]+ty))\b|\bover\.?$", re.IGNORECASE)
# The share of the entries that must sound so for a log to be people's talk.
_TALK_SHARE = 0.1
# Words a second, and the share of the entries that must keep that pace.
_SLOWEST, _QUICKEST, _PACED_SHARE = 0.7, 7.0, 0.9


def fine_share(steps_s: Sequence[float]) -> float:
    """The share of stamps that are finer than anybody types."""
    return sum(1 for s in steps_s if s < _MACHINE_STEP_S) / len(steps_s) if len(steps_s) else 0.0


def is_talk(texts: Sequence[str]) -> bool:
    return sum(1 for t in texts if _TALK.search(t)) > _TALK_SHARE * len(texts)


def is_paced(texts: Sequence[str], lengths_us: Sequence[int]) -> bool:
    """Whether the entries last as long as people take to say so many words."""
    said = [(len(text.split()), us / US) for text, us in zip(texts, lengths_us, strict=True) if us]
    paced = sum(_SLOWEST <= n / s <= _QUICKEST for n, s in said)
    return len(said) > len(texts) / 2 and paced >= _PACED_SHARE * len(said) and len({n for n, _ in said}) > 1


def typed_or_machine(out: Entries) -> str:
    """The medium of free text: typed, unless the stamps are finer than anybody types and the words are nobody's talk."""
    steps, texts = [s.resolution_s for s in out.stamp[:SAMPLE] if s is not None], out.text[:SAMPLE]
    if out.bulk is not None:
        steps, texts = steps + out.bulk.resolution_s[:SAMPLE].tolist(), texts + out.bulk.text[:SAMPLE].to_pylist()
    return "machine" if fine_share(steps) > _FINE_TEXT and not is_talk(texts) else "typed"
