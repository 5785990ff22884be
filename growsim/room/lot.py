"""The life of a lot, from seed to harvest. Read top-down it is the month: sow, germinate, thin, move, ripen, harvest,
clear away.

All cells of one crop sown in one go are a lot. Its plants may come to stand apart (a rack is full, only some could be
moved); each such part lives on by itself through the same text.
"""

from __future__ import annotations

import math
from collections.abc import Generator
from typing import TYPE_CHECKING, Any, Final

from growsim.growth.germination import minutes_to_emerge, relative_emergence, seedlings_per_cell
from growsim.growth.harvest import share_and_mean_above
from growsim.ledger.events import Germinated, Harvested, SowingSkipped, Sown, Transplanted, Waiting
from growsim.room.part import Lot, Part, Stand
from growsim.scenario.calendar import day_of
from growsim.vocabulary.losses import NO_ROOM, NOT_EMERGED, OVERGROWN, THINNED, TOO_SMALL, TRANSPLANTING
from growsim.vocabulary.obstacles import CLOSED, NO_SLOT

if TYPE_CHECKING:
    from growsim.chance.streams import Stream
    from growsim.room.clock import Moment
    from growsim.room.crops_here import StageHere
    from growsim.room.inside import Inside
    from growsim.room.shelves import Bay, Grant

Life = Generator[Any, Any, None]
SOWING_WAITS_MINUTES: Final = 6 * 1440  # a sowing that finds no slot, or nobody to sow it, for so long is skipped


def sow(room: Inside, lot: Lot, cells: int) -> None:
    """A sowing falls due: ask for slots for its sheets; whatever gets slots is sown, the rest waits, then is
    skipped."""
    first = lot.stages[0]
    trays = math.ceil(cells / first.places)
    deadline = lot.sow_minute + SOWING_WAITS_MINUTES
    room.shelves.ask(
        first.name, first.tray.name, trays, deadline, lambda grant: begin(room, lot, cells, grant),
        since=lot.sow_minute, is_sowing=True,
    )  # fmt: skip


def begin(room: Inside, lot: Lot, cells: int, grant: Grant) -> None:
    """Slots are given: each lot of sheets on its rack is a part, whose life begins. What got none asks again."""
    first = lot.stages[0]
    if not grant:
        why = room.why_no_slot(first, math.ceil(cells / first.places))
        room.book.write(SowingSkipped(room.clock.now, lot.name, lot.crop_name, cells, why))
        return
    for bay, trays in grant:
        here = min(cells, trays * first.places)
        cells -= here
        part = room.new_part(lot, Stand(bay, room.racks[bay.rack], first.name, first.tray, trays))
        room.clock.live(life(room, part, here))
    if cells > 0:
        sow(room, lot, cells)


def life(room: Inside, part: Part, cells: int) -> Life:
    """From the sowing on."""
    sown = yield from sow_cells(room, part, cells)
    if sown:
        yield from come_up(room, part, cells)
        pull_extra_seedlings(room, part)
        yield from grow_on(room, part, 1)


def grow_on(room: Inside, part: Part, next_stage: int, slots: tuple[Bay, int] | None = None, harvests: int = 0) -> Life:
    """From standing in one stage, harvested so many times before, to the end; `slots` are those a part split off has
    got.
    """
    for index in range(next_stage, len(part.lot.stages)):
        if part.plants == 0:
            break
        yield from move(room, part, index, slots)
        slots = None
    for number in range(harvests + 1, part.lot.crop.harvests + 1):
        if part.plants == 0:
            break
        yield from ripen(room, part)
        if part.plants > 0:
            yield from cut(room, part, number)
    clear_away(room, part)


