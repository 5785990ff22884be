"""The goals of a season, and by how much a rehearsed year lies above or below them.

A goal that no crew can reach is replaced by what ample hands reach, less a stated margin; it is then compared year by
year with the ample crew under the same luck.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.study.crew.proof_rule import ProofRule
from growsim.study.crew.trial import variance_of
from growsim.study.rota import Season

ON_TIME, ORDERS = "tasks_on_time_fraction", "orders_filled_fraction"
GOAL_KEYS = (ON_TIME, ORDERS)
_SHARES = {ON_TIME: ("tasks_late", "tasks_done"), ORDERS: ("kg_to_partners", "kg_ordered")}

Values = dict[str, float]
"""Figure of the catalogue -> its value in one season of one replication; absent where there is nothing to share."""


@dataclass(frozen=True)
class Target:
    """What a season asks of one figure.

    wanted: the planner's goal. ample: mean with as many hands as are of use; ample_high: upper end of its 95 % range.
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
        return self.wanted if self.below_ample is None else self.ample - self.below_ample

    @property
    def out_of_reach(self) -> bool:
        """Whether no crew reaches the planner's goal, surely: the ample crew's whole range lies below it."""
        return self.ample_high < self.wanted

    def above(self, value: float, ample_value: float) -> float:
        """By how much one year lies above what is asked. ample_value: the ample crew's, in the same year."""
        return value - (self.wanted if self.below_ample is None else ample_value - self.below_ample)


def values_in(season: Season, outcome: Outcome) -> Values:
    """Tasks on time and orders filled over the season's weeks of one replication."""
    found: Values = {}
    for key, (part, whole) in _SHARES.items():
        parts, wholes = outcome.weeks[part], outcome.weeks[whole]
        total = math.fsum(wholes[week] for week in season.weeks)
        if total > 0:
            share = math.fsum(parts[week] for week in season.weeks) / total
            found[key] = 1.0 - share if key == ON_TIME else share
    return found


def targets_of(
    wanted: Mapping[str, float], ample: Sequence[Values], margin: float, proof: ProofRule
) -> dict[str, Target]:
    """What a season asks for. ample: its values with an ample crew, by replication. margin: in fractions.

    The planner's goal stands where the ample crew itself would be proven to meet it: where its mean clears the goal by
    the margin, and by twice the lead that a proof needs. Elsewhere no sign-up could be proven either; the
    target then hangs on the ample crew, so that something can be found that is as good as no lack of hands.
    """
    targets = {}
    for key, goal in wanted.items():
        found = [values[key] for values in ample if key in values]
        if len(found) < 2:
            continue
        mean, _, high = mean_interval(found)
        assert high is not None
        reachable = mean - max(margin, 2.0 * proof.lead(variance_of(found))) >= goal
        targets[key] = Target(key, goal, mean, min(1.0, high), None if reachable else margin)
    return targets


def restated(target: Target, ample: Sequence[Values]) -> Target:
    """The same target with what ample hands reach told from more years; what is asked for hangs on it as before."""
    mean, _, high = mean_interval([values[target.key] for values in ample if target.key in values])
    assert high is not None
    return replace(target, ample=mean, ample_high=min(1.0, high))
