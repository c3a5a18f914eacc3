"""The words on top: what this count was, how it ended, when T-0 was and what moved it.

The slips of the causes add up to the delay exactly; what no hold explains is shown as its own row, not spread.
"""

from __future__ import annotations

from dataclasses import dataclass

from aftercount.report import wording
from aftercount.report.data import ReviewData, hold_rows, rows
from aftercount.report.summary_text import headline, step_lines, t0_lines

_NOTHING_S = 0.5  # a slip smaller than this is not worth a row


@dataclass(frozen=True)
class Slip:
    """One cause of T-0 moving. share: of the largest, 0..1, for its bar."""

    cause: str
    seconds: float
    href: str
    share: float

    @property
    def text(self) -> str:
        return ("+" if self.seconds > 0 else "-") + wording.duration(abs(self.seconds))


@dataclass(frozen=True)
class Opening:
    sentences: tuple[str, ...]
    slips: tuple[Slip, ...]
    facts: tuple[tuple[str, str], ...]


def opening(data: ReviewData) -> Opening:
    return Opening((headline(data), *t0_lines(data), *_why(data), step_lines(data)[0]), slips(data), _facts(data))


def _why(data: ReviewData) -> list[str]:
    """'T-0 slipped because of: ...' in one sentence, the largest cause first."""
    causes = [s for s in slips(data) if s.seconds > 0]
    if not causes or not data.summary.get("delay_s"):
        return []
    causes.sort(key=lambda s: -s.seconds)
    return ["What moved it: " + "; ".join(f"{s.cause}, {wording.spoken(s.seconds)}" for s in causes[:3]) + "."]


def slips(data: ReviewData) -> tuple[Slip, ...]:
    """Every hold that moved T-0, and the remainder that no hold explains."""
    found = [(_cause(h), float(h["slip_s"]), f"#hold-{h['number']}") for h in hold_rows(data.holds) if abs(h["slip_s"] or 0.0) >= _NOTHING_S]
    delay = data.summary.get("delay_s")
    if delay is not None:
        rest = float(delay) - sum(float(h["slip_s"] or 0.0) for h in rows(data.holds))
        if abs(rest) >= _NOTHING_S:
            found.append(("the count ran off its schedule outside any hold", rest, "#profile"))
    largest = max((abs(s) for _, s, _ in found), default=1.0)
    return tuple(Slip(cause, seconds, href, abs(seconds) / largest) for cause, seconds, href in found)


def _cause(hold: dict[str, object]) -> str:
    what = f"hold {hold['number']} at {wording.count_time(hold['t_s'])}"  # type: ignore[arg-type]
    back = " and the recycle after it" if hold["recycled_to_t_s"] is not None else ""
    reason = f" ({hold['reason']})" if hold["reason"] else ""
    return what + back + reason


def _facts(data: ReviewData) -> tuple[tuple[str, str], ...]:
    """The small table beside the words."""
    summary = data.summary
    window = summary.get("window")
    heard = sorted({s for s in data.events["station"].dropna().tolist() if s})
    left = summary.get("window_left_s")
    facts = [
        ("Count", str(summary.get("count"))),
        ("Kind", wording.KINDS.get(str(summary.get("kind")), str(summary.get("kind")))),
        ("Outcome", wording.OUTCOMES.get(str(summary.get("outcome")), str(summary.get("outcome")))),
        ("T-0 planned", wording.instant(summary.get("t0_scheduled") or wording.DASH)),
        ("T-0 actual", wording.instant(summary.get("t0_actual") or wording.DASH)),
        ("Delay", wording.duration(summary.get("delay_s"))),
        ("Built-in hold", wording.duration(summary.get("built_in_hold_s"))),
        ("Unplanned hold", wording.duration(summary.get("unplanned_hold_s"))),
        ("Recycles", str(summary.get("recycles") or 0)),
    ]
    if window:
        facts += [("Window opens", str(window[0])), ("Window closes", str(window[1]))]
    if left is not None:
        facts.append(("Window left", wording.duration(left) if left >= 0 else f"closed {wording.spoken(left)} before"))
    if heard:
        facts.append(("Heard", wording.listed(heard)))
    return tuple(facts)
