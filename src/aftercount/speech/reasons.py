"""Why, in the words of the call: 'due to a range boat', 'hold, hold, boat in the box', 'HOLD T-9:00 - LOX leak'?

Conventions: the reason as it was said, without the joining word and without what follows it (when to resume, who stands by).
Where no word joins it to the call, a clause that says
what is wrong is the reason. A length or a time is none. It does not decide the cause: `timeline` weighs what else was reported.
"""

from __future__ import annotations

import re

# Up to the end of the clause; the point of '4.8 mi' ends none.
_CLAUSE = r"(?:[^.;?!]|(?<=\d)\.(?=\d))+"
POINT = r"(?<=\d)\.(?=\d)"  # of '4.8 mi': it ends no clause
_CLAUSE = rf"(?:[^.;?!]|{POINT})+"
_NAMED = re.compile(
    r"\b(?:due to|because of|because|on account of|owing to|caused by|as a result of|reason(?:\s+is|\s+being)?\s*[:=]?|for|to allow for|to work|while we work)\s*(?<=[\s=:])(?P<why>" + _CLAUSE + ")", re.I)
_BEFORE = re.compile(rf"^(?:.*?\b)?(?:due to|because of|owing to|on account of)\s+(?P<why>(?:[^.;?!,]|{POINT})+)", re.I)
_AFTER_CALL = re.compile(
    r"(?:\b(?:hold(?:ing)?|scrub(?:bed)?|cut ?-? ?off|abort(?:ed)?|stop(?:ped)?|T ?-? ?[\d:]+)|(?<= )-\d[\d:]*)(?:\s+the\s+(?:count|clock))?\s*[,:\u2013\u2014-]+\s*(?P<why>[A-Za-z](?:[^,.;?!]|" + POINT + r"){3,})", re.I)
_DASHED = re.compile(r"(?:\s[-\u2013\u2014]+\s|:\s+)(?P<why>[A-Za-z](?:[^.;?!]|" + POINT + r"){2,})$")
# As people type it, the time of the hold and then what was wrong: 'HOLD T-4:00 bleed temp low'.
_AFTER_TIME = re.compile(
    r"\bhold(?:ing)? (?:at |@ ?)?[TL] ?- ?\d[\d:]*[smh]? +(?!(?:hours?|hrs?|minutes?|min|mins|seconds?|secs?|[hms])\b)(?P<why>[A-Za-z](?:[^.;?!]|" + POINT + r"){3,})", re.I)
# Said after the call: 'hold, hold, we've got a sticking valve'.
_WE_HAVE = re.compile(r"\b(?:we|i)(?:'ve| have)(?: got| seen)? (?!(?:stopped|held|been|called|just|not|to|no)\b)(?P<why>[A-Za-z](?:[^.;?!,]|" + POINT + r"){3,})", re.I)
_ASIDE = re.compile(r"\(([^()]*)\)\s*$")
_NUMBER = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty|ninety)"
_NO_REASON = re.compile(
    rf"^(?:(?:about|approximately|another|up to|at least|some|the next|a planned)\s+)?(?:\d|an? (?:hour|minute|second|moment|few|while)|{_NUMBER}\b|now\b|the day|today|tonight|launch\b|t\b|t-|"
    r"this attempt|the (?:count|time being|moment|record)|lift|(?:good|sure)\b|all\b)", re.I)
_NOT_A_CAUSE = re.compile(
    r"^(?:hold|count|clock|t\b|t-|we\b|we're|called|per\b|by\b|all\b|stand|resum|go\b|no(?:\W*$|\s+(?:go|further|more|change|joy|problems?|issues?|questions?|hold)\b)|over|out\b|and\b|built|planned|pass|copy|roger|i\b|this|at\b|expect|will|now\b|"
    rf"the (?:count|clock)|minus\b|plus\b|{_NUMBER}\b[ -](?:more )?(?:hour|minute|second|min\b|sec\b)|abort|cut|scrub|duration|length|mark|extended|started|begun|began|entered|until|pending|as\b)", re.I)
