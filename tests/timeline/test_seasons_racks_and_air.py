"""Seasons of the sowing plan, plants on two racks, cool rooms, CO2, strong solution; by hand, in the round room."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from small_rooms import DAY, lived, scenario_of, tables

from growsim.chance.streams import Luck
from growsim.ledger.events import Germinated, Harvested, MetersRead, ShiftHeld, TaskDue, ToppedUp, Transplanted
from growsim.room.rota import Rota
from growsim.scenario.calendar import Calendar

LOT = "2031-01-06/lettuce/Mondays"


def sowing_days(days: int, **line: Any) -> list[int]:
    """Days on which sowing falls due."""
    raw = tables()
    raw["sowing"] = [{"name": "line", "crop": "lettuce", "cells": 10, "weekday": "mon", **line}]
    return [due.minute // DAY for due in lived(raw, days).of(TaskDue) if due.task == "sow"]


def test_when_a_line_of_the_plan_falls_due() -> None:
    """Day 0 is Monday, 6 January 2031; 3 February is day 28, 3 March day 56. The nursery has two slots and a lot needs
    one for 10 days, so every Monday's gets one."""
    assert sowing_days(30) == [0, 7, 14, 21, 28]
    assert sowing_days(30, weekday="wed") == [2, 9, 16, 23]
    assert sowing_days(30, weekday="sun", every_weeks=2) == [6, 20]
    assert sowing_days(30, first_week=2) == [14, 21, 28]
    assert sowing_days(60, every_weeks=3, first_week=1) == [7, 28, 49]
    assert sowing_days(60, months=[2]) == [28, 35, 42, 49]
    assert sowing_days(60, from_date="2031-02-03", until_date="2031-02-17") == [28, 35, 42]
    assert sowing_days(60, from_date="2031-02-04", until_date="2031-02-16") == [35]


def test_plants_of_one_lot_on_two_racks() -> None:
    """Nine plants in three trays; the first rack has two slots, the second, which is emptier, one: four go to the
    second as part 2, five to the first. Both are moved on day 10: 3 + 4 = 7 min from 9:00 and 3 + 5 = 8 min.

    The sheet is empty and washed when the last has left it.
    """
    raw = tables()
    raw["racks"][0]["shelves"][1]["slots"] = 2
    raw["racks"].append({**raw["racks"][0], "name": "second"})
    raw["racks"][1]["shelves"] = [{**raw["racks"][0]["shelves"][1], "slots": 1}]
    book = lived(raw, 30)

    assert sorted((moved.plants, moved.trays, moved.rack, moved.part) for moved in book.of(Transplanted)) == [
        (4, 1, "second", 2),
        (5, 2, "rack", 1),
    ]
    assert sorted(moved.minute for moved in book.of(Transplanted)) in ([14947, 14955], [14948, 14955])
    assert next((due.minute, due.units) for due in book.of(TaskDue) if due.task == "wash") == (14955, 1)
    assert sorted(cut.plants for cut in book.of(Harvested)) == [4, 5]


def test_seeds_come_up_later_in_a_cool_room() -> None:
    """No heating, 5 °C outside, 200 W of light over 20 W/K: 15 °C instead of the 20 wanted. Between 10 °C (6 days) and
    20 °C (3 days): 4.5 days; and 0.8 of the seeds that would germinate, of 0.75: 0.6 each.

    Of 10 cells none in 0.4² = 0.16 (1.6, so 2), one in 2 × 0.6 × 0.4 / 0.84 = 0.571 of 8 (4.6, so 5), two in 3.
    """
    raw = tables()
    raw["room"]["outdoor_temperature_c"] = [5] * 12
    raw["climate"]["heating_kw"] = 0
    raw["crops"][0]["emergence"] = {"temperature_c": [10, 20], "days": [6, 3], "relative_fraction": [0.6, 1]}
    book = lived(raw, 10)

    assert list(book.of(Germinated)) == [Germinated(555 + 6480, LOT, 1, "lettuce", 8, 3, 9)]
    assert [reading.warmest_c for reading in book.of(MetersRead)][1:] == [15, 15]


