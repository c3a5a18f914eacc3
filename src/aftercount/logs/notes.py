"""Free text that people type, one entry a line.

Samples:
    14:25:03 PROP>TC tank press complete            [1425:03Z] TC: T minus five and counting
    2031-04-18 14:25:03 - PROP to TC: in work       T-5:00  TC: resume
    108/14:25:03Z  T-00:05:00  TC: go for step 4    - 14:25 hold called by RANGE
        a line with no time continues the entry before it
Conventions: a count time beside the wall time goes to its own column when it is set off or most entries of the file
have one; otherwise it is the first of the words. A heading that is a date dates what follows. Headings, comments and
rules are rejects, with the reason. A file with no times at all has one entry a line.
It does not place times of day on days (`dating` does), nor read the words.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from aftercount.logs import bulk
from aftercount.logs.backdated import happened
from aftercount.logs.dating import LATE_NOTE_US
from aftercount.logs.entries import LONGEST_ENTRY, Context, Entries
from aftercount.logs.halves import halved, speaker_kept
from aftercount.logs.media import of_free_text
from aftercount.logs.names import Names
from aftercount.logs.signed import leads_words, may_have_offsets, offsets_habit, set_off
from aftercount.logs.walltime import COUNT, DAY_US, WALL, Stamp, is_date, read_stamp, whole_date

_LEAD = r"\s*(?:(?:[-*+\u2022\u2023\u25aa\u00b7>~@]|#?\d{1,4}[.)])\s+|[~@])?"
_OPEN, _GAP = r"[\[(<{|]?\s?", r"\s?[\])>}]?(?:\s?[-\u2013\u2014:;,|=]+(?=\s|$)|[|\t])?\s*"
_FLAGS = re.IGNORECASE | re.ASCII
_WALL_HEAD = re.compile(rf"{_LEAD}{_OPEN}(?P<stamp>{WALL}){_GAP}", _FLAGS)
_COUNT_HEAD = re.compile(rf"{_LEAD}{_OPEN}(?P<stamp>{COUNT})(?P<gap>{_GAP})", _FLAGS)
_COUNT_NEXT = re.compile(rf"(?P<open>[\[(<{{|/]?)\s?(?P<stamp>{COUNT})(?P<gap>{_GAP})", _FLAGS)
_SIGNED_HEAD = re.compile(rf"{_LEAD}{_OPEN}(?P<stamp>[-+]\d[\d:]*(?:\.\d+)?){_GAP}", re.ASCII)
_PLAIN_HEAD = re.compile(rf"{_LEAD}{_OPEN}(?P<stamp>\d{{1,12}}(?!\d)(?::\d\d){{0,2}}(?:\.\d+)?){_GAP}(?![A-Za-z\d]*[:.]\d)", re.ASCII)
_NAME_FIRST = re.compile(rf"\A\s*+(?![TL] ?[-+]|[TL] ?minus)(?P<who>[A-Za-z][\w./&-]{{0,15}}(?: [A-Za-z][\w./&-]{{0,15}})?) ?[:,|\t-]? ?[\[(]?(?P<stamp>{WALL})[\])]?\s?[:,|>\t-]?\s+", _FLAGS)
_RANGE_END = re.compile(rf"(?:-|\u2013|to) ?(?P<stamp>\d{{1,2}}:\d\d(?::\d\d)?|\d{{4}}(?::\d\d)?)(?P<zone>Z)?(?![\w:]){_GAP}", re.ASCII)
_BARE_HHMM = re.compile(r"\d{4}", re.ASCII)
_RULE = re.compile(r"[\s=_*~#.+|-]{3,}")
# Round a date that stands alone: markdown and underlining, and the words people put before it.
_HEADING_MARKS = " #=*-:\t"
_LEFT_CLOCK = re.compile(r"\s*L ?[-+] ?\d", re.ASCII)
# A habit shown by at least this share of the entries is the file's form, not a chance.
_HABIT = 0.5
# Four bare digits at the head of a line are its time when they lie no further than this outside its neighbours' times.
_BARE_SLACK_US = 120_000_000
# ... and ahead of the first time of the file, no further than this before it.
_FIRST_US = 600_000_000
# Lines looked at to tell a habit: enough for a share good to two hundredths.
_HABIT_SAMPLE = 2000


class _Line:
    """One line with its head cut off."""

    __slots__ = ("number", "raw", "shown", "raw_time", "stamp", "count_us", "set_off", "words", "words_kept", "dur_us")

    def __init__(self, number: int, raw: str) -> None:
        self.number, self.raw, self.shown = number, raw, raw
        self.raw_time: str | None = None
        self.stamp: Stamp | str | None = None
        self.count_us: int | None = None
        self.set_off = False
        self.words = self.words_kept = raw.strip()
        self.dur_us = 0


def read(text: str, context: Context, *, bulk_from: int = bulk.WORTH_FROM) -> Entries:
    """All entries of a notes file; from `bulk_from` lines on, the regular ones many at a time."""
    names = Names(context.stations, context.terms)
    if context.halves and not {"am", "pm"}.isdisjoint(context.stations):
        context = context._replace(halves=halved(_WALL_HEAD.match(line[:80]) for line in text.split("\n", _HABIT_SAMPLE)[:_HABIT_SAMPLE]))
    if may_have_offsets(text):
        context = context._replace(offsets=offsets_habit(_WALL_HEAD.match(line[:80]) for line in text.split("\n", _HABIT_SAMPLE)[:_HABIT_SAMPLE]))
    many = None
    if text.count("\n") + 1 >= bulk_from and context.time in (None, "utc", "local"):
        many = bulk.split(text, lambda line: _example(line, names, context))
    rest = many.rest if many else enumerate(text.split("\n"), 1)
    lines = [_Line(i, raw) for i, raw in rest if raw and not raw.isspace()]
    others = len(many.bulk.line) if many else 0
    signed = _signed_habit(lines, others, context)
    if many and signed != context:  # the others, too, have count times then
        return read(text, signed)
    context = signed
    bare_hours = _bare_hours_habit(lines, others)
    if _name_first_habit(lines, others):
        for line in lines:
            line.raw = _NAME_FIRST.sub(_time_first, line.raw, count=1)
    for line in lines:
        _cut(line, context, bare_hours)
    if not bare_hours:
        _bare_between(lines, context)
    timed = [x for x in lines if x.stamp is not None]
    beside = sum(1 for x in timed if x.count_us is not None)
    column = beside > _HABIT * (len(timed) + others)
    names.learn((x.words if column else x.words_kept for x in timed or lines), many.names if many else None)
    out = _gather(lines, _Layout(bool(timed) or others > 0, column), names, context)
    out.bulk = many.bulk if many else None
    out.medium = of_free_text(out, context.stations)
    return out


def _example(text: str, names: Names, context: Context) -> bulk.Example | None:
    """How a line is read that stands among others of its form; None when that hangs on more than the line."""
    line = _Line(1, text)
    _cut(line, context, False)
    if line.raw_time is None or not isinstance(line.stamp, Stamp) or line.stamp.kind in ("count", "elapsed") or line.count_us is not None or line.dur_us:
        return None
    return bulk.Example(line.raw_time, line.stamp, line.words, names.head(line.words))


class _Layout:
    def __init__(self, timed: bool, count_column: bool) -> None:
        self.timed, self.count_column = timed, count_column


def _share(lines: list[_Line], others: int, test: Callable[[_Line], bool]) -> float:
    """Which part of all lines passes, by an even sample; `others` are regular lines, which do not."""
    sample = lines[::1 + len(lines) // _HABIT_SAMPLE]
    return sum(1 for x in sample if test(x)) / len(sample) * len(lines) / (len(lines) + others) if sample else 0.0


def _signed_habit(lines: list[_Line], others: int, context: Context) -> Context:
    """Do most lines begin with a signed time (-00:05:00 TC: ...)? Then those are count times."""
    if context.time is not None or _share(lines, others, _is_signed) <= _HABIT:
        return context
    return context._replace(time="count", frame=context.frame._replace(bare="count"))


def _is_signed(line: _Line) -> bool:
    return bool((found := _SIGNED_HEAD.match(line.raw)) and ":" in found["stamp"])


def _name_first_habit(lines: list[_Line], others: int) -> bool:
    """Do most lines name the speaker before the time (TC 14:25:03: ...), as chat programs write them?"""
    return _share(lines, others, lambda x: bool(_NAME_FIRST.match(x.raw[:80]))) > _HABIT


def _time_first(found: re.Match[str]) -> str:
    return f"{found['stamp']} {found['who']}: "


def _bare_hours_habit(lines: list[_Line], others: int) -> bool:
    """Are four bare digits at the head of a line this file's way to write a time (1425 TC: ...)?"""
    heads = [found for x in lines[::1 + len(lines) // _HABIT_SAMPLE] if (found := _WALL_HEAD.match(x.raw))]
    bare = sum(1 for found in heads if _BARE_HHMM.fullmatch(found["stamp"]))
    if 2 * bare <= _HABIT * len(heads):
        return False
    return 2 * _share(lines, others, lambda x: bool((found := _WALL_HEAD.match(x.raw)) and _BARE_HHMM.fullmatch(found["stamp"]))) > _HABIT


def _bare_between(lines: list[_Line], context: Context) -> None:
    """'1711 pad clear' among lines stamped 17:10:10 and 17:15:05: a time, for all that the file has another habit."""
    after: list[int | None] = [None] * len(lines)
    following: int | None = None
    for i in range(len(lines) - 1, -1, -1):
        after[i] = following
        following = _time_of_day(lines[i], following)
    before: int | None = None
    for line, later in zip(lines, after, strict=True):
        untimed = line.stamp is None and not is_date(line.raw.strip(_HEADING_MARKS))
        found = _WALL_HEAD.match(line.raw) if untimed else None
        if found and _BARE_HHMM.fullmatch(found["stamp"]) and _fits(read_stamp(found["stamp"], context.frame), before, later):
            _cut(line, context, True)
        before = _time_of_day(line, before)


def _time_of_day(line: _Line, otherwise: int | None) -> int | None:
    if not isinstance(line.stamp, Stamp) or line.stamp.kind in ("count", "elapsed"):
        return otherwise
    return line.stamp.us % DAY_US


def _fits(stamp: Stamp | str | None, before: int | None, after: int | None) -> bool:
    if not isinstance(stamp, Stamp) or not stamp.kind.startswith("day_"):
        return False
    if before is None:  # the first of all: '2031 sea test' is no time unless the log begins soon after
        return after is not None and (after - stamp.us) % DAY_US <= _FIRST_US
    onward = DAY_US // 48 if after is None else (after - before + LATE_NOTE_US) % DAY_US - LATE_NOTE_US
    return (stamp.us - before + _BARE_SLACK_US) % DAY_US <= max(onward, 0) + 2 * _BARE_SLACK_US


def _cut(line: _Line, context: Context, bare_hours: bool) -> None:
    """Find the stamp, and a count time beside it."""
    raw = line.raw
    if len(raw) > LONGEST_ENTRY:
        return
    found = _head(raw, context)
    if found is None or (not bare_hours and _BARE_HHMM.fullmatch(found["stamp"]) and context.time not in ("count", "elapsed")):
        return
    found, end = speaker_kept(found, context.stations, context.halves)
    stamp = read_stamp(found["stamp"], context.frame)
    if stamp is None:
        return
    line.stamp, line.raw_time = stamp, found["stamp"].strip()
    line.words = line.words_kept = raw[end:].strip(" \t|" if raw.lstrip()[:1] == "|" else None)
    if isinstance(stamp, str):
        return
    if stamp.kind == "count":
        _wall_beside(line, stamp, context)
    elif stamp.kind != "elapsed":
        if not leads_words(raw[max(end - 1, 0):]):
            _range(line, stamp, context)
        _count_beside(line, context)


def _head(raw: str, context: Context) -> re.Match[str] | None:
    if found := _COUNT_HEAD.match(raw):
        return found
    if context.time == "count" and (found := _SIGNED_HEAD.match(raw)):
        return found
    if context.time in ("elapsed", "count") and (found := _PLAIN_HEAD.match(raw)):
        return found
    found = _WALL_HEAD.match(raw)
    if found and not context.offsets and set_off(found):
        return _WALL_HEAD.match(raw, 0, found.start("zone"))
    return found


def _wall_beside(line: _Line, stamp: Stamp, context: Context) -> None:
    """'T-00:05:00 14:25:03Z TC: ...': the wall time is the entry's time, the count time its own column."""
    found = _WALL_HEAD.match(line.words)
    if not found or _BARE_HHMM.fullmatch(found["stamp"]):
        return
    found, end = speaker_kept(found, context.stations, context.halves)
    wall = read_stamp(found["stamp"], context.frame)
    if isinstance(wall, Stamp) and wall.kind not in ("count", "elapsed"):
        line.count_us, line.set_off = stamp.us, True
        line.stamp, line.raw_time = wall, found["stamp"].strip()
        line.words = line.words_kept = line.words[end:].strip()


def _count_beside(line: _Line, context: Context) -> None:
    found = _COUNT_NEXT.match(line.words)
    if not found or found.end() == len(line.words):
        return
    count = read_stamp(found["stamp"], context.frame)
    if isinstance(count, Stamp):
        line.count_us = count.us
        line.set_off = bool(found["open"]) or bool(found["gap"].strip(" -\u2013\u2014:;,") or "\t" in found["gap"])
        line.words = line.words[found.end():].strip()


def _range(line: _Line, stamp: Stamp, context: Context) -> None:
    """'14:25-14:30 loading': the entry lasts from the one to the other."""
    found = _RANGE_END.match(line.words)
    end = read_stamp(found["stamp"] + (found["zone"] or ""), context.frame) if found else None
    if found and isinstance(end, Stamp) and end.kind.startswith("day_"):
        line.dur_us = (end.us - stamp.us) % DAY_US
        line.words = line.words_kept = line.words[found.end():].strip()


def _gather(lines: list[_Line], layout: _Layout, names: Names, context: Context) -> Entries:
    out = Entries()
    day: int | None = None
    open_entry = False
    for line in lines:
        if len(line.raw) > LONGEST_ENTRY:
            out.reject(line.number, f"a line of {len(line.raw)} characters; at most {LONGEST_ENTRY} are read", line.shown)
        elif isinstance(line.stamp, str):
            out.reject(line.number, line.stamp, line.shown)
            open_entry = False
        elif line.stamp is not None:
            _add(out, line, _on_day(line.stamp, day), layout, names, context)
            open_entry = True
            day = day if line.stamp.kind in ("count", "elapsed") else None  # later times follow this one
        elif (heading := _heading(line, layout, open_entry)) is not None:
            if (found := whole_date(line.raw.strip(_HEADING_MARKS), context.frame)) is not None:
                day, heading = found, "a heading: dates the entries after it"
            out.reject(line.number, heading, line.shown)
        else:
            open_entry = _untimed(out, line, layout, names, open_entry)
    return out


def _heading(line: _Line, layout: _Layout, open_entry: bool) -> str | None:
    """The reason to set a line without time aside, or None when it is an entry or continues one."""
    text = line.words
    if text.startswith(("#", "//", "%%")):
        return "a comment or heading, not an entry"
    if _RULE.fullmatch(text):
        return "a rule, not an entry"
    if is_date(text.strip(_HEADING_MARKS)):
        return "a heading, not an entry"
    return "a heading: no entry with a time precedes it" if layout.timed and not open_entry else None


def _on_day(stamp: Stamp, day: int | None) -> Stamp:
    """A time of day under a heading that gives the day."""
    if day is None or not stamp.kind.startswith("day_"):
        return stamp
    return stamp._replace(kind=stamp.kind[4:], us=day * DAY_US + stamp.us)


def _add(out: Entries, line: _Line, stamp: Stamp, layout: _Layout, names: Names, context: Context) -> None:
    kept = line.count_us is not None and (line.set_off or layout.count_column)
    words = line.words if kept or line.count_us is None else line.words_kept
    head = names.head(words)
    if line.count_us is not None and not kept and (after := names.head(line.words)).who:
        kept, words, head = True, line.words, after
    if not words:
        out.reject(line.number, "a time and no words", line.shown)
        return
    text = words[head.end:].strip() or words
    out.add(line.number, line.raw_time, happened(stamp, text, context.frame), text, station=head.who, to=head.to, net=head.net,
            stamp_t_us=line.count_us if kept else None, dur_us=line.dur_us)


def _untimed(out: Entries, line: _Line, layout: _Layout, names: Names, open_entry: bool) -> bool:
    """A line without a time: goes on with the entry before, unless somebody else known speaks in it."""
    text = line.words
    head = names.head(text)
    if not layout.timed or not out.text:
        out.add(line.number, None, None, text[head.end:].strip() or text, station=head.who, to=head.to, net=head.net)
    elif _LEFT_CLOCK.match(text) or (head.who and names.is_known(head.who) and head.end < len(text)):
        stamp = None if _LEFT_CLOCK.match(text) else out.stamp[-1]
        out.add(line.number, None, stamp, text[head.end:].strip(), station=head.who, to=head.to, net=head.net)
    elif len(out.text[-1]) + len(text) < LONGEST_ENTRY:
        out.text[-1] = f"{out.text[-1]} {text}"
    else:
        out.reject(line.number, f"continues an entry of more than {LONGEST_ENTRY} characters", line.shown)
    return open_entry
