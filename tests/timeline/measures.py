"""How far is one review from the truth of its simulated count: clock, holds, time base, and do the stated sigmas cover it?

Conventions: seconds. Everything is compared in the time of the reference log: its own error is nobody's to know. A ratio is an error over
its stated sigma: 68.3 % within 1 and 95 % within 1.96 is what an honest sigma does. It does not draw the counts: `accuracy` does.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

import numpy as np
import pandas as pd

from aftercount import timeline

SHORT_S = 30.0  # silent holds shorter than this are not asked for
ALIKE = 0.75  # of the letters of two words that are one, misheard
ANNOUNCED_S = 10.0  # a hold that is called is called within so long of its beginning
SET_BACK_S = 600.0  # a clock set back in a hold may be heard of when it runs again
POINTS = 1000  # instants at which the clock is compared
TOUCH_S = 15.0  # holds that overlap, or miss each other by less than this, are the same


@dataclass
class Tally:
    """What was measured, over counts. Ratios by `table kind`."""

    errors: list[float] = field(default_factory=list)
    outside: list[float] = field(default_factory=list)
    offsets: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    drifts: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    resets: list[float] = field(default_factory=list)
    ratios: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    durations: list[float] = field(default_factory=list)
    found: dict[str, list[int]] = field(default_factory=lambda: {k: [0, 0, 0] for k in ("called", "silent", "silent that can be told", "set back")})
    brackets: list[bool] = field(default_factory=list)
    outcomes: list[bool] = field(default_factory=list)
    reasons: list[bool] = field(default_factory=list)


@dataclass(frozen=True)
class Measured:
    """What is measured of one count: tables of a review, as far as it went."""

    events: pd.DataFrame
    sources: pd.DataFrame
    holds: pd.DataFrame
    clock: pd.DataFrame
    outcome: str


@dataclass(frozen=True)
class Frame:
    """The reference log's clock against the world's: what to add to its UTC, `offset` at instant `at` and `drift` from there on."""

    offset: float = 0.0
    drift: float = 0.0
    at: float = 0.0

    def world(self, u: np.ndarray) -> np.ndarray:
        return np.asarray(u + self.offset + self.drift * (u - self.at))

    def own(self, u: np.ndarray) -> np.ndarray:
        return np.asarray(u - self.offset - self.drift * (u - self.at))


def measure(got: Measured, truth: dict[str, Any], tally: Tally) -> str:
    """Adds one review to the tally; its line for the screen."""
    frame = _frame(got, truth)
    media = dict(zip(got.events["source"].tolist(), got.events["medium"].tolist(), strict=True))
    kind = next((media.get(s, "typed") for s in got.sources.loc[got.sources["reference"], "source"]), "no reference")
    worst = _clock(got, truth, frame, tally, kind)
    lost = _holds(got, truth, frame, tally) + _recycles(got, truth, frame, tally)
    off = _bases(got, truth, frame, tally, media)
    _events(got, truth, frame, tally)
    tally.outcomes.append(got.outcome == truth["outcome"])
    end = "" if tally.outcomes[-1] else f" outcome {got.outcome} for {truth['outcome']}"
    return f"p95 {worst:7.3f}  holds {lost or 'ok':30} offsets {off}{end}"


def instant(text: str | None) -> float:
    return np.nan if text is None else pd.Timestamp(text).timestamp()


def _seconds(column: pd.Series) -> np.ndarray:
    return (column.astype("int64") / 1e6).where(column.notna()).to_numpy(dtype=float)


def _frame(got: Measured, truth: dict[str, Any]) -> Frame:
    name = got.sources.loc[got.sources["reference"], "source"].tolist()
    for row in truth["sources"]:
        if name == [row["source"]] and row["offset_s"] is not None and row["start_known"]:
            return Frame(row["offset_s"], row["drift_ppm"] * 1e-6, instant(row["offset_at_utc"]))
    both = _told_once(got, truth)  # no log tells UTC: laid on the schedule, which the count did not keep
    apart = np.array([instant(t) for t in both["utc_true"]]) - _seconds(both["utc"])
    return Frame(float(np.median(apart))) if len(apart) else Frame()


def _told_once(got: Measured, truth: dict[str, Any]) -> pd.DataFrame:
    """Entries that carry one thing, with the instant at which it was said or done, `utc_true`."""
    lines = pd.DataFrame(truth["lines"])
    once = lines[~lines.duplicated(["source", "line"], keep=False)]
    events = got.events[~got.events.duplicated(["source", "line"], keep=False) & got.events["utc"].notna()]
    return events.merge(once[["source", "line", "utc"]], on=["source", "line"], suffixes=("", "_true"))


def _clock(got: Measured, truth: dict[str, Any], frame: Frame, tally: Tally, kind: str) -> float:
    rows = truth["clock"]
    starts, ends = (np.array([instant(r[k]) for r in rows]) for k in ("start_utc", "end_utc"))
    u = np.linspace(starts[0], ends[-1], POINTS + 2)[1:-1]
    which = np.clip(np.searchsorted(starts, u, side="right") - 1, 0, len(rows) - 1)
    runs = np.array([r["state"] == "counting" for r in rows])[which]
    true_t = np.array([r["start_t_s"] for r in rows])[which] + np.where(runs, u - starts[which], 0.0)
    said, _, _, sigma = timeline.clock.at(got.clock, np.rint(frame.own(u) * 1e6).astype(np.int64))
    known = np.isfinite(said)
    error = np.abs(said - true_t)
    inside = np.zeros(len(u), dtype=bool)
    inferred = got.holds[got.holds["basis"] == "inferred"]
    for low, high in zip(inferred["t_low_s"], inferred["t_high_s"], strict=True):
        inside |= (true_t >= low) & (true_t <= high)
    tally.errors += error[known].tolist()
    tally.outside += error[known & ~inside].tolist()
    tally.ratios[f"clock {kind}"] += (error[known & runs] / sigma[known & runs]).tolist()
    return float(np.quantile(error[known], 0.95)) if known.any() else np.nan


def common(mine: dict[str, Any], start: float, end: float) -> float:
    """Seconds in common with a true hold; an inferred one may lie anywhere in its bracket of count times."""
    low, high = (mine["t_s"] if pd.isna(mine[c]) else mine[c] for c in ("t_low_s", "t_high_s"))
    return float(min(mine["e"] + high - mine["t_s"], end) - max(mine["s"] - (mine["t_s"] - low), start))


def _holds(got: Measured, truth: dict[str, Any], frame: Frame, tally: Tally) -> str:
    mine: list[dict[str, Any]] = []
    for row in got.holds.to_dict("records"):
        start, end = (np.inf if pd.isna(row[c]) else float(frame.world(np.array([row[c].timestamp()]))[0]) for c in ("start_utc", "end_utc"))
        mine.append({**{str(k): v for k, v in row.items()}, "s": start, "e": end})
    lost = []
    for real in sorted(truth["holds"], key=lambda h: not h["called"]):  # a silent hold is not found by making its neighbour longer
        kind = "called" if real["called"] else "silent"
        s, e = instant(real["start_utc"]), np.inf if real["end_utc"] is None else instant(real["end_utc"])
        near = [m for m in mine if common(m, s, e) > -TOUCH_S]
        best = max(near, key=lambda m: common(m, s, e), default=None)
        if kind == "silent" and (real["duration_s"] or 0) < SHORT_S:
            mine = [m for m in mine if m is not best]
            continue
        tally.found[kind][0 if best else 1] += 1
        if kind == "silent" and can_be_told(real, truth):
            tally.found["silent that can be told"][0 if best else 1] += 1
        if best is None:
            lost.append(f"{kind} {real['t_s']:.0f}/{real['duration_s']}")
            continue
        mine.remove(best)
        _one_hold(best, real, kind, tally)
    for m in mine:
        for kind in ("called",) if m["basis"] == "called" else ("silent", "silent that can be told"):
            tally.found[kind][2] += 1
        lost.append(f"false {m['basis']} {m['t_s']:.0f}/{m['duration_s']:.0f}")
    return ", ".join(lost)


def can_be_told(silent: dict[str, Any], truth: dict[str, Any]) -> bool:
    """Whether the count was read, in some log and rightly, between a silent hold and each of its neighbours: the hold before it (or the beginning of the
    count) and the hold after it (or the end; where nobody planned the hold its call is a reading, of a planned one it says no more than that the count
    stands there now). Where it was not, a longer neighbour explains all that was said."""
    read = np.array([instant(m["utc"]) for m in truth["marks"] if not m["false"]])
    start, end = instant(silent["start_utc"]), instant(silent["end_utc"])
    before = max([e for h in truth["holds"] if (e := instant(h["end_utc"])) <= start], default=instant(truth["clock"][0]["start_utc"]))
    after = min([s for h in truth["holds"] if (s := instant(h["start_utc"])) >= end], default=instant(truth["clock"][-1]["end_utc"]))
    called = any(h["called"] and h["kind"] == "unplanned" and instant(h["start_utc"]) == after for h in truth["holds"])
    upto = after + (ANNOUNCED_S if called else 0.0)
    return bool(((read > before) & (read < start)).any() and ((read > end) & (read < upto)).any())


def _recycles(got: Measured, truth: dict[str, Any], frame: Frame, tally: Tally) -> str:
    """Times that the clock was set back, or that it is said to have been."""
    real = [instant(b["start_utc"]) for a, b in zip(truth["clock"], truth["clock"][1:], strict=False) if a["pass"] != b["pass"]]
    starts = frame.world(_seconds(got.clock["start_utc"].astype("datetime64[us, UTC]").astype("int64")))
    mine = starts[1:][np.diff(got.clock["pass"].to_numpy(dtype=int)) != 0].tolist()
    found = tally.found["set back"]
    for u in real:
        near = min(mine, key=lambda m: abs(m - u), default=np.inf)
        hit = abs(near - u) <= SET_BACK_S
        found[0 if hit else 1] += 1
        mine = [m for m in mine if m != near] if hit else mine
    found[2] += len(mine)
    return f" false recycles {len(mine)}" if mine else ""


def _one_hold(best: dict[str, Any], real: dict[str, Any], kind: str, tally: Tally) -> None:
    if real["duration_s"] is not None and not pd.isna(best["duration_s"]):
        tally.durations.append(abs(best["duration_s"] - real["duration_s"]))
    if kind == "silent" and not pd.isna(best["t_low_s"]):
        tally.brackets.append(best["t_low_s"] - 1 <= real["t_s"] <= best["t_high_s"] + 1)
    if real.get("reason") and real["called"] and real["kind"] == "unplanned":  # a planned hold's is its name in the plan
        tally.reasons.append(same_words(str(best["reason"] or ""), real["reason"]))


def same_words(said: str, real: str) -> bool:
    """Whether at least half of what was really the reason is among what was said to be, as far as it was heard right."""
    heard, named = ([w for w in re.findall(r"[a-z0-9]+", text.lower()) if len(w) > 2] for text in (said, real.split(",")[0]))
    return sum(max((SequenceMatcher(None, w, h).ratio() for h in heard), default=0.0) >= ALIKE for w in named) * 2 >= len(named)


def _bases(got: Measured, truth: dict[str, Any], frame: Frame, tally: Tally, media: dict[str, str]) -> str:
    rows = got.sources.set_index("source")
    shown = []
    for real in truth["sources"]:
        row = rows.loc[real["source"]]
        if real["offset_s"] is None or row["reference"]:
            continue
        reset = real["reset"]
        true = (reset or real)["offset_s"]
        # at one instant, that for which the truth is stated: offsets of drifting clocks differ from hour to hour
        at = instant(real["offset_at_utc"])
        mine = float(row["offset_s"]) + float(row["drift_ppm"]) * 1e-6 * (at - row["offset_at_utc"].timestamp()) if pd.notna(
            row["offset_at_utc"]) else np.nan
        error = mine - true + frame.offset + frame.drift * (at - frame.at)
        shown.append(f"{error:+.2f}/{row['offset_sigma_s']:.2f}{'r' if reset else ''}")
        off = abs(error) if np.isfinite(error) else np.inf
        kind = media.get(real["source"], "typed")
        if reset:
            tally.resets.append(off)
            continue
        tally.offsets[kind].append(off)
        tally.ratios[f"offset {kind}"].append(off / float(row["offset_sigma_s"]) if np.isfinite(off) else np.inf)
        drift = abs(float(row["drift_ppm"]) - real["drift_ppm"] + frame.drift * 1e6)
        tally.drifts[kind].append(drift)
        tally.ratios[f"drift {kind}"].append(drift / float(row["drift_sigma_ppm"]))
    return " ".join(shown)


def _events(got: Measured, truth: dict[str, Any], frame: Frame, tally: Tally) -> None:
    both = _told_once(got, truth)
    true = frame.own(np.array([instant(t) for t in both["utc_true"]]))
    error = np.abs(_seconds(both["utc"]) - true)
    for kind, ratio in zip(both["medium"], error / both["utc_sigma_s"], strict=True):
        tally.ratios[f"utc {kind}"].append(float(ratio))


def figures(tally: Tally) -> list[str]:
    """The tally in lines."""
    out = [f"clock error    median {_q(tally.errors, .5)} p95 {_q(tally.errors, .95)}; outside brackets median "
           f"{_q(tally.outside, .5)} p95 {_q(tally.outside, .95)}"]
    for kind, (hit, miss, false) in tally.found.items():
        out.append(f"holds {kind}   found {hit} missed {miss} false {false} F1 {2 * hit / max(1, 2 * hit + miss + false):.3f}")
    out += [f"hold length    median {_q(tally.durations, .5)} p95 {_q(tally.durations, .95)}",
            f"brackets       {_share(tally.brackets)} of {len(tally.brackets)}"]
    every = [x for kind in tally.offsets.values() for x in kind]
    for kind, values in {**tally.offsets, "all": every}.items():
        drifts = tally.drifts[kind] if kind != "all" else [x for d in tally.drifts.values() for x in d]
        out.append(f"offset {kind:8}median {_q(values, .5)} p95 {_q(values, .95)} of {len(values)}; drift ppm median {_q(drifts, .5)} p95 {_q(drifts, .95)}")
    if tally.resets:
        out.append(f"offset after a reset median {_q(tally.resets, .5)} p95 {_q(tally.resets, .95)} of {len(tally.resets)}")
    for kind, ratios in sorted(tally.ratios.items()):
        r = np.array(ratios)
        out.append(f"sigma {kind:16} within 1: {np.mean(r <= 1):.3f}  within 1.96: {np.mean(r <= 1.96):.3f}  of {len(r)}")
    return [*out, f"outcome right  {_share(tally.outcomes)}; reasons {_share(tally.reasons)} of {len(tally.reasons)}"]


def _q(values: list[float], p: float) -> str:
    return f"{np.quantile(values, p):.3f}" if values else "-"


def _share(values: list[bool]) -> str:
    return f"{np.mean(values):.3f}" if values else "-"
