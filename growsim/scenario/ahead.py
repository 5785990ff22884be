"""The plan day by day, on paper: which sowing stands in which stage on which day, and what finds no slot.

No luck: everybody due comes, every seed gives its mean, work is done on the first open day with a shift. Trays go onto
shelves in the order of `bays`; what finds no slot waits as long as the room lets it, then is given up. A lot leaves on
the first harvest day on which it can be ripe. So what is given up here is given up in nearly every rehearsed year.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from growsim.scenario import on_paper
from growsim.scenario.bays import bays_of
from growsim.scenario.calendar import Calendar
from growsim.scenario.crop import Crop, Stage
from growsim.scenario.demand import Sowing
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

SOWING_WAITS_DAYS = 6  # a sowing that finds no slot for so long is skipped, as in the rehearsed room
MOST_DAYS = 3 * 364  # looked ahead
MOST_LEAD_IN_DAYS = 182


@dataclass
class GivenUp:
    """What one line of the plan gives up for lack of slots of one stage, over the days looked at.

    planned: sowings that fall due, of days not closed too long. sowings: days of those of which some or all is given
    up. plants: given up (cells, in
    the first stage). trays: of the sowing that lacks most. beside: crop -> trays of it on the shelves of that stage,
    summed over the times something was given up. slots: where the stage may stand.
    """

    line: Sowing
    stage: str
    is_first: bool
    slots: int
    planned: int = 0
    sowings: set[int] = field(default_factory=set)
    plants: float = 0.0
    trays: int = 0
    beside: dict[str, int] = field(default_factory=dict)


@dataclass
class _Lot:
    """Some plants of one sowing, all in one stage; `at` is its number, -1 before sowing. held: bay -> trays."""

    line: Sowing
    crop: Crop
    stages: tuple[Stage, ...]
    day: int
    plants: float
    at: int
    held: dict[int, int]
    has_asked: bool = False


def sowing_days(scenario: Scenario, line: Sowing, first_day: int, days: int) -> Iterator[int]:
    """Days from `first_day` to day `days`, that day not included, on which a line is sown by plan, closed or not."""
    calendar = Calendar(scenario.room.start_date)
    day = calendar.first_on(line.weekday, first_day + 7 * line.first_week)
    weeks_from_day_0 = (day - calendar.first_on(line.weekday, 0)) // 7 - line.first_week
    day += 7 * (-weeks_from_day_0 % line.every_weeks)
    for planned in range(day, days, 7 * line.every_weeks):
        if line.is_in_season(calendar.date(planned)):
            yield planned


def given_up(scenario: Scenario) -> list[GivenUp]:
    """What the plan gives up for lack of slots in the counted days, by line and stage; [] where all finds its place."""
    return _Ahead(scenario).lived()


class _Ahead:
    """The shelves from day to day."""

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        plan = scenario.rehearsal
        self._first = -min(plan.warm_up_days, MOST_LEAD_IN_DAYS)
        self._end = min(plan.days, MOST_DAYS)
        self._calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        self._harvest_days = frozenset(WEEKDAYS.index(day) for day in scenario.harvest.weekdays)
        self._hands = frozenset(WEEKDAYS.index(shift.weekday) for shift in scenario.crew.shifts)
        self._trays = on_paper.trays_by_name(scenario)
        bays = bays_of(scenario)
        self._bays, self._slots = bays, [shelves.total_slots for _, shelves in bays.all]
        self._free = list(self._slots)
        self._order: dict[tuple[str, str], list[int]] = {}
        self._lots: list[_Lot] = []
        self._found: dict[tuple[str, int], GivenUp] = {}
        self._planned: dict[str, int] = {}

    def lived(self) -> list[GivenUp]:
        """Every day in turn."""
        sown: dict[int, list[Sowing]] = {}
        for line in self._scenario.sowing:
            for day in sowing_days(self._scenario, line, self._first, self._end):
                sown.setdefault(day, []).append(line)
        crops, temperature = on_paper.crops_by_name(self._scenario), self._scenario.climate.air_temperature_c
        reach = {
            name: [plants for _, plants in on_paper.plants_by_stage(crop, 1.0, temperature)]
            for name, crop in crops.items()
        }
        for day in range(self._first, self._end):
            for line in sown.get(day, ()):
                crop = crops[line.crop]
                if self._calendar.next_open(day) - day < SOWING_WAITS_DAYS:
                    self._lots.append(_Lot(line, crop, crop.stages_in_order(), day, float(line.cells), -1, {}))
                    self._planned[line.name] = self._planned.get(line.name, 0) + (day >= 0)
            self._give_up_late(day)
            if not self._calendar.is_closed(day) and self._calendar.weekday(day) in self._hands:
                self._work(day, reach)
        for found in self._found.values():
            found.planned = self._planned[found.line.name]
        return list(self._found.values())

    def _give_up_late(self, day: int) -> None:
        for lot in list(self._lots):
            if lot.at + 1 < len(lot.stages):
                due = self._due(lot)
                latest = SOWING_WAITS_DAYS if lot.at < 0 else lot.stages[lot.at + 1].latest_days
                if day >= due + latest:
                    self._give_up(lot, day)
            elif day > self._ripe(lot, lot.crop.harvests - 1) + lot.crop.overgrown_after_days:
                self._leave(lot)  # overgrown, and away

    def _work(self, day: int, reach: dict[str, list[float]]) -> None:
        """Harvest first, then move the furthest on, then sow: each frees slots for the next."""
        for lot in list(self._lots):
            if lot.at + 1 == len(lot.stages) and self._is_cut_for_good(lot, day):
                self._leave(lot)
        for lot in sorted(self._lots, key=lambda lot: (-lot.at, lot.day)):
            if lot.at + 1 < len(lot.stages) and day >= self._due(lot):
                self._step(lot, day, reach[lot.crop.name])

    def _step(self, lot: _Lot, day: int, reach: list[float]) -> None:
        """As many as find slots of the next stage go there; the rest waits where it is."""
        at = lot.at + 1
        stage = lot.stages[at]
        places = self._trays[stage.tray].places
        share = 1.0 if at == 0 else reach[at] / reach[at - 1]
        wanted = math.ceil(lot.plants * share / places - 1e-9)
        held: dict[int, int] = {}
        for bay in self._bays_for(stage):
            trays = min(wanted - sum(held.values()), self._free[bay])
            if trays > 0:
                held[bay] = trays
                self._free[bay] -= trays
        got = sum(held.values())
        lot.has_asked = got < wanted
        if not got and wanted:
            return
        moved = lot.plants if got == wanted else min(lot.plants, got * places / share)
        if lot.plants - moved > 0.5:  # the rest stays and waits
            left = sum(lot.held.values())
            keep = math.ceil(left * (lot.plants - moved) / lot.plants - 1e-9)
            rest = _Lot(lot.line, lot.crop, lot.stages, lot.day, lot.plants - moved, lot.at, {}, True)
            for bay, trays in lot.held.items():
                stay = min(trays, keep - sum(rest.held.values()))
                if stay > 0:
                    rest.held[bay] = stay
                self._free[bay] += trays - stay
            self._lots.append(rest)
        else:
            self._free_slots(lot)
        lot.plants, lot.at, lot.held, lot.has_asked = moved * share, at, held, False
        if not wanted:
            self._leave(lot)

    def _due(self, lot: _Lot) -> float:
        """Day from which the lot is to be in its next stage."""
        return lot.day + math.fsum(stage.days for stage in lot.stages[: lot.at + 1])

    def _ripe(self, lot: _Lot, number: int) -> float:
        """The earliest day on which a lot on its days can be ripe: mass grows at least with the square of time."""
        share = min(1.0, math.sqrt(lot.crop.harvest_from_mass_fraction))
        return lot.day + share * lot.crop.typical_days + number * lot.crop.regrowth_days

    def _is_cut_for_good(self, lot: _Lot, day: int) -> bool:
        """Whether the last harvest can have been by that day: the first harvest day on which it can be ripe."""
        ripe = math.ceil(self._ripe(lot, lot.crop.harvests - 1))
        return day >= ripe and any(
            self._calendar.makes_up_for(each, self._harvest_days) for each in range(ripe, day + 1)
        )

    def _bays_for(self, stage: Stage) -> list[int]:
        key = (stage.name, stage.tray)
        if key not in self._order:
            self._order[key] = [bay for tier in self._bays.tiers(stage.name, self._trays[stage.tray]) for bay in tier]
        return self._order[key]

    def _of(self, lot: _Lot) -> GivenUp:
        at = lot.at + 1
        stage = lot.stages[at]
        return self._found.setdefault(
            (lot.line.name, at),
            GivenUp(lot.line, stage.name, at == 0, sum(self._slots[bay] for bay in self._bays_for(stage))),
        )

    def _give_up(self, lot: _Lot, day: int) -> None:
        if lot.day >= 0 and lot.has_asked:  # else it was closed all the while
            found = self._of(lot)
            found.sowings.add(lot.day)
            found.plants += lot.plants
            stage = lot.stages[lot.at + 1]
            found.trays = max(found.trays, math.ceil(lot.plants / self._trays[stage.tray].places - 1e-9))
            here = set(self._bays_for(stage))
            for other in self._lots:
                trays = sum(count for bay, count in other.held.items() if bay in here)
                if trays:
                    found.beside[other.crop.name] = found.beside.get(other.crop.name, 0) + trays
        self._leave(lot)

    def _leave(self, lot: _Lot) -> None:
        self._free_slots(lot)
        self._lots.remove(lot)

    def _free_slots(self, lot: _Lot) -> None:
        for bay, trays in lot.held.items():
            self._free[bay] += trays
