"""Findings on steps and polls in plain words, as a test conductor could read them aloud.

Conventions: durations are said ('2 min 18 s'), count times written ('T-00:05:00'), steps named by id and action. It
does not decide what is found, only how it is said and how serious it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from aftercount.counttime import format_count
from aftercount.findings.facts import Fact
from aftercount.findings.finding import Finding
from aftercount.findings.heard import Utterance
from aftercount.findings.readback import ReadBack
from aftercount.findings.refusals import refuses
from aftercount.findings.responses import Response, limit_s
from aftercount.findings.steps import Timed

# A step off its tolerance by more than a minute has cost the count something; less is sloppiness.
MAJOR_OVERRUN_S = 60.0
# Off its time on a match less sure than this, a step is worth a note: as likely as not the match is wrong, not the step.
DOUBTFUL = 0.8
# An action is quoted up to this many characters.
QUOTE = 70


@dataclass(frozen=True, slots=True)
class Judged:
    """Everything judged of one step in one pass."""

    fact: Fact
    time: Timed
    out_of_order: bool
    violates: tuple[str, ...]
    response: Response
    read_back: ReadBack | None = None
    review: bool = False


def said(seconds: float) -> str:
    """A duration as it is said: '4.5 s', '42 s', '2 min 18 s', '1 h 05 min 11 s'."""
    size = abs(seconds)
    if size < 9.95:
        return f"{size:.1f}".removesuffix(".0") + " s"
    whole = round(size)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    if hours:
        return f"{hours} h {minutes:02d} min" + (f" {rest:02d} s" if rest else "")
    if minutes:
        return f"{minutes} min" + (f" {rest:02d} s" if rest else "")
    return f"{rest} s"


def likely(confidence: float) -> str:
    """'78 % likely'; nothing that is estimated is quite sure."""
    return "over 99 % likely" if confidence >= 0.995 else f"{confidence * 100:.0f} % likely"


def short(text: str) -> str:
    return text if len(text) <= QUOTE else text[: QUOTE - 1].rstrip() + "…"


def name(fact: Fact) -> str:
    return f"{fact.step} ({short(fact.action)})" if fact.action else fact.step


def of_pass(fact: Fact, passes: int) -> str:
    return f" in pass {fact.in_pass}" if passes > 1 else ""


def on_steps(judged: Sequence[Judged], passes: int) -> Iterator[Finding]:
    """Every finding on every step."""
    needed = {n for j in judged if j.time.done for n in j.fact.after}
    overtaken = {(n, j.fact.in_pass) for j in judged for n in j.violates}
    strayed = {(j.fact.step, j.fact.in_pass) for j in judged if j.out_of_order}
    for j in judged:
        if not j.fact.ignored:
            yield from _missed(j, needed, passes)
            yield from _timing(j, passes)
            yield from _after(j, strayed, passes) if j.violates else _order(j, overtaken, passes)
            yield from _response(j, passes)
            yield from _repeated(j, passes)


def _make(j: Judged, kind: str, severity: str, text: str, heard: Utterance | None = None) -> Finding:
    where = heard if heard is not None else j.time.begun
    at = where.us if where is not None and where.us is not None else j.fact.due_us
    return Finding(kind, severity, text, j.fact.step, j.fact.in_pass, j.time.deviation_s, where, j.fact.decided, at,
                   j.fact.row)


def _missed(j: Judged, needed: set[str], passes: int) -> Iterator[Finding]:
    if j.time.status != "missed":
        return
    fact = j.fact
    if fact.unlogged and not fact.decided:
        text = (f"Step {name(fact)} was due at {format_count(fact.planned_t_s)}{of_pass(fact, passes)}, after the last line of the logs; "
                "whether it was done is not known.")
        yield _make(j, "missed", "note", text)
        return
    sure = f"; {likely(fact.confidence)} that it was not said" if not fact.decided else "; a reviewer's decision"
    text = (f"Step {name(fact)} was not seen in any log{of_pass(fact, passes)}; "
            f"it was due at {format_count(fact.planned_t_s)}{sure}.")
    if fact.step in needed:
        text += " A step that had to wait for it was done."
    yield _make(j, "missed", "major", text)


def _timing(j: Judged, passes: int) -> Iterator[Finding]:
    time, fact = j.time, j.fact
    if time.timing not in ("late", "early") or time.deviation_s is None:
        return
    allowed = fact.late_s if time.timing == "late" else fact.early_s
    clock = "after the built-in hold's plan" if time.on_wall and time.timing == "late" else (
        "before the built-in hold's plan" if time.on_wall else f"{time.timing} on the count clock")
    text = (f"Step {name(fact)} was begun {said(time.deviation_s)} {clock}{of_pass(fact, passes)}; "
            f"due {format_count(fact.planned_t_s)}, {said(allowed)} allowed.")
    over = abs(time.deviation_s) - allowed
    severity = "major" if over > MAJOR_OVERRUN_S else "minor"
    if fact.confidence < DOUBTFUL and not fact.decided:
        severity, text = "note", f"{text} Whether that was this step is doubtful: {fact.confidence:.0%} sure."
    yield _make(j, time.timing, severity, text)


def _order(j: Judged, overtaken: set[tuple[str, int]], passes: int) -> Iterator[Finding]:
    """A step that strayed; one that another had to wait for is told with that other, since it is one fault."""
    if j.out_of_order and (j.fact.step, j.fact.in_pass) not in overtaken:
        text = f"Step {name(j.fact)} was done out of its planned order{of_pass(j.fact, passes)}."
        yield _make(j, "out_of_order", "minor", text)


def _after(j: Judged, strayed: set[tuple[str, int]], passes: int) -> Iterator[Finding]:
    """A step begun before what had to come first, with which of the two left the planned order."""
    text = (f"Step {name(j.fact)} was begun before {' and '.join(j.violates)}, "
            f"which had to come first{of_pass(j.fact, passes)}")
    moved = [n for n in (j.fact.step, *j.violates) if (n, j.fact.in_pass) in strayed]
    text += f"; {' and '.join(moved)} left the planned order." if moved else "."
    yield _make(j, "after_violated", "major", text)


def _response(j: Judged, passes: int) -> Iterator[Finding]:
    response, limit = j.response, limit_s(j.fact)
    by = j.fact.plan.get("by")
    who = by if isinstance(by, str) and by else "the station called"
    if response.response == "none" and limit is not None:
        text = (f"No answer from {who} to the call for step {name(j.fact)} was heard{of_pass(j.fact, passes)}; "
                f"one was due within {said(limit)}.")
        yield _make(j, "no_response", "minor", text, response.call)
    if response.response == "late" and response.response_s is not None and limit is not None:
        text = (f"{who[0].upper()}{who[1:]} answered the call for step {name(j.fact)} after "
                f"{said(response.response_s)}{of_pass(j.fact, passes)}; {said(limit)} allowed.")
        yield _make(j, "response_late", "note", text, response.answer)
    if response.answer is not None and refuses(response.answer.text):
        text = f"{who[0].upper()}{who[1:]} answered the call for step {name(j.fact)} with a no{of_pass(j.fact, passes)}: '{short(response.answer.text)}'"
        done = any(not refuses(u.text) for u in j.fact.heard.get("report", ()) if u is not response.answer)
        yield _make(j, "answered_no", "note" if done else "minor", f"{text}; it was reported done after that." if done else f"{text}.", response.answer)
    if j.read_back is not None:
        back = j.read_back
        text = f"The read-back of step {name(j.fact)} said '{back.said}' where the call said '{back.ordered}'"
        text += "; it was put right." if back.corrected else ", and nobody put it right."
        yield _make(j, "readback_wrong", "note" if back.corrected else "major", text, back.heard)


def _repeated(j: Judged, passes: int) -> Iterator[Finding]:
    if j.time.done and j.fact.times_seen > 1:
        text = f"Step {name(j.fact)} was done {j.fact.times_seen} times{of_pass(j.fact, passes)}."
        yield _make(j, "repeated", "note", text)
