"""Plants that stand on the shelves already when the rehearsal begins (start from a shelves file).

What the plan would have sown in the six days before, and of which nothing stands, is still to be sown.

What the file cannot say is taken so: sown as the first shift of that day began, and planned for the last day that the
plan has for it in the six days up to then; moved as the first shift on the planned day or after it began, or by chance
as the second did; harvested on the first harvest day that found it ripe; in air and light at the set-points. A lot's
own luck is at work in its past too: one that grows slowly is smaller today than the plan has it and was harvested
later, or ripeness to come would look more certain than it is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from growsim.growth.germination import days_to_emerge
from growsim.ledger.events import Found
from growsim.room.inside import A_MOMENT_DAYS
from growsim.room.lot import SOWING_WAITS_MINUTES, come_up, grow_on, pull_extra_seedlings
from growsim.room.part import Stand
from growsim.scenario.calendar import minute_of
from growsim.scenario.placing import place
from growsim.vocabulary.days import WEEKDAYS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from growsim.room.inside import Inside
    from growsim.room.lot import Life
    from growsim.room.part import Lot, Part
    from growsim.scenario.demand import Sowing
    from growsim.scenario.plan import ShelfLot, StoredGreens

NOON: Final = 12.0
MOVED_LATE: Final = 1 / 6
"""Share of moves that wait for the second shift: 0 and 27 % of those of the tiny room's crops; else no source."""


def stand_already(room: Inside, lots: Sequence[ShelfLot]) -> None:
    """Put the plants of a shelves file where they stand. Raises ValueError where they do not all fit."""
    placing = place(lots, room.scenario)
    if any(placing.left_over):
        raise ValueError("the plants of the shelves file do not fit the shelves")
    for found, standing in zip(lots, placing.standing, strict=True):
        crop = room.crops[found.crop]
        stages = room.stages[found.crop]
        index = next(number for number, stage in enumerate(stages) if stage.name == found.stage)
        tray = stages[index].tray
        day = -found.days_since_sowing
        lot = room.born(f"on the shelves/{found.lot}", crop, _planned_day(room, found.crop, day) * 1440)
        left = found.plants
        for group, trays in standing:
            bay = room.shelves.bays[group]
            room.shelves.take(bay, found.stage, trays)
            part = room.new_part(lot, Stand(bay, room.racks[bay.rack], found.stage, tray, trays))
            part.sown_minute = minute_of(day, sowing_hour(room, day))
            here = min(left, trays * tray.places)
            left -= here
            room.clock.live(_begin(room, part, here, index, found.harvests))


def _planned_day(room: Inside, crop: str, day: int) -> int:
    """Day on which what was sown that day fell due: the last one of the plan, if it still could be sown; else the day
    itself."""
    calendar, waited = room.calendar, []
    for line in room.scenario.sowing:
        late = (day - calendar.first_on(line.weekday, 0) - 7 * line.first_week) % (7 * line.every_weeks)
        if line.crop == crop and late * 1440 < SOWING_WAITS_MINUTES and line.is_in_season(calendar.date(day - late)):
            waited.append(late)
    return day - min(waited, default=0)


def still_to_sow(due: Sequence[tuple[int, Sowing]], lots: Sequence[ShelfLot]) -> list[tuple[int, Sowing]]:
    """Of sowings that fell due on (day, line) before day 0: those of which nothing stands, and that may still be sown.

    Of a crop the oldest sowing due takes from the oldest sown since, as many as it has cells; one that finds any is
    done.
    """
    standing = sorted(lots, key=lambda lot: -lot.days_since_sowing)
    left = [lot.plants for lot in standing]
    missing = []
    for day, line in sorted(due, key=lambda each: each[0]):
        if day * 1440 + SOWING_WAITS_MINUTES <= 0 or day >= 0:
            continue
        wanted = line.cells
        for row, lot in enumerate(standing):
            if lot.crop == line.crop and -lot.days_since_sowing >= day:
                taken = min(wanted, left[row])
                left[row] -= taken
                wanted -= taken
        if wanted == line.cells:
            missing.append((day, line))
    return missing


def lie_already(room: Inside, greens: Sequence[StoredGreens]) -> None:
    """Put greens harvested before the start into the cooler."""
    for found in greens:
        name = f"in the cooler/{found.lot}"
        room.cooler.hold(name, found.crop, found.grams, minute_of(-found.days_since_harvest, NOON))


