"""What is said of uncertainty, held to draws of the same law and to libraries that estimate the same thing in their own way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import trapezoid

from aftercount.speech.entries import CUE_EDGE_S
from aftercount.timeline import clock
from aftercount.timeline.align import DRIFT, align
from aftercount.timeline.cues import jitter
from aftercount.timeline.delays import Delay, typed
from aftercount.timeline.lateness import (
    FALSE,
    FALSE_RANGE_S,
    FINER,
    HEARD_S,
    LEAST_S,
    MEAN_FACTOR,
    MEAN_S,
    MEANS_S,
    REACH_S,
    SPREADS,
    STEP_S,
    Residuals,
    _told,
)
from aftercount.timeline.model import Floats
from aftercount.timeline.scale import honest, scale
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.sureness import Readings, sure
from aftercount.timeline.votes import COUNTED, MARKED, OF_LOG, SHARED, Votes
from timeline.drawn import BASE, Drawn, Log

ONE_SIGMA, TWO_SIGMA = 0.683, 0.95


@pytest.mark.parametrize("n", [2, 3, 4, 5, 6, 7, 8, 9, 12, 30])
def test_the_scale_of_a_few_normal_values_is_right_on_average(n: int) -> None:
    drawn = np.random.default_rng(n).normal(0, 2.0, (4_000, n))
    assert np.mean([scale(x) for x in drawn]) == pytest.approx(2.0, rel=0.05)


def test_the_scale_of_many_is_the_library_s() -> None:
    drawn = np.append(np.random.default_rng(1).normal(3, 0.7, 4000), np.full(600, 40.0))
    assert scale(drawn) == pytest.approx(stats.median_abs_deviation(drawn, scale="normal"), rel=1e-3)


def moments(rng: np.random.Generator, wrong: float, n: int = 160) -> Votes:
    """A log that is 12 s off and drifts by 25 ppm over six hours; some of its moments are of others altogether."""
    own = np.sort(rng.uniform(0, 21600, n))
    y = 12.0 + 25e-6 * (own - own.mean()) + rng.normal(0, 0.4, n)
    y = np.where(rng.random(n) < wrong, y + rng.uniform(-300, 300, n), y)
    whole, none = np.arange(n), np.zeros(n)
    return Votes(whole, whole, own, y, y, np.full(n, 2.0), np.full(n, 3.0), np.full(n, SHARED), none, none > 0, np.full(n, OF_LOG), none, none, none)


@pytest.mark.parametrize("wrong", [0.0, 0.2, 0.4])
def test_offset_and_drift_are_those_of_theil_and_sen(wrong: float) -> None:
    votes = moments(np.random.default_rng(round(100 * wrong)), wrong)
    mine = align(votes, utc=False)
    theirs = stats.theilslopes(votes.lo, votes.own)
    at = mine.offsets[0] + mine.drift * (votes.own - mine.pivots[0])  # type: ignore[union-attr]
    other = theirs.intercept + theirs.slope * votes.own
    # the median of slopes is a less sharp estimate; with two in five wrong it is pulled, and ours may not be
    assert np.abs(at - other).max() <= 0.15 if wrong < 0.4 else np.abs(at - 12.0 - 25e-6 * (votes.own - votes.own.mean())).max() <= 0.2


def test_the_sigma_of_offset_and_drift_covers() -> None:
    rng = np.random.default_rng(5)
    ratio, drift = [], []
    for _ in range(150):
        votes = moments(rng, 0.1, n=60)
        mine = align(votes, utc=False)
        assert mine is not None
        true = 12.0 + 25e-6 * (mine.pivots[0] - votes.own.mean())
        ratio.append(abs(mine.offsets[0] - true) / mine.sigma)
        drift.append(abs(mine.drift - 25e-6) / mine.drift_sigma)
    for found in (ratio, drift):
        assert np.mean(np.array(found) <= 1) == pytest.approx(ONE_SIGMA, abs=0.1)
        assert np.mean(np.array(found) <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.05)


def test_the_drift_is_as_sharp_as_its_readings_allow() -> None:
    """Against the least error that any estimate can have (Cramer and Rao): scatter over the root of the summed squares about the middle."""
    rng = np.random.default_rng(19)
    off, least = [], []
    for _ in range(150):
        votes = moments(rng, 0.0, n=60)
        mine = align(votes, utc=False)
        assert mine is not None
        off.append(mine.drift - 25e-6)
        least.append(0.4 / np.sqrt(((votes.own - votes.own.mean()) ** 2).sum()))
    assert np.sqrt(np.mean(np.square(off))) <= 1.2 * np.mean(least)


def read_twice(rng: np.random.Generator, counted: int) -> Votes:
    """A log that is right; its voice reads the clock a fifth of a second early 30 times, and counts down with it a few times."""
    n = 30 + counted
    own = np.append(np.sort(rng.uniform(0, 6000, 30)), 6000.0 + np.arange(counted))
    kind = np.repeat([MARKED, COUNTED], [30, counted])
    y = np.where(kind == MARKED, 0.2 + rng.normal(0, 0.4, n), rng.normal(0, 0.15, n))
    whole, none = np.arange(n), np.zeros(n)
    return Votes(whole, whole, own, y, y, np.where(kind == MARKED, 1.5, 0.75), np.full(n, 3.0), kind, np.where(kind == MARKED, 0.2, 0.1), none > 0, 0 * whole, none, none, none)


def test_a_few_readings_that_are_known_better_weigh_more_than_many() -> None:
    """That they are off by what the others have in common is no sign that they scatter."""
    rng = np.random.default_rng(29)
    found = [align(read_twice(rng, 2), utc=False) for _ in range(60)]
    off = [float(of.to_u(np.full(1, 5900.0), np.zeros(1, dtype=np.int64))[0]) - 5900.0 for of in found if of]
    assert np.mean(off) <= 0.1


def covers(found: SourceTime, true: Floats, own: Floats) -> Floats:
    """Errors of a log's line at instants of its own time, over what is stated of them."""
    at = np.zeros(len(own), dtype=np.int64)
    return np.asarray(np.abs(found.to_u(own, at) - true) / found.sigma_at(own, at))


