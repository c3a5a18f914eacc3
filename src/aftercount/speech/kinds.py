"""What kind of utterance is this: an order, an answer, a report, a mark, a call on the count, a poll, or a remark?

Conventions: kinds are call, response, report, mark, hold, resume, recycle, cutoff, scrub, liftoff, poll, note. A firm call
on the count wins; then a count reading with little else; then the manner of the words.

It does not decide which step an order or a report belongs to.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from aftercount.speech.address import Address, led_up
from aftercount.speech.calls import Call
from aftercount.speech.marks import DOUBTFUL, Mark
from aftercount.speech.stepheads import step_head
from aftercount.speech.words import PUNCTUATION
from aftercount.speech.wordsets import word_set

COUNTED_TO_WORDS = 4  # at most so many words behind a reading say what is counted down to ('T minus forty to the drop box')
MARK_OTHER_WORDS = 1  # words beside the reading that a mark may have and still be only a mark
GO_AND_DO = 3  # words at least: 'go open it'
SHORT_ANSWER = 6  # words: an answer is short
LONG_ANSWER = 10  # words: an order read back is no longer
PARTICIPLE_LETTERS = 5  # 'need', 'speed', 'bring' are no participles
_STATES = frozenset(("open", "closed", "shut", "on", "off", "live", "up", "down", "clear", "secure", "green", "stable", "steady", "armed", "safe", "out"))
_PARTICLES = frozenset(("on", "off", "up", "down", "out"))  # states that may be the other half of a verb ('power on')
_ORDER = {"recycle": 0, "scrub": 1, "cutoff": 2, "liftoff": 3, "resume": 4, "hold": 5}
_MARK_FILLER = word_set("and counting holding mark t minus plus the at is now this we are we're l a in to go launch liftoff lift off control count clock all stations on my for "
    "remaining until time county hundred coming up")
_DONE = re.compile(
    r"\b(?:complete[ds]?|completion|verified|confirmed|secured?|closed|opened|is (?:open|on|off|closed|armed|safe|internal|enabled|nominal|ready|green|up|down|clear|running|set)|"
    r"finished|done|in progress|underway|under way|started|enabled|disabled|armed|safed|loaded|retracted|removed|installed|disconnected|connected|cleared?|evacuated|"
    r"nominal|stable|steady|achieved|established|released|pressurized|pressurised|vented|purged|chilled|aligned|reports?|reported|looks good|are go|is go|has been|have been|"
    r"on internal|running|good|detected|passed|failed)\b")
_ANSWER = re.compile(
    r"^(?:aye|copy|copies|copied|roger|rog|(?:yep|yup|sure(?: thing)?)$|wilco|affirm\w*|negative|in work|working|go ahead(?! (?:and|with))|understood?|understands?|acknowledge[ds]?|ack|ok|okay|yes|no(?= (?:go|sir|joy|we|i|it|that|not|negative|\w+$)|$)|that's affirm\w*|will do|"
    r"(?:(?:we're|we are|i'm) )?on it|doing (?:that|it|so)(?: now|$)|stand ?by|standing by|say again|go(?: for (?:launch|flight))?$|no go|ready|thank you|thanks|loud and clear|in 3|read you)\b")
_ASK = re.compile(r"^(?:please |you(?:'re| are) (?:go(?: to| for)|clear(?:ed)? to) |go for |proceed|begin|start|open|close|verify|confirm|perform|initiate|report|give me|arm|safe|enable|disable|set|switch|"
                  r"transfer|load|stop|secure|execute|configure|clear|evacuate|press|pressurize|vent|purge|chill|remove|install|retract|extend|connect|disconnect|check|"
                  r"power|turn|commence|terminate|select|run|move|bring|release|isolate|drain|top|poll|monitor|ensure|complete(?! (?:here|now|at|on|and|with|for|in|over|there|thanks?|as|by|up|down|so|sir|good|no)\b|$)|activate|ignite|command|go ahead (?:and|with)|you have a go|you have go|send|swing|calibrate|align|test|uncover|unlatch|unlock|insert|inject|inspect|energi[sz]e|equali[sz]e|analy[sz]e|traverse|acquire|recover|"
                  r"(?:charge|raise|lower|fill|ramp|put|take|get|pull|cycle|exercise|step|insert|roll|pulse|bleed|chill|warm|heat|cool|spin|engage|deploy|stow|bring|drop|lift|pump|flush|sample|"
                  r"inspect|sweep|record|tune|lock|unlock|unlatch|latch|shut|measure|give|update|upload|dial|energize|energise|pressurise) (?:the|your|all|both|up|down|in|me|us))\b(?!')")
_GO_ON = re.compile(r"^go ahead (?:an )?")  # 'go ahead, TC' answers; 'go ahead, open the vent' orders
# What leaves an act to who is told; who performs steps says it of himself ('cleared to load').
_LEAVES_TO = re.compile(r"^(?:(?:again|and|then) )?(?:you(?:'re| are) )?(?:cleared to|you (?:can|may)(?: now)?) (?!see|hear|tell|expect|note|say|have|be|disregard|ignore|stand|go\b)\w{2,}")
_GIVEN = re.compile(r"^you are (?:go(?: to| for)|clear(?:ed)? to) ")  # 'you are go to open the vent' tells no state
_NO_PARTICIPLES = frozenset(("proceed", "exceed", "succeed", "indeed", "hundred"))
# What is asked of a station that is named, though no question mark was written.
_QUESTION = re.compile(r"^(?:(?:is|are|do|does|did|have|has|can|could|will|would|may|might|shall) (?:the|your|you|we|i|all|both|there|any\w*)|what(?:'s| is| are)|where|when|how(?:'s| is| are| many| much| long)|who|any(?:one|body|thing)?) ")
# What leads up to an order and leaves the moment to who is told: it is an order all the same. 'Report when you are ready to load' is none.
INVITES = re.compile(
    r"\b(?:when ?ever (?:you(?:'re| are|r)?|your?) ready|(?<!report )(?<!call )(?<!know )(?<!me )(?<!us )(?<!advise )when (?:you(?:'re| are) |your )?(?:ready|able)(?! (?:to|for)\b)|at your convenience|"
    r"ready for (?:the |your )?next (?:step|item|one)(?! ?\?))\b[ ,.]*")
_AHEAD = ("coming", "up", "on")  # of what comes next
_YES = word_set("yeah yep yup")  # says little before what is said
_HEAD_DONE = word_set("complete completed done finished verified closed is")
_ACCEPTED_LAST = word_set("roger wilco aye copied")
_ASKED_LAST = word_set("how you do")
_TELLS = word_set("is are was were has have")
_SEES = _TELLS | word_set("see show shows showing i we i've we've it's that's")
_ARTICLES = word_set("the a an your all both")
_ASKS_STATE = word_set("verify confirm check ensure report monitor")
_IS = frozenset(("is", "are", "it's", "that's"))
_POLL = re.compile(r"\b(?:(?:going |go )?(?:a?round) (?:the )?(?:room|horn|circle|table|loop|net|consoles?|stations?)|go ?[/-]? ?(?:slash |or )?no ?[- ]?go|poll(?:ing)?|readiness (?:check|roll)|roll call|status check|(?:are we|are you|your) go for|give me (?:a |your )?go)\b")


class Ranks(NamedTuple):
    """Who calls for steps of the plan, and from whom: `pairs` of (station that calls, station that performs)."""

    callers: frozenset[str]
    pairs: frozenset[tuple[str, str]]

    def orders(self, address: Address) -> bool:
        """Whether one who calls for steps speaks to one who performs them for it, or calls for none."""
        said = (address.speaker or "", address.to or "")
        if not all(said) or said[0] not in self.callers:
            return False
        return said[1] not in self.callers or (said in self.pairs and said[::-1] not in self.pairs)


def kind_of(ranks: Ranks, tokens: Sequence[str], address: Address, calls: Sequence[Call], marks: Sequence[Mark], medium: str) -> str:
    firm = [c for c in calls if c.grade != DOUBTFUL]
    if firm:
        return min(firm, key=lambda c: _ORDER[c.what]).what
    body = _plain(tokens[address.body:address.stop])
    if any(m.grade != DOUBTFUL or m.form == "single" for m in marks) and _only_mark(tokens, address, marks):
        return "mark"
    said = " ".join(body)
    if said == "mark":
        return "mark"
    if medium == "machine":
        return "report" if _DONE.search(said) else "note"
    if _POLL.search(said):
        return "poll"
    rest = _below_head(tokens, address)
    asks = "?" in tokens[address.body:] or (address.to is not None and bool(_QUESTION.match(" ".join(_plain(rest)) if rest else said)))
    if rest is not None and medium == "speech":
        return _read_out(rest, address, ranks, asks)
    callers = ranks.callers
    answers = address.speaker not in callers and (address.speaker is not None or address.to is None or address.to in callers)
    if answers and len(body) > 1 and body[-1] in _ACCEPTED_LAST and body[-2] not in _ASKED_LAST and address.stop == _end(tokens):
        return "response"  # 'open the vent, roger': the order read back; an order with its answer run into it has who ordered, or who answers at its end
    manner = _manner(body, address, ranks, asks)
    return manner or ("note" if medium == "typed" else _by_rank(address, ranks))


def _end(tokens: Sequence[str]) -> int:
    return next((i + 1 for i in range(len(tokens) - 1, -1, -1) if tokens[i] not in PUNCTUATION), 0)


def _below_head(tokens: Sequence[str], address: Address) -> list[str] | None:
    """The words under the number of the step that is read out; None when none is."""
    first = led_up(tokens, address.body)
    begins = step_head(tokens[:address.stop], first)
    if begins == first:
        return None
    while begins < address.stop and tokens[begins] in PUNCTUATION:
        begins += 1
    return list(tokens[begins:address.stop]) if begins < address.stop else None


def _read_out(rest: Sequence[str], address: Address, ranks: Ranks, asks: bool) -> str:
    """Words under a step's number: 'step nine complete' reports; what nobody or a caller of somebody reads out is an order, 'vent valve open' too."""
    if rest[0] == "complete" and not _ARTICLES.isdisjoint(rest[1:2]):
        return "call"  # 'step three, complete the check', but 'step three complete, the check was good'
    if rest[0] in _HEAD_DONE and not asks:
        return "report"
    if address.opening != 1 and (address.speaker is None or not ranks.callers or address.speaker in ranks.callers):
        return "call"
    plain = _plain(rest)
    return _manner(plain, address, ranks, asks) or _by_rank(address, ranks)


