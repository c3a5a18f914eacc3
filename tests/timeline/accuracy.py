"""How well the clock, the holds and the time base are rebuilt from simulated logs. Run: python tests/timeline/accuracy.py --help

Reviews drawn counts whole, and prints one line a count and the figures over all, by kind of logs. For development the scenarios are those
the weights were fitted on; --held-back takes the others, for measuring, with seeds not used before.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.scenario import FITTING, HELD_BACK
from aftercount.rehearse.write import rehearse
from aftercount.review import review
from timeline.measures import Tally, figures, measure

CASES: dict[str, dict[str, object]] = {
    "sequencer": {"logs": ("sequencer", "notes", "transcript"), "word_error": 0.1, "silent_holds": 0.5},
    "voice": {"logs": ("transcript",), "word_error": 0.3, "false_marks": 0.33, "transcript_start": True, "silent_holds": 0.5},
    "voice and notes": {"logs": ("notes", "transcript"), "word_error": 0.15, "silent_holds": 0.5},
    "sequencer and notes": {"logs": ("sequencer", "notes"), "silent_holds": 0.5},
    "reset": {"logs": ("sequencer", "notes", "transcript"), "word_error": 0.1, "reset_log": 1},
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--case", choices=sorted(CASES), action="append")
    parser.add_argument("--seeds", type=int, default=16)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--steps", type=int, default=60)
    parser.add_argument("--held-back", action="store_true")
    parser.add_argument("--quiet", action="store_true")
    args = parser.parse_args()
    scenarios = HELD_BACK if args.held_back else FITTING
    for case in args.case or CASES:
        tally = Tally()
        print(case, flush=True)
        for seed in range(args.first, args.first + args.seeds):
            scenario = scenarios[seed % len(scenarios)]
            options = RehearsalOptions(scenario=scenario, steps=args.steps, **CASES[case])  # type: ignore[arg-type]
            with tempfile.TemporaryDirectory() as there:
                made = rehearse(Path(there) / "count", seed=seed, options=options)
                line = measure(review(made.folder), made.data, tally)
            if not args.quiet:
                print(f"  {seed} {scenario:10} {line}", flush=True)
        print("\n".join(f"  {line}" for line in figures(tally)), flush=True)


if __name__ == "__main__":
    main()
