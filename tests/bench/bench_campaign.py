"""How many counts go how fast: reviewed side by side, passed over when unchanged, compared over a season.

    python tests/bench/bench_campaign.py                                     small, for every day
    python tests/bench/bench_campaign.py --counts 100 --again 1000 --flat 200 --reviews 1000

Wall times say what a person waits for; on a machine that others use they say nothing of the tool, so processor time is given
beside them. "two idle processors" is the processor time of one worker's run over the larger share of two workers': the gain
where nothing else runs.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import measure
import numpy as np
import pandas as pd
import pyarrow.parquet as pq

from aftercount import count as counts
from aftercount.campaign.fingerprint import inputs_digest, stamp
from aftercount.campaign.many import Where, expand, review_many
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse
from aftercount.report.folder import WriteOptions
from aftercount.tables import HOLDS, STEPS

LARGE = RehearsalOptions(steps=200, nets=2, story="hold", list_logs=True)  # about 2,000 lines in four logs
TREND = "import sys\nfrom aftercount.cli import run\nassert run(['trend', sys.argv[1], '--out', sys.argv[2]]) == 0"
PLAIN = "words = [str(i % 9973) for i in range(400_000)]\nfor _ in range(8):\n    seen = {}\n    for w in words:\n        seen[w] = seen.get(w, 0) + len(w)"
SMALL = RehearsalOptions(steps=20, story="hold", logs=("sequencer", "notes"))


def main() -> None:
    options = _options()
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        root = Path(folder)
        print(f"{os.process_cpu_count() if hasattr(os, 'process_cpu_count') else os.cpu_count()} processors, load {os.getloadavg()[0]:.1f} before the start")
        made = _counts(root / "counts", options.counts, LARGE)
        side_by_side(made, root)
        again(made, root, options.again)
        flat(_counts(root / "small", options.flat, SMALL), root)
        if options.reviews:
            season(root, options.reviews)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--counts", type=int, default=6, help="counts of 200 steps reviewed by one and by two workers")
    parser.add_argument("--again", type=int, default=200, help="unchanged counts that a second run passes over")
    parser.add_argument("--flat", type=int, default=20, help="counts of 20 steps, for the cost of the first ten and the last ten")
    parser.add_argument("--reviews", type=int, default=1000, help="reviews of 200 steps that a trend compares; 0: none")
    return parser.parse_args()


def side_by_side(folder: Path, root: Path) -> None:
    """One worker against two: whole runs of the command, with all that starting workers costs."""
    number = len(list(folder.iterdir())) // 2
    print(f"\nreview, {number} counts of 200 steps, {_lines(folder):,.0f} lines each")
    wall, cpu = {}, {}
    for jobs in (1, 2):
        with _measured() as figures:
            _aftercount("review", folder, "--out", root / f"reviews{jobs}", "--jobs", jobs)
        wall[jobs], cpu[jobs] = figures["wall"], figures["cpu"]
        print(f"  {jobs} worker{'s' if jobs > 1 else ' '}  {wall[jobs]:7.1f} s wall  {cpu[jobs]:7.1f} s processor  {cpu[jobs] / number:5.2f} s processor a count")
    print(f"  two against one: {wall[1] / wall[2]:.2f} times by the wall clock; {cpu[1] / (cpu[2] / 2):.2f} times on two idle processors\n"
          f"  this machine, two processes of plain Python against one: {machine():.2f} times by the wall clock")


def machine() -> float:
    """What a second processor of this machine is worth to work that shares nothing: the best that two workers could do."""
    def wall(processes: int) -> float:
        start = time.perf_counter()
        for child in [subprocess.Popen([sys.executable, "-c", PLAIN]) for _ in range(processes)]:
            child.wait()
        return time.perf_counter() - start

    return float(np.median([2 * wall(1) / wall(2) for _ in range(3)]))


def again(folder: Path, root: Path, number: int) -> None:
    """A second run over unchanged counts: the reviewed ones and copies of them under other ids, stamped as reviewed."""
    many, out = root / "many", root / "many-reviews"
    originals = sorted(p for p in folder.iterdir() if p.is_dir())
    for i in range(number):
        one = originals[i % len(originals)]
        copy, review = many / f"c{i:04d}", out / f"c{i:04d}"
        shutil.copytree(one, copy)
        toml = (copy / "count.toml").read_text("utf-8")
        (copy / "count.toml").write_text(toml.replace(f'id = "{one.name}"', f'id = "{copy.name}"'), "utf-8")
        shutil.copytree(root / "reviews1" / one.name, review)
        loaded, _ = counts.load(copy)
        assert loaded is not None and loaded.id == copy.name
        stamp(review, inputs_digest(loaded, WriteOptions()))
    with _measured() as figures:
        told = _aftercount("review", many, "--out", out, "--json")
    assert all(r["unchanged"] for r in json.loads(told))
    print(f"\nsecond run, {number} unchanged counts of 200 steps\n  {figures['wall']:.1f} s wall  {figures['cpu']:.1f} s processor")


def flat(folder: Path, root: Path) -> None:
    """Processor time of each count in one process, the first after a start left out."""
    times = [time.process_time()]
    review_many(expand([str(folder)]), str(root / "flat"), WriteOptions(), Where(jobs=1), lambda _: times.append(time.process_time()))
    each = np.diff(times)[1:]
    print(f"\ncost a count over a run, {len(each) + 1} counts of 20 steps, one process\n"
          f"  first ten {each[:10].mean():.2f} s, last ten {each[-10:].mean():.2f} s processor: {each[-10:].mean() / each[:10].mean():.2f} times")


def season(root: Path, number: int) -> None:
    """A trend over reviews that are whole folders, their step tables drawn anew from one real review's."""
    reviews = root / "season"
    _season(next((root / "reviews1").iterdir()), reviews, number)
    wall, used, peak = measure.child(TREND, str(reviews), str(root / "trend"))
    size = sum(p.stat().st_size for p in reviews.rglob("*") if p.is_file()) / 1e6
    print(f"\ntrend, {number} reviews of 200 steps ({size:.0f} MB)\n"
          f"  {wall:.1f} s wall  {used:.1f} s processor  {peak} MB at most")


