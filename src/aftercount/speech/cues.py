"""Does a sentence tell what happens now, or what will, would, did or should happen?

Conventions: `before` and `after` are the tokens on either side of the words in question, inside one sentence. A cue is one
of FUTURE, IF, PAST, QUESTION, QUOTED, DENIED, ROUGH; NOW is the opposite: words that say 'this very moment'.

It does not grade: marks and calls weigh the cues each in their own way.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.speech.numbers import is_number

FUTURE, IF, PAST, QUESTION, QUOTED, DENIED, ROUGH, NOW = "future", "if", "past", "question", "quoted", "denied", "rough", "now"

_BEFORE: dict[str, tuple[str, ...]] = {
    FUTURE: (
        "will", "we'll", "it'll", "they'll", "i'll", "you'll", "shall", "going to", "gonna", "expect", "expected", "expecting", "expects",
        "anticipate", "anticipated", "anticipating", "coming up", "coming down to", "coming by", "coming buy", "coming on", "coming to", "come up on", "up on", "upon", "get to", "get two", "upcoming", "approaching", "nearing", "planned for", "planned four", "planned at", "planned to", "is planned", "the planned hold", "our planned", "planning", "plan to",
        "plan is", "scheduled for", "scheduled at", "is scheduled", "scheduled to", "schedule", "about to", "ready to", "ready for", "prepare", "prepared", "preparing", "stand by to",
        "standing by for", "standing by to", "standby for", "stand by for", "waiting for", "wait for", "until", "till", "before", "prior to",
        "when we", "when you", "when the", "once", "next", "intend", "want to", "need to", "would like to", "like to", "due at", "due in", "target",
        "targeting", "hope to", "hoping", "towards", "toward", "on the way to", "head for", "heading for", "heading to", "away from", "short of", "looking at",
        "look to", "in about", "at which", "tomorrow", "later", "minutes to", "seconds to", "minutes from", "seconds from", "minute to", "minute from", "let me know",
        "advise when", "to be", "to bi", "to ba", "to bee", "to b", "two be", "too be", "tobe", "call at", "report at", "expect to", "ahead of", "estimate", "estimated", "pending",
    ),
    IF: ("if", "unless", "in case", "in the event", "should we", "should the", "would", "could", "might", "may", "assuming", "whether", "or else",
         "provided", "any", "suppose", "worst case", "otherwise"),
    PAST: ("since", "was", "were", "had", "had been", "earlier", "ago", "previous", "previously", "yesterday", "last", "back at", "after", "following",
           "did", "during", "working", "originally", "history", "recall", "remember", "in rehearsal", "back in", "first"),
    QUESTION: ("are we", "is the", "is that", "is it", "did", "did we", "do we", "have we", "what", "what's", "why", "when is", "when are", "how", "can we",
               "could we", "can you", "could you", "shall we", "where", "do you", "is this", "any chance", "request"),
    QUOTED: ("procedure", "per", "step", "says", "procedure reads", "it reads", "plan reads", "page", "paragraph", "calls", "callsfor", "called for", "plan has", "rule", "rules", "criteria", "briefing",
             "brief", "reviewing", "review", "example", "like", "defined", "definition", "means", "script", "book", "timeline"),
    DENIED: ("no", "not", "never", "don't", "do not", "won't", "isn't", "aren't", "without", "negative", "cancel", "disregard", "instead of", "rather than",
             "avoid", "no need", "belay", "rescind", "rescinded", "didn't", "haven't", "neither", "nor", "can't", "cannot", "wasn't"),
    ROUGH: ("about", "approximately", "around", "roughly", "just over", "just under", "just past", "nearly", "almost", "some", "less than", "more than",
            "inside", "just about", "coming on"),
    NOW: ("mark", "now at", "now", "we're at", "we are at", "at this time", "passing", "passed", "through", "on my mark", "time is", "count is", "clock is", "clock at",
          "clock reads", "currently", "standing at", "we are", "we're"),
}
_AFTER: dict[str, tuple[str, ...]] = {
    FUTURE: ("will", "we'll", "we will", "we stay", "stay there", "we expect", "they'll", "it'll", "i'll", "going to", "gonna", "we plan", "is planned", "are planned", "should", "shall",
             "when", "is when", "is next", "is where", "expect", "expected", "is expected", "is scheduled", "takes over", "upcoming", "call", "report", "be ready",
             "hold is", "built in hold", "hold point", "in about", "from now", "pick that", "pick it", "up again", "i want", "want a", "want status"),
    IF: ("if", "would", "could", "might", "may", "unless", "in case"),
    PAST: ("was", "were", "earlier", "yesterday", "ago", "had", "did", "last night", "last time"),
    QUESTION: ("?", "correct ?", "right ?"),
    QUOTED: ("the procedure", "checking the", "per", "in the plan", "per procedure"),
    DENIED: ("is off", "cancelled", "canceled", "negative", "not", "is not", "rescinded", "is rescinded"),
    NOW: ("mark", "and counting", "and holding"),
}


def _index(table: dict[str, tuple[str, ...]]) -> dict[str, tuple[tuple[str, tuple[str, ...]], ...]]:
    """First word -> the (cue, words) that begin with it."""
    out: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
    for cue, phrases in table.items():
        for phrase in phrases:
            parts = tuple(phrase.split())
            out.setdefault(parts[0], []).append((cue, parts))
    return {word: tuple(entries) for word, entries in out.items()}


_BEFORE_AT, _AFTER_AT = _index(_BEFORE), _index(_AFTER)


def _found(tokens: Sequence[str], index: dict[str, tuple[tuple[str, tuple[str, ...]], ...]]) -> set[str]:
    out: set[str] = set()
    for at, token in enumerate(tokens):
        for cue, parts in index.get(token, ()):
            if len(parts) == 1 or tuple(tokens[at:at + len(parts)]) == parts:
                out.add(cue)
    return out


def cues(before: Sequence[str], after: Sequence[str]) -> set[str]:
    """The cues on either side of the words in question."""
    return _found(before, _BEFORE_AT) | _found(after, _AFTER_AT)


_SOON = frozenset(("shortly", "soon", "momentarily"))


def in_a_while(after: Sequence[str]) -> bool:
    """'... in two minutes', '... in about ten seconds', '... shortly'."""
    if after[:1] and after[0] in _SOON:
        return True
    for i, token in enumerate(after[:4]):
        if token == "in" and any(is_number(t) or t in ("a", "another") for t in after[i + 1:i + 3]):
            return True
    return False
