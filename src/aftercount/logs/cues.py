"""Who says what within one cue of a transcript, and when?

Samples:   <v Test Conductor>PROP, TC, go for step 4</v> <v PROP>in work
           TC: PROP, go for step 4          >> PROP: in work          - in work
Conventions: a part is (speaker or None, words). Every part is reported on the line on which its cue starts: its identifier
or number if it has one, else its times. The cue's time is shared out
over its parts by their words. Voice tags win over names before a colon; a dash or `>>` at the start of a line is a
change of speaker. Other tags are dropped, character references decoded.
It does not find speakers from the words alone: `speech` does.
"""

from __future__ import annotations

import html
import re
from typing import NamedTuple

from aftercount.logs.entries import LONGEST_ENTRY, Context, Entries
from aftercount.logs.names import Names
from aftercount.logs.walltime import DAY_US, US, Stamp

# A tag: slash, name, and classes with annotation (`.loud Test Conductor`); or an override block of other subtitles.
_TAG = re.compile(r"<(/?)([A-Za-z0-9]{0,20})([^<>]{0,500})>|\{\\[^{}]{0,200}\}")
_REFERENCE = re.compile(r"&(?:#\d{1,7}|#[xX][0-9a-fA-F]{1,6}|[A-Za-z][A-Za-z0-9]{1,31});")
_CHANGE = re.compile(r"\s*(?:>>+|[-\u2013\u2014])\s*(?=\S)")
_CUE_STEP_S = 0.001
# A recording that starts this late on its own clock, and runs through scheduled T-0's time of day, shows wall time.
_WALL_FROM_US = 4 * 3600 * US


class Part(NamedTuple):
    speaker: str | None
    text: str


class Cue(NamedTuple):
    line: int
    raw_time: str
    start_us: int
    end_us: int
    text: list[str]  # lines as written


def decode(text: str) -> str:
    return _REFERENCE.sub(lambda m: html.unescape(m[0]), text)


def parts(cue: Cue, names: Names) -> list[Part]:
    """The cue's words by speaker."""
    found: list[Part] = []
    voice: str | None = None
    for line in cue.text:
        fresh = True
        for speaker, words in _voices(line, voice):
            voice = speaker
            if words.strip():
                _append(found, speaker, words, names, fresh)
                fresh = False
        voice = _voice_after(line, voice)
    return [p for p in found if p.text]


def _voices(line: str, voice: str | None) -> list[tuple[str | None, str]]:
    """A line cut at its voice tags."""
    pieces: list[tuple[str | None, str]] = []
    at, words = 0, ""
    for tag in _TAG.finditer(line):
        words += line[at:tag.start()]
        at = tag.end()
        if tag[2] is not None and tag[2].lower() == "v":
            pieces.append((voice, decode(words)))
            words, voice = "", None if tag[1] else (_annotation(tag[3]))
    pieces.append((voice, decode(words + line[at:])))
    return pieces


def _annotation(text: str) -> str | None:
    """The speaker in `.first.loud Test  Conductor `, blanks collapsed."""
    name = re.sub(r"^\.[^\s]*", "", text)
    return decode(" ".join(name.split())) or None


def _voice_after(line: str, voice: str | None) -> str | None:
    return _voices(line, voice)[-1][0]


def _append(found: list[Part], speaker: str | None, words: str, names: Names, fresh: bool) -> None:
    """Add words: to the part before when the same voice goes on, else as a part of their own."""
    change = _CHANGE.match(words) if fresh else None
    text = words[change.end():] if change else words
    if speaker is None:
        head = names.head(text.strip())
        if head.who:
            found.append(Part(head.who, " ".join(text.strip()[head.end:].split())))
            return
    text = " ".join(text.split())
    sign = names.sign(speaker) if speaker else None
    same = found and (sign == found[-1].speaker or (sign is None and fresh)) and not change
    if same and len(found[-1].text) + len(text) < LONGEST_ENTRY:
        last = found[-1]
        found[-1] = Part(last.speaker, f"{last.text} {text}".strip())
    else:
        found.append(Part(sign, text))


def gather(cues: list[Cue], context: Context, out: Entries) -> Entries:
    """Cues to entries, times shared out."""
    names = Names(context.stations, context.terms)
    names.learn(decode(x).lstrip("->\u2013 ") for c in cues[:20_000] for x in c.text)
    kind = _clock_kind(cues, context, out)
    for cue in cues:
        spoken = parts(cue, names)
        if not spoken:
            out.reject(cue.line, "a cue without words", cue.raw_time)
            continue
        if max(len(p.text) for p in spoken) > LONGEST_ENTRY:
            out.reject(cue.line, f"a cue of more than {LONGEST_ENTRY} characters", cue.raw_time)
            continue
        out.shared += len(spoken) - 1
        _share(cue, spoken, kind, out)
    return out


def _share(cue: Cue, spoken: list[Part], kind: str, out: Entries) -> None:
    length = max(cue.end_us - cue.start_us, 0)
    sizes = [len(p.text.split()) for p in spoken]
    total, before = sum(sizes), 0
    for part, size in zip(spoken, sizes, strict=True):
        start, end = length * before // total, length * (before + size) // total
        before += size
        stamp = Stamp(kind, cue.start_us + start, _CUE_STEP_S)
        if kind.startswith("day_"):
            stamp = stamp._replace(us=stamp.us % DAY_US)
        out.add(cue.line, cue.raw_time, stamp, part.text, station=part.speaker, dur_us=end - start)


def _clock_kind(cues: list[Cue], context: Context, out: Entries) -> str:
    """Cue times count from the start of the recording, unless configured or plainly wall time."""
    out.medium = "speech"
    if context.time in ("utc", "local"):
        return f"day_{context.time}"
    if context.time is None and cues and cues[0].start_us >= _WALL_FROM_US and cues[-1].end_us < 2 * DAY_US:
        into = (context.frame.t0_us - cues[0].start_us) % DAY_US
        if into <= cues[-1].end_us - cues[0].start_us:
            out.notes.append("cue times read as wall time")
            return f"day_{context.frame.bare if context.frame.bare in ('utc', 'local') else 'utc'}"
    return "elapsed"
