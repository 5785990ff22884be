"""How large a room is on paper: the figures and sentences of `growsim check`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.scenario import on_paper
from growsim.scenario.checks.promises import ordered_kg_per_week
from growsim.scenario.crop import Crop
from growsim.scenario.promised_plan import SPARE
from growsim.scenario.scenario import Scenario
from growsim.units import GRAMS_PER_KG, amount, mass_text, unit


@dataclass(frozen=True)
class Size:
    """A room in numbers. Everything by the week is an average over the year if every plan is kept. sown_per_week: by
    what is sown as one (cell, pot, tray).

    plants_harvested_per_week counts a plant once, harvest_days_per_week as often as it is harvested.
    """

    racks: int
    shelves: int
    slots: int
    growing_area_m2: float
    slots_in_use: float
    plants_standing: float
    grown_plants_that_fit: int
    sown_per_week: dict[str, float]
    plants_harvested_per_week: float
    harvest_days_per_week: float
    kg_per_week: float
    kg_ordered_per_week: float
    shifts_per_week: int
    crew_hours_per_week: float
    work_hours_per_week: float


def size_of(scenario: Scenario) -> Size:
    """The room's size on paper."""
    groups, weekly = on_paper.shelf_groups(scenario), on_paper.weekly_plan(scenario)
    return Size(
        racks=len(scenario.racks),
        shelves=sum(group.count for group in groups),
        slots=sum(group.total_slots for group in groups),
        growing_area_m2=math.fsum(rack.area_m2 for rack in scenario.racks),
        slots_in_use=math.fsum(on_paper.slots_wanted(scenario).values()),
        plants_standing=on_paper.plants_standing(scenario),
        grown_plants_that_fit=on_paper.plants_that_fit(scenario)[1],
        sown_per_week={
            unit: math.fsum(line.cells for line in weekly if line.crop.sown_unit == unit)
            for unit in dict.fromkeys(line.crop.sown_unit for line in weekly)
        },
        plants_harvested_per_week=math.fsum(line.plants for line in weekly),
        harvest_days_per_week=math.fsum(line.plants * line.crop.harvests for line in weekly),
        kg_per_week=math.fsum(line.kg for line in weekly),
        kg_ordered_per_week=math.fsum(ordered_kg_per_week(scenario).values()),
        shifts_per_week=len(scenario.crew.shifts),
        crew_hours_per_week=on_paper.crew_hours_per_week(scenario),
        work_hours_per_week=on_paper.work_hours_per_week(scenario),
    )


def sown_for(scenario: Scenario, crop: Crop, kg: float) -> str:
    """How many plants of a crop so many kilograms are, and how many cells a week that takes: "5.0 kg of basil is about
    46 plants of 110 g: sow about 60 cells a week, a tenth to spare"."""
    cells = on_paper.cells_for(crop, kg * SPARE, scenario.climate.air_temperature_c)
    each = on_paper.kg_of_plants(crop, 1.0) * GRAMS_PER_KG
    plants = f"{kg * GRAMS_PER_KG / each:.0f} {crop.unit}s"
    weight = f"{amount(each, 'g'):.3g} {unit('g')}" + (f" in all {crop.harvests} harvests" if crop.harvests > 1 else "")
    sow = f"sow about {cells} {crop.sown_unit}s a week, a tenth to spare"
    return f"{mass_text(kg)} of {crop.name} is about {plants} of {weight}: {sow}"


def sown_for_promises(scenario: Scenario) -> list[str]:
    """For each crop that is promised by its name, how many cells a week it takes, and how many the plan has."""
    crops, weekly = on_paper.crops_by_name(scenario), on_paper.weekly_plan(scenario)
    found = []
    for name, kg in ordered_kg_per_week(scenario).items():
        if name not in crops or kg <= 0:
            continue
        today = math.fsum(line.cells for line in weekly if line.crop.name == name)
        found.append(f"{sown_for(scenario, crops[name], kg)}; the plan has {today:.0f}.")
    return found


def paces_stated(scenario: Scenario) -> tuple[str, ...]:
    """Crops whose pace of growth is written down, so that their days and mass no longer tell it."""
    return tuple(crop.name for crop in scenario.crops if crop.growth_rate is not None)


def size_sentences(name: str, size: Size, paced: Sequence[str] = ()) -> list[str]:
    """The answer of `growsim check`: first that the room is sound, then its size. paced: crops of `paces_stated`."""
    is_whole = size.shifts_per_week > 0 and any(size.sown_per_week.values())  # see checks/all.py
    sown = " and ".join(f"{many:,.0f} {unit}s" for unit, many in size.sown_per_week.items())
    cuttings = f"{size.harvest_days_per_week:,.0f}"
    again = (
        ""
        if cuttings == f"{size.plants_harvested_per_week:,.0f}"
        else f" (some of them harvested again: {cuttings} harvests)"
    )
    return [
        f"{name}: the description is complete and possible."
        if is_whole
        else f"{name}: the description is possible, but not complete: it cannot be rehearsed yet.",
        f"Room: {_count(size.racks, 'rack')}, {_count(size.shelves, 'shelf', 'shelves')}, {_count(size.slots, 'slot')} "
        f"for trays, {amount(size.growing_area_m2, 'm²'):,.1f} {unit('m²')} to grow on; "
        f"the slots hold up to {size.grown_plants_that_fit:,} "
        "plants in the last stage before harvest.",
        f"Plan, if every step is kept: {sown or 'nothing'} sown a week, about "
        f"{size.plants_standing:,.0f} plants standing at once on {size.slots_in_use:.0f} of the slots. A week "
        f"gives {size.plants_harvested_per_week:,.0f} plants{again} and {mass_text(size.kg_per_week)} of greens.",
        f"Promises: {mass_text(size.kg_ordered_per_week)} a week to partners.",
        f"Crew: {_count(size.shifts_per_week, 'shift')}, about {size.crew_hours_per_week:.0f} labor hours a week; "
        f"the plan asks for {size.work_hours_per_week:.0f} hours of practiced people.",
        *([_pace(paced)] if paced else ()),
        "These are plain sums, every crop harvested on its typical day at its typical mass, nothing by chance. "
        "`growsim rehearse` says what comes of it.",
    ]


def _pace(paced: Sequence[str]) -> str:
    one = len(paced) == 1
    named = " and ".join(each for each in (", ".join(paced[:-1]), paced[-1]) if each)
    return (
        f"Pace: how fast {named} {'grows' if one else 'grow'} is written down (growth_rate), so other days or another "
        f"typical mass would not change it. Take growth_rate out of {'it' if one else 'them'} to have the pace "
        "found from days and mass again."
    )


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number:,} {one if number == 1 else many or one + 's'}"