def sow_cells(room: Inside, part: Part, cells: int) -> Generator[Any, Any, bool]:
    """Seeds go into the cells, if somebody comes in time."""
    lot, stand, asked = part.lot, part.stand, room.clock.now
    done = yield room.tasks.work("sow", part, cells, lambda: lot.sow_minute + SOWING_WAITS_MINUTES)
    if not done:
        why = room.tasks.in_the_way("sow", asked, room.clock.now)
        room.book.write(SowingSkipped(room.clock.now, lot.name, lot.crop_name, cells, why))
        room.shelves.give_back(stand.bay, stand.stage, stand.trays)
        room.forget(part)
        return False
    part.sown_minute = room.clock.now
    part.seeds = cells * lot.crop.seeds_counted
    room.book.write(Sown(part.sown_minute, lot.name, part.number, lot.crop_name, cells, part.seeds, stand.bay.rack))
    return True


def come_up(room: Inside, part: Part, cells: int) -> Life:
    """Wait until they are up (warmth decides), then count: filled cells, extra seedlings, seeds that stayed away."""
    lot, crop, table = part.lot, part.lot.crop, part.lot.crop.emergence
    warmth_c = yield from wait_until_up(room, part)
    chance = lot.germination * relative_emergence(warmth_c, table.temperature_c, table.relative_fraction)
    if crop.is_cut_whole:
        part.thickness = min(1.0, chance) / max(room.usual_share[crop.name], 1e-9)
        counts = [0, cells] if chance > 0.0 else [cells, 0]
    else:
        luck = room.luck.stream(f"lot.{lot.name}.{part.number}.up")
        counts = cells_by_seedlings(luck, cells, min(1.0, chance), crop.seeds_per_cell)
    seedlings, filled = sum([number * count for number, count in enumerate(counts)]), cells - counts[0]
    stayed_away, part.seeds = part.seeds - seedlings, 0
    part.plants = part.stood = filled
    part.extra = seedlings - filled
    part.stand.settle_in(filled)
    now = room.clock.now
    room.book.write(Germinated(now, lot.name, part.number, lot.crop_name, filled, part.extra, stayed_away))
    if stayed_away:
        part.write_lost(now, stayed_away, NOT_EMERGED)
    if filled:
        room.stand_on_rack(part, room.curves.seedling_dry_g[lot.crop_name])
        part.begin_weighing()


def wait_until_up(room: Inside, part: Part) -> Generator[Any, Any, float]:
    """Sleep until the seedlings are up; gives the mean temperature (°C) they had. A cool spell makes them later."""
    table, air = part.lot.crop.emergence, room.air
    summed = air.degree_minutes(part.sown_minute)
    while True:
        passed = room.clock.now - part.sown_minute
        so_far = air.degree_minutes(room.clock.now) - summed
        minutes = minutes_to_emerge(passed, so_far, air.usual_c, table.temperature_c, table.days)
        if minutes <= passed:
            return so_far / passed
        yield room.clock.until(part.sown_minute + minutes, part.rank)


def cells_by_seedlings(luck: Stream, cells: int, chance: float, seeds_per_cell: int) -> list[int]:
    """How many cells have 0, 1, ... seeds_per_cell seedlings (multinomial, drawn one count after the other)."""
    counts, left, left_share = [], cells, 1.0
    for share in seedlings_per_cell(chance, seeds_per_cell)[:-1]:
        here = luck.binomial(left, min(1.0, share / left_share) if left_share > 0.0 else 0.0)
        counts.append(here)
        left -= here
        left_share -= share
    return [*counts, left]


def pull_extra_seedlings(room: Inside, part: Part) -> None:
    """Put the pulling of extra seedlings on the board; nothing waits for it (they come out at the latest when
    moved)."""

    def post() -> None:
        if part.extra > 0:
            part.thinning = room.tasks.post("thin", part, part.extra, lambda _: book_pulled(room, part))

    room.when_open(post)


def book_pulled(room: Inside, part: Part) -> None:
    """The extra seedlings are out; what nobody has in hand of the work on them is done too."""
    if part.extra > 0:
        part.write_lost(room.clock.now, part.extra, THINNED)
        part.extra = 0
        if part.thinning is not None:
            room.tasks.done_along(part.thinning)