def test_a_line_that_is_known_best_at_its_end_is_as_sure_as_it_says_at_its_beginning_too() -> None:
    """A voice reads the clock early now and then, and counts down with it at the end: what the offset is off by far from there is what the drift is off by."""
    rng, own, ratio = np.random.default_rng(47), np.array([0.0, 3000.0, 6000.0]), []
    for _ in range(400):
        votes, habit, drift = read_twice(rng, 9), rng.normal(0, 0.2), rng.normal(0, DRIFT)
        y = votes.lo + np.where(votes.kind == MARKED, habit - 0.2, rng.normal(0, votes.common[-1])) + drift * votes.own
        found = align(replace(votes, lo=y, hi=y), utc=False)
        assert found is not None
        ratio.append(covers(found, own + drift * own, own))
    for at in np.array(ratio).T:
        assert np.mean(at <= 1) == pytest.approx(ONE_SIGMA, abs=0.06)
        assert np.mean(at <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.03)


def test_a_log_set_beside_another_is_no_surer_than_the_other_is_at_that_time() -> None:
    """The other's line is known best where it counted down, at 6000 s, and drifts away from there unseen; so does what is set beside it."""
    rng, own, ratio = np.random.default_rng(53), np.array([0.0, 6000.0]), []
    for _ in range(300):
        at, whole, none = np.sort(rng.uniform(0, 6000, 60)), np.arange(60), np.zeros(60)
        y = rng.normal(0, 0.05) + rng.normal(0, 20e-6) * (at - 6000.0) + rng.normal(0, 0.3, 60)
        votes = Votes(whole, whole, at, y, y, np.full(60, 2.0), np.full(60, 3.0), np.full(60, SHARED), none, none > 0, np.full(60, OF_LOG), none + 0.05,
                      none + 20e-6, at - 6000.0)
        found = align(votes, utc=False, drift=1e-9)
        assert found is not None
        ratio.append(covers(found, own, own))
    for beside in np.array(ratio).T:
        assert np.mean(beside <= 1) == pytest.approx(ONE_SIGMA, abs=0.06)
        assert np.mean(beside <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.03)


def heard_and_read(rng: np.random.Generator, early: float) -> Votes:
    """A log that is right, beside one whose line is early by what its voice reads early; its own readings of that voice are as early."""
    own = np.sort(rng.uniform(0, 6000, 80))
    kind = np.where(np.arange(80) % 5 == 0, MARKED, SHARED)
    y, whole, none = early + rng.normal(0, 0.4, 80), np.arange(80), np.zeros(80)
    read = np.where(kind == MARKED, 0, OF_LOG)
    return Votes(whole, whole, own, y, y, np.where(kind == MARKED, 1.5, 2.0), np.full(80, 3.0), kind, np.where(kind == MARKED, 0.2, 0.0), none > 0, read,
                 np.where(read == OF_LOG, 0.15, 0.0), none, none)


