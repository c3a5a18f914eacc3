"""What passed between two stations and is no step's: an order with what was said to it, a report that nobody ordered, a line that names nobody.

Conventions: a talk is an order of one station to another with what the other said to it, or a report that nobody ordered, on every log that has it; members are rows of the utterances. What is ahead,
not done, or about the loop is none. It does not say which step a talk is: `exchanges` does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from aftercount.match.conflict import (
    ABOUT,
    ASKED_ABOUT,
    NOT_DONE,
    NOT_NOW,
    lead_in,
    near_miss,
)
from aftercount.match.context import SAME_MOMENT_S
from aftercount.match.language import CHASING, OF_THE_LOOP
from aftercount.match.moments import Thread
from aftercount.match.signs import CALL, RECORD, REPORT, RESPONSE, Said

if TYPE_CHECKING:
    from aftercount.match.engine import Scored

LATER = NOT_DONE | NOT_NOW  # what no report of a deed says ...
AHEAD = LATER | ABOUT | ASKED_ABOUT  # ... and no order
TALK = ("call", "response", "report", "note")  # kinds of what people say of things to do
ANSWERED_S, REPORTED_S = 20.0, 120.0  # an order is answered within the one, and reported done within the other, as a rule
AGAIN_S = 20.0  # what is said to a station this soon after an order to it is of that order
SAYS_A_THING = 0.5  # weight of content words from which a line is about something
NAMES_A_THING = 0.2  # ... and from which an order to a station is an order for something
NOBODY = -1  # station not known, or none planned
LED_IN = 0.4  # likeness to a lead-in from which an order speaks of what is to come
Ends = tuple[int, int]  # who performs, who calls
NAMELESS: Ends = (-3, -3)  # ends of what names nobody


@dataclass(frozen=True)
class Talk:
    """members: rows of the utterances, the order or else the report first; parts: what each is."""

    members: tuple[int, ...]
    parts: tuple[int, ...]


def free_talks(scored: Scored, found: list[list[Thread]], ends: list[Ends]) -> tuple[list[Talk], list[Ends]]:
    """The talks of each of `ends` (who performs, who calls) that are no step's, and the ends of each."""
    said, texts = scored.said, scored.words
    used = _used(scored, found)
    ordered = {d for d, f in enumerate(found) if f and f[0].lead[CALL] >= 0}
    human = _human(said)
    talks: list[Talk] = []
    of: list[Ends] = []
    for by, to in ends:
        every = _together(list(_on_one_log(said, human, scored.content, by, to)), said)
        free = _deeds([own for t in _first_of_all(every, said, texts) if (own := _own(t, used, ordered)) is not None], texts)
        talks += free
        of += [(by, to)] * len(free)
    return talks, of


def _human(said: Said) -> np.ndarray:
    """What people said of things to do, in order of time."""
    human = np.flatnonzero((said.part != RECORD) & np.isin(said.kind, TALK) & ~np.isnan(said.utc_s))
    return human[np.argsort(said.utc_s[human], kind="stable")]


def _used(scored: Scored, found: list[list[Thread]]) -> dict[int, set[int]]:
    """Of each utterance whose words are some step's, the steps."""
    used: dict[int, set[int]] = {}
    for d, threads in enumerate(found):
        for u in (int(scored.u[i]) for thread in threads for i in thread.members if not scored.bare[i]):
            used.setdefault(u, set()).add(d)
    return used


def _own(talk: Talk, used: dict[int, set[int]], ordered: set[int]) -> Talk | None:
    """What of a talk is no other step's; none of it where its order is, or may be: that of a step that is reported in it and has no order of its own, where nothing else is reported."""
    kept = [(u, part) for u, part in zip(talk.members, talk.parts, strict=True) if u not in used]
    if talk.members[0] in used or (REPORT not in [part for _, part in kept] and any(not used[u] <= ordered for u in talk.members if u in used)):
        return None
    return Talk(tuple(u for u, _ in kept), tuple(part for _, part in kept))


def nameless(scored: Scored, found: list[list[Thread]], talks: list[Talk]) -> list[Talk]:
    """What is written or said with no word of who does it, one line a talk: of nobody, or an order by who calls for steps to nobody named."""
    said, used = scored.said, _used(scored, found) | {u: set() for t in talks for u in t.members}
    human = _human(said)
    callers = np.unique(scored.planned.to[(scored.planned.to >= 0) & (scored.planned.to != scored.planned.by)])
    open_ = (said.to[human] == NOBODY) & ((said.station[human] == NOBODY) | np.isin(said.station[human], callers)) & (scored.content[human] >= SAYS_A_THING)
    lines = [Talk((u,), (REPORT if said.kind[u] == "report" else CALL,)) for u in human[open_].tolist() if u not in used]
    kept = _deeds(lines, scored.words)
    return [t for t, bits in zip(kept, near_miss([scored.words[t.members[0]] for t in kept]).tolist(), strict=True) if not bits & AHEAD]


