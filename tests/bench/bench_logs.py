"""How long does reading a large log take, against pandas.read_csv on the same bytes, and how much memory?

    python tests/bench/bench_logs.py [--lines 1000000]

Processor time, the least of three runs. `columns`: read_csv splits the bytes at spaces, as a table; `one column`: it
does nothing but find the lines.
"""

from __future__ import annotations

import argparse
import io
import random
import tempfile
from pathlib import Path

import measure
import pandas as pd

from aftercount.count import CountFolder, LogSpec
from aftercount.logs import read

T0_US = 1_934_288_703_000_000
FORMS = {
    "hh:mm:ss WHO>TO": lambda clock: f"{clock} PROP>TC",
    "[hh:mm:ss] WHO:": lambda clock: f"[{clock}] PROP:",
    "RFC 3339 WHO:": lambda clock: f"2031-04-18T{clock}Z PROP:",
    "hh:mm:ss, nobody named": lambda clock: clock,
}
WORDS = ["tank", "press", "complete", "valve", "open", "close", "in", "work", "go", "stage", "one", "two", "fuel", "copy", "hold", "nominal", "green", "check"]
CHILD = """
import sys
from pathlib import Path
from aftercount.count import CountFolder, LogSpec
from aftercount.logs import read
file = Path(sys.argv[1])
records, rejects, sources = read(CountFolder(file.parent, "x", "x", "rehearsal", int(sys.argv[3]), None, "UTC", file, (LogSpec(file.name, file),), {}))
assert len(records) + len(rejects) == int(sys.argv[2])
"""


def note_lines(count: int, form: str) -> bytes:
    rng = random.Random(5)
    lines = []
    for i in range(count):
        second = 36_000 + i * 40_000 // count
        clock = f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"
        lines.append(f"{FORMS[form](clock)} {' '.join(rng.choices(WORDS, k=6))}\n")
    return "".join(lines).encode()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lines", type=int, default=1_000_000)
    lines = parser.parse_args().lines
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "notes.txt")
        for form in FORMS:
            data = note_lines(lines, form)
            file.write_bytes(data)
            count = CountFolder(Path(folder), "x", "x", "rehearsal", T0_US, None, "UTC", file, (LogSpec(file.name, file),), {})
            ours = measure.cpu_s(lambda count=count: read(count))
            columns = measure.cpu_s(lambda data=data: pd.read_csv(io.BytesIO(data), header=None, sep=" "))
            one = measure.cpu_s(lambda data=data: pd.read_csv(io.BytesIO(data), header=None, names=["line"], sep="\x01"))
            peak = measure.child(CHILD, str(file), str(lines), str(T0_US))[2]
            rows.append((form, f"{ours:.2f} s = {ours / columns:.1f} x columns = {ours / one:.1f} x one column; peak {peak} MB"))
    measure.show(f"reading {lines} note lines", rows)


if __name__ == "__main__":
    main()