def is_order(tokens: Sequence[str], address: Address) -> bool:
    """Whether the words themselves order or ask, whoever says them; 'safe and arm is armed' tells a state, 'verify it is armed' asks for one."""
    body = [t for t in _below_head(tokens, address) or tokens[address.body:address.stop] if t not in PUNCTUATION]
    if "?" in tokens[address.body:] or "please" in tokens:
        return True
    said = " ".join(body)
    return bool(_LEAVES_TO.match(said)) or bool(_ASK.match(said)) and not _things(body) and (body[0] in _ASKS_STATE or _IS.isdisjoint(body))


def told_to_go(tokens: Sequence[str], address: Address) -> Address:
    """Who is told to go and do something ('PROP, go open the vent') does not answer go: the sign that leads is the one spoken to."""
    body = _plain(tokens[address.body:address.stop])
    if address.opening != 1 or address.speaker is None or address.to is not None or body[:1] != ["go"] or len(body) < GO_AND_DO:
        return address
    state = not _IS.isdisjoint(body) or body[-1] in _STATES - _PARTICLES or _participle(body[-1])  # 'go, vent valve closed'
    if body[1] == "for" or not _ASK.match(" ".join(body[1:])) or (state and body[1] not in _ASKS_STATE):
        return address
    return replace(address, speaker=None, to=address.speaker, body=address.body + 1)


