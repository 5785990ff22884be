"""The university lettuce house and what stands where in a log book, for the checks of flow and stock."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from growsim.ledger.book import Book, Level
from growsim.ledger.events import Germinated, Harvested, Lost, Sown, Transplanted
from growsim.scenario.load import scenario_from
from growsim.scenario.scenario import Scenario

LETTUCE_HOUSE = Path(__file__).with_name("lettuce_house.toml")
RUTGERS = "Rutgers Hort. Engineering, fhlettuce.htm"
CORNELL = "Cornell CEA, demonstration facility page"
BOARD_M2 = 0.75  # of a place for a board in the house's file


def lettuce_house(change: Callable[[dict[str, Any]], None] = lambda raw: None) -> Scenario:
    """The house, with its tables changed in place by `change` before they are checked."""
    raw = copy.deepcopy(tomllib.loads(LETTUCE_HOUSE.read_text(encoding="utf-8")))
    change(raw)
    return scenario_from(raw, LETTUCE_HOUSE.name)[0]


def with_growing_area(square_meters: float) -> Callable[[dict[str, Any]], None]:
    """A change: so much growing area, in whole boards."""

    def change(raw: dict[str, Any]) -> None:
        raw["racks"][1]["shelves"][0]["slots"] = int(square_meters / BOARD_M2)

    return change


def stocks(book: Book, scenario: Scenario) -> dict[str, Level]:
    """Seeds and plants in the room by stage, as a level over time, from what the log book says happened to them."""
    crops = {crop.name: crop for crop in scenario.crops}
    order = {name: [stage.name for stage in crop.stages_in_order()] for name, crop in crops.items()}
    levels = {stage: Level(book.begin_minute) for stages in order.values() for stage in stages}
    for record in book.records:
        match record:
            case Sown():
                levels[order[record.crop][0]].add(record.minute, record.seeds)
            case Lost():
                levels[record.stage].add(record.minute, -record.plants)
            case Transplanted():
                stages = order[record.crop]
                levels[stages[stages.index(record.stage) - 1]].add(record.minute, -record.plants)
                levels[record.stage].add(record.minute, record.plants)
            case Harvested() if record.number == crops[record.crop].harvests:
                levels[order[record.crop][-1]].add(record.minute, -record.plants)
            case _:
                pass
    return levels


def came_up(book: Book) -> list[tuple[Germinated, int]]:
    """Every germination, with the minutes it took since the sowing."""
    sown = {(record.lot, record.part): record.minute for record in book.of(Sown)}
    return [(record, record.minute - sown[record.lot, record.part]) for record in book.of(Germinated)]