_A_CALL = re.compile(r"\b(?:call(?:s|ing|ed)|hold(?:ing)?|scrub(?:bed)?)\b", re.I)
# What is wrong, in words of any trade.
_TROUBLE = re.compile(
    r"\b(?:stuck|sticking|jammed|seized|fail(?:s|ed|ure|ing)?|faults?|faulty|leak(?:s|ed|age|ing)?|problems?|issues?|anomal(?:y|ies|ous)|lost|loss of|drop(?:ped)? ?-?out|out of (?:limits?|range|tolerance|family)|"
    r"violat(?:ion|ed|ing)|alarm(?:s|ed)?|trip(?:s|ped)|blocked|fouled|foul|frozen|broken|damaged|intruder|(?:did|does|do|will|would|has|have|is|are|was) not|"
    r"(?:did|does|do|wo|would|has|have|is|are|was)n't|cannot|can't|no (?:signal|release|response|data|indication|telemetry|contact|reading)|too (?:high|low|hot|cold|slow|strong)|"
    r"(?:above|below) (?:the )?(?:\w+ )?limits?|weeping|(?:somebody|someone|people|a (?:person|man|boat|vessel|ship|plane|aircraft|truck|car|van)) (?:\w+ )?(?:on|in|inside|at|near|by) (?:the|our)|"
    r"(?:pressure|level|temperature|temp|voltage|flow|current|quantity|winds?|sensor) (?:is |are |was |reads |reading |running )*(?:too |very )?(?:low|high|dropping|falling|rising))\b", re.I)
_CLAUSES = re.compile(rf"(?:{POINT}|[^.;?!,])+")
_LEAST_WORDS = 2
_WHAT_FOLLOWS = re.compile(r"(?:,|(?<!\s))\s*+(?:\band (?:resume|expect|stand|we|will)\b|\bresum|\bexpect|\bstand ?by|\bwill\b|\bat T[ -]|\bT-\d|\bcount (?:is|stopped)).*$", re.I)


def read_reason(text: str, at: int) -> str | None:
    """The reason given after the call that begins at character `at`, else one given before it."""
    aside = _ASIDE.search(text, at)
    tail = text[at:aside.start() if aside else len(text)]  # '(called by SAFETY)' is no part of the reason, if anything is the reason itself
    found = _NAMED.search(tail)
    while found:
        if not _NO_REASON.match(found["why"]) and (why := _cut(found["why"])):
            return why
        found = _NAMED.search(tail, found.start("why"))
    for pattern in (_AFTER_CALL, _DASHED, _AFTER_TIME, _WE_HAVE):
        for found in pattern.finditer(tail):
            if not _NOT_A_CAUSE.match(found["why"]) and not _A_CALL.search(found["why"]) and (why := _cut(found["why"])):
                return why
    if aside and (why := stated(aside[1])):
        return why
    before = _BEFORE.match(text[:at])
    return _cut(before["why"]) if before else trouble(text)


def trouble(text: str) -> str | None:
    """The clause that says what is wrong, where one does and speaks of nothing done to the count."""
    return next((why for clause in _CLAUSES.findall(text) if _TROUBLE.search(clause) and not _A_CALL.search(clause) and (why := stated(clause))), None)


def stated(text: str) -> str | None:
    """Words said as a call's reason without a joining word: 'hold hold, (the) door did not close'."""
    found = _CLAUSES.search(text)
    why = found[0].strip(" -\u2013\u2014:") if found else ""
    return _cut(why) if len(why.split()) >= _LEAST_WORDS and not _NOT_A_CAUSE.match(why) and not _NO_REASON.match(why) else None


def _cut(why: str) -> str | None:
    return _WHAT_FOLLOWS.sub("", why).strip(" ,.-\u2013\u2014") or None
