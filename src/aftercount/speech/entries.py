"""Which sentences does each record hold, and when was each said by the log's own clock?

Conventions: microseconds of the log's own clock as in RECORDS; a cue's time is shared out by words. `sigma_s` is how well
the record's time dates the words: the clock's resolution, the cue's edges, how its time was shared out, the note-taker's delay.

It does not read the sentences.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import Any

import pandas as pd

from aftercount.speech.directory import Directory
from aftercount.speech.sentences import pieces, shares

# Half of all writers round a time and half cut it: rms error sqrt((1/12 + 1/3) / 2) of the resolution.
RESOLUTION_SHARE = 0.456
CUE_EDGE_S = 0.3  # transcripts put a cue's edge within some tenths of a second of the voice
WORD_S = 0.4  # 150 words a minute: the pace of a loop, for transcripts that give no durations
PACE_SHARE = 0.15  # people do not speak evenly: error of a shared-out time
PAUSE_S = 0.4  # nor do words tell of the pause between two people's: turns are taken within some tenths of a second (studies of talk; value from memory)
NOTE_DELAY_S = 1.0  # a note-taker looks up, then writes
MACHINE_SIGMA_S = 0.005  # network and logging jitter of a stamped event


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of one record; `row` is the record's row."""

    row: int
    text: str
    own_us: int | None
    sigma_s: float


def _column(frame: pd.DataFrame, name: str) -> list[Any]:
    return [None if v is None or v is pd.NA or v != v else v for v in frame[name].astype(object).tolist()]


class Records:
    """The records as plain lists, ordered by source and line."""

    def __init__(self, frame: pd.DataFrame) -> None:
        order = {s: i for i, s in enumerate(dict.fromkeys(frame["source"].tolist()))}
        ranks = frame["source"].map(order)
        ordered = frame.assign(_rank=ranks).sort_values(["_rank", "line", "record"], kind="stable") if len(frame) else frame
        self.columns: dict[str, list[Any]] = {name: _column(ordered, name) for name in frame.columns}

    def __len__(self) -> int:
        return len(self.columns["text"])

    def __getitem__(self, name: str) -> list[Any]:
        return self.columns[name]

    def sentences(self, directory: Directory) -> Iterator[Sentence]:
        columns = (self[name] for name in ("text", "medium", "own_us", "dur_us", "resolution_s"))
        before = self._of_cues_begun()
        for row, (text, medium, own_us, dur_us, resolution_s) in enumerate(zip(*columns, strict=True)):
            text = text or ""
            parts = pieces(text, medium, directory)
            base = _sigma(medium, resolution_s or 0.0)
            if medium == "speech" and before[row]:
                base = hypot(base, PAUSE_S, PACE_SHARE * min(before[row], dur_us / 1e6))
            if len(parts) == 1:
                yield Sentence(row, text.strip(), own_us, base)
                continue
            length_s = _length_s(text, medium, dur_us or 0)
            for (start, end), (begun, _) in zip(parts, shares(text, parts), strict=True):
                offset_s, shared_s = begun * length_s, PACE_SHARE * min(begun, 1 - begun) * length_s
                own = None if own_us is None else own_us + round(offset_s * 1e6)
                yield Sentence(row, text[start:end].strip(), own, hypot(base, shared_s, PAUSE_S if offset_s else 0.0))

    def _of_cues_begun(self) -> list[float]:
        """Of rows of one entry that several people share, whose times were shared out: the seconds of it that went before each."""
        out, first = [], None
        for source, line, own_us in zip(self["source"], self["line"], self["own_us"], strict=True):
            if first is None or (source, line) != first[:2]:
                first = (source, line, own_us)
            out.append((own_us - first[2]) / 1e6 if own_us is not None and first[2] is not None else 0.0)
        return out


def _length_s(text: str, medium: str, dur_us: int) -> float:
    """How long the words took; notes are written at one time."""
    if medium != "speech":
        return 0.0
    return dur_us / 1e6 if dur_us else WORD_S * len(text.split())


def _sigma(medium: str, resolution_s: float) -> float:
    own = {"machine": MACHINE_SIGMA_S, "typed": NOTE_DELAY_S}.get(medium, CUE_EDGE_S)
    return hypot(own, RESOLUTION_SHARE * resolution_s)
