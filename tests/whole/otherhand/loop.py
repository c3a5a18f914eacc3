"""The whole loop of a count: its steps and polls, the calls on its clock, and talk besides."""

from __future__ import annotations

import random

from .radio import Loop, Said, number, say_poll, say_step, spoken_t, typed_t
from .story import Hold, Story


def sound(story: Story, rng: random.Random) -> list[Said]:
    loop = Loop(story, rng)
    for deed in story.deeds:
        if "poll" in deed.row.flags:
            say_poll(loop, deed)
        else:
            say_step(loop, deed)
    for k, hold in enumerate(story.holds):
        _hold(loop, hold, k)
    _marks(loop)
    _talk(loop)
    return sorted(loop.said, key=lambda s: s.at)


def _hold(loop: Loop, hold: Hold, k: int) -> None:
    rng, lead = loop.rng, loop.lead
    t, minutes = spoken_t(hold.t, rng), round(hold.planned / 60)
    if not hold.called:
        return
    if hold.planned:
        loop.put(
            hold.start + 0.8,
            lead,
            rng.choice(
                [
                    f"and we are holding at {t}.",
                    f"{t} and holding. this is a planned {number(minutes)} minute hold.",
                    f"clock is stopped at {t}, planned hold.",
                ]
            ),
            "hold",
            f"holding {typed_t(hold.t)}, planned {minutes} min",
        )
        if hold.reason and hold.end:
            loop.put(
                hold.start + hold.planned * 0.8,
                lead,
                rng.choice([f"we are extending this hold, {hold.reason}.", f"we'll stay in the hold for now, {hold.reason}."]),
                "note",
                f"hold extended: {hold.reason}",
            )
    else:
        caller = hold.by or lead
        loop.put(
            hold.start + 0.3,
            caller,
            rng.choice(
                [
                    f"hold, hold, hold. {loop.name(caller)} is calling a hold, {hold.reason}.",
                    f"hold hold hold, {hold.reason}.",
                    f"{loop.name(lead)}, {loop.name(caller)}, stop the count, {hold.reason}.",
                ]
            ),
            "hold",
            f"HOLD called by {caller}: {hold.reason}",
        )
        loop.put(
            hold.start + 7,
            lead,
            rng.choice([f"copy hold. clock is stopped at {t}.", f"we are holding at {t}."]),
            "hold",
            f"clock stopped {typed_t(hold.t)}",
        )
    if hold.new_zero is not None:
        loop.put(hold.start + hold.planned * 0.9, lead, f"new T zero will be ZERO({hold.new_zero}).", "note", f"new T-0 ZERO({hold.new_zero})")
    resumed = hold.t if hold.to_t is None else hold.to_t
    if hold.to_t is not None:
        set_at = next((s.start for s in loop.story.segments if s.number == hold.number + 1), hold.start)
        loop.put(
            set_at + 0.5,
            lead,
            rng.choice([f"we are recycling to {spoken_t(resumed, rng)}.", f"clock has been recycled to {spoken_t(resumed, rng)} and holding."]),
            "recycle",
            f"recycled to {typed_t(resumed)}",
        )
    if hold.end is not None:
        if rng.random() < 0.4:
            loop.put(
                hold.end - 45,
                lead,
                f"we will pick up the count in about forty five seconds at {spoken_t(resumed, rng)}.",
                "note",
                "count resumes shortly",
            )
        loop.put(
            hold.end - 0.4,
            lead,
            rng.choice(
                [
                    f"three, two, one, mark. {spoken_t(resumed, rng)} and counting.",
                    f"clock is running, {spoken_t(resumed, rng)} and counting.",
                    f"the count has resumed at {spoken_t(resumed, rng)}.",
                ]
            ),
            "resume",
            f"count resumed {typed_t(resumed)}",
        )
    elif loop.story.outcome == "scrub":
        loop.put(
            loop.story.outcome_at - 40,
            lead,
            rng.choice(["that is a scrub for today. all stations, scrub, scrub.", f"we are scrubbing today's attempt, {hold.reason}."]),
            "scrub",
            f"SCRUB, {hold.reason}",
        )
        loop.put(loop.story.outcome_at - 12, lead, "all stations, begin safing.", "note", "safing started")


