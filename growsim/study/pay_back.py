"""What a change costs to make against what it brings: counted in money, and in kilograms, kept apart.

Counted: the price of making the change, once; the change in the room's running costs (electricity, water, seed, plugs,
packing, repairs, a paid lead, fixed costs); the extra kilograms handed out. Not counted: volunteer hours, interest,
wear.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.ledger.measures import WEEKS_A_YEAR
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval

KG, COST = "kg_handed_out_per_week", "cost_per_week"


@dataclass(frozen=True)
class Range:
    """A mean over replications with its range; None where there is but one replication."""

    mean: float
    low: float | None
    high: float | None

    @property
    def half_as_wide(self) -> Range:
        """Its ends half as far from the mean."""
        low, high = (None if each is None else (self.mean + each) / 2 for each in (self.low, self.high))
        return Range(self.mean, low, high)


@dataclass(frozen=True)
class PayBack:
    """Pay-back of a change. Money in the room's currency, kilograms handed out; both a year.

    price: of making the change, once. saved_per_year: running costs saved (negative: added). extra_kg_per_year.
    value_per_kg: what a kilogram costs in today's room, taken as the worth of an extra one. worth_per_year: extra
    kilograms at that value, less the running costs added.
    """

    price: float
    saved_per_year: Range
    extra_kg_per_year: Range
    value_per_kg: float
    worth_per_year: Range

    @property
    def years_by_saving(self) -> float | None:
        """Years until money saved has paid the price; None where none is saved on average."""
        return _years(self.price, self.saved_per_year.mean)

    @property
    def price_per_extra_kg_a_year(self) -> float | None:
        """Price for each kilogram more a year; None where there is no more on average."""
        extra = self.extra_kg_per_year.mean
        return self.price / extra if extra > 0 else None

    @property
    def years_by_worth(self) -> tuple[float | None, float | None, float | None]:
        """Years until what it is worth has paid the price: on average, soonest, latest; None: never."""
        worth = self.worth_per_year
        return _years(self.price, worth.mean), _years(self.price, worth.high), _years(self.price, worth.low)


def pay_back(price: float, today: Sequence[Outcome], changed: Sequence[Outcome], doubt: float) -> PayBack | None:
    """Pay-back of a change with a price. doubt: of each range (0.05 for 95 %). None where nothing is handed out."""
    before = {outcome.replication: outcome.measures for outcome in today}
    pairs = [
        (before[outcome.replication], outcome.measures)
        for outcome in changed
        if KG in outcome.measures and KG in before.get(outcome.replication, {})
    ]
    kilograms = math.fsum(one[KG] for one, _ in pairs)
    if kilograms <= 0:
        return None
    value = math.fsum(one[COST] for one, _ in pairs) / kilograms
    extra_kg = [(two[KG] - one[KG]) * WEEKS_A_YEAR for one, two in pairs]
    saved = [(one[COST] - two[COST]) * WEEKS_A_YEAR for one, two in pairs]
    worth = [value * kg + money for kg, money in zip(extra_kg, saved, strict=True)]
    ranges = [Range(*mean_interval(values, 1.0 - doubt)) for values in (saved, extra_kg, worth)]
    return PayBack(price, ranges[0], ranges[1], value, ranges[2])


def _years(price: float, per_year: float | None) -> float | None:
    return price / per_year if per_year is not None and per_year > 0 else None
