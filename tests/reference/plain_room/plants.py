"""The plants: one process for each, from seed to its fate."""

from __future__ import annotations

import math
from collections.abc import Generator
from typing import Any

from reference.plain_room.basics import spread

Steps = Generator[Any, Any, None]


class Lot:
    """What the cells of one sowing share."""

    def __init__(self, room: Any, crop: Any, day: int, chance: float, speed: float) -> None:
        self.room, self.crop, self.day, self.chance, self.speed = room, crop, day, chance, speed
        self.stages = crop.stages_in_order()


class Stand:
    """Trays in slots of one bay, and the groups of plants on them."""

    def __init__(self, bay: Any, trays: int) -> None:
        self.bay, self.trays, self.groups = bay, trays, []
        self.extra, self.thinning, self.density = 0, None, 0.0


class Plant:
    """A cell with its seeds, later a plant."""

    def __init__(self, group: Any) -> None:
        self.group, self.heard, self.fate = group, 0, ""
        self.room, self.luck, self.crop = group.room, group.room.luck, group.lot.crop
        self.worst_heat = self.last_hours(self.crop.heat_half_loss_degree_hours)
        self.worst_cold = self.last_hours(self.crop.cold_half_loss_degree_hours)
        self.worst_drought = self.last_hours(self.crop.dry_half_loss_hours)
        self.room.env.process(self.live())

    def last_hours(self, half: float) -> float:
        """A dose that this plant will not survive: more than `half` with chance one half."""
        return half * math.sqrt(-math.log2(1 - self.luck.random()))

    def live(self) -> Steps:
        """Come up, then hear what happens to the group until it ends."""
        yield self.group.up
        seeds, chance = self.crop.seeds_per_cell, self.group.up.value
        if self.crop.sown_by != "seed":  # a pot or tray is thick or thin, and counts as one
            seeds, chance = 1, float(chance > 0)
        seedlings = int(self.luck.binomial(seeds, chance))
        self.group.count("not_emerged", seeds - seedlings)
        self.group.stand.extra += max(0, seedlings - 1)
        if seedlings == 0:
            self.group.plants.remove(self)
            return
        while not self.fate:
            group = self.group
            if self.heard == len(group.said):
                yield group.news
                continue
            what, much = group.said[self.heard]
            self.heard += 1
            self.hear(what, much)

    def hear(self, what: str, much: float) -> None:
        """Something happens to all plants of the group; what does it do to this one?"""
        if what == "regrouped":
            for part in self.group.parts:
                if self in part.plants:
                    self.group, self.heard = part, 0
        elif what == "dry hours" and much > self.worst_drought:
            self.end("dried_out")
        elif what == "flooded":
            self.worst_drought = self.last_hours(self.crop.dry_half_loss_hours)
        elif what == "degree hours" and much > self.worst_heat:
            self.end("heat")
        elif what == "cold degree hours" and much > self.worst_cold:
            self.end("cold")
        elif what == "no more degree hours":
            self.worst_heat = self.last_hours(self.crop.heat_half_loss_degree_hours)
        elif what == "no more cold degree hours":
            self.worst_cold = self.last_hours(self.crop.cold_half_loss_degree_hours)
        elif what == "transplanted" and self.luck.random() < much:
            self.end("transplanting")
        elif what == "harvested":
            mass = much * spread(self.crop.mass_spread_cv, self.luck)
            smallest = self.crop.smallest_mass_fraction * self.crop.typical_mass_g.expected()
            if mass >= smallest:
                self.group.grams += mass
                self.room.year.count("plants harvested in the year")
            self.end("harvested" if mass >= smallest else "too_small")
        elif what == "thrown away":
            self.end(self.group.reason)

    def end(self, fate: str) -> None:
        """The end of the plant."""
        self.fate = fate
        self.group.count(fate, 1)
        self.group.plants.remove(self)
