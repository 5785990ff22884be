"""How well each standing order is kept by a plan, over fresh years."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, quantiles
from growsim.spec.orders import StandingOrder, standing_orders
from growsim.spec.scenario import Scenario
from growsim.study.promised import ENOUGH_KG
from growsim.study.sow_score import met_by_year

FEWEST_OF_A_MONTH = 3  # order-weeks in a month and year on average, below which the month is not judged alone


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
