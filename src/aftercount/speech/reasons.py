"""Why, in the words of the call: 'due to a range boat', 'hold, hold, boat in the box', 'HOLD T-9:00 - LOX leak'?

Conventions: the reason as it was said, without the joining word and without what follows it (when to resume, who stands by).
A length or a time after 'for' is no reason. It does not decide the cause: `timeline` weighs what else was reported.
"""

from __future__ import annotations

import re

_NAMED = re.compile(
    r"\b(?:due to|because of|because|on account of|owing to|caused by|as a result of|reason(?:\s+is|\s+being)?\s*[:=]?|for|to allow for|to work|while we work)\s*(?<=[\s=:])(?P<why>[^.;?!]+)", re.I)
_BEFORE = re.compile(r"^(?:.*?\b)?(?:due to|because of|owing to|on account of)\s+(?P<why>[^.;?!,]+)", re.I)
_AFTER_CALL = re.compile(
    r"\b(?:hold(?:ing)?|scrub(?:bed)?|cut ?-?off|abort(?:ed)?|stopped|T ?-? ?[\d:]+)(?:\s+the\s+(?:count|clock))?\s*[,:\u2013\u2014-]+\s*(?P<why>[A-Za-z][^,.;?!]{3,})", re.I)
_DASHED = re.compile(r"(?:\s[-\u2013\u2014]+\s|:\s+)(?P<why>[A-Za-z][^.;?!]{2,})$")
_NUMBER = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty|ninety)"
_NO_REASON = re.compile(
    rf"^(?:(?:about|approximately|another|up to|at least|some|the next|a planned)\s+)?(?:\d|an? (?:hour|minute|second|moment|few|while)|{_NUMBER}\b|now\b|the day|today|tonight|launch\b|t\b|t-|"
    r"this attempt|the (?:count|time being|moment|record)|lift|all\b)", re.I)
_NOT_A_CAUSE = re.compile(
    r"^(?:hold|count|clock|t\b|t-|we\b|we're|called|per\b|by\b|all\b|stand|resum|go\b|no\b|over|out\b|and\b|built|planned|pass|copy|roger|i\b|this|at\b|expect|will|now\b|"
    r"the (?:count|clock)|abort|cut|scrub|duration|length|mark|extended|until|pending)", re.I)
_A_CALL = re.compile(r"\b(?:call(?:s|ing|ed)|hold(?:ing)?|scrub(?:bed)?)\b", re.I)
_WHAT_FOLLOWS = re.compile(r"(?:,|(?<!\s))\s*+(?:\band (?:resume|expect|stand|we|will)\b|\bresum|\bexpect|\bstand ?by|\bwill\b|\bat T[ -]|\bT-\d|\bcount (?:is|stopped)).*$", re.I)


def read_reason(text: str, at: int) -> str | None:
    """The reason given after the call that begins at character `at`, else one given before it."""
    tail = text[at:]
    found = _NAMED.search(tail)
    while found:
        if not _NO_REASON.match(found["why"]) and (why := _cut(found["why"])):
            return why
        found = _NAMED.search(tail, found.start("why"))
    for pattern in (_AFTER_CALL, _DASHED):
        for found in pattern.finditer(tail):
            if not _NOT_A_CAUSE.match(found["why"]) and not _A_CALL.search(found["why"]) and (why := _cut(found["why"])):
                return why
    before = _BEFORE.match(text[:at])
    return _cut(before["why"]) if before else None


def _cut(why: str) -> str | None:
    return _WHAT_FOLLOWS.sub("", why).strip(" ,.-\u2013\u2014") or None