def of_anyone(said: Said, order: np.ndarray, loose: np.ndarray, ends: Ends) -> np.ndarray:
    """Of the nameless talks, those that may be of these ends."""
    speaker = said.station[order[loose]]
    return loose[(speaker == NOBODY) | (speaker == ends[1])]


def _on_one_log(said: Said, human: np.ndarray, content: np.ndarray, by: int, to: int) -> Iterator[Talk]:
    """The orders of `to` to `by`, each with what `by` said to it, and what `by` reported to `to`, or to nobody named, besides; of or to anybody where the plan
    names no caller. human: in order of time."""
    for source in np.unique(said.source[human]).tolist():
        u = human[said.source[human] == source]
        station, kind, when, thing = said.station[u], said.kind[u], said.utc_s[u], content[u] >= SAYS_A_THING
        theirs = station == by
        caller = (station == to) if to >= 0 else ~theirs
        ordered = caller | ((station == NOBODY) & np.isin(kind, ("call", "note")))
        orders = np.flatnonzero((said.to[u] == by) & ordered & ~theirs & (content[u] >= NAMES_A_THING))
        answers = theirs | ((station == NOBODY) & np.isin(kind, ("response", "report")))
        alone = thing & theirs & (np.isin(said.to[u], (to, NOBODY)) | (to < 0)) & np.isin(kind, ("report", "note", "response"))
        for at, i in enumerate(orders.tolist()):
            end = np.searchsorted(when, when[i] + REPORTED_S, side="right")
            rest = np.arange(i + 1, min(int(end), orders[at + 1] if at + 1 < len(orders) else len(u)))
            first = rest[answers[rest] & (when[rest] - when[i] <= ANSWERED_S)][:1]
            reports = rest[theirs[rest] & thing[rest] & np.isin(kind[rest], ("response", "report", "note"))]
            members = [i, *first.tolist(), *(k for k in reports.tolist() if k not in first)]
            parts = [CALL] + [RESPONSE if k in first and not thing[k] else REPORT for k in members[1:]]
            alone[members] = False
            yield Talk(tuple(u[members].tolist()), tuple(parts))
        yield from (Talk((i,), (REPORT,)) for i in u[alone].tolist())


def _together(talks: list[Talk], said: Said) -> list[Talk]:
    """Talks whose orders are one moment on several logs as one."""
    talks = sorted(talks, key=lambda t: (said.utc_s[t.members[0]], t.members))
    out: list[Talk] = []
    for talk in talks:
        if out:
            first, mine = out[-1].members[0], talk.members[0]
            apart = SAME_MOMENT_S + 2.0 * float(np.hypot(said.sigma_s[first], said.sigma_s[mine]))
            if said.source[mine] not in said.source[list(out[-1].members)] and said.utc_s[mine] - said.utc_s[first] <= apart:
                out[-1] = Talk(out[-1].members + talk.members, out[-1].parts + talk.parts)
                continue
        out.append(talk)
    return out


def _first_of_all(talks: list[Talk], said: Said, texts: Sequence[str]) -> list[Talk]:
    """The talks, in order of time, but for those that follow an order so soon that they are of that order."""
    ahead = near_miss([texts[t.members[0]] for t in talks]) & AHEAD
    soon = [a.parts[0] == CALL and not asks and said.utc_s[b.members[0]] - said.utc_s[a.members[0]] <= AGAIN_S for (a, b), asks in zip(pairwise(talks), ahead.tolist(), strict=False)]
    return talks[:1] + [t for t, again in zip(talks[1:], soon, strict=True) if not again]


def _deeds(talks: list[Talk], texts: Sequence[str]) -> list[Talk]:
    """The talks that begin with no lead-in, chase no answer and are not about the loop, without those in which it is said that nothing was done."""
    first = [texts[t.members[0]] for t in talks]
    led_in = (lead_in(first) >= LED_IN).tolist()
    kept = [t for t, text, led in zip(talks, first, led_in, strict=True) if not led and not CHASING.search(text) and not OF_THE_LOOP.search(text)]
    return [t for t in kept if not (near_miss([texts[u] for u in t.members[1:]]) & LATER).any()]
