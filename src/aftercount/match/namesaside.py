"""Names of stations that read like a near miss: 'fire watch' watches nothing, 'flight review' reviews nothing.

Question answered: what does each text say without such names. Convention: only names that would be signs by themselves are put aside; a name of one word, which people also say for what it means,
only where it stands between commas or ends. It does not find out who speaks: `speech` does.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from aftercount.match.conflict import STATE, near_miss

SOMEBODY = "STN"  # what a name is put as


def put_aside(texts: Sequence[str], stations: Mapping[str, Sequence[str]]) -> list[str]:
    forms = sorted({form.lower().strip() for name, spoken in stations.items() for form in (name, *spoken)}, key=lambda form: (-len(form), form))
    misleading = [form for form, bits in zip(forms, near_miss(forms).tolist(), strict=True) if bits & ~STATE]
    ways = [rf"\b{re.escape(form)}\b" if " " in form else rf"(?:^\W*|(?<=, )|(?<=\. )){re.escape(form)}(?=[,.:]|\W*$)" for form in misleading]
    if not ways:
        return list(texts)
    pattern = re.compile("|".join(ways), re.IGNORECASE)
    return [pattern.sub(SOMEBODY, text) for text in texts]
