"""Which words say that something happened to the count: held, resumed, set back, cut off, scrubbed, lifted off?

Conventions: patterns run over a sentence's tokens joined by single spaces ('lift - off', 't - 0'), so that spelling and
punctuation do not matter. Each names what it says and how sure it would be if nothing round it speaks against it.

It does not weigh tense, condition or denial: see `calls`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from aftercount.speech.wordsets import word_set

HOLD, RESUME, RECYCLE, CUTOFF, SCRUB, LIFTOFF = "hold", "resume", "recycle", "cutoff", "scrub", "liftoff"

_CLOCK = r"(?:the )?(?:t - )?(?:terminal )?(?:count ?- ?down|counts?|clock|clk|cd|sequence|sequencer)"
_BE = r"(?:(?: is| has| has been| was|'s|,|:|=| -| state| status| mode| now| been)* )"
_KIND = r"(?:(?:built|planned|unplanned|scheduled|unscheduled|weather|technical|range|hardware|user|short|brief|ten|five|\d+)(?: - | )(?:in |minute |min )?)*"
_A = r"(?:a |an |the |our |this |that )?"


@dataclass(frozen=True)
class Trigger:
    what: str
    pattern: re.Pattern[str]
    grade: str


def _trigger(what: str, grade: str, *patterns: str) -> Trigger:
    return Trigger(what, re.compile("|".join(rf"(?<![\w'])(?:{p})(?![\w':.])" for p in patterns)), grade)


# In this order: what an earlier pattern has taken, a later one cannot ('out of the hold' is no hold).
TRIGGERS: tuple[Trigger, ...] = (
    _trigger(
        RESUME, "certain",
        rf"{_CLOCK}{_BE}?(?:resum(?:e|ed|es|ing)|restart(?:ed|s|ing)?|released|re - started|running|picked up|picking up|counting again|counting)",
        rf"(?:resum(?:e|ed|es|ing)|restart(?:ed|ing)?) {_CLOCK}",
        rf"pick(?:ed|ing|s)?(?: it)?(?: back)? up (?:on )?{_CLOCK}", rf"pick(?:ed|ing)? {_CLOCK}(?: back)? up",
        rf"{_A}{_KIND}hold (?:(?:is|has been|has|was) )?(?:now )?(?:released?|lifted|over|ended|cleared|complete|completed|terminated|end|ends|exit)",
        rf"(?:releas(?:e|ed|es|ing)|lift(?:ing|ed)|exit(?:ed|ing)|end(?:ing|ed)?)(?: of| from)? {_A}{_KIND}hold", rf"(?:out of|off) {_A}{_KIND}hold",
        r"counting again", rf"proceed(?:ing)? with {_CLOCK}", rf"continuing {_CLOCK}", r"(?:resum(?:ed|ing) )counting", r"back in the count",
    ),
    _trigger(RESUME, "likely", r"(?:the )?(?:terminal )?(?:count ?- ?down|count|clock|clk)(?: is| has| has been| now)* start(?:ed|s|ing)?", r"hold(?:ing)? (?:- |to |= )count(?:ing)?", r"resum(?:e|ed|ing|es)(?= (?:at|from|on|t|now|the)\b)",
             r"^(?P<lead>(?:\w+ ){0,3}(?:, )?)resum(?:e|ed|ing)(?: \w+){0,2}(?: ,| \.|$)", rf"(?:start|starting|started) {_CLOCK}"),
    _trigger(
        RECYCLE, "certain",
        rf"recycl(?:e|ed|es|ing)(?: {_CLOCK})?(?: back)?(?: to)?", rf"{_CLOCK}{_BE}?(?:being )?(?:re)?(?:set|turned|moved|put|taken) back(?: to)?",
        rf"(?:set|setting|turn|turned|turning|mov(?:e|ed|ing)|put|putting|took|taking) {_CLOCK} back(?: to)?", rf"(?:reset|resetting) {_CLOCK} to",
        rf"{_CLOCK}{_BE}?(?:reset|being reset)(?: to)?", r"(?:go|going|gone|went|backing up|back up|backed up|return|returning|returned)(?: back)? to(?= t (?:-|minus))",
    ),
    _trigger(RECYCLE, "likely", rf"{_CLOCK}{_BE}?(?:re)?set(?: to| at)?(?= t )"),
    _trigger(SCRUB, "certain", r"scrub(?:bed|bing|s)?(?! (?:turnaround|criteria|valve|line))",
             r"(?:launch|attempt|test|rehearsal|countdown|count)(?: attempt)?(?: is| has been| was)? (?:cancell?ed|called off|abandoned|postponed)",
             r"(?:calling|call|called) (?:it|the (?:launch|attempt|count|test))(?: off)? for (?:today|the day|tonight)",
             r"(?:standing|stand|stood) down (?:for|from) (?:today|the day|tonight|this|the launch|the attempt|launch)", r"no launch today", r"(?:done|through|finished) for (?:today|the day|tonight)"),
    _trigger(CUTOFF, "certain", r"cut ?-? ?off(?! (?:valve|sensor|switch|time|date|point|criteria|test|check|box|relay))",
             r"abort(?:ed|ing)?(?:(?: ,)? abort)*(?! (?:system|motor|criteria|tower|rules?|limits?|monitor|light|switch|panel|gate|line|logic|test|check|handle|button|command check|modes?))",
             r"sequencer? (?:has )?(?:stopped|terminated|halted)"),
    _trigger(LIFTOFF, "certain", r"lift ?-? ?off(?! (?:time|tower|pin|umbilical|switch|weight|disconnect|plate|indication check|signal check|sensor))", r"we have (?:a )?lift", r"first motion"),
    _trigger(LIFTOFF, "likely", r"t (?:- |minus )?(?:0|zero)", r"t0", r"l / o", r"vehicle (?:is )?away", r"(?:00:)?00:00 (?:launch|ignition)"),
    _trigger(
        HOLD, "certain",
        r"hold(?: ,)? hold(?:(?: ,)? hold)*", rf"hold(?:ing)? {_CLOCK}", rf"{_CLOCK}{_BE}?(?:on |in |in a )?{_KIND}(?:hold|holding|held|holds)",
        rf"{_CLOCK}{_BE}?(?:stop|stopped|halted|frozen|stops|paused)", rf"stop(?:ped|ping)? {_CLOCK}",
        rf"(?:we are|we're|we have|we've|are|now|currently|gone|going|went|go)(?: now| gone| going)? (?:in|into|on|entering|entered) {_A}{_KIND}hold",
        rf"enter(?:s|ing|ed)? {_A}{_KIND}hold", rf"(?:call(?:ed|ing|s)?|declar(?:e|ed|es|ing)|initiat(?:e|ed|es|ing)|request(?:ed|ing|s)?|need|calling for) {_A}{_KIND}hold",
        r"(?:we are|we're|now|are) holding", rf"{_KIND}hold (?:has |is |was |been |being )*(?:begins?|began|begun|start(?:s|ed)?|entered|entry|called|declared|initiated|in effect)",
        rf"(?:this is|start of|beginning|begin|began|begun|starting|into) {_A}{_KIND}hold", r"hold(?:ing)?(?: point)? at(?= t | minus| l | \d)", r"hold(?= t (?:-|minus))", r"holding(?= (?:at|for|due|because)\b)",
    ),
    _trigger(HOLD, "likely", r"(?:and|,) holding", r"(?:t - |^)hold(?:ing)?(?= (?:due|because|for|at|per|by|-|,|:|\.|t )|$)", r"^(?P<lead>(?:\w+ ){0,2}(?:, )?)(?:built - in )?hold(?: ,| \.| :| -|$)",
             rf"{_KIND}hold(?= (?:for|due|because)\b)", r"(?:state|status|mode)(?: =| :| -| is)? (?:hold|holding|held)", r"(?:^|, )hold(?= \d+ (?:m|s|h)| (?:five|ten|fifteen|twenty|thirty) (?:m|s))",
             r"count(?:ing)? (?:- |to |= )hold(?:ing)?", r"(?:(?:old|whole|told|hole) )+hold", rf"(?:old|whole|told|hole) {_CLOCK}", r"hold(?: (?:old|whole|told|hole))+"),
)
# Words, one of which every trigger holds: most sentences are passed over by these alone.
MAYBE = word_set(
    "hold holds holding held resume resumed resumes resuming recycle recycled recycles recycling cut cutoff abort aborts aborted aborting scrub scrubs scrubbed "
    "scrubbing lift liftoff t t0 count countdown clock sequence sequencer stand standing stood called calling call done finished through first cancelled canceled "
    "abandoned postponed launch go going gone went backing back backed return returning returned vehicle away 00:00 00:00:00")
# 'hold' and others as a thing or an act on the vehicle, not on the count.
NOT_THE_COUNT = re.compile(
    r"(?<!\w)(?:hold ?-? ?(?:down|short|pressure|point|points|off|one|on(?! my| t| the mark)|time|valve|arm|fire|your|my|that|this|position|temperature|steady|back|fast|it|up|clamp|relay|open|close|closed|circuit)|"
    r"(?:pressure|tank|valve|temperature|vacuum|leak|level|altitude|position|flow|pump|brake|seal|relay|press) ?(?:- )?(?:hold|holding|held|holds)|holding (?:steady|pressure|nominal|good|well|tank|fast|brake|on|at \d+ (?:psi|bar|degrees|percent|volts)|"
    r"\w+ pressure|for you)|(?:hold|holding) (?:tank|\w+ at (?!t\b)\w+ (?:psi|bar|percent|degrees))|after hold|hold list|hold criteria|holds? (?:remaining|left)|recycl(?:e|ed|ing) (?:water|pump|the (?:pump|power|valve|breaker|computer|system|bus))|"
    r"lift ?- ?off (?:position|thrust)|lift (?:the|arm)|count rate|counts? per)(?!\w)")
