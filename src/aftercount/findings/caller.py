"""Who called a hold, by the words of whoever announced it?

The voice that says 'cutoff' is often not who called it: 'SEQ called it', 'called by PROP', 'sequencer shows cutoff'. Conventions:
`announced` is the station that was heard first; a name counts only when it is a station of this count or a machine of the
trade, and not the announcer's own. It does not change who is taken for the caller, only what may be said of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

BEFORE_S = 5.0  # words about the call are said from this long before it ...
AFTER_S = 30.0  # ... to this long after it
_DEED = r"(?:hold|cut ?off|abort|stop)"
_NAMED = re.compile(
    rf"\b(?P<who>\w+) (?:has |have |just )?(?:called|commanded|requested|initiated|triggered|issued|shows?|gave) (?:it|that|the {_DEED}|a {_DEED}|{_DEED})\b"
    rf"|\b(?:called|requested|commanded|initiated|triggered) by (?:the )?(?P<by>\w+)", re.IGNORECASE)
_ALONE = re.compile(rf"\bauto(?:matic(?:ally)?)? (?:sequence )?{_DEED}\b", re.IGNORECASE)
_MACHINES = {"sequencer": "the sequencer", "autosequence": "the automatic sequence", "autosequencer": "the sequencer", "computer": "the computer"}


def named_caller(texts: Iterable[str], announced: str | None, stations: Iterable[str]) -> str | None:
    """The station or machine that the words name as the caller, where it is another than who announced it."""
    known = {s.casefold(): s for s in stations if s} | _MACHINES
    told = list(texts)
    for text in told:
        for found in _NAMED.finditer(text):
            who = known.get((found["who"] or found["by"]).casefold())
            if who is not None and who != announced:
                return who
    return "an automatic cutoff" if any(_ALONE.search(t) for t in told) else None


def called(announced: str, named: str | None) -> str:
    """'called by TC', or 'announced by TC, whose words name SEQ'."""
    return f"called by {announced}" if named is None else f"announced by {announced}; the words name {named}"
