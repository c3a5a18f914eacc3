"""What the match takes is the best there is: held to two independent solvers on random small counts.

The problem, stated anew: an utterance is one step's, in one part of it, or no step's; a part of a step due is told on one log at most
TIMES times, each further telling costing REPEAT_COST more; a part that nothing is taken for is not seen, at no gain. A moment that several
logs share may be taken on each of them.
"""

from __future__ import annotations

from itertools import product
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.match import decide, engine

UTTERANCES, STEPS, PARTS, LOGS = 5, 3, 2, 2
NO_PINS = decide.Pins(frozenset(), frozenset(), frozenset(), frozenset(), ())

quarter = st.integers(-20, 20).map(lambda n: n / 4)


@st.composite
def counts(draw: st.DrawFn, utterances: int = UTTERANCES, steps: int = STEPS) -> Any:
    """Utterances on logs, in parts, each with log-odds for some of the steps due; two may be of one moment on two logs."""
    pairs = draw(st.lists(st.tuples(st.integers(0, utterances - 1), st.integers(0, steps - 1)), min_size=1, max_size=2 * utterances, unique=True))
    u, d = (np.array(column, dtype=np.int64) for column in zip(*sorted(pairs, key=lambda p: (p[1], p[0])), strict=True))
    said = SimpleNamespace(
        part=np.array(draw(st.lists(st.integers(0, PARTS - 1), min_size=utterances, max_size=utterances))),
        source=np.array(draw(st.lists(st.integers(0, LOGS - 1), min_size=utterances, max_size=utterances))))
    logit = np.array(draw(st.lists(quarter, min_size=len(u), max_size=len(u))))
    return SimpleNamespace(u=u, d=d, said=said, logit=logit, part=said.part[u], made=NO_PINS, of_two=np.zeros(len(u), dtype=bool))


def slots(count: Any) -> list[tuple[int, int, int]]:
    return [(int(d), int(count.said.part[u]), int(count.said.source[u])) for u, d in zip(count.u, count.d, strict=True)]


def worth(count: Any, taken: list[int]) -> float:
    """Total gain of taking these pairs; minus infinity if they may not be taken together."""
    mine = [int(count.u[i]) for i in taken]
    told: dict[tuple[int, int, int], int] = {}
    total = 0.0
    for i in taken:
        slot = slots(count)[i]
        total += count.logit[i] - engine.CHOOSE_LOGIT - engine.REPEAT_COST * told.get(slot, 0)
        told[slot] = told.get(slot, 0) + 1
    return total if len(set(mine)) == len(mine) and max(told.values(), default=0) <= engine.TIMES else -np.inf


def by_brute_force(count: Any) -> float:
    """The best over every way to give each utterance one of its pairs or no step."""
    of = [[-1, *np.flatnonzero(count.u == u).tolist()] for u in sorted(set(count.u.tolist()))]
    return max(worth(count, [i for i in way if i >= 0]) for way in product(*of))


def by_milp(count: Any) -> float:
    """The same by SciPy's mixed-integer solver: one 0-1 variable a pair and telling."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    pair = np.repeat(np.arange(len(count.u)), engine.TIMES)
    time = np.tile(np.arange(engine.TIMES), len(count.u))
    gain = count.logit[pair] - engine.CHOOSE_LOGIT - engine.REPEAT_COST * time
    places = sorted(set(slots(count)))
    rows = [(count.u[pair] == u).astype(float) for u in sorted(set(count.u.tolist()))]
    at = np.array([places.index(s) for s in slots(count)])[pair]
    rows += [((at == place) & (time == k)).astype(float) for place in range(len(places)) for k in range(engine.TIMES)]
    solved = milp(-gain, constraints=LinearConstraint(np.array(rows), ub=1.0), integrality=np.ones(len(gain)), bounds=Bounds(0, 1))
    return float(-solved.fun)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(counts())
def test_no_choice_is_better_by_brute_force(count: Any) -> None:
    taken = np.flatnonzero(engine.choose(count)).tolist()
    assert worth(count, taken) == pytest.approx(by_brute_force(count))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(counts(utterances=14, steps=6))
def test_no_choice_is_better_by_an_integer_programme(count: Any) -> None:
    taken = np.flatnonzero(engine.choose(count)).tolist()
    assert worth(count, taken) == pytest.approx(by_milp(count))


def test_both_solvers_agree_where_the_answer_is_known() -> None:
    """Two utterances on two logs share a moment of step 0, a third repeats it, a fourth is worth nothing."""
    count = SimpleNamespace(
        u=np.array([0, 1, 2, 3]), d=np.array([0, 0, 0, 0]), logit=np.array([1.0, 1.0, 1.0, -5.0]), made=NO_PINS, part=np.zeros(4, dtype=int),
        said=SimpleNamespace(part=np.zeros(4, dtype=int), source=np.array([0, 1, 0, 0])), of_two=np.zeros(4, dtype=bool))
    expected = 3 * (1.0 - engine.CHOOSE_LOGIT) - engine.REPEAT_COST
    assert by_brute_force(count) == by_milp(count) == expected
    assert engine.choose(count).tolist() == [True, True, True, False]
