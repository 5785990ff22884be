"""Whatever the room: seeds, slots, people, water, electricity and kilograms add up in every replication, exactly."""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from troubled_rooms import Lived, steady, troubled_rooms

from growsim.ledger.book import Book
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.events import (
    Found,
    HandedOut,
    Harvested,
    Lost,
    MetersRead,
    OrderServed,
    Packed,
    Repaired,
    ShiftHeld,
    Sown,
    TaskDone,
    ToppedUp,
    Wasted,
    WentDown,
    Worked,
)
from growsim.ledger.measures import measure
from growsim.scenario.calendar import minute_of

STEADY = steady(25)
a_life = st.builds(Lived, troubled_rooms(), st.integers(0, 1000))


@STEADY
@given(a_life)
def test_every_seed_is_accounted_for(life: Lived) -> None:
    """Seeds sown = not up + pulled + lost by every cause + harvested + still growing, lot by lot and in the figures
    of the catalogue, of which no two count the same plants.
    """
    sown: dict[str, int] = defaultdict(int)
    for record in life.book.records:
        if isinstance(record, Sown):
            sown[record.lot] += record.seeds
        elif isinstance(record, Found):
            sown[record.lot] += record.plants
    gone: dict[str, int] = defaultdict(int)
    for record in life.book.records:
        if (isinstance(record, Lost) and not record.after_harvest) or (
            isinstance(record, Harvested) and record.number == 1
        ):
            gone[record.lot] += record.plants
    for standing in life.book.standing:
        if not standing.was_harvested:
            gone[standing.lot] += standing.plants

    assert {lot: seeds for lot, seeds in sown.items() if seeds} == {
        lot: plants for lot, plants in gone.items() if plants
    }

    outcome = measure(life.book, life.scenario, life.plan, 0)
    lost = sum(outcome.measures[key] for key in CATALOGUE if key.startswith("plants_lost_"))
    in_window = outcome.measures["plants_harvested"] + outcome.measures["plants_growing_at_end"]
    assert outcome.measures["seeds_sown"] == lost + in_window
    assert all(plants >= 0 for plants in outcome.fates.values())


@STEADY
@given(a_life)
def test_no_shelf_is_over_full(life: Lived) -> None:
    """Never more trays on a rack than slots, never fewer than none, and what is free is what nobody holds."""
    used: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for key, level in life.book.levels.items():
        assert min(level.values) >= 0
        if key[0] == "slots":
            changes = [b - a for a, b in zip([0.0, *level.values], level.values, strict=False)]
            used[key[1]] += zip(level.minutes, changes, strict=True)
    for rack in life.scenario.racks:
        total = sum(shelves.total_slots for shelves in rack.shelves)
        held = 0.0
        by_minute: dict[int, float] = defaultdict(float)
        for minute, change in used[rack.name]:
            by_minute[minute] += change
        for minute in sorted(by_minute):
            held += by_minute[minute]
            assert 0 <= held <= total
        free = sum(bay.free for bay in life.room.shelves.bays if bay.rack == rack.name)
        assert free == total - held
    assert all(0 <= bay.free <= bay.total for bay in life.room.shelves.bays)


@STEADY
@given(a_life)
def test_nobody_is_in_two_places(life: Lived) -> None:
    """A person's pieces of work do not overlap, lie inside their shift, and the room is never over-crowded."""
    by_person: dict[str, list[Worked]] = defaultdict(list)
    steps: dict[int, int] = defaultdict(int)
    for work in life.book.of(Worked):
        by_person[work.person].append(work)
        steps[work.began_minute] += 1
        steps[work.minute] -= 1
    for pieces in by_person.values():
        for earlier, later in pairwise(pieces):
            assert earlier.minute <= later.began_minute
    working = 0
    for minute in sorted(steps):
        working += steps[minute]
        assert 0 <= working <= life.scenario.room.people_at_once
    shifts = {shift.name: shift for shift in life.scenario.crew.shifts}
    for work in life.book.of(Worked):
        shift = shifts[work.person.rsplit("/", 1)[0]]
        day = work.began_minute // 1440
        assert life.room.calendar.weekday(day) == ("mon", "tue", "wed", "thu", "fri", "sat", "sun").index(shift.weekday)
        assert not life.room.calendar.is_closed(day)
        assert minute_of(day, shift.start_hour) <= work.began_minute <= work.minute
        assert work.minute <= minute_of(day, shift.start_hour + shift.hours)


