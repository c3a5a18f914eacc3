"""What did people say at a moment of the count? Each remark once, however many logs have it, and the machine's record last.

Conventions: a remark is one event; the same words in another log within a few seconds are the same remark, and the log
that names the speaker is quoted, the others cited. Spoken and typed lines come before machine records because people
ask what was said, not what was stamped. Quotes are unchanged. It does not decide which line called a hold.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from typing import Any

from aftercount.report.page.lines import Lines, Quote, quote_of

Window = tuple[float, float]  # s before, s after
CALLED: Window = (10.0, 50.0)  # a hold is called, repeated with its count, and explained within about a minute
LIFTED: Window = (15.0, 15.0)  # it is lifted on a mark announced just before; what follows is the count again
_SAME_S = 12.0  # s; two logs' clocks and a typist's delay part one remark by no more than this
_ALIKE = 0.72  # share of equal letters from which two logs' lines are one remark, whatever they are about
_ALIKE_OF_A_KIND = 0.5  # and where both are of one kind that is said once: a hold, a resume
_ONCE = frozenset({"hold", "resume", "recycle", "cutoff", "scrub", "liftoff"})
_MOST = 8  # lines shown outright; the traffic has the rest


@dataclass
class _Remark:
    rows: list[dict[str, Any]] = field(default_factory=list)


def said_around(lines: Lines, instant: Any, window: Window, about: frozenset[str], record: int | None = None) -> tuple[Quote, ...]:
    """The remarks around an instant, those of the kinds in `about` leading, then the machine's record of it.

    record: the event that stands for the moment; it is shown even where it is the machine's own.
    """
    spoken = [r for r in _near(lines, instant, window) if r["medium"] != "machine"]
    remarks = _remarks(spoken)
    leads = [r for r in remarks if any(row["kind"] in about or row["event"] == record for row in r.rows)]
    others = [r for r in remarks if r not in leads]
    chosen = leads[:_MOST] + others[: max(_MOST - len(leads), 0)]
    quotes = [_quote(r, leading=r in leads) for r in remarks if r in chosen]
    stamped = lines.quote(record)
    return (*quotes, *([stamped] if stamped is not None and stamped.machine else []))


def _near(lines: Lines, instant: Any, window: Window) -> list[dict[str, Any]]:
    at = instant.timestamp()
    first, last = bisect_left(lines.times, at - window[0]), bisect_right(lines.times, at + window[1])
    return [r for r in lines.rows[first:last] if r["utc"] is not None]


def _remarks(spoken: list[dict[str, Any]]) -> list[_Remark]:
    found: list[_Remark] = []
    for row in spoken:
        same = next((r for r in found if all(_same(row, other) for other in r.rows)), None)
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
    return SequenceMatcher(None, _letters(a["text"]), _letters(b["text"]), autojunk=False).ratio() >= least


def _letters(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text).strip().casefold()


def _quote(remark: _Remark, *, leading: bool) -> Quote:
    """The remark as the log with a speaker's name has it, else the transcript, else the first."""
    best = min(remark.rows, key=lambda r: (not r["station"], r["medium"] != "speech"))
    also = tuple(f"{r['source']}:{r['line']}" for r in remark.rows if r is not best)
    return replace(quote_of(best), also=also, leading=leading)


