"""What the record says stands there, held to the log book of the very room that the record was kept in.

No published figures: the book of a simulated room is the outside that a record of it can be held to.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from growsim.ledger.book import Book
from growsim.ledger.events import Germinated, Harvested, Lost, Sown
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import Records
from growsim.scenario.shelves import Today
from growsim.study.standing import Batch, Count, differences, standing_on
from tests.kept_records import as_csv, kept

ROOM = Path(__file__).parents[2] / "scenarios" / "tiny"
MORNING = 75  # day of the rehearsed year


@pytest.fixture(scope="module")
def room() -> LoadedRoom:
    """The tiny room."""
    return load_scenario(ROOM)


@pytest.fixture(scope="module")
def book(room: LoadedRoom) -> Book:
    """A book of twenty weeks of it."""
    return trace(prepare_room(room), 5, 2, RunPlan(140, 0, "empty"))


@pytest.fixture(scope="module")
def records(room: LoadedRoom, book: Book, tmp_path_factory: pytest.TempPathFactory) -> Records:
    """The record its people would have kept."""
    return read_records(as_csv(kept(book, room.scenario), tmp_path_factory.mktemp("kept")), room.scenario)


def day(room: LoadedRoom, number: int) -> dt.date:
    """A day of the room's calendar."""
    return room.scenario.room.start_date + dt.timedelta(days=number)


def plants_in(book: Book, until: int) -> dict[tuple[str, int], int]:
    """(crop, day sown) -> plants alive on the morning of a day, of lots that had germinated by then."""
    lots: dict[str, tuple[str, int]] = {}
    alive: dict[str, int] = {}
    for event in book.records:
        if event.minute >= until * 1440:
            continue
        if isinstance(event, Sown):
            lots.setdefault(event.lot, (event.crop, event.minute // 1440))
        elif isinstance(event, Germinated):
            alive[event.lot] = alive.get(event.lot, 0) + event.filled_cells
        elif isinstance(event, Lost) and event.lot in alive and event.cause not in ("thinned", "not_emerged"):
            alive[event.lot] -= event.plants
        elif isinstance(event, Harvested):
            alive[event.lot] = alive.get(event.lot, 0) - event.plants
    return {lots[lot]: plants for lot, plants in alive.items() if plants > 0}


def test_the_record_of_a_room_tells_what_stands_in_it(room: LoadedRoom, book: Book, records: Records) -> None:
    """Plant by plant, but for losses that are only told with the harvest."""
    start = room.scenario.room.start_date
    standing = standing_on(records, room.scenario, day(room, MORNING))
    told = {(each.crop, (each.sown - start).days): each.plants for each in standing.batches}
    lived = plants_in(book, MORNING)
    assert len(lived) >= 4
    assert set(lived) <= set(told)
    for planting, plants in lived.items():
        assert abs(told[planting] - plants) <= max(2, 0.05 * plants)  # some handling losses are told with the harvest
    not_up = {planting: plants for planting, plants in told.items() if planting not in lived}
    assert all(MORNING - sown < 8 for _, sown in not_up)
    assert standing.is_all
    assert not standing_on(records, room.scenario, day(room, 10)).is_all


def test_what_nobody_counted_is_a_range(room: LoadedRoom, records: Records) -> None:
    """A binomial's eight in ten and the room's own spread; checked against many draws elsewhere (germination)."""
    bare = replace(records, bits=tuple(replace(row, emerged=None, lost=None, lost_to=None) for row in records.bits))
    batches = standing_on(bare, room.scenario, day(room, MORNING)).batches
    old = [each for each in batches if (day(room, MORNING) - each.sown).days > 10]
    assert old
    for each in old:
        assert each.low < each.plants < each.high
        assert each.unsure


def test_a_recount_is_believed_and_the_record_goes_on_from_it(room: LoadedRoom, records: Records) -> None:
    """A planting of which the count says 5 fewer has 5 fewer from then on, and the difference is told."""
    counted_on = day(room, MORNING)
    by_record = standing_on(records, room.scenario, counted_on)
    one = next(each for each in by_record.batches if each.plants > 12 and not each.unsure)
    lots = tuple(replace(lot, plants=lot.plants - 5) if lot.lot == one.label else lot for lot in by_record.today.lots)
    count = Count(counted_on, Today(lots))
    found = differences(records, room.scenario, count, [])
    assert [(each.crop, each.sown, each.by_record - each.counted) for each in found] == [(one.crop, one.sown, 5)]
    later = standing_on(records, room.scenario, counted_on + dt.timedelta(days=1), [count])
    alone = standing_on(records, room.scenario, counted_on + dt.timedelta(days=1))

    def of(batches: tuple[Batch, ...]) -> int:
        return sum(each.plants for each in batches if (each.crop, each.sown) == (one.crop, one.sown))

    assert of(alone.batches) - of(later.batches) in (5, 0)  # 0 where it was harvested that very day
    assert later.counted == counted_on


def test_more_than_the_shelves_hold_is_said(room: LoadedRoom) -> None:
    """And what they hold is kept."""
    crop = room.scenario.crops[0]
    stage = crop.stages_in_order()[-1].name
    today = Today((ShelfLot("x", crop.name, stage, 20, 100_000),))
    count = Count(day(room, 30), today)
    standing = standing_on(Records(), room.scenario, day(room, 30), [count])
    held = sum(each.plants for each in standing.batches)
    assert 0 < held < 100_000
    assert [each.plants for each in standing.no_room] == [100_000 - held]