@STEADY
@given(a_life)
def test_work_done_fits_the_time_people_were_there(life: Lived) -> None:
    """Minutes worked in a shift are those of its people inside; jobs' minutes are those of their pieces."""
    in_shift: dict[tuple[str, int], int] = defaultdict(int)
    on_job: dict[tuple[str, str], int] = defaultdict(int)
    for work in life.book.of(Worked):
        in_shift[work.person.rsplit("/", 1)[0], work.began_minute // 1440] += work.minute - work.began_minute
        on_job[work.task, work.about] += work.minute - work.began_minute
    for held in life.book.of(ShiftHeld):
        lead_and_came = held.came + held.lead
        assert held.worked_in_room <= min(lead_and_came, life.scenario.room.people_at_once)
        assert held.came <= held.signed_up
        minutes = held.lead_minutes or (held.volunteer_minutes // held.came if held.came else 0)
        assert held.volunteer_minutes == held.came * minutes
        assert in_shift.pop((held.shift, (held.minute - minutes) // 1440), 0) == held.worked_minutes
        assert held.worked_minutes <= held.worked_in_room * minutes
    for done in life.book.of(TaskDone):
        if done.finished and (done.task, done.about) in on_job:
            on_job[done.task, done.about] -= done.worked_minutes
    assert min(on_job.values(), default=0) >= 0


@STEADY
@given(a_life)
def test_water_balances_to_the_milliliter(life: Lived) -> None:
    """Each reservoir: level before - taken - drained + added = level after, between empty and full."""
    levels: dict[str, int] = {}
    for record in life.book.of(ToppedUp):
        before = levels.get(record.reservoir, 0)
        assert record.level_ml == before - record.taken_ml - record.drained_ml + record.added_ml
        assert min(record.taken_ml, record.drained_ml, record.added_ml, record.level_ml) >= 0
        capacity = (
            next(reservoir.capacity_l for reservoir in life.scenario.reservoirs if reservoir.name == record.reservoir)
            * 1000
        )
        assert record.level_ml <= round(capacity)
        assert math.isfinite(record.ec_ms_cm)
        assert record.ec_ms_cm >= 0
        levels[record.reservoir] = record.level_ml


@STEADY
@given(a_life)
def test_lights_burn_power_times_hours(life: Lived) -> None:
    """Each bank's kWh: its power times the minutes its timetable lights it, less those without power or bank.

    Counted minute by minute from the book. Rooms whose thermostat puts lights out have their own test.
    """
    begin, end = -life.plan.lead_in_days * 1440, life.plan.days * 1440
    expected = 0.0
    dark_power = _down(life.book, "power", "", begin, end)
    for spec in life.scenario.lights:
        dark = dark_power | _down(life.book, "lights", spec.name, begin, end)
        on, lit = round(spec.on_hour * 60), round(spec.hours_per_day * 60)
        minutes = sum(1 for minute in range(begin, end) if (minute - on) % 1440 < lit and minute not in dark)
        area = sum(rack.area_m2 for rack in life.scenario.racks if rack.lights == spec.name)
        power_w = spec.ppfd_umol_m2_s * area / spec.efficacy_umol_j / spec.light_on_trays_fraction
        expected += minutes / 60 * power_w / 1000
    readings = list(life.book.of(MetersRead))

    assert readings[-1].kwh_lights == pytest.approx(expected, rel=1e-9)
    for earlier, later in pairwise(readings):
        assert later.kwh_lights >= earlier.kwh_lights
        assert later.kwh_pumps >= earlier.kwh_pumps - 1e-9
        assert later.kwh_heat_pump >= earlier.kwh_heat_pump - 1e-9
        assert later.kwh_fans >= earlier.kwh_fans - 1e-9
    up_minutes = end - begin - len(dark_power)
    assert readings[-1].kwh_fans == pytest.approx(up_minutes * life.scenario.climate.fans_w / 6e4, rel=1e-9)


def _down(book: Book, machine: str, where: str, begin: int, end: int) -> set[int]:
    """Minutes a machine was down."""
    minutes: set[int] = set()
    since: int | None = None
    for record in book.records:
        if isinstance(record, WentDown | Repaired) and (record.machine, record.where) == (machine, where):
            if isinstance(record, WentDown):
                assert since is None
                since = record.minute
            else:
                assert since is not None
                assert record.down_minutes == record.minute - since
                minutes.update(range(since, record.minute))
                since = None
    if since is not None:
        minutes.update(range(since, end))
    return minutes


@STEADY
@given(a_life)
def test_every_gram_can_be_followed(life: Lived) -> None:
    """Packed = handed out + thrown away + left in the store, harvested by harvest; nothing is handed out that was not
    harvest.
    """
    cut: dict[tuple[str, int], list[int]] = defaultdict(list)
    packed: dict[str, int] = defaultdict(int)
    out: dict[str, int] = defaultdict(int)
    for record in life.book.records:
        if isinstance(record, Harvested):
            cut[record.lot, record.part].append(record.grams)
        elif isinstance(record, Packed):
            assert record.grams in cut[record.lot, record.part]
            packed[record.lot] += record.grams
        elif isinstance(record, HandedOut | Wasted):
            out[record.lot] += record.grams
            assert record.grams > 0
            assert out[record.lot] <= packed[record.lot]
    assert sum(packed.values()) == sum(out.values()) + life.room.cooler.grams
    cut_at = {(record.lot, record.minute) for record in life.book.of(Harvested)}
    assert all((record.lot, record.harvest_minute) in cut_at for record in life.book.of(HandedOut))
    to_partners = sum(record.grams for record in life.book.of(HandedOut) if record.partner)
    assert to_partners == sum(record.grams_given for record in life.book.of(OrderServed))
    assert all(0 <= record.grams_given <= record.grams_ordered for record in life.book.of(OrderServed))


@STEADY
@given(a_life)
def test_time_never_runs_backwards(life: Lived) -> None:
    """Records stand in the order of time, from the first day to the last."""
    minutes = [record.minute for record in life.book.records]

    assert minutes == sorted(minutes)
    assert minutes[0] == -life.plan.lead_in_days * 1440
    assert minutes[-1] == life.plan.days * 1440
