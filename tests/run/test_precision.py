"""Going on until the headline is known well enough, and no longer."""

from __future__ import annotations

from collections.abc import Sequence
from types import ModuleType

import numpy as np
import pytest

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import skewed_interval
from growsim.run.precision import HEADLINE, next_total, rehearse_until_precise


class Years:
    """Years whose headline is drawn once for each number, as luck is."""

    def __init__(self, fakes: ModuleType, mean: float, sd: float) -> None:
        self.fakes = fakes
        self.values = np.random.default_rng(5).normal(mean, sd, 20_000)
        self.rounds: list[int] = []

    def more(self, numbers: Sequence[int]) -> list[Outcome]:
        """Live through these replications."""
        self.rounds.append(len(numbers))
        return [self.fakes.outcome(i, **{HEADLINE: float(self.values[i])}) for i in numbers]


@pytest.mark.parametrize("percent", [1.0, 2.0, 5.0])
def test_stops_by_the_rule_and_not_before_ten(fakes: ModuleType, percent: float) -> None:
    """At the end the half-width is within g/(1+g) of the mean; before the last round it was not."""
    years = Years(fakes, 40.0, 5.0)
    outcomes, precision = rehearse_until_precise(years.more, percent)
    limit = percent / (1 + percent / 100)
    ends = np.cumsum(years.rounds)

    assert precision.reached
    assert precision.replications == len(outcomes) == ends[-1] >= 10
    assert precision.reached_percent == pytest.approx(_half_width_percent(years.values[: ends[-1]]))
    assert precision.reached_percent <= limit
    assert all(_half_width_percent(years.values[:end]) > limit for end in ends[:-1])


def test_the_headline_is_covered_as_promised(fakes: ModuleType) -> None:
    """Stopping on a narrow range costs little: the true mean is still inside nearly 95 times in 100.

    Source: Law 2013, section 9.4.1 (from memory): coverage is close to nominal where 15 % or less is asked for and at
    least 10 are done.
    """
    luck = np.random.default_rng(6)
    covered = 0
    for _ in range(400):
        values = luck.normal(40.0, 8.0, 5000)
        outcomes, _ = rehearse_until_precise(
            lambda numbers, values=values: [fakes.outcome(i, **{HEADLINE: float(values[i])}) for i in numbers], 4.0
        )
        _, low, high = skewed_interval([outcome.measures[HEADLINE] for outcome in outcomes])
        covered += low <= 40.0 <= high

    assert 0.90 < covered / 400 < 0.99


def test_gives_up_at_the_most_allowed_and_says_so(fakes: ModuleType) -> None:
    """A headline too wild for the years allowed ends there, marked as not reached."""
    outcomes, precision = rehearse_until_precise(Years(fakes, 1.0, 10.0).more, 1.0, at_most=37)

    assert (len(outcomes), precision.replications, precision.reached) == (37, 37, False)


def test_what_never_varies_is_known_after_ten(fakes: ModuleType) -> None:
    """No spread, no doubt: also where the headline is zero."""
    _, precision = rehearse_until_precise(Years(fakes, 0.0, 0.0).more, 1.0)

    assert (precision.replications, precision.reached, precision.reached_percent) == (10, True, 0.0)


def test_rounds_grow_but_at_most_double() -> None:
    """A wild guess after ten years must not order a million."""
    assert next_total(10, 50.0, 1.0) == 20
    assert next_total(100, 2.1, 2.0) == 115
    assert next_total(10, 1.97, 2.0) == 15
    assert next_total(10, None, 2.0) == 20


@pytest.mark.parametrize("percent", [0.0, -1.0, float("nan"), float("inf")])
def test_an_impossible_precision_is_refused(fakes: ModuleType, percent: float) -> None:
    """The sentence says what would be right."""
    with pytest.raises(InputError, match=r"precision: .* percent is not possible; give more than 0, e\.g\. 2\."):
        rehearse_until_precise(Years(fakes, 1.0, 1.0).more, percent)


def test_a_headline_that_cannot_exist_is_not_waited_for(fakes: ModuleType) -> None:
    """Three days have no weekly harvest: said after the first round, not after ten thousand years."""
    with pytest.raises(InputError, match="'Greens handed out a week' cannot be measured in so short a time"):
        rehearse_until_precise(lambda numbers: [fakes.outcome(i) for i in numbers], 2.0)


def _half_width_percent(values: Sequence[float]) -> float:
    mean, low, high = skewed_interval([float(value) for value in values])
    assert low is not None
    assert high is not None
    return 100 * (high - low) / 2 / mean
