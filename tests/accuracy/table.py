"""How accurate are reviews? Simulated counts over word error, logs, scenarios and seeds, scored and laid out as a table.

    python tests/accuracy/table.py                                   the whole table (many minutes)
    python tests/accuracy/table.py --seeds 3 --noise 0 0.3 --logs all transcript --errors

Conventions: word error as a share; each cell pools its counts (see `aftercount.findings.tally`); wrong steps of the two
baselines (tests/match/baselines.py) stand beside ours. Seeds begin at `FIRST_SEED`, which no fit has used. Not a test: it
sets no bar.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from aftercount.findings.heard import micros  # noqa: E402
from aftercount.findings.score import figures, tally_of  # noqa: E402
from aftercount.findings.tally import Tally, pool  # noqa: E402

FIRST_SEED = 50_000
NOISE = (0.0, 0.04, 0.14, 0.25, 0.55)  # published word error rates of radio and loop speech
LOGS = {
    "all": ("sequencer", "notes", "transcript"),
    "voice+notes": ("notes", "transcript"),
    "transcript": ("transcript",),
    "notes": ("notes",),
}
COLUMNS = (
    ("status", "status_rate", "{:.3f}"), ("match", "match_rate", "{:.3f}"), ("false", "false_flag_rate", "{:.4f}"),
    ("timing", "timing_rate", "{:.3f}"), ("ooo P", "out_of_order_precision", "{:.2f}"), ("ooo R", "out_of_order_recall", "{:.2f}"),
    ("aft P", "after_precision", "{:.2f}"), ("aft R", "after_recall", "{:.2f}"), ("resp", "response_rate", "{:.3f}"), ("rdbk P", "readback_precision", "{:.2f}"), ("rdbk R", "readback_recall", "{:.2f}"),
    ("ECE", "calibration_error", "{:.3f}"), ("rev", "review_share", "{:.3f}"), ("rev R", "review_recall_of_wrong", "{:.2f}"),
    ("called", "hold_called_f1", "{:.3f}"), ("silent", "hold_silent_f1", "{:.3f}"), ("brkt", "bracket_rate", "{:.2f}"),
    ("clk50", "clock_error_outside_brackets_s_p50", "{:.2f}"), ("clk95", "clock_error_outside_brackets_s_p95", "{:.2f}"),
    ("1sig", "clock_within_1_sigma_rate", "{:.2f}"), ("95%", "clock_within_95_rate", "{:.2f}"),
    ("off95", "offset_error_s_p95", "{:.2f}"), ("drift95", "drift_error_ppm_p95", "{:.0f}"), ("outc", "outcome_rate", "{:.2f}"),
    ("wrong", "status_wrong", "{}"),
)


@dataclass
class Job:
    scenario: str
    noise: float
    logs: str
    seed: int
    options: dict[str, Any] = field(default_factory=dict)
    keep: str | None = None
    baselines: bool = True

    @property
    def name(self) -> str:
        return f"{self.scenario}-{self.logs.replace('+', '_')}-{round(self.noise * 100):02d}-{self.seed}"


@dataclass
class Outcome:
    job: Job
    tally: Tally | None
    seconds: float
    fault: str = ""
    errors: list[str] = field(default_factory=list)


def run(job: Job) -> Outcome:
    """Write one count, review it, score it."""
    from aftercount.rehearse.options import RehearsalOptions
    from aftercount.rehearse.write import rehearse
    from aftercount.review import review

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(job.keep or scratch) / job.name
        options = RehearsalOptions(scenario=job.scenario, word_error=job.noise, logs=LOGS[job.logs], **job.options)
        started = time.process_time()
        if folder.exists():
            shutil.rmtree(folder)
        try:
            truth = rehearse(folder, seed=job.seed, options=options)
            started = time.process_time()
            made = review(folder)
        except Exception:
            return Outcome(job, None, time.process_time() - started, traceback.format_exc())
        seconds = time.process_time() - started
        tally = tally_of(made.tables, truth.data, made.summary["outcome"])
        if job.baselines:
            _baselines(dict(made.tables), truth.data, tally)
        return Outcome(job, tally, seconds, errors=_errors(dict(made.tables), truth.data))


def _baselines(tables: dict[str, Any], truth: dict[str, Any], tally: Tally) -> None:
    """Wrong statuses of the honest baselines, given the same rebuilt clock and the same utterances."""
    from match import baselines

    steps, events = tables["steps"], tables["events"]
    due = steps[["step", "pass", "due_utc", "planned_t_s", "must"]].assign(reached=steps["due_utc"].notna())
    heard = events[["text", "t_s"]].assign(utc_us=micros(events["utc"]))
    actions = dict(zip(steps["step"], steps["action"], strict=True))
    real = {(s["step"], s["pass"]): s["status"] for s in truth["steps"]}
    for name, find in (("ratio", baselines.token_set_ratio), ("difflib", baselines.difflib_ratio)):
        said = {}
        for row, taken in zip(due.to_dict("records"), find(due, heard, actions), strict=True):
            absent = "not_reached" if not row["reached"] else "missed" if row["must"] else "skipped"
            said[(row["step"], row["pass"])] = absent if taken is None else "done"
        for key in sorted(set(real) | set(said)):
            tally.hit(f"baseline:{name}", real.get(key) == said.get(key))


def _errors(tables: dict[str, Any], truth: dict[str, Any]) -> list[str]:
    """One line a step that is wrong, for reading."""
    mine = {(r["step"], r["pass"]): r for r in tables["steps"].to_dict("records")}
    carried: dict[tuple[str, int], set[tuple[str, int]]] = {}
    for row in truth["lines"]:
        if row.get("step") is not None and not row.get("near_miss"):
            carried.setdefault((row["step"], row["pass"]), set()).add((row["source"], row["line"]))
    out = []
    for real in truth["steps"]:
        got = mine.get((real["step"], real["pass"]))
        if got is None:
            out.append(f"{real['step']}#{real['pass']} has no row; truth {real['status']}")
            continue
        key = (real["step"], real["pass"])
        faults = [f"{c} {real[c]}>{got[c]}" for c in ("status", "timing", "out_of_order", "response")
                  if not _same(real[c], got[c]) and not (c == "out_of_order" and real["ambiguous"])]
        if set(real["violates"]) != set(got["violates"]):
            faults.append(f"violates {real['violates']}>{list(got['violates'])}")
        if got["status"] == "done" and (got["source"], got["line"]) not in carried.get(key, set()):
            faults.append(f"matched a line that is not it; true lines {sorted(carried.get(key, set()))[:4]}")
        if faults:
            dev = f"dev {_short(real['deviation_s'])}>{_short(got['deviation_s'])}±{_short(got['deviation_sigma_s'])}"
            out.append(f"{real['step']}#{real['pass']} {'; '.join(faults)} | {dev} tol -{_short(got['early_s'])}/+{_short(got['late_s'])}"
                       f" conf {got['confidence']:.2f} rev {got['review']} | {got['evidence']}")
    return out


def _same(one: Any, other: Any) -> bool:
    absent = (one is None or one != one, other is None or other != other)
    return all(absent) or (not any(absent) and one == other)


def _short(value: Any) -> str:
    return "-" if value is None or value != value else f"{value:.1f}"


def scenarios() -> list[str]:
    import aftercount.rehearse.scenarios as package

    return sorted(p.stem for p in Path(str(package.__file__)).parent.glob("*.py") if p.stem != "__init__")


def table(outcomes: list[Outcome]) -> str:
    cells: dict[tuple[str, float], list[Outcome]] = {}
    for outcome in outcomes:
        cells.setdefault((outcome.job.logs, outcome.job.noise), []).append(outcome)
    lines = [" ".join(["logs        ", "noise", "  n", "cpu s", *(f"{t:>7}" for t, _, _ in COLUMNS), "baselines wrong"])]
    for (logs, noise), group in sorted(cells.items(), key=lambda c: (list(LOGS).index(c[0][0]), c[0][1])):
        tally = pool(o.tally for o in group if o.tally is not None)
        made = figures(tally)
        shown = [f"{(form.format(made[key]) if made[key] is not None else '-'):>7}" for _, key, form in COLUMNS]
        rivals = sorted(k[9:-6] for k in tally.counts if k.startswith("baseline:") and k.endswith("_total"))
        wrong = [f"{r} {tally.counts[f'baseline:{r}_total'] - tally.counts[f'baseline:{r}_right']}" for r in rivals]
        seconds = sum(o.seconds for o in group) / len(group)
        lines.append(" ".join([f"{logs:<12}", f"{noise:5.2f}", f"{len(group):3d}", f"{seconds:5.1f}", *shown, ", ".join(wrong)]))
    return "\n".join(lines)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--first-seed", type=int, default=FIRST_SEED)
    parser.add_argument("--noise", type=float, nargs="+", default=NOISE)
    parser.add_argument("--logs", nargs="+", choices=LOGS, default=list(LOGS))
    parser.add_argument("--scenarios", nargs="+", default=None)
    parser.add_argument("--options", type=json.loads, default={}, help="more rehearsal options, as JSON")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--keep", help="write the counts here and keep them")
    parser.add_argument("--no-baselines", action="store_true")
    parser.add_argument("--errors", action="store_true", help="list every wrong step")
    parser.add_argument("--json", help="write the figures of each cell and run here")
    return parser.parse_args()


def main() -> int:
    asked = arguments()
    jobs = [
        Job(scenario, noise, logs, asked.first_seed + 100 * k + n, asked.options, asked.keep, not asked.no_baselines)
        for k, scenario in enumerate(asked.scenarios or scenarios()) for noise in asked.noise for logs in asked.logs
        for n in range(asked.seeds)]
    with ProcessPoolExecutor(asked.processes) as workers:
        outcomes = list(workers.map(run, jobs))
    for outcome in outcomes:
        if outcome.fault:
            print(f"== {outcome.job.name}: the review failed\n{outcome.fault}")
        elif asked.errors and outcome.errors:
            print(f"== {outcome.job.name}", *outcome.errors, sep="\n   ")
    print(table(outcomes))
    if asked.json:
        made = [{"run": o.job.name, "figures": figures(o.tally), "seconds": o.seconds} for o in outcomes if o.tally]
        Path(asked.json).write_text(json.dumps(made, indent=1, sort_keys=True))
    return 1 if any(o.fault for o in outcomes) else 0


if __name__ == "__main__":
    sys.exit(main())
