"""The goals of a year, what a season may lack of it, and by how much a rehearsed year lies above or below them.

A goal that no crew can reach is replaced by what an ample crew reaches, less a stated margin; it is then compared year
by year with the ample crew under the same luck.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.study.crew.proof_rule import ProofRule, variance_of
from growsim.study.rota import Season

ON_TIME, ORDERS = "tasks_on_time_fraction", "orders_filled_fraction"
GOAL_KEYS = (ON_TIME, ORDERS)

Values = dict[str, float]
"""Figure of the catalogue -> its value in some weeks of one replication; absent where there is nothing to share."""


@dataclass(frozen=True)
class Target:
    """What a year asks of one figure.

    wanted: the planner's goal. ample: mean with as many people as are of use; ample_high: upper end of its 95 % range.
    below_ample: None where the goal itself is asked for; else how far below the ample crew, in the same years, the mean
    may lie.
    """

    key: str
    wanted: float
    ample: float
    ample_high: float
    below_ample: float | None

    @property
    def asked(self) -> float:
        """The level asked for; where it hangs on the ample crew, its mean less the margin."""
        return self.asked_beside(self.ample)

    @property
    def out_of_reach(self) -> bool:
        """Whether no crew reaches the planner's goal, surely: the ample crew's whole range lies below it."""
        return self.ample_high < self.wanted

    def asked_beside(self, ample: float) -> float:
        """The level asked for where an ample crew reaches so much."""
        return self.wanted if self.below_ample is None else ample - self.below_ample

    def above(self, value: float, ample_value: float) -> float:
        """By how much one year lies above what is asked. ample_value: the ample crew's, in the same year."""
        return value - self.asked_beside(ample_value)


def whole_year(days: int) -> Season:
    """All counted weeks as one season."""
    return Season(tuple(range(12)), tuple(range(days // 7)))


def parts_in(season: Season, outcome: Outcome) -> dict[str, tuple[float, float]]:
    """Figure -> (what was done of it, all there was) over a season's weeks: jobs in time, kilograms ordered."""
    weeks = outcome.weeks

    def over(name: str) -> float:
        return math.fsum(weeks[name][week] for week in season.weeks)

    jobs = over("tasks_done")
    return {ON_TIME: (jobs - over("tasks_late"), jobs), ORDERS: (over("kg_to_partners"), over("kg_ordered"))}


def values_in(season: Season, outcome: Outcome) -> Values:
    """Tasks on time and orders filled over the season's weeks of one replication."""
    return {key: part / whole for key, (part, whole) in parts_in(season, outcome).items() if whole > 0}


def targets_of(
    wanted: Mapping[str, float], ample: Sequence[Values], margin: float, proof: ProofRule
) -> dict[str, Target]:
    """What a year asks for. ample: its values with an ample crew, by replication. margin: in fractions.

    The planner's goal stands where the ample crew itself would be proven to meet it: where its mean clears the goal by
    the margin, and by twice the lead that a proof needs. Elsewhere no sign-up could be proven either; the
    target then hangs on the ample crew, so that something can be found that is as good as no lack of people.
    """
    targets = {}
    for key, goal in wanted.items():
        found = [values[key] for values in ample if key in values]
        if len(found) < 2:
            continue
        mean, _, high = mean_interval(found, fewest=2)
        assert high is not None
        reachable = mean - max(margin, 2.0 * proof.lead(variance_of(found))) >= goal
        targets[key] = Target(key, goal, mean, min(1.0, high), None if reachable else margin)
    return targets


def floor_of(target: Target, ample_year: float, ample_season: float, margin: float) -> float:
    """What a season must reach by itself: a margin less than what is asked of the year, or of what is possible in it;
    never below zero.

    ample_year, ample_season: what an ample crew reaches in the year, and in the season.
    """
    return max(0.0, min(target.asked_beside(ample_year), ample_season - margin) - margin)


def above(
    year: Season, targets: Mapping[str, Target], outcomes: Sequence[Outcome], ample: Mapping[int, Values]
) -> dict[int, dict[str, float]]:
    """Replication -> how far above its goals a year lies. ample: the ample crew's values, where it lived through it."""
    found = {}
    for outcome in outcomes:
        values, beside = values_in(year, outcome), ample.get(outcome.replication, {})
        found[outcome.replication] = {
            key: target.above(values[key], beside.get(key, target.ample))
            for key, target in targets.items()
            if key in values
        }
    return found


def restated(target: Target, ample: Sequence[Values]) -> Target:
    """The same target with what an ample crew reaches told from more years; what is asked for hangs on it as before."""
    mean, _, high = mean_interval([values[target.key] for values in ample if target.key in values], fewest=2)
    assert high is not None
    return replace(target, ample=mean, ample_high=min(1.0, high))
