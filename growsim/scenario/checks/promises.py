"""Cross-checks of what is promised to partners against what is harvested, and when."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

from growsim.scenario import on_paper
from growsim.scenario.checks.crew import clock
from growsim.scenario.demand import Order, Partner
from growsim.scenario.names import ANY_CROP
from growsim.scenario.promised_plan import cells_promised, follows_promises
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.units import mass_text
from growsim.vocabulary.days import WEEKDAYS

SOON_DAYS = 2.0


def orders_are_single(scenario: Scenario) -> Iterator[Finding]:
    """A partner orders a crop once in any month."""
    for partner in scenario.partners:
        for i, order in enumerate(partner.orders):
            for earlier in partner.orders[:i]:
                if order.crop == earlier.crop and _share_a_month(order, earlier):
                    yield (
                        f"partners.{partner.name}.orders.{order.crop}",
                        "this crop is ordered twice for the same month",
                        "add the two together, or give each its own months",
                    )


def _share_a_month(one: Order, other: Order) -> bool:
    return bool(set(one.months or range(1, 13)) & set(other.months or range(1, 13)))


def ordered_kg_per_week(scenario: Scenario) -> dict[str, float]:
    """Kilograms ordered in an average week, by crop ('any' too)."""
    ordered: dict[str, float] = {}
    for partner in scenario.partners:
        for order in partner.orders:
            ordered[order.crop] = ordered.get(order.crop, 0.0) + order.kg * _share_of_time(scenario, partner, order)
    return ordered


def _share_of_time(scenario: Scenario, partner: Partner, order: Order) -> float:
    """Share of the days counted on which the order is standing."""
    if not partner.months and not partner.closed_days:
        return on_paper.share_of_days(scenario, order.months)
    days = [scenario.room.start_date + dt.timedelta(days=day) for day in range(scenario.rehearsal.days)]
    return sum(partner.collects(day) and order in partner.ordered_in(day.month) for day in days) / len(days)


def orders_fall_due(scenario: Scenario) -> Iterator[Finding]:
    """An order stands in some month in which its partner collects."""
    for partner in scenario.partners:
        for order in partner.orders:
            if partner.months and order.months and not set(partner.months) & set(order.months):
                yield (
                    f"partners.{partner.name}.orders.{order.crop}.months",
                    f"is never due, for {partner.name} does not collect in those months",
                    "name a month in which the partner collects, or leave the months of the order out",
                )


def partners_are_closed(scenario: Scenario) -> Iterator[Finding]:
    """Warning: closed days of a partner on none of which it would have collected, or that leave no pick-up."""
    start, days = scenario.room.start_date, scenario.rehearsal.days
    counted = [start + dt.timedelta(days=day) for day in range(days)]
    for partner in scenario.partners:
        key = f"partners.{partner.name}.closed_days"
        pick_ups = [day for day in counted if WEEKDAYS[day.weekday()] == partner.weekday]
        if partner.closed_days and not any(day in partner.closed_days for day in pick_ups):
            yield (
                key,
                f"none of them is a pick-up ({partner.weekday}) in the days counted, so they have no effect",
                "give the days on which it would have collected, or leave them out",
            )
        elif (partner.closed_days or partner.months) and not any(partner.collects(day) for day in pick_ups):
            yield key, "it never collects in the days counted", "give fewer closed days, or other months"


def promises_on_paper(scenario: Scenario) -> Iterator[Finding]:
    """Warning: more is promised than the plan gives even if all goes well; of growsim's own, than the slots hold."""
    output: dict[str, float] = {}
    for line in on_paper.weekly_plan(scenario):
        output[line.crop.name] = output.get(line.crop.name, 0.0) + line.kg
    gives, remedy = "the plan gives", "promise less, or sow more"
    if follows_promises(scenario):
        wanted = cells_promised(scenario)
        if all(line.cells >= wanted.get(line.crop, 0) for line in scenario.sowing):
            return  # the rest is lost to closings
        gives, remedy = "the shelves hold no more than what gives", "promise less, or add shelves"
    ordered = ordered_kg_per_week(scenario)
    short = False
    for crop, kg in ordered.items():
        if crop != ANY_CROP and kg > output.get(crop, 0.0):
            short = True
            yield (
                "partners",
                f"{mass_text(kg)} of {crop} a week are promised and {gives} {mass_text(output.get(crop, 0.0))} if all "
                "goes well",
                remedy,
            )
    total, promised = math.fsum(output.values()), math.fsum(ordered.values())
    if promised > total and not short:
        yield (
            "partners",
            f"{mass_text(promised)} a week are promised in all and {gives} {mass_text(total)} if all goes well",
            remedy,
        )


