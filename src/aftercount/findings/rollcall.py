"""What came back when a station's bare call sign was called out in a poll?

Conventions: one log at a time, in its own order. A reply is `go`, `no go`, or `unclear` when something was said that could be
the station's but no answer can be made out (a garbled 'go', a sentence nobody else claims): then the station was not silent.
It does not decide which answers are one poll, nor what a plain answer says: `polls` and speech did.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from aftercount.findings.heard import Heard, Utterance, apart_s, seconds_between
from aftercount.speech.words import words

# The first station is called out at most this long before the first answer, one that stays silent as long after the last.
ASK_S = 20.0
# Straight after a call-out: within this many sentences, and short.
REPLY_SENTENCES = 3
REPLY_WORDS = 6
REPLY_S = 8.0
# A word to all stations ('all stations are go') sums a poll up; it is nobody's answer.
ALL = "ALL"
# What the one who calls the roll says next is no reply, and neither is a call on the count.
_NO_REPLY = frozenset({"mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff"})
_NEGATIONS = frozenset({"no", "not", "negative", "know"})


_READY = frozenset({"ready", "green", "set"})
_READY_FILLER = frozenset({"is", "are", "we", "team", "all", "and", "status", "we're", "for", "terminal", "count", "launch"})


@dataclass(frozen=True, slots=True)
class Answer:
    """answer: go | no go | unclear | missing. heard: None when nothing was."""

    station: str
    answer: str
    heard: Utterance | None


class Roll:
    """The call-outs of one poll and what followed each."""

    def __init__(self, run: Sequence[Answer], heard: Heard, stations: Mapping[str, Iterable[str]]) -> None:
        self.heard = heard
        self.names = {s: {w for form in (s, *forms) for w in words(form)} for s, forms in stations.items()}
        self.asked = self._asked(run)

    def _asked(self, run: Sequence[Answer]) -> dict[str, Utterance]:
        """Stations whose bare call sign was called out while the poll ran, and where."""
        first, last = run[0].heard, run[-1].heard
        asked: dict[str, Utterance] = {}
        if first is None or last is None:
            return asked
        for u in self.heard.all:
            if u.us is None or not self._calls_out(u):
                continue
            during = seconds_between(u.us, first.us or 0) >= -ASK_S and seconds_between(u.us, last.us or 0) <= ASK_S
            if during and u.to is not None:
                asked.setdefault(u.to, u)
        return asked

    def _calls_out(self, u: Utterance) -> bool:
        return (u.to in self.names and u.station != u.to and u.kind in ("call", "poll")
                and set(words(u.text)) <= self.names[str(u.to)])

    def reply(self, station: str) -> Answer | None:
        """What was said straight after that station's call-out, if it is a go or a no go: nobody else was asked."""
        for reply in self._next(self.asked[station]):
            said = words(reply.text)
            if "go" in said and len(said) <= REPLY_WORDS and reply.to != ALL:
                no = any(a in _NEGATIONS and b == "go" for a, b in zip(said, said[1:], strict=False))
                return Answer(station, "no go" if no else "go", reply)
        return None

    def unclear(self, station: str) -> Answer | None:
        """Something said straight after the call-out, by that station or by nobody known: no silence, but no answer either."""
        call_out = self.asked[station]
        for reply in self._next(call_out):
            apart = apart_s(reply, call_out)
            theirs = reply.station in (None, station) and reply.to in (None, station, call_out.station)
            if apart is not None and apart <= REPLY_S and theirs and reply.kind not in _NO_REPLY:
                return Answer(station, "unclear", reply)
            return None
        return None

    def _next(self, call_out: Utterance) -> Iterator[Utterance]:
        """The next sentences of that log, up to the next call-out; a call to somebody else in between is passed over."""
        for event in range(call_out.event + 1, call_out.event + 1 + REPLY_SENTENCES):
            reply = self.heard.get(event)
            if reply is None or reply.source != call_out.source or self._calls_out(reply):
                return
            other_talk = reply.kind in ("call", "poll") and reply.to not in (None, call_out.to, call_out.station)
            if not other_talk:
                yield reply


def ready_or_not(text: str, own_names: set[str]) -> str | None:
    """`go` or `no go` where a station answers a poll by 'ready' or 'not ready' in place of it; a reason may follow."""
    said = [w for w in words(text) if w not in own_names and w not in _READY_FILLER]
    if len(said) > 1 and said[0] in _NEGATIONS and said[1] in _READY:
        return "no go"
    return "go" if len(said) == 1 and said[0] in _READY else None
