"""Out of order: against a textbook longest increasing subsequence and against brute force."""

from __future__ import annotations

import random
from bisect import bisect_left
from itertools import combinations

import pytest

from aftercount.findings.order import Placed, conflicts, displaced, weight


def textbook_lis(values):
    """Length of the longest strictly increasing subsequence (patience sorting)."""
    tops: list[float] = []
    for v in values:
        k = bisect_left(tops, v)
        tops[k:k + 1] = [v]
    return len(tops)


def brute_force(steps):
    """The weight of the heaviest subset without a conflict, trying every subset."""
    bad = set(conflicts(steps))
    best = 0.0
    for size in range(len(steps) + 1):
        for kept in combinations(range(len(steps)), size):
            if not any(p in bad for p in combinations(kept, 2)) and not any((b, a) in bad for a, b in combinations(kept, 2)):
                best = max(best, sum(weight(steps[i]) for i in kept))
    return best


@pytest.mark.parametrize(("actual", "moved"), [
    # The standard encyclopaedia example: a longest increasing subsequence has 6 of 16 members.
    ([0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15], 10),
    ([], 0), ([5], 0), ([1, 2, 3, 4, 5], 0), ([5, 4, 3, 2, 1], 4), ([0, 3, 2, 1, 4], 2), ([3, 4, 1, 2, 5], 2)])
def test_the_fewest_steps_are_moved(actual, moved):
    assert sum(displaced([Placed(float(i), float(a)) for i, a in enumerate(actual)])) == moved


@pytest.mark.parametrize("seed", range(40))
def test_equals_the_textbook_on_random_permutations(seed):
    rng = random.Random(seed)
    actual = rng.sample(range(1000), rng.randint(2, 60))
    out = displaced([Placed(float(i), float(a)) for i, a in enumerate(actual)])
    assert len(actual) - sum(out) == textbook_lis(actual)
    kept = [a for a, o in zip(actual, out, strict=True) if not o]
    assert kept == sorted(kept)


def heaviest_increasing(actual, weights):
    """The textbook quadratic recurrence: the best chain that ends with each value is the best one it can follow, and itself."""
    best: list[float] = []
    for i, value in enumerate(actual):
        best.append(weights[i] + max((best[j] for j in range(i) if actual[j] < value), default=0.0))
    return max(best, default=0.0)


@pytest.mark.parametrize("seed", range(60))
def test_equals_the_heaviest_increasing_subsequence_by_confidence(seed):
    rng = random.Random(7000 + seed)
    actual = rng.sample(range(1000), rng.randint(2, 50))
    steps = [Placed(float(i), float(a), confidence=rng.uniform(0.3, 1.0), on_time=False, deviation_s=rng.uniform(-300, 300))
             for i, a in enumerate(actual)]
    kept = [i for i, o in enumerate(displaced(steps)) if not o]
    weights = [weight(s) for s in steps]
    assert [actual[i] for i in kept] == sorted(actual[i] for i in kept)
    assert sum(weights[i] for i in kept) == pytest.approx(heaviest_increasing(actual, weights), abs=1e-4)


@pytest.mark.parametrize("seed", range(120))
def test_equals_brute_force_with_tolerances_confidence_and_uncertainty(seed):
    rng = random.Random(1000 + seed)
    steps = [
        Placed(rng.uniform(0, 60), rng.uniform(0, 60), rng.choice([0, 5, 15]), rng.choice([0, 5, 15]),
               rng.choice([0.0, 1.0, 4.0]), rng.uniform(0.3, 1.0), False, rng.uniform(-20, 20), rng.choice("ab"), 0.5)
        for _ in range(rng.randint(2, 10))]
    out = displaced(steps)
    kept = [i for i, o in enumerate(out) if not o]
    bad = set(conflicts(steps))
    assert not any((a, b) in bad or (b, a) in bad for a, b in combinations(kept, 2))
    assert sum(weight(steps[i]) for i in kept) == pytest.approx(brute_force(steps), abs=1e-4)


