"""The rule that says when a room has settled, on series whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest

from growsim.run.warmup import mser


def test_a_clean_step_is_cut_where_it_ends() -> None:
    """Fifteen empty weeks, then 85 full ones with a ripple: harvested 15, by construction."""
    assert mser([0.0] * 15 + [10.0 + (-1.0) ** week for week in range(85)]) == 15


def test_a_step_inside_a_batch_takes_the_batch_along() -> None:
    """Weeks are judged by fives: a step after week 17 costs 20."""
    assert mser([0.0] * 17 + [10.0 + (-1.0) ** week for week in range(83)]) == 20


def test_what_never_moves_needs_no_cut() -> None:
    """A constant series is settled from the start."""
    assert mser([3.0] * 60) == 0


def test_a_trend_never_settles() -> None:
    """A straight line has its least at the end of the first half: not settled."""
    assert mser([float(week) for week in range(100)]) is None


def test_too_few_weeks_tell_nothing() -> None:
    """Under four means of five there is nothing to compare."""
    assert mser([1.0] * 19) is None


@pytest.mark.parametrize("seed", range(5))
def test_the_cut_is_the_least_by_the_definition(seed: int) -> None:
    """Against the definition spelled out with numpy: variance of what is kept over its number.

    Source: White 1997, Simulation 69(6), eq. for the marginal standard error (from memory; the same objective is
    documented by the general-purpose kim-convergence library).
    """
    series = np.random.default_rng(seed).normal(size=200).cumsum() * 0.1 + 5 * np.exp(-np.arange(200) / 15)
    means = series.reshape(40, 5).mean(axis=1)
    marginal = [means[cut:].var() / (40 - cut) for cut in range(21)]
    expected = int(np.argmin(marginal))

    assert mser(list(series)) == (None if expected == 20 else 5 * expected)


def test_a_slow_start_in_autocorrelated_weeks_is_found() -> None:
    """AR(1) around 100 that starts at 0: harvested near where the start has faded below the noise, and the bias is
    gone.

    Source: E y_t = mu (1 - phi^t) for an AR(1) begun at 0 (textbook theory): with phi = 0.8, under 1 % after 21 weeks.
    """
    luck = np.random.default_rng(22)
    phi, mu, weeks, series_count = 0.8, 100.0, 200, 100
    cuts = []
    kept = []
    for _ in range(series_count):
        level, series = 0.0, []
        for shock in luck.normal(0.0, 2.0, weeks):
            level = mu * (1 - phi) + phi * level + shock
            series.append(level)
        cut = mser(series)
        if cut is not None:
            cuts.append(cut)
            kept.append(np.mean(series[cut:]))

    # What a harvest at 20 weeks leaves of the start, spread over the 180 weeks kept.
    left_over = mu * phi**20 / (1 - phi) / 180
    uncut_bias = mu * phi * (1 - phi**weeks) / (1 - phi) / weeks
    # sd of a long-run mean of AR(1): sigma / ((1 - phi) sqrt(n)), n about 170 kept
    error = 2.0 / (1 - phi) / np.sqrt(170 * series_count)
    assert len(cuts) >= 0.9 * series_count
    assert 10 <= np.median(cuts) <= 35
    assert uncut_bias > 1.9
    assert abs(np.mean(kept) - mu) < 4 * error + left_over
