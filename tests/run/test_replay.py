"""A replication looked at day by day: what is shown agrees with the log book, and looking changes nothing."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from growsim.ledger import events
from growsim.run.prepare import Prepared, prepare
from growsim.run.replay.day import STATES
from growsim.run.replay.watch import Holder, SlotPlaces, Watched, watch
from growsim.run.replicate import ON_PAPER, trace, trace_on_paper
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DAYS = 60


@pytest.fixture(scope="module", params=["tiny", "millrace"])
def prepared(request: pytest.FixtureRequest) -> Prepared:
    """A room with its curves."""
    return prepare(load_scenario(SCENARIOS / request.param).scenario)


@pytest.fixture(scope="module")
def plan(prepared: Prepared) -> RunPlan:
    """Some weeks of a room that has been running."""
    return RunPlan(DAYS, prepared.scenario.rehearsal.warm_up_days)


@pytest.fixture(scope="module")
def watched(prepared: Prepared, plan: RunPlan) -> Watched:
    """Some weeks of it, watched at half past ten."""
    return watch(prepared, 7, 1, plan, hour=10.5)


def test_looking_changes_nothing(prepared: Prepared, plan: RunPlan, watched: Watched) -> None:
    """The book of a watched year is, record by record, the book of the year nobody watched."""
    assert watched.book.records == trace(prepared, 7, 1, plan).records
    assert watched.book.standing == trace(prepared, 7, 1, plan).standing


def test_trays_shown_are_the_ledgers_slots_in_use(watched: Watched) -> None:
    """Every day, on every rack and in every stage, as many trays are shown as the log book counts slots in use."""
    for day in watched.replay.days:
        shown: dict[tuple[str, str], int] = {}
        for trays in day.trays:
            key = (watched.replay.shelves[trays.shelf].rack, trays.stage)
            shown[key] = shown.get(key, 0) + len(trays.slots)
        minute = day.day * 1440 + 630
        counted = {
            (key[1], key[2]): round(level.means(minute, 1, 1)[0])
            for key, level in watched.book.levels.items()
            if key[0] == "slots"
        }

        assert shown == {key: trays for key, trays in counted.items() if trays}, day.date


def test_no_shelf_is_over_full_and_no_slot_holds_two(watched: Watched) -> None:
    """Slots of a shelf are numbered from 0, each holds one tray, of a stage that may stand there."""
    for day in watched.replay.days:
        taken: set[tuple[int, int]] = set()
        for trays in day.trays:
            shelf = watched.replay.shelves[trays.shelf]
            assert trays.state in STATES
            assert trays.stage in shelf.stages
            for slot in trays.slots:
                assert 0 <= slot < shelf.slots
                assert (trays.shelf, slot) not in taken
                taken.add((trays.shelf, slot))


def test_a_day_without_work_moves_no_tray(watched: Watched) -> None:
    """Trays keep their slots: from a day to a next one on which nobody worked, nothing growing has another place."""
    days = watched.replay.days
    for before, after in pairwise(days):
        if before.work or after.work:
            continue
        where = {(trays.shelf, slot): trays.lot for trays in before.trays for slot in trays.slots}
        for trays in after.trays:
            if trays.state in ("seed", "growing"):
                assert all(where.get((trays.shelf, slot)) == trays.lot for slot in trays.slots)
    assert any(after.trays for after in days[1:])


def test_plants_shown_are_those_the_book_leaves(prepared: Prepared, plan: RunPlan, watched: Watched) -> None:
    """On the last day, when nothing happens after the look, plants shown are the plants the book leaves standing."""
    late = watch(prepared, 7, 1, plan, hour=23.99).replay.days[-1]
    left: dict[tuple[str, str], int] = {}
    sown = {record.lot for record in watched.book.of(events.Germinated)}
    extra = {(record.lot, record.part): record.extra_seedlings for record in watched.book.of(events.Germinated)}
    for lost in watched.book.of(events.Lost):
        if lost.cause == "thinned":
            extra.pop((lost.lot, lost.part), None)
    for standing in watched.book.standing:
        if standing.lot in sown:
            plants = standing.plants - extra.get((standing.lot, standing.part), 0)
            left[standing.lot, standing.stage] = left.get((standing.lot, standing.stage), 0) + plants
    total: dict[tuple[str, str], float] = {}
    for trays in late.trays:
        if trays.state in ("growing", "to move", "to harvest"):
            share = trays.plants * len(trays.slots) / trays.stand_trays
            total[trays.lot, trays.stage] = total.get((trays.lot, trays.stage), 0) + share

    assert total
    assert {key: plants for key, plants in left.items() if key in total} == pytest.approx(total)


def test_days_add_up_to_the_book(watched: Watched) -> None:
    """What is harvested, lost, sown and handed out, summed over days, is what the log book says of the whole time."""
    end = DAYS * 1440
    days = watched.replay.days

    def booked(kind: type, amount: str) -> int:
        return sum(getattr(record, amount) for record in watched.book.of(kind) if 0 <= record.minute < end)

    assert sum(one.plants for day in days for one in day.harvested) == booked(events.Harvested, "plants") > 0
    assert sum(one.grams for day in days for one in day.harvested) == booked(events.Harvested, "grams")
    assert sum(one.plants for day in days for one in day.lost) == booked(events.Lost, "plants") > 0
    assert sum(one.plants for day in days for one in day.sown if one.what == "sown") == booked(events.Sown, "seeds")
    assert sum(day.handed_out_grams for day in days) == booked(events.HandedOut, "grams") > 0
    assert sum(order.grams_given for day in days for order in day.orders) == booked(events.OrderServed, "grams_given")


def test_people_and_minutes_are_the_shifts(watched: Watched) -> None:
    """Minutes of work by task are the minutes worked in the day's shifts; nobody works who did not come."""
    for day in watched.replay.days:
        assert sum(work.minutes for work in day.work) == sum(shift.worked_minutes for shift in day.shifts)
        inside = sum(shift.in_room + shift.lead for shift in day.shifts)
        assert all(work.people <= inside for work in day.work)


