"""The truth about order against textbook values: the fewest steps to move is n less the longest increasing subsequence."""

from __future__ import annotations

from bisect import bisect_left
from random import Random

from aftercount.rehearse.order import Placed, displaced


def _steps(actual: list[float], gap: float = 100.0) -> list[Placed]:
    return [Placed(i, i * gap, a, 5.0, 5.0) for i, a in enumerate(actual)]


def _longest_increasing(values: list[float]) -> int:
    tails: list[float] = []
    for v in values:
        place = bisect_left(tails, v)
        tails[place:place + 1] = [v]
    return len(tails)


def test_one_step_far_out_of_place_is_the_one_displaced() -> None:
    found = displaced(_steps([0, 450, 200, 300, 400, 500]))
    assert [k for k, (out, _) in found.items() if out] == [1]
    assert not any(unsure for _, unsure in found.values())


def test_a_swap_of_two_is_either() -> None:
    found = displaced(_steps([0, 200, 100, 300]))
    assert {k for k, (_, unsure) in found.items() if unsure} == {1, 2}
    assert not any(out for out, _ in found.values())


def test_steps_within_tolerance_are_unordered() -> None:
    assert not any(out or unsure for out, unsure in displaced(_steps([10, 0, 25, 20], gap=4.0)).values())


def test_in_order_part_is_a_longest_increasing_subsequence() -> None:
    """D1's definition, on random orders with far-apart times: what is never kept plus what is always kept brackets n - LIS."""
    rng = Random(1)
    for _ in range(200):
        order = list(range(9))
        rng.shuffle(order)
        actual = [order[i] * 100.0 for i in range(9)]
        found = displaced(_steps(actual))
        moved = 9 - _longest_increasing(actual)
        surely = sum(out and not unsure for out, unsure in found.values())
        perhaps = sum(out or unsure for out, unsure in found.values())
        assert surely <= moved <= perhaps
