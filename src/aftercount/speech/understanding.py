"""What was said: every record read into utterances, count readings, calls on the count and poll answers.

Conventions: tables by `tables`: UTTERANCES, SPOKEN_MARKS, CLOCK_CALLS, POLL_ANSWERS; utterance ids 0..n-1 by source and line.
Count times that a machine gives in a column of their own stay in `stamp_t_us`; they are not repeated as marks.

It does not put logs on one clock, nor decide which mark is true: see `timeline`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import pandas as pd

from aftercount import tables
from aftercount.speech.address import Address, read_address
from aftercount.speech.calls import Call, PlanWords, read_calls, settled
from aftercount.speech.context import PlanTimes, Running
from aftercount.speech.dialogue import Label, Net
from aftercount.speech.dialogue import Sentence as Turn
from aftercount.speech.directory import Directory
from aftercount.speech.entries import Records, Sentence
from aftercount.speech.garbled import mend_says
from aftercount.speech.keepers import on_the_loop
from aftercount.speech.kinds import Ranks, is_bare, is_order, kind_of, told_to_go
from aftercount.speech.marks import CERTAIN, Mark, lower, read_marks
from aftercount.speech.mending import mend
from aftercount.speech.mistimed import mend_times
from aftercount.speech.pickedup import Held
from aftercount.speech.polls import read_answer, read_misheard, read_roll
from aftercount.speech.rolls import Line, opened_by, unannounced
from aftercount.speech.stepheads import step_numbers
from aftercount.speech.targets import read_target
from aftercount.speech.triggers import LIFTOFF
from aftercount.speech.voices import Voice
from aftercount.speech.voices import stations as stations_of_voices
from aftercount.speech.words import PUNCTUATION, scan, words
from aftercount.speech.wordsets import word_set

if TYPE_CHECKING:
    from aftercount.count import CountFolder
    from aftercount.plan import Plan

TARGET_SIGMA_S = 1.0  # an announced T-0 is meant to the second
_CACHED = 32768  # distinct sentences; machine logs repeat theirs
_CALL_WORDS = word_set("hold holding recycle abort cutoff cut resume scrub stop count countdown clock sequence sequencer")
_LITTLE = word_set("the a an of to at in on and for is for with from by")


@dataclass(frozen=True)
class Speech:
    """What was said, as tables (see `tables`)."""

    utterances: pd.DataFrame
    marks: pd.DataFrame
    calls: pd.DataFrame
    poll_answers: pd.DataFrame


class Read(NamedTuple):
    """Everything one sentence says by itself."""

    address: Address
    kind: str
    marks: tuple[Mark, ...]
    calls: tuple[Call, ...]
    target: tuple[int, str] | None
    answer: str | None
    roll: tuple[tuple[str, str], ...]
    misheard: tuple[str, str] | None
    order: bool
    read_out: tuple[str | None, str | None] | None
    bare: bool


_NOBODY = Address(None, None, 0, 0, 0)


class Reader:
    """Reads sentences with what the count and the plan tell about names, words and times."""

    def __init__(self, count: CountFolder, plan: Plan) -> None:
        table = plan.table
        said = [str(a) for a in table["action"].tolist()] + [w for ws in table["says"].tolist() for w in _listed(ws)]
        self.zone, self.t0_us = count.zone, count.t0_us
        self.directory = Directory(_stations(count, table), {w for text in said for w in words(text)})
        self.ranks = self._ranks(table)
        self.callers = self.ranks.callers
        self.plan_words = PlanWords(_actions(table))
        signs = {str(step).lower(): self.directory.named(str(by)) for step, by in zip(table["step"].tolist(), table["by"].tolist(), strict=True) if isinstance(by, str)}
        self.performers = {step: sign for step, sign in signs.items() if sign is not None}
        times = sorted(float(t) for t in table["t_s"].tolist())
        holds = table.loc[table["kind"] == "hold", "t_s"].tolist()
        self.times = PlanTimes(tuple(sorted(float(t) for t in holds)), tuple(times))
        self.read = lru_cache(maxsize=_CACHED)(self._read)

    def _ranks(self, table: pd.DataFrame) -> Ranks:
        named = [tuple(self.directory.named(v) if isinstance(v, str) else None for v in pair) for pair in zip(table["to"].tolist(), table["by"].tolist(), strict=True)]
        return Ranks(frozenset(to for to, _ in named if to), frozenset((to, by) for to, by in named if to and by))

    def _read(self, text: str, medium: str) -> Read:
        text = on_the_loop(text, self.directory, self.ranks.pairs) if medium == "typed" else text
        tokens = scan(text) if medium == "machine" else mend(scan(text))
        tokens, guessed = mend_times(mend_says(tokens)) if medium == "speech" else (tokens, False)
        address = told_to_go(tokens, read_address(tokens, self.directory)) if medium != "machine" and tokens else _NOBODY
        if medium == "machine":
            address = Address(None, None, 0, len(tokens), 0)
        signs = sum(t not in PUNCTUATION for t in tokens[:address.body] + tokens[address.stop:])
        marks = tuple(replace(m, grade=lower(m.grade)) if guessed else m for m in read_marks(text, self.directory.hidden(tokens), medium, signs))
        calls = tuple(read_calls(text, tokens, marks, medium, self.directory, self.plan_words))
        target = read_target(text, self.t0_us, self.zone)
        if target is not None:  # 'T-0 is now 15:02' names the instant to come; it is not T-0 now
            marks = tuple(m for m in marks if m.t_s != 0)
            calls = tuple(c for c in calls if c.what != LIFTOFF or c.grade == CERTAIN)
        kind = kind_of(self.ranks, tokens, address, calls, marks, medium)
        answer, roll, misheard = None, tuple[tuple[str, str], ...](), None
        if medium != "machine":
            answer = read_answer(tokens[address.body:address.stop]) if "?" not in tokens[address.body:] else None
            roll = tuple(read_roll(tokens, self.directory))
            misheard = read_misheard(tokens, self.directory) if answer is None and not roll else None
        if kind == "call" and self.ranks.orders(address):
            answer = None  # 'PROP, TC, go for hook-up' orders it
        if answer is not None or roll or misheard:
            kind = "response" if kind in ("call", "note", "report", "poll") else kind
        read_out = self._read_out(text) if medium == "speech" and kind == "call" and address.opening == 0 else None
        return Read(address, kind, marks, calls, target, answer, roll, misheard, medium != "machine" and is_order(tokens, address), read_out, is_bare(tokens, address))

    def _read_out(self, text: str) -> tuple[str | None, str | None] | None:
        """Of a step read out by its number: the only station that calls for steps, and who performs it, where the plan tells."""
        found = [number for number in step_numbers(text) if number in self.performers]
        return (next(iter(self.callers)) if len(self.callers) == 1 else None, self.performers[found[0]]) if len(found) == 1 else None


def _listed(value: Any) -> list[str]:
    return [str(v) for v in value] if isinstance(value, (list, tuple)) else []


def _strings(table: pd.DataFrame, name: str) -> list[str]:
    return [v for v in table[name].tolist() if isinstance(v, str) and v]


def _stations(count: CountFolder, table: pd.DataFrame) -> dict[str, tuple[str, ...]]:
    """The count's stations, and those only the plan names."""
    known = {k: tuple(v) for k, v in count.stations.items()}
    folded = {form.lower() for k, v in known.items() for form in (k, *v)}
    for name in dict.fromkeys(_strings(table, "by") + _strings(table, "to")):
        if name.lower() not in folded:
            known[name] = ()
    return known


