"""What happened to the count: holds kept, stretched, cut short or unplanned, recycles, and how it ended.

Conventions: instants POSIX us, count times whole seconds. A called hold is called when it begins; a silent one is not called at
all. It does not decide what is said about it: `loop` does.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from aftercount.rehearse.clockwork import SECOND, Clockwork
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.procedure import PlanHold, Procedure
from aftercount.rehearse.scenario import Scenario

COUNT_LEAD_S = 60          # the logs begin this long before the count is picked up... the clock runs then too
TAIL_S = 75                # and go on this long after it ended
STEP_CLEAR_S = 3           # an unplanned stop lies at least this far from any planned step time
MIN_UNPLANNED_S = 40


@dataclass(frozen=True)
class Stop:
    """One planned-in-secret stop of the simulated count."""

    t: int
    length_s: float
    called: bool = True
    reason: str = ""
    recycle_to: int | None = None
    dwell_s: float = 0.0
    cutoff: bool = False
    caller: str = ""       # station that calls it, else drawn
    final: str = ""        # scrub | cutoff: the count never resumes


@dataclass
class HoldFact:
    number: int            # of the pass
    t: int
    start: int
    end: int | None
    planned_s: int
    kind: str
    called: bool
    reason: str
    step: str | None = None     # a late step that it waited for
    recycle_to: int | None = None
    final: str = ""
    cutoff: bool = False
    caller: str = ""


@dataclass
class Story:
    clock: Clockwork = field(default_factory=Clockwork)
    holds: list[HoldFact] = field(default_factory=list)
    outcome: str = "liftoff"
    outcome_us: int | None = None
    recycles: list[tuple[int, int, int]] = field(default_factory=list)  # (instant, from t, to t)


def pick(kind: str, scenario: Scenario, procedure: Procedure, options: RehearsalOptions, rng: Random) -> list[Stop]:
    """The unplanned stops of this count, by pass order."""
    if kind == "random":
        kind = rng.choices(["clean", "hold", "recycle", "scrub", "cutoff"], [3, 4, 2, 1, 1])[0]
    stops: list[Stop] = []
    if kind in ("hold", "recycle") or (kind != "clean" and rng.random() < 0.4):
        for _ in range(1 if rng.random() < 0.6 else 2):
            stops.append(_unplanned(procedure, scenario, options, rng, -3000, -12))
    if kind == "recycle":
        stops = [s for s in stops if s.t < -700][:1] + [_recycle(procedure, scenario, rng)]
    if kind == "scrub":
        t = _free_time(procedure, rng, -1500, -15)
        stops = [s for s in stops if s.t < t - 60] + [
            Stop(t, rng.uniform(300, 1500), reason=rng.choice(scenario.causes), final="scrub")]
    elif kind == "cutoff" or scenario.ends == "cutoff":
        t = _free_time(procedure, rng, -30, -3)
        stops = [s for s in stops if s.t < t - 60 or s.recycle_to is not None] + [
            Stop(t, TAIL_S, reason="" if scenario.ends == "cutoff" else rng.choice(scenario.causes), final="cutoff")]
    kept: list[Stop] = []
    for stop in sorted(stops, key=lambda s: s.t):
        if not kept or stop.t - kept[-1].t > 45:
            kept.append(stop)
    return kept


def _unplanned(procedure: Procedure, scenario: Scenario, options: RehearsalOptions, rng: Random, low: int, high: int) -> Stop:
    length = round(MIN_UNPLANNED_S + min(rng.expovariate(1 / 260), 1800), 1)
    return Stop(_free_time(procedure, rng, low, high), length, called=rng.random() >= options.silent_holds,
                reason=rng.choice(scenario.causes))


def _recycle(procedure: Procedure, scenario: Scenario, rng: Random) -> Stop:
    t = _free_time(procedure, rng, -240, -90 if scenario.ends == "cutoff" else -6)
    to = next((c for c in (-300, -420, -480, -540, -660, -900, -1200) if c < t - 60 and _is_free(procedure, c)
               and rng.random() < 0.5), -560)
    while not _is_free(procedure, to):
        to -= 1
    return Stop(t, round(rng.uniform(60, 700), 1), reason=rng.choice(scenario.causes), recycle_to=to,
                dwell_s=round(rng.uniform(120, 900), 1) if rng.random() < 0.65 else 0.0, cutoff=t > -60 and rng.random() < 0.5)


def _is_free(procedure: Procedure, t: int) -> bool:
    holds_clear = all(abs(h.t - t) > 30 for h in procedure.holds)
    return holds_clear and all(abs(s.t - t) > STEP_CLEAR_S for s in procedure.steps if s.into is None)


def _free_time(procedure: Procedure, rng: Random, low: int, high: int) -> int:
    low = max(low, procedure.start_t + 120)
    free = [t for t in range(low, high) if _is_free(procedure, t)]
    return rng.choice(free) if free else (low + high) // 2


def run(procedure: Procedure, stops: list[Stop], t0_us: int, stretch: dict[str, float]) -> Story:
    """Let the count run. `stretch`: actual length in seconds of the built-in holds, by their id, else as planned."""
    story = Story()
    built_in = sum(h.duration for h in procedure.holds)
    u = t0_us - (-procedure.start_t + built_in) * SECOND
    t, number = procedure.start_t, 1
    waiting = list(stops)
    first = {h.step for h in procedure.holds}
    while True:
        hold = min((h for h in procedure.holds if h.t >= t and h.step in first), key=lambda h: h.t, default=None)
        stop = waiting[0] if waiting else None
        if stop and (hold is None or stop.t < hold.t):
            u = story.clock.add(number, "counting", u, (stop.t - t) * SECOND, t * SECOND)
            t = stop.t
            waiting.pop(0)
            u, t, number = _stop(story, stop, u, t, number)
            if stop.final:
                return story
            if stop.recycle_to is not None:
                first = {h.step for h in procedure.holds if h.t >= t}
        elif hold:
            u = story.clock.add(number, "counting", u, (hold.t - t) * SECOND, t * SECOND)
            t = hold.t
            first.discard(hold.step)
            length = stretch.get(hold.step, float(hold.duration)) if number == 1 else float(hold.duration)
            u = _built_in(story, hold, u, length, number)
        else:
            story.outcome_us = u - t * SECOND
            story.clock.add(number, "counting", u, (TAIL_S + max(0, procedure.end_t) - t) * SECOND, t * SECOND)
            return story


def _built_in(story: Story, hold: PlanHold, u: int, length_s: float, number: int) -> int:
    end = story.clock.add(number, "holding", u, round(length_s * SECOND), hold.t * SECOND)
    story.holds.append(HoldFact(number, hold.t, u, end, hold.duration, "built_in", True, hold.text))
    return end


def _stop(story: Story, stop: Stop, u: int, t: int, number: int) -> tuple[int, int, int]:
    end = story.clock.add(number, "holding", u, round(stop.length_s * SECOND), t * SECOND)
    fact = HoldFact(number, t, u, end, 0, "unplanned", stop.called, stop.reason, recycle_to=stop.recycle_to, final=stop.final,
                    cutoff=stop.cutoff or stop.final == "cutoff", caller=stop.caller)
    story.holds.append(fact)
    if stop.final:
        fact.end = None
        story.outcome = stop.final
        story.outcome_us = u if stop.final == "cutoff" else end
        if stop.final == "scrub":
            story.clock.add(number, "holding", end, TAIL_S * SECOND, t * SECOND)
        return end, t, number
    if stop.recycle_to is None:
        return end, t, number
    story.recycles.append((end, t, stop.recycle_to))
    number += 1
    t = stop.recycle_to
    if stop.dwell_s:
        start = end
        end = story.clock.add(number, "holding", start, round(stop.dwell_s * SECOND), t * SECOND)
        story.holds.append(HoldFact(number, t, start, end, 0, "unplanned", True, stop.reason))
    return end, t, number
