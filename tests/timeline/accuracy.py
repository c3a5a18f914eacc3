"""How well the clock, the holds and the time base are rebuilt from simulated logs. Run: python tests/timeline/accuracy.py --help

Prints one line a case and the figures over all. The seeds from 5000 on are for measuring, those below for development.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from aftercount import count as counts
from aftercount import logs, plan, speech, timeline
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.scenario import SCENARIOS
from aftercount.rehearse.write import rehearse

CASES = {
    "sequencer": {"logs": ("sequencer", "notes", "transcript"), "word_error": 0.1, "silent_holds": 0.5},
    "voice": {"logs": ("transcript",), "word_error": 0.3, "false_marks": 0.33, "transcript_start": True, "silent_holds": 0.5},
    "voice and notes": {"logs": ("notes", "transcript"), "word_error": 0.15, "silent_holds": 0.5},
}
SHORT_S = 30.0  # silent holds shorter than this are not asked for


@dataclass
class Tally:
    errors: list[float] = field(default_factory=list)
    outside: list[float] = field(default_factory=list)
    ratios: list[float] = field(default_factory=list)
    offsets: list[float] = field(default_factory=list)
    offset_ratios: list[float] = field(default_factory=list)
    drifts: list[float] = field(default_factory=list)
    durations: list[float] = field(default_factory=list)
    found: dict[str, list[int]] = field(default_factory=lambda: {"called": [0, 0, 0], "silent": [0, 0, 0]})
    brackets: list[bool] = field(default_factory=list)
    outcomes: list[bool] = field(default_factory=list)
    reasons: list[bool] = field(default_factory=list)


def instant(text: str | None) -> float:
    return np.nan if text is None else pd.Timestamp(text).timestamp()


def run(folder: Path, truth: dict[str, Any], tally: Tally) -> str:
    count, _ = counts.load(folder)
    assert count is not None
    procedure, _ = plan.load(count)
    assert procedure is not None
    records, _, sources = logs.read(count)
    got = timeline.rebuild(speech.understand(records, count, procedure), sources, count, procedure)
    worst = clock(got, truth, tally)
    lost = holds(got, truth, tally)
    off = bases(got, truth, tally)
    tally.outcomes.append(got.outcome == truth["outcome"])
    end = "" if got.outcome == truth["outcome"] else f" outcome {got.outcome} for {truth['outcome']}"
    return f"p95 {worst:7.2f}  holds {lost or 'ok':40} offsets {off}{end}"


def clock(got: timeline.Timeline, truth: dict[str, Any], tally: Tally) -> float:
    rows = truth["clock"]
    starts, ends = (np.array([instant(r[k]) for r in rows]) for k in ("start_utc", "end_utc"))
    u = np.linspace(starts[0], ends[-1], 1002)[1:-1]
    which = np.clip(np.searchsorted(starts, u, side="right") - 1, 0, len(rows) - 1)
    t0 = np.array([r["start_t_s"] for r in rows])[which]
    runs = np.array([r["state"] == "counting" for r in rows])[which]
    true_t = t0 + np.where(runs, u - starts[which], 0.0)
    base, drift, at = reference(got, truth)  # the reference's own error is nobody's to know: the clock is compared in its time
    said, _, _, sigma = timeline.clock.at(got.clock, np.rint((u - base - drift * (u - at)) * 1e6).astype(np.int64))
    known = np.isfinite(said)
    error = np.abs(said - true_t)[known]
    inferred = got.holds[got.holds["basis"] == "inferred"]
    inside = np.zeros(len(u), dtype=bool)
    for low, high in zip(inferred["t_low_s"], inferred["t_high_s"], strict=True):
        inside |= (true_t >= low) & (true_t <= high)
    tally.errors += error.tolist()
    tally.outside += error[~inside[known]].tolist()
    tally.ratios += (error / sigma[known]).tolist()
    return float(np.quantile(error, 0.95)) if len(error) else np.nan


def reference(got: timeline.Timeline, truth: dict[str, Any]) -> tuple[float, float, float]:
    """(offset, drift, instant of the offset) of the log whose clock was the reference."""
    name = got.sources.loc[got.sources["reference"], "source"].tolist()
    for row in truth["sources"]:
        if name == [row["source"]] and row["offset_s"] is not None and row["start_known"]:
            return row["offset_s"], row["drift_ppm"] * 1e-6, instant(row["offset_at_utc"])
    return 0.0, 0.0, 0.0


def merged(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A hold that goes on after the clock was set back in it is one hold."""
    out: list[dict[str, Any]] = []
    for row in rows:
        last = out[-1] if out else None
        if last and last["recycled_to_t_s"] is not None and last["end_utc"] == row["start_utc"]:
            both = None if row["duration_s"] is None else last["duration_s"] + row["duration_s"]
            out[-1] = {**last, "end_utc": row["end_utc"], "duration_s": both}
        else:
            out.append(row)
    return out