def _marks(loop: Loop) -> None:
    rng, story = loop.rng, loop.story
    busy = [(h.start - 12, (h.end or h.start) + 12) for h in story.holds if h.called]
    for s in (s for s in story.segments if s.state == "counting"):
        wanted = [t for t in (*range(-9000, -600, 300), *range(-600, -60, 60), -90, -45, -30, -20, -15) if s.start_t < t < s.end_t]
        for t in wanted:
            at = s.start + t - s.start_t
            if any(low < at < high for low, high in busy) or rng.random() < 0.1:
                continue
            words = spoken_t(t, rng)
            loop.put(
                at + rng.gauss(0.1, 0.4),
                loop.lead,
                rng.choice([f"{words}.", f"{words} and counting.", f"mark, {words}.", f"coming up on {words}, mark.", f"we are at {words}."]),
                "mark",
                f"{typed_t(t)}",
            )
            if t < -200 and rng.random() < 0.12:
                ahead = min((h.t for h in story.holds if h.t > t and h.planned), default=None)
                if ahead is not None:
                    loop.put(at + 25, loop.lead, f"next hold is at {spoken_t(ahead, rng)}, expect {number(10)} minutes.", "note", "")
        if s.start_t < -10 and s.end_t > 0:
            zero = s.start - s.start_t
            loop.put(zero - 10.2, loop.lead, "ten, nine, eight, seven, six, five, four, three, two, one.", "mark", "T-10")
            ignition, lifted = (
                ("we have ignition.", "ignition")
                if story.scenario.ending == "cutoff" or story.outcome == "cutoff"
                else (
                    {"balloon": "release, release. liftoff, balloon is away.", "barge": "fire. first motion, and liftoff."}.get(
                        story.scenario.name, "ignition, and liftoff."
                    ),
                    "LIFTOFF",
                )
            )
            fire = next((d for d in story.deeds if d.row.t == 0 and d.number == s.number), None)
            loop.put(
                zero + 0.5, loop.lead, ignition, "note" if lifted == "ignition" else "liftoff", lifted, None, fire, "report" if fire else None
            )
    if story.outcome == "cutoff":
        loop.put(story.outcome_at + 0.5, loop.lead, rng.choice(["cutoff, cutoff.", "engine cutoff.", "we have cutoff."]), "cutoff", "CUTOFF")


_CHAT = (
    "anyone got the spare headset",
    "console four screen is back",
    "coffee run in ten",
    "that buzzing on the loop is gone",
    "who has the shift roster",
    "generator noise on camera three",
    "two visitors at the gate, badges checked",
    "reading you loud and clear",
    "trend on that channel is flat",
    "say again your last",
    "door alarm in the annex, false",
    "still showing nominal here",
    "time check please",
    "disregard my last",
)


def _talk(loop: Loop) -> None:
    rng, story = loop.rng, loop.story
    start, end = story.segments[0].start, story.segments[-1].end
    stations = list(story.scenario.stations)
    for _ in range(int((end - start) / 170)):
        who, to = rng.sample(stations, 2)
        words = rng.choice(_CHAT)
        loop.put(
            rng.uniform(start, end - 120), who, rng.choice([f"{loop.name(to)}, {loop.name(who)}, {words}.", f"{words}."]), "note", words, to
        )
    for deed in story.deeds:
        if deed.row.order and rng.random() < 0.1:
            order, who = deed.row.order[0], loop.name(deed.row.by)
            words = rng.choice([f"{who}, stand by to {order}.", f"next will be {order}, {who}, not yet.", f"{who}, are you ready to {order}?"])
            loop.put(deed.begun - rng.uniform(25, 55), loop.lead, words, "note", "", deed.row.by, near=deed.row.step)
