"""How well do trend and gate do on simulated seasons whose truth is known?

    python tests/campaign/power.py [--seasons 200] [--seed N] [--more]

Seasons are drawn at the level of review tables (tests/seasons.py): 40 steps, one value in a hundred missed. Each step has
a level of its own and a spread of its own, drawn evenly from 1 to 5 s: people on a voice loop answer within seconds, and
a step that varies by more cannot show a slip of 15 s in two counts (how the power depends on it is the last table).
Three kinds of season:
    slopes   12 counts, six of the steps with a true slope of 0.5 to 2 s a count, either way
    slip     12 counts, then one step 15 s later for two more; the gate is run after each, the trend at the end
    steady   13 counts, nothing happens; the gate is run after the last
With no --seed every run draws fresh seasons and says from which seed. --more adds other spreads, strays and short baselines.
"""

from __future__ import annotations

import argparse
import secrets
import sys
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from aftercount.campaign.gate import judge
from aftercount.campaign.gather import CountData
from aftercount.campaign.scores import LEAST_BEFORE
from aftercount.campaign.season import build
from aftercount.campaign.signals import COUNT_ALPHA
from aftercount.campaign.stats import FALSE_DISCOVERY, wilson
from aftercount.campaign.trend import trend_of
from seasons import SeasonSpec, season

STEPS, SLIP_S, BEFORE, SLOPED = 40, 15.0, 12, 6
ON_THE_DAY = ("beyond_limit", "shift", "ewma", "cusum")
SPREADS = ((1.0, 2.0), (2.0, 3.0), (3.0, 4.0), (4.0, 5.0))
OTHERS = {
    "sigma 1 to 5 s": SeasonSpec(), "all 3 s": SeasonSpec(sigma=(3.0, 3.0)), "2 to 8 s": SeasonSpec(sigma=(2.0, 8.0)),
    "1 to 5 s, one value in 100 a stray": SeasonSpec(outlier_rate=0.01), "1 to 5 s, three in 100": SeasonSpec(outlier_rate=0.03),
    "1 to 5 s, a team that learns": SeasonSpec(learning=40.0), "1 to 5 s, whole seconds": SeasonSpec(whole_seconds=True),
}
BASELINES = (1, 2, 3, 6, 12, 24)


@dataclass
class Share:
    """A share with its 95 % interval."""

    hits: int = 0
    n: int = 0

    def add(self, hits: int, n: int = 1) -> None:
        self.hits, self.n = self.hits + int(hits), self.n + n

    def __str__(self) -> str:
        low, high = wilson(self.hits, self.n)
        return f"{100 * self.hits / max(1, self.n):5.1f} %  ({self.hits} of {self.n}; {100 * low:.1f} to {100 * high:.1f})"


@dataclass
class Slips:
    """What became of seasons with a slip; false: counts in which another step raised a signal of a kind."""

    once: Share = field(default_factory=Share)
    twice: Share = field(default_factory=Share)
    signalled: Share = field(default_factory=Share)
    false: dict[str, Share] = field(default_factory=lambda: {kind: Share() for kind in ON_THE_DAY})
    changes: list[float] = field(default_factory=list)


    def add(self, other: Slips) -> None:
        for mine, its in ((self.once, other.once), (self.twice, other.twice), (self.signalled, other.signalled),
                          *((self.false[kind], other.false[kind]) for kind in ON_THE_DAY)):
            mine.add(its.hits, its.n)
        self.changes += other.changes


def name(i: int) -> str:
    return f"{i // 10 + 1}.{i % 10 + 1}"


def named(counts: list[CountData], step: str) -> bool:
    """Whether the gate names the step as later in the last of these counts, the others its baseline."""
    return any(w.step == step and w.kind == "later" for w in judge(counts[-1], build(counts[:-1])).worse)


def slopes(seed: int, covered: Share, false: list[float], power: Share) -> None:
    rng = np.random.default_rng([seed, 1])
    places = rng.choice(STEPS, SLOPED, replace=False)
    true = {int(i): float(rng.choice([-1, 1]) * rng.uniform(0.5, 2.0)) for i in places}
    steps = trend_of(build(season(seed, SeasonSpec(counts=BEFORE, steps=STEPS, slopes=true)))).trend
    truth = np.array([true.get(i, 0.0) for i in range(STEPS)])
    covered.add(((steps["slope_low_s"] <= truth) & (truth <= steps["slope_high_s"])).sum(), STEPS)
    told = (steps["q"] < FALSE_DISCOVERY).to_numpy()
    false.append(float((told & (truth == 0)).sum() / max(1, told.sum())))
    power.add((told & (truth != 0)).sum(), SLOPED)


