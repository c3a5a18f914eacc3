"""Which station is a voice that a transcript only numbers, or names by a person: 'Speaker 3', 'SPEAKER_02', 'Kim'?

Conventions: a voice is a label of one log that names no station; it is the station that it says it is, again and again ('Gondola copies',
'Base to gondola'). A numbered voice that does not say so is nobody known; a name stays as written. It does not decide who speaks where no
voice is labelled: see `dialogue`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

FEWEST = 3  # times a voice says who it is
SHARE = 0.8  # of them that name the same station: recognisers mix voices up, people speak for others
_NUMBERED = re.compile(r"(?:speaker|spkr?|voice|person|participant|talker|caller|user|channel|unknown|unidentified|unk)(?: speaker| voice)?[ _#-]*(?:\d+|[a-z])?", re.IGNORECASE)

Voice = tuple[str, str]  # the log and the label


def stations(said: Iterable[tuple[Voice, str]], voices: Iterable[Voice]) -> dict[Voice, str | None]:
    """For each voice its station, None for nobody known. said: who a voice said it is, once each time."""
    names: dict[Voice, Counter[str]] = {}
    for voice, station in said:
        names.setdefault(voice, Counter())[station] += 1
    return {voice: _station(voice[1], names.get(voice, Counter())) for voice in voices}


def _station(label: str, names: Counter[str]) -> str | None:
    station, times = max(names.items(), key=lambda item: (item[1], item[0]), default=("", 0))
    if times >= FEWEST and times >= SHARE * names.total():
        return station
    return None if _NUMBERED.fullmatch(label.strip()) else label
