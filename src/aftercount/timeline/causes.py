"""Why was there a hold: who called it, who ended it, for what reason, and which step was it waiting for?

The reason is, in this order: what the call itself named (`called`); what was said in the hold to be its cause, or to be why a
built-in one goes on, or was cleared just before the resume (`reported`); what was talked of in it as wrong, or as right again, or was worked in it and reported done just
before the resume (`worked`). `waiting_for` is the plan
step due by then whose words the reason, or that last report, shares. Nothing is made up: without words there is no reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from aftercount.speech.reasons import POINT, read_reason, stated, trouble
from aftercount.speech.words import words
from aftercount.timeline.evidence import CUT_SIGMAS
from aftercount.timeline.model import Floats

if TYPE_CHECKING:
    from aftercount.plan import Plan
    from aftercount.speech import Speech

NAMED_S = 180.0  # the cause is told within some minutes of the call
TROUBLE_BEFORE_S, TROUBLE_S = 30.0, 60.0  # what is wrong, said so shortly before the call or after it, is likely why
CLEARED_S = 120.0  # and cleared within two of the resume
LEAST_SHARE = 0.5  # of a step's words that the reason or report must share to be about it
LEAST_WORDS = 2
LEAST_ROOT = 4  # letters; a longer word is known by its beginning
_CAUSE = re.compile(
    r"\b(?:hold(?:ing)?(?: is| was)?(?: called)? (?:for|due to|because of)|due to|because of|reason (?:for (?:the|this) hold )?is|^reasons?\b[ :=-]*+(?!why|we\b|for\b|to\b|is\b)|caused by"
    r"|waiting (?:on|for)|on account of|(?:the|this) (?:hold|old|whole)(?: (?!is\b|was\b)\w+)? (?:is|his|has|as|was) for|working (?:on )?(?:an? )?(?=\w+ (?:issue|problem|fault|leak)))\s*(?P<why>(?:[^.;,!?]|" + POINT + ")+)",
    re.IGNORECASE)
_HAVING = re.compile(r"\b(?:we|i)(?:'ve| have)(?: got)?\s+(?=(?:an?|some|no|several)\s)(?P<why>(?:[^.;,!?]|" + POINT + ")+)", re.IGNORECASE)
_EXTENDED = re.compile(
    r"\bhold (?:(?:is|was|has been|will be|being) )?(?:extended|continues)\b|\b(?:extend(?:ing|ed)?|stay(?:ing)? in|remain(?:ing)? in|still in) (?:the |this |our )?(?:built[ -]in )?hold\b", re.IGNORECASE)
# What says how long, not why, behind 'we will stay in the hold'.
_FOR_NOW = re.compile(r"^\W*(?:for (?:now|a (?:bit|while|moment)|the (?:moment|time being))|(?:a (?:bit|little)|somewhat) longer|longer|right here|here|now)\b[\s,:\u2013\u2014-]*", re.IGNORECASE)
_CLEARED = re.compile(
    r"\b(?P<why>[a-z0-9][^.;,!?]{0,120}?)\s++(?:is|are|has been|have been|was|now)\s++(?:now )?(?:clear(?:ed)?|resolved|fixed|repaired|closed out|back in limits|good|within limits)\b"
    r"|\bno (?:more|longer)(?: an?)? (?:issue|problem|concern)s?(?: with| on)? (?P<what>[^.;,!?]+)",
    re.IGNORECASE)
_RIGHT_AGAIN = re.compile(
    r"^(?:[\w ]{1,30},\s*){0,2}(?P<thing>(?!(?:that|it|this|count|clock|we|they|all|everybody|everything)\b)[a-z][\w -]{2,40}?)\s+(?:(?:is|are|has|have|looks?|went|came|comes)\s+(?:back|good|clear|clean|healthy|solid|normal|steady|empty|closed|open|okay|fine|within|in)"
    r"|indicat(?:es|ing))\b(?=.*\b(?:again|now|limits|band|back|normal|clear)\b)", re.IGNORECASE)
_PUT_RIGHT = re.compile(r"\b(?:fixed|resolved|repaired|cleared|closed out)\b", re.IGNORECASE)
_GOOD = re.compile(r"\b(?:good|go|nominal|lift|mark|contact|copy|problem|issue|question|visual|data|minutes?|seconds?|t)\b", re.IGNORECASE)
_LENGTH = re.compile(r"^(?:about |another |up to )?(?:\d+|one|two|three|five|ten|fifteen|twenty|thirty) (?:hour|minute|second)", re.IGNORECASE)
_NO_CAUSE = re.compile(r"\b(?:call(?:s|ing|ed)?|hold(?:ing)?|stop(?:ped)?|cutoff)\b", re.IGNORECASE)
_TAIL = re.compile(r",? (?:we are )?(?:working|looking at) (?:it|that|on it)$", re.IGNORECASE)
_EMPTY = frozenset(["the", "a", "an", "of", "to", "at", "in", "on", "and", "for", "is", "it", "this", "that", "we", "are", "now", "be", "hold", "holding", "count", "clock", "t", "minus"])


@dataclass(frozen=True)
class Heard:
    """The utterances in order of wall time, those without one left out."""

    u: Floats
    utterance: list[int]
    text: list[str]
    kind: list[str]
    station: list[object]

    def between(self, start: float, end: float) -> range:
        return range(int(np.searchsorted(self.u, start, side="left")), int(np.searchsorted(self.u, end, side="right")))

    def his_first(self, among: range, by: str | None) -> list[int]:
        """What station `by` said before what others did."""
        return sorted(among, key=lambda k: by is None or self.station[k] != by)


def name_causes(rows: list[dict[str, Any]], speech: Speech, u: Floats, plan: Plan, own_sigma: Floats | None = None) -> None:
    """Fills called_by, resumed_by, reason, reason_basis and waiting_for, in place.

    rows: as made by holds.hold_rows, with the calls that began and ended each hold. own_sigma: of each utterance's own time, NaN where it has none.
    """
    heard = _heard(speech, u)
    by, reason = speech.calls["by"].tolist(), speech.calls["reason"].tolist()
    utterance, what = speech.calls["utterance"].tolist(), speech.calls["what"].tolist()
    people = _People(speech, u, np.zeros(len(u)) if own_sigma is None else np.nan_to_num(own_sigma))
    for row in rows:
        begun, ended = row.pop("call"), row.pop("resume")
        row["called_by"] = _first(people.first(_HOLDS, row["start_u"]), by[begun.row] if begun else None,
                                  people.unless(_HOLDS, row["start_u"], row["event"]))
        row["resumed_by"] = _first(people.first(_RESUMES, row["end_u"]), by[ended.row], people.unless(_RESUMES, row["end_u"], ended.utterance)) if ended else None
        row["reason"], row["reason_basis"] = _cause(reason[begun.row]) if begun else None, "called"
        told = sorted((u[i], reason[k]) for k, i in enumerate(utterance) if what[k] in ("hold", "cutoff") and _cause(reason[k])
                      and row["start_u"] - CALL_BEFORE_S <= u[i] <= min(row["start_u"] + NAMED_S, _end(row)))
        if row["reason"] is None and row["kind"] == "unplanned":
            row["reason"], row["reason_basis"] = _reported(row, heard, [why for _, why in told])
        if row["reason"] is None and _overran(row):
            row["reason"], row["reason_basis"] = _extended(row, heard), "reported"
        _wait(row, heard, plan)
        if row["reason"] is None:
            row["reason_basis"] = None


_HOLDS, _RESUMES = ("hold", "cutoff"), ("resume",)
CALL_BEFORE_S = 15.0
# A built-in hold that lasted no longer than this beyond its plan, seconds, was kept: it needs no cause but the plan's.
EXTENDED_S = 5.0
# Seconds after the clock moved within which a person may still be announcing it.
CALL_AFTER_S = 10.0


class _People:
    """Calls on the count that people made: a machine's record says that the clock moved, not who asked for it."""

    def __init__(self, speech: Speech, u: Floats, own_sigma: Floats) -> None:
        self.medium, self.station = speech.utterances["medium"].tolist(), speech.utterances["station"].tolist()
        calls = speech.calls
        self.calls = sorted((float(u[i]), what, _first(by, self.station[i]) or "", float(CUT_SIGMAS * own_sigma[i]))
                            for i, what, by, grade in zip(calls["utterance"], calls["what"], calls["by"], calls["grade"], strict=True)
                            if self.medium[i] != "machine" and grade != "doubtful" and np.isfinite(u[i]))

    def first(self, what: tuple[str, ...], at: float) -> str | None:
        """Who was the first to call it, near the instant `at`, and is known."""
        return next((who for who in self._near(what, at) if who), None)

    def unless(self, what: tuple[str, ...], at: float, utterance: int | None) -> str | None:
        """The station of an utterance, unless it is a machine's and somebody unknown called it: then nobody is known to have."""
        if utterance is None or (self.medium[utterance] == "machine" and self._near(what, at)):
            return None
        return self.station[utterance] or None

    def _near(self, what: tuple[str, ...], at: float) -> list[str]:
        return [who for when, kind, who, off in self.calls if kind in what and at - CALL_BEFORE_S - off <= when <= at + CALL_AFTER_S + off]


