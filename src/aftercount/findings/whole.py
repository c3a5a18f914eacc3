"""What the count as a whole shows: how it ended, who ended it, and which log's clock disagreed.

Conventions: offsets in seconds to add to a log's own time to get UTC. It does not estimate offsets or the outcome: the
timeline did.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from aftercount.counttime import format_utc
from aftercount.findings.finding import Finding
from aftercount.findings.heard import Heard, Utterance, plain, seconds_between
from aftercount.findings.words import said

# A log whose clock is off by more than this many sigmas and seconds misleads whoever reads it beside another.
CLOCK_SIGMAS = 3.0
CLOCK_S = 2.0
# The call that ended the count, or set it back, is heard within this many seconds of the end.
ENDING_S = 30.0
_ENDINGS = {
    "scrub": ("major", "The count was scrubbed"),
    "cutoff": ("major", "The count ended in a cutoff"),
    "unresolved": ("minor", "The logs do not show how the count ended"),
}


def on_whole(timeline: Any, heard: Heard, count: Any) -> Iterator[Finding]:
    yield from _outcome(timeline)
    yield from _ended_by(timeline, heard, count)
    yield from _recycled_by(timeline, heard, count)
    yield from _clocks(timeline)


def _outcome(timeline: Any) -> Iterator[Finding]:
    if timeline.outcome in _ENDINGS:
        severity, text = _ENDINGS[timeline.outcome]
        at = plain(timeline.outcome_us)
        when = f" at {format_utc(int(at))}" if at is not None else ""
        if timeline.outcome == "unresolved" and when:
            text, when = f"The count ran to T-0{when}; what followed is not in the logs", ""
        yield Finding("outcome", severity, f"{text}{when}.", at_us=None if at is None else int(at))


def _ended_by(timeline: Any, heard: Heard, count: Any) -> Iterator[Finding]:
    if timeline.outcome in ("scrub", "cutoff") and plain(timeline.outcome_us) is not None:
        yield from _unauthorised(timeline.outcome, int(timeline.outcome_us), heard, count)


def _recycled_by(timeline: Any, heard: Heard, count: Any) -> Iterator[Finding]:
    from aftercount.findings.heard import micros

    starts = zip(timeline.clock["pass"].tolist(), micros(timeline.clock["start_utc"]), strict=True)
    seen: set[int] = {1}
    for in_pass, start in starts:
        if in_pass not in seen and start is not None:
            seen.add(in_pass)
            yield from _unauthorised("recycle", start, heard, count)


def _unauthorised(what: str, at_us: int, heard: Heard, count: Any) -> Iterator[Finding]:
    """The first call of this kind near that instant, when its station may not make it."""
    allowed = (count.authority or {}).get(what)
    near = [u for u in heard.all if u.kind == what and u.us is not None and abs(seconds_between(u.us, at_us)) <= ENDING_S]
    if not allowed or not near:
        return
    call: Utterance = min(near, key=lambda u: (u.us or 0, u.event))
    if call.station is not None and call.station not in allowed:
        text = f"The {what} was called by {call.station}; only {' or '.join(allowed)} may."
        yield Finding("authority", "major", text, None, call.in_pass or None, None, call, at_us=call.us)


def _clocks(timeline: Any) -> Iterator[Finding]:
    for row in timeline.sources.to_dict("records"):
        note, offset, sigma = plain(row.get("note")), plain(row["offset_s"]), plain(row["offset_sigma_s"])
        wall = row["time"] in ("utc", "local") and not row["reference"]
        off = wall and offset is not None and abs(offset) > max(CLOCK_S, CLOCK_SIGMAS * (sigma or 0.0))
        reset = note is not None and "reset" in note.lower()
        if not off and not reset:
            continue
        fault = f"was {said(offset)} {'slow' if offset > 0 else 'fast'}" if off else "was reset during the count"
        more = f" ({note})" if reset and note else ""
        yield Finding("clock_disagrees", "note", f"The clock of {row['source']} {fault}{more}; its times were put right.")
