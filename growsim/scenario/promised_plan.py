"""growsim's own sowing plan: how many cells of what on which days follow from what partners are promised.

It fits the room on paper: each crop is sown on the shift day from which the harvest days meet it best, nothing is
sown that a long closing would catch, and all finds its slots. What no promise asks for is not sown; where nothing is
promised at all, as much is sown as the slots hold. No chance, no clock: the rehearsal says what comes of it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence

from growsim.scenario import on_paper
from growsim.scenario.calendar import Calendar
from growsim.scenario.checks.closings import MANY_DAYS, closings, lost_sowings
from growsim.scenario.checks.slots import short_of_slots
from growsim.scenario.crop import Crop
from growsim.scenario.demand import Partner, Sowing
from growsim.scenario.names import ANY_CROP
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS, Weekday

SOURCE = "follows the promises (growsim's own plan)"
SPARE = 1.1  # sown for each that is promised (common practice, no source)
MOST_WEEKS = 4  # between two sowings of a crop
_HALVINGS = 6  # until the most that fits is found
_NEARLY = 0.75
_DAY = dt.timedelta(days=1)


def follows_promises(scenario: Scenario) -> bool:
    """Whether the sowing plan is growsim's own."""
    return bool(scenario.sowing) and all(line.source == SOURCE for line in scenario.sowing)


def cells_promised(scenario: Scenario) -> dict[str, int]:
    """Cells of each crop a week that its promises take, a tenth to spare, in the month in which most is promised; an
    order of any crop is shared so that each crop takes as many slots for it. Crops that nothing is promised of are
    left out."""
    slots = {crop.name: 1.0 / _slot_days_a_kg(scenario, crop) for crop in scenario.crops}
    found = {}
    for crop in scenario.crops:
        of_any = slots[crop.name] / math.fsum(slots.values())
        kg = max(_promised_kg(scenario, crop, of_any, month) for month in range(1, 13))
        if kg > 0:
            found[crop.name] = on_paper.cells_for(crop, kg * SPARE, scenario.climate.air_temperature_c)
    return found


def _promised_kg(scenario: Scenario, crop: Crop, of_any: float, month: int) -> float:
    orders = [order for partner in scenario.partners for order in partner.ordered_in(month)]
    return math.fsum(order.kg * {crop.name: 1.0, ANY_CROP: of_any}.get(order.crop, 0.0) for order in orders)


def _slot_days_a_kg(scenario: Scenario, crop: Crop) -> float:
    """Days of slots that a packed kilogram takes, from seed to harvest."""
    temperature, trays = scenario.climate.air_temperature_c, on_paper.trays_by_name(scenario)
    stages = on_paper.plants_by_stage(crop, 1.0, temperature)
    taken = (plants / trays[stage.tray].places * on_paper.stage_days(crop, stage) for stage, plants in stages)
    return math.fsum(taken) / on_paper.kg_of_plants(crop, on_paper.plants_harvested(crop, 1.0, temperature))


def plan_of(scenario: Scenario) -> tuple[Sowing, ...]:
    """The plan of a room without a fault; () where nobody ever comes. Whatever it has of its own is not looked at."""
    if not scenario.crew.shifts or not scenario.crops:
        return ()
    wanted = cells_promised(scenario) or {crop.name: _cells_that_fill(scenario, crop) for crop in scenario.crops}
    crops = on_paper.crops_by_name(scenario)
    lines = tuple(
        line
        for name, cells in wanted.items()
        for line in _lines(scenario, crops[name], min(cells, _most_at_once(scenario, crops[name])))
    )
    return _as_much_as_fits(scenario, lines)


def _cells_that_fill(scenario: Scenario, crop: Crop) -> int:
    """Cells a week that fill the crop's share of the slots of its last stage."""
    last = crop.stages_in_order()[-1]
    places = on_paper.slots_for(scenario, last) * on_paper.trays_by_name(scenario)[last.tray].places
    return math.ceil(7.0 * places / on_paper.stage_days(crop, last) / len(scenario.crops))


def _most_at_once(scenario: Scenario, crop: Crop) -> int:
    first = crop.stages_in_order()[0]
    return on_paper.slots_for(scenario, first) * on_paper.trays_by_name(scenario)[first.tray].places


def _as_much_as_fits(scenario: Scenario, lines: tuple[Sowing, ...]) -> tuple[Sowing, ...]:
    """All of it, or the largest share of every line that finds its slots; every few weeks where a week's share of some
    crop would not fill a tray."""
    if _fits(scenario, lines):
        return lines
    for weeks in range(1, MOST_WEEKS):
        found = _largest_share(scenario, lines, weeks)
        if found and all(_fills_a_tray(scenario, line) for line in found):
            return found
    return _largest_share(scenario, lines, MOST_WEEKS) or lines


