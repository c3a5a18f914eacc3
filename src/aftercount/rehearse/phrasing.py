"""The words for one step: as ordered, accepted, reported, nearly done, asked about; and how wording drifts from the plan's.

Conventions: texts carry digits for numbers and station codes for call signs; `loop` and the writers turn these into what is
heard or typed. It does not decide when anything is said.
"""

from __future__ import annotations

import re
from random import Random

from aftercount.rehearse.ownwords import own_words
from aftercount.rehearse.procedure import PlanStep
from aftercount.rehearse.scenario import Scenario

ANNOUNCED_SHARE = 0.7  # an announcement is mostly heard as its words, seldom as "announced"
_FILLERS = ("valve", "system", "circuit", "the", "unit", "line")
_NEAR = (
    "stand by for {thing}", "stand by to {order}", "not yet on {thing}", "negative, do not {order} yet",
    "we will {order} in about {n} minutes", "are we ready to {order}?", "coming up on {order}", "next item is {order}",
    "hold off on {thing}, I'll call it", "negative on {thing}, stand by", "be advised {order} is planned a little later",
)
_ASIDE = (
    "how is {thing} looking?", "{thing} looks steady", "no change on {thing}", "watching {thing} closely",
    "the data on {thing} is a bit noisy", "I have a question on {thing}", "{thing} was slow yesterday as well",
)


class Wording:
    """Rewrites plan wording the way one team talks. One instance a count; draws from its own stream."""

    def __init__(self, scenario: Scenario, share: float, rng: Random, own: frozenset[str] = frozenset()) -> None:
        """share: of wordings that depart from the plan's; own: the steps that people have words of their own for."""
        self.scenario, self.share, self.rng, self.own = scenario, share, rng, own
        self._terms = [(code, form) for code, forms in scenario.glossary.items() for form in forms]

    def order(self, step: PlanStep) -> str:
        if step.action is None:
            return self.rng.choice(("polling the team", "this is the poll, answer go or no go", "all stations, poll for go",
                                    "stand by for poll, give me go or no go"))
        if step.says and self.rng.random() < 0.4:
            return self._owned(self._drift(step.says), step)
        if self.rng.random() < self.share:
            return self._owned(self._drift(step.action.other(self.rng.randrange(3), self._article())), step)
        return self._owned(step.action.plain, step)

    def doing(self, step: PlanStep) -> str:
        assert step.action is not None
        text = step.action.doing
        return self._owned(self._drift(text) if self.rng.random() < self.share else text, step)

    def done(self, step: PlanStep) -> str:
        assert step.action is not None
        if step.action.verb == "announce" and self.rng.random() < ANNOUNCED_SHARE:
            return self.rng.choice(("all stations, {thing}", "attention, {thing}")).format(thing=step.action.object)
        drift = self.rng.random() < self.share
        text = step.action.done(self.rng.randrange(3) if drift else 0)
        return self._owned(self._drift(text) if drift else text, step)

    def near(self, step: PlanStep) -> str:
        return self._fill(self.rng.choice(_NEAR), step)

    def aside(self, step: PlanStep) -> str:
        return self._fill(self.rng.choice(_ASIDE), step)

    def _fill(self, form: str, step: PlanStep) -> str:
        assert step.action is not None
        thing = step.action.object if step.action.object else step.action.plain
        return form.format(thing=f"the {thing}" if self.rng.random() < 0.4 else thing, order=step.action.plain,
                           n=self.rng.choice((2, 3, 5)))

    def _owned(self, text: str, step: PlanStep) -> str:
        return own_words(text, self.rng) if step.step in self.own else text

    def _drift(self, text: str) -> str:
        """One or two small departures that keep the meaning and every designator."""
        moves = [self._glossary, self._drop_filler, self._move_stage]
        for move in self.rng.sample(moves, self.rng.choice((1, 1, 2))):
            text = move(text)
        return text

    def _glossary(self, text: str) -> str:
        for code, form in self._terms:
            if re.search(rf"\b{re.escape(code)}\b", text):
                return re.sub(rf"\b{re.escape(code)}\b", form, text)
            if re.search(rf"\b{re.escape(form)}\b", text):
                return re.sub(rf"\b{re.escape(form)}\b", code, text)
        return text

    def _drop_filler(self, text: str) -> str:
        words = text.split()
        droppable = [i for i, w in enumerate(words) if w in _FILLERS and len(words) > 3]
        if droppable:
            del words[self.rng.choice(droppable)]
        return " ".join(words)

    def _article(self) -> str:
        return "the " if self.rng.random() < 0.35 else ""

    def _move_stage(self, text: str) -> str:
        found = re.search(r"\b(stage|engine|string|leg|tank|bank|string|loop) ([1-9])\b", text)
        ordinal = {"1": "first", "2": "second", "3": "third"}
        if found and found[2] in ordinal and self.rng.random() < 0.5:
            return text.replace(found[0], f"{ordinal[found[2]]} {found[1]}", 1)
        return text