def _actions(table: pd.DataFrame) -> tuple[frozenset[str], ...]:
    """The steps whose words could be taken for a call on the count."""
    out = []
    for action, kind, says in zip(table["action"].tolist(), table["kind"].tolist(), table["says"].tolist(), strict=True):
        for text in (str(action), *_listed(says)):
            spoken = frozenset(t for t in scan(text) if t not in PUNCTUATION and t not in _LITTLE)
            if kind != "hold" and spoken & _CALL_WORDS and len(spoken) > 2:
                out.append(spoken)
    return tuple(out)


@dataclass
class _Rows:
    """The four tables, a list a column."""

    utterances: dict[str, list[Any]] = field(default_factory=dict)
    marks: list[tuple[Any, ...]] = field(default_factory=list)
    calls: list[tuple[Any, ...]] = field(default_factory=list)
    answers: list[tuple[Any, ...]] = field(default_factory=list)


_CARRIED = ("record", "source", "line", "raw_time", "time_kind", "net", "medium")
_MARK_COLUMNS = ("utterance", "clock", "t_s", "t0_us", "says", "grade", "form", "sigma_s")
_CALL_COLUMNS = ("utterance", "what", "grade", "t_s", "to_t_s", "length_s", "reason", "by")


@dataclass(frozen=True)
class Split:
    """The records, and the sentences that they hold."""

    records: Records
    sentences: tuple[Sentence, ...]
    reader: Reader
    keepers: dict[str, str]


