"""How would what a keeper typed have been said on the loop: 'TC told PROP to open the vent', 'PROP was asked to open it', 'vent open (PROP)'?

Conventions: an entry that tells who ordered what of whom, or ends with a call sign, with those signs in front ('TC to PROP: open the vent'); any other as it was.
It does not read what was ordered.
"""

from __future__ import annotations

import re
from collections.abc import Set

from aftercount.speech.directory import Directory

LONGEST_SIGN = 30  # letters
_CLOSED = {")": "(", "]": "["}
_DASHES = (" - ", " -- ", " \u2013 ", " \u2014 ")
_SIGN = r"[^\s,:>][^,:>]{0,29}?"
_ORDERED = r"(?:told|asked|instructed|ordered|directed|requested|cleared)"
_TOLD = re.compile(rf"(?P<by>{_SIGN}) (?:{_ORDERED}|called (?:for|on)) (?P<to>{_SIGN}) to (?P<said>\S.*)", re.IGNORECASE | re.DOTALL)
_WAS_TOLD = re.compile(rf"(?P<to>{_SIGN}) (?:was|were|got) {_ORDERED} to (?P<said>\S.*)", re.IGNORECASE | re.DOTALL)


def on_the_loop(text: str, directory: Directory, pairs: Set[tuple[str, str]]) -> str:
    """The entry as it may have been said. pairs: who calls for steps, and from whom."""
    if (found := _TOLD.fullmatch(text)) and (by := directory.named(found["by"])) and (to := directory.named(found["to"])):
        return f"{by} to {to}: {found['said']}"
    if (found := _WAS_TOLD.fullmatch(text)) and (to := directory.named(found["to"])):
        callers = [by for by, performs in pairs if performs == to]
        return f"{callers[0]} to {to}: {found['said']}" if len(callers) == 1 else f"{to}, {found['said']}"
    said, last = _parted(text)
    sign = directory.named(last) if said and len(last) <= LONGEST_SIGN else None
    return text if sign is None else f"{sign} {said}"


def _parted(text: str) -> tuple[str, str]:
    """An entry and what stands at its end in brackets or behind a dash; nothing if nothing does."""
    text = text.rstrip(" .")
    if text[-1:] in _CLOSED:
        said, _, last = text[:-1].rpartition(_CLOSED[text[-1]])
    else:
        said, last = max((text.rpartition(dash)[::2] for dash in _DASHES), key=lambda parts: len(parts[0]))
    return said.rstrip(), last.strip()