def slip(seed: int, spec: SeasonSpec, before: int, into: Slips, *, signals: bool = True) -> float:
    """One season with a slip; returns the spread of the step that slipped."""
    i = int(np.random.default_rng([seed, 2]).integers(STEPS))
    counts = season(seed, replace(spec, counts=before + 2, steps=STEPS, slips={i: (before, SLIP_S)}))
    once = named(counts[:-1], name(i))
    into.once.add(once)
    into.twice.add(once or named(counts, name(i)))
    if signals:
        found = trend_of(build(counts)).signals
        mine = found[(found["step"] == name(i)) & found["kind"].isin(ON_THE_DAY)]
        into.signalled.add(bool((mine["rehearsal"] > before).any()))
        others = found[found["step"] != name(i)]
        for kind, share in into.false.items():
            share.add(others[others["kind"] == kind]["rehearsal"].nunique(), len(counts) - LEAST_BEFORE)
        told = found[found["kind"] == "change"]
        into.changes.append(float((told["step"] != name(i)).sum() / max(1, len(told))))
    return float(np.random.default_rng(seed).uniform(*spec.sigma, size=STEPS)[i])


def steady(seed: int, spec: SeasonSpec, before: int, kinds: Counter[str]) -> bool:
    counts = season(seed, replace(spec, counts=before + 1, steps=STEPS))
    verdict = judge(counts[-1], build(counts[:-1]))
    kinds.update({w.kind for w in verdict.worse})
    return not verdict.passed


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seasons", type=int, default=200)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--more", action="store_true")
    options = parser.parse_args()
    first = secrets.randbelow(10**9) if options.seed is None else options.seed
    seeds = range(first, first + options.seasons)
    print(f"{options.seasons} seasons of each kind, seed {first}")
    covered, power, false = Share(), Share(), []
    for seed in seeds:
        slopes(seed, covered, false, power)
    print(f"95 % intervals of slopes hold the truth    {covered}\nfalse among the trends told, on average    {100 * np.mean(false):5.1f} %"
          f"  (stated: {100 * FALSE_DISCOVERY:.0f} %)\ntrue slopes told                           {power}")
    slips, by_spread = Slips(), {bounds: Slips() for bounds in SPREADS}
    for seed in seeds:
        one = Slips()
        sigma = slip(seed, SeasonSpec(), BEFORE, one)
        groups = [slips, *(s for (low, high), s in by_spread.items() if low <= sigma < high)]
        for into in groups:
            into.add(one)
    print(f"15 s slip signalled within two rehearsals  {slips.signalled}\n  named by the gate at once                {slips.once}\n"
          f"  named by the gate within two             {slips.twice}")
    for kind, share in slips.false.items():
        print(f"  counts with a false {kind:22s} {share}  (stated: {100 * COUNT_ALPHA:.0f} %)")
    print(f"  false among the changes told, on average {100 * np.mean(slips.changes):5.1f} %  (stated: {100 * FALSE_DISCOVERY:.0f} %)")
    kinds: Counter[str] = Counter()
    failed = Share()
    for seed in seeds:
        failed.add(steady(seed + 10**9, SeasonSpec(), BEFORE, kinds))
    print(f"steady seasons that fail the gate          {failed}  {dict(kinds) or ''}")
    print("\nby the spread of the step that slipped     named at once / within two / signalled, %")
    for bounds, into in by_spread.items():
        print(f"  {bounds[0]:.0f} to {bounds[1]:.0f} s ({into.once.n:3d} seasons)     {_row(into)}")
    if options.more:
        more(first, options.seasons)


def more(first: int, seasons: int) -> None:
    for title, cases in (("other seasons", {words: (spec, BEFORE) for words, spec in OTHERS.items()}),
                         ("length of the baseline", {f"{n} counts": (SeasonSpec(), n) for n in BASELINES})):
        print(f"\n{title:42s} named at once / within two / steady seasons failed, %")
        for words, (spec, before) in cases.items():
            into, failed, kinds = Slips(), Share(), Counter[str]()
            for seed in range(first, first + seasons):
                slip(seed + 2 * 10**9, spec, before, into, signals=False)
                failed.add(steady(seed + 3 * 10**9, spec, before, kinds))
            print(f"  {words:40s} {100 * into.once.hits / into.once.n:5.1f} {100 * into.twice.hits / into.twice.n:5.1f} "
                  f"{100 * failed.hits / failed.n:5.1f}  {dict(kinds) or ''}", flush=True)


def _row(into: Slips) -> str:
    return " ".join(f"{100 * s.hits / max(1, s.n):5.1f}" for s in (into.once, into.twice, into.signalled))


if __name__ == "__main__":
    main()