def _begin(room: Inside, part: Part, plants: int, index: int, harvests: int) -> Life:
    """Set the part up as it stands today; gives its life from here on."""
    lot, crop, stand, now = part.lot, part.lot.crop, part.stand, room.clock.now
    table = crop.emergence
    up_after = days_to_emerge(room.scenario.climate.air_temperature_c, table.temperature_c, table.days)
    up_minute = part.sown_minute + up_after * 1440.0
    is_up = index > 0 or now >= up_minute
    if is_up:
        if crop.is_cut_whole:
            part.thickness = lot.germination / crop.germination_fraction.expected()
        part.plants = part.stood = plants
        stand.settle_in(plants)
        room.stand_on_rack(part, dry_g_by_now(room, lot, index, up_minute, stand.bay.rack))
    else:
        part.seeds = plants * crop.seeds_counted
    if harvests:
        part.already_harvested = True
        part.set_age(age_regrown(room, part, harvests), now)
    if is_up:
        part.begin_weighing()
    count = part.plants + part.seeds
    room.book.write(Found(now, lot.name, part.number, crop.name, count, stand.stage, stand.bay.rack, bool(harvests)))
    return grow_on(room, part, index + 1, harvests=harvests) if is_up else _from_seed(room, part, plants)


def age_regrown(room: Inside, part: Part, harvests: int) -> float:
    """Age (days on its curve) of a part harvested so often, from its age had it never been: each time on the first
    harvest day that found it ripe. On the last harvest day before today it was not ripe again, or it had been harvested
    once more."""
    now, growth, age = room.clock.now / 1440.0, part.lot.growth, part.age(room.clock.now)
    ripe_age, _ = room.ripe_ages(part)
    latest = _harvest_day(room, -1, -1)
    for _ in range(harvests):
        ripe_day = math.ceil(now - (age - ripe_age) / growth)
        day = latest if ripe_day > latest else _harvest_day(room, ripe_day, 1)
        since = max(0.0, now - minute_of(day, sowing_hour(room, day)) / 1440.0)
        age = room.age_after_cut(part) + growth * since
    return min(age, ripe_age + growth * (now - latest) - A_MOMENT_DAYS)


def _harvest_day(room: Inside, day: int, step: int) -> int:
    """The next harvest day from that one on, or the last one up to it (step -1)."""
    while not room.is_harvest_morning(day * 1440):
        day += step
    return day


def _from_seed(room: Inside, part: Part, cells: int) -> Life:
    """Seeds that are in their cells already."""
    yield from come_up(room, part, cells)
    pull_extra_seedlings(room, part)
    yield from grow_on(room, part, 1)


def sowing_hour(room: Inside, day: int) -> float:
    """When seeds went in that day: as its first shift began, or at noon where there was none."""
    weekday = WEEKDAYS[room.calendar.weekday(day)]
    return min((shift.start_hour for shift in room.scenario.crew.shifts if shift.weekday == weekday), default=NOON)


def moved_minute(room: Inside, due: int, *, is_late: bool) -> int:
    """When a move due at that minute was made: as the next shift began, or the one after it; at once where none came
    for two weeks."""
    days = [day for day in range(due // 1440, due // 1440 + 14) if room.rota.has_shift(day)][: 1 + is_late]
    return minute_of(days[-1], sowing_hour(room, days[-1])) if days else due


def dry_g_by_now(room: Inside, lot: Lot, index: int, up_minute: float, rack: str) -> float:
    """Dry mass (g) of a plant that germinated at that minute, had every move been made in time (set-point curves).

    It grew through earlier stages under the lights of a rack that may hold them: its own where it may.
    """
    since, due, moves = up_minute, float(lot.sow_minute), room.luck.stream(f"moves.{lot.name}")
    dry_g = room.curves.seedling_dry_g[lot.crop.name]
    for number, stage in enumerate(lot.stages[: index + 1]):
        due += stage.days * 1440.0
        moved = moved_minute(room, round(due), is_late=moves.random() < MOVED_LATE)
        until = room.clock.now if number == index else min(room.clock.now, moved)
        racks = [bay.rack for tier in room.shelves.tiers(stage.name, stage.tray.name) for bay in tier]
        curve = room.curve_for(lot.crop, stage, rack if rack in racks or not racks else racks[0])
        dry_g = curve.dry_g(curve.age_days(dry_g) + lot.growth * max(0.0, until - since) / 1440.0)
        since = max(since, float(until))
    return dry_g
