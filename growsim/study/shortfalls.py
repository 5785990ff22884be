"""Which orders of a week are at risk of falling short, how often, and by how much."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome
from growsim.spec.orders import standing_orders
from growsim.spec.scenario import Scenario
from growsim.study.levels import SAFE
from growsim.study.promised import ENOUGH_KG

WEEK_DAYS = 7


@dataclass(frozen=True)
class Shortfall:
    """An order at one pick-up that is met in full in fewer than 90 of 100 rehearsals.

    ordered: kg. short: kg missing on average in those rehearsals that miss any. times: how many do, of n.
    """

    date: dt.date
    partner: str
    crop: str
    ordered: float
    short: float
    times: int
    n: int

    @property
    def is_likely(self) -> bool:
        """Whether it is short more often than not."""
        return 2 * self.times > self.n


def shortfalls(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> tuple[Shortfall, ...]:
    """Orders at risk in the last seven of `days` rehearsed days, by date; what is missing most first within a day.

    outcomes: of `run.deliveries.deliver_by_day`. The same 90 of 100 as for a promise.
    """
    found = []
    for number, order in enumerate(standing_orders(scenario)):
        for ahead, ordered in enumerate(outcomes[0].weeks[f"asked_by_day:{number}"]):
            missing = [ordered - outcome.weeks[f"given_by_day:{number}"][ahead] for outcome in outcomes]
            short = [kg for kg in missing if kg > ENOUGH_KG]
            if (len(missing) - len(short)) / len(missing) < SAFE:
                date = scenario.room.start_date + dt.timedelta(days=days - WEEK_DAYS + ahead)
                mean = sum(short) / len(short)
                found.append(Shortfall(date, order.partner, order.crop, ordered, mean, len(short), len(missing)))
    return tuple(sorted(found, key=lambda each: (each.date, -each.short)))
