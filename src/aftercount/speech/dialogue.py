"""Who speaks to whom, from the entry's own labels, the sentence's call signs and the turn before?

Conventions: one `Net` a log and loop; own clock in seconds. Labels written by people or by the recorder win over guesses;
a reply with no call sign comes from the station just called, while the call is no older than `REPLY_S`.

It does not read words: `address` and `kinds` have done that.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from aftercount.speech.address import Address

REPLY_S = 20.0  # a call unanswered for longer has been dropped or answered on another loop
ANSWERS = frozenset(("call", "response", "report", "note"))
REPLIES = frozenset(("response", "report"))


@dataclass(frozen=True, slots=True)
class Label:
    """What the entry itself says; `keeper` when the station only names who kept the log."""

    station: str | None
    to: str | None
    keeper: bool = False


@dataclass(frozen=True, slots=True)
class Sentence:
    """What the turn is decided from: the call signs, the kind, the log's own time in seconds, the record and its medium, and
    whether the words themselves order something. read_out: who reads and who is to answer, of a step read out by its number without call signs.
    bare: the utterance, where a state is all that is said after one call sign, which orders it or tells it."""

    address: Address
    kind: str
    own_s: float | None
    record: int
    medium: str
    order: bool = True
    read_out: tuple[str | None, str | None] | None = None
    bare: int | None = None


@dataclass(slots=True)
class Net:
    """The last turn on one loop."""

    speaker: str | None = None
    to: str | None = None
    own_s: float | None = None
    record: int = -1
    kind: str = ""
    replying: bool = False
    ordered: dict[str, tuple[str, float, int]] = field(default_factory=dict)  # who was called last, and has not spoken since: by whom, when, record
    asked: tuple[str | None, str | None, float | None, int] | None = None  # what was read out and not yet answered: who read, who is to answer, when, record
    answering: bool = False  # the turn answers what was read out
    bare: tuple[str, int] | None = None  # who told a bare state last, unless he was called for it, and in which utterance
    corrected: tuple[str, int] | None = None  # the same, if it was no report but the order that this turn answers

    def turn(self, label: Label, said: Sentence, callers: frozenset[str]) -> tuple[str | None, str | None]:
        """(speaker, spoken to) of this sentence; remembers the turn. `callers` are the stations that give orders."""
        self.corrected = self.bare if self._was_ordered(said) else None
        if self.corrected is not None:
            self.speaker, self.to, self.kind = None, self.corrected[0], "call"
        if self._counts(said, label):  # the count is called out over whoever talks
            self.answering = False
            return label.station, label.to
        address, kind, own_s, record, medium = said.address, said.kind, said.own_s, said.record, said.medium
        speaker, to = _by_words(address, kind, medium, callers)
        caller, called = (self.speaker, self.to) if self._recent(own_s, record) else (None, None)
        self.answering = self._answers(said, to)
        answered = False
        if self.answering and self.asked is not None:
            caller, called = self.asked[:2]
        if said.read_out is not None and speaker is None and to is None:
            speaker, to = said.read_out
        if label.station is not None and not label.keeper:
            speaker, to = _labelled(label, speaker, to)
            if to is None and self._recent(own_s, record) and self.to == speaker:
                to = self.speaker  # the station just called answers its caller
            elif to is None and kind == "call" and record == self.record and speaker == self.speaker:
                to = self.to  # 'PROP, TC here, when you're ready. Go ahead and open the vent.'
        else:
            again = self._goes_on(said, speaker, to, callers)
            speaker, to = (self.speaker, self.to) if again else self._follow(speaker, to, kind, own_s, record, address.opening == 0)
            self.answering = self.answering or again
            named_itself = not again and self.answering or (kind == self.kind == "call" and not said.order and called is not None)
            if named_itself and address.opening == 1 and to is not None and to == called != "ALL":
                speaker, to = to, caller  # 'PROP, valve two tight' after a call to PROP: the station called names itself
            elif speaker is None and to is not None and address.opening == 1 and not said.order and (by := self._caller_of(to, own_s, record)) is not None:
                speaker, to = to, by  # and so it does where somebody else spoke in between
            if self.answering and speaker is None and to is None:
                speaker, to = called, caller
            if speaker is None and address.opening == 0 and to is not None and to == called:
                speaker, to = to, caller  # 'in work, PROP': the station just called signs its answer
            answered = named_itself and speaker == called
            if speaker is None and label.keeper and medium == "typed":
                speaker = label.station
            to = to or label.to
        if to == speaker:
            to = None
        if said.read_out is not None:
            self.asked = speaker, to, own_s, record
        elif self.answering or (self.asked is not None and speaker == self.asked[1]):
            self.asked = None
        self.replying = speaker is not None and (speaker, to) == (called, caller) or (self.replying and record == self.record)
        if speaker is not None:
            self.ordered.pop(speaker, None)
        if kind == "call" and speaker is not None and to not in (None, "ALL") and own_s is not None:
            self.ordered[to] = speaker, own_s, record
        told = kind == "report" and medium == "speech" and label.station is None and speaker != called
        self.bare = (speaker, said.bare) if told and speaker is not None and said.bare is not None else None
        if kind == "call" and answered and speaker == called:
            kind = "response"  # 'PROP, vent line tight' answers, as did 'PROP, copy': it may go on
        self.speaker, self.to, self.own_s, self.record, self.kind = speaker, to, own_s, record, kind
        return speaker, to

    def _goes_on(self, said: Sentence, speaker: str | None, to: str | None, callers: frozenset[str]) -> bool:
        """Whether the station that just answered its caller goes on: 'in work', then 'vent is open', or 'PROP, vent two tight'."""
        answered = self.replying and self.kind == "response" and self.speaker not in callers and self.to in callers
        if not answered or said.record == self.record or not self._recent(said.own_s, said.record):
            return False
        if said.kind == "report":
            return speaker is None and to is None
        return said.kind == "call" and not said.order and said.address.opening == 1 and speaker is None and to == self.speaker

    def _waits(self, called: str, own_s: float | None) -> bool:
        """Whether this station was called and has not spoken since."""
        return called in self.ordered and own_s is not None and 0 <= own_s - self.ordered[called][1] <= REPLY_S

    def _caller_of(self, called: str, own_s: float | None, record: int) -> str | None:
        """Who called this station in a record before and has no answer yet."""
        by, called_s, called_in = self.ordered.get(called, (None, 0.0, record))
        return by if own_s is not None and called_in != record and 0 <= own_s - called_s <= REPLY_S else None

    def _was_ordered(self, said: Sentence) -> bool:
        """Whether a bare state, taken for told, was ordered after all: the station named is the next to speak, and answers."""
        if self.bare is None or said.kind not in REPLIES or not self._recent(said.own_s, said.record):
            return False
        address = said.address
        named = address.opening == 1 and self.bare[0] in (address.speaker, address.to)
        return named or (address.opening == 0 and address.to is None)

    def _counts(self, said: Sentence, label: Label) -> bool:
        """Whether a sentence only tells the count, to nobody: of a voice nobody named, or while a station that was called has yet to answer."""
        waiting = self.kind == "call" and self.to not in (None, "ALL") and self._recent(said.own_s, said.record)
        unnamed = label.station is None and said.record != self.record
        return said.kind == "mark" and said.address.opening == 0 and said.address.to is None and (waiting or unnamed)

    def _answers(self, said: Sentence, to: str | None) -> bool:
        """Whether a sentence answers what was read out: in its own name, or unnamed and the very next thing said."""
        if self.asked is None or said.read_out is not None or said.address.opening > 1 or said.kind not in ANSWERS:
            return False
        _, called, asked_s, asked = self.asked
        late = said.own_s is not None and asked_s is not None and not 0 <= said.own_s - asked_s <= REPLY_S
        if said.record == asked or late:
            return False
        if said.address.opening:
            return to == called
        return to is None and asked == self.record and said.kind != "note"  # a remark in between may be anybody's

    def _follow(self, speaker: str | None, to: str | None, kind: str, own_s: float | None, record: int,
                signed: bool) -> tuple[str | None, str | None]:
        """signed: the only call sign is the last word."""
        if not self._recent(own_s, record):
            return speaker, to
        if speaker is None and to is None:
            if record == self.record and self.replying and self.kind == "call":
                return self.speaker, self.to  # 'TC, PROP. Roger.' after a call to PROP
            if kind in REPLIES and self.to not in (None, "ALL") and self.kind != kind:
                return self.to, self.speaker
            return (self.speaker, self.to) if record == self.record else (None, None)
        if speaker is None and to is not None:
            if to == self.speaker and self.to not in (None, "ALL"):
                return self.to, to
            if kind == "response" and to != "ALL" and ((self.kind == "call" and to == self.to) or self._waits(to, own_s)):
                return to, self.ordered[to][0] if to in self.ordered else self.speaker  # nobody accepts the order that he has given himself
            # Orders begin with the station called; 'copy, PROP' and 'open the vent, PROP' after one are PROP's, signed.
            answers = kind == "response" or (kind == "call" and self.kind == "call")
            closing = to == self.to and ((record != self.record and kind in REPLIES) or (signed and answers and to != "ALL"))
            return (self.speaker, to) if not closing and (to == self.to or record == self.record) else (None, to)
        if to is None and speaker == self.to:
            return speaker, self.speaker
        return speaker, to

    def _recent(self, own_s: float | None, record: int) -> bool:
        if record == self.record:
            return True
        if own_s is None or self.own_s is None:
            return record - self.record <= 1
        return 0 <= own_s - self.own_s <= REPLY_S


def _by_words(address: Address, kind: str, medium: str, callers: frozenset[str]) -> tuple[str | None, str | None]:
    """One call sign before a report: in notes, and for a station that never calls, it is who reports; behind one as well, for such a station ('vent is tight, PROP')."""
    lone = address.speaker is None and address.to not in (None, "ALL")
    reports = medium == "typed" and kind in ("report", "note") and address.opening == 1
    if lone and address.opening < 2 and (reports or (kind == "report" and callers and address.to not in callers)):
        return address.to, None
    return address.speaker, address.to


def _labelled(label: Label, speaker: str | None, to: str | None) -> tuple[str | None, str | None]:
    """The label is the speaker; a call sign in the words that is another station is the one spoken to."""
    if label.to is not None:
        return label.station, label.to
    other = to if to is not None and to != label.station else speaker
    return label.station, other if other != label.station else None