def test_readings_of_a_voice_do_not_make_surer_what_rests_on_the_same_voice() -> None:
    rng = np.random.default_rng(43)
    ratio = []
    for _ in range(400):
        found = align(heard_and_read(rng, rng.normal(0, 0.15)), utc=False)
        assert found is not None
        ratio.append(abs(found.offsets[0]) / found.sigma)
    assert np.mean(np.array(ratio) <= 1) == pytest.approx(ONE_SIGMA, abs=0.05)
    assert np.mean(np.array(ratio) <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.05)


def on_stretches(rng: np.random.Generator, n: int = 60, size: int = 4, sure: float = 0.4) -> Votes:
    """A log that does not drift, by readings of a clock whose stretches are each off by so much."""
    own = np.sort(rng.uniform(0, 7200, n))
    stretch = np.minimum((own / 7200 * size).astype(int), size - 1)
    y = 12.0 + rng.normal(0, sure, size)[stretch] + rng.normal(0, 0.3, n)
    whole, none = np.arange(n), np.zeros(n)
    return Votes(whole, whole, own, y, y, np.full(n, 1.5), np.full(n, 3.0), np.full(n, MARKED), none, none > 0, stretch, np.full(n, sure), none, none)


def test_the_drift_is_no_surer_than_the_stretches_of_the_clock_that_it_is_read_on() -> None:
    rng = np.random.default_rng(31)
    found = [align(on_stretches(rng), utc=False) for _ in range(150)]
    ratio = np.array([abs(f.drift) / f.drift_sigma for f in found if f])
    # the drift of a clock is thought to be some tens of parts in a million before anything is read, and here is none: fewer are beyond
    assert np.mean(ratio <= 1) >= ONE_SIGMA - 0.1 and np.mean(ratio <= 1.96) >= TWO_SIGMA - 0.05


def of_keeper(residuals: Floats) -> Delay:
    """A keeper whose clock shows seconds."""
    return typed([Residuals(residuals)], 1.0)


def delays(rng: np.random.Generator, n: int) -> Floats:
    """Of a keeper as keepers are thought to be: of steps that are as long as they happen to be, or meant to be the same each time, and then either never
    below nothing or none where they would be."""
    mean, spread = MEAN_S * np.exp(rng.normal(0, np.log(MEAN_FACTOR))), rng.choice(SPREADS)
    shape = rng.integers(3)
    if shape == 0:
        return np.asarray(rng.gamma(spread**-2, mean * spread**2, n))

    def drawn(middle: float, many: int) -> Floats:
        every = rng.normal(middle, 1.0, 2 * many)
        return np.asarray(every[every > 0][:many] if shape == 1 else np.maximum(every[:many], 0.0))

    middles = np.linspace(0.0, 6.0, 61)
    one = [drawn(middle, 4_000) for middle in middles]
    middle = float(middles[np.abs([of.std() / of.mean() - spread for of in one]).argmin()])
    late = drawn(middle, n)
    return np.asarray(late * mean / drawn(middle, 20_000).mean())


def test_the_sigma_of_a_keeper_s_delay_covers_keepers_as_they_are_thought_to_be() -> None:
    rng = np.random.default_rng(7)
    ratio = []
    for _ in range(500):
        stamps = delays(rng, 60) - rng.uniform(0, 1, 60) + rng.normal(0, HEARD_S, 60)
        line = float(np.median(stamps))
        found = of_keeper(line - stamps)
        ratio.append(abs(found.mean - line) / found.left)
    assert np.mean(np.array(ratio) <= 1) == pytest.approx(ONE_SIGMA, abs=0.05)
    assert np.mean(np.array(ratio) <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.05)


@pytest.mark.parametrize("spread", [SPREADS[0], SPREADS[-1]])
def test_a_law_of_lateness_is_as_likely_as_its_density_says(spread: float) -> None:
    """A gamma law blurred by a cut clock, integrated by the library: where hardly anybody is so soon or so late is what tells the spread."""
    mean, noise = float(MEANS_S[np.abs(MEANS_S - 1.5).argmin()]), 1.0 / 12**0.5
    late = np.linspace(0.0, 12.0, 4001)
    density = stats.gamma.pdf(late, spread**-2, scale=mean * spread**2)
    for off in (-1.5, -1.0, 0.0, 0.7, 1.2, 1.5):
        wanted = float(trapezoid(density * stats.norm.pdf(off, mean - late, np.hypot(noise, LEAST_S)), late))
        assert told_of(spread, mean, off) == pytest.approx((1 - FALSE[0]) * wanted + FALSE[0] / FALSE_RANGE_S, rel=0.12), off


