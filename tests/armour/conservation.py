"""What every reader owes, whatever is in the file: nothing raised, nothing lost, nothing that a table cannot hold."""

from __future__ import annotations

from pathlib import Path

from aftercount.count import CountFolder, LogSpec
from aftercount.logs import files, frames
from aftercount.logs.entries import LONGEST_ENTRY, RAW_SHOWN, Context, Entries
from aftercount.logs.names import known_names
from aftercount.logs.reading import READERS
from aftercount.logs.walltime import Frame
from aftercount.tables import RECORDS

T0_US = 1_934_289_000_000_000  # 2031-04-18T14:30:00Z
STATIONS = {"TC": ("test conductor",), "PROP": ("propulsion",), "RANGE": ("range safety",)}
MOST_US = 1 << 61  # far inside 64 bits, so that differences fit too
TIMES = (None, "utc", "local", "count", "elapsed")


def count(zone: str = "UTC") -> CountFolder:
    return CountFolder(folder=Path("."), id="x", title="", kind="rehearsal", t0_us=T0_US, window=None, zone=zone, plan_file=Path("plan.csv"),
                       logs=(), stations=STATIONS)


def try_bytes(form: str, data: bytes, time: str | None = None, zone: str = "UTC") -> Entries:
    """Bytes as a log of that format, in whatever encoding they are."""
    return try_reader(form, files.decode(files.Content(data)), time, zone)


def try_reader(form: str, text: str, time: str | None = None, zone: str = "UTC", *, placed: bool = True) -> Entries:
    """Reads a log of that format and checks what came out; raises AssertionError, or whatever the reader does.

    placed: go on to the table of records, which takes most of the time.
    """
    bare = time or ("utc" if zone == "UTC" else "local")
    out = READERS[form](text, Context(Frame(T0_US, bare), known_names(STATIONS), {}, time))
    single = len(out.line)
    assert {len(getattr(out, c)) for c in ("raw_time", "stamp", "text", "station", "to", "net", "stamp_t_us", "dur_us")} == {single}
    lines = text.split("\n")
    accounted(form, lines, out)
    assert all(abs(s.us) < MOST_US for s in out.stamp if s is not None) and all(abs(t) < MOST_US for t in out.stamp_t_us if t is not None)
    assert all(len(r.raw) <= RAW_SHOWN + 1 and r.reason for r in out.rejects)
    if placed:
        _place(out, time, zone)
    return out


def _place(out: Entries, time: str | None, zone: str) -> None:
    single, rejected = len(out.line), len(out.rejects)
    frame, _ = frames.build(LogSpec("x", Path("x"), time=time), count(zone), out)
    assert len(frame) + len(out.rejects) == single + rejected + (0 if out.bulk is None else len(out.bulk.line)), "placing times lost an entry"
    RECORDS.to_arrow(RECORDS.conform(frame))


def accounted(form: str, lines: list[str], out: Entries) -> None:
    """Every line with something on it is an entry, part of one, or a reject."""
    told = [*out.line, *(r.line for r in out.rejects), *([] if out.bulk is None else out.bulk.line.tolist())]
    assert all(0 <= n <= len(lines) for n in told), "a line that is not in the file"
    filled = [i for i, line in enumerate(lines, 1) if line.strip()]
    if form in ("jsonl", "syslog") and not lines[0].lstrip().startswith("["):
        assert sorted(told) == filled, "an entry a line"
    if form == "notes":
        seen = set(told)
        kept = " ".join(out.text)
        for i in filled:
            assert i in seen or len(lines[i - 1]) > LONGEST_ENTRY or lines[i - 1].strip() in kept, f"line {i} is nowhere: {lines[i - 1][:60]!r}"
