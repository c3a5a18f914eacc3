"""How a story sounds on the loop: every utterance, who says it to whom, and what it truly is."""

from __future__ import annotations

import random
from dataclasses import dataclass

from .story import Deed, Story

_ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["x", "x", "twenty", "thirty", "forty", "fifty", "sixty"]


@dataclass
class Said:
    """typed: how a note keeper would put it. part, kind: as in the truth file. t_s: a count reading it gives (future ones are false)."""

    at: float
    who: str
    to: str | None
    words: str
    kind: str
    typed: str
    step: str | None = None
    number: int | None = None
    part: str | None = None
    near: str | None = None
    slip: bool = False


def number(n: int) -> str:
    if n < 20:
        return _ONES[n]
    if n < 100:
        return (
            _TENS[n // 10] + ("" if n % 10 == 0 else " " + _ONES[n % 10])
            if n < 70
            else {7: "seventy", 8: "eighty", 9: "ninety"}[n // 10] + ("" if n % 10 == 0 else " " + _ONES[n % 10])
        )
    return f"{number(n // 100)} hundred" + ("" if n % 100 == 0 else f" {number(n % 100)}")


def spoken_t(t: float, rng: random.Random, lead: str = "T minus") -> str:
    s = round(abs(t))
    lead = lead if t <= 0 else "T plus"
    hours, minutes, seconds = s // 3600, s % 3600 // 60, s % 60
    if s < 60:
        return f"{lead} {number(s)}" + rng.choice([" seconds", ""])
    parts = [f"{number(hours)} hour{'s' * (hours > 1)}"] if hours else []
    parts += [f"{number(minutes)} minute{'s' * (minutes > 1)}"] if minutes else []
    parts += [number(seconds) + rng.choice([" seconds", ""])] if seconds else []
    if hours == 0 and seconds and rng.random() < 0.3:
        return f"{lead} {number(minutes)} {number(seconds)}"
    return f"{lead} {rng.choice([' ', ' and '] if hours and minutes else [' ']).join(parts)}"


def typed_t(t: float) -> str:
    s = round(abs(t))
    sign = "-" if t <= 0 else "+"
    return f"T{sign}{s // 3600}:{s % 3600 // 60:02d}:{s % 60:02d}" if s >= 3600 else f"T{sign}{s // 60}:{s % 60:02d}"


class Loop:
    """The loop's habits: `call(to, words)`, `answer(by)`, `tell(by, words)`."""

    def __init__(self, story: Story, rng: random.Random) -> None:
        self.story, self.rng, self.habit, self.lead = story, rng, story.scenario.habit, story.scenario.lead
        self.said: list[Said] = []

    def name(self, station: str) -> str:
        forms = self.story.scenario.stations[station]
        if self.habit == "terse":
            return self.rng.choice([station, forms[0]])
        return self.rng.choice([*forms[:1] * 3, station, *forms[1:]])

    def call(self, to: str, words: str) -> str:
        a, b = self.name(to), self.name(self.lead)
        return self.rng.choice(
            {
                "thisis": [f"{a}, this is {b}, {words}.", f"{a}, this is {b}. {words}, over.", f"{a} this is {b}, {words}"],
                "called": [f"{a}, {b}, {words}.", f"{a}, {b}. {words}."],
                "wordy": [
                    f"okay, {a}, {b} here, whenever you're ready go ahead and {words}.",
                    f"and {a}, {words} for us.",
                    f"alright {a}, at this time {words}.",
                ],
                "terse": [f"{a} {words}", f"{a}, {words}"],
                "chatty": [f"{a}, {b}. {words}, please.", f"{b} to {a}, {words}."],
            }[self.habit]
        )

    def answer(self, by: str, words: str, slip: bool = False) -> str:
        a, b = self.name(by), self.name(self.lead)
        back = words if slip or self.rng.random() < 0.25 else ""
        if back:
            return self.rng.choice([f"{a} copies, {back}.", f"{back}, {a}."])
        return self.rng.choice(
            {
                "thisis": [f"{b}, {a}, wilco.", f"this is {a}, roger.", f"{a} wilco, over."],
                "called": [f"{a} copies.", f"copy, {a}.", f"{a}, in work.", "copy."],
                "wordy": [f"roger that, {a}.", f"{a} copies all, we're working it.", "okay, we're on it."],
                "terse": ["check", f"{a} check", "roger"],
                "chatty": ["will do.", f"will do, {b}.", f"{a} roger."],
            }[self.habit]
        )

    def tell(self, by: str, words: str) -> str:
        a, b = self.name(by), self.name(self.lead)
        if by == self.lead:
            return self.rng.choice([f"{words}.", f"all stations, {b}, {words}.", f"this is {b}, {words}."])
        return self.rng.choice(
            {
                "thisis": [f"{b}, this is {a}, {words}.", f"{b}, {a}. {words}, over."],
                "called": [f"{b}, {a}, {words}.", f"{a}, {words}."],
                "wordy": [f"{b}, {a}, okay, {words}.", f"{a} here, {words}, {b}.", f"and {words}, that's {a}."],
                "terse": [f"{a} {words}", f"{a}, {words}"],
                "chatty": [f"{b}, {a}. {words}.", f"{words}, {b}.", f"{a} here. {words}."],
            }[self.habit]
        )

    def put(
        self,
        at: float,
        who: str,
        words: str,
        kind: str,
        typed: str = "",
        to: str | None = None,
        deed: Deed | None = None,
        part: str | None = None,
        slip: bool = False,
        near: str | None = None,
    ) -> None:
        if not words.startswith(("T ", "GPS")):
            words = words[:1].upper() + words[1:]
        self.said.append(
            Said(at, who, to, words, kind, typed or words, deed.row.step if deed else None, deed.number if deed else None, part, near, slip)
        )


_OTHER = {
    "one": "two",
    "two": "one",
    "alpha": "bravo",
    "bravo": "alpha",
    "eighteen": "eighty",
    "thirty-four": "thirty",
    "four": "five",
    "battery": "bus",
    "slow": "fast",
    "fast": "slow",
    "forward": "aft",
    "aft": "forward",
    "three": "two",
    "open": "close",
    "close": "open",
}


def say_step(loop: Loop, deed: Deed) -> None:
    rng, row = loop.rng, deed.row
    order, end = (rng.choice(w) if w else "" for w in (row.order, row.end))
    if row.step and not order and not end:
        return
    to_lead = None if row.by == loop.lead else loop.lead
    if order:
        loop.put(deed.begun, loop.lead, loop.call(row.by, order), "call", f"{row.by}: {order}", row.by, deed, "call")
        if deed.answered is not None:
            words = next((order.replace(a, b, 1) for a, b in _OTHER.items() if a in order.split()), "") if deed.fault == "slip" else ""
            slip = bool(words)
            loop.put(
                deed.answered,
                row.by,
                loop.answer(row.by, words or order, slip),
                "response",
                f"{row.by} {words or 'copies'}",
                to_lead,
                deed,
                "response",
                slip,
            )
            if slip:
                loop.put(deed.answered + 3.5, loop.lead, f"negative {loop.name(row.by)}, {order}.", "note", "", row.by, deed, "call")
    if deed.ends is not None and end:
        loop.put(deed.ends, row.by, loop.tell(row.by, end), "report", f"{row.by} {end}", to_lead, deed, "report")


def say_poll(loop: Loop, deed: Deed) -> None:
    rng, at, action = loop.rng, deed.begun, deed.row.action.lower()
    loop.put(
        at,
        loop.lead,
        rng.choice([f"all stations, {loop.name(loop.lead)}, {action}.", f"this will be the {action}.", f"{action}, stand by to answer."]),
        "call",
        f"{action} started",
        None,
        deed,
        "call",
    )
    at += 4.5
    for station in loop.story.scenario.stations:
        if station == loop.lead:
            continue
        loop.put(at, loop.lead, f"{loop.name(station)}?", "poll", "", station, deed, "call")
        refuse = rng.random() < 0.03
        answer = "no go" if refuse else "go"
        loop.put(
            at + 1.3,
            station,
            rng.choice([f"{loop.name(station)} is {answer}.", f"{answer}.", f"{loop.name(station)} {answer}."]),
            "poll",
            f"{station} {answer}",
            loop.lead,
            deed,
            "response",
        )
        if refuse:
            loop.put(at + 34, station, f"{loop.name(station)} is now go.", "poll", f"{station} now go", loop.lead, deed, "response")
        at += rng.uniform(2.6, 4.0)
    loop.put(
        at + 1.5,
        loop.lead,
        rng.choice(["that completes the poll, we are go to proceed.", "all stations are go.", "poll complete, everyone go."]),
        "poll",
        f"{action} complete, all go",
        None,
        deed,
        "report",
    )
