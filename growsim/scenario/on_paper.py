"""The room on paper: slots, plants, kilograms and hours a week if every plan is kept and every chance is its mean.

Plain averages in steady state (Little's law: stock = flow x time); no clock, no luck. Used to tell the planner how
large the room is and whether a promise is thinkable at all; the rehearsal says what really comes of it.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
from dataclasses import dataclass

from growsim.scenario.crop import Crop, Stage
from growsim.scenario.demand import Sowing
from growsim.scenario.place import Shelves, Tray
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS


@dataclass(frozen=True)
class Weekly:
    """One line of the sowing plan on paper, averaged over its weeks: what goes in, what comes out."""

    crop: Crop
    cells: float
    plants: float
    kg: float


def trays_by_name(scenario: Scenario) -> dict[str, Tray]:
    """Kinds of tray by name."""
    return {tray.name: tray for tray in scenario.trays}


def crops_by_name(scenario: Scenario) -> dict[str, Crop]:
    """Crops by name."""
    return {crop.name: crop for crop in scenario.crops}


def shelf_groups(scenario: Scenario) -> list[Shelves]:
    """All groups of shelves of all racks."""
    return [group for rack in scenario.racks for group in rack.shelves]


def slots_for(scenario: Scenario, stage: Stage) -> int:
    """Slots in which a tray of this stage may stand."""
    tray = trays_by_name(scenario)[stage.tray]
    return sum(g.total_slots for g in shelf_groups(scenario) if stage.name in g.stages and g.fits(tray))


def emergence_at(crop: Crop, temperature_c: float) -> tuple[float, float]:
    """Days to germinate and relative share germinating at a temperature."""
    return crop.emergence.at(temperature_c)


def filled_fraction(crop: Crop, temperature_c: float) -> float:
    """Share of cells in which at least one seed germinates: 1 - (1 - p)^n; every one that is harvested whole."""
    if crop.is_cut_whole:
        return 1.0
    p = min(1.0, crop.germination_fraction.expected() * emergence_at(crop, temperature_c)[1])
    return float(1.0 - (1.0 - p) ** crop.seeds_per_cell)


def plants_by_stage(crop: Crop, cells: float, temperature_c: float) -> list[tuple[Stage, float]]:
    """Plants of one sowing in each stage, first to last; the first counts its cells, filled or not."""
    found = []
    plants = cells
    for i, stage in enumerate(crop.stages_in_order()):
        if i == 1:
            plants *= filled_fraction(crop, temperature_c)
        if i > 0:
            plants *= 1.0 - stage.loss_fraction.expected()
        found.append((stage, plants))
    return found


def plants_harvested(crop: Crop, cells: float, temperature_c: float) -> float:
    """Plants of one sowing that reach the knife."""
    plants = plants_by_stage(crop, cells, temperature_c)[-1][1]
    return plants * filled_fraction(crop, temperature_c) if len(crop.stages) == 1 else plants


def kg_of_plants(crop: Crop, plants: float) -> float:
    """Packed kilograms of so many plants over all their harvests."""
    later_cuts = crop.regrowth_mass_fraction * (crop.harvests - 1)
    return plants * crop.typical_mass_g.expected() * (1.0 + later_cuts) * (1.0 - crop.trimmed_fraction) / 1000.0


def cells_for(crop: Crop, kg: float, temperature_c: float) -> int:
    """Cells to sow for so many packed kilograms, all harvests of a plant counted."""
    return math.ceil(kg / kg_of_plants(crop, plants_harvested(crop, 1.0, temperature_c)) - 1e-9)


def share_of_days(
    scenario: Scenario,
    months: tuple[int, ...],
    since: dt.date | None = None,
    until: dt.date | None = None,
    *,
    sooner: float = 0.0,
) -> float:
    """Share of the days counted that lie in the months named (empty: all twelve) and between two dates, both with them.

    sooner: days by which the days looked at lie before those counted.
    """
    start = scenario.room.start_date - dt.timedelta(days=round(sooner))
    end = start + dt.timedelta(days=scenario.rehearsal.days - 1)
    day, last = max(start, since or start), min(end, until or end)
    inside = 0
    while day <= last:
        of_month = calendar.monthrange(day.year, day.month)[1]
        month_ends = min(last, day.replace(day=of_month))
        if not months or day.month in months:
            inside += (month_ends - day).days + 1
        day = month_ends + dt.timedelta(days=1)
    return inside / scenario.rehearsal.days


def sowings_per_week(scenario: Scenario, line: Sowing, *, harvested: bool = False) -> float:
    """How often a line of the plan is sown, averaged over the days counted; a line with dates only in its time.

    harvested: of sowings that are harvested in the days counted.
    """
    if 7 * line.first_week >= scenario.rehearsal.warm_up_days + scenario.rehearsal.days:  # not within the days lived
        return 0.0
    sooner = crops_by_name(scenario)[line.crop].typical_days if harvested else 0.0
    return share_of_days(scenario, line.months, line.from_date, line.until_date, sooner=sooner) / line.every_weeks


def weekly_plan(scenario: Scenario) -> list[Weekly]:
    """What each line of the sowing plan puts in and gives in an average week."""
    crops, temperature = crops_by_name(scenario), scenario.climate.air_temperature_c
    weekly = []
    for line in scenario.sowing:
        crop, often = crops[line.crop], sowings_per_week(scenario, line, harvested=True)
        plants = plants_harvested(crop, line.cells, temperature) * often
        weekly.append(Weekly(crop, line.cells * sowings_per_week(scenario, line), plants, kg_of_plants(crop, plants)))
    return weekly


def stage_days(crop: Crop, stage: Stage) -> float:
    """Days a tray of this stage holds its slot; the last stage also waits for the later harvests."""
    last = stage.name == crop.stages_in_order()[-1].name
    return stage.days + ((crop.harvests - 1) * crop.regrowth_days if last else 0.0)


def slots_wanted(scenario: Scenario) -> dict[tuple[str, str], float]:
    """Slots in use on average by (stage, tray), if every tray moves on its day."""
    crops, trays = crops_by_name(scenario), trays_by_name(scenario)
    wanted: dict[tuple[str, str], float] = {}
    for line in scenario.sowing:
        crop = crops[line.crop]
        for stage, plants in plants_by_stage(crop, line.cells, scenario.climate.air_temperature_c):
            full = math.ceil(plants / trays[stage.tray].places - 1e-9)
            key = (stage.name, stage.tray)
            in_use = full * stage_days(crop, stage) * sowings_per_week(scenario, line) / 7.0
            wanted[key] = wanted.get(key, 0.0) + in_use
    return wanted


def plants_standing(scenario: Scenario) -> float:
    """Plants (cells, in the first stage) in the room on average, by Little's law."""
    crops, temperature = crops_by_name(scenario), scenario.climate.air_temperature_c
    return math.fsum(
        plants * stage_days(crops[line.crop], stage) * sowings_per_week(scenario, line) / 7.0
        for line in scenario.sowing
        for stage, plants in plants_by_stage(crops[line.crop], line.cells, temperature)
    )