def _season(real: Path, reviews: Path, number: int) -> None:
    steps, holds = STEPS.from_arrow(pq.read_table(real / "steps.parquet")), HOLDS.from_arrow(pq.read_table(real / "holds.parquet"))
    summary, rng = json.loads((real / "summary.json").read_text("utf-8")), np.random.default_rng(1)
    start, missed_rate = pd.Timestamp("2031-01-01T12:00:00Z"), 0.01
    for i in range(number):
        out = reviews / f"r{i:04d}"
        out.mkdir(parents=True)
        for name in ("events.parquet", "matches.parquet", "report.html"):
            os.link(real / name, out / name)
        drawn = steps.assign(deviation_s=steps["deviation_s"] + rng.normal(0, 3, len(steps)))
        missed = rng.random(len(steps)) < missed_rate
        drawn.loc[missed, ["status", "deviation_s", "timing"]] = ["missed", np.nan, None]
        pq.write_table(STEPS.to_arrow(drawn), out / "steps.parquet", compression="zstd")
        pq.write_table(HOLDS.to_arrow(holds), out / "holds.parquet", compression="zstd")
        t0 = (start + pd.Timedelta(days=i)).isoformat().replace("+00:00", "Z")
        (out / "summary.json").write_text(json.dumps(summary | {"count": out.name, "t0_scheduled": t0}), "utf-8")


def _counts(folder: Path, number: int, options: RehearsalOptions) -> Path:
    for i in range(number):
        rehearse(folder / f"c{i:04d}", seed=i, options=options)
    return folder


def _lines(folder: Path) -> float:
    """Entries of the logs of one count, about: a cue of a transcript takes four lines of its file."""
    one = next(p for p in sorted(folder.iterdir()) if p.is_dir())
    logs = [p for p in one.iterdir() if p.suffix not in (".toml", ".parquet") and p.name != "plan.csv"]
    return sum(len(p.read_bytes().splitlines()) / (4 if p.suffix in (".vtt", ".srt") else 1) for p in logs)


@contextmanager
def _measured() -> Iterator[dict[str, float]]:
    """Wall and processor seconds of the processes that are waited for within."""
    figures: dict[str, float] = {}
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    yield figures
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    figures |= {"wall": time.perf_counter() - start, "cpu": after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime}


def _aftercount(*args: object) -> str:
    done = subprocess.run([sys.executable, "-m", "aftercount", *map(str, args)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


if __name__ == "__main__":
    main()
