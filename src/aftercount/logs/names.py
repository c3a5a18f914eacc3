"""Who speaks to whom, by the head of an entry?

Samples:  PROP>TC tank press complete      PROP -> TC: in work      PROP to TC: in work      TC: go for step 4
          [PROP] in work      Test Conductor: hold      <PROP> in work      TC/PROP: radio check
Conventions: a name that the count knows (call sign or spoken form, any case) comes back as its call sign; others as
written. A head is taken as a name only if it looks like one: known, or in capitals, or repeated in the file; a word
such as NOTE or WARNING before a colon stays in the text.
It does not find call signs inside the words ('PROP, TC, go ahead'): `speech` does.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

# Heads with a colon that announce what follows and are nobody's name.
_NOT_NAMES = frozenset((
    "note", "notes", "nb", "warning", "caution", "status", "remark", "remarks", "comment", "comments",
    "action", "actions", "step", "steps", "item", "result", "results", "time", "date", "todo", "hold",
    "holding", "resume", "recycle", "scrub", "abort", "cutoff", "go", "nogo", "no-go", "complete",
    "completed", "summary", "question", "answer", "update", "info", "error", "alarm", "alert", "event",
    "log", "entry", "page", "re", "fyi", "ref", "eta", "etr", "t", "l", "t0", "t-0", "utc", "gmt", "local",
    "http", "https", "reason", "cause", "next", "plan", "planned", "actual", "expected", "observed",
    "reported", "correction", "attention", "subject", "agenda",
))
# What ends with one of these is said, not a name: 'RANGE NO GO - boat in the box'.
_SAID = frozenset(("go", "nogo", "no-go", "hold", "holding", "abort", "scrub", "cutoff", "complete", "completed"))
# A colon head in lower or title case counts as a name once the file uses it this often.
_REPEATED = 3
_LONGEST_NAME = 28
_NAME = r"[A-Za-z][\w./&'-]{0,23}(?: [A-Za-z0-9][\w./&'-]{0,15}){0,2}"
_ARROW = r" ?(?:->|=>|-->|>>?|\u2192|\u27a1|\u00bb) ?"
_AFTER = r"(?: ?[:,;|-](?=\s|$)| ?:)?\s*"
_WORD = r"[A-Za-z][\w./&'-]{0,23}"
_DIRECTED = re.compile(rf"(?P<who>{_NAME}){_ARROW}(?P<to>{_WORD}){_AFTER}")
# Several words before the colon are an addressee only when known or in capitals: `PROP>TC tank press: done` is to TC.
_DIRECTED_LONG = re.compile(rf"(?P<who>{_NAME}){_ARROW}(?P<to>{_WORD}(?: [A-Za-z0-9][\w./&'-]{{0,15}}){{1,2}})(?= ?:){_AFTER}")
_SPOKEN_TO = re.compile(rf"(?P<who>{_NAME}?) (?:to|TO) (?P<to>{_NAME}) ?:\s*")
_COLON = re.compile(rf"(?P<who>{_NAME}) ?:(?!\d|//)\s*")
_BOXED = re.compile(rf"[\[(<{{](?P<who>{_NAME})(?:{_ARROW}(?P<to>{_NAME}))?[\])>}}] ?[:-]?\s*")
_BARRED = re.compile(rf"(?P<who>{_NAME}) ?(?:\||\t| - | \u2013 | \u2014 )\s*(?:(?P<to>[A-Z][A-Z0-9./&-]{{0,11}}) ?[|\t]\s*)?")
# The voice loop, where a line tells it: '[NET 1] TC: ...', 'NET 2 | TC | ...'; but CHASE and CHEF are names.
_NET = re.compile(r"[\[(]?(?P<net>(?:net|loop|chan(?:nel)?|ch|circuit|ckt)(?:(?: |-| -)[A-Z0-9]{1,3}|\d[A-Z0-9]{0,2}|[A-Z](?![A-Z]))(?: [A-Z])?)(?:[\])] ?[:|-]?| ?[:|\t/]| - )\s*(?=\S)", re.IGNORECASE)
_CAPITALS = re.compile(r"[A-Z][A-Z0-9./&-]*(?: (?:[A-Z][A-Z0-9./&-]*|\d{1,3}))*")


class Head(NamedTuple):
    """Who and to whom, and where the words begin."""

    who: str | None
    to: str | None
    end: int
    net: str | None = None


_NOBODY = Head(None, None, 0)


def fold(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").split())


def known_names(stations: dict[str, tuple[str, ...]]) -> dict[str, str]:
    """Folded call sign or spoken form -> call sign. A call sign outranks another's spoken form."""
    found = {fold(form): sign for sign, forms in stations.items() for form in forms}
    found.update({fold(sign): sign for sign in stations})
    return found


