"""How many years to rehearse: go on until the range of the headline's mean is as narrow as asked.

The rule is the sequential procedure of Law, Simulation Modeling and Analysis, 5th ed. 2013, section 9.4.1 (from
memory): with g = percent/100 wanted, stop as soon as n >= 10 and half-width / |mean| <= g / (1 + g). The divisor 1 + g
is there because the mean that is divided by is itself only estimated. Ours differs in one thing: replications come in
rounds, sized by what the last round suggests, so that workers have something to share. Rounds depend on the numbers
alone, never on the workers, so the same seed and percent stop at the same n everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from growsim.errors import InputError
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.run.controls import Controls, KnownControls
from growsim.run.intervals import controlled_interval

HEADLINE = "kg_handed_out_per_week"
AT_LEAST = 10
AT_MOST = 10_000
SMALLEST_ROUND = 5


@dataclass(frozen=True)
class Precision:
    """What was asked for and what was reached.

    percent: the half-width asked for, in percent of the mean. reached_percent: the half-width at the end, None where
    the mean is 0 or there is but one replication. reached: whether the rule was met before the most allowed.
    """

    key: str
    percent: float
    reached_percent: float | None
    replications: int
    reached: bool


def rehearse_until_precise(
    rehearse_more: Callable[[Sequence[int]], list[Outcome]],
    percent: float,
    *,
    key: str = HEADLINE,
    at_most: int = AT_MOST,
    luck_of: Callable[[Sequence[Outcome]], Mapping[str, Sequence[float]]] = lambda outcomes: {},
) -> tuple[list[Outcome], Precision]:
    """Rehearse in rounds until the range of the mean of `key` is within `percent` percent of it, or `at_most` are done.

    rehearse_more: lives through the replications it is given. luck_of: known luck, taken out of the mean. Raises
    InputError for a percent not above 0, or where the figure does not exist (fewer days than a week).
    """
    if not (math.isfinite(percent) and percent > 0):
        raise InputError(f"precision: {percent:g} percent is not possible; give more than 0, e.g. 2.")
    outcomes: list[Outcome] = []
    wanted = min(AT_LEAST, at_most)
    while True:
        outcomes.extend(rehearse_more(range(len(outcomes), wanted)))
        with_it = [outcome for outcome in outcomes if key in outcome.measures]
        if not with_it:
            raise InputError(
                f"precision: '{CATALOGUE[key].label}' cannot be measured in so short a time; "
                "give 7 days or more, or replications instead."
            )
        controls = KnownControls(luck_of(with_it), len(with_it)).of(range(len(with_it)))
        reached, relative = _judge([outcome.measures[key] for outcome in with_it], percent, controls)
        if reached or wanted >= at_most:
            return outcomes, Precision(key, percent, relative, len(outcomes), reached)
        wanted = min(at_most, next_total(len(outcomes), relative, percent))


def next_total(done: int, reached_percent: float | None, percent: float) -> int:
    """Replications to have after the next round: half-widths shrink with the root of n; at most doubled at once."""
    if reached_percent is None:
        return 2 * done
    needed = math.ceil(done * (reached_percent / _limit(percent)) ** 2)
    return max(done + SMALLEST_ROUND, min(needed, 2 * done))


def _limit(percent: float) -> float:
    return percent / (1.0 + percent / 100.0)


def _judge(values: Sequence[float], percent: float, controls: Controls | None) -> tuple[bool, float | None]:
    if len(values) < AT_LEAST:
        return False, None
    mean, low, high, _ = controlled_interval(values, controls)
    if low is None or high is None:
        return False, None
    if high == low:  # no doubt left, whatever the mean
        return True, 0.0
    if mean == 0.0:
        return False, None
    relative = 100.0 * (high - low) / 2.0 / abs(mean)
    return relative <= _limit(percent), relative
