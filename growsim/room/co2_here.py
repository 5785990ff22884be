"""CO2 of the room's air as its plants leave it: looked at every third day, from what stands on the shelves.

The balance is that of `growth.room_co2`. In between only a supply or lights that fail or come back change it. Daily
looks would find the same growth within the luck of a year and take three times as long; every third day falls on each
weekday in turn, so that the week's harvest day is not always just before or just behind.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from growsim.growth.room_co2 import RoomCo2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from growsim.growth.room_co2 import Leaves
    from growsim.room.co2_supply import Co2Supply
    from growsim.room.rack_clocks import Bank
    from growsim.room.racks import RackHere
    from growsim.scenario.scenario import Scenario


LOOK_DAYS: Final = 3


class Co2Here:
    """The air of one replication. ppm: by light bank, CO2 while it is lit."""

    def __init__(
        self,
        scenario: Scenario,
        leaves: Mapping[str, Leaves],
        banks: list[Bank],
        racks: list[RackHere],
        supply: Co2Supply,
    ) -> None:
        self._scenario, self._leaves = scenario, leaves
        self._room = RoomCo2(scenario, leaves)
        self._takes_up = [bank.name for bank in banks if bank.name in leaves]
        self._banks, self._racks, self._supply = banks, racks, supply
        self._gained_g: dict[str, float] = {}
        self._state: tuple[bool, ...] = ()
        self.ppm: dict[str, float] = dict.fromkeys([bank.name for bank in banks], supply.ppm)

    def breathe(self, air_changes_per_hour: float) -> None:
        """So much air comes and goes from now on; `refresh` takes note of it."""
        room = self._scenario.room.model_copy(update={"air_changes_per_hour": air_changes_per_hour})
        self._room = RoomCo2(self._scenario.model_copy(update={"room": room}), self._leaves)
        self._state = ()

    def look(self, now: int) -> None:
        """See how much the plants under each bank will gain a day until the next look."""
        self._gained_g = dict.fromkeys(self._takes_up, 0.0)
        for rack in self._racks:
            if rack.bank.name in self._gained_g:
                self._gained_g[rack.bank.name] += rack.dry_gain_g(now, LOOK_DAYS)
        self._state = ()

    def refresh(self) -> None:
        """Take note of whether supply and lights work now."""
        state = (self._supply.is_on, *[bank.is_able for bank in self._banks])
        if state == self._state:
            return
        self._state = state
        growing = {bank.name: self._gained_g.get(bank.name, 0.0) for bank in self._banks if bank.is_able}
        self.ppm = self._room.lit_ppm(growing, is_fed=self._supply.is_on)
