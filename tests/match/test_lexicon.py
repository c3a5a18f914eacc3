"""Texts in the words of a plan: what a call sign is, and what only sounds like one."""

from __future__ import annotations

import numpy as np
import pytest

from aftercount.match import lexicon, likeness
from match.small import a_count, a_plan

PLAN = a_plan("1 | -60 | TC>PROP | Open propulsion vent", "2 | -30 | TC>RNG | Arm range receiver A")


@pytest.mark.parametrize(("text", "names", "words"), [
    ("In work, PROP", ("PROP", "TC"), ["in", "work"]),
    ("PROP, TC, open vent", ("TC", "PROP"), ["open", "vent"]),
    ("PROP this is TC, open propulsion vent", ("TC", "PROP"), ["this", "is", "open", "propel", "vent"]),
    ("propulsion vent opened", ("PROP",), ["propel", "vent", "open"]),
    ("vent of propulsion to stand-by", ("PROP",), ["vent", "of", "propel", "to", "stand", "by"]),
    ("PROP go", ("PROP",), ["go"]),
    ("PROP go", (), ["propel", "go"]),
])
def test_a_call_sign_where_it_calls_says_nothing_of_a_step(text: str, names: tuple[str, ...], words: list[str]) -> None:
    assert list(lexicon.build(PLAN, a_count()).canonical(text, names)) == words


def test_an_ending_that_sounds_like_a_word_of_the_plan_is_kept() -> None:
    """A recogniser writes LOX as 'locks', which is no lock; 'vents' stays the plural of a word of the plan."""
    plan = lexicon.build(a_plan("1 | -60 | TC>PROP | Pressurize LOX tank", "2 | -50 | TC>PROP | Open LOX vents"), a_count())
    assert plan.canonical("pressurize locks tank") == ("press", "locks", "tank")
    assert plan.canonical("lock the door, vents opened") == ("lock", "the", "door", "vent", "open")
    assert plan.canonical("tanks checked by both stations") == ("tank", "check", "by", "both", "station")


def test_a_text_with_one_word_of_a_wording_of_several_says_little_of_it() -> None:
    plan = a_plan("1 | -60 | TC>PROP | Inspect tail fin", "2 | -30 | TC>RNG | Pressurize")
    texts = ["two knots of tail wind", "tail fin inspected", "pressurized"]
    alike = likeness.compare([(text, ()) for text in texts], np.zeros(len(texts), dtype=np.int64), lexicon.build(plan, a_count()))
    assert [alike.lone[alike.text_of[i], row] for i, row in ((0, 0), (1, 0), (2, 1))] == [1.0, 0.0, 0.0]
