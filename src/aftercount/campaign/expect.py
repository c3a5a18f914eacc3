"""What is to be expected of a step in the next count, from how it went in the counts before?

Conventions: values are a matrix of steps by rehearsals in order of time, NaN where a step was not seen. The level is the
mean of a step's last RECENT values. Its sigma comes from differences of neighbours (von Neumann), so that a season that
improves does not look noisy, and is moderated over the steps: with few rehearsals one step's own variance is worth
little, so it is drawn towards the variance common to the steps (Smyth 2004, Statistical Applications in Genetics and
Molecular Biology 3(1), article 3). The largest differences are left out of it, so that one bad day does not hide the next.
How often the record itself passed a limit is counted beside it: people's lateness has a longer tail than Student's.
It does not decide which alarms to raise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Values that make the level: enough to average, few enough to follow a team that learns.
RECENT = 5
# Earlier rehearsals say little of the team as it is.
WINDOW = 30
# Below this many values a step has no expectation.
LEAST = 4
# Differences of neighbours left out, the largest: one outlier makes two. Only where enough remain.
LEFT_OUT, LEAST_TRIMMED = 2, 8
# Degrees of freedom a difference is worth: neighbours share a value (2/3), and trimming costs a fifth more.
DF_WHOLE, DF_TRIMMED = 2 / 3, 0.55
# Degrees of freedom past which Student's t is the normal.
_MANY = 1e6
# No two clocks agree better than this, seconds: keeps a record of identical values from forbidding any other.
LEAST_SIGMA_S = 0.5


@dataclass(frozen=True)
class Expectation:
    """One value a step: level, sigma of one value, its degrees of freedom, values behind the level.

    values: the record that it rests on, steps by rehearsals.
    """

    level: np.ndarray
    sigma: np.ndarray
    df: np.ndarray
    behind: np.ndarray
    values: np.ndarray

    def half_width(self, alpha: float, averaged: int = 1) -> np.ndarray:
        """How far above its level the mean of the next `averaged` values goes with chance `alpha`."""
        return np.asarray(_quantile(alpha, self.df) * self.sigma * np.sqrt(1 / averaged + 1 / np.maximum(self.behind, 1)))

    def passed_before(self, alpha: float) -> np.ndarray:
        """How many steps went above that limit in each rehearsal of the record."""
        with np.errstate(invalid="ignore"):
            return np.asarray((_record(self.values, self.sigma) > _quantile(alpha, self.df)[:, None]).sum(axis=0))


def _quantile(alpha: float, df: np.ndarray) -> np.ndarray:
    """What Student's t passes with chance `alpha`; the bare function is ten times quicker than scipy.stats.t."""
    from scipy.special import stdtrit

    return np.asarray(-stdtrit(df, alpha))


def expect(values: np.ndarray, measured: np.ndarray | None = None) -> Expectation:
    """The expectation after the last column; `measured` is each step's own uncertainty of measurement, seconds."""
    recent = values[:, -WINDOW:]
    behind = np.minimum((~np.isnan(recent)).sum(axis=1), RECENT)
    level = _means(_last(recent, RECENT))
    variance, df = _neighbour_variance(recent)
    variance, df = _moderate(variance, df)
    floor = np.full(len(values), LEAST_SIGMA_S) if measured is None else np.fmax(measured, LEAST_SIGMA_S)
    sigma = np.fmax(np.sqrt(variance), floor)
    known = (~np.isnan(recent)).sum(axis=1) >= LEAST
    level = np.where(known, level, np.nan)
    return Expectation(level, sigma, df, behind, recent)


def _last(values: np.ndarray, k: int) -> np.ndarray:
    """The last k values of each row that are known, NaN in front where there are fewer."""
    order = np.argsort(~np.isnan(values), axis=1, kind="stable")
    return np.take_along_axis(values, order, axis=1)[:, -k:]


def _means(values: np.ndarray) -> np.ndarray:
    known = ~np.isnan(values)
    sums = np.where(known, values, 0.0).sum(axis=1)
    return np.where(known.any(axis=1), sums / np.maximum(known.sum(axis=1), 1), np.nan)


def _neighbour_variance(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Half the mean square difference of neighbours, the largest left out, and its equivalent degrees of freedom."""
    from scipy.stats import norm

    squares = np.sort(np.diff(values, axis=1) ** 2, axis=1)  # NaN last
    pairs = (~np.isnan(squares)).sum(axis=1)
    trimmed = pairs >= LEAST_TRIMMED
    kept = np.where(trimmed, pairs - LEFT_OUT, pairs)
    sums = np.where(np.arange(squares.shape[1]) < kept[:, None], squares, 0.0).sum(axis=1)
    # The mean square of the smallest share of normal values is this much of the whole.
    share = np.where(trimmed, kept / np.maximum(pairs, 1), 0.5)
    bound = norm.ppf((1 + share) / 2)
    factor = np.where(trimmed, 1 - 2 * bound * norm.pdf(bound) / share, 1.0)
    variance = np.where(pairs > 0, sums / np.maximum(2 * kept, 1) / factor, np.nan)
    return variance, kept * np.where(trimmed, DF_TRIMMED, DF_WHOLE)


def _moderate(variance: np.ndarray, df: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each variance drawn towards the common one, by as much as the steps are alike."""
    from scipy.special import digamma, polygamma

    use = (df > 1) & (variance > LEAST_SIGMA_S**2 / 100)
    if use.sum() < 3:
        common = float(np.nanmedian(variance)) if (~np.isnan(variance)).any() else 1.0
        return np.where(np.isnan(variance), common, variance), np.maximum(df, 1.0)
    half = df[use] / 2
    logs = np.log(variance[use]) - digamma(half) + np.log(half)
    extra = float(np.var(logs, ddof=1) - polygamma(1, half).mean())
    prior_df = 2 * _trigamma_inverse(extra) if extra > 0 else _MANY
    prior_df = min(prior_df, _MANY)
    prior = float(np.exp(logs.mean() + digamma(prior_df / 2) - np.log(prior_df / 2)))
    own = np.where(np.isnan(variance), 0.0, variance)
    return (prior_df * prior + df * own) / (prior_df + df), prior_df + df


def _trigamma_inverse(y: float) -> float:
    """x with trigamma(x) = y, by Newton's method on 1/trigamma, which is nearly straight."""
    from scipy.special import polygamma

    x = 0.5 + 1 / y
    for _ in range(50):
        value = float(polygamma(1, x))
        step = value * (1 - value / y) / float(polygamma(2, x))
        x += step
        if abs(step) < 1e-10 * x:
            break
    return x


def _record(values: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    """Every value of the record against the mean of the few before it, in units of its sigma, from the LEAST-th on; NaN where unknown."""
    found = np.full((len(values), max(0, values.shape[1] - LEAST)), np.nan)
    for i in range(LEAST, values.shape[1]):
        before = _last(values[:, :i], RECENT)
        k = (~np.isnan(before)).sum(axis=1)
        z = (values[:, i] - _means(before)) / (sigma * np.sqrt(1 + 1 / np.maximum(k, 1)))
        found[:, i - LEAST] = np.where(k >= LEAST, z, np.nan)
    return found
