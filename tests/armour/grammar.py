"""What the grammar of the spoken count owes, whatever is said."""

from __future__ import annotations

import math
from pathlib import Path

import pandas as pd

from aftercount import speech
from aftercount.counttime import format_count, format_duration, parse_count, parse_duration
from aftercount.plan import Plan
from aftercount.plan.model import DTYPES
from aftercount.speech.anchors import anchors
from aftercount.speech.cues import cues
from aftercount.speech.marks import read_marks
from aftercount.speech.mending import mend
from aftercount.speech.numbers import read_number
from aftercount.speech.reasons import read_reason
from aftercount.speech.spans import read_spans
from aftercount.speech.targets import read_target
from aftercount.speech.words import clean, offsets, scan, words
from aftercount.tables import RECORDS
from armour.conservation import T0_US, count

MEDIA = ("typed", "machine", "speech")


def say(text: str, medium: str) -> None:
    """The grammar's parts on one sentence."""
    for tokens in {scan(text), words(text), mend(scan(text))}:
        for at in range(len(tokens)):
            read_number(tokens, at, homophones=True)
            for span in read_spans(tokens, at, homophones=True):
                assert span.end > at and math.isfinite(span.seconds)
        anchors(tokens)
        cues(tokens, tokens)
        for mark in read_marks(text, tokens, medium):
            assert mark.t_s is None or math.isfinite(mark.t_s)
    assert len(offsets(text)) == len(scan(text))
    read_reason(clean(text), 0)
    read_target(text, T0_US, "UTC")
    for parse, show in ((parse_count, format_count), (parse_duration, format_duration)):
        size = parse(text)
        if size is not None and abs(size) < 1e9:
            assert abs((parse(show(size)) or 0.0) - size) <= 0.51, "what is written is read back"


def understand(said: list[str], medium: str) -> speech.Speech:
    """The whole stage on a log of those sentences."""
    rows = [{"record": i, "source": "x.txt", "line": i + 1, "raw_time": None, "time_kind": "utc", "own_us": T0_US + i * 1_000_000, "dur_us": 0,
             "resolution_s": 1.0, "stamp_t_us": None, "station": None, "to": None, "net": None, "medium": medium, "text": t}
            for i, t in enumerate(said)]
    table = pd.DataFrame({name: pd.Series([], dtype=kind) for name, kind in DTYPES.items()})
    found = speech.understand(RECORDS.from_rows(rows), count(), Plan(table, str(Path("plan.csv"))))
    heard = found.utterances
    assert sorted(set(heard["record"])) == list(range(len(said))), "every record is at least one utterance"
    assert heard["text"].str.strip().ne("").all()
    for frame in (found.marks, found.calls, found.poll_answers):
        assert frame["utterance"].between(0, len(heard) - 1).all()
    return found
