"""Onto which shelves a tray goes first. The order of racks and shelves in the room file decides nothing.

A tray goes where it takes the smallest share of other stages' places: the harm of shelves to a stage is the sum, over
the other stages grown here that may stand on them, of 1 / (slots where that stage may stand). Of shelves that do as
little harm, those on the rack with the largest share of free slots come first, then the brighter lamp, then the name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import groupby

from growsim.scenario import on_paper
from growsim.scenario.place import Rack, Shelves, Tray
from growsim.scenario.plan import ShelfLot
from growsim.scenario.scenario import Scenario


class Bays:
    """All shelves of a room that have slots: those of one rack that are alike are one bay, numbered by name.

    lamps: light bank -> light on the shelves (µmol/m²/s). grown: (stage, its tray) of every crop that is sown or stands
    here.
    """

    def __init__(self, racks: Iterable[Rack], lamps: Mapping[str, float], grown: Iterable[tuple[str, Tray]]) -> None:
        bays = [(rack, shelves) for rack in racks for shelves in rack.shelves if shelves.total_slots > 0]
        self.all: list[tuple[Rack, Shelves]] = sorted(bays, key=lambda bay: (bay[0].name, bay[1].name))
        self._lamps = lamps
        places: dict[str, set[int]] = {}
        for stage, tray in grown:
            places.setdefault(stage, set()).update(self._may_hold(stage, tray))
        self._places = places
        self._slots = {stage: sum([self.all[bay][1].total_slots for bay in of]) for stage, of in places.items()}

    def _may_hold(self, stage: str, tray: Tray) -> list[int]:
        return [bay for bay, (_, shelves) in enumerate(self.all) if stage in shelves.stages and shelves.fits(tray)]

    def harm(self, bay: int, stage: str) -> Fraction:
        """Share of other stages' places that a tray of this stage takes here, summed over those stages."""
        others = [other for other, places in self._places.items() if other != stage and bay in places]
        return sum([Fraction(1, self._slots[other]) for other in others], Fraction())

    def tiers(self, stage: str, tray: Tray) -> list[list[int]]:
        """Bays where this tray may stand in this stage, in tiers of the same harm, least first (spare racks last);
        within a tier the brighter lamp first, then by name."""

        def tier(bay: int) -> tuple[bool, Fraction]:
            return self.all[bay][0].spare, self.harm(bay, stage)

        def light(bay: int) -> float:
            return self._lamps[self.all[bay][0].lights]

        bays = sorted(self._may_hold(stage, tray), key=lambda bay: (*tier(bay), -light(bay), bay))
        return [list(alike) for _, alike in groupby(bays, key=tier)]


def bays_of(scenario: Scenario, lots: Iterable[ShelfLot] = ()) -> Bays:
    """The bays of a room whose shelves hold these lots already."""
    trays = on_paper.trays_by_name(scenario)
    crops = {line.crop for line in scenario.sowing} | {lot.crop for lot in lots}
    grown = [(stage.name, trays[stage.tray]) for crop in scenario.crops if crop.name in crops for stage in crop.stages]
    return Bays(scenario.racks, {bank.name: bank.ppfd_umol_m2_s for bank in scenario.lights}, grown)
