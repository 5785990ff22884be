"""What can be done about what holds a room back: each thing as a CHANGE to the room file, by obstacle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, zip_longest
from typing import Any, Final

from growsim.ledger.outcome import Outcome
from growsim.ledger.tallies import SKIPPED
from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.people import Shift
from growsim.scenario.scenario import Scenario
from growsim.study.causes import Cause
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS
from growsim.vocabulary.losses import COLD, HEAT
from growsim.vocabulary.machines import HEAT_PUMP
from growsim.vocabulary.obstacles import RESERVOIR_LOW, parts_of
from growsim.vocabulary.tasks import TASKS

MOST: Final = 8  # trials; more would cost a planner's waiting time and say little more
MORE_PEOPLE: Final = 2  # on a shift: one more seldom shows
SPOILED: Final = 0.05  # of what is packed: from there on another day of giving away is tried
LED: Final = ("harvest", "transplant", "sow")  # work that may wait for a lead
SEED: Final = "seed"
PEOPLE: Final = "people"
SOWING_DAYS: Final = "sowing days"
SHORT: Final = 0.02  # of what is ordered: from there on more is sown, and less
OTHER_SEED: Final = 0.2  # of what is sown today: more of it, or less
A_HALF: Final = 0.5  # of cooling or heating
OF_AIR: Final = (HEAT.key, COLD.key)


@dataclass(frozen=True)
class Trial:
    """Something one can do. name: what, as one says it: "harvest on Tuesdays too". kind: what it lifts. tables: as a
    CHANGE file. touches: the machine whose outages alone it is about; "" where it may matter in any year."""

    name: str
    kind: str
    tables: dict[str, Any] = field(hash=False)
    touches: str = ""

    def may_act(self, outcome: Outcome) -> bool:
        """Whether that year without it could be another with it."""
        return not self.touches or any(outage.machine == self.touches for outage in outcome.outages)


OPEN: Final = Trial("no closed days", "closings", {"room": {"closed_days": []}})  # measured: nobody moves a holiday
FULL: Final = Trial("full shelves at the start", "start", {})  # measured: bare shelves take their weeks to fill


def trials_for(room: Scenario, causes: Sequence[Cause], spoiled: float, *, lacking: str = "") -> tuple[Trial, ...]:
    """What is worth trying, by turns for each cause from the heaviest on. spoiled: share of what is packed. lacking:
    the crop of which partners lack most, "" where they lack nothing."""
    kinds = {
        "harvest days": lambda cause: harvest_days(room, without_lead="no lead" in cause.held_up),
        "leads": lambda cause: leads(room),
        "people": lambda cause: more_people(room),
        "slots": lambda cause: slots(room, cause),
        "reservoirs": lambda cause: float_valves(room, cause),
        "machines": lambda cause: machines(room, cause),
        "air": lambda cause: air(room, cause),
    }
    of_causes = [
        kinds[part.lift](cause)
        for cause in causes
        for part in parts_of(cause.held_up)
        if part.lift in kinds and (part is RESERVOIR_LOW or not cause.is_of_closing)  # a valve works while closed
    ]
    if spoiled >= SPOILED:
        of_causes.insert(0, giving_away(room))
    if lacking:
        of_causes[:0] = [kept_longer(room), sown_on_other_days(room, lacking), *map(iter, zip(other_seed(room)))]
    by_turns = (trial for turn in zip_longest(*of_causes, more_people(room)) for trial in turn if trial is not None)
    return tuple(islice({trial.name: trial for trial in by_turns}.values(), MOST))


def harvest_days(room: Scenario, *, without_lead: bool = False) -> Iterator[Trial]:
    """One harvest day more, on a day with a shift; without_lead: also where only a lead may harvest and none comes."""
    needs_lead = any(task.name == "harvest" and task.needs_lead for task in room.crew.tasks)
    for weekday in WEEKDAYS:
        shifts = [shift for shift in room.crew.shifts if shift.weekday == weekday]
        if not shifts or weekday in room.harvest.weekdays:
            continue
        days = [day for day in WEEKDAYS if day in (*room.harvest.weekdays, weekday)]
        tables: dict[str, Any] = {"harvest": {"weekdays": days}}
        name = f"harvest on {NAME_OF_WEEKDAY[weekday]}s too"
        if not needs_lead or any(shift.lead for shift in shifts):
            yield Trial(name, "harvest days", tables)
        elif without_lead:
            anybody = {"tasks": [{"name": "harvest", "needs_lead": False}]}
            yield Trial(f"{name}, with or without a lead", "harvest days", {**tables, "crew": anybody})
            led = {"shifts": [{"name": shifts[0].name, "lead": True}]}
            yield Trial(f"{name}, with a lead on {shift_words(shifts[0])}", "harvest days", {**tables, "crew": led})


def leads(room: Scenario) -> Iterator[Trial]:
    """Work that waits for a lead done by anybody; a lead on shifts that have none."""
    for task in room.crew.tasks:
        if task.needs_lead and task.name in LED:
            tables = {"crew": {"tasks": [{"name": task.name, "needs_lead": False}]}}
            yield Trial(f"{TASKS[task.name].doing} by anybody, with or without a lead", "leads", tables)
    for shift in room.crew.shifts:
        if not shift.lead:
            yield Trial(
                f"a lead on {shift_words(shift)}",
                "leads",
                {"crew": {"shifts": [{"name": shift.name, "lead": True}]}},
            )


def more_people(room: Scenario) -> Iterator[Trial]:
    """Some more people on every shift, and on each alone."""
    shifts = room.crew.shifts
    if not shifts:
        return
    everywhere = _with_people(room, shifts)
    yield Trial(f"{MORE_PEOPLE} more people on every shift", PEOPLE, everywhere)
    if len(shifts) > 1:
        for shift in shifts:
            yield Trial(f"{MORE_PEOPLE} more people on {shift_words(shift)}", PEOPLE, _with_people(room, [shift]))


def _with_people(room: Scenario, shifts: Sequence[Shift]) -> dict[str, Any]:
    changes: list[dict[str, Any]] = [more_on(shift, MORE_PEOPLE) for shift in shifts]
    most = max(max((shift.people, *shift.people_by_month)) + shift.lead for shift in shifts) + MORE_PEOPLE
    tables: dict[str, Any] = {"crew": {"shifts": changes}}
    if most > room.room.people_at_once:
        tables["room"] = {"people_at_once": most}
    return tables


def more_on(shift: Shift, people: int) -> dict[str, Any]:
    """A shift with so many more people, as a CHANGE file has it."""
    change: dict[str, Any] = {"name": shift.name, "people": shift.people + people}
    if shift.people_by_month:
        change["people_by_month"] = [now + people for now in shift.people_by_month]
    return change


def shift_words(shift: Shift) -> str:
    """A shift by its day and name."""
    day = NAME_OF_WEEKDAY[shift.weekday]
    return shift.name if day.lower() in shift.name.lower() else f"{day} ({shift.name})"


def slots(room: Scenario, cause: Cause) -> Iterator[Trial]:
    """Slots of the stage that was waited for: on other shelves too, or on one shelf more."""
    crops, trays = on_paper.crops_by_name(room), on_paper.trays_by_name(room)
    for share in cause.shares:
        first, *later = crops[share.crop].stages_in_order()
        for stage in [first] if share.what == SKIPPED else later:
            groups = [(rack, group) for rack in room.racks for group in rack.shelves if group.fits(trays[stage.tray])]
            for rack, group in groups:
                if stage.name not in group.stages and group.total_slots:
                    shelves = [{"name": group.name, "stages": [*group.stages, stage.name]}]
                    yield Trial(
                        f"{stage.name} trays on the {group.name} shelves of {rack.name} too", "slots",
                        {"racks": [{"name": rack.name, "shelves": shelves}]},
                    )  # fmt: skip
            open_to_it = [(rack, group) for rack, group in groups if stage.name in group.stages]
            if open_to_it:
                rack, group = max(open_to_it, key=lambda pair: pair[1].total_slots)
                more = [{"name": group.name, "count": group.count + 1}]
                kind = "shelf" if group.name in ("shelf", "shelves") else f"{group.name} shelf"
                yield Trial(
                    f"one more {kind} on {rack.name} (for {group.slots} trays)", "slots",
                    {"racks": [{"name": rack.name, "shelves": more}]},
                )  # fmt: skip


def float_valves(room: Scenario, cause: Cause) -> Iterator[Trial]:
    """Reservoirs that fill themselves, of those whose racks may hold what dried out: all of them together."""
    crops = on_paper.crops_by_name(room)
    stages = {stage.name for share in cause.shares for stage in crops[share.crop].stages}
    racks = [rack for rack in room.racks if any(stages & set(group.stages) for group in rack.shelves)]
    fed = {rack.reservoir for rack in racks}
    names = [each.name for each in room.reservoirs if each.top_up == "by hand" and each.name in fed]
    if names:
        tables = {"reservoirs": [{"name": name, "top_up": "float valve"} for name in names]}
        yield Trial(f"a float valve on {' and on '.join(names)}", "reservoirs", tables)


def machines(room: Scenario, cause: Cause) -> Iterator[Trial]:
    """A spare part for heating and cooling where air killed; a second pump on every reservoir that has one."""
    reliability = room.climate.reliability
    if reliability.spares == 0 and any(share.what in OF_AIR for share in cause.shares):
        tables: dict[str, Any] = {"climate": {"reliability": {"spares": 1}}}
        yield Trial("a spare part for heating and cooling on the shelf", "machines", tables, HEAT_PUMP.key)
    if all(share.what in OF_AIR for share in cause.shares):
        return
    alone = [reservoir.name for reservoir in room.reservoirs if reservoir.pump.count == 1]
    if alone:
        tables = {"reservoirs": [{"name": name, "pump": {"count": 2}} for name in alone]}
        yield Trial("a second pump on every reservoir", "machines", tables)


def air(room: Scenario, cause: Cause) -> Iterator[Trial]:
    """Half as much cooling again where heat kills, heating where cold does."""
    for key, kind in ((HEAT.key, "cooling"), (COLD.key, "heating")):
        now = getattr(room.climate, f"{kind}_kw")
        if any(share.what == key for share in cause.shares):
            tables = {"climate": {f"{kind}_kw": round((1.0 + A_HALF) * now, 2)}}
            yield Trial(f"{(1.0 + A_HALF) * now:.3g} kW of {kind} instead of {now:.3g} kW", "air", tables)


def other_seed(room: Scenario) -> Iterator[Trial]:
    """More of everything, and less, for what is crowded ripens late. How much of what is for `sow` to find."""
    for word, share, whole in (("more", 1.0 + OTHER_SEED, math.ceil), ("less", 1.0 - OTHER_SEED, math.floor)):
        lines = [{"name": line.name, "cells": max(1, whole(share * line.cells))} for line in room.sowing]
        if lines:
            yield Trial(f"sowing {OTHER_SEED:.0%} {word} of everything", SEED, {"sowing": lines})


def sown_on_other_days(room: Scenario, crop: str) -> Iterator[Trial]:
    """A crop sown one shift later in the week, one earlier, or two later: it is ripe for another harvest day."""
    shifts = [day for day in WEEKDAYS if any(shift.weekday == day for shift in room.crew.shifts)]
    lines = [line for line in room.sowing if line.crop == crop and line.weekday in shifts]
    today = sorted((line.weekday, line.cells) for line in lines)
    for step in (1, -1, 2):
        days = [shifts[(shifts.index(line.weekday) + step) % len(shifts)] for line in lines]
        if sorted(zip(days, (line.cells for line in lines), strict=True)) == today:
            continue
        said = " and ".join(f"{NAME_OF_WEEKDAY[day]}s" for day in shifts if day in days)
        tables = {"sowing": [{"name": line.name, "weekday": day} for line, day in zip(lines, days, strict=True)]}
        yield Trial(f"sowing {crop} on {said} instead", SOWING_DAYS, tables)


def kept_longer(room: Scenario) -> Iterator[Trial]:
    """Greens handed out for as long as they keep, where today they are thrown away or given away before."""
    ordered = {order.crop for partner in room.partners for order in partner.orders}
    keep_days = max((crop.shelf_life_days for crop in room.crops if ordered & {crop.name, ANY_CROP}), default=0.0)
    today = room.harvest.longest_wait_days
    if keep_days > today:
        tables = {"harvest": {"longest_wait_days": keep_days}}
        yield Trial(f"keeping greens up to {keep_days:g} days in the cooler instead of {today:g}", "greens", tables)


def giving_away(room: Scenario) -> Iterator[Trial]:
    """Another day of giving away: the day of a pick-up, when partners have had theirs, or a harvest day."""
    for weekday in dict.fromkeys((*(partner.weekday for partner in room.partners), *room.harvest.weekdays)):
        if weekday != room.harvest.surplus_weekday:
            tables = {"harvest": {"surplus_weekday": weekday}}
            yield Trial(f"giving away on {NAME_OF_WEEKDAY[weekday]}s", "greens", tables)
