"""Times as said, typed and shown."""

from __future__ import annotations

import re
from random import Random

import pytest

from aftercount.rehearse.speaking import count_text, in_words, number_words, spoken_count


@pytest.mark.parametrize(("t", "shown"), [(-10.0, "T-00:00:10"), (-9.2, "T-00:00:10"), (-10.01, "T-00:00:11"), (0.0, "T+00:00:00"),
                                          (12.9, "T+00:00:12"), (-5400, "T-01:30:00")])
def test_a_clock_shows_the_last_second_it_reached(t: float, shown: str) -> None:
    assert count_text(t) == shown


def test_forms_typed() -> None:
    assert [count_text(-330, s) for s in ("signed", "short", "minutes")] == ["-00:05:30", "T-5:30", "T-5:30"]
    assert count_text(-31, "short") == "T-31s"


@pytest.mark.parametrize(("n", "words"), [(0, "zero"), (31, "thirty one"), (90, "ninety"), (190, "one hundred ninety"), (1430, "fourteen thirty"),
                                          (1405, "fourteen oh five")])
def test_number_words(n: int, words: str) -> None:
    assert number_words(n) == words


def test_numbers_in_a_sentence() -> None:
    assert in_words("open stage 2 vent FV-201 at 31") == "open stage two vent FV-201 at thirty one"


def test_a_spoken_count_says_its_time() -> None:
    """Hours, minutes and seconds that are said add up to the reading, whatever the form."""
    rng = Random(2)
    for _ in range(500):
        t = -rng.choice([rng.randrange(60, 9000), rng.randrange(1, 60)])
        text = spoken_count(t, rng)
        found = {unit: int(n) for n, unit in re.findall(r"(\d+) (hour|minute|second)", text)}
        if found:
            total = 3600 * found.get("hour", 0) + 60 * found.get("minute", 0) + found.get("second", 0)
        else:
            numbers = [int(n) for n in re.findall(r"\d+", text)]
            total = numbers[0] if len(numbers) == 1 else 60 * numbers[0] + numbers[1]
        assert total == -t, text
