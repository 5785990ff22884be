"""Cross-check of the sowing plan against the slots of each stage, day by day."""

from __future__ import annotations

from collections.abc import Iterator

from growsim.scenario.ahead import SOWING_WAITS_DAYS, GivenUp, given_up
from growsim.scenario.place import Shelves
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS

MOST_TOLD = 6
RARELY = 0.05  # of a line's sowings: on paper only, and less than chance brings; nobody is warned of it
TRIED_FOR = 3  # lines for which a remedy is tried; each try is a year on paper


def slots_on_every_day(scenario: Scenario) -> Iterator[Finding]:
    """Warning: on paper some of a line's plants find no slot of a stage as long as they can wait."""
    found = sorted(short_of_slots(scenario), key=lambda each: -each.plants) if scenario.crew.shifts else []
    for number, lost in enumerate(found[:MOST_TOLD]):
        waited = f"within {SOWING_WAITS_DAYS} days, and is not sown" if lost.is_first else "in time, and is lost"
        yield (
            f"sowing.{lost.line.name}.cells",
            f"even if every step is kept, in {len(lost.sowings)} of {lost.planned} sowings {lost.line.crop} finds no "
            f"free slot of the {lost.stage} stage {waited}: {_slots(lost)} may hold it{_beside(lost)}",
            _remedy(scenario, lost) if number < TRIED_FOR else "sow less, or permit that stage on more shelves",
        )


def short_of_slots(scenario: Scenario) -> list[GivenUp]:
    """What the plan gives up on paper for lack of slots, and not only now and then."""
    return [each for each in given_up(scenario) if len(each.sowings) > RARELY * each.planned]


def _slots(lost: GivenUp) -> str:
    return f"{lost.slots} slot" if lost.slots == 1 else f"{lost.slots} slots"


def _beside(lost: GivenUp) -> str:
    crops = sorted(lost.beside, key=lambda crop: (-lost.beside[crop], crop))
    return f", taken by {' and '.join(crops[:2])}" if crops else ""


def _remedy(scenario: Scenario, lost: GivenUp) -> str:
    """What was tried on paper and gives this line its slots without taking those of another."""
    before = {(each.line.name, each.stage): each.plants for each in given_up(scenario)}

    def helps(changed: Scenario) -> bool:
        after = {(each.line.name, each.stage): each.plants for each in given_up(changed)}
        gone = (lost.line.name, lost.stage) not in after
        return gone and all(plants <= before.get(key, 0.0) for key, plants in after.items())

    ways = []
    for weekday in WEEKDAYS:
        held = any(shift.weekday == weekday for shift in scenario.crew.shifts)
        if held and weekday != lost.line.weekday and helps(_with_line(scenario, lost, {"weekday": weekday})):
            ways.append(f"sow it on {NAME_OF_WEEKDAY[weekday]}s")
            break
    fewest, most = 0, lost.line.cells
    while most - fewest > max(1, lost.line.cells // 16):
        middle = (fewest + most) // 2
        fewest, most = (middle, most) if helps(_with_line(scenario, lost, {"cells": middle})) else (fewest, middle)
    if fewest:
        ways.append(f"sow at most {fewest} {_unit(scenario, lost)}{'s' if fewest > 1 else ''}")
    if helps(_with_slots(scenario, lost)):
        ways.append(f"give the {lost.stage} stage {lost.trays} more {'slot' if lost.trays == 1 else 'slots'}")
    return ", or ".join(ways) if ways else "sow less, or permit that stage on more shelves"


def _unit(scenario: Scenario, lost: GivenUp) -> str:
    return next(crop.sown_unit for crop in scenario.crops if crop.name == lost.line.crop)


def _with_line(scenario: Scenario, lost: GivenUp, update: dict[str, object]) -> Scenario:
    lines = [line.model_copy(update=update) if line.name == lost.line.name else line for line in scenario.sowing]
    return scenario.model_copy(update={"sowing": tuple(lines)})


def _with_slots(scenario: Scenario, lost: GivenUp) -> Scenario:
    """As many more slots of the stage alone as its worst sowing lacked."""
    rack = next(rack for rack in scenario.racks if any(lost.stage in shelves.stages for shelves in rack.shelves))
    like = next(shelves for shelves in rack.shelves if lost.stage in shelves.stages)
    more: Shelves = like.model_copy(
        update={"name": f"{like.name} and more", "count": 1, "slots": lost.trays, "stages": (lost.stage,)}
    )
    racks = [
        each.model_copy(update={"shelves": (*each.shelves, more)}) if each.name == rack.name else each
        for each in scenario.racks
    ]
    return scenario.model_copy(update={"racks": tuple(racks)})
