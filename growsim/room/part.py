"""Plants of one lot that stand together: where, how many, how old on their mass curve, how wet their plugs.

A lot that is moved bit by bit, or onto several racks, becomes several parts, which stand in the same trays until each
has moved out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from growsim.growth.stress import plug_hours, surviving_fraction
from growsim.ledger.events import Lost
from growsim.scenario.crop import Crop

if TYPE_CHECKING:
    from collections.abc import Iterable

    from growsim.growth.curves import MassCurve
    from growsim.ledger.book import Book
    from growsim.room.board import Job
    from growsim.room.clock import Moment
    from growsim.room.crops_here import StageHere
    from growsim.room.rack_clocks import RackClocks
    from growsim.room.shelves import Bay
    from growsim.room.solution import Solution
    from growsim.scenario.place import Tray
    from growsim.vocabulary.losses import Loss

FAR: Final = 2**60  # a minute that never comes


class Lot:
    """What all parts of a lot share: crop, its stages here, and luck, drawn at its birth.

    germination: chance of a seed germinating at the best temperature. growth: speed against the crop's own (1).
    mass: packed mass against the crop's own (1). sow_minute: midnight of the planned day of sowing.
    """

    __slots__ = ("crop", "crop_name", "germination", "growth", "mass", "name", "sow_minute", "stages")

    def __init__(
        self,
        name: str,
        crop: Crop,
        stages: tuple[StageHere, ...],
        sow_minute: int,
        germination: float,
        growth: float,
        mass: float,
    ) -> None:
        self.name = name
        self.crop = crop
        self.crop_name = crop.name
        self.stages = stages
        self.sow_minute = sow_minute
        self.germination = germination
        self.growth = growth
        self.mass = mass


class Stand:
    """Trays of one lot in one bay, in one stage. plants_at_start sets how full the trays are."""

    __slots__ = ("bay", "plants_at_start", "plants_here", "rack", "stage", "tray", "trays")

    def __init__(self, bay: Bay, rack: RackClocks, stage: str, tray: Tray, trays: int) -> None:
        self.bay = bay
        self.rack = rack
        self.stage = stage
        self.tray = tray
        self.trays = trays
        self.plants_at_start = 0
        self.plants_here = 0

    def settle_in(self, plants: int) -> None:
        """So many plants stand here now."""
        self.plants_at_start = self.plants_here = plants

    def leave(self, plants: int) -> int:
        """So many plants are gone from here; returns how many trays that empties (plants stay as they stand)."""
        self.plants_here -= plants
        if self.plants_here <= 0:
            emptied, self.trays = self.trays, 0
            return emptied
        per_tray = self.plants_at_start / max(1, self.trays)
        needed = min(self.trays, -int(-self.plants_here // per_tray))
        emptied = self.trays - needed
        self.trays = needed
        self.plants_at_start = round(per_tray * needed)
        return emptied


class Harm:
    """What a spell has done to a part so far. plants: that stood in it from the start. since: the dose (°C h) then."""

    __slots__ = ("lost", "plants", "since")

    def __init__(self, plants: int, since: float, lost: int = 0) -> None:
        self.plants = plants
        self.since = since
        self.lost = lost

    def hand_over(self, plants: int, of: int) -> Harm:
        """So many of the plants there are become a part of their own, with their share of what has been."""
        share, lost = self.plants * plants // max(1, of), self.lost * plants // max(1, of)
        self.plants -= share
        self.lost -= lost
        return Harm(share, self.since, lost)


class Part:
    """Plants standing together. Ages are days on the mass curve of the present stand.

    plants: living plants (0 until they are up). stood: how many came to this stand. is_on_rack: they are up, and live
    by its clocks. extra: seedlings still to be pulled. thinning: the job of pulling them. seeds: seeds not yet up.
    name: as the board tells of it. rank: how many parts there were before it; the oldest wakes first. harms: what the
    present spells of heat and cold have done. thickness: mass of pots and trays, by the seed that germinated, against
    the usual (1; plants always). held_up: the obstacle that last made it late; "" if none did.
    """

    __slots__ = (
        "_age",
        "_empty_thirst",
        "_growth_base",
        "_stress_thirst",
        "_thirst_base",
        "_water_base",
        "already_harvested",
        "book",
        "curve",
        "cut_due_minute",
        "dry_lost",
        "dry_plants",
        "dry_since",
        "empty_minute",
        "extra",
        "harms",
        "held_up",
        "is_on_rack",
        "lot",
        "name",
        "number",
        "plants",
        "rank",
        "rate_ml",
        "seeds",
        "sleeping",
        "sown_minute",
        "stand",
        "stood",
        "stress_minute",
        "thickness",
        "thinning",
        "wet_minute",
    )  # fmt: skip

    def __init__(self, lot: Lot, number: int, rank: int, stand: Stand, book: Book) -> None:
        self.lot = lot
        self.number = number
        self.name = f"{lot.name} #{number}"
        self.rank = rank
        self.stand = stand
        self.book = book
        self.plants = 0
        self.stood = 0
        self.extra = 0
        self.seeds = 0
        self.sown_minute = lot.sow_minute
        self.already_harvested = False
        self.is_on_rack = False
        self.cut_due_minute = 0
        self.thickness = 1.0
        self.held_up = ""
        self.curve: MassCurve
        self._age = 0.0
        self._growth_base = 0.0
        self._thirst_base = 0.0
        self._water_base = 0.0
        self.rate_ml = 0.0
        self._stress_thirst = self._empty_thirst = 0.0  # readings of the rack's thirst clock
        self.stress_minute = self.empty_minute = FAR
        self.wet_minute = -FAR
        self.dry_since = self.dry_plants = self.dry_lost = 0
        self.harms: dict[str, Harm] = {}
        self.sleeping: Moment | None = None
        self.thinning: Job | None = None

    # --- growing -----------------------------------------------------------------------------------------------

    def age(self, minute: int) -> float:
        """Days on the mass curve, as seen from the present state of the rack. Growth stops once plugs are nearly
        dry."""
        last = minute if minute < self.stress_minute else self.stress_minute
        grown = self.stand.rack.growth_clock(last) - self._growth_base
        return self._age + self.lot.growth * grown if grown > 0.0 else self._age

    def age_at(self, growth: float) -> float:
        """Age with the rack's growth clock at that."""
        grown = growth - self._growth_base
        return self._age + self.lot.growth * grown if grown > 0.0 else self._age

    def set_age(self, age_days: float, minute: int) -> None:
        """Put the plants at this age on their curve."""
        self._age = age_days
        self._water_base, self.rate_ml = self.curve.water_and_rate(age_days)
        self._growth_base, self._thirst_base = self.stand.rack.clocks(minute)

    def plant_dry_g(self) -> float:
        """Dry mass of one of its plants (g) when it last settled."""
        return self.lot.mass * self.thickness * self.curve.dry_g(self._age)

    def begin_weighing(self) -> None:
        """What its plants weigh now they have brought along: it was not grown here."""
        self.stand.rack.dry_left_g -= self.plants * self.plant_dry_g()

    # --- drinking ----------------------------------------------------------------------------------------------

    def drunk_ml(self, minute: int, growth: float, thirst: float) -> float:
        """Water all the plants have drunk since they last settled (mL), with the rack's clocks at that minute.

        Drinking goes with growing; what night, failed lights or warm air change about it is taken at the rate at which
        the plants drank when the reservoir was last read, so that settling in between changes nothing.
        """
        if minute > self.stress_minute:
            growth = self.stand.rack.growth_clock(self.stress_minute)
            if minute > self.empty_minute:
                thirst = self.stand.rack.thirst_clock(self.empty_minute)
        grown = growth - self._growth_base
        grown = grown if grown > 0.0 else 0.0
        speed = self.lot.growth
        water_ml = self.curve.water_ml(self._age + speed * grown)
        drunk = (water_ml - self._water_base) / speed + (thirst - self._thirst_base - grown) * self.rate_ml
        return self.plants * drunk if drunk > 0.0 else 0.0

    def settle(self, minute: int) -> None:
        """Take what has passed into account: the solution is told what was drunk, the age is brought up to date."""
        rack = self.stand.rack
        growth, thirst = rack.clocks(minute)
        if thirst != self._thirst_base or growth != self._growth_base or self.stress_minute < FAR:
            rate_ml = self.rate_ml
            settle_all((self,), rack.solution, minute, growth, thirst)
            self.rate_ml = rate_ml  # until all plants of the reservoir settle

    def hand_over(self, other: Part, plants: int) -> None:
        """So many plants become a part of their own where they stand, with their share of drought and heat so far."""
        now_here = self.plants
        other.sown_minute, other.curve, other.already_harvested = self.sown_minute, self.curve, self.already_harvested
        other.thickness = self.thickness
        other.held_up = self.held_up
        other.plants = other.stood = plants
        self.plants -= plants
        self.stood -= plants
        other._age, other._water_base, other.rate_ml = self._age, self._water_base, self.rate_ml
        other._growth_base, other._thirst_base = self._growth_base, self._thirst_base
        other.wet_minute = self.wet_minute
        other.stress_minute, other.empty_minute, other.dry_since = self.stress_minute, self.empty_minute, self.dry_since
        other._stress_thirst, other._empty_thirst = self._stress_thirst, self._empty_thirst
        for cause, harm in self.harms.items():
            other.harms[cause] = harm.hand_over(plants, now_here)
        if not self.dry_plants:
            return
        other.dry_plants = self.dry_plants * plants // max(1, now_here)
        other.dry_lost = self.dry_lost * plants // max(1, now_here)
        self.dry_plants -= other.dry_plants
        self.dry_lost -= other.dry_lost

    # --- losing ------------------------------------------------------------------------------------------------

    def lose(self, minute: int, plants: int, loss: Loss, held_up: str = "") -> None:
        """So many plants are lost, held up by some obstacle; what they have drunk until now stays drunk."""
        if plants > 0:
            rack = self.stand.rack
            if self.is_on_rack:
                self.settle(minute)
                rack.dry_left_g += plants * self.plant_dry_g()
            self.plants -= plants
            self.write_lost(minute, plants, loss, held_up)

    def write_lost(self, minute: int, count: int, loss: Loss, held_up: str = "") -> None:
        """Write down that so many plants, or seeds, are lost."""
        lot, stage = self.lot, self.stand.stage
        again = self.already_harvested and loss.of == "plants"
        self.book.write(Lost(minute, lot.name, self.number, lot.crop_name, count, loss.key, stage, again, held_up))

    def carry_off(self, minute: int) -> None:
        """All plants are harvested and gone from the shelf; what they have drunk until now stays drunk."""
        self.settle(minute)
        self.stand.rack.dry_left_g += self.plants * self.plant_dry_g()
        self.plants = 0

    def begin_drought(self, dry_from: int) -> None:
        """The last flood was at `dry_from`: work out when growth stops and when the plugs are empty.

        Plants that came here since then came with wet plugs.
        """
        dry_from = max(dry_from, self.wet_minute)
        self.dry_since, self.dry_plants, self.dry_lost = dry_from, self.plants, 0
        if self.plants == 0:
            return
        rack = self.stand.rack
        daily = max(self.curve.water_and_rate(self.age(dry_from))[1], 1e-6)
        to_stress, to_empty = plug_hours(self.stand.tray.plug_volume_ml, daily / 24.0)
        wet = rack.thirst_clock(dry_from)
        self._stress_thirst, self._empty_thirst = wet + to_stress / 24.0, wet + to_empty / 24.0
        self.stress_minute = rack.minute_of_thirst(self._stress_thirst, dry_from)
        self.empty_minute = rack.minute_of_thirst(self._empty_thirst, dry_from)

    @property
    def is_dry(self) -> bool:
        """Whether it stands in a drought."""
        return self.stress_minute < FAR

    def thirst_changed(self, now: int) -> None:
        """The plants drink faster or slower from now on; what a drought has in store for them comes sooner or later."""
        if now < self.stress_minute < FAR:
            self.stress_minute = self.stand.rack.minute_of_thirst(self._stress_thirst, now)
        if now < self.empty_minute < FAR:
            self.empty_minute = self.stand.rack.minute_of_thirst(self._empty_thirst, now)

    def dried_share(self, minute: int) -> float:
        """Share of the plants a drought has killed by this minute."""
        hours = (minute - self.empty_minute) / 60.0
        return 1.0 - surviving_fraction(hours, self.lot.crop.dry_half_loss_hours) if hours > 0 else 0.0

    def end_drought(self, minute: int) -> None:
        """Wet again."""
        self.settle(minute)
        self.stress_minute = self.empty_minute = FAR
        self.dry_plants = self.dry_lost = 0


def settle_all(parts: Iterable[Part], solution: Solution, minute: int, growth: float, thirst: float) -> None:
    """Parts on one rack of a reservoir take into account what has passed, with the rack's clocks at that minute, and
    drink on at the rate of the age they have reached. One call for all of them: it is made for every part and day."""
    for part in parts:
        grown, speed = growth - part._growth_base, part.lot.growth
        if minute > part.stress_minute or grown < 0.0:  # a drought, or rounding: the long way
            solution.drunk_ml += part.drunk_ml(minute, growth, thirst)
            part._age = part.age(minute) if minute > part.stress_minute else part._age + speed * grown
            part._water_base, part.rate_ml = part.curve.water_and_rate(part._age)
        else:
            age = part._age = part._age + speed * grown
            water_ml, rate_ml = part.curve.water_and_rate(age)
            drunk = (water_ml - part._water_base) / speed + (thirst - part._thirst_base - grown) * part.rate_ml
            if drunk > 0.0:
                solution.drunk_ml += part.plants * drunk
            part._water_base, part.rate_ml = water_ml, rate_ml
        part._growth_base, part._thirst_base = growth, thirst
