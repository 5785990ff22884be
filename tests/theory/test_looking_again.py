"""Looking after every round and stopping when pleased must not make the promise of 95 % a lie.

Reference: Bonferroni's inequality (NIST/SEMATECH e-Handbook 7.4.7.3): the chance that any of the ranges ever misses is
at most the sum of their doubts. Checked by simulation with normal differences, whose truth is known.
"""

from __future__ import annotations

import numpy as np
from scipy import stats

from growsim.run.intervals import mean_interval
from growsim.study.verdicts import HEADLINES, headline_doubt, round_totals

EXPERIMENTS = 2000


def share_ever_wrong(doubt: float) -> float:
    """Share of experiments in which the range of any headline misses the truth (0) at any look."""
    totals = round_totals(80)
    years = np.random.default_rng(20320301).normal(size=(EXPERIMENTS, len(HEADLINES), totals[-1]))
    wrong = np.zeros(EXPERIMENTS, dtype=bool)
    for n in totals:
        seen = years[:, :, :n]
        half = stats.t.ppf(1 - doubt / 2, n - 1) * seen.std(axis=2, ddof=1) / np.sqrt(n)
        wrong |= (np.abs(seen.mean(axis=2)) > half).any(axis=1)
    return float(wrong.mean())


def test_ranges_hold_at_whichever_round_it_stops() -> None:
    """Four headlines, four looks: all ranges right in at least 96 experiments of 100, give or take the experiment."""
    doubt = headline_doubt(1, len(round_totals(80)))
    three_errors = 3 * np.sqrt(0.04 * 0.96 / EXPERIMENTS)

    assert share_ever_wrong(doubt) < 0.04 + three_errors


def test_without_the_correction_the_promise_would_be_broken() -> None:
    """The check can fail: plain 95 % ranges looked at four times for four figures are wrong far more often."""
    assert share_ever_wrong(0.05) > 0.20


def test_the_ranges_are_the_ones_the_comparison_makes() -> None:
    """The formula of this check and that of the tool are the same."""
    values = np.random.default_rng(1).normal(size=20)
    mean, low, high = mean_interval(list(values), 1 - 0.002)
    half = stats.t.ppf(1 - 0.001, 19) * values.std(ddof=1) / np.sqrt(20)

    assert low is not None and high is not None
    assert np.allclose((low, high), (mean - half, mean + half))
