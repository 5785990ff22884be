"""What is read in the room for the book: the meters, once a week and at the end, and what stands when it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.events import MetersRead, Standing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from growsim.room.model import RoomHere
    from growsim.room.part import Part


def read_meters(room: RoomHere) -> None:
    """Write the running totals into the book."""
    now, air = room.clock.now, room.air
    pumps = sum(
        [
            reservoir.floods_done(room.book.begin_minute)
            * reservoir.spec.flood_minutes
            * reservoir.spec.pump.power_w
            / 6e4
            for reservoir in room.reservoirs.values()
        ]
    )
    room.book.write(
        MetersRead(
            now,
            sum([bank.kwh(now) for bank in room.banks.values()]),
            pumps,
            air.heat_pump_kwh(now),
            air.fan_kwh(now),
            air.co2_g(now),
            air.take_warmest_c(),
        )
    )


def count_standing(room: RoomHere, parts: Iterable[Part]) -> None:
    """Tell the book of everything that still stands in the room."""
    for part in parts:
        plants = part.seeds + part.plants + part.extra
        if plants:
            lot = part.lot
            room.book.standing.append(
                Standing(
                    lot.name,
                    part.number,
                    lot.crop_name,
                    plants,
                    part.sown_minute,
                    part.stand.stage,
                    part.stand.bay.rack,
                    part.already_harvested,
                )
            )
