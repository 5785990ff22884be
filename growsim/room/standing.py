"""Plants that stand on the shelves already when the rehearsal begins (start from a shelves file)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim.growth.germination import days_to_emerge
from growsim.ledger.events import Found
from growsim.room.lot import grow_on
from growsim.room.part import Stand

if TYPE_CHECKING:
    from growsim.room.model import RoomHere
    from growsim.room.shelves import Grant
    from growsim.spec.crop import Crop
    from growsim.spec.plan import ShelfLot


def stand_already(room: RoomHere, found: ShelfLot) -> None:
    """Put plants from a shelves file where they stand, as big as the plan says they should be by now."""
    crop = room.crops[found.crop]
    stages = room.stages(crop)
    index = next(number for number, stage in enumerate(stages) if stage.name == found.stage)
    stage, tray = stages[index], room.trays[stages[index].tray]
    lot = room.born(f"on the shelves/{found.lot}", crop, room.clock.now - found.days_since_sowing * 1440)
    plants = found.plants

    def granted(grant: Grant) -> None:
        nonlocal plants
        for bay, trays in grant:
            here = min(plants, trays * tray.places)
            plants -= here
            part = room.new_part(lot, Stand(bay, room.racks[bay.rack], stage.name, tray, trays))
            part.plants = part.stood = here
            part.stand.settle_in(here)
            room.stand_on_rack(part, planned_dry_g(room, crop, index, found.days_since_sowing, bay.rack))
            room.book.write(Found(room.clock.now, lot.name, part.number, crop.name, here, stage.name, bay.rack))
            room.clock.env.process(grow_on(room, part, index + 1))

    trays = math.ceil(plants / tray.places)
    room.shelves.ask(stage.name, stage.tray, trays, room.clock.now, granted, only_rack=found.rack)


def planned_dry_g(room: RoomHere, crop: Crop, index: int, days_since_sowing: float, rack: str) -> float:
    """Dry mass (g) of a plant that many days after sowing, had every move been on its day (set-point curves)."""
    table = crop.emergence
    not_up = days_to_emerge(room.scenario.climate.air_temperature_c, table.temperature_c, table.days)
    left = max(0.0, days_since_sowing - not_up)
    dry_g = room.curves.seedling_dry_g[crop.name]
    for number, stage in enumerate(room.stages(crop)[: index + 1]):
        days_here = max(0.0, stage.days - not_up)
        not_up = max(0.0, not_up - stage.days)
        grown = left if number == index else min(days_here, left)
        curve = room.curve_for(crop, stage, rack)
        dry_g = curve.dry_g(curve.age_days(dry_g) + grown)
        left -= grown
    return dry_g
