"""What a promise is made of: amounts by crop and week, and every delivery of a standing order with its chances."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Share, proportion_interval
from growsim.scenario.calendar import Calendar
from growsim.scenario.orders import standing_orders
from growsim.scenario.scenario import Scenario

SAFE, LIKELY, POSSIBLE = 0.9, 0.5, 0.1
"""Share of years that give at least the level."""
FEWEST = 9
"""With fewer rehearsals even the smallest of them is not safe."""
ENOUGH_KG = 0.0005  # half a gram: an order is met if no more is missing


@dataclass(frozen=True)
class Levels:
    """Amounts reached in 90, 50 and 10 of 100 years, in the unit of what they were made from."""

    safe: float
    likely: float
    possible: float


def levels_of(values: Sequence[float]) -> Levels:
    """The levels of rehearsed values. Raises ValueError for fewer than nine."""
    n = len(values)
    if n < FEWEST:
        raise ValueError(f"{n} rehearsals cannot say what nine in ten give")
    ranked = sorted(values)

    def reached_by(share: float) -> float:
        rank = math.floor((1.0 - share) * (n + 1) + 1e-9)
        return ranked[max(rank, 1) - 1]

    return Levels(reached_by(SAFE), reached_by(LIKELY), reached_by(POSSIBLE))


def safe_between(values: Sequence[float]) -> tuple[float | None, float]:
    """Between what the amount that truly 90 of 100 give lies, eight times in ten, whatever the distribution: two order
    statistics (Conover 1999, *Practical Nonparametric Statistics*, sec. 3.2, from memory). None where even the
    smallest of so few values may be too much.
    """
    from scipy import stats  # heavy, and the page writes weeks down without it

    n, ranked = len(values), sorted(values)
    low, high = (int(stats.binom.ppf(share, n, 1.0 - SAFE)) for share in (0.1, 0.9))
    return ranked[low - 1] if low else None, ranked[min(high, n - 1)]


@dataclass(frozen=True)
class CropWeek:
    """A crop (or everything, crop "") in one coming week, in kg.

    week: from 0. starts: its first day. there: what there will be to hand out. spare: what of it no standing order
    takes. ordered: by name, in standing orders ("any" counts for crop "" only).
    """

    crop: str
    week: int
    starts: dt.date
    there: Levels
    spare: Levels
    ordered: float


@dataclass(frozen=True)
class Delivery:
    """One pick-up of a standing order, in kg.

    gets: what the partner will get of it. chance: that it is met in full. short: missing, on average over all futures.
    """

    partner: str
    crop: str
    week: int
    date: dt.date
    ordered: float
    gets: Levels
    chance: Share
    short: float

    @property
    def key(self) -> tuple[str, str, int]:
        """Which delivery it is, in any room."""
        return self.partner, self.crop, self.week

    @property
    def is_at_risk(self) -> bool:
        """Whether it is met in full in fewer than nine years in ten."""
        return self.chance.share < SAFE


def crop_weeks(outcomes: Sequence[Outcome], scenario: Scenario, weeks: int) -> tuple[CropWeek, ...]:
    """Week by week: everything first, then crop by crop."""
    found = []
    asked = _ordered(outcomes, scenario, weeks)
    for week in range(weeks):
        starts = scenario.room.start_date + dt.timedelta(weeks=week)
        for crop, given, left in (
            ("", "kg_handed_out", "kg_surplus"),
            *((crop.name, f"kg_given:{crop.name}", f"kg_left:{crop.name}") for crop in scenario.crops),
        ):
            there = levels_of([outcome.weeks[given][week] for outcome in outcomes])
            spare = levels_of([outcome.weeks[left][week] for outcome in outcomes])
            found.append(CropWeek(crop, week, starts, there, spare, asked.get((crop, week), 0.0)))
    return tuple(found)


def deliveries(outcomes: Sequence[Outcome], scenario: Scenario, weeks: int) -> tuple[Delivery, ...]:
    """Every delivery of every standing order, week by week. Nothing is ordered on closed days and out of season."""
    calendar = Calendar(scenario.room.start_date)
    weekday_of = {partner.name: partner.weekday for partner in scenario.partners}
    found = []
    for week in range(weeks):
        for number, order in enumerate(standing_orders(scenario)):
            ordered = outcomes[0].weeks[f"order_asked:{number}"][week]
            if ordered <= 0:
                continue
            gets = [outcome.weeks[f"order_given:{number}"][week] for outcome in outcomes]
            met = sum(kg >= ordered - ENOUGH_KG for kg in gets)
            date = calendar.date(calendar.first_on(weekday_of[order.partner], 7 * week))
            short = math.fsum(ordered - kg for kg in gets) / len(gets)
            chance = proportion_interval(met, len(gets))
            found.append(Delivery(order.partner, order.crop, week, date, ordered, levels_of(gets), chance, short))
    return tuple(sorted(found, key=lambda each: each.date))


def _ordered(outcomes: Sequence[Outcome], scenario: Scenario, weeks: int) -> dict[tuple[str, int], float]:
    """(crop, week) -> kg ordered; crop "" for all orders together."""
    total: dict[tuple[str, int], float] = {}
    for number, order in enumerate(standing_orders(scenario)):
        for week in range(weeks):
            kg = outcomes[0].weeks[f"order_asked:{number}"][week]
            for crop in (order.crop, ""):
                total[crop, week] = total.get((crop, week), 0.0) + kg
    return total