def test_a_cool_spell_makes_them_later() -> None:
    """Heating fails for a day from day 1. The air heads for -10 + 200 / 20 = 0 °C: 20 e^(-t/10 h), 7.58 °C on average,
    1.81 °C in the end; back at 20 °C after 600 ln(98.19 / 80) = 122.9 min (2 kW head for 100 °C), 11.9 °C on average.

    Short of 20 °C by 12.42 × 1,440 + 8.1 × 123 = 18,890 °C min. Up after D minutes, if D is what the table gives for
    the mean of that time, 20 - 18,890 / D: D = 1,440 (3 + 0.3 × 18,890 / D), so D = 5,738, 3.98 days.
    """
    raw = tables()
    raw["room"]["outdoor_temperature_c"] = [-10] * 12
    raw["crops"][0]["emergence"] = {"temperature_c": [10, 20], "days": [6, 3], "relative_fraction": [1, 1]}
    assert next(iter(lived(raw, 10).of(Germinated))).minute == 4875
    raw["outages"] = [{"name": "cold", "machine": "heat pump", "start_day": 1, "hours": 24}]
    assert next(iter(lived(raw, 10).of(Germinated))).minute == pytest.approx(
        555 + 5738, abs=15
    )  # air is stepped by the hour


def test_co2_given_off_against_the_leak() -> None:
    """25 m³ with half an air change an hour at 600 ppm above outside: an ideal gas at 20 °C has 44.01 g in 24.055 L, so
    600 × 44.01 / 24.055 / 1,000 × 25 × 0.5 × 24 = 329.3 g a day.

    A supply of 0.1 kg a day gives just that; in an outage of two days of ten nothing. No plants: they take up more.
    """
    raw = tables() | {"sowing": []}
    raw["room"]["air_changes_per_hour"] = 0.5
    raw["co2"] = {"setpoint_ppm": 1000, "outdoor_ppm": 400, "supply_kg_per_day": 5}
    a_day = 600 * 44.01 / 24.055 / 1000 * 25 * 0.5 * 24
    assert [reading.co2_g for reading in lived(raw, 10).of(MetersRead)] == pytest.approx([0, 7 * a_day, 10 * a_day])

    raw["co2"]["supply_kg_per_day"] = 0.1
    assert list(lived(raw, 10).of(MetersRead))[-1].co2_g == pytest.approx(1000)
    raw["outages"] = [{"name": "empty", "machine": "co2", "start_day": 3, "hours": 48}]
    assert list(lived(raw, 10).of(MetersRead))[-1].co2_g == pytest.approx(800)
    raw["lights"][0]["hours_per_day"] = 12
    assert list(lived(raw, 10).of(MetersRead))[-1].co2_g == pytest.approx(400)


def test_too_strong_a_solution_halves_growth() -> None:
    """At 6 mS/cm where 3 is the highest good strength: 1 - (6 - 3) / (2 × 3) = half the pace. Ripe 32 days after coming
    up instead of 16, on day 35; harvested on Thursday day 38 at 9:13, (38 × 1,440 + 553 - 4,875) / 1,440 / 2 = 17.5
    days."""
    raw = tables()
    raw["reservoirs"][0] |= {"fill_ec_ms_cm": 6, "uptake_ec_ms_cm": 6, "highest_ec_ms_cm": 3}
    book = lived(raw, 50)

    assert [(cut.minute, cut.plants) for cut in book.of(Harvested)] == [(38 * DAY + 553, 9)]
    assert [cut.grams for cut in book.of(Harvested)] == [round(202.5 * (0.1 + 0.1 * (38 * DAY + 553 - 4875) / DAY / 2))]
    assert {round(record.ec_ms_cm, 9) for record in book.of(ToppedUp)} == {6.0}


