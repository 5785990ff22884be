"""What stood on the shelves on a day, by the table of trays: sowings not yet cut for the last time."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from growsim.growth.germination import days_to_emerge
from growsim.spec import on_paper
from growsim.spec.crop import Crop
from growsim.spec.placing import place
from growsim.spec.plan import ShelfLot
from growsim.spec.records import TrayRow
from growsim.spec.scenario import Scenario


def shelves_on(day: dt.date, trays: Sequence[TrayRow], scenario: Scenario) -> tuple[ShelfLot, ...]:
    """Lots that stand there on the morning of `day`, as a shelves file would have them; nothing of later days is used.

    Plants are those that came up less those known lost, or the cells sown while nothing is up. A sowing that ought to
    have been cut long ago, and of which no cut is written, is taken as gone. Trays for which the room has no slot are
    left out.
    """
    crops = {crop.name: crop for crop in scenario.crops}
    sowings: dict[tuple[dt.date, str], list[TrayRow]] = defaultdict(list)
    for row in trays:
        if row.sown < day:
            sowings[row.sown, row.crop].append(row)
    lots: list[ShelfLot] = []
    for (sown, name), rows in sorted(sowings.items()):
        lots += _lots(day, sown, crops[name], rows, scenario)
    placing = place(lots, scenario)
    places = {tray.name: tray.places for tray in scenario.trays}
    fitting = []
    for lot, left_over in zip(lots, placing.left_over, strict=True):
        stage = next(stage for stage in crops[lot.crop].stages if stage.name == lot.stage)
        plants = (
            lot.plants if not left_over else (-(-lot.plants // places[stage.tray]) - left_over) * places[stage.tray]
        )
        if plants > 0:
            fitting.append(replace(lot, plants=min(plants, lot.plants)))
    return tuple(fitting)


def _lots(day: dt.date, sown: dt.date, crop: Crop, rows: Sequence[TrayRow], scenario: Scenario) -> list[ShelfLot]:
    """The sowings of one crop on one day: plants not cut yet, and plants cut but not for the last time."""
    age = (day - sown).days
    found: list[ShelfLot] = []
    standing = 0
    for row in rows:
        if row.cells and row.cut is None and row.cut_number == 1:
            standing += _plants(row, age, crop, scenario)
        elif row.cells and row.emerged is not None and row.cut_number == 1:  # cut in several goes: what is left
            standing += row.emerged - (row.lost or 0)
    standing -= sum(row.plants or 0 for row in rows if row.cut is not None and row.cut_number == 1)
    if standing > 0 and age <= crop.typical_days * 1.3 + crop.overgrown_after_days:
        found.append(ShelfLot(f"{sown} {crop.name}", crop.name, _stage(crop, rows, age), age, standing))
    cuts = max((row.cut_number for row in rows if row.cut is not None), default=0)
    if 0 < cuts < crop.cuts:
        last = max(row.cut for row in rows if row.cut is not None and row.cut_number == cuts)
        plants = sum(row.plants or 0 for row in rows if row.cut is not None and row.cut_number == cuts)
        if plants > 0 and (day - last).days <= crop.regrowth_days * 1.3 + crop.overgrown_after_days:
            stage = crop.stages_in_order()[-1].name
            found.append(ShelfLot(f"{sown} {crop.name} again", crop.name, stage, age, plants, cuts=cuts))
    return found


def _plants(row: TrayRow, age: int, crop: Crop, scenario: Scenario) -> int:
    table = crop.emergence
    temperature = scenario.climate.air_temperature_c
    cells = row.cells or 0
    if age < days_to_emerge(temperature, table.temperature_c, table.days) + 0.5:
        return cells
    if row.emerged is not None:
        return max(0, row.emerged - (row.lost or 0))
    return round(cells * on_paper.filled_fraction(crop, temperature))


def _stage(crop: Crop, rows: Sequence[TrayRow], age: int) -> str:
    """The stage it stands in: moved as written, or as planned for a later move of which nothing is written."""
    stages = crop.stages_in_order()
    moved = any(row.moved is not None for row in rows)
    again = any(row.moved_again is not None for row in rows) and len(stages) > 2
    if len(stages) == 1 or not (moved or again):
        return stages[0].name
    planned, index = stages[0].days, 2 if again else 1
    for number, stage in enumerate(stages[1:-1], start=1):
        planned += stage.days
        if age > planned:
            index = max(index, number + 1)
    return stages[index].name
