"""What words of this trade mean whatever the plan: word forms, abbreviations, like and opposite meanings, near misses.

Question answered: which two written words can stand for one, which can't stand for each other, and which phrases say that
a thing was *not* done. Conventions: everything is lower case; a *stem* is a word without its endings.
It does not decide what a word is worth in a given plan: see `lexicon`.
"""

from __future__ import annotations

import re
from functools import lru_cache

MIN_STEM = 3  # letters: a shorter rest is no longer recognisable as the word
LONG_STEM = 5  # letters: from here a Latin '-at-' or '-ur-' is an ending too (isolat-ion, press-ur-ize)

# Longest first: an ending is taken off once, and only if MIN_STEM letters stay.
_ENDINGS = (
    "ifications", "ification", "izations", "ization", "isations", "isation", "izing", "ising", "ations", "ation",
    "ments", "ment", "ized", "ised", "izes", "ises", "ures", "ings", "ions", "ates", "ated", "ize", "ise",
    "ure", "ate", "ing", "ion", "ies", "ied", "ers", "ed", "es", "er", "or", "s", "e", "y",
)
_KEEP = frozenset((
    "this", "is", "was", "has", "gas", "bus", "chess", "press", "minus", "status", "mass", "class", "water", "power", "tower",
    "computer", "motor", "sensor", "other", "over", "under", "after", "upper", "lower", "inner", "outer", "number", "order",
    "every", "ready", "battery", "primary", "secondary", "safety", "supply", "telemetry", "seven", "one", "three", "five", "nine",
    "second", "seconds", "minute", "minutes", "string", "ring", "wing", "fire", "engine", "line", "the", "are", "red", "feed", "bleed",
    "speed", "need", "bed", "led", "vapor", "vapour", "filter", "heater", "header", "fuse", "phase", "base", "case", "site", "range",
))
_IRREGULAR = {
    "began": "begin", "begun": "begin", "went": "go", "gone": "go", "ran": "run", "held": "hold", "sent": "send", "gave": "give",
    "given": "give", "took": "take", "taken": "take", "left": "leave", "lit": "light", "brought": "bring", "made": "make", "bled": "bleed",
    "fed": "feed", "spun": "spin", "drawn": "draw", "drew": "draw", "blown": "blow", "blew": "blow", "done": "complete",
    "finished": "complete", "completed": "complete", "completion": "complete", "ok": "okay", "off": "off", "set": "set", "shut": "close",
    "batteries": "battery", "supplies": "supply", "valves": "valve", "verified": "verify", "verifying": "verify", "verifies": "verify",
    "verification": "verify", "closure": "close", "opening": "open", "shutting": "close", "vented": "vent", "depress": "depress",
    "ignition": "ignite", "arming": "arm", "armed": "arm", "arms": "arm", "safed": "safe", "safing": "safe", "safely": "safe",
    "pressurant": "pressurant", "engines": "engine", "lines": "line", "computers": "computer", "motors": "motor", "sensors": "sensor",
    "heaters": "heater", "filters": "filter", "powered": "power", "powering": "power", "towers": "tower", "readiness": "ready",
    "readied": "ready", "fired": "fire", "firing": "fire", "phases": "phase", "sites": "site", "cases": "case",
}

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
# Words that say how a step stands, not which step it is; evidence only when the plan's own steps use them.
PROGRESS = frozenset(["complete", "work", "nominal", "good", "progress", "proceed", "acknowledge", "expect", "perform", "conduct", "execute", "confirm", "verify"])

LIKE = (  # words that may stand for each other in a report of the same act
    "start begin commence initiate", "stop end terminate cease halt secure cutoff discontinue", "complete finish conclude",
    "verify confirm check validate", "close shut seal isolate", "open unlock crack", "enable activate energize",
    "disable inhibit deactivate lockout", "retract withdraw pull", "extend deploy", "load fill tank tanking fuel", "drain offload detank empty",
    "chill cool chilldown cooldown precool", "press pressurant", "vent relieve bleed depress blowdown", "disconnect demate detach unplug separate release",
    "connect mate attach", "evacuate clear vacate depart leave", "personnel crew people staff team", "switch transfer changeover swap",
    "command order direct", "power energize battery", "remove pull extract", "install fit insert", "align configure set setup position", "ignite light fire ignition",
    "top topping replenish topoff", "calibrate zero", "test checkout check exercise", "swing slew move", "flow purge flush sweep", "weather wind meteorology",
    "telemetry data downlink", "fast rapid", "slow trickle", "poll readiness", "arm enable", "safe disarm inhibit", "engine motor", "vehicle rocket booster launcher",
    "recorder recording record", "steering gimbal tvc", "nitrogen gn2", "helium ghe", "sample sniff analyze", "lock latch", "unlock unlatch release",
    "monitor watch", "count countdown clock", "automatic auto", "guidance navigation", "flood deluge water", "roll rotate", "report announce", "raise erect lift", "lower recline",
)
OPPOSITE = (  # words of different groups on one line contradict each other; words of one group don't
    ("open unlock unlatch", "close shut seal lock latch isolate"), ("start begin commence initiate", "stop end terminate cease halt secure"),
    ("on", "off"), ("enable activate energize arm", "disable inhibit deactivate safe disarm"), ("internal", "external ground"),
    ("extend deploy", "retract withdraw"), ("connect mate attach", "disconnect demate detach"), ("load fill tank", "drain offload detank"),
    ("press", "vent depress relieve"), ("up raise", "down lower"), ("primary main prime", "backup secondary alternate redundant standby"),
    ("north", "south", "east", "west"), ("upper", "lower"), ("forward", "aft"), ("left port", "right starboard"), ("inboard inner", "outboard outer"),
    ("high", "low"), ("increase", "decrease reduce"), ("hot warm heat", "cold chill"), ("lox oxygen oxidizer oxidiser", "fuel methane kerosene rp1 hydrogen lh2 ch4"),
    ("nitrogen gn2", "helium ghe"), ("inlet", "outlet"), ("fast", "slow"), ("install insert", "remove extract"), ("go", "nogo"), ("supply", "return"),
    ("start begin commence initiate", "complete finish"), ("transmit transmitter", "receive receiver"), ("enter arrive", "leave depart"),
)

