"""How long does the whole job take for the largest count, as a user starts it, and how long is the import?

    python tests/bench/bench_whole.py [--steps 300] [--lines 20000]

A simulated count; to its transcript are added lines of talk from all over the plan's words until it has the wanted number.
Ratios are against starting Python with pandas, pyarrow and rapidfuzz and doing nothing.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from pathlib import Path

import measure

from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse

BARE = "import pandas, pyarrow, rapidfuzz"
IMPORT = "import aftercount"
REVIEW = "import sys\nfrom aftercount.cli import main\ntry:\n    main(['review', sys.argv[1], '--out', sys.argv[2]])\nexcept SystemExit as end:\n    assert end.code == 0"


def large_count(folder: Path, steps: int, lines: int) -> None:
    """A count folder whose logs have that many lines."""
    options = RehearsalOptions(steps=steps, word_error=0.14, logs=("sequencer.csv", "notes.utc", "transcript.srt"))
    rehearse(folder, seed=77, options=options)
    have = sum(text.read_text("utf-8").count("\n") for text in folder.iterdir() if text.suffix in (".csv", ".txt", ".srt") and text.name != "plan.csv")
    notes = next(p for p in folder.iterdir() if p.suffix == ".txt")
    entries = [x for x in notes.read_text("utf-8").splitlines() if x[:1].isdigit()]
    rng = random.Random(3)
    words = sorted({w for x in entries for w in x.split()[1:] if w.isalpha()})
    first, last = entries[0].split()[0], entries[-1].split()[0]
    zulu = "Z" if first.endswith("Z") else ""
    begin, end = (sum(int(p) * k for p, k in zip(x.rstrip("Z").split(":"), (3600, 60, 1), strict=False)) for x in (first, last))
    span = (end - begin) % 86_400
    chatter = []
    for i in range(max(lines - have, 0)):
        at = int(begin + span * i / (lines - have)) % 86_400
        chatter.append(f"{at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d}{zulu} {' '.join(rng.choices(words, k=7))}")
    (folder / "talk.txt").write_text("\n".join(chatter) + "\n", "utf-8")
    toml = folder / "count.toml"
    toml.write_text(toml.read_text("utf-8") + '\n[[log]]\npath = "talk.txt"\n', "utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--steps", type=int, default=300)
    parser.add_argument("--lines", type=int, default=20_000)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch, "count")
        large_count(folder, wanted.steps, wanted.lines)
        bare = min(measure.child(BARE) for _ in range(3))
        light = min(measure.child(IMPORT) for _ in range(3))
        empty = min(measure.child("") for _ in range(3))
        wall, used, peak = min(measure.child(REVIEW, str(folder), str(Path(scratch, "out"))) for _ in range(2))
    measure.show(f"review of {wanted.steps} steps against {wanted.lines} lines, Python {sys.version.split()[0]}", [
        ("import of the package", f"{light[0] - empty[0]:.3f} s beyond Python's start of {empty[0]:.3f} s"),
        ("import of pandas, pyarrow, rapidfuzz", f"{bare[0]:.2f} s wall"),
        ("whole review, charts and page", f"{wall:.2f} s wall, {used:.2f} s processor = {used / bare[1]:.1f} x those imports; peak {peak} MB"),
    ])


if __name__ == "__main__":
    main()
