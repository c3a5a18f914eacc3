"""Reading many lines at a time gives what reading them one by one gives, and quickly."""

from __future__ import annotations

import random
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercount.count import LogSpec
from aftercount.logs import bulk, frames, notes
from aftercount.logs.entries import Context, Entries
from aftercount.logs.names import known_names
from aftercount.logs.walltime import Frame
from logs.reading_logs import STATIONS, T0_US, count_of, read

LINES = st.sampled_from([
    "14:25:03 PROP>TC tank press complete", "14:25:04Z TC: go for step 4", "14:25:05 PROP>TC: in work", "14:25:06 TC>PROP go for all: now",
    "14:25:07 PROP>TC GO NOW: x", "23:59:59 TC: late", "00:00:01 TC: early", "14:25:08 NOTE: weather", "14:25:09 PM>TC x", "14:25:09 GMT: x", "14:25:09 L>TC x",
    "14:25:09 CH1: go", "14:25:10 TC: trailing  ", "14:25:10 TC: nbsp\u00a0", "  and on", "", " ", "# heading", "2031-04-17", "T-5:00 TC: resume", "14:25 TC: hold",
    "14:25:11 T-5:00 TC: go", "14:25:12 LOX: loading", "14:25:13 pad: a", "Pad: b", "14:25:14 TC: x|", "14:25:15 TC>RANGE é è", "99:99:99 TC: x", "PROP: untimed",
    "2031-04-18T14:25:20Z TC: z", "[14:25:21] PROP>TC w", "14:25:22.250 TC: frac", "14:26 PROP: hm", "14:25:23 tank press begun", "14:25:24 to 14:30 loading", "14:25:25 pm work", "14:25:26 hold - TC", "108/14:25:27Z TC: doy", "14:25:28+02:00 TC: zone", "14:25:29 T minus 5 and counting", "2031-04-18 14:25:30 tank press", "14:25:31 PROP to TC: directed", "- 14:25:32 TC: dash", "[14:25:33 TC] odd", "14:25:34 TC - bar", "14:25:35 - TC: gap", "14:25:36 Test Conductor: name",
    "1425 TC: bare", "-00:05:00 TC: signed", "14:25:16 Prop: y", "14:25:17 PROP: z", "2031-04-18 14:25:18 TC: dated", "14:25:19 TC: " + "long " * 4200,
])


def both(text: str, bare: str) -> tuple[Entries, Entries]:
    context = Context(Frame(T0_US, bare), known_names(STATIONS), {}, None, frozenset({"lox"}))
    return notes.read(text, context, bulk_from=1), notes.read(text, context, bulk_from=10**9)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(LINES, max_size=25), st.sampled_from(["utc", "local"]))
def test_the_same_as_one_by_one(lines: list[str], bare: str) -> None:
    worth, bulk.WORTH_FROM = bulk.WORTH_FROM, 1
    try:
        quick, slow = both("\n".join(lines), bare)
    finally:
        bulk.WORTH_FROM = worth
    assert slow.bulk is None
    assert quick.rejects == slow.rejects
    count = count_of(Path("x"), [], zone="America/New_York" if bare == "local" else "UTC")
    spec = LogSpec("n", Path("n"))
    (a, kind_a), (b, kind_b) = frames.build(spec, count, quick), frames.build(spec, count, slow)
    pd.testing.assert_frame_equal(a, b[a.columns])
    assert kind_a == kind_b and quick.rejects == slow.rejects


def test_regular_lines_are_really_read_in_bulk() -> None:
    quick, slow = both("14:25:03 PROP>TC in work\n" * (bulk.WORTH_FROM + 10) + "odd\n", "utc")
    assert quick.bulk is not None and len(quick.bulk.line) == bulk.WORTH_FROM + 9
    assert len(quick.line) == 1 and len(slow.line) == bulk.WORTH_FROM + 10


@pytest.fixture(scope="module")
def large() -> bytes:
    rng = random.Random(7)
    words = ["tank", "press", "complete", "valve", "open", "close", "in", "work", "go", "for", "stage", "one", "two", "LOX", "fuel", "copy", "hold", "nominal", "green", "reading"]
    signs = ["TC", "PROP", "RANGE", "GND", "NAV"]
    lines = []
    for i in range(200_000):
        second = 36_000 + i // 6
        clock = f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"
        lines.append(f"{clock} {rng.choice(signs)}>{rng.choice(signs)} {' '.join(rng.choices(words, k=6))}")
        if i % 1000 == 0:
            lines.append("    and a line that goes on")
    return ("\n".join(lines) + "\n").encode()


def test_a_large_file_is_read_wholly(tmp_path: Path, large: bytes) -> None:
    records, rejects, _ = read(tmp_path, "n.txt", large)
    assert len(records) == 200_000 and len(rejects) == 0
    assert records["text"].str.endswith("goes on").sum() == 200
