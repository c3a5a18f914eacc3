"""What did people say at a moment of the count? Each remark about it once, however many logs have it, in the order of time.

Conventions: a remark is one event; the same words in another log within a few seconds are the same remark, and the log
that names the speaker is quoted, the others cited. The machine's record of the moment stands among them. Other talk of that
minute is left out, unless it shares the words of the matter. Quotes are unchanged. It does not decide which line called a hold.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from functools import lru_cache
from typing import Any

from rapidfuzz.distance import Indel

from aftercount.report.page.lines import Lines, Quote, quote_of

Window = tuple[float, float]  # s before, s after
CALLED: Window = (10.0, 50.0)  # a hold is called, repeated with its count, and explained within about a minute
LIFTED: Window = (90.0, 15.0)  # what it waited for is cleared in the minute before, and it is lifted on a mark announced
_SAME_S = 12.0  # s; two logs' clocks and a typist's delay part one remark by no more than this
_ALIKE = 0.72  # share of equal letters from which two logs' lines are one remark, whatever they are about
_ALIKE_OF_A_KIND = 0.5  # and where both are of one kind that is said once: a hold, a resume
_ONCE = frozenset({"hold", "resume", "recycle", "cutoff", "scrub", "liftoff"})
_MOST = 8  # lines shown outright; the traffic has the rest


_ALIKE_IN = 0.8  # share of a shorter line's words that stand in a longer one of the same moment, which says the same and more
_LEAST_IN = 3  # words such a line has at least
_SHARED = 2  # words of the matter that a line about it shares
_OF_A_HOLD = re.compile(r"\b(?:hold|holding|held|resum\w+|recycl\w+|cut ?off|abort\w*|scrub\w*|stopped|(?:count|clock) is|on my mark|call(?:ed|ing) it|counting again|new t)\b", re.IGNORECASE)
_EMPTY = frozenset(["the", "and", "for", "that", "this", "with", "are", "was", "were", "has", "have", "from", "not", "you", "our", "all", "its", "out", "now", "above", "below", "over", "under", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "zero", "plus", "minus"])


@dataclass
class _Remark:
    rows: list[dict[str, Any]] = field(default_factory=list)

    @property
    def best(self) -> dict[str, Any]:
        """As the log with a speaker's name has it, else the transcript, else the first."""
        return min(self.rows, key=lambda r: (not r["station"], r["medium"] != "speech"))


def said_around(lines: Lines, instant: Any, window: Window, about: frozenset[str], record: int | None = None, matter: str = "") -> tuple[Quote, ...]:
    """The remarks around an instant that are about it, those of the kinds in `about` leading, and the machine's record of it.

    record: the event that stands for the moment; it is shown even where it is the machine's own. matter: what it was about.
    """
    spoken = [r for r in _near(lines, instant, window) if r["medium"] != "machine"]
    topic = _matter(matter, lines)
    remarks = _remarks(spoken)
    leads = [r for r in remarks if any(row["kind"] in about or row["event"] == record for row in r.rows)]
    others = [r for r in remarks if r not in leads and any(_concerns(row, topic) for row in r.rows)]
    chosen = leads[:_MOST] + others[: max(_MOST - len(leads), 0)]
    stamped = lines.quote(record)
    quotes = [(r.best["utc"], _quote(r, leading=r in leads)) for r in chosen]
    if stamped is not None and stamped.machine:
        quotes.append((lines.rows[lines.position(record) or 0]["utc"] or instant, stamped))
    return tuple(q for _, q in sorted(quotes, key=lambda q: (q[0], q[1].event)))


def said_of(lines: Lines, span: tuple[Any, Any], kinds: frozenset[str]) -> tuple[Quote, ...]:
    """The remarks of these kinds from one instant to another, machines' too, each once."""
    first, last = bisect_left(lines.times, span[0].timestamp()), bisect_right(lines.times, span[1].timestamp())
    return tuple(_quote(r, leading=r.best["medium"] != "machine") for r in _remarks(r for r in lines.rows[first:last] if r["kind"] in kinds))


def _content(text: str) -> frozenset[str]:
    return frozenset(w for w in _letters(text).split() if len(w) > 2 and w not in _EMPTY)


def _matter(text: str, lines: Lines) -> tuple[frozenset[str], frozenset[str]]:
    """The words of a matter, and the rarer half of them: what everybody says all day ('stage', 'fuel') tells nothing apart."""
    topic = _content(text)
    often = {w: sum(w in row["text"].casefold() for row in lines.rows) for w in topic}
    ranked = sorted(topic, key=lambda w: (often[w], w))
    return topic, frozenset(ranked[: (len(ranked) + 1) // 2])


def _concerns(row: dict[str, Any], topic: tuple[frozenset[str], frozenset[str]]) -> bool:
    """Whether a line is about the matter, or about the clock's standing still or going on; a reading of the count is not."""
    words, rare = topic
    said = _content(row["text"])
    if words and len(words & said) >= min(_SHARED, len(words)) and rare & said:
        return True
    return row["kind"] != "mark" and bool(_OF_A_HOLD.search(row["text"]))


def _near(lines: Lines, instant: Any, window: Window) -> list[dict[str, Any]]:
    at = instant.timestamp()
    first, last = bisect_left(lines.times, at - window[0]), bisect_right(lines.times, at + window[1])
    return [r for r in lines.rows[first:last] if r["utc"] is not None]


def _remarks(spoken: Iterable[dict[str, Any]]) -> list[_Remark]:
    found: list[_Remark] = []
    for row in spoken:
        same = next((r for r in found if all(row["source"] != other["source"] for other in r.rows) and any(_same(row, other) for other in r.rows)), None)
        if same is None:
            found.append(_Remark([row]))
        else:
            same.rows.append(row)
    return found


def _same(a: dict[str, Any], b: dict[str, Any]) -> bool:
    if a["source"] == b["source"] or abs((a["utc"] - b["utc"]).total_seconds()) > _SAME_S:
        return False
    if a["station"] and b["station"] and a["station"] != b["station"]:
        return False
    least = _ALIKE_OF_A_KIND if a["kind"] == b["kind"] and a["kind"] in _ONCE else _ALIKE
    one, other = _letters(a["text"]), _letters(b["text"])
    return _alike(one, other) >= least or _within(one.split(), other.split())


@lru_cache(maxsize=4096)
def _alike(one: str, other: str) -> float:
    """Share of letters in runs that both have, in order; 0 where it is below any that counts."""
    # A longest common subsequence is no shorter than such runs, and much quicker to find.
    if Indel.normalized_similarity(one, other) < _ALIKE_OF_A_KIND:
        return 0.0
    return SequenceMatcher(None, one, other, autojunk=False).ratio()


def _within(one: list[str], other: list[str]) -> bool:
    """Whether the shorter of two lines is said again in the longer."""
    short, long = sorted((one, other), key=len)
    return len(short) >= _LEAST_IN and sum(w in long for w in short) >= _ALIKE_IN * len(short)


@lru_cache(maxsize=4096)
def _letters(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text).strip().casefold()


def _quote(remark: _Remark, *, leading: bool) -> Quote:
    also = tuple(f"{r['source']}:{r['line']}" for r in remark.rows if r is not remark.best)
    return replace(quote_of(remark.best), also=also, leading=leading)
