"""When a sowing is harvested, and which pick-ups what is harvested can feed: the calendar behind a sowing plan.

A lot is harvested on the first harvest day on which it is ripe. Lots grow at different speeds, so one sowing day leads
to one of a few harvest days, each with its chance. A pick-up is fed by the last harvest day before it, and by earlier
ones where the greens keep and the surplus has not been handed out in between.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from growsim.growth.germination import days_to_emerge
from growsim.growth.harvest import mean_above, share_above
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import StandingOrder, standing_orders
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS, Weekday

WEEK = 7 * 1440
SPEEDS = 41  # growth speeds that stand for all
NOON = 12.0
LONGEST = 3.0  # times its typical days, after which a lot is taken as ripe


@dataclass(frozen=True)
class HarvestChance:
    """Harvested so many days after the planned day of sowing, with this chance."""

    days: int
    chance: float


@dataclass(frozen=True)
class Fed:
    """A standing order and the harvest days that can feed it: (weekday, days before the pick-up), the last first."""

    order: StandingOrder
    cuts: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Feeds:
    """That a line feeds the pick-up of an order so many days after sowing, with this chance of being harvested in
    time.
    """

    order: StandingOrder
    days: int
    in_time: float


@dataclass(frozen=True)
class Line:
    """A crop sown on a weekday.

    harvested: when it is harvested for the first time. feeds: the orders it can be for. kg_per_cell: packed, of all
    harvests.
    """

    crop: str
    weekday: Weekday
    cut: tuple[HarvestChance, ...]
    feeds: tuple[Feeds, ...]
    kg_per_cell: float

    @property
    def harvest_days(self) -> float:
        """Mean days from sowing to the first harvest."""
        return math.fsum(each.chance * each.days for each in self.cut)


def fed_orders(scenario: Scenario) -> tuple[Fed, ...]:
    """Every standing order with the harvest days that can feed it; none where nothing harvested is ever there
    in time.
    """
    partners = {partner.name: partner for partner in scenario.partners}
    keeps = {crop.name: min(crop.shelf_life_days, scenario.harvest.longest_wait_days) for crop in scenario.crops}
    surplus = WEEKDAYS.index(scenario.harvest.surplus_weekday) * 1440 + round(scenario.harvest.surplus_hour * 60)
    found = []
    for order in standing_orders(scenario):
        partner = partners[order.partner]
        pick_up = WEEKDAYS.index(partner.weekday) * 1440 + round(partner.hour * 60)
        keep = max(keeps.values()) if order.crop == ANY_CROP else keeps[order.crop]
        cuts = []
        for cut, ready in _ready_minutes(scenario).items():
            waited = (pick_up - ready) % WEEK
            swept = (pick_up - surplus) % WEEK < waited
            if not swept and waited <= keep * 1440:
                cuts.append((waited, cut % 7, (WEEKDAYS.index(partner.weekday) - cut) % 7))
        found.append(Fed(order, tuple((cut, days) for _, cut, days in sorted(cuts))))
    return tuple(found)


def _ready_minutes(scenario: Scenario) -> dict[int, int]:
    """Harvest weekday -> minute of the week at which what is harvested that day is packed: the end of the next
    shift.
    """
    needs_lead = any(task.name == "harvest" and task.needs_lead for task in scenario.crew.tasks)
    shifts = [shift for shift in scenario.crew.shifts if shift.lead or not needs_lead]
    found = {}
    for weekday in scenario.harvest.weekdays:
        day = WEEKDAYS.index(weekday)
        ends = [
            (WEEKDAYS.index(shift.weekday) - day) % 7 * 1440 + round((shift.start_hour + shift.hours) * 60)
            for shift in shifts
        ]
        if ends:
            found[day] = (day * 1440 + min(ends)) % WEEK
    return found


def harvest_on_paper(prepared: Prepared, crop: Crop, weekday: Weekday) -> tuple[tuple[HarvestChance, ...], float]:
    """When a lot sown that weekday is harvested for the first time, every move on its day; mean mass of a plant then
    (g).
    """
    scenario = prepared.scenario
    sown = min((shift.start_hour for shift in scenario.crew.shifts if shift.weekday == weekday), default=NOON) / 24.0
    cutting = {WEEKDAYS.index(day) for day in scenario.harvest.weekdays}
    ripe_g = crop.typical_mass_g.expected() * crop.harvest_from_mass_fraction
    chances: dict[int, int] = {}
    grams = 0.0
    for speed in _speeds(crop.days_spread_cv):
        day = _ripe_day(prepared, crop, ripe_g, sown, speed)
        while (WEEKDAYS.index(weekday) + day) % 7 not in cutting:
            day += 1
        chances[day] = chances.get(day, 0) + 1
        grams += fresh_g(prepared, crop, day + 0.5 - sown, speed) / SPEEDS  # harvested in the course of the day
    return tuple(HarvestChance(day, count / SPEEDS) for day, count in sorted(chances.items())), grams


def fresh_g(prepared: Prepared, crop: Crop, days: float, speed: float = 1.0) -> float:
    """Mean fresh mass of a plant (g) so many days after sowing, every move on its day, under lights it may have."""
    table = crop.emergence
    waiting = days_to_emerge(prepared.scenario.climate.air_temperature_c, table.temperature_c, table.days)
    curves, left = prepared.curves.curves, days
    dry_g = prepared.curves.seedling_dry_g[crop.name]
    stages = crop.stages_in_order()
    for stage in stages:
        here = left if stage is stages[-1] else min(left, stage.days)
        growing = max(0.0, here - waiting)
        waiting = max(0.0, waiting - here)
        curve = next(curve for (name, at, _), curve in curves.items() if (name, at) == (crop.name, stage.name))
        dry_g = max(dry_g, curve.dry_g(curve.age_days(dry_g) + speed * growing))
        left -= here
        if left <= 0.0:
            break
    return dry_g / crop.dry_matter_fraction


def lines_for(prepared: Prepared, crop: Crop, fed: Sequence[Fed]) -> tuple[Line, ...]:
    """Every weekday with a shift on which the crop could be sown for some order, with what it would feed."""
    found = []
    for weekday in WEEKDAYS:
        if any(shift.weekday == weekday for shift in prepared.scenario.crew.shifts):
            cut, grams = harvest_on_paper(prepared, crop, weekday)
            feeds = _all_feeds(crop.name, weekday, cut, fed)
            if feeds:
                found.append(Line(crop.name, weekday, cut, feeds, kg_per_cell(prepared.scenario, crop, grams)))
    return tuple(found)


def measured(lines: Sequence[Line], fed: Sequence[Fed], outcomes: Sequence[Outcome]) -> tuple[Line, ...]:
    """The lines with what rehearsed lots of their crop and weekday did (`run.harvest_days`): the days hands really
    take.

    A line of which no lot was harvested keeps what is on paper.
    """
    total: dict[str, float] = {}
    for outcome in outcomes:
        for name, amount in outcome.accounts.items():
            if name.startswith("lot "):
                total[name] = total.get(name, 0.0) + amount
    found = []
    for line in lines:
        cells = total.get(f"lot cells:{line.weekday}:{line.crop}", 0.0)
        kg = total.get(f"lot kg:{line.weekday}:{line.crop}", 0.0)
        plants = {}
        for name, amount in total.items():
            what, _, rest = name.partition(":")
            if what == "lot harvested" and amount > 0:
                weekday, days, crop = rest.split(":", 2)
                if (weekday, crop) == (line.weekday, line.crop):
                    plants[int(days)] = amount
        if not plants or cells <= 0:
            found.append(line)
            continue
        every = math.fsum(plants.values())
        cut = tuple(HarvestChance(days, plants[days] / every) for days in sorted(plants))
        found.append(Line(line.crop, line.weekday, cut, _all_feeds(line.crop, line.weekday, cut, fed), kg / cells))
    return tuple(found)


def _all_feeds(crop: str, weekday: Weekday, cut: tuple[HarvestChance, ...], fed: Sequence[Fed]) -> tuple[Feeds, ...]:
    wanted = [each for each in fed if each.order.crop in (crop, ANY_CROP) and each.cuts]
    return tuple(_feeds(each, cut, WEEKDAYS.index(weekday)) for each in wanted)


def kg_per_cell(scenario: Scenario, crop: Crop, fresh_g: float) -> float:
    """Packed kilograms over all harvests from a sown cell, at this mean fresh mass at the first harvest."""
    plants = on_paper.plants_harvested(crop, 1.0, scenario.climate.air_temperature_c)
    smallest_g = crop.smallest_mass_fraction * crop.typical_mass_g.expected()
    good = share_above(smallest_g, fresh_g, crop.mass_spread_cv)
    grams = good * mean_above(smallest_g, fresh_g, crop.mass_spread_cv) * (1.0 - crop.trimmed_fraction)
    return plants * grams * (1.0 + crop.regrowth_mass_fraction * (crop.harvests - 1)) / 1000.0


def _feeds(fed: Fed, cut: tuple[HarvestChance, ...], weekday: int) -> Feeds:
    """The pick-up for which a lot sown that weekday is likeliest to be harvested in time; the sooner of equals."""
    usable = set(fed.cuts)

    def in_time(days: int) -> float:
        return math.fsum(c.chance for c in cut if ((weekday + c.days) % 7, days - c.days) in usable)

    soonest, latest = cut[0].days, cut[-1].days + 14
    best = max(range(soonest, latest), key=lambda days: (round(in_time(days), 6), -days))
    return Feeds(fed.order, best, in_time(best))


def _speeds(cv: float) -> list[float]:
    """Growth speeds at even steps of chance; lognormal with mean 1."""
    sigma = math.sqrt(math.log1p(cv * cv))
    return [
        math.exp(sigma * NormalDist().inv_cdf((number + 0.5) / SPEEDS) - sigma * sigma / 2.0)
        for number in range(SPEEDS)
    ]


def _ripe_day(prepared: Prepared, crop: Crop, ripe_g: float, sown: float, speed: float) -> int:
    """Days after sowing at whose midnight the lot is ripe for the first time. sown: share of the day gone by then."""
    low, high = 0, math.ceil(LONGEST * crop.typical_days)
    while low < high:
        middle = (low + high) // 2
        if fresh_g(prepared, crop, middle - sown, speed) >= ripe_g:
            high = middle
        else:
            low = middle + 1
    return low