def holds(got: timeline.Timeline, truth: dict[str, Any], tally: Tally) -> str:
    mine = [dict(r, s=r["start_utc"].timestamp(), e=np.inf if pd.isna(r["end_utc"]) else r["end_utc"].timestamp())
            for r in got.holds.to_dict("records")]
    lost = []
    for real in merged(truth["holds"]):
        kind = "called" if real["called"] else "silent"
        s, e = instant(real["start_utc"]), np.inf if real["end_utc"] is None else instant(real["end_utc"])
        near = [m for m in mine if min(m["e"], e) - max(m["s"], s) > -15]
        best = max(near, key=lambda m: min(m["e"], e) - max(m["s"], s), default=None)
        if kind == "silent" and (real["duration_s"] or 0) < SHORT_S:
            mine = [m for m in mine if m is not best]
            continue
        tally.found[kind][0 if best else 1] += 1
        if best is None:
            lost.append(f"{kind} {real['t_s']:.0f}/{real['duration_s']}")
            continue
        mine.remove(best)
        if real["duration_s"] is not None and not pd.isna(best["duration_s"]):
            tally.durations.append(abs(best["duration_s"] - real["duration_s"]))
        if kind == "silent" and not pd.isna(best["t_low_s"]):
            tally.brackets.append(best["t_low_s"] - 1 <= real["t_s"] <= best["t_high_s"] + 1)
        if real.get("reason") and real["called"]:
            said = str(best["reason"] or "").lower()
            tally.reasons.append(real["reason"].lower() in said or (said != "" and said in real["reason"].lower()))
    for m in mine:
        tally.found["called" if m["basis"] == "called" else "silent"][2] += 1
        lost.append(f"false {m['basis']} {m['t_s']:.0f}/{m['duration_s']:.0f}")
    return ", ".join(lost)


def bases(got: timeline.Timeline, truth: dict[str, Any], tally: Tally) -> str:
    rows = got.sources.set_index("source")
    base, drift, _ = reference(got, truth)
    offs = []
    for real in truth["sources"]:
        row = rows.loc[real["source"]]
        if real["offset_s"] is None or real["reset"] is not None or row["reference"]:
            continue
        mine = float(row["offset_s"])
        off = abs(mine - real["offset_s"] + base) if np.isfinite(mine) else np.inf
        offs.append(f"{off:.2f}")
        tally.offsets.append(off)
        tally.offset_ratios.append(off / float(row["offset_sigma_s"]) if np.isfinite(mine) else np.inf)
        tally.drifts.append(abs(float(row["drift_ppm"]) - real["drift_ppm"] + drift * 1e6))
    return " ".join(offs)


def figures(tally: Tally) -> None:
    def q(values: list[float], p: float) -> str:
        return f"{np.quantile(values, p):.3f}" if values else "-"

    print(f"  clock error    median {q(tally.errors, .5)} p95 {q(tally.errors, .95)}; outside brackets median {q(tally.outside, .5)} p95 {q(tally.outside, .95)}")
    print(f"  clock sigma    within 1: {np.mean(np.array(tally.ratios) <= 1):.3f} within 1.96: {np.mean(np.array(tally.ratios) <= 1.96):.3f}")
    for kind, (hit, miss, false) in tally.found.items():
        print(f"  holds {kind}   found {hit} missed {miss} false {false} F1 {2 * hit / max(1, 2 * hit + miss + false):.3f}")
    print(f"  hold length    median {q(tally.durations, .5)} p95 {q(tally.durations, .95)} within 2 s {np.mean(np.array(tally.durations) <= 2) if tally.durations else 0:.3f}")
    print(f"  brackets       {np.mean(tally.brackets) if tally.brackets else np.nan:.3f} of {len(tally.brackets)}")
    print(f"  offsets        median {q(tally.offsets, .5)} p95 {q(tally.offsets, .95)}; within 1 sigma {np.mean(np.array(tally.offset_ratios) <= 1):.3f} 1.96 {np.mean(np.array(tally.offset_ratios) <= 1.96):.3f}")
    print(f"  drift ppm      median {q(tally.drifts, .5)} p95 {q(tally.drifts, .95)}")
    print(f"  outcome right  {np.mean(tally.outcomes):.3f}; reasons {np.mean(tally.reasons) if tally.reasons else np.nan:.3f} of {len(tally.reasons)}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--case", choices=sorted(CASES), action="append")
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--quiet", action="store_true")
    args = parser.parse_args()
    for case in args.case or CASES:
        tally = Tally()
        print(case)
        for seed in range(args.first, args.first + args.seeds):
            scenario = SCENARIOS[seed % len(SCENARIOS)]
            with tempfile.TemporaryDirectory() as there:
                made = rehearse(Path(there) / "count", seed=seed, options=RehearsalOptions(scenario=scenario, **CASES[case]))
                line = run(made.folder, made.data, tally)
            if not args.quiet:
                print(f"  {seed} {scenario:12} {line}")
        figures(tally)


if __name__ == "__main__":
    main()
