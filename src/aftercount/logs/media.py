"""Did a machine write these entries, did a person type them, or are they people's talk written down?

Conventions: told by samples of the entries: their words, what the last digit of each stamp is worth (seconds), their lengths
(microseconds, 0 unknown). It does not know columns or files: the readers do.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from aftercount.logs.entries import Entries
from aftercount.logs.walltime import US

SAMPLE = 200  # entries that show what a log is
_MACHINE_STEP_S = 0.1
# Free text is a machine's when more of its stamps than this are so fine.
_FINE_TEXT = 0.5
# What only people say: answers on a loop, speaking to each other, counts in words. No machine's record has them.
_SAID = (
    r"\b(?:copy|copies|copied|roger|wilco|affirm(?:ative)?|say again|go ahead|stand(?:ing)? by|this is|please|okay|yes|we|we're|we'll|you|your|"
    r"i'm|i'll|let's|that's|don't)\b|\bover\.?$")
_VERBATIM = re.compile(_SAID, re.IGNORECASE)
_TALK = re.compile(_SAID + r"|\bminus (?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|[a-z]+teen|[a-z]+ty)\b", re.IGNORECASE)
# The share of the entries that must sound so for a log to be people's talk, and from which it is taken down word for word: keepers leave such words out, but for the
# count in words.
_TALK_SHARE = 0.1
_VERBATIM_SHARE = 0.3
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


def of_free_text(out: Entries, stations: Mapping[str, str]) -> str:
    """The medium of free text: typed, unless the stamps are finer than anybody types. Then it is talk written down or, with nobody's words, a
    machine's; and it is talk where the times count from a recording's start, or where it has what people say and no keeper would write: such words,
    or spoken names of stations called. stations: folded call sign or spoken form -> call sign."""
    steps, texts = [s.resolution_s for s in out.stamp[:SAMPLE] if s is not None], out.text[:SAMPLE]
    if out.bulk is not None:
        steps, texts = steps + out.bulk.resolution_s[:SAMPLE].tolist(), texts + out.bulk.text[:SAMPLE].to_pylist()
    fine = fine_share(steps) > _FINE_TEXT
    called = re.compile(rf"(?:okay |and |so )?(?:{'|'.join(re.escape(name) for name, sign in stations.items() if name != sign.lower()) or '(?!)'}), ", re.IGNORECASE)
    verbatim = sum(1 for t in texts if _VERBATIM.search(t) or called.match(t)) > _VERBATIM_SHARE * len(texts)
    if not verbatim and not is_talk(texts):
        return "machine" if fine else "typed"
    recorded = fine or any(s is not None and s.kind == "elapsed" for s in out.stamp[:SAMPLE])
    return "speech" if recorded or verbatim else "typed"