NOT_DONE = re.compile(
    r"\b(not (complete|done|open|close|in|ready|show|see|get|go|able|confirm|verif|start|there|good|work|to)\w*|yet|negative|unable|"
    r"stan[dt] ?\w{2,3} (for|to|on|two|too|2|four|4)|standing by (for|to)|hold off|disregard|do not|don.?t|never|fail(s|ed|ure)?|cannot|can.t|"
    r"haven.?t|hasn.?t|isn.?t|wasn.?t|won.?t|no joy|no indication|still waiting|waiting (on|for)|wait (on|for|one)|abort(ed)?|cancel\w*|incomplete|belay|"
    r"delayed?|without|pending)\b")
NOT_NOW = re.compile(
    r"\b(will( be)?|going to|about to|coming up|upcoming|next (up|is|step|item)|item is|prepar\w+ (to|for)|ready (to|for)|get ready|be ready|when (we|you|ready|the|i)|"
    r"once|until|if|expect\w*|planned|plan to|scheduled|reminder|remind\w*|look(ing)? ahead|in about|about \w+ (min|sec|hour)\w*|in \d+ (min|sec)\w*|minutes? (to|until|from|out)|"
    r"seconds? (to|until|from)|before|after (that|the|we|this)|later|yesterday|last (time|night|rehearsal|count|week)|previous(ly)?|earlier|review\w*|"
    r"question|did (you|we)|have (you|we)|is (the|that)|are (we|you|the)|any(one|body)|should|would|anticipat\w*|estimat\w*|brief\w*|talk\w*|discuss\w*|"
    r"heads up|we ll|we'll|i ll|i'll|you ll|you'll|let me know|call me|trouble\w*|look(ing)? (at|into|good for))\b")

ABOUT = re.compile(
    r"\b(looks?|looking|seems?|watch(ing)?|monitoring|noisy|how (is|are|s)|what (is|are|s)|status (of|on)|no change|question|steady|same as|as before|yesterday|"
    r"trend\w*|reading|readings|keep an eye|still|always|usual\w*|slow|sluggish|a bit|notes?|noting|nominal|within limits|good data|\d+\.\d+)\b")


@lru_cache(maxsize=65536)
def stem(word: str) -> str:
    """The word without its endings: opened, opening -> open; pressurization, pressure, pressurize -> press."""
    word = ABBREVIATIONS.get(word, word)
    word = _IRREGULAR.get(word, word)
    if len(word) <= MIN_STEM or word in _KEEP or not word.isalpha():
        return word
    return _without_ending(word)


def _without_ending(word: str) -> str:
    for ending in _ENDINGS:
        rest = word[: -len(ending)]
        if word.endswith(ending) and len(rest) >= MIN_STEM and not (ending == "s" and rest.endswith("s")):
            break
    else:
        return word
    if ending.startswith("if") or ending in ("ies", "ied"):
        return rest + ("ify" if ending.startswith("if") else "")
    if len(rest) > MIN_STEM and rest[-1] == rest[-2] and rest[-1] not in "lsz":
        rest = rest[:-1]
    for latin in ("at", "ur", "iz", "er"):
        if len(rest) > LONG_STEM and rest.endswith(latin):
            rest = rest[:-2]
    return rest if len(rest) > MIN_STEM or rest[-1] != "e" else rest


def _stems(words: str) -> frozenset[str]:
    return frozenset(stem(word) for word in words.split())


LIKE_STEMS: tuple[frozenset[str], ...] = tuple(_stems(group) for group in LIKE)
OPPOSITE_STEMS: tuple[tuple[frozenset[str], ...], ...] = tuple(tuple(_stems(g) for g in groups) for groups in OPPOSITE)
STOP_STEMS: frozenset[str] = STOP | frozenset(stem(word) for word in STOP)
PROGRESS_STEMS: frozenset[str] = frozenset(stem(word) for word in PROGRESS)