def _things(body: Sequence[str]) -> bool:
    """Whether the first word names a thing though it could order: 'vent closed', 'purge is on', 'chill started', but not 'power on'."""
    told = body[1:2] and (body[1] in _TELLS or _participle(body[1]))
    return bool(told and body[0] != "you") or (len(body) == 2 and body[1] in _STATES - _PARTICLES)


def _participle(word: str) -> bool:
    return word.endswith("ed") and len(word) > PARTICIPLE_LETTERS and word not in _NO_PARTICIPLES


def is_bare(tokens: Sequence[str], address: Address) -> bool:
    """Whether a state is all that is said after one call sign: 'PROP, vent closed' orders it or tells it."""
    body = _plain(tokens[address.body:address.stop])
    told = not _SEES.isdisjoint(body) or any(_participle(w) and w not in _STATES for w in body)
    return address.opening == 1 and len(body) > 1 and body[-1] in _STATES and not told


def _by_rank(address: Address, ranks: Ranks) -> str:
    """Words of no clear manner: to a station that orders, a report, whoever says them if it takes no orders itself; from it, an order."""
    callers = ranks.callers
    if address.to is None:
        return "note"
    if address.opening == 0 and address.speaker is None and callers and address.to not in ("ALL", *callers):
        return "report"  # 'line pressure six bar, PROP': who ends with the name of one who takes orders signs it, as an order begins with it
    unnamed = address.speaker is None and all(by != address.to for _, by in ranks.pairs)
    if address.to in callers and (unnamed or (address.speaker is not None and address.speaker not in callers)):
        return "report"
    return "call" if address.speaker is None or address.speaker in callers or not callers else "note"


