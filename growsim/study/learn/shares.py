"""Shares that differ from sowing to sowing: seeds that germinate, plants lost in handling.

Beta-binomial with overdispersion: a sowing's own share is beta about the room's mean share with a standard deviation,
and both are unknown. With one seed a cell that is the textbook beta-binomial (Johnson, Kemp & Kotz 2005, *Univariate
Discrete Distributions*, sec. 6.2; Gelman et al. 2013, *Bayesian Data Analysis*, sec. 5.3; both from memory). With more
seeds a cell only filled cells are counted, and the share of those is 1 - (1 - p)^n: then the sowing's share is summed
out on a grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from growsim.study.learn.grid import Axis, Posterior, posterior
from growsim.study.learn.learned import Known
from growsim.study.learn.prior import Prior, known_from, known_of

CELLS = 600  # of the grid on which a sowing's own share is summed out
LEAST_SPREAD = 0.0025  # finer than the grid can tell
SPREAD_LOG_SD = 0.5  # doubt of the spread itself: a factor of 1.65 either way


@dataclass(frozen=True)
class Hits:
    """One sowing: `hits` of `trials`; each trial has `tries` chances at the share (seeds in a cell)."""

    trials: int
    hits: int
    tries: int = 1


@dataclass(frozen=True)
class Share:
    """What is known of a share: its mean, and its spread from sowing to sowing."""

    mean: Known
    spread: Known
    before: Known


def learn_share(rows: Sequence[Hits], prior: Prior, spread: float, *, relative: float = 1.0) -> Share:
    """Mean share and its spread from the counts.

    spread: standard deviation between sowings as the room file has it. relative: share of the best that warmth allows
    (a chance is share x relative). Prior on the mean: beta; on the spread: lognormal about the room file's.
    """
    prior_mean = float(np.clip(prior.mean, 1e-3, 1 - 1e-3))
    prior_sd = min(prior.sd, 0.7 * np.sqrt(prior_mean * (1 - prior_mean)))
    size = prior_mean * (1 - prior_mean) / prior_sd**2 - 1
    before = stats.beta(prior_mean * size, (1 - prior_mean) * size)
    typical = max(spread, 0.1 * prior_mean * (1 - prior_mean), LEAST_SPREAD)
    shares, widths = _cells()
    chances = _chances(rows, shares, relative)

    def log_density(values: tuple[np.ndarray, ...]) -> np.ndarray:
        logits, log_spreads = values
        means = 1 / (1 + np.exp(-logits))
        logs = np.empty((means.size, log_spreads.size))
        for j, log_spread in enumerate(log_spreads):
            logs[:, j] = _log_likelihood(means, np.exp(log_spread), (shares, widths), chances)
            logs[:, j] -= 0.5 * ((log_spread - np.log(typical)) / SPREAD_LOG_SD) ** 2
        # The density of the mean, times dmean/dlogit: the grid is even in the logit.
        with np.errstate(divide="ignore"):
            logs += (before.logpdf(means) + np.log(means * (1 - means)))[:, None]
        return np.nan_to_num(logs, nan=-1e300, neginf=-1e300)

    ends = np.log(np.clip(before.ppf([1e-4, 1 - 1e-4]), 1e-4, 1 - 1e-4))
    ends -= np.log1p(-np.exp(ends))
    found = posterior(
        log_density,
        (
            Axis(float(ends[0]) - 2.0, float(ends[1]) + 2.0, 31, -9.0, 9.0),
            Axis(np.log(typical) - 2.0, np.log(typical) + 2.0, 9),
        ),
    )
    return Share(*_known(found), known_of(before))


def _known(found: Posterior) -> tuple[Known, Known]:
    means = 1 / (1 + np.exp(-found.axes[0]))
    return known_from(means, found.marginal(0)), known_from(np.exp(found.axes[1]), found.marginal(1))


def _cells() -> tuple[np.ndarray, np.ndarray]:
    """Middles and widths of the cells of the grid of shares: even in the angle whose squared sine is the share, so
    fine near 0 and near 1."""
    edges = np.sin(np.linspace(0.0, np.pi / 2, CELLS + 1)) ** 2
    return (edges[1:] + edges[:-1]) / 2, np.diff(edges)


def _chances(rows: Sequence[Hits], shares: np.ndarray, relative: float) -> np.ndarray:
    """Chance of each row's count for each share of the grid: rows down, shares across."""
    chances = np.empty((len(rows), shares.size))
    for i, row in enumerate(rows):
        hit = 1 - (1 - np.minimum(1.0, shares * relative)) ** row.tries
        chances[i] = stats.binom.pmf(row.hits, row.trials, hit)
    return chances


def _log_likelihood(
    means: np.ndarray, spread: float, cells: tuple[np.ndarray, np.ndarray], chances: np.ndarray
) -> np.ndarray:
    """Log likelihood of every row together, for each mean, at one spread."""
    if not chances.size:
        return np.zeros(means.size)
    widest = 0.95 * np.sqrt(means * (1 - means))
    sd = np.minimum(spread, widest)
    size = means * (1 - means) / sd**2 - 1
    shares, widths = cells
    a, b = (means * size)[:, None], ((1 - means) * size)[:, None]
    density = (a - 1) * np.log(shares) + (b - 1) * np.log1p(-shares) + np.log(widths)
    weights = np.exp(density - density.max(axis=1, keepdims=True))
    weights /= weights.sum(axis=1, keepdims=True)
    logs: np.ndarray = np.log(np.maximum(weights @ chances.T, 1e-300)).sum(axis=1)
    return logs
