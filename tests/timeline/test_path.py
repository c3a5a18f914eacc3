"""The path against the slow way, and against what each model element is for."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from aftercount.timeline.model import (
    ANY,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    MARK,
    RESUME_CALL,
    STEP,
    TARGET,
    Costs,
    Field,
    Nodes,
)
from aftercount.timeline.path import solve
from timeline.slowpath import begin, every_state, least_cost, price_kept, price_move, unspent

CASES = 4000
COSTS = Costs()


def random_case(rng: np.random.Generator) -> tuple[Nodes, Field]:
    """A few nodes scattered round a few states, so that every move competes: distances of seconds to minutes."""
    n = int(rng.integers(1, 5))
    z = np.unique(rng.integers(-40, 60, int(rng.integers(0, 3)) + 1).astype(float))
    t = np.unique(rng.integers(-120, 0, int(rng.integers(0, 3))).astype(float))
    built = np.unique(rng.choice(np.append(t, [-90.0, -30.0]), int(rng.integers(0, 3))))
    built = built[np.append(True, np.diff(built) > 2.5)] if len(built) else built  # planned holds lie minutes apart
    lengths = rng.choice([10.0, 30.0, 60.0], len(built))
    start = np.sort(rng.integers(-150, 100, n).astype(float) + rng.random(n))
    told = bool(len(built)) and rng.random() < 0.4
    if told:  # a planned hold that lasts as planned, about
        ends = z[0] + lengths[0] + rng.integers(-6, 7)
        z, t = np.unique([z[0], ends]), np.unique(np.append(t[:1], built[0]))
        start = np.sort(z[0] + built[0] + rng.uniform(-40.0, lengths[0] + 40.0, n))
    kind = rng.choice([MARK, MARK, MARK, HOLD_CALL, RESUME_CALL, TARGET, STEP], n)
    strict = (kind == MARK) & (rng.random(n) < 0.2)
    says = np.where(kind == MARK, np.where(strict, rng.integers(1, 3, n), rng.integers(0, 3, n)), ANY)
    gap = np.diff(np.append(start, start[-1] + 20))
    end = start + np.where(strict, gap * rng.random(n), 0.0)
    near_z, near_t = rng.choice(z, n), rng.choice(t if len(t) else np.array([-60.0]), n)
    reading = np.where(rng.random(n) < 0.5, start - near_z, near_t) + rng.normal(0, 1.0, n)
    if told:
        held = np.clip(start - z[0], None, built[0])
        reading = np.where(rng.random(n) < 0.8, np.maximum(held, start - z[-1]), reading)
    reading = np.where(kind == TARGET, near_z + rng.normal(0, 3.0, n), reading)
    reading = np.where((kind == HOLD_CALL) & (rng.random(n) < 0.5), np.nan, reading)
    nodes = Nodes(start, end, reading, np.full(n, 1.5), rng.choice([2.0, 4.0, 6.0, 10.0, 18.0], n), rng.choice([2.0, 10.0], n),
                  kind, says, strict, rng.choice([0.8, 1.5], n))
    recycles = np.sort(rng.uniform(-150, 100, int(rng.integers(0, 2))))
    if len(recycles) and rng.random() < 0.5:  # whose own node says to what it was set
        own = int(rng.integers(n))
        recycles[0], nodes.kind[own], nodes.says[own], nodes.strict[own] = start[own], MARK, HOLDING, False
        nodes.end[own], nodes.t[own] = start[own], near_t[own]
    return nodes, Field(z, t, built, lengths, recycles, np.sort(rng.uniform(-150, 100, int(rng.integers(0, 3)))))


def test_cost_is_the_least_over_every_path() -> None:
    rng = np.random.default_rng(20310418)
    moves: set[int] = set()
    for case in range(CASES):
        nodes, field = random_case(rng)
        got = solve(nodes, field, COSTS)
        assert got.cost == pytest.approx(least_cost(nodes, field, COSTS), abs=1e-6), case
        moves |= set(got.move)
    assert moves == {0, 1, 2, 3, 4, 5, 6}  # every kind of move has won somewhere


def test_every_part_of_the_cost_decides_somewhere() -> None:
    """Changing any one price changes the least cost of some of the cases: none of them is left untried."""
    rng = np.random.default_rng(20310418)
    cases = [random_case(rng) for _ in range(700)]
    usual = [solve(nodes, field, COSTS).cost for nodes, field in cases]
    for price in (f for f in fields(COSTS) if not f.name.endswith("_s")):
        changed = replace(COSTS, **{price.name: getattr(COSTS, price.name) * 0.1})
        assert any(abs(solve(nodes, field, changed).cost - was) > 1e-9 for (nodes, field), was in zip(cases, usual, strict=True)), price.name


def test_path_costs_what_it_says() -> None:
    rng = np.random.default_rng(7)
    for case in range(CASES):
        nodes, field = random_case(rng)
        got = solve(nodes, field, COSTS)
        every = every_state(field)
        chosen = [every[k] for k in got.state]
        kept = [(i, [s for s in every if s[1] == c[1] and (s[0] == "C") == (c[0] == "C")]) for i, c in zip(got.node, chosen, strict=True)]
        cost = float(nodes.weight.sum() - nodes.weight[got.node].sum())
        if kept:
            i, states = kept[0]
            after = {s: (price_kept(nodes, i, s, field, COSTS) or 0.0) + b for s in states if (b := begin(nodes, i, s, field, COSTS)) is not None}
            for (i, _), (j, states) in zip(kept, kept[1:], strict=False):
                after = {s: (price_kept(nodes, j, s, field, COSTS) or 0.0) + min(moved) for s in states
                         if (moved := [c + p for was, c in after.items() if (p := price_move(nodes, (i, was), (j, s), field, COSTS)) is not None])}
            cost += min(c + unspent(s, field, COSTS) for s, c in after.items())
        assert cost == pytest.approx(got.cost, abs=1e-6), case


def marks(u: list[float], t: list[float], says: int = ANY, weight: float = 6.0) -> Nodes:
    n = len(u)
    return Nodes(np.array(u), np.array(u), np.array(t), np.ones(n), np.full(n, weight), np.full(n, 2.0), np.full(n, MARK),
                 np.full(n, says), np.zeros(n, dtype=bool), np.ones(n))


def test_one_false_mark_loses() -> None:
    nodes = marks([-600, -500, -480, -400, -300], [-600, -500, -120, -400, -300], COUNTING)
    got = solve(nodes, Field(np.array([-360.0, 0.0]), np.array([]), np.array([]), np.array([]), np.array([]), np.array([])), COSTS)
    assert got.node == [0, 1, 3, 4]


def test_holding_marks_bring_a_hold() -> None:
    nodes = marks([-600, -500, -440, -380, 0], [-600, -500, -480, -480, -480], ANY)
    got = solve(nodes, Field(np.array([0.0]), np.array([-480.0]), np.array([]), np.array([]), np.array([]), np.array([])), COSTS)
    assert got.node == [0, 1, 2, 3, 4]
    assert got.state == [0, 0, 1, 1, 1]
    assert HOLDING != COUNTING


def test_long_machine_log_is_followed_whole() -> None:
    from aftercount.timeline.candidates import candidates
    from aftercount.timeline.evidence import Evidence
    from aftercount.timeline.nodes import build

    rng = np.random.default_rng(1)
    n = 20_000
    u = np.sort(rng.uniform(-20_000, 1_000, n))
    held = np.clip(u + 9_000, 0, 600)
    t = u - held + rng.normal(0, 0.02, n)
    flat = {"weight": 6.0, "sigma": 0.05, "read": 0.05, "slack": 1.0}
    columns = {k: np.full(n, v) for k, v in flat.items()}
    whole = {k: np.zeros(n, dtype=np.int64) for k in ("utterance", "source", "kind", "says", "origin", "row")}
    made = build(Evidence(own=u, t=t, **columns, **whole), u)
    none = np.array([])
    got = solve(made.nodes, candidates(made.nodes, none, none, none, none), COSTS)
    assert len(got.node) > 0.9 * len(made.nodes)


def test_a_reading_just_before_the_clock_is_set_does_not_make_it_run() -> None:
    """Held, set back by a recycle call: one reading between that may be false is not worth a clock that was set while it ran."""
    nodes = marks([-600, -300, -290, 0, 60, 600], [-600, -300, -300, -250, -540, 0], ANY)
    nodes = replace(nodes, says=np.array([COUNTING, ANY, HOLDING, COUNTING, COUNTING, COUNTING]))
    field = Field(np.array([0.0, 250.0, 600.0]), np.array([-300.0]), np.array([]), np.array([]), np.array([50.0]), np.array([]))
    assert solve(nodes, field, COSTS).node == [0, 1, 2, 4, 5]
    assert solve(nodes, field, replace(COSTS, running=0.0)).node == [0, 1, 2, 3, 4, 5]


def test_a_clock_set_to_a_planned_hold_is_held_there() -> None:
    """'We expect to resume in ten minutes', misheard: no reason to have set the clock short of a planned hold and to have run it there."""
    nodes = marks([-400, -300, -130, 300, 800, 1400, 1460], [-400, -300, -142, -142, -7200, -7140, -7080], ANY)
    nodes = replace(nodes, says=np.array([ANY, ANY, HOLDING, ANY, HOLDING, COUNTING, ANY]), kind=np.array([MARK, MARK, MARK, RESUME_CALL, MARK, MARK, MARK]),
                    weight=np.array([20.0, 20.0, 20.0, 1.5, 20.0, 20.0, 20.0]), slack=np.where(np.arange(7) == 3, 10.0, 3.0))
    field = Field(np.array([0.0, 8000.0, 8540.0]), np.array([-7200.0, -142.0]), np.array([-7200.0]), np.array([1800.0]), np.array([]), np.array([]))
    got = solve(nodes, field, COSTS)
    assert got.node == [0, 1, 2, 4, 5, 6] and got.state == [0, 0, 4, 3, 2, 2]


@pytest.mark.parametrize(("says", "kinds"), [(COUNTING, [RESUME_CALL, MARK]), (HOLDING, [MARK, RESUME_CALL])])
def test_who_resumes_the_count_and_reads_it_in_one_breath_reads_it_as_he_says(says: int, kinds: list[int]) -> None:
    """'Resume the count, T minus nine and counting' counts by then; 'we will resume at T minus nine on my mark' still holds."""
    from aftercount.timeline.evidence import Evidence
    from aftercount.timeline.nodes import build

    u = np.array([-100.0, -100.0])
    columns = {name: np.full(2, value) for name, value in {"sigma": 1.5, "read": 1.5, "weight": 6.0, "slack": 3.0, "t": -540.0}.items()}
    same = {name: np.zeros(2, dtype=np.int64) for name in ("utterance", "source", "origin", "row")}
    made = build(Evidence(own=u, kind=np.array([MARK, RESUME_CALL]), says=np.array([says, ANY]), **columns, **same), u)
    assert made.nodes.kind.tolist() == kinds