def split(records: pd.DataFrame, count: CountFolder, plan: Plan) -> Split:
    """The sentences of every record (RECORDS), of which each has at least one."""
    reader, listed = Reader(count, plan), Records(records)
    keepers = {spec.path: reader.directory.named(spec.station) or spec.station for spec in count.logs if spec.station}
    return Split(listed, tuple(listed.sentences(reader.directory)), reader, keepers)


def understand(records: pd.DataFrame, count: CountFolder, plan: Plan) -> Speech:
    """Read every record; each gives at least one utterance."""
    return understood(split(records, count, plan))


def understood(parts: Split) -> Speech:
    """Read every sentence, in its order."""
    listed, reader, keepers = parts.records, parts.reader, parts.keepers
    rows, voices = _Rows(), _voices(parts)
    nets: dict[tuple[Any, Any], Net] = {}
    running: dict[Any, Running] = {}
    held: dict[Any, Held] = {}
    made: list[tuple[int, int | None, float, Any, str | None, str | None, str, str]] = []
    last_row = -1
    for sentence in parts.sentences:
        row = sentence.row
        source = listed["source"][row]
        read = reader.read(sentence.text, listed["medium"][row])
        net = nets.setdefault((source, listed["net"][row]), Net())
        speaker, to = _parties(listed, sentence, read, parts, (net, len(made)), voices)
        stamp = listed["stamp_t_us"][row] if row != last_row else None
        last_row = row
        utterance = len(made)
        if net.corrected is not None:
            told, at = net.corrected
            made[at] = (*made[at][:4], None, told, "call", made[at][-1])
        made.append((row, sentence.own_us, sentence.sigma_s, stamp, speaker, to, "report" if net.answering and read.kind == "call" else _kind(read, speaker), sentence.text))
        own_s = None if sentence.own_us is None else sentence.own_us / 1e6
        marks: list[Mark] = []
        if read.marks:
            marks = running.setdefault(source, Running(reader.times)).settle(read.marks, own_s)
            rows.marks.extend((utterance, m.clock, m.t_s, None, m.says, m.grade, m.form, m.sigma_s) for m in marks)
        spoken = listed["medium"][row] != "machine"
        resumed = held.setdefault(source, Held()).heard(read.calls, marks, own_s) if spoken and (marks or read.calls) else None
        _add_rest(rows, utterance, read if resumed is None else read._replace(calls=(*read.calls, resumed)), marks, speaker, spoken)
        if read.misheard is not None:  # whoever the log names answers, unless that is its keeper
            labelled = listed["station"][row] and speaker != keepers.get(source)
            rows.answers.append((utterance, speaker if labelled else read.misheard[0], read.misheard[1]))
    lines = [Line(listed["source"][row], None if own_us is None else own_us / 1e6, kind, text, station, to)
             for row, own_us, _, _, station, to, kind, text in made] if rows.answers else []
    answered = [(utterance, station) for utterance, station, _ in rows.answers]
    for at in unannounced(lines, answered):
        made[at] = (*made[at][:-2], "poll", made[at][-1])
    return _tables(listed, made, rows, opened_by(lines, answered))


def _kind(read: Read, speaker: str | None) -> str:
    """What begins or ends with the speaker's own call sign is no call: 'PROP, valve two tight', and the order read back, 'open the vent, PROP'."""
    address = read.address
    if read.kind != "call" or speaker is None or speaker != address.to or address.stop <= address.body:
        return read.kind
    if read.order:  # 'TC for the loop, open the vent' names its speaker and still orders
        return read.kind if address.opening else "response"
    return "report"