def pickups_follow_cuts(scenario: Scenario) -> Iterator[Finding]:
    """Warning: a partner comes before anything can have been harvested that day, or when all that is harvested is too
    old.
    """
    keeps = [min(crop.shelf_life_days, scenario.harvest.longest_wait_days) for crop in scenario.crops]
    for partner in scenario.partners:
        key, hour = f"partners.{partner.name}.hour", clock(partner.hour)
        first = _first_shift_hour(scenario, partner)
        if partner.weekday in scenario.harvest.weekdays and first is not None and partner.hour <= first:
            yield (
                key,
                f"collects at {hour} on {partner.weekday}, before that day's first shift ({clock(first)}): "
                "the greens come from an earlier harvest day",
                "collect after the shift, or harvest the day before",
            )
        age = _days_since_harvest(scenario, partner)
        if age is not None and keeps and age > max(keeps):
            yield (
                f"partners.{partner.name}.weekday",
                f"collects on {partner.weekday}, {age} days after the last harvest day, when nothing is fresh enough",
                "harvest nearer to the pick-up",
            )


def surplus_waits_for_pickups(scenario: Scenario) -> Iterator[Finding]:
    """Warning: giving away comes between a harvest day and, within two days, a pick-up of the same greens."""
    harvest = scenario.harvest
    surplus = WEEKDAYS.index(harvest.surplus_weekday) + harvest.surplus_hour / 24.0
    keeps = {crop.name: min(crop.shelf_life_days, harvest.longest_wait_days) for crop in scenario.crops}
    harvests = [
        WEEKDAYS.index(shift.weekday) + shift.start_hour / 24.0
        for shift in scenario.crew.shifts
        if shift.weekday in harvest.weekdays
    ]
    since = min(((surplus - day) % 7 for day in harvests), default=None)
    if since is None:
        return
    for partner in scenario.partners:
        wait = (WEEKDAYS.index(partner.weekday) + partner.hour / 24.0 - surplus) % 7
        crops = [order.crop for order in partner.orders if since + wait <= keeps.get(order.crop, max(keeps.values()))]
        if crops and wait < SOON_DAYS:
            yield (
                "harvest.surplus_weekday",
                f"giving away at {clock(harvest.surplus_hour)} on {harvest.surplus_weekday} comes before "
                f"{partner.name} collects {' and '.join(crops)} of the same harvest at {clock(partner.hour)} on "
                f"{partner.weekday}. What that needs is kept, only the rest is given away",
                "give away after that pick-up, if all that is left should go while it is fresh",
            )


def _first_shift_hour(scenario: Scenario, partner: Partner) -> float | None:
    hours = [shift.start_hour for shift in scenario.crew.shifts if shift.weekday == partner.weekday]
    return min(hours, default=None)


def _days_since_harvest(scenario: Scenario, partner: Partner) -> int | None:
    """Whole days from the last harvest day with a shift that ended before the pick-up."""
    here = WEEKDAYS.index(partner.weekday)
    ages = []
    for shift in scenario.crew.shifts:
        if shift.weekday in scenario.harvest.weekdays:
            days = (here - WEEKDAYS.index(shift.weekday)) % 7
            ages.append(7 if days == 0 and shift.start_hour >= partner.hour else days)
    return min(ages, default=None)
