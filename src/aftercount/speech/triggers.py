"""Which words say that something happened to the count: held, resumed, set back, cut off, scrubbed, lifted off?

Conventions: patterns run over a sentence's tokens joined by single spaces ('lift - off', 't - 0'), so that spelling and
punctuation do not matter. Each names what it says and how sure it would be if nothing round it speaks against it.

It does not weigh tense, condition or denial: see `calls`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from aftercount.speech.numbers import NUMBER_WORDS
from aftercount.speech.wordsets import word_set

HOLD, RESUME, RECYCLE, CUTOFF, SCRUB, LIFTOFF = "hold", "resume", "recycle", "cutoff", "scrub", "liftoff"

_COUNT = r"(?:the |our )?(?:t - )?(?:terminal )?(?:count(?: - )?down(?: clock)?|counts?|clock|clk|cd|(?<!on )account)(?:'s)?"
_CLOCK = rf"(?:{_COUNT}|(?:the )?(?:sequence|sequencer)(?! of))"
_BE = r"(?:(?: is| has| has been| was| ,| :| =| -| state| status| mode| now| been| being)* )"
_KIND = r"(?:(?:built|planned|unplanned|scheduled|unscheduled|weather|technical|range|hardware|user|short|brief|ten|five|\d+)(?: - | )(?:in |minute |min )?)*"
_A = r"(?:a |an |the |our |this |that )?"
_WE = r"(?:we are|we're|we have|we've|we|are|we were)(?: now| all)?"
_TODAY = r"(?:today|tonight|the day|the night|now|this (?:morning|afternoon|evening|attempt|launch|try)|the launch|the attempt|launch|tomorrow)"
_ATTEMPT = r"(?:(?:launch|flight|today's|rehearsal|count(?: - )?down|count|attempt)(?: attempt)?)"
_FLYER = r"(?:vehicle|rocket|bird|missile|booster|stack|balloon|payload|glider|sled|capsule|probe|drone)"
_ENDS = r" ,| \.| ;| !|$"
_READING = r"(?:(?:t|tea|tee|key|d) (?:- |minus )|minus )"  # a reading of the count begins
_END = rf"(?={_ENDS})"
_NUMBER = rf"(?:\d+|{'|'.join(sorted(NUMBER_WORDS))})"


@dataclass(frozen=True)
class Trigger:
    """`needs`: pieces of words; without one of them in a sentence the pattern is not in it (looking for them is much quicker)."""

    what: str
    pattern: re.Pattern[str]
    grade: str
    needs: tuple[str, ...]

    def find(self, joined: str) -> Iterator[re.Match[str]]:
        """Where a sentence, its tokens joined by single spaces, says it."""
        return self.pattern.finditer(joined) if any(piece in joined for piece in self.needs) else iter(())


_CLOCKS = ("count", "clock", "clk", "cd", "sequence")


def _trigger(what: str, grade: str, needs: tuple[str, ...], *patterns: str) -> Trigger:
    return Trigger(what, re.compile("|".join(rf"(?<![\w'])(?:{p})(?![\w':.])" for p in patterns)), grade, needs)


# In this order: what an earlier pattern has taken, a later one cannot ('out of the hold' is no hold).
TRIGGERS: tuple[Trigger, ...] = (
    _trigger(
        RESUME, "certain", (*_CLOCKS, "hold"),
        rf"{_CLOCK}{_BE}?(?:resum(?:e|ed|es|ing)|restart(?:ed|s|ing)?|released|re - started)",
        rf"{_COUNT}{_BE}?(?:running|picked (?:back )?up|picking (?:back )?up|picks (?:back )?up|counting again|counting|back on|(?:moving|ticking|going|under ?way|on) again)",
        rf"(?:resum(?:e|ed|es|ing)|restart(?:ed|ing)?) {_CLOCK}",
        rf"pick(?:ed|ing|s)?(?: it)?(?: back)? up (?:on |with )?{_COUNT}",
        rf"pick(?:ed|ing)? {_COUNT}(?: back)? up",
        rf"{_A}{_KIND}hold (?:(?:is|has been|has|was) )?(?:now )?(?:released?|lifted|over|ended|cleared|complete|completed|terminated|end|ends|exit)",
        rf"(?:releas(?:e|ed|es|ing)|lift(?:ing|ed)|exit(?:ed|ing|s)?|end(?:ing|ed)?)(?: of| from)? {_A}{_KIND}hold",
        rf"(?:out of|off) {_A}{_KIND}hold",
        r"counting (?:down )?again",
        rf"(?:we are|we're|we|are|is) counting(?: \w+)? from(?= {_READING})",
        rf"(?:proceed(?:ing)?|going on) with {_CLOCK}",
        rf"continuing (?:with )?{_COUNT}",
        r"(?:resum(?:ed|ing) )counting",
        rf"back (?:in|into|on|to) {_COUNT}",
        r"back (?:to )?counting",
        r"un(?: - )?hold",
    ),
    _trigger(
        RESUME, "likely", (*_CLOCKS, "hold", "resum", "pick", "again", "back"),
        r"(?:the )?(?:terminal )?(?:count(?: - )?down|count|clock|clk)(?: is| has| has been| now)* start(?:ed|s|ing)?",
        r"hold(?:ing)? (?:- |to |= )count(?:ing)?",
        r"resum(?:e|ed|ing|es)(?= (?:at|from|on|t|now|minus)\b| too? (?:t|minus)\b)",
        rf"^(?P<lead>(?:\w+ ){{0,3}}(?:, )?)resum(?:e|ed|ing)(?: the(?: \w+)?)?(?: now| again| at this time)?{_END}",
        rf"{_COUNT} as resum(?:ed|ing)",
        r"resum(?:e|ed|ing) the \w+(?= (?:, )?(?:t|minus) )",
        rf"(?:start|starting|started) {_COUNT}",
        rf"{_WE} resum(?:ed|ing){_END}",
        rf"{_COUNT}{_BE}?(?:continues|continuing|moving|ticking)",
        r"(?:off|up) and counting",
        rf"again from(?= {_READING})",
        rf"back in (?:the )?at(?= {_READING})",
        r"pick(?:ed|ing) (?:it )?(?:back )?up(?= (?:at|from) t | now| again|(?: here)? at this| ,| \.|$)",
    ),
    _trigger(
        SCRUB, "certain",
        ("scrub", "launch", "flight", "rehearsal", "count", "attempt", "test", "call", "stand", "stood", "day", "night", "morning", "afternoon",
         "evening", "wav", "turnaround", "recycl", "delay"),
        r"(?<!no )scrub(?:bed|bing|s|(?:(?: ,)? scrub)+)?(?! (?:turnaround|criteria|valve|line|tower|down|the (?!launch|attempt|count|rehearsal|flight|test|mission|day)))",
        rf"{_ATTEMPT}(?: is| has been| was| are)? (?:cancell?ed|called off|abandoned|postponed|terminated|over|off)(?= (?:for|until|to|due|because|at)\b| today|{_ENDS})",
        r"test(?: is| has been| was)? (?:called off|abandoned|postponed)",
        r"(?:terminat(?:e|ed|ing)|abandon(?:ed|ing)?|cancel(?:ling|ing|led|ed)?) (?:the |this |today's )?(?:launch attempt|attempt|count(?: - )?down|count|rehearsal)(?! at\b)",
        rf"(?:calling|call|called) (?:it|the (?:launch|attempt|count|test))(?: off| quits| a day| a night)?(?: (?:for {_TODAY}))(?<!for now)",
        r"(?:calling|call|called) (?:it|this one|the (?:launch|attempt|count))(?: off| a day| a night| quits)",
        rf"(?:standing|stand|stood) down (?:for|from) {_TODAY}",
        r"no (?:launch|attempt|flight) (?:today|tonight)",
        rf"(?:done|through|finished|knocking off|packing (?:it )?up|it) for (?:today|the day|tonight){_END}",
        r"(?:not (?:be )?(?:going to )?|won't (?:be )?)(?:launch|launching|fly|flying|go|going) (?:today|tonight|this (?:morning|afternoon|evening))",
        r"wav(?:ed|ing) (?:- )?off(?! the)",
        r"(?:24|48|72|one|two) - hour (?:turnaround|recycle|delay)",
        r"(?:24|48|72) hours? (?:turnaround|recycle|delay)",
        r"recycl(?:e|ing) (?:for|of) (?:24|48|72) hours?",
    ),
    _trigger(
        SCRUB, "likely", ("stand", "stood", "tomorrow", "wave"),
        rf"{_WE} (?:standing|stand|stood) down{_END}",
        rf"^(?P<lead>(?:\w+ ){{0,3}}(?:, )?)(?:standing|stand) down{_END}",
        r"(?:try|trying) again tomorrow",
        rf"wave (?:- )?off{_END}",
    ),
    _trigger(
        RECYCLE, "certain", (*_CLOCKS, "recycl", " t "),
        rf"recycl(?:e|ed|es|ing)(?: {_CLOCK})?(?: back)?(?: to)?",
        rf"{_CLOCK}{_BE}?(?:being )?(?:re)?(?:set|turned|moved|put|taken|rolled|wound) back(?: to)?",
        rf"{_CLOCK}{_BE}?(?:recycled)(?: to)?",
        rf"(?:set|setting|turn|turned|turning|mov(?:e|ed|ing)|put|putting|take|took|taking|roll|rolled|rolling|wind|winding|wound) {_CLOCK} back(?: to)?",
        rf"(?:reset|resetting) {_CLOCK} to",
        rf"{_CLOCK}{_BE}?(?:reset|being reset)(?: to)?",
        r"(?:go|going|gone|went|backing up|backing out|back up|backed up|backed out|return|returning|returned)(?: back)? to(?= t (?:-|minus))",
        r"(?:roll|rolled|rolling|turn|turned|turning|set|setting|step|stepping) back to(?= t (?:-|minus))",
    ),
    _trigger(
        RECYCLE, "likely", (*_CLOCKS, " t "),
        rf"{_CLOCK}{_BE}?(?:re)?set(?: to| at)?(?= t | minus )",
        r"(?:we are|we're|now|clock|count) back to(?= t (?:-|minus))",
        r"^(?P<lead>(?:\w+ ){0,3}(?:, )?)back to(?= t (?:-|minus))",
    ),
    _trigger(
        CUTOFF, "certain", ("cut", "abort", "sequence"),
        r"cut ?-? ?off(?:(?: ,)? cut ?-? ?off)*(?! (?:valve|sensor|switch|time|date|point|criteria|test|check|box|relay))",
        r"abort(?:ed|ing)?(?:(?: ,)? abort)*(?! (?:system|motor|criteria|tower|rules?|limits?|monitor|light|switch|panel|gate|line|logic|test|check|handle|button|command check|modes?|advisory|channel|loop|region|zone|plan|procedure|board))",
        r"sequencer? (?:has )?(?:stopped|terminated|halted)",
    ),
    _trigger(
        LIFTOFF, "certain", ("lift", "first motion"),
        r"lift ?-? ?off(?! (?:time|tower|pin|umbilical|switch|weight|disconnect|plate|indication check|signal check|sensor))",
        r"we have (?:a )?lift",
        r"first motion",
    ),
    _trigger(
        LIFTOFF, "likely", ("release", "drop", "0", "zero", "l / o", "away", "airborne", "flying", "she's", "off the", "left the", "cleared the", "clear of the"),
        r"t (?:- |minus )?(?:0|zero)",
        r"t0",
        r"l / o",
        rf"{_FLYER}(?:'s| is)? (?:away|flying(?= [,.]|$))",
        r"she's (?:away|flying|off)(?= [,.]|$)",
        rf"{_FLYER}(?:'s| is| has)? (?:off|left|clear of|cleared) the (?:pad|rail|tower|launcher|stand|mount|ground|deck)",
        r"(?:00:)?00:00 (?:launch|ignition)",
        r"(?:we are|we're|is|she's|and) airborne",
        r"we have (?:a )?(?:clean |good )?(?:release|drop)(?! (?:of|in|on|to|out|from|valve|pressure|inhibit|the)\b)",  # a vehicle that is let go
        r"drop(?: ,)? drop(?: ,)? drop",
        r"release(?: ,)? release(?:(?: ,)? release)*",
    ),
    _trigger(
        HOLD, "certain", (*_CLOCKS, "hold", "held"),
        r"hold(?: ,)? hold(?:(?: ,)? hold)*",
        rf"hold(?:ing)? {_CLOCK}",
        rf"{_CLOCK}{_BE}?(?:on |in |in a )?{_KIND}(?:hold|holding|held|holds)",
        rf"{_CLOCK}{_BE}?(?:stop|stopped|halted|frozen|stops|paused)",
        rf"(?:stop(?:ped|ping)?|halt(?:ed|ing)?|freez(?:e|ing)|froze|paus(?:e|ed|ing)) {_CLOCK}",
        rf"(?:we are|we're|we have|we've|are|now|currently|gone|going|went|go)(?: now| gone| going)? (?:in|into|on|entering|entered) {_A}{_KIND}hold",
        rf"enter(?:s|ing|ed)? {_A}{_KIND}hold",
        rf"(?:call(?:ed|ing|s)?|declar(?:e|ed|es|ing)|initiat(?:e|ed|es|ing)|request(?:ed|ing|s)?|need|calling for) {_A}{_KIND}hold",
        r"(?:we are|we're|now|are) holding",
        rf"{_KIND}hold (?:has |is |was |been |being )*(?:begins?|began|begun|start(?:s|ed)?|entered|entry|called|declared|initiated|in effect)",
        rf"(?:this is|start of|beginning|begin|began|begun|starting|into) {_A}{_KIND}hold",
        r"(?:a|is) (?:planned|scheduled) hold of(?= \d| \w+ minute)",
        r"this (?:(?:is|his|as) )?(?:\w+ )?(?:planned|scheduled|built - in) hold",
        r"hold(?:ing)?(?: point)? at(?= t | minus| l | - \d| \d)",
        r"hold(?: [,:-])?(?= t (?:-|minus))",
        r"holding(?= (?:at|for|due|because)\b)",
        rf"holding(?= {_READING})",
    ),
    _trigger(
        HOLD, "likely", (*_CLOCKS, "hold", "held"),
        r"(?:and|,) holding",
        rf"holding(?: \w+){{0,2}}(?= {_READING})",
        r"(?:t - |^)hold(?:ing)?(?= (?:due|because|for|at|per|by|-|,|:|\.|t )|$)",
        r"^(?P<lead>(?:\w+ ){0,2}(?:, )?)(?:built - in )?hold(?: ,| \.| :| -|$)",
        rf"{_KIND}hold(?= (?:for|due|because)\b)",
        r"(?:state|status|mode)(?: =| :| -| is)? (?:hold|holding|held)",
        r"(?:^|, )hold(?= \d+ (?:m|s|h)| (?:five|ten|fifteen|twenty|thirty) (?:m|s))",
        r"count(?:ing)? (?:- |to |= )hold(?:ing)?",
        r"(?:(?:old|whole|told|hole) )+hold",
        rf"(?:old|whole|told|hole) {_CLOCK}",
        r"hold(?: (?:old|whole|told|hole))+",
        rf"(?:we have|we've got|i have|i've got|there is|there's|got) an? {_KIND}hold",
        r"hold(?: it)? (?:here|there)",
        rf"(?<=:\d\d )hold(?:ing)?{_END}",
        rf"hold(?:ing)? at(?=(?: {_NUMBER}){{1,2}} (?:minutes?|seconds?)\b)",
        rf"{_WE} an? (?:un)?(?:planned|scheduled) hold",  # 'in' is soon lost
        rf"need to hold{_END}",
        r"holds at(?= t | minus| l )",
        r"hold at this time",
        rf"(?:give (?:me|us)|take) a {_KIND}hold",
    ),
)
# Words, one of which every trigger holds: most sentences are passed over by these alone.
MAYBE = word_set(
    "hold holds holding held resume resumed resumes resuming recycle recycled recycles recycling cut cutoff abort aborts aborted aborting scrub scrubs scrubbed "
    "scrubbing lift liftoff t t0 count countdown clock clk cd counts sequence sequencer stand standing stood called calling call done finished through first cancelled canceled "
    "abandoned postponed launch go going gone went backing back backed return returning returned vehicle away 00:00 00:00:00 again counting pick picked picking "
    "clock's count's countdown's today today's tonight tomorrow day night wave waved waving turnaround rehearsal attempt airborne release drop rocket bird missile booster stack balloon payload glider sled capsule probe drone knocking packing l flying she's rocket's bird's vehicle's missile's booster's")
# 'hold' and others as a thing or an act on the vehicle, not on the count.
NOT_THE_COUNT = re.compile(
    r"(?<!\w)(?:hold ?-? ?(?:downs?|short|pressure|point|points|off|one|on(?! my| t| the mark)|time|valve|arm|fire|your|my|(?:that|this)(?! is)|position|temperature|steady|back|fast|it|up|clamp|relay|open|close|closed|circuit)|"
    r"(?:pressure|tank|valve|temperature|vacuum|leak|level|altitude|position|flow|pump|brake|seal|relay|press) ?(?:- )?(?:hold|holding|held|holds)|holding (?:steady|pressure|nominal|good|well|tank|fast|brake|on|at \d+ (?:psi|bar|degrees|percent|volts)|"
    r"\w+ pressure|for you)|(?:hold|holding) (?:tank|\w+ at (?!t\b)\w+ (?:psi|bar|percent|degrees))|after hold|hold list|hold criteria|holds? (?:remaining|left)|recycl(?:e|ed|ing) (?:water|pump|the (?:pump|power|valve|breaker|computer|system|bus))|"
    r"lift ?- ?off (?:position|thrust)|lift (?:the|arm)|count rate|counts? per)(?!\w)")
