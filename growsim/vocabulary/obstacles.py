"""What plants, sowings and work wait for when their waiting ends: a row for each. Where several stand in the way
together they stay together: `joined("no harvest day", "no lead")`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Lift = Literal["closings", "harvest days", "leads", "people", "slots", "reservoirs", "machines", "air"]
AND: Final = " + "


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """key: as the log book writes it. because: goes on from "lost because ...". lift: what a
    trial has to lift. in_slots: the same of what stands in slots that others wait for; "" where it is never asked of
    them."""

    key: str
    because: str
    lift: Lift
    in_slots: str = ""


CLOSED: Final = Obstacle(
    key="closed", because="the room is closed", lift="closings",
)  # fmt: skip
NO_HARVEST_DAY: Final = Obstacle(
    key="no harvest day", because="no harvest day comes in time", lift="harvest days",
    in_slots="ripe plants there wait for a harvest day",
)  # fmt: skip
NO_SHIFT: Final = Obstacle(
    key="no shift", because="no shift is held in time", lift="people",
)  # fmt: skip
NO_LEAD: Final = Obstacle(
    key="no lead", because="no shift in that time has a lead", lift="leads",
)  # fmt: skip
LEAD_BUSY: Final = Obstacle(
    key="lead busy", because="the lead has other work", lift="leads",
)  # fmt: skip
PEOPLE_BUSY: Final = Obstacle(
    key="people busy", because="everybody has other work", lift="people",
    in_slots="trays there wait for people",
)  # fmt: skip
NO_SLOT: Final = Obstacle(
    key="no slot", because="no place on the shelves is free", lift="slots",
)  # fmt: skip
RESERVOIR_LOW: Final = Obstacle(
    key="reservoir low", because="the reservoir is not filled up", lift="reservoirs",
)  # fmt: skip
MACHINE_DOWN: Final = Obstacle(
    key="machine down", because="a machine or the power is down", lift="machines",
)  # fmt: skip

AIR_NOT_HELD: Final = Obstacle(
    key="air not held", because="cooling or heating is too weak", lift="air",
)  # fmt: skip

OBSTACLES: Final = (
    CLOSED, NO_SLOT, NO_HARVEST_DAY, NO_SHIFT, NO_LEAD, LEAD_BUSY, PEOPLE_BUSY, RESERVOIR_LOW, MACHINE_DOWN,
    AIR_NOT_HELD,
)  # fmt: skip
_BY_KEY: Final = {obstacle.key: obstacle for obstacle in OBSTACLES}


def joined(*keys: str) -> str:
    """The key of obstacles that stand in the way together, in the order of the table."""
    return AND.join(obstacle.key for obstacle in OBSTACLES if obstacle.key in keys)


def parts_of(key: str) -> tuple[Obstacle, ...]:
    """The rows of a key, be it of one obstacle or of several. Raises LookupError for what is no obstacle."""
    unknown = [part for part in key.split(AND) if part not in _BY_KEY]
    if unknown:
        raise LookupError(f"there is no obstacle {unknown[0]!r}: give it a row in growsim/vocabulary/obstacles.py.")
    return tuple(_BY_KEY[part] for part in key.split(AND))


def because(key: str) -> str:
    """Goes on from "lost because ...": "no place on the shelves is free and trays there wait for people"."""
    parts = parts_of(key)
    in_slots = NO_SLOT in parts
    return " and ".join((part.in_slots if in_slots else "") or part.because for part in parts)


def is_of_closing(key: str) -> bool:
    """Whether a closing has a part in it: it is told apart, for no trial lifts a holiday."""
    return CLOSED in parts_of(key)