def move(room: Inside, part: Part, index: int, slots: tuple[Bay, int] | None) -> Life:
    """Wait for the day, for slots, for people; then the plants stand in the next stage. What does not fit waits on."""
    lot = part.lot
    stage = lot.stages[index]
    due = lot.sow_minute + stage.due_minutes
    deadline = due + stage.latest_minutes
    if slots is None:
        opens = room.open_minute(due)
        if min(opens, deadline) > room.clock.now:
            yield asleep(room, part, min(opens, deadline))
        if part.plants == 0:
            return
        if opens > deadline:  # closed all the while
            part.lose(room.clock.now, part.plants, OVERGROWN, CLOSED.key)
            return
        slots = yield from find_slots(room, part, index, deadline)
        if slots is None:
            return
    bay, trays = slots
    asked = room.clock.now
    done = yield room.tasks.work("transplant", part, part.plants, lambda: deadline)
    book_pulled(room, part)
    if not done or part.plants == 0:
        room.shelves.give_back(bay, stage.name, trays)
        part.lose(room.clock.now, part.plants, OVERGROWN, why_not_moved(room, due, asked, room.clock.now))
        return
    luck = room.luck.stream(f"lot.{lot.name}.{part.number}.{stage.name}.handling")
    part.lose(room.clock.now, luck.binomial(part.plants, stage.handling_loss), TRANSPLANTING)
    step_over(room, part, stage, bay, trays, due, asked)


def find_slots(room: Inside, part: Part, index: int, deadline: int) -> Generator[Any, Any, tuple[Bay, int] | None]:
    """Slots for this part; parts are split off for slots on other racks, or for what fits now while the rest waits."""
    stage = part.lot.stages[index]
    places = stage.places
    since = room.clock.now
    while True:
        asked = room.clock.now
        trays_needed = math.ceil(part.plants / places)
        grant = room.slots_at_once(stage, trays_needed)
        if not grant:
            grant = yield room.slots_for(stage, trays_needed, deadline, since)
        waited = room.clock.now - asked
        if waited or not grant:
            room.book.write(
                Waiting(room.clock.now, part.lot.name, part.number, stage.name, part.plants, waited, bool(grant))
            )
        if part.plants == 0:
            for bay, trays in grant:
                room.shelves.give_back(bay, stage.name, trays)
            return None
        if not grant:
            part.lose(room.clock.now, part.plants, NO_ROOM, room.why_no_slot(stage, trays_needed))
            return None
        *others, (bay, trays) = grant
        for other in others:
            split_off(room, part, other[1] * places, index, other)
        if part.plants <= trays * places:
            return bay, trays
        split_off(room, part, trays * places, index, (bay, trays))


def split_off(room: Inside, part: Part, plants: int, index: int, slots: tuple[Bay, int]) -> None:
    """Some plants of a part live on by themselves from here, into slots they have been given."""
    room.clock.live(grow_on(room, room.split_off(part, plants), index, slots))


def why_not_moved(room: Inside, due: int, asked: int, until: int) -> str:
    """What kept plants that had slots from being transplanted; a closing counts where it put the work off."""
    opens = room.open_minute(due)
    return room.tasks.in_the_way("transplant", due if day_of(asked) == day_of(opens) else asked, until)


def step_over(room: Inside, part: Part, stage: StageHere, bay: Bay, trays: int, due: int, asked: int) -> None:
    """The plants leave their old trays (to be washed) for the new ones, at the same mass. A tray that was sown whole is
    carried as it is. asked: when it had slots."""
    now = room.clock.now
    dry_g = part.curve.dry_g(part.age(now))
    room.leave_rack(part, carried=part.plants if part.lot.crop.sown_by == "tray" else 0)
    if part.plants == 0:
        room.shelves.give_back(bay, stage.name, trays)
        return
    needed = math.ceil(part.plants / stage.places)
    if needed < trays:  # some died meanwhile
        room.shelves.give_back(bay, stage.name, trays - needed)
    part.stand = Stand(bay, room.racks[bay.rack], stage.name, stage.tray, needed)
    part.stand.settle_in(part.plants)
    part.stood = part.plants
    room.stand_on_rack(part, dry_g)
    opens = room.open_minute(due)
    late = max(0, day_of(now) - day_of(opens))
    if late:
        waited_for_slot = day_of(asked) > day_of(opens)
        part.held_up = NO_SLOT.key if waited_for_slot else why_not_moved(room, due, asked, midnight(now))
    room.book.write(
        Transplanted(
            now, part.lot.name, part.number, part.lot.crop_name, stage.name, part.plants, needed, bay.rack, late,
            part.held_up if late else "",
        )
    )  # fmt: skip


