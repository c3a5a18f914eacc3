"""The words on top: what this count was, how it ended, when T-0 was and what moved it.

The slips of the causes add up to the delay exactly; what no hold explains is shown as its own row, not spread.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData
from aftercount.report.page.polls import Poll
from aftercount.report.summary_text import (
    NOT_DATED,
    headline,
    ran_to,
    step_lines,
    t0_lines,
    zero_before_cutoff,
)
from aftercount.report.told import shares, told_delay, told_holds, told_sum

_NOTHING_S = 0.5  # a slip smaller than this is not worth a row
_MOST_CAUSES = 3  # causes named in the sentence; the table under it has all

_OUTSIDE = {"began_late": "the count began off its schedule, at {at}", "hold_not_taken": "the built-in hold at {at} was not taken"}


@dataclass(frozen=True)
class Slip:
    """One cause of T-0 moving. share: of the largest, 0..1, for its bar."""

    cause: str
    seconds: float
    href: str
    share: float

    @property
    def text(self) -> str:
        return wording.signed(self.seconds)


@dataclass(frozen=True)
class Opening:
    sentences: tuple[str, ...]
    slips: tuple[Slip, ...]
    facts: tuple[tuple[str, str], ...]
    delay: float | None


def opening(data: ReviewData, asked: list[Poll]) -> Opening:
    steps = [line.strip() for line in step_lines(data)[:2] if "fell due" in line or "known only" in line]
    moved = slips(data)
    trouble = [p.trouble for p in asked if p.trouble]
    return Opening((headline(data), *map(_spoken_instants, t0_lines(data)), *_why(data, moved), *trouble, " ".join(steps)), moved if len(moved) > 1 else (), _facts(data), told_delay(data.summary))


def _spoken_instants(sentence: str) -> str:
    """'14:30:00Z on 2031-04-18', and the date not again where it is the same."""
    dates: set[str] = set()

    def said(found: re.Match[str]) -> str:
        date, time = found.groups()
        again = date in dates
        dates.add(date)
        return time if again else f"{time} on {date}"

    return re.sub(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d:\d\dZ)", said, sentence)


def _why(data: ReviewData, moved: tuple[Slip, ...]) -> list[str]:
    """What T-0 slipped for, the largest cause first; and what stopped a count that never came to T-0."""
    stopped = [h for h in told_holds(data) if h["end_utc"] is None]
    told = [f"What stopped it: {_cause(stopped[-1])}, never resumed."] if stopped and data.summary.get("t0_actual") is None else []
    delay = told_delay(data.summary)
    causes = sorted((s for s in moved if s.seconds > 0), key=lambda s: -s.seconds)
    if not causes or not delay:
        return told
    if len(causes) == 1 and abs(causes[0].seconds - delay) < _NOTHING_S:
        return [*told, f"What moved it, all of it: {causes[0].cause}."]
    return [*told, "What moved it: " + "; ".join(f"{s.cause}, {wording.duration(s.seconds)}" for s in causes[:_MOST_CAUSES]) + "."]


def slips(data: ReviewData) -> tuple[Slip, ...]:
    """Every hold that moved T-0, what else did, and any remainder."""
    held = told_holds(data)
    found = [(_cause(h), float(h["slip_s"]), f"#hold-{h['number']}") for h in held if abs(h["slip_s"] or 0.0) >= _NOTHING_S]
    delay = told_delay(data.summary)
    if delay is not None:
        other = [s for s in data.summary.get("slips") or [] if s["cause"] in _OUTSIDE and abs(s["seconds"]) >= _NOTHING_S]
        rest = delay - sum(float(h["slip_s"] or 0.0) for h in held)
        exact = [float(s["seconds"]) for s in other]
        if abs(rest - sum(exact)) >= 1.0:  # what nothing explains is a row; less is the rounding of the others
            found.append(("the count ran off its schedule outside any hold", rest - sum(round(e) for e in exact), "#profile"))
            rest = float(sum(round(e) for e in exact))
        for slip, whole in zip(other, shares(exact, round(rest)), strict=True):
            found.append((_OUTSIDE[slip["cause"]].format(at=wording.count_time(slip["t_s"])), whole, "#profile"))
    found = [slip for slip in found if slip[1]]  # one of half a second may be none in whole ones
    largest = max((abs(s) for _, s, _ in found), default=1.0)
    return tuple(Slip(cause, seconds, href, abs(seconds) / largest) for cause, seconds, href in found)


def _cause(hold: dict[str, Any]) -> str:
    what = f"hold {hold['number']} at {wording.count_time(hold['t_s'])}"
    reason = f" ({hold['reason']})" if hold["reason"] else ""
    return what + reason + _counted_again(hold)


def _counted_again(hold: dict[str, Any]) -> str:
    """After a recycle: what of the slip was held, and what was counted twice."""
    if hold["recycled_to_t_s"] is None:
        return ""
    if hold["excess_s"] is None or hold["slip_s"] is None:
        return " and the recycle after it"
    again = hold["slip_s"] - hold["excess_s"]
    return f" and the recycle after it: {wording.duration(hold['excess_s'])} held, {wording.duration(again)} counted again"


def _facts(data: ReviewData) -> tuple[tuple[str, str], ...]:
    """The small table beside the words."""
    summary = data.summary
    window = summary.get("window")
    people = data.events[data.events["medium"] != "machine"]  # a sequencer that stamps the count is no voice
    heard = sorted({s for s in people["station"].dropna().tolist() if s})
    left = summary.get("window_left_s")
    without_zero = NOT_DATED if summary.get("outcome") == "liftoff" else "not reached"
    facts = [
        ("Count", str(summary.get("count"))),
        ("T-0 planned", wording.instant(summary.get("t0_scheduled") or wording.DASH)),
        ("T-0 actual", wording.instant(summary.get("t0_actual") or ran_to(data) or zero_before_cutoff(data) or without_zero)),
        *([("Delay", wording.signed(delay))] if (delay := told_delay(summary)) is not None else []),
        ("Built-in hold", wording.duration(told_sum(data, "built_in"))),
        ("Unplanned hold", wording.duration(told_sum(data, "unplanned"))),
        ("Recycles", str(summary.get("recycles") or 0)),
    ]
    if window:
        facts += [("Window opens", str(window[0])), ("Window closes", str(window[1]))]
    if left is not None:
        facts.append(("Window left", wording.duration(left) if left >= 0 else f"closed {wording.duration(left)} before"))
    if heard:
        facts.append(("Heard", wording.listed(heard)))
    return tuple(facts)