def told_of(spread: float, mean: float, off: float) -> float:
    """How likely a residual is by the summed law, with the least share of false ones."""
    told = np.exp(_told(1.0, round(np.log(LEAST_S) / np.log(FINER)))).reshape(len(SPREADS), -1, len(MEANS_S), len(FALSE), 2 * round(REACH_S / STEP_S) + 1)
    at = np.linspace(-REACH_S, REACH_S, told.shape[-1])
    return float(np.interp(off, at, told[np.flatnonzero(spread == SPREADS)[0], 0, np.flatnonzero(mean == MEANS_S)[0], 0]))


@pytest.mark.parametrize("step", [0.0, 1.0, 60.0])
@pytest.mark.parametrize("late", [0.4, 1.0, 2.5])
def test_the_sigma_of_an_entry_covers_at_both_levels(late: float, step: float) -> None:
    """Of errors that are no normal law's: a delay to one side and a box of whole steps, which 60 s make all that there is to see."""
    rng = np.random.default_rng(round(10 * late + step))
    line, stamp = [], []
    for _ in range(30):
        stamps = rng.gamma(4.0, late / 4, 60) - rng.uniform(0, 1, 60) * step
        found = typed([Residuals(stamps.mean() - stamps + rng.normal(0, HEARD_S, 60))], step)
        line += (np.abs(stamps - stamps.mean()) / found.single).tolist()
        stamp += (np.abs(stamps) / found.stamp).tolist()
    told = late / 2 > HEARD_S or step  # scatter that is less than the moments themselves are known by is thought of as of people before
    assert np.mean(np.array(line) <= 1) == pytest.approx(ONE_SIGMA, abs=0.1 if told else 0.15)
    assert np.mean(np.array(line) <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.051)
    assert np.mean(np.array(stamp) <= 1.96) == pytest.approx(TWO_SIGMA, abs=0.08)  # what one keeper is late by on average is one error of all


def test_a_box_is_stated_as_wrongly_at_one_level_as_at_the_other() -> None:
    """All of it lies within 1.96 of any sigma worth stating: 5 points too many, so 5 too few may lie within one."""
    box = np.linspace(0, 1, 10_001)
    assert honest(box, np.ones(10_001)) == pytest.approx(0.633, abs=1e-3)
    assert honest(np.abs(np.random.default_rng(2).normal(0, 3.0, 200_000)), np.ones(200_000)) == pytest.approx(3.0, rel=0.01)
    assert honest(np.array([1.0, 5.0]), np.array([1.0, 0.0])) == pytest.approx(1.0, abs=0.6)


def told_by(cue: float, rng: np.random.Generator, n: int = 60) -> float:
    """The sigma stated of a transcript whose cues are put so well, by a voice that reads the clock, one that counts with it, and the cues' lengths."""
    kinds = np.repeat([MARKED, COUNTED], [40, 10])
    voice = np.where(kinds == MARKED, 0.4, 0.1)
    lengths = rng.normal(0, cue, n) - rng.normal(0, cue, n) + rng.normal(0, 0.25, n)
    return jitter(rng.normal(0, 1, 50) * np.hypot(voice, cue), kinds, lengths)


def test_the_cues_of_a_transcript_are_as_sure_as_they_are_found_to_be() -> None:
    rng = np.random.default_rng(23)
    stated = {cue: np.median([told_by(cue, rng) for _ in range(25)]) for cue in (0.1, 0.2, 0.4, 0.8)}
    assert all(0.75 * cue <= found <= 1.35 * cue for cue, found in stated.items())
    assert jitter(np.zeros(0), np.zeros(0, dtype=np.int64), np.zeros(0)) == pytest.approx(CUE_EDGE_S / 2, rel=0.5)


def test_entries_that_tell_of_other_moments_do_not_make_a_keeper_late() -> None:
    """One in seven is some seconds off either way, as where a word was misheard: the keeper is no later for that, nor thought to be."""
    rng = np.random.default_rng(17)
    off = []
    for _ in range(200):
        stamps = rng.gamma(4.0, 0.5 / 4, 14) - rng.uniform(0, 1, 14) + rng.normal(0, HEARD_S, 14)
        line = float(np.median(stamps))
        stamps[:2] += rng.uniform(2.0, 5.0, 2) * rng.choice([-1, 1], 2)
        off.append(of_keeper(line - stamps).mean - (0.5 - 0.5))
    assert np.mean(off) == pytest.approx(0.0, abs=0.25)
    assert np.sqrt(np.mean(np.square(off))) <= 0.35


def test_with_no_entry_the_delay_is_what_is_thought_of_people() -> None:
    nothing = of_keeper(np.zeros(0))
    assert nothing.mean + 0.5 == pytest.approx(MEAN_S * np.exp(np.log(MEAN_FACTOR) ** 2 / 2), rel=0.05)


