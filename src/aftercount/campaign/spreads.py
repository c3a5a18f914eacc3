"""How widely does each step vary, when every step alone has few values to tell it from?

The steps of one plan are done by the same people on the same loops, so the spreads of all tell what one spread may be:
empirical Bayes. The distribution that the steps' sigmas come from is estimated from all of them, first as a log-normal
(its mean and width by the EM algorithm), then freed by a few further EM steps towards the non-parametric maximum
likelihood estimate, which few steps keep near the log-normal. Each step's own sum of squares then weighs it.

Conventions: sigma in the unit of the values, on a fixed grid of ratios; `squares` is a step's residual sum of squares,
`df` its degrees of freedom (0: nothing known of the step itself). It does not decide what a level is: `levels` does.
"""

from __future__ import annotations

import numpy as np

# Sigmas looked at, seconds: from the resolution of a good clock to two minutes, 15 % apart.
LOG_SIGMAS = np.linspace(np.log(0.25), np.log(120.0), 45)
SIGMAS = np.exp(LOG_SIGMAS)
# Narrowest width of the common distribution of log sigma: no two steps are exactly alike.
_LEAST_WIDTH = 0.1
_SHAPE_STEPS = 40
# Further steps of a free distribution: few, for the likelihood alone would put all weight on some spikes.
_FREE_STEPS = 12
# Steps' worth of the log-normal that stays in the free distribution.
_KEPT_STEPS = 5.0


def common_spread(squares: np.ndarray, df: np.ndarray) -> np.ndarray:
    """The weights of SIGMAS in the plan as a whole."""
    known = df > 0
    if not known.any():
        return np.full(len(SIGMAS), 1 / len(SIGMAS))
    likelihood = _likelihood(squares[known], df[known])
    weights = _log_normal(*_start(squares[known], df[known]))
    for _ in range(_SHAPE_STEPS):
        mean = _posterior(likelihood, weights).mean(axis=0)
        centre = float(mean @ LOG_SIGMAS)
        weights = _log_normal(centre, max(_LEAST_WIDTH, float(np.sqrt(mean @ (LOG_SIGMAS - centre) ** 2))))
    shape, n = weights, int(known.sum())
    for _ in range(_FREE_STEPS):
        weights = (n * _posterior(likelihood, weights).mean(axis=0) + _KEPT_STEPS * shape) / (n + _KEPT_STEPS)
    return weights


def own_spread(squares: np.ndarray, df: np.ndarray, common: np.ndarray) -> np.ndarray:
    """Steps by SIGMAS: the weights of each step's sigma, from its own values and the plan's."""
    return _posterior(_likelihood(squares, df), common)


def _likelihood(squares: np.ndarray, df: np.ndarray) -> np.ndarray:
    logs = -df[:, None] * LOG_SIGMAS - squares[:, None] / 2 / SIGMAS**2
    return np.asarray(np.exp(logs - logs.max(axis=1, keepdims=True)))


def _posterior(likelihood: np.ndarray, weights: np.ndarray) -> np.ndarray:
    joint = likelihood * weights
    return np.asarray(joint / joint.sum(axis=1, keepdims=True))


def _start(squares: np.ndarray, df: np.ndarray) -> tuple[float, float]:
    """A first centre and width of log sigma."""
    middle = float(np.sqrt(np.median(squares / df)))
    return float(np.log(np.clip(middle, SIGMAS[0], SIGMAS[-1]))), 0.5


def _log_normal(centre: float, width: float) -> np.ndarray:
    weights = np.exp(-0.5 * ((LOG_SIGMAS - centre) / width) ** 2)
    return np.asarray(weights / weights.sum())
