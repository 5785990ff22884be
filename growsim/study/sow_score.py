"""How good a sowing plan is. First: the share of order-weeks met in full; then kilograms; then the least seed.

An order-week is one pick-up of one standing order. Each order counts up to the certainty asked for and no further, so
that no order is neglected for another's sake; once every order has it, only seed is left to save.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from growsim.ledger.outcome import Outcome
from growsim.spec.orders import StandingOrder, standing_orders
from growsim.spec.scenario import Scenario
from growsim.study.promised import ENOUGH_KG


@dataclass(frozen=True)
class Score:
    """A plan's worth over the rehearsed years.

    kept: standing order -> share of its order-weeks met in full. weeks: order -> order-weeks in a rehearsed year.
    certainty: asked for. filled: share of ordered kilograms handed to partners. seeds: sown in a rehearsed year, mean.
    """

    kept: dict[StandingOrder, float] = field(hash=False)
    weeks: dict[StandingOrder, int] = field(hash=False)
    certainty: float
    filled: float
    seeds: float

    @property
    def share_kept(self) -> float:
        """Share of all order-weeks met in full."""
        return self._mean(self.kept)

    @property
    def goal(self) -> float:
        """The same, each order counted up to the certainty asked for."""
        return self._mean({order: min(share, self.certainty) for order, share in self.kept.items()})

    @property
    def is_met(self) -> bool:
        """Whether every order has the certainty asked for."""
        return all(share >= self.certainty - 1e-9 for share in self.kept.values())

    @property
    def worth(self) -> tuple[float, float, float]:
        """Larger is better."""
        return (self.certainty, 0.0, -self.seeds) if self.is_met else (self.goal, self.filled, -self.seeds)

    def _mean(self, shares: dict[StandingOrder, float]) -> float:
        total = sum(self.weeks.values())
        return math.fsum(share * self.weeks[order] for order, share in shares.items()) / total if total else 1.0


def score_of(
    outcomes: Sequence[Outcome], scenario: Scenario, certainty: float, beyond: Collection[StandingOrder] = ()
) -> Score:
    """The score of rehearsed years. Left out: orders that never fall due in them, and those beyond any plan's reach."""
    kept, weeks = {}, {}
    for number, order in enumerate(standing_orders(scenario)):
        yearly = met_by_year(outcomes, number)
        if yearly and order not in beyond:
            kept[order] = math.fsum(yearly) / len(yearly)
            weeks[order] = sum(kg > 0 for kg in outcomes[0].weeks[f"order_asked:{number}"])
    filled = [outcome.measures.get("orders_filled_fraction", 1.0) for outcome in outcomes]
    seeds = [outcome.measures["seeds_sown"] for outcome in outcomes]
    return Score(kept, weeks, certainty, math.fsum(filled) / len(filled), math.fsum(seeds) / len(seeds))


def met_by_year(outcomes: Sequence[Outcome], number: int) -> list[float]:
    """Share of the order-weeks of one standing order met in full, year by year; [] where it never falls due."""
    yearly = [_met(outcome, number) for outcome in outcomes]
    return [sum(met) / len(met) for met in yearly if met]


def all_met_by_year(
    outcomes: Sequence[Outcome], scenario: Scenario, beyond: Collection[StandingOrder] = ()
) -> list[float]:
    """Share of all order-weeks met in full, year by year: of the same orders as `score_of`; 1 where none falls due."""
    numbers = [number for number, order in enumerate(standing_orders(scenario)) if order not in beyond]
    shares = []
    for outcome in outcomes:
        met = [each for number in numbers for each in _met(outcome, number)]
        shares.append(sum(met) / len(met) if met else 1.0)
    return shares


def _met(outcome: Outcome, number: int) -> list[bool]:
    """Whether a standing order is met in full, for each week of a year in which it falls due."""
    asked, given = outcome.weeks[f"order_asked:{number}"], outcome.weeks[f"order_given:{number}"]
    return [kg >= wanted - ENOUGH_KG for wanted, kg in zip(asked, given, strict=True) if wanted > 0]
