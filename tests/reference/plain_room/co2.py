"""CO2 that the plants leave: looked at every third midnight, solved by SciPy between the switches of the lights."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

from reference.plain_room.basics import DAY, Moment
from scipy.optimize import brentq

from growsim.growth import lettuce
from growsim.scenario.calendar import Order

Steps = Generator[Any, Any, None]
LOOK_DAYS = 3


class PlantsAir:
    """CO2 under each light bank while it is lit."""

    def __init__(self, room: Any, air: Any) -> None:
        self.room, self.air, self.s = room, air, room.scenario
        self.gains = {bank.name: 0.0 for bank in self.s.lights}
        self.known: dict[Any, dict[str, float]] = {}

    def looks(self) -> Steps:
        """Every third midnight, from the first on."""
        while True:
            yield Moment(self.room.env, self.room.env.now, Order.AIR)
            self.gains = dict.fromkeys(self.gains, 0.0)
            for rack in self.room.racks:
                for group in self.room.groups_on(rack):
                    group.settle()
                    if not group.stressed:
                        ahead = group.curve.dry_g(group.age + LOOK_DAYS * group.lot.speed)
                        gain = (ahead - group.curve.dry_g(group.age)) / LOOK_DAYS * len(group.plants)
                        gain *= self.room.mass_factor[group.lot.crop.name] * rack.clock.strength
                        self.gains[rack.spec.lights] += gain
            self.known = {}
            self.air.plants_looked_at()
            yield self.room.env.timeout(LOOK_DAYS * DAY)

    def under(self, bank: str) -> float:
        """CO2 now, mean over the hours in which a bank is lit."""
        burning = tuple(sorted({r.spec.lights for r in self.room.racks if r.clock.burning()}))
        state = (self.air.gassing(), burning)
        if state not in self.known:
            self.known[state] = self.solve(*state)
        return self.known[state][bank]

    def solve(self, fed: bool, burning: tuple[str, ...]) -> dict[str, float]:
        """The day quarter hour by quarter hour."""
        sums, hours, solved = dict.fromkeys(self.gains, 0.0), dict.fromkeys(self.gains, 0.0), {}
        for quarter in range(96):
            time = quarter / 4 + 0.1
            lit = tuple(b.name for b in self.s.lights if (time - b.on_hour) % 24 < b.hours_per_day)
            if lit not in solved:
                solved[lit] = self.balance(fed, burning, lit)
            for name in lit:
                sums[name] += solved[lit]
                hours[name] += 1
        return {name: sums[name] / hours[name] for name in sums}

    def balance(self, fed: bool, burning: tuple[str, ...], lit: tuple[str, ...]) -> float:
        """CO2 at which as much comes in as is taken."""
        supply = self.s.co2.supply_kg_per_day * 1000 / 24
        unfed = self.root(lambda ppm: self.left(ppm, burning, lit), self.s.co2.outdoor_ppm)
        if not fed or not supply or unfed >= self.s.co2.setpoint_ppm:
            return unfed
        return self.root(lambda ppm: supply + self.left(ppm, burning, lit), self.s.co2.setpoint_ppm)

    @staticmethod
    def root(left: Any, most: float) -> float:
        """Where nothing is left over, at most so much."""
        return most if left(most) >= 0 else float(brentq(left, 0.0, most))

    def left(self, ppm: float, burning: tuple[str, ...], lit: tuple[str, ...]) -> float:
        """Grams an hour that come in more than is taken."""
        left = self.leak_g * (self.s.co2.outdoor_ppm - ppm)
        for bank in self.s.lights:
            if bank.name not in burning:
                continue
            night, gone = self.room.curves.leaves[bank.name].night, self.gains[bank.name] / 0.68
            if bank.name in lit:
                here = self.room.curves.environments[bank.name]
                par = here.ppfd_umol_m2_s / 4.6
                now, planned = (lettuce.rates(par, here.air_temperature_c, c).gross_g_m2_s for c in (ppm, here.co2_ppm))
                left -= gone * (1 + night) / bank.hours_per_day * now / planned
            else:
                left += gone * night / (24 - bank.hours_per_day)
        return left
