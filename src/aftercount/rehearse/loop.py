"""Everything that was said on the nets and done by machines, in order: the world before anybody wrote it down.

Conventions: `Said.utc` is the instant speaking (or the machine's act) began; texts carry digits and station codes. Nets are numbered
from 0. It does not decide how it is written down: `machine`, `typed` and `transcript` do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.deeds import Deed
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.phrasing import Wording
from aftercount.rehearse.procedure import PlanStep
from aftercount.rehearse.scenario import Scenario

WORDS_PER_S = 2.9                      # brisk loop speech
CALL_SHARE, ANSWER_SHARE, REPORT_SHARE = 0.93, 0.75, 0.85
RESPONSE_LATE_RATE, RESPONSE_NONE_RATE = 0.05, 0.03
SPOKEN_VERBS = frozenset({"report", "brief", "announce"})
HAND_VERBS = frozenset({"clear", "install", "remove", "connect", "disconnect", "secure", "seal", "sample", "verify", "record", "steer"})
HAND_SHARE = 0.5                       # of the steps done by hand, those that no machine sees
NO_GO_RATE, POLL_SILENT_RATE = 0.02, 0.01
READ_BACK_SLIP_RATE = 0.008              # a wrong designator read back: human slips, 0.5 to 1 % (Cardosi 1994)
SECOND_NET_SHARE = 0.12                # of utterances that are heard on another net as well


@dataclass(frozen=True)
class Said:
    utc: int
    by: str
    text: str
    to: str | None = None
    net: int = 0
    kind: str = "note"
    step: str | None = None
    number: int | None = None          # of the pass
    part: str | None = None            # call | response | report | record
    seen: int = 1                      # which performance of the step
    near: str | None = None            # step that a near miss is about
    mark_t: float | None = None        # count reading in seconds
    false: bool = False                # the reading is not one of the clock now
    machine: bool = False
    slip: bool = False                 # a wrong read-back
    answer: str | None = None          # go | no go, in a poll

    @property
    def seconds(self) -> float:
        return max(0.6, len(self.text.split()) / WORDS_PER_S)


def _later(u: int, seconds: float) -> int:
    return u + round(seconds * SECOND)


class Loop:
    """Builds the stream of one count."""

    def __init__(self, scenario: Scenario, options: RehearsalOptions, rng: Random, steps: Sequence[PlanStep] = ()) -> None:
        self.twins = _twins(steps)
        self.by_hand = {s.step for s in steps if s.action and (
            s.action.verb in SPOKEN_VERBS or s.action.verb in HAND_VERBS and not s.auto and rng.random() < HAND_SHARE)}
        self.scenario, self.options, self.rng = scenario, options, rng
        own = frozenset(s.step for s in steps if rng.random() < options.own_words) if options.own_words else frozenset()
        self.wording = Wording(scenario, options.paraphrase, rng, own)
        self.said: list[Said] = []
        stations = list(scenario.stations)
        self.people = [s for s in stations if s != "SEQ"]
        self.nets = {s: (i % options.nets) for i, s in enumerate(stations)}
        self.nets[scenario.conductor] = 0

    def say(self, said: Said) -> Said:
        other = said.to if said.by == self.scenario.conductor and said.to else said.by  # a talk stays on the net of whom the conductor talks to
        net = self.nets.get(other, 0) if said.net == 0 else said.net
        said = replace(said, net=net)
        self.said.append(said)
        if self.options.nets > 1 and not said.machine and self.rng.random() < SECOND_NET_SHARE:
            self.said.append(replace(said, net=(net + 1) % self.options.nets, utc=_later(said.utc, self.rng.uniform(0.1, 1.2))))
        return said

    def directed(self, form: str, to: str | None, by: str, text: str) -> str:
        if to is None:
            return text
        return form.format(to=to, by=by, text=text)

    def deed(self, deed: Deed) -> None:
        if deed.begun is None:
            return
        if deed.plan.kind == "poll":
            self._poll(deed)
            return
        self._performance(deed, deed.begun, 1)
        if deed.repeat is not None:
            self._performance(deed, deed.repeat, 2)

    def _performance(self, deed: Deed, begun: int, seen: int) -> None:
        plan, rng, habit = deed.plan, self.rng, self.scenario.habit
        base = Said(begun, plan.by, "", plan.to, step=plan.step, number=deed.number, seen=seen)
        called = plan.to is not None and rng.random() < CALL_SHARE
        clock = begun
        if called:
            assert plan.to is not None
            text = self.directed(habit.call, plan.by, plan.to, self.wording.order(plan))
            call = self.say(replace(base, by=plan.to, to=plan.by, text=text, kind="call", part="call"))
            clock = _later(call.utc, call.seconds)
        act = _later(clock, rng.uniform(0.8, 3.5)) if called else begun
        assert plan.action is not None
        if plan.step not in self.by_hand:
            self.say(replace(base, utc=act, text="", kind="report", part="record", machine=True))
        wait = self._wait(plan.response)
        if wait is None:
            return
        answered = called and rng.random() < (1.0 if plan.response else ANSWER_SHARE)
        if answered:
            clock = self._answer(base, deed, _later(clock, wait))
        if rng.random() < REPORT_SHARE or not called:
            self._report(replace(base, utc=_later(max(clock, act), rng.uniform(1.5, 4.0) if plan.auto or not called else rng.uniform(3, 22))),
                         deed)

    def _answer(self, base: Said, deed: Deed, u: int) -> int:
        """The called station accepts, now and then reading back a like step; the instant that is over."""
        plan, rng, habit = deed.plan, self.rng, self.scenario.habit
        twin = self.twins.get(plan.step) if rng.random() < READ_BACK_SLIP_RATE * self.options.deviations else None
        accept = self.wording.doing(twin) if twin else rng.choice(habit.accept).format(doing=self.wording.doing(plan))
        text = habit.answer.format(to=plan.to, by=plan.by, text=accept)
        answer = self.say(replace(base, utc=u, text=text, kind="response", part="response", slip=twin is not None))
        clock = _later(answer.utc, answer.seconds)
        if twin and plan.to and plan.action and rng.random() < 0.6:
            text = f"negative, {plan.action.object}"
            fixed = self.say(Said(_later(clock, 0.8), plan.to, self.directed(habit.call, plan.by, plan.to, text), plan.by))
            clock = _later(fixed.utc, fixed.seconds)
        return clock

    def _report(self, base: Said, deed: Deed) -> None:
        habit, rng = self.scenario.habit, self.rng
        text = self.directed(habit.report, deed.plan.to, deed.plan.by, self.wording.done(deed.plan))
        report = self.say(replace(base, text=text, kind="report", part="report"))
        if deed.plan.to and rng.random() < 0.6:
            ack = rng.choice(habit.copy)
            self.say(Said(_later(report.utc, report.seconds + rng.uniform(0.3, 1.5)), deed.plan.to, f"{ack}, {deed.plan.by}"
                          if rng.random() < 0.5 else ack, deed.plan.by, kind="note"))

    def _wait(self, limit: int | None) -> float | None:
        """Seconds until the called station answers; None when it says nothing at all."""
        rng = self.rng
        if limit is None:
            return rng.uniform(0.6, 2.5)
        roll = rng.random()
        scale = self.options.deviations
        if roll < RESPONSE_NONE_RATE * scale:
            return None
        if roll < (RESPONSE_NONE_RATE + RESPONSE_LATE_RATE) * scale:
            return limit + rng.uniform(6, 30)
        return rng.uniform(0.6, 2.5)

    def _poll(self, deed: Deed) -> None:
        plan, rng, lead = deed.plan, self.rng, self.scenario.conductor
        assert deed.begun is not None
        opening = self.wording.order(plan)
        call = self.say(Said(deed.begun, lead, f"all stations, {lead}, {opening}", kind="poll", step=plan.step, number=deed.number,
                             part="call"))
        self.say(replace(call, utc=_later(call.utc, 0.5), text="", kind="report", part="record", machine=True))
        u = _later(call.utc, call.seconds + 1)
        for station in self.people:
            if station == lead:
                continue
            if rng.random() < 0.8:
                ask = self.say(Said(u, lead, station, station, kind="poll"))
                u = _later(u, ask.seconds + rng.uniform(0.2, 1))
            if rng.random() >= POLL_SILENT_RATE * self.options.deviations:
                u = self._poll_answer(deed, station, u)
        self.say(Said(u, lead, f"all stations are go, {lead}" if rng.random() < 0.6 else "that completes the poll", kind="poll"))

    def _poll_answer(self, deed: Deed, station: str, u: int) -> int:
        """One station's answer, a 'no go' followed by a second one; the instant that is over."""
        rng, lead = self.rng, self.scenario.conductor
        no = rng.random() < NO_GO_RATE
        form = rng.choice(("{s} no go", "{s} is no go") if no else ("{s} is go", "go, {s}", "{s} go", "go"))
        base = Said(u, station, form.format(s=station), lead, kind="poll", step=deed.plan.step, number=deed.number,
                    answer="no go" if no else "go")
        u = _later(u, self.say(base).seconds + rng.uniform(0.4, 1.5))
        if no:
            self.say(Said(_later(u, 12), lead, f"{station}, {lead}, I need your status", station, kind="poll"))
            self.say(replace(base, utc=_later(u, 16), text=f"{lead}, {station} is go now", answer="go"))
            u = _later(u, 19)
        return u


def _twins(steps: Sequence[PlanStep]) -> dict[str, PlanStep]:
    """For each step another of the same station that differs in one word."""
    out: dict[str, PlanStep] = {}
    alike: dict[tuple[str, int], list[tuple[list[str], PlanStep]]] = {}
    for step in steps:
        words = step.text.lower().split()
        for theirs, other in alike.setdefault((step.by, len(words)), []):
            if sum(a != b for a, b in zip(words, theirs, strict=True)) == 1:
                out.setdefault(step.step, other)
                out.setdefault(other.step, step)
        if step.action:
            alike[step.by, len(words)].append((words, step))
    return {k: v for k, v in out.items() if v.action}


def ordered(said: list[Said]) -> list[Said]:
    return sorted(said, key=lambda s: (s.utc, s.net, s.by, s.text))
