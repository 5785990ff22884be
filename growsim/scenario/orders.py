"""Standing orders, one for each partner and crop, and when they fall due."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from growsim.scenario.demand import Partner
from growsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class StandingOrder:
    """What one partner takes of one crop ('any' for whatever there is), in some or all months."""

    partner: str
    crop: str


def standing_orders(scenario: Scenario) -> tuple[StandingOrder, ...]:
    """Every standing order once, in the order of the room file."""
    pairs = ((partner.name, order.crop) for partner in scenario.partners for order in partner.orders)
    return tuple(StandingOrder(*pair) for pair in dict.fromkeys(pairs))


def kg_ordered_on(partner: Partner, crop: str, date: dt.date) -> float:
    """Kilograms the partner takes of the crop at a pick-up on that date; 0 out of season and on its closed days."""
    return kg_ordered_in(partner, crop, date.month) if partner.collects(date) else 0.0


def kg_ordered_in(partner: Partner, crop: str, month: int) -> float:
    """Kilograms the partner takes of the crop at a pick-up in that month (1 for January); 0 out of season."""
    return math.fsum(order.kg for order in partner.ordered_in(month) if order.crop == crop)
