"""How accurate are reviews of counts that another hand simulated (tests/whole/otherhand)?

    python tests/accuracy/otherhand.py [--seeds 3] [--first 61] [--noise 0 0.15 0.3] [--logs all voice typed pair]

One row for each kind of logs and noise, its counts pooled: every procedure with every seed, with what the clock does changing from count to
count. Not a test: it sets no bar.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import aftercount as ac
from aftercount.findings.score import figures, tally_of
from aftercount.findings.tally import Tally, pool
from whole.otherhand.scenarios import ALL
from whole.otherhand.write import write_count

PLOTS = ("clean", "hold", "hold silent", "extend", "recycle", "retarget hold", "scrub", "silent", "recycle twice", "hold extend", "abort", "hold recycle")
SHOWN = ("status_rate", "match_rate", "false_flag_rate", "response_rate", "calibration_error", "review_recall_of_wrong", "hold_called_f1", "hold_silent_f1", "outcome_rate")


def one(number: int, name: str, seed: int, logs: str, noise: float) -> Tally:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch, "count")
        truth = write_count(folder, name, seed, PLOTS[(number * 2 + seed * 5) % len(PLOTS)], logs, noise)
        review = ac.review(folder)
        return tally_of(dict(review.tables), truth, review.summary["outcome"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--first", type=int, default=61)
    parser.add_argument("--noise", type=float, nargs="+", default=[0.0, 0.15, 0.3])
    parser.add_argument("--logs", nargs="+", default=["all", "voice"])
    wanted = parser.parse_args()
    for logs in wanted.logs:
        for noise in wanted.noise:
            seeds = range(wanted.first, wanted.first + wanted.seeds)
            tally = pool(one(i, name, seed, logs, noise) for i, name in enumerate(ALL) for seed in seeds)
            made = figures(tally)
            shown = ", ".join(f"{name} {'-' if made[name] is None else format(made[name], '.4g')}" for name in SHOWN)
            order = "/".join(str(tally.counts[f"out_of_order_{kind}"]) for kind in ("tp", "fp", "fn"))
            print(f"{logs} {noise}: {len(seeds) * len(ALL)} counts, {made['steps']} steps: {shown}, out of order {order}", flush=True)


if __name__ == "__main__":
    main()