def test_lots_that_grow_faster_drink_as_fast_by_day() -> None:
    """A lot 25 % faster than its crop reaches each size in four fifths of the time and has drunk four fifths by then.

    Ripe 12.8 days after germination: 4,875 + 18,432 = 23,307, day 16.2; harvested on Thursday day 17 before it can be
    moved?
    No: it is moved on day 10 and harvested on day 17 at 9:13, 12.9 days after germination, at 16.12 days' growth.
    """
    from growsim.chance.fixed import FixedLuck, FixedStream

    class Quick(FixedStream):
        def factor(self, cv: float) -> float:
            return 1.25

    class QuickLuck(FixedLuck):
        def stream(self, name: str) -> FixedStream:
            return Quick(bytes(32))

    book = lived(tables(), 20, luck=QuickLuck())
    cut = next(iter(book.of(Harvested)))
    days = (17 * DAY + 553 - 4875) / DAY

    assert cut.minute == 17 * DAY + 553
    assert cut.grams == round(202.5 * (0.1 + 0.1 * days * 1.25))
    assert sum(record.taken_ml for record in book.of(ToppedUp)) == pytest.approx(9 * 24 * days, abs=1)


def test_a_shift_of_some_months_is_held_in_them_alone() -> None:
    """Thursdays only in January: days 3, 10, 17 and 24 of 40 (6 February is day 31). Nobody comes then, no lead either,
    reservoirs are filled on Mondays alone, and work that falls due after Monday's shift has until the next Monday."""
    raw = tables()
    raw["crew"]["shifts"][1]["months"] = [1]
    raw["sowing"][0] |= {"weekday": "tue", "every_weeks": 1}
    book = lived(raw, 40)

    held = [(shift.minute // DAY, shift.shift, shift.lead) for shift in book.of(ShiftHeld)]
    assert [day for day, name, _ in held if name == "Thursday"] == [3, 10, 17, 24]
    assert [day for day, name, _ in held if name == "Monday"] == [0, 7, 14, 21, 28, 35]
    filled = [due.minute // DAY for due in book.of(TaskDue) if due.task == "top up"]
    assert filled == [0, 3, 7, 10, 14, 17, 21, 24, 28, 35]
    due = {due.minute // DAY: due.due_minute // DAY for due in book.of(TaskDue) if due.task == "sow"}
    assert due == {1: 4, 8: 11, 15: 18, 22: 25, 29: 36, 36: 43}


def test_somebody_looks_in_only_when_a_shift_is_held() -> None:
    """From Tuesday, 28 January (day 22) a lead is next there on Thursday at 9:00; from Tuesday, 4 February (day 29) not
    before Monday: there are no Thursdays in February."""
    raw = tables()
    raw["crew"]["shifts"][1]["months"] = [1]
    room = scenario_of(raw)
    rota = Rota(room.crew, Calendar(room.room.start_date))

    assert rota.next_look(22 * DAY) == 24 * DAY + 540
    assert rota.next_look(29 * DAY) == 35 * DAY + 540
    assert [rota.has_shift(day) for day in (24, 28, 31, 35)] == [True, True, False, True]


def test_a_shift_of_all_months_is_a_shift_like_any_other() -> None:
    """Record by record, with people who come or not."""
    raw = tables()
    raw["crew"] |= {"chance_of_coming": [0.6] * 12, "stay_weeks": 5}
    named = copy.deepcopy(raw)
    named["crew"]["shifts"][0]["months"] = list(range(1, 13))

    one, other = (lived(room, 60, luck=Luck(3, 0)) for room in (raw, named))

    assert [list(one.of(kind)) for kind in (ShiftHeld, TaskDue, Harvested)] == [
        list(other.of(kind)) for kind in (ShiftHeld, TaskDue, Harvested)
    ]