def test_machines_down_are_the_books() -> None:
    """Hours a machine is down, summed over days, are those of the log book."""
    millrace = prepare(load_scenario(SCENARIOS / "millrace").scenario)
    seen = watch(millrace, 3, 0, RunPlan(364, millrace.scenario.rehearsal.warm_up_days))
    shown = sum(down.until_minute - down.from_minute for day in seen.replay.days for down in day.down)
    repaired = [record for record in seen.book.of(events.Repaired) if record.minute > 0]
    booked = sum(min(record.down_minutes, record.minute) for record in repaired)
    open_spells = shown - booked

    assert booked > 0
    assert open_spells >= 0
    assert {down.machine for day in seen.replay.days for down in day.down} >= {record.machine for record in repaired}


def test_on_paper_and_from_a_shelves_file() -> None:
    """The plan on paper can be watched, and so can a room that starts from today's shelves."""
    tiny = prepare(load_scenario(SCENARIOS / "tiny").scenario)
    shelves = (
        ShelfLot("heads", "small head", "head", 20, 24, "rack"),
        ShelfLot("sheet", "cutting leaf", "seedling", 1, 60),
    )
    plan = RunPlan(14, start="shelves", shelves=shelves)
    paper = watch(tiny, 0, ON_PAPER, plan)

    assert paper.book.records == trace_on_paper(tiny, plan).records
    first = {(trays.lot, trays.state, trays.plants) for trays in paper.replay.days[0].trays}
    assert ("on the shelves/heads", "growing", 24) in first
    assert ("on the shelves/sheet", "seed", 60) in first


def test_only_numbers_and_hours_that_exist() -> None:
    """Replications are numbered from 0, hours run from 0 to 24."""
    tiny = prepare(load_scenario(SCENARIOS / "tiny").scenario)
    with pytest.raises(ValueError, match="numbered from 0"):
        watch(tiny, 0, -2, RunPlan(1))
    with pytest.raises(ValueError, match="no hour"):
        watch(tiny, 0, 0, RunPlan(1), hour=24)


def test_a_tray_keeps_its_slot() -> None:
    """Whoever stays keeps their slots, washing takes over those of the trays it empties, newcomers fill the gaps."""
    places = SlotPlaces(6)

    assert places.settle([Holder("a", 2), Holder("b", 2)]) == [(0, 1), (2, 3)]
    assert places.settle([Holder("b", 1), Holder("washing b", 1, after="b")]) == [(2,), (3,)]
    assert places.settle([Holder("b", 1), Holder("c", 3)]) == [(2,), (0, 1, 3)]
    with pytest.raises(ValueError, match="7 trays in 6 slots"):
        places.settle([Holder("b", 7)])