def plants_that_fit(scenario: Scenario) -> tuple[int, int]:
    """Most seedlings (first stages) and most grown plants (last stages) that the slots can hold at a time."""
    trays = trays_by_name(scenario)
    lines = [crop.stages_in_order() for crop in scenario.crops]

    def most(stages: list[Stage]) -> int:
        total = 0
        for group in shelf_groups(scenario):
            places = [trays[s.tray].places for s in stages if s.name in group.stages and group.fits(trays[s.tray])]
            total += group.total_slots * max(places, default=0)
        return total

    return most([line[0] for line in lines]), most([line[-1] for line in lines])


def crew_hours_per_week(scenario: Scenario) -> float:
    """Labor hours in an average week: volunteers who come, as many as the room holds, and leads."""
    crew = scenario.crew
    total = 0.0
    for shift in crew.shifts:
        for month, chance in enumerate(crew.chance_of_coming):
            if shift.is_held(month):
                come = shift.signed_up(month) * chance + shift.lead
                total += min(come, scenario.room.people_at_once) * shift.hours / 12.0
    return total


def work_hours_per_week(scenario: Scenario) -> float:
    """Hours of work that the plan asks for in an average week, at a practiced pace."""
    return math.fsum(hours_by_weekday(scenario))


def hours_by_weekday(scenario: Scenario) -> tuple[float, ...]:
    """Hours of work a week, at a practiced pace, by the weekday on which it falls due (Monday first).

    Every plan is kept: a tray moves on its day, a lot is harvested on the first harvest day after it is ripe.
    """
    minutes = [0.0] * 7
    tasks = {str(task.name): task for task in scenario.crew.tasks}

    def add(task: str, day: int, units: float, often: float, crop: str = "", jobs: float = 1.0) -> None:
        if units > 0 and task in tasks:
            here = tasks[task].on(crop)
            fixed, each = here.fixed_minutes.expected(), here.minutes_per_unit.expected()
            minutes[day % 7] += (fixed * jobs + each * units) * often

    crops, trays = crops_by_name(scenario), trays_by_name(scenario)
    temperature = scenario.climate.air_temperature_c
    cutting = [WEEKDAYS.index(day) for day in scenario.harvest.weekdays]
    for line in scenario.sowing:
        crop, often = crops[line.crop], sowings_per_week(scenario, line)
        sown = WEEKDAYS.index(line.weekday)
        stages = plants_by_stage(crop, line.cells, temperature)
        add("sow", sown, line.cells, often, crop.name)
        days_up, _ = emergence_at(crop, temperature)
        add("thin", sown + round(days_up), _to_thin(crop, temperature) * line.cells, often, crop.name)
        day = sown
        for (_, plants), (before, plants_before) in zip(stages[1:], stages, strict=False):
            day += round(before.days)
            add("transplant", day, plants, often, crop.name)
            if crop.sown_by != "tray":  # which is carried as it is
                add("wash", day, math.ceil(plants_before / trays[before.tray].places - 1e-9), often, crop.name)
        cut = plants_harvested(crop, line.cells, temperature)
        last = stages[-1][0]
        for number in range(crop.harvests):
            ripe = day + round(last.days + number * crop.regrowth_days)
            on = ripe + min((weekday - ripe) % 7 for weekday in cutting)
            add("harvest", on, cut, often, crop.name)
            add("pack", on, kg_of_plants(crop, cut) / crop.harvests, often, crop.name)
            if number == crop.harvests - 1:
                add("wash", on, math.ceil(cut / trays[last.tray].places - 1e-9), often, crop.name)
    by_hand = sum(reservoir.top_up == "by hand" for reservoir in scenario.reservoirs)
    for day in {WEEKDAYS.index(shift.weekday) for shift in scenario.crew.shifts}:
        add("top up", day, by_hand, 1.0)
    for reservoir in scenario.reservoirs:
        if reservoir.change_every_weeks:
            add("change solution", scenario.room.start_date.weekday(), 1.0, 1.0 / reservoir.change_every_weeks)
    return tuple(total / 60.0 for total in minutes)


def _to_thin(crop: Crop, temperature: float) -> float:
    """Seedlings to pull from a cell."""
    if crop.is_cut_whole:
        return 0.0
    up = crop.seeds_per_cell * crop.germination_fraction.expected() * emergence_at(crop, temperature)[1]
    return max(0.0, up - filled_fraction(crop, temperature))
