"""What words of this trade mean whatever the plan: word forms, abbreviations, like and opposite meanings, near misses.

Question answered: which two written words can stand for one, which can't stand for each other, and which phrases say that
a thing was *not* done. Conventions: everything is lower case; a *stem* is a word without its endings.
It does not decide what a word is worth in a given plan: see `lexicon`.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

# Spellings of one word: -ise for -ize after a consonant, -our for -or.
_BRITISH = (re.compile(r"(?<=[b-df-hj-np-tv-z])is(?=(?:e|ed|es|er|ers|ing|ation|ations)$)"), re.compile(r"(?<=\w{3})our(?=s?$)"))
_IRREGULAR = {
    "began": "begin", "begun": "begin", "went": "go", "gone": "go", "ran": "run", "held": "hold", "sent": "send", "gave": "give",
    "given": "give", "took": "take", "taken": "take", "left": "leave", "lit": "light", "brought": "bring", "made": "make", "bled": "bleed",
    "fed": "feed", "spun": "spin", "drawn": "draw", "drew": "draw", "blown": "blow", "blew": "blow", "done": "complete", "swung": "swing",
    "finished": "complete", "completed": "complete", "completion": "complete", "ok": "okay", "shut": "close", "shutting": "close",
    "laid": "lay", "lain": "lay", "kept": "keep", "built": "build", "slid": "slide", "swept": "sweep", "stood": "stand", "broken": "break", "driven": "drive",
    "frozen": "freeze", "chosen": "choose", "flown": "fly", "thrown": "throw", "written": "write", "stuck": "stick",
    "safely": "safe", "readiness": "ready", "said": "say", "risen": "rise", "rose": "rise", "shown": "show", "fell": "fall", "fallen": "fall",
}
# Nouns that look like forms of a verb: the terminal count terminates nothing.
_NO_FORMS = frozenset(["terminal", "termination"])
# Stems of one word that the stemmer keeps apart.
_SAME_STEM = {"pressur": "press", "verif": "verifi", "closur": "close", "clearanc": "clear", "initializ": "initi"}

# Written short forms people type, beside those found by shape (see likeness.abbreviates).
ABBREVIATIONS = {
    "vlv": "valve", "vlvs": "valve", "xfer": "transfer", "xfr": "transfer", "chk": "check", "ck": "check", "chkd": "check",
    "cmd": "command", "pwr": "power", "batt": "battery", "bat": "battery", "int": "internal", "ext": "external", "eng": "engine",
    "cmpl": "complete", "cplt": "complete", "compl": "complete", "comp": "complete", "cmplt": "complete", "cmp": "complete",
    "stg": "stage", "sw": "switch", "sys": "system", "hyd": "hydraulic", "pneu": "pneumatic", "elec": "electrical", "wx": "weather",
    "tlm": "telemetry", "tm": "telemetry", "xmtr": "transmitter", "rcvr": "receiver", "grd": "ground", "gnd": "ground",
    "veh": "vehicle", "prop": "propellant", "recirc": "recirculation", "disc": "disconnect", "cal": "calibrate",
    "conf": "confirm", "cfm": "confirm", "cfmd": "confirm", "vfy": "verify", "verif": "verify", "ver": "verify", "pri": "primary", "sec": "secondary", "bkup": "backup",
    "opn": "open", "opnd": "open", "clsd": "close", "cls": "close", "cl": "close", "pressn": "press", "pressd": "press", "pzn": "press",
    "auto": "automatic", "seq": "sequence", "init": "initiate", "nom": "nominal", "evac": "evacuate",
    "qty": "quantity", "lvl": "level", "temp": "temperature", "rtn": "return", "retr": "retract", "ign": "ignite", "igntr": "igniter",
    "o2": "oxygen", "n2": "nitrogen", "he": "helium", "h2": "hydrogen", "o'board": "overboard", "w/": "with", "topg": "topping",
    "lo": "low", "hi": "high", "fwd": "forward", "upr": "upper", "lwr": "lower", "mech": "mechanical",
}
LETTERS = {"alpha": "a", "alfa": "a", "bravo": "b", "charlie": "c", "delta": "d", "echo": "e", "foxtrot": "f"}
ROMAN = {"ii": "2", "iii": "3", "iv": "4"}
ORDINALS = {"first": "1", "1st": "1", "second": "2", "2nd": "2", "third": "3", "3rd": "3", "fourth": "4", "4th": "4"}

# Words that carry no step: grammar, courtesy and procedure words of the loop. They are never evidence unless a plan's step
# is nothing but such words.
STOP = frozenset(
    ["a", "an", "the", "of", "to", "for", "at", "on", "in", "is", "are", "was", "be", "been", "being", "and", "or", "by", "with", "from", "that", "this", "it", "its", "we", "i", "you", "they", "he", "she", "will", "would", "have", "has", "had", "do", "does", "did", "as", "all", "now", "our", "your", "their", "please", "ok", "okay", "roger", "copy", "copied", "wilco", "affirm", "affirmative", "over", "out", "go", "ahead", "um", "uh", "er", "ah", "well", "so", "just", "here", "there", "then", "than", "into", "onto", "per", "via", "s", "t", "minus", "plus", "count", "net", "channel", "loop", "this's", "sir", "step", "item", "task", "procedure", "reports", "report", "reported", "reporting", "say", "says", "said", "again", "stand", "by", "standby", "standing", "work", "understand", "understood", "thank", "thanks", "let's", "lets", "let", "us", "me", "my", "can", "could", "should", "shall"])
# Acts whose words tell nothing one by one.
ACTS = ("net check", "loop check", "channel check")
# Words that say how a step stands, not which step it is; evidence only when the plan's own steps use them.
PROGRESS = frozenset(["complete", "work", "nominal", "good", "progress", "proceed", "acknowledge", "expect", "perform", "conduct", "execute", "confirm", "verify", "check"])

LIKE = (  # words that may stand for each other in a report of the same act
    "start begin commence initiate", "stop end terminate cease halt secure cutoff discontinue", "complete finish conclude",
    "verify confirm check validate", "close shut seal isolate", "open unlock crack", "enable activate energize",
    "disable inhibit deactivate lockout", "retract withdraw pull", "extend deploy", "load fill tank tanking fuel", "load upload uplink", "last final", "drain offload detank empty",
    "chill cool chilldown cooldown precool", "press pressurant", "vent relieve bleed depress blowdown", "disconnect demate detach unplug unhook separate release",
    "connect mate attach hook plug", "evacuate clear vacate depart leave", "personnel crew people staff team", "switch transfer changeover swap",
    "command order direct", "power energize battery", "remove pull extract", "install fit insert", "align configure set setup position", "ignite light fire ignition",
    "top topping replenish topoff", "calibrate zero", "test checkout check exercise", "swing slew move", "flow purge flush sweep", "weather wind meteorology",
    "telemetry data downlink", "fast rapid", "slow trickle", "poll readiness", "arm enable", "safe disarm inhibit", "engine motor", "vehicle rocket booster launcher",
    "recorder recording record tape", "steering gimbal tvc", "nitrogen gn2", "helium ghe", "sample sniff analyze", "lock latch", "unlock unlatch release",
    "monitor watch", "count countdown clock", "automatic auto", "guidance navigation", "flood deluge water", "roll rotate", "report announce", "raise erect lift", "lower recline",
)
OPPOSITE = (  # words of different groups on one line contradict each other; words of one group don't
    ("open unlock unlatch", "close shut seal lock latch isolate"), ("start begin commence initiate", "stop end terminate cease halt secure"),
    ("on", "off"), ("enable activate energize arm", "disable inhibit deactivate safe disarm"), ("internal", "external ground"),
    ("extend deploy", "retract withdraw"), ("connect mate attach", "disconnect demate detach"), ("load fill tank", "drain offload detank"),
    ("press", "vent depress relieve"), ("up raise", "down lower"), ("primary main prime", "backup secondary alternate redundant standby"),
    ("north", "south", "east", "west"), ("upper", "lower"), ("forward", "aft"), ("bow", "stern"), ("front", "rear"), ("left port", "right starboard"), ("inboard inner", "outboard outer"),
    ("high", "low"), ("increase", "decrease reduce"), ("hot warm heat", "cold chill"), ("lox oxygen oxidizer oxidiser", "fuel methane kerosene rp1 hydrogen lh2 ch4"),
    ("nitrogen gn2", "helium ghe"), ("inlet", "outlet"), ("fast", "slow"), ("install insert", "remove extract"), ("go", "nogo"), ("supply", "return"),
    ("start begin commence initiate", "complete finish"), ("transmit transmitter", "receive receiver"), ("enter arrive", "leave depart"),
)

NOT_DONE = re.compile(
    r"\b(not (on|at|complete|done|doing|applicable|required|needed|performed|open|close|in|ready|show|see|get|go|able|confirm|verif|start|there|good|work|to)\w*|not (been|being) \w{2,}|not (\w{2,}ed|begun|shut|set|run|cut|put|sent|taken|given|brought|swung|drawn|sprung|blown|built|spun|lit)|yet|negative|unable|"
    r"stan[dt] ?\w{2,3} (for|to|on|two|too|2|four|4)|standing by (for|to)|hold off|disregard|do not|don.?t|never|fail(s|ed|ure)?|cannot|can.t|"
    r"haven.?t|hasn.?t|isn.?t|aren.?t|wasn.?t|weren.?t|didn.?t|won.?t|no joy|no indication|still waiting|waiting (on|for)|wait (on|for|one)|aborted|abort(?= (the|that|this|it|on)\b|\W*$|[,.;!])|cancel\w*|incomplete|belay|"
    r"delayed?|without|pending|skip(ped|ping|s)?|omit(ted|ting|s)?|(delet|waiv)(e|ed|es|ing))\b")
NOT_NOW = re.compile(
    r"\b(will(?! (do|comply)\b)( be)?|going (to|two|too)|about to|coming up|upcoming|next (up|is|step|item|\w+ is)|item is|prepar\w+ (to|for)|ready (to|for)|get ready|be ready|when (we|you|ready|the|i)|"
    r"once|until|if|expect\w*|planned|plan to|scheduled|reminder|remind\w*|look(ing)? ahead|in ?about\w*|about \w+ (min|sec|hour)\w*|in (\d+|one|two|three|four|five|six|seven|eight|nine|ten|fifteen|twenty|thirty|some|a few|a couple of) (more )?(min|sec)\w*|in an? (minute|moment|second|while|bit)|(was|were|ran) late|minutes? (to|until|from|out)|"
    r"seconds? (to|until|from)|before|after (that|the|we|this)|after (\w+ ){2,8}(we|you|they) (go|will|then|can|do|move|start|take)|(we|you|then) go (straight|right|directly) (to|on)|(has|have|needs?|ought) to (come|go|happen|wait)|later|yesterday|last (time|night|rehearsal|count|week|month|year|run|attempt|campaign)|previous(ly)?|earlier|review\w*|"
    r"question|did (you|we)|(did|has|have|is|are) (any|some)(one|body|thing)|(?<!what )have (you|we)|should|would|anticipat\w*|estimat\w*|brief\w*|talk\w*|discuss\w*|"
    r"heads up|we ll|we'll|i ll|i'll|you ll|you'll|let me know|call me|trouble\w*|look(ing)? (at|into|good for)|"
    r"i (can )?(remember|recall)|as (i|we) (said|say|told|mentioned)|said (before|earlier|already)|(to )?recap(ping)?|(was|were) .{2,40}\bat (t|tee|tea|minus|plus)\b|((a|the) )?(little )?(while|minutes|hours|days|weeks|some time) (ago|back)|is behind us|on the dry run|for an? (scrub|abort|recycle))\b")

# Short words of these that recognition puts for others it did not make out: in garbled talk one of them alone says little.
MISHEARD = frozenset(["never", "if", "once", "until", "before", "should", "would", "talk", "look", "note", "slow", "always", "without"])
# A reading of the count tells the time and nothing of a step, though it is so many minutes 'to' something.
COUNT_READING = re.compile(r"\bminus(?:(?: \w+){1,4}? (?:hours?|minutes?|seconds?)){1,3}(?: (?:to|until|from) \w+)?")

# How a call for a step to come begins, or talk about one, for texts in which recognition garbled it.
LEAD_INS = ("stand by", "stand by for", "stand by to", "standing by to", "coming up on", "next item is", "item is", "next up is", "next then is", "are we ready to", "be ready to",
            "prepare to", "not yet on", "no change on", "hold off on", "negative on", "negative do not", "a little later", "planned for later",
            "we will be ready", "we go straight to", "has to come before", "where are we with", "as i said before", "i am expecting to", "next will be", "before i say so")
# Two of them with one half misheard: 'spend by to', 'camera up a on', 'coming the hope on'. No order is worded so.
HALF_LEAD_INS = re.compile(r"\b(?:s\w{3,5} by (?:to|for|two|four) |stand \w{2,5} (?:to|for) |c\w{4,6} up (?:a |the |uh )?on |coming (?:\w+ ){1,2}on )")
# What is said as often and only looks like one of them.
NO_LEAD_INS = frozenset(["pressureto"])
# What is said while looking for words; it parts what belongs together ('stand by um to').
HESITATIONS = frozenset(["um", "uh", "er", "ah", "erm", "hm", "hmm"])
# How a poll ends; what else is said of one calls it.
POLL_ENDS = ("completes the poll", "concludes the poll", "poll is complete", "poll complete", "all stations are go")

# What a caller says who has had no answer: it orders nothing, and answers nothing.
CHASING = re.compile(
    r"\b(?:did you ?(?:get|copy|hear|catch|receive)|(?:do|can) you (?:copy|read|hear)\b|how (?:do you )?copy\b|(?:are )?you (?:with me|there|on the (?:loop|net))\b"
    r"|(?:anything|any (?:word|news)) (?:yet|on|from)\b|where are we\b|waiting (?:on|for) you\b|how's (?:it|that) (?:coming|going)\b|how (?:are you|is (?:it|that)) (?:coming|doing|going|getting)\b)", re.IGNORECASE)

# Talk about the loop itself, and a keeper's remark on his entry: nothing was done.
OF_THE_LOOP = re.compile(
    r"\b(?:(?:radio|comm|comms|voice|mike|mic) check|loud and clear|late entry|(?:get|getting|got|have|having|hear|hearing) (?:a |an |some |your )?(?:bad |loud )?(?:echo|feedback)"
    r"|(?:mike|mic|microphone)(?: is|'s) (?:open|hot|stuck|keyed|live|on)|(?:open|hot|stuck|keyed) (?:mike|mic|microphone)"
    r"|you(?: are|'re) (?:breaking up|broken|unreadable|garbled|weak)|(?:to|on) (?:the )?(?:other|wrong) (?:channel|loop|net|frequency))\b", re.IGNORECASE)

# How one asks how a thing is: of a step that wants to be told, that is the order; of any other, it is not the doing.
ASKED = re.compile(r"\b((?<!this )(?<!tis )(?<!his )(?<!thus )(?<!dis )(?<!these )is (the|that)|are (we|you|the)|any(one|body)|who( \w+)? has|who's got|status (of|on)|where (are|do) we( stand)? (with|on)|how are (we|you) doing (on|with))\b|^(is|are|has|did|does)(?! \w\b)(?= \w+ \w+)|\?")
ASKED_ABOUT = re.compile(r"\b(how ?(is|are|s)|how's|what ?(is|are|s)|what's|what have (you|we)|status (of|on)|where (are|do) we( stand)? (with|on))\b")
ABOUT = re.compile(
    r"\b(looks?|looking|seems?|watch(ing)?|monitoring|noisy|no change|question|steady(?! on\b)|same as|as before|yesterday|"
    r"trend\w*|keep an eye|still|always|usual\w*|slow|sluggish|a bit|notes?|noting|flicker(?:s|ed|ing)?|scratchy|(?:see|hear|have|get|got)(?:ing)? (?:some|a (?:bit|little)|lots? of|a lot of) noise|"
    r"(?:radio|comm|comms|voice) check|loud and clear)\b")
# How a state is reported: what a step that asks for it wants to hear, and talk about any other ('topping is nominal' for 'stop topping').
STATE = re.compile(
    r"\b(readings?|nominal|within limits|good data|\d+\.\d+|(level|temperature|temp|pressure|current|voltage|flow) \d+(\.\d+)? ?(pct|percent|%|bar|psi|a|v|c|k)(?!\w))")
ASKS_STATE = re.compile(r"\b(report|brief(ing)?|announce|give|verify|confirm|check|monitor|read(ings?)?|measure(ments?)?|watch|observe|inspect)\b")


@lru_cache(maxsize=65536)
def stem(word: str) -> str:
    """The word without its endings: opened, opening, open's -> open; pressurization, pressure, pressurize -> press."""
    word = word.removesuffix("'s")
    word = ABBREVIATIONS.get(word, word)
    word = _IRREGULAR.get(word, word)
    if not word.isascii() or not word.isalpha() or word in _NO_FORMS:
        return word
    for british, plain in zip(_BRITISH, ("iz", "or"), strict=True):
        word = british.sub(plain, word)
    bare = _stemmer().stemWord(word)
    return _SAME_STEM.get(bare, bare)


@lru_cache(maxsize=1)
def _stemmer() -> Any:
    from Stemmer import Stemmer

    return Stemmer("english")


def _stems(words: str) -> frozenset[str]:
    return frozenset(stem(word) for word in words.split())


LIKE_STEMS: tuple[frozenset[str], ...] = tuple(_stems(group) for group in LIKE)
MEASURE_STEMS: frozenset[str] = _stems("psi psia psig bar bars mbar kpa percent pct degree degrees volts amps km kilometres meters metres feet inches knots kilobits hertz kilohertz megahertz ppm rpm kg kilos litres gallons celsius kelvin")
OPPOSITE_STEMS: tuple[tuple[frozenset[str], ...], ...] = tuple(tuple(_stems(g) for g in groups) for groups in OPPOSITE)
STOP_STEMS: frozenset[str] = STOP | frozenset(stem(word) for word in STOP)
PROGRESS_STEMS: frozenset[str] = frozenset(stem(word) for word in PROGRESS)