def ripen(room: Inside, part: Part) -> Life:
    """Sleep from harvest day to harvest day until the lot is ripe on one; overgrown plants are lost."""
    ripe_age, overgrown_age = room.ripe_ages(part)
    while part.plants > 0:
        now = room.clock.now
        age = part.age(now)
        if age >= overgrown_age:
            part.lose(now, part.plants, OVERGROWN, room.why_not_harvested(part, age - ripe_age, age - overgrown_age))
            return
        if age >= ripe_age and room.is_harvest_morning(now):
            part.cut_due_minute = now
            return
        yield asleep(room, part, room.next_look_for_ripeness(part, ripe_age, overgrown_age))


def cut(room: Inside, part: Part, number: int) -> Life:
    """Harvest the lot on its day, or lose it when nobody comes before it is overgrown."""
    lot, crop = part.lot, part.lot.crop
    _, overgrown_age = room.ripe_ages(part)
    done = yield room.tasks.work("harvest", part, part.plants, lambda: room.earliest_minute_of_age(part, overgrown_age))
    now = room.clock.now
    if not done:
        part.lose(now, part.plants, OVERGROWN, room.why_not_cut(part, now))
        return
    room.reservoir_of(part).count_dried(part)  # what a drought has killed by now is not harvest
    if part.plants == 0:
        return
    typical_g = room.typical_mass_g[lot.crop_name]
    grown_g = part.curve.dry_g(part.age(now)) / crop.dry_matter_fraction * lot.mass * part.thickness
    if number > 1:
        grown_g *= crop.regrowth_mass_fraction
        typical_g *= crop.regrowth_mass_fraction
    smallest_g = crop.smallest_mass_fraction * typical_g
    luck = room.luck.stream(f"lot.{lot.name}.{part.number}.cut.{number}")
    share, mean_g = share_and_mean_above(smallest_g, grown_g, crop.mass_spread_cv)
    good = luck.binomial(part.plants, share)
    part.lose(now, part.plants - good, TOO_SMALL)
    grams = round(good * mean_g * (1.0 - crop.trimmed_fraction))
    late = day_of(now) - day_of(part.cut_due_minute)
    if good:
        part.already_harvested = True
        of, rack = lot.crop_name, part.stand.bay.rack
        held_up = room.why_not_cut(part, midnight(now)) if late else ""
        room.book.write(
            Harvested(now, lot.name, part.number, of, good, grams, number, late, part.sown_minute, rack, held_up)
        )
        room.tasks.post("pack", part, grams / 1000.0, lambda _: room.cooler.add(lot.name, part.number, of, grams, now))
    if good and number < crop.harvests:
        room.grow_again(part)
    elif good:
        part.carry_off(now)


def clear_away(room: Inside, part: Part) -> None:
    """Whatever is left goes, the trays are washed, the slots are free."""
    book_pulled(room, part)
    room.leave_rack(part)
    room.forget(part)


def midnight(minute: int) -> int:
    """The last one, at which its day began."""
    return day_of(minute) * 1440


def asleep(room: Inside, part: Part, until_minute: int) -> Moment:
    """What a part waits on to sleep until a minute to come; it is roused sooner where no plants are left."""
    part.sleeping = room.clock.until(until_minute, part.rank)
    return part.sleeping
