"""How long does the count clock take as the log grows, and how long understanding what was said?

    python tests/bench/bench_clock.py [--marks 20000]

Processor time, the least of three runs. The clock: a sequencer's stamps with two holds and a false one in fifty, from evidence to staircase,
against sorting and grouping the same numbers in pandas and against a quarter of them (near-linear: four times, not sixteen). Speech: as many
lines, all different, against splitting the same lines into words.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import measure
import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from aftercount import speech
from aftercount.speech.words import clean
from aftercount.timeline.evidence import Evidence
from aftercount.timeline.fit import fit
from aftercount.timeline.model import Costs
from aftercount.timeline.staircase import Prior
from speech.conftest import count, plan, records

SAID = ("T minus {m} minutes and counting", "TC, PROP, stage {n} valve {k} is closed", "PROP, TC, open the vent on tank {n}", "copy, pressure {k} on line {n}",
        "holding at T minus {m} minutes", "step {n} is in work", "weather shows {k} knots at tower {n}", "GNC, TC, verify platform {n} alignment {k}")


def stamps(n: int) -> tuple[Evidence, np.ndarray]:
    """Stamps of a machine over six hours, with two holds."""
    rng = np.random.default_rng(n)
    u = np.sort(rng.uniform(-20_000, 1_000, n))
    t = u.copy()
    for at, length in ((-9_000.0, 600.0), (-3_000.0, 900.0)):
        t = np.where(t > at, np.maximum(at, t - length), t)
    t = np.where(rng.random(n) < 0.02, t + rng.uniform(-900, 900, n), t + rng.normal(0, 0.02, n))
    flat = {k: np.full(n, v) for k, v in {"weight": 8.0, "sigma": 0.05, "read": 0.05, "slack": 1.0}.items()}
    whole = {k: np.zeros(n, dtype=np.int64) for k in ("source", "kind", "says", "origin", "row")}
    return Evidence(own=u, t=t, utterance=np.arange(n), **flat, **whole), u


def clock_s(n: int) -> float:
    evidence, u = stamps(n)
    return measure.cpu_s(lambda: fit(evidence, u, [], Prior(((-9_000.0, 600.0),), -20_000.0, 1_000.0), Costs()))


def pandas_s(n: int) -> float:
    evidence, u = stamps(n)
    return measure.cpu_s(lambda: pd.DataFrame({"u": u, "z": u - evidence.t}).sort_values("z").groupby(lambda i: i // 50).agg(["median", "std"]))


def lines(n: int) -> list[str]:
    return [f"{SAID[i % len(SAID)].format(m=i % 57 + 2, n=i % 9 + 1, k=i % 83)} {i}" for i in range(n)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--marks", type=int, default=20_000)
    n = parser.parse_args().marks
    whole, quarter, sort = clock_s(n), clock_s(n // 4), pandas_s(n)
    print(f"clock    {n} stamps {whole:.2f} s processor; {whole / quarter:.1f} times a quarter of them; {whole / sort:.1f} times pandas' sort and group")
    said = lines(n)
    split = measure.cpu_s(lambda: [clean(text).split() for text in said])
    for medium in ("speech", "typed", "machine"):
        made, here = records(said, medium), (count(), plan())
        took = measure.cpu_s(lambda made=made, here=here: speech.understand(made, *here), repeat=1)
        print(f"speech   {n} distinct lines, {medium:7} {took:.2f} s processor; {took / split:.0f} times splitting them into words")


if __name__ == "__main__":
    main()