def _heard(speech: Speech, u: Floats) -> Heard:
    order = [int(i) for i in np.lexsort((np.arange(len(u)), u)) if np.isfinite(u[i])]
    text, kind, station = (speech.utterances[c].tolist() for c in ("text", "kind", "station"))
    return Heard(u[order], order, [text[i] for i in order], [kind[i] for i in order], [station[i] for i in order])


def _end(row: dict[str, Any]) -> float:
    return float(row["end_u"]) if row["end_u"] is not None else np.inf


def _reported(row: dict[str, Any], heard: Heard, told: list[str]) -> tuple[str | None, str]:
    """What was said in the hold to be its cause, else what was cleared before the resume."""
    if told:
        return told[0], "reported"
    for k in heard.between(row["start_u"] - CALL_BEFORE_S, min(row["start_u"] + NAMED_S, _end(row))):
        found = _CAUSE.search(heard.text[k])
        if found and not _LENGTH.match(found["why"]) and len(found["why"].split()) <= 12:
            return found["why"].strip(), "reported"
    for k in reversed(_before_resume(row, heard)):
        found = _CLEARED.search(heard.text[k])
        if found:
            return (found["why"] or found["what"]).strip(), "reported"
    near = heard.his_first(heard.between(row["start_u"] - TROUBLE_BEFORE_S, min(row["start_u"] + TROUBLE_S, _end(row))), row["called_by"])
    wrong = next((why for k in near if (why := trouble(heard.text[k]))), None)
    wrong = wrong or next((why for k in near if heard.u[k] >= row["start_u"] and (why := _having(heard.text[k]))), None)
    return (wrong, "reported") if wrong else (_worked(heard, heard.between(row["start_u"], _end(row)), row["called_by"]), "worked")


