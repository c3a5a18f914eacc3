"""Talk that is not a step: chatter that shares the steps' words, near misses, questions about what is going on.

Conventions: a near miss names its step in `Said.near` and carries no step. It does not say anything that means a step was done.
"""

from __future__ import annotations

from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.deeds import Deed
from aftercount.rehearse.loop import REPORT_SHARE, SPOKEN_VERBS, Loop, Said, _later
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.ownwords import errand
from aftercount.rehearse.story import Story

MEASURED_VERBS = frozenset({"open", "close", "chill", "pressurize", "heat", "load", "energize", "activate", "spin", "purge", "vent"})
MACHINE_READINGS = 0.5   # logged values for each line of chatter
AWAY_S = (8, 240)   # a near miss comes this long before its step, rarely after


def near_misses(loop: Loop, deeds: list[Deed], options: RehearsalOptions, rng: Random) -> None:
    speakable = [d for d in deeds if d.plan.action is not None and d.due is not None and d.reached]
    for deed in speakable:
        if rng.random() >= options.near_misses:
            continue
        when = deed.begun if deed.begun is not None else deed.due
        assert when is not None
        u = _later(when, -rng.uniform(*AWAY_S))
        text = loop.wording.near(deed.plan)
        by, to = (deed.plan.to, deed.plan.by) if deed.plan.to else (deed.plan.by, None)
        text = loop.directed(loop.scenario.habit.call, to, by, text)
        loop.say(Said(u, by, text, to, kind="note", near=deed.plan.step, number=deed.number))


def readings(loop: Loop, deeds: list[Deed], story: Story, options: RehearsalOptions, rng: Random) -> None:
    """Values that machines log of the things the steps are about."""
    start, end = story.clock.start, story.clock.end
    subjects = [d.plan for d in deeds if d.plan.action is not None and d.plan.action.verb in MEASURED_VERBS]
    for _ in range(round(MACHINE_READINGS * options.chatter * len(deeds)) if subjects else 0):
        plan = rng.choice(subjects)
        assert plan.action is not None
        value = rng.choice(("temperature {:.1f}", "pressure {:.2f} bar", "current {:.1f} A", "level {:.0f} pct")).format(rng.uniform(1, 95))
        loop.say(Said(rng.randrange(start, max(start + 1, end)), plan.by, f"{plan.action.object} {value}", machine=True))


def errands(loop: Loop, deeds: list[Deed], story: Story, options: RehearsalOptions, rng: Random) -> None:
    """Orders of the conductor for what is not in the plan, accepted and mostly reported back."""
    start, end, habit, lead = story.clock.start, story.clock.end, loop.scenario.habit, loop.scenario.conductor
    for _ in range(round(options.errands * len(deeds))):
        station, text = rng.choice([s for s in loop.people if s != lead]), errand(rng)
        u = rng.randrange(start, max(start + 1, end - 60 * SECOND))
        call = loop.say(Said(u, lead, loop.directed(habit.call, station, lead, text), station, kind="call"))
        accept = rng.choice(habit.accept).format(doing=text)
        answer = loop.say(Said(_later(u, call.seconds + rng.uniform(0.6, 2.5)), station, habit.answer.format(to=lead, by=station, text=accept), lead, kind="response"))
        if rng.random() < REPORT_SHARE:
            done = loop.directed(habit.report, lead, station, f"{text.split(' ', 1)[1]} done")
            loop.say(Said(_later(answer.utc, answer.seconds + rng.uniform(3, 22)), station, done, lead, kind="report"))


def chatter(loop: Loop, deeds: list[Deed], story: Story, options: RehearsalOptions, rng: Random) -> None:
    start, end = story.clock.start, story.clock.end
    stations = [s for s in loop.scenario.stations if s != "SEQ"]
    subjects = [d for d in deeds if d.plan.action is not None and d.plan.action.verb not in SPOKEN_VERBS]
    deck: list[str] = []
    for _ in range(round(options.chatter * len(deeds))):
        u = rng.randrange(start, max(start + 1, end - 5 * SECOND))
        by, to = rng.sample(stations, 2)
        if rng.random() < 0.35 and subjects:
            deed = rng.choice(subjects)
            text = loop.wording.aside(deed.plan)
            form = loop.scenario.habit.call
            loop.say(Said(u, by, loop.directed(form, to, by, text), to))
        elif rng.random() < 0.15:
            loop.say(Said(u, by, f"{to}, {by}, radio check", to))
            loop.say(Said(_later(u, 2.5), to, f"{by}, {to}, loud and clear", by))
        else:
            deck = deck or rng.sample(loop.scenario.chatter, len(loop.scenario.chatter))
            text = deck.pop()
            loop.say(Said(u, by, loop.directed(loop.scenario.habit.call, to, by, text) if rng.random() < 0.6 else text, to))
