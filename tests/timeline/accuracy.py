"""How well the clock, the holds and the time base are rebuilt from simulated logs. Run: python tests/timeline/accuracy.py --help

Reviews drawn counts whole, and prints one line a count and the figures over all, by kind of logs; with --stage only as far as the clock, which
is quick, and leaves out what the logs' clocks owe to the steps that several logs tell. For development the scenarios are those the weights were
fitted on; --held-back takes the others, for measuring, with seeds not used before.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from aftercount import count as counts
from aftercount import logs, plan, speech, timeline
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.scenario import FITTING, HELD_BACK
from aftercount.rehearse.write import rehearse
from aftercount.review import review
from timeline.drawn import BASE, Drawn, Log
from timeline.measures import Measured, Tally, figures, measure

CASES: dict[str, dict[str, object]] = {
    "sequencer": {"logs": ("sequencer", "notes", "transcript"), "word_error": 0.1, "silent_holds": 0.5},
    "voice": {"logs": ("transcript",), "word_error": 0.3, "false_marks": 0.33, "transcript_start": True, "silent_holds": 0.5},
    "voice and notes": {"logs": ("notes", "transcript"), "word_error": 0.15, "silent_holds": 0.5},
    "sequencer and notes": {"logs": ("sequencer", "notes"), "silent_holds": 0.5},
    "reset": {"logs": ("sequencer", "notes", "transcript"), "word_error": 0.1, "reset_log": 1},
}


SIX_HOURS = [(-14400.0, 3600.0, 3600.0), (-3600.0, 1200.0, 600.0), (-540.0, 900.0, 600.0)]


def drifts(seeds: range) -> None:
    """Drift and offset on drawn counts of six hours, whose logs share readings of the clock alone, by kind of log: a keeper's notes, a recorder, a second machine."""
    errors: dict[str, list[tuple[float, float, float]]] = {"notes": [], "net": [], "ground": []}
    for seed in seeds:
        rng = np.random.default_rng(seed)
        logs = [Log("seq", marks=0, stamps=400, medium="machine"),
                Log("notes", offset=rng.normal(0, 20), ppm=rng.normal(0, 40), marks=60, sigma=0.5, false=0.1, lag=float(rng.choice([0.5, 1.0, 1.5]))),
                Log("net", offset=rng.normal(0, 5), ppm=rng.normal(0, 40), marks=120, sigma=0.5, false=0.2, medium="speech"),
                Log("ground", offset=rng.normal(0, 20), ppm=rng.normal(0, 40), marks=0, stamps=200, medium="machine")]
        of = Drawn(logs, SIX_HOURS, start_t=-16000.0, seed=seed)
        rows = of.timeline().sources.set_index("source")
        for log in logs[1:]:
            row = rows.loc[log.name]
            since_middle = row["offset_at_utc"].timestamp() - BASE.t0_us / 1e6 - (of.begin + of.end) / 2
            drift = abs(row["drift_ppm"] - log.ppm)
            errors[log.name].append((drift, abs(row["offset_s"] - log.offset - log.ppm * 1e-6 * since_middle), drift / row["drift_sigma_ppm"]))
    for name, found in errors.items():
        drift, offset, ratio = np.array(found).T
        print(f"  {name:6} drift ppm median {np.median(drift):.1f} p95 {np.quantile(drift, .95):.1f}; offset s median {np.median(offset):.3f} "
              f"p95 {np.quantile(offset, .95):.3f} of {len(drift)}; drift within 1 sigma: {np.mean(ratio <= 1):.3f} within 1.96: {np.mean(ratio <= 1.96):.3f}")


def staged(folder: Path) -> Measured:
    """What is measured of a count, by reading, speech and timeline alone."""
    count, _ = counts.load(folder)
    assert count is not None
    procedure, _ = plan.load(count)
    assert procedure is not None
    records, _, sources = logs.read(count)
    spoken = speech.understand(records, count, procedure)
    got = timeline.rebuild(spoken, sources, count, procedure)
    events = spoken.utterances.assign(utc=pd.to_datetime(got.utc_us, unit="us", utc=True), utc_sigma_s=got.utc_sigma_s)
    return Measured(events, got.sources, got.holds, got.clock, got.outcome)


def reviewed(folder: Path) -> Measured:
    got = review(folder)
    return Measured(got.events, got.sources, got.holds, got.clock, got.summary["outcome"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--case", choices=sorted(CASES), action="append")
    parser.add_argument("--seeds", type=int, default=16)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--steps", type=int, default=60)
    parser.add_argument("--held-back", action="store_true")
    parser.add_argument("--quiet", action="store_true")
    parser.add_argument("--stage", action="store_true", help="as far as the clock only: no steps are matched")
    parser.add_argument("--six-hours", action="store_true", help="drift on drawn counts of six hours instead")
    args = parser.parse_args()
    if args.six_hours:
        drifts(range(args.first, args.first + args.seeds))
        return
    scenarios = HELD_BACK if args.held_back else FITTING
    for case in args.case or CASES:
        tally = Tally()
        print(case, flush=True)
        for seed in range(args.first, args.first + args.seeds):
            scenario = scenarios[seed % len(scenarios)]
            options = RehearsalOptions(scenario=scenario, steps=args.steps, **CASES[case])  # type: ignore[arg-type]
            with tempfile.TemporaryDirectory() as there:
                made = rehearse(Path(there) / "count", seed=seed, options=options)
                line = measure((staged if args.stage else reviewed)(made.folder), made.data, tally)
            if not args.quiet:
                print(f"  {seed} {scenario:10} {line}", flush=True)
        print("\n".join(f"  {line}" for line in figures(tally)), flush=True)


if __name__ == "__main__":
    main()