def _worked(heard: Heard, held: range, by: str | None) -> str | None:
    """What was said, at any time of the hold, to be wrong, else to be right again: what people talk of while they wait is what they wait for. What
    `by` says, who called it, comes first."""
    wrong = next((why for k in heard.his_first(held, by) if (why := trouble(heard.text[k])) and not _PUT_RIGHT.search(why)), None)
    return wrong or next((found["thing"].strip() for k in heard.his_first(held[::-1], by) if (found := _RIGHT_AGAIN.search(heard.text[k]))), None)


def _overran(row: dict[str, Any]) -> bool:
    return row["kind"] == "built_in" and (row["excess_s"] or 0.0) > EXTENDED_S


def _extended(row: dict[str, Any], heard: Heard) -> str | None:
    """The reason given with the word that a built-in hold goes on: 'hold extended, no lock on the beacon'."""
    for k in heard.between(row["start_u"], _end(row)):
        text = heard.text[k]
        found = _EXTENDED.search(text)
        if found and (why := _cause(read_reason(text, found.start()) or stated(_FOR_NOW.sub("", text[found.end():])))):
            return why
    return None


def _having(text: str) -> str | None:
    """What somebody says there is: 'we have a truck at the gate'."""
    found = _HAVING.search(text)
    return _cause(stated(found["why"])) if found and not _GOOD.search(found["why"]) else None