def _largest_share(scenario: Scenario, lines: tuple[Sowing, ...], weeks: int) -> tuple[Sowing, ...]:
    """Of sowings every so many weeks, crops by turns; () where not even one tray of each finds its slots."""
    crops = list(dict.fromkeys(line.crop for line in lines))

    def share(part: float) -> tuple[Sowing, ...]:
        return tuple(
            line.model_copy(
                update={
                    "cells": max(1, math.floor(part * weeks * line.cells)),
                    "every_weeks": weeks,
                    "first_week": crops.index(line.crop) % weeks,
                }
            )
            for line in lines
        )

    fewest, most = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (fewest + most) / 2.0
        fewest, most = (middle, most) if _fits(scenario, share(middle)) else (fewest, middle)
    return share(fewest) if fewest or _fits(scenario, share(0.0)) else ()


def _fits(scenario: Scenario, plan: tuple[Sowing, ...]) -> bool:
    crops = on_paper.crops_by_name(scenario)
    return all(line.cells <= _most_at_once(scenario, crops[line.crop]) for line in plan) and not short_of_slots(
        scenario.model_copy(update={"sowing": plan})
    )


def _fills_a_tray(scenario: Scenario, line: Sowing) -> bool:
    """Whether what becomes of a sowing fills a tray of its last stage, nearly."""
    crop = on_paper.crops_by_name(scenario)[line.crop]
    last, plants = on_paper.plants_by_stage(crop, line.cells, scenario.climate.air_temperature_c)[-1]
    return plants >= _NEARLY * on_paper.trays_by_name(scenario)[last.tray].places


def _lines(scenario: Scenario, crop: Crop, cells: int) -> Iterator[Sowing]:
    """A crop's lines: one, or one for each time between the days on which a sowing is lost in a long closing."""
    weekday = _sowing_day(scenario, crop)
    number = 0
    for first, last in _seasons(scenario, crop):
        if first is not None and last is not None and not _has(weekday, first, last):
            continue
        number += 1
        name = crop.name if number == 1 else f"{crop.name[:56]} {number}"
        yield Sowing(
            name=name, crop=crop.name, cells=cells, weekday=weekday, from_date=first, until_date=last, source=SOURCE
        )


def _seasons(scenario: Scenario, crop: Crop) -> list[tuple[dt.date | None, dt.date | None]]:
    """First and last day of each time in which no sowing is lost in a long closing; None: no bound."""
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    lost = sorted(
        days
        for first, last in closings(scenario)
        if (last - first).days + 1 >= MANY_DAYS
        for days in lost_sowings(scenario, calendar, crop, first, last)
    )
    starts = [None, *(end + _DAY for _, end in lost)]
    ends = [*(begin - _DAY for begin, _ in lost), None]
    return [(a, b) for a, b in zip(starts, ends, strict=True) if a is None or b is None or a <= b]


def _has(weekday: Weekday, first: dt.date, last: dt.date) -> bool:
    return (first + _DAY * ((WEEKDAYS.index(weekday) - first.weekday()) % 7)) <= last


def _sowing_day(scenario: Scenario, crop: Crop) -> Weekday:
    """The shift day from which the harvest days meet the crop ripe and not overgrown, a day to spare on either side;
    among such the one from which partners get it freshest, then the first of the week."""
    days = sorted({WEEKDAYS.index(shift.weekday) for shift in scenario.crew.shifts})
    ripe = crop.typical_days * min(1.0, math.sqrt(crop.harvest_from_mass_fraction))

    def missed(day: int) -> tuple[float, float]:
        best = (math.inf, math.inf)
        for weekday in scenario.harvest.weekdays:
            harvest = WEEKDAYS.index(weekday)
            waits = (harvest - day - ripe) % 7.0
            spare = min(waits, crop.overgrown_after_days - waits, 1.0)
            best = min(best, (-spare, waits + _days_to_pick_up(scenario.partners, crop, harvest)))
        return best

    return WEEKDAYS[min(days, key=missed)]


def _days_to_pick_up(partners: Sequence[Partner], crop: Crop, harvest: int) -> int:
    """Days from a harvest day to the next pick-up of the crop."""
    waits = [
        (WEEKDAYS.index(partner.weekday) - harvest) % 7
        for partner in partners
        if any(order.crop in (crop.name, ANY_CROP) for order in partner.orders)
    ]
    return min(waits, default=0)
