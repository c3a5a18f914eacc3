"""The statistics against what is printed for them."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kendalltau, norm

from aftercount.campaign import stats
from aftercount.campaign.changes import changes
from aftercount.campaign.control import (
    D2,
    D4,
    SIGMAS,
    cusum,
    cusum_limit,
    ewma,
    ewma_half_width,
    individuals,
    moving_ranges,
)
from aftercount.campaign.expect import expect
from aftercount.campaign.levels import _moving, _steady, levels
from aftercount.campaign.shape import course, learning_curve
from aftercount.campaign.spreads import LOG_SIGMAS, common_spread, own_spread
from campaign.printed import LEW, LOTTERY, MAVRO, MICHELSO, PONTIUS, numbers

# J. Little, College of the Holy Cross, 'Mann-Kendall by hand': one tied pair, S = 54, Z = 2.9058.
BY_HAND = np.array([12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7])
# NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches.
FLOW = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
# NIST StRD, Norris (linear regression, lower difficulty), certified values.
NORRIS = np.array([float(v) for v in ["0.1", "0.2", "338.8", "337.4", "118.1", "118.2", "888.0", "884.6", "9.2", "10.1", "228.1", "226.5", "668.5", "666.3", "998.5", "996.3", "449.1", "448.6", "778.9", "777.0", "559.2", "558.2", "0.3", "0.4", "0.1", "0.6", "778.1", "775.5", "668.8", "666.9", "339.3", "338.0", "448.9", "447.5", "10.8", "11.6", "557.7", "556.0", "228.3", "228.1", "998.0", "995.8", "888.8", "887.6", "119.6", "120.2", "0.3", "0.3", "0.6", "0.3", "557.6", "556.8", "339.3", "339.1", "888.0", "887.2", "998.5", "999.0", "778.9", "779.0", "10.2", "11.1", "117.6", "118.3", "228.9", "229.2", "668.4", "669.1", "449.2", "448.9", "0.2", "0.5"]]).reshape(-1, 2)


def test_ordinary_regression_on_norris() -> None:
    found = stats.line(NORRIS[:, 1], NORRIS[:, 0])
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert (found.low, found.high) == (pytest.approx(1.00124336573557, rel=1e-12), pytest.approx(1.00299027030533, rel=1e-12))


def test_regression_and_robust_slope_on_one_published_series() -> None:
    x = np.arange(1.0, 15.0)
    assert stats.line(x, BY_HAND).slope == pytest.approx(0.561318681, abs=1e-9)
    robust = stats.robust_slope(x, BY_HAND)
    assert robust.slope == pytest.approx(0.566666667, abs=1e-9) and robust.intercept == pytest.approx(11.4, abs=1e-9)
    assert (robust.low, robust.high) == (pytest.approx(0.325, abs=1e-9), pytest.approx(0.866666667, abs=1e-9))


def test_mann_kendall_by_hand() -> None:
    assert stats.kendall_s(BY_HAND) == 54
    ties = (1,) * 12 + (2,)
    assert stats.normal_z(54, ties) == pytest.approx(2.9058, abs=5e-5)
    assert stats.normal_p(54, ties) / 2 == pytest.approx(0.0018, abs=5e-5)
    # So far out the normal approximation is wide of the exact tail, but not by a factor of two.
    assert stats.normal_p(54, ties) / 2 < stats.mann_kendall(BY_HAND) < stats.normal_p(54, ties)


@given(st.lists(st.integers(0, 4), min_size=4, max_size=7))
@settings(max_examples=60, deadline=None)
def test_exact_mann_kendall_is_the_share_of_orders_with_as_much_trend(values: list[int]) -> None:
    y = np.array(values, dtype=float)
    s = abs(stats.kendall_s(y))
    scores = [abs(stats.kendall_s(np.array(order))) for order in permutations(y)]
    assert stats.mann_kendall(y) == pytest.approx(np.mean([score >= s for score in scores]), abs=1e-12)


@pytest.mark.parametrize("n", [4, 9, 12, 25, 40])
def test_exact_mann_kendall_without_ties_is_the_library_s(n: int) -> None:
    y = np.random.default_rng(n).normal(size=n) + np.arange(n) * 0.05
    assert stats.mann_kendall(y) == pytest.approx(float(kendalltau(np.arange(n), y, method="exact").pvalue), rel=1e-9)


def test_benjamini_hochberg_on_the_example_of_its_paper() -> None:
    p = np.array([0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0])
    q = stats.adjust(np.append(p, np.nan))
    wanted = [0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765, 0.486]
    assert q[:10] == pytest.approx(wanted, abs=1e-8) and np.isnan(q[-1])
    assert int((q[:-1] <= 0.05).sum()) == 4


@pytest.mark.parametrize(("hits", "n", "low", "high"), [
    (81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718),
    (0, 10, 0.0, 0.2775), (10, 10, 0.7225, 1.0), (0, 0, 0.0, 1.0),
])
def test_wilson_s_interval_as_newcombe_prints_it(hits: int, n: int, low: float, high: float) -> None:
    assert stats.wilson(hits, n) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


def hard(base: float) -> np.ndarray:
    """The numerically hard sets of NIST StRD, NumAcc2 to NumAcc4: a base, then 500 times 0.1 below and above it."""
    return np.array([base] + [base - 0.1, base + 0.1] * 500)


# NIST StRD univariate, certified mean, standard deviation and lag-1 autocorrelation. The hard sets are not exact in binary.
UNIVARIATE = [
    ("Lew", numbers(LEW), -177.435, 277.332168044316, -0.307304800605679, 1e-13),
    ("Lottery", numbers(LOTTERY), 518.958715596330, 291.699727470969, -0.120948622967393, 1e-12),
    ("Michelso", numbers(MICHELSO), 299.8524, 0.0790105478190518, 0.535199668621283, 1e-11),
    ("Mavro", numbers(MAVRO), 2.001856, 0.000429123454003053, 0.937989183438248, 1e-10),
    ("NumAcc1", np.array([10000001.0, 10000003.0, 10000002.0]), 10000002, 1.0, -0.5, 1e-13),
    ("NumAcc2", hard(1.2), 1.2, 0.1, -0.999, 1e-12), ("NumAcc3", hard(1000000.2), 1000000.2, 0.1, -0.999, 1e-8),
    ("NumAcc4", hard(10000000.2), 10000000.2, 0.1, -0.999, 1e-7),
]


@pytest.mark.parametrize(("name", "y", "mean", "sd", "r1", "rel"), UNIVARIATE, ids=[row[0] for row in UNIVARIATE])
def test_spreads_and_levels_on_the_univariate_sets(name: str, y: np.ndarray, mean: float, sd: float, r1: float, rel: float) -> None:
    assert stats.spread(y) == pytest.approx(sd, rel=rel)
    # The steady course of the expectation is our own arithmetic: its level is the mean, its squares (n - 1) SD^2.
    found = levels(y[None, :]) if len(y) < 5 else _steady(y[None, :], np.array([len(y)]))
    assert found.level[0] == pytest.approx(mean, rel=1e-13) and found.squares[0] == pytest.approx((len(y) - 1) * sd**2, rel=2 * rel)
    # The mean square of the moving ranges, which the charts rest on, is what the lag-1 autocorrelation says of it.
    off, ranges = y - y.mean(), moving_ranges(y)
    squares = 2 * (len(y) - 1) * sd**2 * (1 - r1) - off[0] ** 2 - off[-1] ** 2
    assert float((ranges**2).sum()) == pytest.approx(squares, rel=max(1e-10, 2 * rel))
    # The parts of a change of level add up, and their squares, which are a difference of sums, stay true to the data.
    where = changes(np.vstack([y, y]), np.full(45, 1 / 45))
    if where.first[0] > 0:
        first = int(where.first[0])
        assert (where.before[0], where.after[0]) == (pytest.approx(y[:first].mean(), rel=1e-12), pytest.approx(y[first:].mean(), rel=1e-12))


def test_robust_and_ordinary_slopes_on_pontius() -> None:
    """NIST StRD, Pontius: a load cell, curved by three parts in a thousand; what our slopes say of it is printed nowhere.

    With the certified curve taken away nothing is left to see of a slope, and the residuals have the certified spread.
    """
    x = np.tile(np.arange(150000.0, 3000001.0, 150000.0), 2)
    y = numbers(PONTIUS)
    rest = y - (0.673565789473684e-3 + 0.732059160401003e-6 * x - 0.316081871345029e-14 * x**2)
    assert float(np.sqrt((rest**2).sum() / 37)) == pytest.approx(0.205177424076185e-3, rel=1e-8)
    order = np.argsort(x, kind="stable")
    straight = stats.line(x, rest)
    assert straight.low < 0 < straight.high and abs(straight.slope) < 1e-15
    robust = stats.robust_slope(x[order], rest[order])
    assert robust.low < 0 < robust.high


def test_the_second_printed_chart_of_individuals() -> None:
    """The Handbook for Quality Management, table 9.4: 25 values and their moving ranges."""
    values = numbers("110 103 97 96 105 110 100 93 90 103 97 103 90 97 99 106 90 96 109 90 91 108 96 101 96")
    ranges = numbers("7 6 1 9 5 10 7 3 13 6 6 13 7 2 7 16 6 13 19 1 17 12 5 5")
    found = individuals(values)
    assert moving_ranges(values).tolist() == ranges.tolist()
    assert (found.centre, found.mean_range) == (pytest.approx(99.04), pytest.approx(8.166667, abs=1e-6))
    # The text rounds 3/d2 to 2.66 and D4 to 3.267; they are exact here.
    assert found.high == pytest.approx(99.04 + 2.6586807764 * 8.1666667, abs=1e-6) and found.high == pytest.approx(120.763, abs=0.02)
    assert found.range_high == pytest.approx(26.6805, abs=0.004)


def test_no_value_of_eight_can_pass_three_sigma_of_its_own_spread() -> None:
    """e-Handbook 1.3.5.17.1: |z| of n values is at most (n - 1)/sqrt(n), so a few rehearsals need the spread of all steps."""
    values = numbers("199.31 199.53 200.19 200.82 201.92 201.95 202.18 245.57")
    z = (values.max() - values.mean()) / stats.spread(values)
    assert z == pytest.approx(2.468765, abs=1e-6) and z < 7 / np.sqrt(8)
    steps = np.vstack([values[:7], 200 + np.random.default_rng(1).normal(size=(20, 7))])
    assert expect(steps).chance(np.full(21, 245.57))[0] < 1e-6


def test_individuals_and_moving_range() -> None:
    assert moving_ranges(FLOW) == pytest.approx([2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5])
    found = individuals(FLOW)
    assert (found.centre, found.mean_range) == (pytest.approx(50.81), pytest.approx(1.8778, abs=5e-5))
    # Printed 55.8041 and 45.8159 with d2 rounded to 1.128; d2 is exact here.
    assert found.centre + SIGMAS / 1.128 * found.mean_range == pytest.approx(55.8041, abs=5e-5)
    assert (found.low, found.high) == (pytest.approx(45.8176, abs=5e-4), pytest.approx(55.8024, abs=5e-4))
    assert pytest.approx(1.1283791671, abs=1e-10) == D2 and pytest.approx(3.2665319193, abs=1e-10) == D4


def test_no_moving_range_is_taken_across_a_gap() -> None:
    values = np.array([1.0, 2.0, np.nan, 40.0, 41.0])
    assert individuals(values).mean_range == 1.0
    assert np.isnan(individuals(np.array([1.0, np.nan, 3.0])).low)


def test_ewma_of_the_handbook() -> None:
    values = np.array([52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    printed = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23,
               51.94, 51.99]
    assert ewma(values, 50.0) == pytest.approx(printed, abs=0.0051)
    assert 50 + ewma_half_width(2.0539) == pytest.approx(52.5884, abs=1e-4)
    assert ewma_half_width(2.0539, count=1) == pytest.approx(1.84851, abs=1e-5)
    assert ewma(np.array([52.0, np.nan]), 50.0)[1] == pytest.approx(50.6)


def test_cusum_of_the_handbook_signals_first_at_group_14() -> None:
    values = np.array([324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325,
                       327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350])
    high, low = cusum(values, 325, 0.3175)
    assert high == pytest.approx([0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04], abs=0.0051)
    assert low == pytest.approx([0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31] + [0] * 9, abs=0.0051)
    assert int(np.argmax(high > 4.1959)) + 1 == 14


@pytest.mark.parametrize("run_length", [100.0, 930.0, 4000.0])
def test_the_cusum_s_limit_is_passed_once_in_its_run_length(run_length: float) -> None:
    """Montgomery, Introduction to Statistical Quality Control: h = 5, k = 1/2 gives a one-sided run length of about 930.

    Against the Markov chain of Brook and Evans (1972): the sum in 400 cells, the mean run length by solving for it.
    """
    limit = cusum_limit(run_length, 0.5)
    if run_length == 930.0:
        assert limit == pytest.approx(5.0, abs=0.02)
    cells = 400
    width = 2 * limit / (2 * cells - 1)
    at = np.arange(cells) * width
    edges = at[None, :] - at[:, None] + 0.5
    move = norm.cdf(edges + width / 2) - norm.cdf(edges - width / 2)
    move[:, 0] = norm.cdf(edges[:, 0] + width / 2)
    assert float(np.linalg.solve(np.eye(cells) - move, np.ones(cells))[0]) == pytest.approx(run_length, rel=0.03)


def test_charts_of_many_steps_are_those_of_each() -> None:
    values = np.random.default_rng(3).normal(size=(4, 15))
    values[1, 6] = np.nan
    high, low = cusum(values, 0.1, 0.5)
    for i, row in enumerate(values):
        assert np.array_equal(ewma(values, 0.2)[i], ewma(row, 0.2))
        assert np.array_equal(high[i], cusum(row, 0.1, 0.5)[0]) and np.array_equal(low[i], cusum(row, 0.1, 0.5)[1])


def test_the_spreads_of_all_steps_tell_how_one_may_vary() -> None:
    """Steps drawn from a known distribution of sigmas: what is estimated has its mean and width."""
    rng = np.random.default_rng(11)
    sigma = np.exp(rng.normal(np.log(3), 0.4, size=4000))
    df = np.full(4000, 6)
    squares = sigma**2 * rng.chisquare(6, size=4000)
    common = common_spread(squares, df)
    centre = float(common @ LOG_SIGMAS)
    assert centre == pytest.approx(np.log(3), abs=0.03) and float(np.sqrt(common @ (LOG_SIGMAS - centre) ** 2)) == pytest.approx(0.4, abs=0.05)
    own = np.exp(own_spread(squares, df, common) @ LOG_SIGMAS)
    raw = np.sqrt(squares / df)
    assert np.mean((np.log(own) - np.log(sigma)) ** 2) < 0.8 * np.mean((np.log(raw) - np.log(sigma)) ** 2)


def test_the_filter_of_a_moving_level_is_its_exact_posterior() -> None:
    """Against the same model as one normal distribution, solved whole."""
    rng = np.random.default_rng(5)
    y = np.cumsum(rng.normal(0, 0.7, size=9)) + rng.normal(size=9)
    y[4] = np.nan
    found = _moving(y[None, :], np.array([8]), 0.5)
    seen = np.flatnonzero(~np.isnan(y))
    diffuse = 1e7
    level = diffuse + 0.5 * np.minimum.outer(np.arange(10), np.arange(10))
    within = level[np.ix_(seen, seen)] + np.eye(len(seen))
    gain = np.linalg.solve(within, level[seen, 9])
    assert found.level[0] == pytest.approx(float(gain @ y[seen]), abs=1e-5)
    assert found.variance_1[0] == pytest.approx(float(level[9, 9] - gain @ level[seen, 9]), abs=1e-4)


def test_the_course_is_told_apart() -> None:
    x, noise = np.arange(12.0), np.random.default_rng(3).normal(size=12)
    assert course(x, 30 + 60 * (x + 1) ** -1.0 + noise) == "learning"
    assert course(x, 30 - 3 * x + noise) == "line"
    assert course(x, 30 + noise) == "level"
    assert course(x[:5], x[:5]) == ""


def test_a_step_in_level_is_placed() -> None:
    values = np.random.default_rng(4).normal(size=(20, 14))
    values[0] += np.where(np.arange(14) < 8, 0.0, 15.0)
    found = changes(values, common_spread(np.full(20, 13.0), np.full(20, 13)))
    assert found.first[0] == 8 and found.after[0] - found.before[0] == pytest.approx(15, abs=2) and found.p[0] < 1e-6
    assert found.p[1:].min() > 0.01 and course(np.arange(14.0), values[0]) == "step"


def test_a_learning_curve_is_recovered() -> None:
    x = np.arange(1.0, 13.0)
    found = learning_curve(x, 30 + 60 * x**-0.8)
    assert (found.level, found.gain, found.exponent) == (pytest.approx(30), pytest.approx(60), pytest.approx(0.8))
