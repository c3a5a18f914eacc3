"""What is said of the count itself: readings and their impostors, holds, resumes, recycles, the end.

Conventions: a reading's `mark_t` is the count time said, in seconds; it is `false` when the clock did not read that then.
It does not decide what the clock did: `story` does.
"""

from __future__ import annotations

from datetime import UTC, datetime
from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.loop import Loop, Said, _later
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.speaking import spoken_count, spoken_span
from aftercount.rehearse.story import HoldFact, Story

FINAL_SECONDS = (60, 50, 40, 30, 20, 15, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1)
_IMPOSTORS = (
    "coming up on {count}", "coming up on {count} in about 20 seconds", "at {count} we will pick that up again",
    "if we hold at {count} we stay there until morning", "we have been working that since {count}",
    "when we get to {count} I want a status", "that was planned for {count}", "step calls for {count}, checking the procedure",
    "we expect to be holding at {count}",
)


class Counting:
    def __init__(self, loop: Loop, story: Story, options: RehearsalOptions, rng: Random) -> None:
        self.loop, self.story, self.options, self.rng = loop, story, options, rng
        self.voice = loop.scenario.clock_voice
        self.lead = loop.scenario.conductor

    def everything(self) -> None:
        for segment in self.story.clock.segments:
            if segment.state == "counting":
                self._readings(segment.t0 // SECOND, segment.t1 // SECOND, segment.number, segment.u0)
        for hold in self.story.holds:
            if hold.called:
                self._hold(hold)
        for u, _, to in self.story.recycles:
            self._recycle(u, to)
        self._other_clocks()
        self._end()
        self._impostors()

    def _say(self, u: int, text: str, kind: str, by: str = "", mark: float | None = None, false: bool = False) -> Said:
        return self.loop.say(Said(u, by or self.voice, text, kind=kind, mark_t=mark, false=false))

    def _reading_times(self, start: int, end: int) -> list[int]:
        rng = self.rng
        times = [t for t in range(-14400, -60, 60) if start + 5 < t < end - 5]
        kept = [t for t in times if rng.random() < (0.75 if t >= -600 else 0.5 if t % 300 == 0 else 0.12)]
        final = [-t for t in FINAL_SECONDS if start < -t < end or -t == start == end]
        return kept + [t for t in final if t <= -20 or rng.random() < 0.8]

    def _readings(self, start: int, end: int, number: int, u0: int) -> None:
        rng = self.rng
        for t in self._reading_times(start, end):
            u = _later(u0 + (t - start) * SECOND, rng.gauss(-0.2 if t < -15 else 0.0, 0.35 if t < -15 else 0.15))
            if t >= -10:
                self._say(u, str(-t), "mark", mark=t)
                continue
            count = spoken_count(t, rng)
            text = rng.choice(self.loop.scenario.habit.mark).format(count=count)
            self._say(u, text, "mark", mark=t)

    def _hold(self, hold: HoldFact) -> None:
        rng, count = self.rng, spoken_count(hold.t, self.rng)
        t = float(hold.t)
        begin = _later(hold.start, rng.uniform(0.0, 1.0))
        caller = hold.caller or self.lead if hold.caller or hold.kind == "built_in" or rng.random() < 0.8 else rng.choice(self.loop.people)
        if hold.kind == "built_in":
            text = rng.choice((f"{count} and holding, this is a planned hold of {spoken_span(hold.planned_s)}",
                               f"we are holding at {count} as planned", f"{count} and holding"))
            self._say(begin, text, "hold", mark=t)
        elif hold.number > 1 and any(u == hold.start for u, _, _ in self.story.recycles):
            caller = self.lead
            self._say(_later(begin, 6), f"clock is set at {count} and holding", "hold", mark=t)
        elif hold.cutoff:
            self._say(begin, rng.choice((f"cutoff, cutoff, we have a cutoff at {count}", "cutoff, cutoff, cutoff")), "cutoff", caller)
            self._say(_later(begin, 5), f"count is stopped at {count}", "hold", mark=t)
        else:
            text = rng.choice((f"hold, hold, hold, {caller} is calling a hold", f"{caller}, hold the count", "hold hold hold",
                               f"stop the clock, {caller}, hold"))
            self._say(begin, text, "hold", caller)
            self._say(_later(begin, rng.uniform(3, 6)), f"holding at {count}", "hold", self.lead, mark=t)
        if hold.kind == "unplanned" and hold.reason and not (hold.number > 1 and hold.cutoff):
            self._cause(hold, begin)
        self._waiting(hold)
        if hold.end is not None and hold.recycle_to is None:
            self._resume(hold, count)

    def _cause(self, hold: HoldFact, begin: int) -> None:
        rng = self.rng
        text = rng.choice(("we are holding for {r}", "the hold is for {r}", "reason is {r}, working it", "we have {r}")).format(r=hold.reason)
        self._say(_later(begin, rng.uniform(9, 18)), text, "note", self.lead)
        if hold.end and hold.end - hold.start > 90 * SECOND:
            text = rng.choice(("{r} is cleared, ready to go on", "we are happy again, no more issue with {r}")).format(r=hold.reason)
            self._say(_later(hold.end, -rng.uniform(16, 24)), text, "note", self.lead)

    def _waiting(self, hold: HoldFact) -> None:
        """Readings inside a hold."""
        u = _later(hold.start, 40)
        last = hold.end if hold.end is not None else self.story.clock.end
        while u < last - 30 * SECOND:
            if self.rng.random() < 0.5:
                count = spoken_count(hold.t, self.rng)
                self._say(u, self.rng.choice((f"still holding at {count}", f"{count} and holding")), "mark", mark=float(hold.t))
            u = _later(u, self.rng.uniform(60, 240))

    def _resume(self, hold: HoldFact, count: str) -> None:
        rng = self.rng
        assert hold.end is not None
        if rng.random() < 0.5:
            self._say(_later(hold.end, -12), f"we will resume the count at {count} on my mark", "note", self.lead)
        text = rng.choice((f"the count is resumed, {count} and counting", f"resume the count, {count} and counting",
                           f"we are counting again from {count}", "clock is running, count resumed"))
        mark = float(hold.t) if "T " in text or "minus" in text else None
        self._say(_later(hold.end, rng.uniform(0.0, 0.8)), text, "resume", self.lead, mark=mark)

    def _recycle(self, u: int, to: int) -> None:
        count = spoken_count(to, self.rng)
        text = self.rng.choice((f"all stations, {self.lead}, recycle to {count}", f"we are recycling to {count}",
                                f"{self.lead} on all nets, recycle the count to {count}"))
        if self.story.clock.at(u)[1] == "counting":
            text += ", clock is running"
        self._say(_later(u, self.rng.uniform(0.0, 0.8)), text, "recycle", self.lead, mark=float(to))

    def _other_clocks(self) -> None:
        """L-times, which run through holds, and a new T-0 announced after a stop. Neither is a reading of the count."""
        rng, story = self.rng, self.story
        for hold in story.holds:
            if hold.end is None or hold.recycle_to is not None:
                continue
            zero = hold.end - hold.t * SECOND + sum(
                (h.end or h.start) - h.start for h in story.holds if h.start > hold.end and h.kind == "built_in" and h.number == hold.number)
            if hold.kind == "unplanned" and hold.called and rng.random() < 0.4:
                when = datetime.fromtimestamp(round(zero / SECOND), UTC)
                form = rng.choice(("new T zero is {h:02d}{m:02d} and {s} seconds zulu", "T zero is now {h:02d}:{m:02d}:{s:02d}"))
                self._say(_later(hold.end, rng.uniform(8, 15)), form.format(h=when.hour, m=when.minute, s=when.second), "note", self.lead)

    def _end(self) -> None:
        story, rng = self.story, self.rng
        assert story.outcome_us is not None
        if story.outcome == "liftoff":
            self._say(_later(story.outcome_us, rng.uniform(0.1, 0.6)), self.loop.scenario.habit.liftoff, "liftoff", mark=0.0)
        elif story.outcome == "scrub":
            self._say(_later(story.outcome_us, rng.uniform(0, 1)), rng.choice((
                f"all stations, {self.lead}, we are scrubbing for today", "we are scrubbed, safe the vehicle and go to the back-out",
                f"{self.lead}, scrub, scrub, scrub")), "scrub", self.lead)
        else:
            self._say(_later(story.outcome_us, 25), "that is the end of the count for today, securing", "note", self.lead)

    def _impostors(self) -> None:
        marks = [s for s in self.loop.said if s.mark_t is not None and not s.machine and s.net == self.loop.nets.get(self.voice, 0)]
        share = min(self.options.false_marks, 0.9)
        wanted = round(len(marks) * share / (1 - share))
        start, end = self.story.clock.start, self.story.clock.end
        for _ in range(wanted):
            u = self.rng.randrange(start, max(start + 1, end - 30 * SECOND))
            t, state, _number = self.story.clock.at(u)
            now = round(t / SECOND)
            if self.rng.random() < 0.25:
                wrong = now + self.rng.choice((-1, 1)) * self.rng.choice((30, 60, 120, 600, 3600))
                text, said = spoken_count(min(wrong // 10 * 10, -10), self.rng), min(wrong // 10 * 10, -10)
                text = self.rng.choice(("{c} and counting", "{c}")).format(c=text)
            else:
                ahead = self.rng.choice((20, 40, 60, 120, 300))
                said = min((now + (ahead if self.rng.random() < 0.75 else -ahead)) // 10 * 10, -5)
                text = self.rng.choice(_IMPOSTORS).format(count=spoken_count(said, self.rng))
            by = self.rng.choice([self.voice, self.lead, *self.loop.people])
            if abs(said - now) > 2:
                self._say(u, text, "note", by, mark=float(said), false=True)