def _before_resume(row: dict[str, Any], heard: Heard) -> range:
    if row["end_u"] is None:
        return range(0)
    return heard.between(max(row["start_u"], row["end_u"] - CLEARED_S), row["end_u"])


def _wait(row: dict[str, Any], heard: Heard, plan: Plan) -> None:
    """The step that the hold was waiting for, by the words of its reason or of what was reported done before the resume."""
    row["waiting_for"] = None
    if row["kind"] != "unplanned" and not _overran(row):
        return
    steps = plan.steps
    timed = [(float(t), (str(s), frozenset(words(str(a))) - _EMPTY)) for s, a, t in zip(steps["step"], steps["action"], steps["t_s"], strict=True)
             if t <= row["t_s"] + WAIT_AHEAD_S]
    due = [step for _, step in timed]
    if row["reason"] is not None:
        begun = [step for t, step in timed if row["t_s"] - IN_WORK_S <= t <= row["t_s"]]
        row["waiting_for"] = (_about(begun, [row["reason"]]) or _about(due, [row["reason"]])
                              or _about(due, (text for text in _reports(heard, heard.between(row["start_u"], _end(row))) if _shares(text, row["reason"]))))
        return
    for report in _reports(heard, _before_resume(row, heard)):
        step = _about(due, [report])
        if step is not None:
            row["waiting_for"], row["reason"], row["reason_basis"] = step, report.rstrip(" ."), "worked"
            return


WAIT_AHEAD_S = 60.0  # a hold waits for what was due before it, or would be next
IN_WORK_S = 120.0  # what fell due this shortly before it is likelier in work than another step of the same words


def _reports(heard: Heard, among: range) -> list[str]:
    """What was reported, the latest first."""
    return [heard.text[k] for k in reversed(among) if heard.kind[k] in ("report", "response")]


def _shares(text: str, reason: str) -> bool:
    """Whether a report is of the thing the reason names."""
    return bool(set(words(text)) & (set(words(reason)) - _EMPTY))


def _shared(said: Iterable[str], named: frozenset[str]) -> int:
    """How many of a step's words are said, in whichever form of the verb: 'retract' is in 'retracted'."""
    heard = set(said)
    return sum(w in heard or (len(w) > LEAST_ROOT and any(h.startswith(w[:max(LEAST_ROOT, len(w) - 1)]) for h in heard)) for w in named)


def _about(due: list[tuple[str, frozenset[str]]], texts: Iterable[str]) -> str | None:
    """The step whose words one of the texts shares most of, the latest of equals."""
    best, found = LEAST_SHARE, None
    for text in texts:
        said = frozenset(words(text)) - _EMPTY
        for step, named in due:
            common = _shared(said, named)
            share = common / len(named) if named else 0.0
            if common >= LEAST_WORDS and share >= best:
                best, found = share, step
    return found


def _first(*values: Any) -> str | None:
    return next((v for v in values if _text(v)), None)


def _cause(value: Any) -> str | None:
    """A reason that is one: not the call over again ('... is calling a hold')."""
    text = _text(value)
    return None if text is None or _NO_CAUSE.search(text) else _TAIL.sub("", text)


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) and value else None