def _manner(body: Sequence[str], address: Address, ranks: Ranks, asks: bool) -> str | None:
    if not body:
        return "call" if address.to or address.speaker else "note"
    orders = ranks.orders(address)
    begins = led_up(body, 0) if orders else int(body[0] in _YES)
    body = body[begins:] or body  # 'okay, open the vent' from who orders answers nothing
    said = INVITES.sub("", " ".join(body)) or " ".join(body)
    asked = bool(_ASK.match(said) or ((go_on := _GO_ON.match(said)) and _ASK.match(said[go_on.end():])))
    answers = bool(_ANSWER.match(said)) and not (asked and said.startswith("go ahead"))
    wants = "please" in body or (orders and body[-1] in _STATES and _SEES.isdisjoint(body))  # 'vent closed please', 'beacon on'
    leaves = bool(_LEAVES_TO.match(said)) and (address.speaker is None or not ranks.callers or address.speaker in ranks.callers)
    again = led_up(body, 1) if orders and body[0] == "negative" else 0  # 'negative, I say again, open the vent'
    if asks or leaves or (wants and not answers) or (again and _ASK.match(" ".join(body[again:]))):
        return "call"
    if answers and len(body) <= SHORT_ANSWER:
        return "report" if _DONE.search(said) and not said.startswith(("copy", "roger")) and len(body) > 1 else "response"
    named = tuple(body[:2]) == ("this", "is")  # who calls follows, however badly heard
    tells = not orders and not named and not _IS.isdisjoint(body[1:-1]) and body[0] not in _ASKS_STATE and not _GIVEN.match(said)  # 'safe and arm is armed', 'fuel side is tight'
    if asked and not tells and not _things(body) and not said.endswith((" complete", " completed", " verified")):
        return "call"
    if _DONE.search(said) or any(map(_participle, body)) or body[-1] in _STATES:
        return "report"
    ahead = tuple(body[:3]) == _AHEAD
    doing = body[0].endswith("ing") and len(body[0]) > PARTICIPLE_LETTERS and len(body) <= LONG_ANSWER and not ahead
    if doing and not _TELLS.isdisjoint(body):
        return "report"  # 'firing key is in'
    if tells and not answers:
        return "report"
    if answers or (doing and not orders):
        return "response"  # 'opening the vent': the order read back; 'heading and roll' from who orders asks for them
    return None


def _plain(tokens: Sequence[str]) -> list[str]:
    return [t for t in tokens if t not in PUNCTUATION]


def _only_mark(tokens: Sequence[str], address: Address, marks: Sequence[Mark]) -> bool:
    spans = [(m.begin, m.end) for m in marks]
    spans += [(m.end, address.stop) for m in marks if tuple(tokens[m.end:m.end + 1]) == ("to",) and len(_plain(tokens[m.end:address.stop])) <= COUNTED_TO_WORDS]
    other = [
        t for i, t in enumerate(tokens)
        if address.body <= i < address.stop and t not in PUNCTUATION and t not in _MARK_FILLER and not any(a <= i < b for a, b in spans)
    ]
    return len(other) <= MARK_OTHER_WORDS
