"""Little's law in every room that comes with growsim: stock = flow x time, from the log book.

Source: Little 1961, *Operations Research* 9 (the law itself, from memory). The three are counted apart: the stock is
what stands in the room at each moment, the flow is what is sown, the time is how long what left had been there.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from checks_table import PublishedChecks
from published.houses import stocks

from growsim.ledger.book import Book
from growsim.ledger.events import Harvested, Lost, Sown
from growsim.room.model import simulate
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

ROOMS = sorted((Path(__file__).parents[2] / "scenarios").glob("*/room.toml"))
PLAN = RunPlan(days=364, warm_up_days=112)
END = PLAN.days * 1440
YEARS = 2


def days_in_room(book: Book, prepared: Prepared) -> tuple[float, int]:
    """(plant-days, plants) of the seeds and plants that left in the counted year."""
    sown: dict[str, list[int]] = {}
    for record in book.of(Sown):
        sown.setdefault(record.lot, []).append(record.minute)
    first = {lot: sum(minutes) / len(minutes) for lot, minutes in sown.items()}
    cuts = {crop.name: crop.harvests for crop in prepared.scenario.crops}
    left = [
        (record.minute - record.sown_minute, record.plants)
        for record in book.of(Harvested)
        if record.minute >= 0 and record.number == cuts[record.crop]
    ]
    left += [(record.minute - first[record.lot], record.plants) for record in book.of(Lost) if record.minute >= 0]
    return sum(minutes * plants for minutes, plants in left) / 1440, sum(plants for _, plants in left)


@pytest.mark.parametrize("room", ROOMS, ids=lambda path: path.parent.name)
def test_stock_is_flow_times_time(room: Path, published_check: PublishedChecks) -> None:
    """Seeds and plants in the room, over two years of luck, within one per cent."""
    prepared = prepare(load_scenario(room).scenario)
    stock = flow = plant_days = plants = 0.0
    for i in range(YEARS):
        book = trace(prepared, 2031, i, PLAN)
        levels = stocks(book, prepared.scenario).values()
        stock += sum(level.means(0, END, 1)[0] for level in levels) / YEARS
        flow += sum(record.seeds for record in book.of(Sown) if record.minute >= 0) / PLAN.days / YEARS
        days, left = days_in_room(book, prepared)
        plant_days, plants = plant_days + days, plants + left
        standing = sum(standing.plants for standing in book.standing)
        assert sum(level.value for level in levels) == standing  # the book's happenings against what is really there

    published_check(
        f"stock over flow × time ({room.parent.name})", "Little's law", 1,
        round(stock / (flow * plant_days / plants), 2), checks=simulate, how=f"{YEARS} replications", within_percent=1,
    )  # fmt: skip