def test_the_sigma_of_a_stretch_is_that_of_its_marks_as_they_scatter() -> None:
    """Stated at 0.3 s and found to scatter by 0.02 s, as a machine's may."""
    rng = np.random.default_rng(11)
    ratio = []
    for _ in range(250):
        stretches = [Readings(z + rng.normal(0, 0.02, 12), np.full(12, 0.3), np.zeros(12, dtype=np.int64), z) for z in (0.0, 50.0, 700.0)]
        ratio += [abs(value - z) / sigma for (value, sigma), z in zip(sure(stretches), (0.0, 50.0, 700.0), strict=True)]
    assert np.mean(np.array(ratio) <= 1) == pytest.approx(ONE_SIGMA, abs=0.1)
    assert np.mean(np.array(ratio) <= 1.96) >= 0.9


def test_a_habit_that_counting_down_shows_is_known_in_other_stretches_too() -> None:
    """A voice reads the clock a fifth of a second early, and keeps with it where it counts down: there the difference is heard."""
    rng = np.random.default_rng(37)
    off, ratio = [], []
    for _ in range(100):
        early = [z - 0.2 + rng.normal(0, 0.35, 12) for z in (0.0, 700.0)]
        last = Readings(np.append(early[1], 700.0 + rng.normal(0, 0.15, 9)), np.repeat([1.5, 0.75], [12, 9]), np.zeros(21, dtype=np.int64), 700.0)
        told = sure([Readings(early[0], np.full(12, 1.5), np.zeros(12, dtype=np.int64), 0.0), last])
        off.append([told[0][0], told[1][0] - 700.0])
        ratio += [abs(o) / sigma for o, (_, sigma) in zip(off[-1], told, strict=True)]
    first, second = np.mean(off, axis=0)
    assert abs(first) <= 0.165 and abs(second) <= 0.07
    assert np.mean(np.array(ratio) <= 1.96) >= TWO_SIGMA - 0.05


def test_one_voice_in_two_logs_is_one_voice() -> None:
    """Its habit is the same in both: a second log of it makes a stretch no surer than its scatter does."""
    one = Readings(np.linspace(-0.4, 0.4, 40), np.full(40, 1.5), np.zeros(40, dtype=np.int64), 0.0)
    both = Readings(np.tile(one.value, 2), np.full(80, 1.5), np.repeat([0, 1], 40), 0.0)
    alone, two = sure([one])[0][1], sure([both])[0][1]
    assert 0.2 <= two <= alone <= 0.21


def test_a_stretch_is_no_surer_than_the_place_of_the_log_that_reads_it() -> None:
    mine = [Readings(np.array([0.1, 0.2, 0.3]), np.full(3, 1.5), np.full(3, 1), 0.2)]
    (value, alone), (same, placed) = sure(mine)[0], sure(mine, [0.0, 0.5])[0]
    assert value == pytest.approx(same) and placed == pytest.approx(np.hypot(alone, 0.5), rel=1e-3)


def test_a_count_shown_to_the_whole_second_is_read_where_it_changes() -> None:
    """A column that shows the last whole second reached, in a log that also writes on each tenth second: those entries are exact."""
    u = np.sort(np.append(np.arange(0, 600, 10.0), np.random.default_rng(3).uniform(0, 600, 80)))
    z = 0.25  # the count reads u at wall time u + z
    (value, sigma), = sure([Readings(u + z - np.floor(u), np.full(len(u), 0.05), np.zeros(len(u), dtype=np.int64), 0.5)])
    assert value == pytest.approx(z, abs=0.02)
    assert sigma < 0.05


@pytest.mark.parametrize("latency", [0.02, 0.1])
def test_a_machine_that_stamps_late_owns_up_to_it(latency: float) -> None:
    """Its records wait to be stamped, by an exponential law: the clock is late by its mean, which only the one-sided scatter tells."""
    ratio = []
    for seed in range(20):
        of = Drawn([Log("seq", marks=0, stamps=200, medium="machine", latency=latency)], [(-1800.0, 900.0, 600.0)], start_t=-5400.0, seed=seed)
        u = np.linspace(of.begin + 30, of.end - 30, 100)
        t, state, _, sigma = clock.at(of.timeline().clock, BASE.t0_us + np.rint(u * 1e6).astype(np.int64))
        ratio += (np.abs(t - of.reading(u)) / sigma)[state == "counting"].tolist()
    assert np.mean(np.array(ratio) <= 1.96) >= 0.9
    assert np.median(ratio) >= 0.3  # and it is no wider than that
