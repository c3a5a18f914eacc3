"""Who did which step when: the plan with the human in it.

Conventions: instants POSIX us; deviations in seconds on the count clock, inside a built-in hold on the wall clock. Rates are per
step and scaled by `options.deviations`. It does not decide what was said about a step: `loop` does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.procedure import PlanStep, Procedure
from aftercount.rehearse.story import Story

LATE_RATE, EARLY_RATE, MISS_RATE, SHUFFLE_RATE, REPEAT_RATE = 0.05, 0.02, 0.025, 0.015, 0.015
SKIP_RATE = 0.4          # an optional step is left out
PAIR_BROKEN_RATE = 0.05  # an `after` pair is done the wrong way round
HABIT_BIAS_S, HABIT_SPREAD_S = 1.0, 1.6  # people begin a step about a second after it is due
CLEAR_OF_TOLERANCE_S = 4.0  # a deviant step is at least this far outside its tolerance, a nominal one this far inside


@dataclass
class Deed:
    """One step in one pass. `begun` is None when it was not done; `reached` whether it fell due."""

    plan: PlanStep
    number: int
    due: int | None
    reached: bool
    begun: int | None = None
    repeat: int | None = None


def perform(procedure: Procedure, story: Story, options: RehearsalOptions, rng: Random, slow: Mapping[str, float]) -> list[Deed]:
    """Every step of every pass. slow: seconds that some steps are late beyond the habit, by id."""
    deeds: list[Deed] = []
    for number in story.clock.passes():
        for plan in procedure.steps:
            deed = _due(plan, number, story)
            if deed is not None:
                deeds.append(deed)
    for deed in deeds:
        if deed.reached:
            _do(deed, story, options, rng, slow.get(deed.plan.step, 0.0))
    _waited_for(deeds, story, rng)
    _keep_pairs(deeds, story, options, rng)
    return deeds


def _due(plan: PlanStep, number: int, story: Story) -> Deed | None:
    """None when the step is not part of this pass (it lies before the point the count was set back to)."""
    first = [s for s in story.clock.segments if s.number == number]
    if number > 1 and plan.t * SECOND < first[0].t0:
        return None
    if plan.into is not None:
        hold = next((h for h in story.holds if h.number == number and h.t == plan.t and h.kind == "built_in"), None)
        due = hold.start + plan.into * SECOND if hold else None
        ended = hold.end if hold and hold.end is not None else story.clock.end
        return Deed(plan, number, due, due is not None and due < ended)
    due = story.clock.when(plan.t * SECOND, number)
    last_t = first[-1].t1
    stopped = next((h.t for h in story.holds if h.number == number and (h.final or h.recycle_to is not None)), None)
    if stopped is not None:
        last_t = stopped * SECOND
    return Deed(plan, number, due, due is not None and plan.t * SECOND <= last_t)


def _shift(plan: PlanStep, options: RehearsalOptions, rng: Random) -> tuple[str, float]:
    """What becomes of one step, and by how many seconds it is off."""
    if not plan.must and rng.random() < SKIP_RATE:
        return "skipped", 0.0
    scale = options.deviations
    rates = [MISS_RATE * scale, LATE_RATE * scale, 0 if plan.auto else EARLY_RATE * scale, 0 if plan.auto else SHUFFLE_RATE * scale]
    what = rng.choices(["missed", "late", "early", "shuffled", "nominal"], rates + [max(0.0, 1 - sum(rates))])[0]
    if what == "late":
        return what, plan.late_s + CLEAR_OF_TOLERANCE_S + min(rng.expovariate(1 / 25), 180)
    if what == "early":
        return what, -(plan.early_s + CLEAR_OF_TOLERANCE_S + min(rng.expovariate(1 / 15), 90))
    if what == "shuffled":
        return what, rng.choice([-1, 1]) * (90 + rng.uniform(0, 240))
    spread = 0.3 if plan.auto else HABIT_SPREAD_S
    bias = 0.1 if plan.auto else HABIT_BIAS_S
    room_low, room_high = -max(plan.early_s - CLEAR_OF_TOLERANCE_S, 0.5), max(plan.late_s - CLEAR_OF_TOLERANCE_S, 0.5)
    return what, min(max(rng.gauss(bias, spread), room_low), room_high)


def _do(deed: Deed, story: Story, options: RehearsalOptions, rng: Random, slow_s: float) -> None:
    what, shift = _shift(deed.plan, options, rng)
    if what in ("missed", "skipped") or deed.due is None:
        return
    shift += slow_s if what == "nominal" else 0.0
    deed.begun = _placed(deed, shift, story)
    if rng.random() < REPEAT_RATE * options.deviations and deed.plan.to and deed.plan.kind == "step":
        again = _placed(deed, shift + rng.uniform(70, 200), story)
        if again - deed.begun > 45 * SECOND:
            deed.repeat = again


def _placed(deed: Deed, shift_s: float, story: Story) -> int:
    """The instant the step is begun when it is `shift_s` off its due time, kept inside the pass (and the hold) it belongs to."""
    assert deed.due is not None
    shift = round(shift_s * SECOND)
    if deed.plan.into is not None:
        hold = next(h for h in story.holds if h.number == deed.number and h.t == deed.plan.t and h.kind == "built_in")
        end = hold.end if hold.end is not None else story.clock.end
        return min(max(deed.due + shift, hold.start + 5 * SECOND), max(deed.due, end - 15 * SECOND))
    segments = [s for s in story.clock.segments if s.number == deed.number]
    target = deed.plan.t * SECOND + shift
    low, high = segments[0].t0 + 2 * SECOND, max(s.t1 for s in segments) - 2 * SECOND
    when = story.clock.when(min(max(target, low), max(high, deed.plan.t * SECOND)), deed.number)
    return when if when is not None else deed.due


def _waited_for(deeds: list[Deed], story: Story, rng: Random) -> None:
    """Some unplanned holds wait for a step that fell due shortly before: it is done in the hold, then the count resumes."""
    for hold in story.holds:
        if hold.kind != "unplanned" or not hold.called or hold.end is None or rng.random() < 0.5 or hold.recycle_to is not None:
            continue
        if (hold.end - hold.start) < 60 * SECOND:
            continue
        near = [d for d in deeds if d.number == hold.number and d.plan.to and d.plan.action and d.plan.into is None and d.begun
                and d.plan.late_s + CLEAR_OF_TOLERANCE_S < hold.t - d.plan.t < 150 and d.begun < hold.start]
        if near:
            late = near[-1]
            late.begun, late.repeat = hold.end - round(rng.uniform(25, 45) * SECOND), None
            hold.step = late.plan.step
            assert late.plan.action is not None
            hold.reason = f"{late.plan.action.object}, not complete yet"


def _keep_pairs(deeds: list[Deed], story: Story, options: RehearsalOptions, rng: Random) -> None:
    """A step that must follow another does, unless the pair is broken on purpose."""
    by_id = {(d.plan.step, d.number): d for d in deeds}
    for deed in deeds:
        for prior_id in deed.plan.after:
            prior = by_id.get((prior_id, deed.number))
            if prior is None or prior.begun is None or deed.begun is None:
                continue
            if rng.random() < PAIR_BROKEN_RATE * options.deviations:
                prior.begun, prior.repeat = min(deed.begun + round(rng.uniform(10, 40) * SECOND), story.clock.end), None
            elif deed.begun < prior.begun + 5 * SECOND:
                deed.begun = prior.begun + round(rng.uniform(5, 9) * SECOND)
