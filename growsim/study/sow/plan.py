"""A sowing plan as numbers, and as lines of the room file: so many cells for each line where demand is full.

What is sown for a week follows what partners order in it: nothing for a pick-up that falls on a closed day or out of
its season, less where less is ordered. Nothing is sown on a day from which it would want moving or harvesting while the
room is closed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from growsim.scenario import on_paper
from growsim.scenario.calendar import Calendar
from growsim.scenario.checks.closings import lost_in_closings
from growsim.scenario.demand import Sowing
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import StandingOrder, kg_ordered_on
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.timing import Line
from growsim.vocabulary.days import NAME_OF_WEEKDAY, Weekday

STEPS_A_TRAY = 8
MOST_CELLS = 100_000  # of a line; what a room file can state

Cells = tuple[int, ...]
"""Cells of every line of a frame where demand is full."""

Parts = Mapping[tuple[Line, StandingOrder], float]
"""Which part of an order a line is meant to fill."""


@dataclass(frozen=True)
class Frame:
    """Everything about a sowing plan but how much: its lines, their steps, and when each is sown how fully.

    steps: cells a step, an eighth of a tray. full: for each line its sowing days and the share of full demand of each,
    warm-up included; past the last counted day the year goes on.
    """

    scenario: Scenario
    lines: tuple[Line, ...]
    steps: tuple[int, ...]
    full: tuple[tuple[tuple[dt.date, float], ...], ...] = field(repr=False)

    def cells_on(self, line: int, cells: int) -> list[tuple[dt.date, int]]:
        """Cells sown on each sowing day of a line: whole steps, rounded up, never more than where demand is full."""
        step = self.steps[line]
        return [(day, min(cells, step * math.ceil(cells * share / step - 1e-9))) for day, share in self.full[line]]

    def sowing(self, plan: Cells) -> tuple[Sowing, ...]:
        """The plan as lines of the room file. A line that changes through the year is several, each with its dates."""
        taken = {line.name for line in self.scenario.sowing}
        found: list[Sowing] = []
        for number, cells in enumerate(plan):
            if cells > 0:
                found += self._lines(number, cells, taken)
        return tuple(found)

    def _lines(self, number: int, cells: int, taken: set[str]) -> list[Sowing]:
        line, days = self.lines[number], self.cells_on(number, cells)
        name = f"{line.crop} on {NAME_OF_WEEKDAY[line.weekday]}s"
        found = []
        for first, last, each in _spells(days):
            since = first if first != days[0][0] else None
            own = _unused(f"{name} from {first}" if since else name, taken)
            found.append(
                Sowing(
                    name=own,
                    crop=line.crop,
                    cells=each,
                    weekday=line.weekday,
                    from_date=since,
                    until_date=last if last != days[-1][0] else None,
                )
            )
        return found

    def planned(self, plan: Cells) -> Scenario:
        """The room with this plan and no other."""
        return self.scenario.model_copy(update={"sowing": self.sowing(plan)})

    def room(self, plan: Cells) -> Scenario:
        """The same to rehearse: the room as it is where that sows the same, so that its years need not be lived
        again."""
        planned = self.planned(plan)
        return self.scenario if sown(planned) == sown(self.scenario) else planned


def sown(scenario: Scenario) -> list[dict[str, object]]:
    """What is sown, by whatever name."""
    lines = [line.model_dump(exclude={"name", "source"}) for line in scenario.sowing]
    return sorted(lines, key=repr)


def steady(frame: Frame) -> Frame:
    """The same lines sown alike all year, whatever is ordered: what is left over in one week helps out elsewhere. Only
    what would be lost in a closing is not sown."""
    lost = lost_by_crop(frame.scenario, [line.crop for line in frame.lines])
    full = tuple(
        tuple((day, float(day not in lost[line.crop])) for day, _ in days)
        for line, days in zip(frame.lines, frame.full, strict=True)
    )
    return Frame(frame.scenario, frame.lines, frame.steps, full)


def sowing_dates(calendar: Calendar, run: RunPlan, weekday: Weekday, lost: Collection[dt.date]) -> list[dt.date]:
    """Every such day of the rehearsed time, and on until nothing more is lost in a closing, however short that time."""
    until = max([run.days, *(calendar.day_of(day) + 7 for day in lost)])
    return [calendar.date(day) for day in range(calendar.first_on(weekday, -run.lead_in_days), until + 1, 7)]


def lost_by_crop(scenario: Scenario, names: Iterable[str]) -> dict[str, frozenset[dt.date]]:
    """Crop -> days on which a sowing of it is lost in a closing."""
    crops = on_paper.crops_by_name(scenario)
    return {name: lost_in_closings(scenario, crops[name]) for name in dict.fromkeys(names)}


def frame_for(scenario: Scenario, run: RunPlan, lines: Sequence[Line], parts: Parts) -> Frame:
    """The frame of a plan with these lines; a line that is wanted on no day is left out.

    parts: of orders, for the lines of the first plan; a line with no part could be for all orders of its own crop.
    """
    kept, steps, full = [], [], []
    lost = lost_by_crop(scenario, [line.crop for line in lines])
    for line in lines:
        days = _shares(scenario, run, line, parts, lost[line.crop])
        if any(share > 0 for _, share in days):
            kept.append(line)
            steps.append(cells_a_step(scenario, line.crop))
            full.append(tuple(days))
    return Frame(scenario, tuple(kept), tuple(steps), tuple(full))


def cells_a_step(scenario: Scenario, crop: str) -> int:
    """Cells of the crop in an eighth of the tray it is sown in."""
    stage = on_paper.crops_by_name(scenario)[crop].stages_in_order()[0]
    return max(1, round(on_paper.trays_by_name(scenario)[stage.tray].places / STEPS_A_TRAY))


def _shares(
    scenario: Scenario, run: RunPlan, line: Line, parts: Parts, lost: Collection[dt.date]
) -> list[tuple[dt.date, float]]:
    """Sowing days of a line and what they are wanted for, as a share of the most that is ever wanted; for nothing on
    days on which a sowing is lost."""
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    crop = on_paper.crops_by_name(scenario)[line.crop]
    later = [7 * round(number * crop.regrowth_days / 7.0) for number in range(crop.harvests)]
    partners = {partner.name: partner for partner in scenario.partners}
    has_part = any((line, each.order) in parts for each in line.feeds)

    def wanted_kg(day: int) -> float:
        """At the pick-ups that a lot sown (or harvested again) as if sown that day can feed."""
        total = 0.0
        for each in line.feeds:
            part = parts.get((line, each.order), 0.0) if has_part else float(each.order.crop != ANY_CROP)
            pick_up = day + each.days
            if part > 0 and not calendar.is_closed(pick_up):
                kg = kg_ordered_on(partners[each.order.partner], each.order.crop, calendar.date(pick_up))
                total += part * kg
        return total

    days = sowing_dates(calendar, run, line.weekday, lost)
    wanted = [0.0 if day in lost else max(wanted_kg(calendar.day_of(day) + weeks) for weeks in later) for day in days]
    most = max(wanted, default=0.0)
    return [(day, kg / most if most > 0 else 0.0) for day, kg in zip(days, wanted, strict=True)]


def _spells(days: Sequence[tuple[dt.date, int]]) -> list[tuple[dt.date, dt.date, int]]:
    """(first day, last day, cells) of each run of sowing days with the same cells; none for runs without."""
    spells: list[tuple[dt.date, dt.date, int]] = []
    for day, cells in days:
        if spells and spells[-1][2] == cells:
            spells[-1] = (spells[-1][0], day, cells)
        else:
            spells.append((day, day, cells))
    return [spell for spell in spells if spell[2] > 0]


def _unused(name: str, taken: set[str]) -> str:
    """The name, or one like it that no line of the room file has."""
    found, number = name[:60], 2
    while found in taken:
        found = f"{name[:56]} {number}"
        number += 1
    taken.add(found)
    return found