class Names:
    """Reads heads with what the count and the file itself tell about names."""

    def __init__(self, known: dict[str, str], terms: frozenset[str] = frozenset()) -> None:
        self.known = known
        self.terms = terms
        self.repeated: frozenset[str] = frozenset()

    def learn(self, texts: Iterable[str], already: Counter[str] | None = None) -> None:
        """Count what stands before colons: a file's own habit shows its names. `already`: folded names counted elsewhere."""
        seen: Counter[str] = Counter(already)
        for text in texts:
            cut = text.find(":", 0, _LONGEST_NAME)
            if cut > 0 and (found := _COLON.match(text)):
                seen[fold(found["who"])] += 1
        self.repeated = frozenset(n for n, times in seen.items() if times >= _REPEATED and len(n.split()) <= 2)

    def sign(self, name: str) -> str:
        """The call sign of a name, or the name as written."""
        text = " ".join(name.split())
        return self.known.get(fold(text), text)

    def is_name(self, text: str) -> bool:
        folded = fold(text)
        if folded in self.known:
            return True
        words = folded.split()
        if folded in self.terms or words[0] in _NOT_NAMES or words[-1] in _SAID or len(text) > _LONGEST_NAME:
            return False
        return bool(_CAPITALS.fullmatch(text)) or folded in self.repeated

    def is_known(self, text: str) -> bool:
        return fold(text) in self.known

    def head(self, text: str) -> Head:
        """Read the head of an entry's text: net, then who and to whom."""
        found = _NET.match(text) if text[:2].lower().lstrip("[(")[:1] in ("n", "l", "c") else None
        if not found:
            return self._who(text)
        after = self._who(text[found.end():])
        return Head(after.who, after.to, found.end() + after.end, " ".join(found["net"].split()))

    def _who(self, text: str) -> Head:
        first = text[:64]
        if ">" in first or "\u2192" in first or "\u27a1" in first or "\u00bb" in first:
            found = _DIRECTED_LONG.match(text)
            if not found or not (self.is_known(found["to"]) or _CAPITALS.fullmatch(found["to"])):
                found = _DIRECTED.match(text)
            if found and (self.is_name(found["who"]) or self.is_known(found["to"])):
                return Head(self.sign(found["who"]), self.sign(found["to"]), found.end())
        if first[:1] in "[(<{":
            found = _BOXED.match(text)
            if found and self.is_name(found["who"]) and found.end() < len(text):
                return Head(self.sign(found["who"]), self.sign(found["to"]) if found["to"] else None, found.end())
        if ":" in first:
            found = _SPOKEN_TO.match(text)
            if found and (self.is_name(found["who"]) or (self.is_known(found["to"]) and len(found["who"].split()) == 1)):
                return Head(self.sign(found["who"]), self.sign(found["to"]), found.end())
            found = _COLON.match(text)
            if found and self.is_name(found["who"]):
                return self._pair(found)
        found = _BARRED.match(text)
        if found and "/" in found["who"] and not found["to"] and self._both_known(found["who"]):
            return self._pair(found)
        if found and (self.is_known(found["who"]) or (_CAPITALS.fullmatch(found["who"]) and self.is_name(found["who"]))):
            return Head(self.sign(found["who"]), self.sign(found["to"]) if found["to"] else None, found.end())
        return _NOBODY

    def _both_known(self, text: str) -> bool:
        who, to = _apart(text)
        return self.is_known(who) and self.is_known(to)

    def _pair(self, found: re.Match[str]) -> Head:
        """'TC/PROP:' and 'TC PROP:' are TC to PROP when both are known and the two together are not a name."""
        who, to = _apart(found["who"])
        if to and not self.is_known(found["who"]) and self._both_known(found["who"]):
            return Head(self.sign(who), self.sign(to), found.end())
        return Head(self.sign(found["who"]), None, found.end())


def _apart(text: str) -> tuple[str, str]:
    """The two names of 'TC/PROP' or 'TC PROP'; the second empty when there is one."""
    who, _, to = text.partition("/" if "/" in text else " ")
    return who, to
