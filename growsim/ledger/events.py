"""What can happen, as typed records. One record a happening; text is made from them, never the other way round.

`minute` counts from the start of the first counted day; negative in the warm-up. `lot` is the id from the plan
("2031-04-07/basil/1"); `part` numbers the parts of a lot that stand on different racks or moved at different times.
"""

from __future__ import annotations

from typing import NamedTuple


class Sown(NamedTuple):
    """Seeds went into cells."""

    minute: int
    lot: str
    part: int
    crop: str
    cells: int
    seeds: int
    rack: str


class Found(NamedTuple):
    """Plants that stood on the shelves on day 0 (start from a shelves file); seeds, where nothing was up yet.

    was_harvested: they had been harvested before, so that their fate is told already.
    """

    minute: int
    lot: str
    part: int
    crop: str
    plants: int
    stage: str
    rack: str
    was_harvested: bool


class SowingSkipped(NamedTuple):
    """A sowing, or some of it, did not happen. held_up: the obstacle it waited for (vocabulary.obstacles)."""

    minute: int
    lot: str
    crop: str
    cells: int
    held_up: str


class Germinated(NamedTuple):
    """Seedlings are up: filled cells, extra seedlings to pull, seeds that stayed away."""

    minute: int
    lot: str
    part: int
    crop: str
    filled_cells: int
    extra_seedlings: int
    not_emerged: int


class Waiting(NamedTuple):
    """A part had to wait for a slot; written when the wait ends. got_slot is False where it was given up."""

    minute: int
    lot: str
    part: int
    stage: str
    plants: int
    waited_minutes: int
    got_slot: bool


class Transplanted(NamedTuple):
    """Plants were moved into a stage onto a rack. held_up: the obstacle that made them late, "" if none."""

    minute: int
    lot: str
    part: int
    crop: str
    stage: str
    plants: int
    trays: int
    rack: str
    days_late: float
    held_up: str = ""


class Lost(NamedTuple):
    """Plants (or seeds) lost. cause is the key of one of vocabulary.losses.LOSSES. after_harvest: it had been
    harvested before. held_up: the obstacle (vocabulary.obstacles) they waited for, or that kept water away; "" if none.
    """

    minute: int
    lot: str
    part: int
    crop: str
    plants: int
    cause: str
    stage: str
    after_harvest: bool
    held_up: str = ""


class Harvested(NamedTuple):
    """Plants harvested. number: 1 for the first harvest. grams: packed mass. days_late: from its harvest day to the
    harvest. held_up: the obstacle that made it late; "" if none.
    """

    minute: int
    lot: str
    part: int
    crop: str
    plants: int
    grams: int
    number: int
    days_late: float
    sown_minute: int
    rack: str
    held_up: str = ""


class Packed(NamedTuple):
    """Greens went into the cooler."""

    minute: int
    lot: str
    part: int
    crop: str
    grams: int


class HandedOut(NamedTuple):
    """Greens left the cooler. partner is "" for open distribution."""

    minute: int
    lot: str
    crop: str
    partner: str
    grams: int
    harvest_minute: int


class Wasted(NamedTuple):
    """Greens too old to hand out."""

    minute: int
    lot: str
    crop: str
    grams: int


class OrderServed(NamedTuple):
    """A partner's order at a pick-up."""

    minute: int
    partner: str
    crop: str
    grams_ordered: int
    grams_given: int


class WentDown(NamedTuple):
    """A machine stopped. where: reservoir or light bank, "" for the room's own."""

    minute: int
    machine: str
    where: str


class Noticed(NamedTuple):
    """Somebody, or an alarm, noticed. by: "alarm" or "walk-through"."""

    minute: int
    machine: str
    where: str
    by: str


class Repaired(NamedTuple):
    """A machine is up again. price: of the part."""

    minute: int
    machine: str
    where: str
    down_minutes: int
    price: float


class FloodMissed(NamedTuple):
    """A flood did not come. why: the key of the machine that was down, or LOW_RESERVOIR."""

    minute: int
    reservoir: str
    why: str


class ToppedUp(NamedTuple):
    """Solution added to a reservoir. drained_ml: thrown away first (renewal). level_ml, ec_ms_cm: after it."""

    minute: int
    reservoir: str
    taken_ml: int
    drained_ml: int
    added_ml: int
    level_ml: int
    ec_ms_cm: float
    by_hand: bool


class AirRead(NamedTuple):
    """Air temperature, written while it is away from its set-point."""

    minute: int
    temperature_c: float


class ShiftHeld(NamedTuple):
    """A shift ended. minutes are person-minutes."""

    minute: int
    shift: str
    signed_up: int
    came: int
    worked_in_room: int
    lead: bool
    volunteer_minutes: int
    lead_minutes: int
    worked_minutes: int


class TaskDue(NamedTuple):
    """A task went onto the board. minutes: at a practiced pace."""

    minute: int
    task: str
    about: str
    units: float
    minutes: int
    due_minute: int


class TaskDone(NamedTuple):
    """A task was finished (or withdrawn undone: finished False)."""

    minute: int
    task: str
    about: str
    due_minute: int
    worked_minutes: int
    finished: bool


class Worked(NamedTuple):
    """A person worked on a piece of a task until `minute`. person: "<shift>/<number>"; number 0 is the lead."""

    minute: int
    person: str
    task: str
    about: str
    began_minute: int


class MetersRead(NamedTuple):
    """Running totals at a reading. kwh by machine kind; co2: given off by the supply, in grams."""

    minute: int
    kwh_lights: float
    kwh_pumps: float
    kwh_heat_pump: float
    kwh_fans: float
    co2_g: float
    warmest_c: float


class Standing(NamedTuple):
    """Plants standing when the rehearsal ended; plants counts seeds not yet up as seeds."""

    lot: str
    part: int
    crop: str
    plants: int
    sown_minute: int
    stage: str
    rack: str
    was_harvested: bool
