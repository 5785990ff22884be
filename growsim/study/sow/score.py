"""How good a sowing plan is, and how well it keeps each standing order, over fresh years.

First counts the share of order-weeks met in full; then kilograms; then the least seed.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, quantiles
from growsim.scenario.orders import StandingOrder, standing_orders
from growsim.scenario.scenario import Scenario
from growsim.study.promised import ENOUGH_KG

FEWEST_OF_A_MONTH = 3  # order-weeks in a month and year on average, below which the month is not judged alone


@dataclass(frozen=True)
class Score:
    """A plan's worth over the rehearsed years.

    kept: standing order -> share of its order-weeks met in full. weeks: order -> order-weeks in a rehearsed year.
    certainty: asked for. filled: share of ordered greens handed to partners. seeds: sown in a rehearsed year, mean.
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


@dataclass(frozen=True)
class Kept:
    """One standing order under a plan.

    share: of its order-weeks met in full, mean over years; low, high: 95 % range of that mean, None with one year.
    weeks: order-weeks a rehearsed year. filled: share of its kilograms handed over. safe_kg: given in all but the few
    weeks that the certainty leaves. ordered_kg: at a pick-up, mean. short_kg: missing in a week it is not met, mean.
    worst_month: 1 to 12 and the share kept in it; None where no month has weeks enough.
    """

    order: StandingOrder
    share: float
    low: float | None
    high: float | None
    weeks: int
    filled: float
    safe_kg: float
    ordered_kg: float
    short_kg: float
    worst_month: tuple[int, float] | None


def kept_orders(
    outcomes: Sequence[Outcome],
    scenario: Scenario,
    certainty: float,
    month_of_week: Sequence[int],
    beyond: Collection[StandingOrder] = (),
) -> tuple[Kept, ...]:
    """Every standing order that falls due in the rehearsed years and is not beyond any plan's reach.

    month_of_week: 0 for January, of counted weeks.
    """
    return tuple(
        _kept(order, number, outcomes, certainty, month_of_week)
        for number, order in enumerate(standing_orders(scenario))
        if order not in beyond and met_by_year(outcomes, number)
    )


def _kept(
    order: StandingOrder, number: int, outcomes: Sequence[Outcome], certainty: float, months: Sequence[int]
) -> Kept:
    mean, low, high = mean_interval(met_by_year(outcomes, number))
    asked: list[float] = []
    given: list[float] = []
    by_month: dict[int, list[bool]] = {}
    for outcome in outcomes:
        weeks = zip(outcome.weeks[f"order_asked:{number}"], outcome.weeks[f"order_given:{number}"], strict=True)
        for week, (wanted, got) in enumerate(weeks):
            if wanted > 0:
                asked.append(wanted)
                given.append(got)
                by_month.setdefault(months[week], []).append(got >= wanted - ENOUGH_KG)
    missing = [wanted - got for wanted, got in zip(asked, given, strict=True) if got < wanted - ENOUGH_KG]
    full = {m: sum(met) / len(met) for m, met in by_month.items() if len(met) >= FEWEST_OF_A_MONTH * len(outcomes)}
    worst = min(full, key=lambda month: full[month], default=None)
    return Kept(
        order=order,
        share=mean,
        low=None if low is None else max(0.0, low),
        high=None if high is None else min(1.0, high),
        weeks=round(len(asked) / len(outcomes)),
        filled=math.fsum(given) / math.fsum(asked),
        safe_kg=quantiles(given, (1.0 - certainty,))[0],
        ordered_kg=math.fsum(asked) / len(asked),
        short_kg=math.fsum(missing) / len(missing) if missing else 0.0,
        worst_month=None if worst is None else (worst + 1, full[worst]),
    )
