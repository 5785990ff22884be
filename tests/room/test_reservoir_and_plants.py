"""Plants and their reservoir: what is drunk does not depend on how often one looks; nothing drunk is forgotten."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import DAY, ML_A_DAY, lived, scenario_of, straight_curves, tables

from growsim.chance.fixed import FixedLuck
from growsim.growth.crops import build_curves
from growsim.ledger.book import Book
from growsim.ledger.events import Lost, ToppedUp, Transplanted
from growsim.room.model import RoomHere
from growsim.room.spell import Harm
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan


def taken_ml(book: Book) -> int:
    """All that plants took, to the end."""
    return sum(record.taken_ml for record in book.of(ToppedUp))


def test_lost_plants_have_drunk_all_the_same() -> None:
    """A third is lost in moving at 14,952: nine drank until then, six from then to the harvest at 35,110 (4 + 6 min).

    (9 × (14,952 - 4,875) + 6 × (35,110 - 14,952)) / 60 = 3,527.35 mL.
    """
    raw = tables()
    raw["crops"][0]["stages"][1]["loss_fraction"] = 0.333
    book = lived(raw, 40)

    assert [moved.minute for moved in book.of(Transplanted)] == [14952]
    assert abs(taken_ml(book) - (9 * (14952 - 4875) + 6 * (35110 - 14952)) / 60) <= 0.5


@pytest.mark.parametrize("cause", ["no_room", "overgrown", "too_small"])
def test_whatever_they_were_lost_to(cause: str) -> None:
    """Thrown away on day 15, overgrown on day 24, harvested and found too small at 35,113: drunk until then,
    by nine.
    """
    raw = tables()
    if cause == "no_room":
        raw["racks"][0]["shelves"][1]["slots"] = 1
        raw["racks"][0]["shelves"][1]["stages"] = ["something else"]
    elif cause == "overgrown":
        raw["crops"][0]["overgrown_after_days"] = 3
    else:
        raw["crops"][0]["smallest_mass_fraction"] = 1.0
        raw["crops"][0]["typical_mass_g"] = 60  # 55.0 g at the harvest
    book = lived(raw, 40)
    lost = [record for record in book.of(Lost) if record.cause == cause]

    assert [record.plants for record in lost] == [9]
    assert abs(taken_ml(book) - 9 * (lost[0].minute - 4875) / 60) <= 0.5


def test_however_often_the_reservoir_is_read_it_is_the_same_water() -> None:
    """One lot by its own curves, with nights: read twice a week by hand, or once by the float valve, or twice as well
    with a renewal a week; to 2 %, as what nights take is told at the rate of the last reading."""
    liters = []
    for change in ({}, {"top_up": "float valve"}, {"change_every_weeks": 1}):
        raw = tables()
        raw["lights"][0] |= {"hours_per_day": 16, "on_hour": 5}
        raw["crops"][0] |= {"typical_mass_g": 110}
        raw["co2"] = {"setpoint_ppm": 420, "supply_kg_per_day": 5}  # no outside air comes in
        raw["reservoirs"][0] |= change
        scenario = scenario_of(raw)
        room = RoomHere(scenario, build_curves(scenario), FixedLuck(), RunPlan(60, start="empty"))
        room.start()
        room.clock.run(60 * DAY)
        room.finish()
        liters.append(taken_ml(room.book) / 1000)

    assert liters[1:] == pytest.approx(liters[:1] * 2, rel=0.02)
    assert min(liters) > 1


def test_settling_in_between_changes_no_level() -> None:
    """Plants settle whenever some are lost or go their own way; the reservoir's level to come is the same to
    rounding.
    """
    raw = tables()
    raw["lights"][0] |= {"hours_per_day": 16, "on_hour": 5}
    raw["crops"][0] |= {"typical_mass_g": 110}
    raw["co2"] = {"setpoint_ppm": 420, "supply_kg_per_day": 5}  # no outside air comes in
    scenario = scenario_of(raw)
    room = RoomHere(scenario, build_curves(scenario), FixedLuck(), RunPlan(40, start="empty"))
    room.start()
    checked = 0
    for minute in range(6 * DAY, 24 * DAY, 333):
        room.clock.run(minute)
        reservoir = room.reservoirs["reservoir"]
        ahead = [reservoir._ahead.level_at(minute + later) for later in (1, 500, 3000)]
        for rack in reservoir.racks:
            for part in rack.parts:
                part.settle(minute)
                checked += 1
        assert [reservoir._ahead.level_at(minute + later) for later in (1, 500, 3000)] == pytest.approx(ahead, abs=1e-6)
        assert ahead == sorted(ahead, reverse=True)

    assert checked > 50


def test_a_part_that_splits_off_takes_its_share_of_drought_and_heat() -> None:
    """Nine plants of twelve are alive in a drought that has killed three; four go: they take 4/9 of the dead along.

    None is made or lost, and together they go on dying as the nine would have.
    """
    raw = tables()
    scenario = scenario_of(raw)
    room = RoomHere(scenario, straight_curves(scenario), FixedLuck(), RunPlan(40, start="empty"))
    room.start()
    room.clock.run(6 * DAY)
    (part,) = room.racks["rack"].parts
    part.plants, part.dry_plants, part.dry_lost, part.harms["heat"] = 9, 12, 3, Harm(10, 5.0, 1)
    part.stress_minute, part.empty_minute, part.dry_since = 5 * DAY, 5 * DAY + 60, 4 * DAY
    other = room.new_part(part.lot, part.stand)
    part.hand_over(other, 4)

    assert (part.plants, other.plants) == (5, 4)
    assert (part.dry_plants, other.dry_plants) == (12 - 5, 5)  # 12 × 4/9 = 5.3
    assert (part.dry_lost, other.dry_lost) == (2, 1)
    assert (part.harms["heat"].plants, other.harms["heat"].plants) == (6, 4)
    assert (part.harms["heat"].lost, other.harms["heat"].lost, other.harms["heat"].since) == (1, 0, 5.0)
    assert (other.stress_minute, other.empty_minute, other.dry_since) == (5 * DAY, 5 * DAY + 60, 4 * DAY)
    assert other.age(6 * DAY) == part.age(6 * DAY)


def test_moving_in_a_drought_wets_the_plugs() -> None:
    """Plants that came to stand here after the last flood, with wet plugs, are dry later than the others."""
    raw = tables()
    scenario = scenario_of(raw)
    room = RoomHere(scenario, straight_curves(scenario), FixedLuck(), RunPlan(40, start="empty"))
    room.start()
    room.clock.run(6 * DAY)
    (part,) = room.racks["rack"].parts
    part.begin_drought(6 * DAY - 240)
    assert part.empty_minute == 6 * DAY - 240 + DAY  # 24 mL at 1 mL an hour
    part.wet_minute = 6 * DAY - 60
    part.begin_drought(6 * DAY - 240)
    assert part.empty_minute == 6 * DAY - 60 + DAY
    assert part.stress_minute == 6 * DAY - 60 + round(0.7 * DAY)
    assert ML_A_DAY == 24.0


def test_a_plan_of_every_two_weeks_is_in_step_whatever_the_warm_up() -> None:
    """Sown on days 0, 14, 28 with no warm-up, and on the same days after one of 3 or 4 weeks, or of 10 days."""
    from growsim.ledger.events import TaskDue

    days = []
    for warm_up in (0, 10, 21, 28):
        raw = tables()
        raw["sowing"][0]["every_weeks"] = 2
        scenario = scenario_of(raw)
        room = RoomHere(scenario, straight_curves(scenario), FixedLuck(), RunPlan(30, warm_up))
        room.start()
        room.clock.run(30 * DAY)
        days.append({due.minute // DAY for due in room.book.of(TaskDue) if due.task == "sow" and due.minute >= 0})

    assert days == [{0, 14, 28}] * 4


def test_meters_are_read_on_day_0_whatever_the_warm_up() -> None:
    """200 W day and night: 28 days are 134.4 kWh, after a warm-up of any length."""
    from growsim.ledger.measures import measure
    from growsim.room.model import simulate

    for warm_up in (0, 3, 10, 14):
        raw: dict[str, Any] = tables()
        scenario = scenario_of(raw)
        plan = RunPlan(28, warm_up)
        outcome = measure(simulate(scenario, straight_curves(scenario), FixedLuck(), plan), scenario, plan, 0)

        assert outcome.accounts["kwh:lights"] == pytest.approx(134.4)
        assert outcome.weeks["kwh"] == pytest.approx((33.6 + 0.084,) * 4)


def test_the_round_room_passes_the_readers_checks() -> None:
    """The room these tests stand on is one that the file's reader would take."""
    raw = tables()
    scenario, _ = scenario_from(raw, "round room")

    assert scenario.room.name == "round room"
