"""The assignment is the exact optimum of its stated problem: held to brute force, and to published small cases (checks D4)."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.match.assign import assign

gains = st.lists(st.lists(st.one_of(st.none(), st.floats(-5, 5)), min_size=4, max_size=4), min_size=1, max_size=4)


def brute_force(table: list[list[float | None]]) -> float:
    """The best total over every way to give each row one column or none, no column twice."""
    best = 0.0
    for choice in product(range(-1, 4), repeat=len(table)):
        used = [c for c in choice if c >= 0]
        values = [table[r][c] for r, c in enumerate(choice) if c >= 0]
        if len(set(used)) == len(used) and None not in values:
            best = max(best, sum(v for v in values if v is not None))
    return best


def as_pairs(table: list[list[float | None]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    cells = [(r, c, v) for r, row in enumerate(table) for c, v in enumerate(row) if v is not None]
    rows, columns, values = zip(*cells, strict=True) if cells else ((), (), ())
    return np.array(rows, dtype=np.int64), np.array(columns, dtype=np.int64), np.array(values, dtype=np.float64)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(gains)
def test_equals_brute_force(table: list[list[float | None]]) -> None:
    row, slot, gain = as_pairs(table)
    chosen = assign(row, slot, gain)
    assert len(set(row[chosen].tolist())) == chosen.sum() == len(set(slot[chosen].tolist()))
    assert gain[chosen].sum() == pytest.approx(brute_force(table))


@pytest.mark.parametrize(("cost", "columns"), [
    ([[4, 1, 3], [2, 0, 5], [3, 2, 2]], [1, 0, 2]),  # SciPy's documentation of linear_sum_assignment
    ([[5, 9, 1], [10, 3, 2], [8, 7, 4]], [2, 1, 0]),
    ([[8, 4, 7], [5, 2, 3], [9, 4, 8]], [0, 2, 1]),
])
def test_published_assignments(cost: list[list[int]], columns: list[int]) -> None:
    row, slot, gain = as_pairs([[20.0 - c for c in line] for line in cost])
    chosen = assign(row, slot, gain)
    assert slot[chosen][np.argsort(row[chosen])].tolist() == columns


def test_surplus_rows_stay_unassigned() -> None:
    row, slot, gain = np.array([0, 1, 2]), np.array([0, 0, 0]), np.array([1.0, 3.0, 2.0])
    assert assign(row, slot, gain).tolist() == [False, True, False]


def test_of_duplicated_pairs_the_first_best_is_taken() -> None:
    row, slot, gain = np.array([0, 0, 0]), np.array([0, 0, 0]), np.array([1.0, 2.0, 2.0])
    assert assign(row, slot, gain).tolist() == [False, True, False]