def test_on_time_steps_never_conflict_even_when_swapped():
    late_one, early_one = Placed(0.0, 9.0, 5, 9, on_time=True), Placed(10.0, 8.0, 5, 9, on_time=True)
    assert displaced([late_one, early_one]) == [False, False]


def test_steps_within_each_others_tolerance_are_unordered():
    assert displaced([Placed(0.0, 30.0, 10, 10), Placed(9.0, 20.0, 10, 10)]) == [False, False]
    assert sum(displaced([Placed(0.0, 30.0, 10, 10), Placed(11.0, 20.0, 10, 10)])) == 1


def test_of_two_equals_the_one_off_its_time_strayed():
    on_time, strayed = Placed(100.0, 100.0, 10, 10, 0.1, 0.97, True), Placed(0.0, 130.0, 10, 10, 0.1, 0.99, False, 130.0)
    assert displaced([strayed, on_time]) == [True, False]


def test_the_doubtful_match_strays_before_the_sure_one():
    doubtful, sure = Placed(0.0, 50.0, confidence=0.55), Placed(20.0, 40.0, confidence=0.99)
    assert displaced([doubtful, sure]) == [True, False]


def test_uncertain_times_settle_no_order():
    assert displaced([Placed(0.0, 31.0, sigma_s=8.0), Placed(20.0, 12.0, sigma_s=8.0)]) == [False, False]


def test_a_step_whose_order_may_be_lost_can_have_begun_before_its_report():
    assert displaced([Placed(0.0, 130.0, late_s=10.0, ahead_s=60.0), Placed(60.0, 80.0)]) == [False, False]
    assert sum(displaced([Placed(0.0, 130.0, late_s=10.0, ahead_s=40.0), Placed(60.0, 80.0)])) == 1
    assert sum(displaced([Placed(0.0, 130.0, late_s=10.0), Placed(60.0, 80.0, ahead_s=60.0)])) == 1  # it was surely before


def test_a_partial_order_costs_nothing_where_the_strict_sequence_would():
    # plan a < {b, c in any order} < d, done a c b d: as a partial order nothing moved, as a sequence one step did
    loose = [Placed(0, 0, 1, 1), Placed(10, 12, 1, 2), Placed(11, 10, 2, 1), Placed(20, 20, 1, 1)]
    strict = [Placed(0, 0), Placed(10, 12), Placed(11, 10), Placed(20, 20)]
    assert (sum(displaced(loose)), sum(displaced(strict))) == (0, 1)


def test_one_log_knows_its_own_order_and_a_step_between_settles_it_for_others():
    def step(planned, actual, source):
        return Placed(planned, actual, sigma_s=8.0, source=source, own_sigma_s=0.5)

    assert sum(displaced([step(0, 31, "net.vtt"), step(20, 12, "net.vtt")])) == 1
    assert sum(displaced([step(0, 31, "net.vtt"), step(20, 12, "notes.txt")])) == 0
    # b.log's step is surely before a.log's second, which is surely before its first: so the first is after b.log's
    chain = [step(0, 40, "a"), step(30, 32, "a"), step(60, 5, "b")]
    assert (0, 2) in conflicts(chain)


@pytest.mark.parametrize(("plan", "trace", "sync", "cost"), [
    ("abcde", "abcde", 5, 0), ("abcde", "abde", 4, 1), ("abcde", "bacde", 4, 2), ("abcde", "acbe", 3, 3),
    ("abcdefgh", "abdcefxh", 6, 4), ("abcde", "", 0, 5), ("abcde", "edcba", 1, 8), ("abcde", "abxcde", 5, 1)])
def test_alignment_costs_of_a_sequence(plan, trace, sync, cost):
    """Optimal alignments (synchronous 0, log move 1, model move 1): a displaced step is a move of each kind."""
    done = [c for c in plan if c in trace]
    strayed = sum(displaced([Placed(float(plan.index(c)), float(trace.index(c))) for c in done]))
    missed, unplanned = len(plan) - len(done), sum(c not in plan for c in trace)
    assert (len(done) - strayed, missed + unplanned + 2 * strayed) == (sync, cost)