def _voices(parts: Split) -> dict[Voice, str | None]:
    """The stations of labels in transcripts that name none."""
    listed, reader = parts.records, parts.reader
    unknown = {(source, label) for source, label, medium in zip(listed["source"], listed["station"], listed["medium"], strict=True)
               if medium == "speech" and label and reader.directory.named(label) is None}
    if not unknown:
        return {}
    labels = [(listed["source"][s.row], listed["station"][s.row]) for s in parts.sentences]
    said = ((voice, reader.read(s.text, "speech").address.speaker) for voice, s in zip(labels, parts.sentences, strict=True) if voice in unknown)
    return stations_of_voices(((voice, station) for voice, station in said if station is not None), sorted(unknown))


def _parties(listed: Records, sentence: Sentence, read: Read, parts: Split, turn: tuple[Net, int], voices: dict[Voice, str | None]) -> tuple[str | None, str | None]:
    """(speaker, spoken to). turn: the loop, and the utterance that this becomes."""
    row, reader, (net, utterance) = sentence.row, parts.reader, turn
    source, medium = listed["source"][row], listed["medium"][row]
    station, to = (_canonical(listed[name][row], reader) for name in ("station", "to"))
    station = voices.get((source, station), station) if station and voices else station
    if medium == "machine":
        return station, to
    label = Label(station, to, keeper=to is None and station is not None and medium == "typed" and parts.keepers.get(source) == station)
    own_s = None if sentence.own_us is None else sentence.own_us / 1e6
    return net.turn(label, Turn(read.address, read.kind, own_s, row, medium, read.order, read.read_out, utterance if read.bare else None), reader.callers)


def _canonical(name: str | None, reader: Reader) -> str | None:
    return None if not name else reader.directory.named(name) or name


def _add_rest(rows: _Rows, utterance: int, read: Read, marks: list[Mark], speaker: str | None, spoken: bool) -> None:
    caller = speaker if spoken else None  # a machine tells of a call, it makes none
    if read.target is not None:
        rows.marks.append((utterance, "T0", None, read.target[0], "either", read.target[1], "target", TARGET_SIGMA_S))
    for call in read.calls:
        c = settled(call, marks) if marks else call
        rows.calls.append((utterance, c.what, c.grade, c.t_s, c.to_t_s, c.length_s, c.reason, c.by or caller))
    if read.roll:
        rows.answers.extend((utterance, station, answer) for station, answer in read.roll)
    elif read.answer is not None and speaker is not None:
        rows.answers.append((utterance, speaker, read.answer))


def _tables(listed: Records, made: list[tuple[Any, ...]], rows: _Rows, roll: dict[int, int]) -> Speech:
    at, own, sigma, stamp, station, to, kind, text = (list(c) for c in zip(*made, strict=True)) if made else ([] for _ in range(8))
    columns: dict[str, Any] = {name: [listed[name][i] for i in at] for name in _CARRIED}
    entry = [(listed["source"][i], listed["line"][i]) for i in at]
    alone = Counter(entry)
    columns |= {
        "length_s": [listed["dur_us"][i] / 1e6 if alone[of] == 1 and listed["dur_us"][i] else None for i, of in zip(at, entry, strict=True)],
        "utterance": range(len(at)), "own_us": pd.array(own, dtype="Int64"), "own_sigma_s": sigma,
        "stamp_t_us": pd.array(stamp, dtype="Int64"), "station": station, "to": to, "kind": kind, "text": text,
        "roll": [roll.get(i, 0) for i in range(len(at))],
    }
    return Speech(
        tables.UTTERANCES.conform(pd.DataFrame(columns)),
        _frame(tables.SPOKEN_MARKS, _MARK_COLUMNS, rows.marks),
        _frame(tables.CLOCK_CALLS, _CALL_COLUMNS, rows.calls),
        _frame(tables.POLL_ANSWERS, ("utterance", "station", "answer"), rows.answers),
    )


def _frame(table: tables.Table, names: tuple[str, ...], rows: list[tuple[Any, ...]]) -> pd.DataFrame:
    columns = [list(c) for c in zip(*rows, strict=True)] if rows else [[] for _ in names]
    made = {n: pd.array(c, dtype="Int64") if n == "t0_us" else c for n, c in zip(names, columns, strict=True)}
    return table.conform(pd.DataFrame(made))
