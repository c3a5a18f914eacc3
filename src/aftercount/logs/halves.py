"""Is the PM behind a written time half of a day, or somebody who speaks ('14:10:54 PM: tower clear')?

Conventions: AM and PM are a speaker where no clock of twelve hours shows that hour, and where the count has a station
of that name and a colon, an arrow or an addressee follows, or most times of the file go without. In brackets with the
time they belong to the time.
It does not read the time, nor the name: see `walltime` and `names`.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable

from aftercount.logs.names import fold
from aftercount.logs.walltime import read_hour

_SPEAKS = re.compile(r" ?(?::|[-=]*>|\u2192|\u27a1|\u00bb|/[A-Z]|to [\w ]{1,24}:)", re.ASCII)
_CLOSED = re.compile(r" ?[\])}]")
# Who writes hours of twelve writes AM and PM behind nearly every time; a station's name stands behind some.
_HALVES_SHARE = 0.95


def halved(heads: Iterable[re.Match[str] | None]) -> bool:
    """Is a file's way of writing times one of twelve hours? heads: of its lines."""
    found = [h for h in heads if h]
    return sum(1 for h in found if h["half"]) > _HALVES_SHARE * len(found)


def speaker_kept(found: re.Match[str], stations: Container[str], halves: bool = True) -> tuple[re.Match[str], int]:
    """The head of a line and its end, both cut before an AM or PM that speaks. `stations`: folded names. halves: as in `Context`."""
    half = found.groupdict().get("half")
    if not half:
        return found, found.end()
    after, name = found.string[found.end("half"):], half.strip()
    speaks = name.isupper() and fold(name) in stations and (not halves or _SPEAKS.match(after))
    if _CLOSED.match(after) or (1 <= read_hour(found["clock"]) <= 12 and not speaks):
        return found, found.end()
    shorter = found.re.match(found.string, 0, found.start("half"))
    return (shorter, found.start("half")) if shorter else (found, found.end())
