"""How long have we got: the clock against the rehearsed room, and against the curves it rests on."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from pathlib import Path

import pytest
from outage_rooms import EVENT, prepared_tiny, struck

from growsim.growth import air
from growsim.growth.stress import surviving_fraction
from growsim.ledger.aftermath import killed
from growsim.ledger.events import AirRead, Lost
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate, trace
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.study.outage.air import air_after, cold_after, course_of, held_c
from growsim.study.outage.clock import (
    FIRST_DIE,
    TimeLeft,
    cold_hours,
    dose_share,
    drought_hours,
    heat_hours,
    of_stage,
    times_left,
    wet_plug_hours,
)

SEED = 5
JULY, JANUARY = 6, 0
REPLICATIONS = range(2)


@pytest.fixture(scope="module")
def july() -> Prepared:
    """The tiny room in July, nothing failing."""
    return prepared_tiny(7)


@pytest.fixture(scope="module")
def january() -> Prepared:
    """The tiny room in January, nothing failing."""
    return prepared_tiny(1)


def lost_share(room: Prepared, stage: str, machine: str, hours: float, hour: float) -> float:
    """Share of the plants of a stage that one outage kills, rehearsed."""
    where = "reservoir" if machine in ("pump", "timer", "reservoir leak") else ""
    stood = lost = 0.0
    for i in REPLICATIONS:
        before = replicate(room, SEED, i, RunPlan(8, EVENT.warm_up_days))
        spared = replicate(room, SEED, i, EVENT)
        hit = replicate(struck(room, machine, hours, where=where, hour=hour), SEED, i, EVENT)
        stood += sum(n for name, n in before.aftermath.items() if name == f"standing:rack:{stage}")
        lost += killed(hit, stage) - killed(spared, stage)
    assert stood > 50
    return lost / stood


@pytest.mark.parametrize(
    ("machine", "month", "stage"),
    [
        ("pump", JULY, "head"), ("pump", JULY, "leaf"), ("power", JULY, "head"), ("power", JANUARY, "head"),
        ("power", JANUARY, "leaf"), ("heat pump", JULY, "leaf"), ("heat pump", JANUARY, "leaf"),
    ],
)  # fmt: skip
def test_the_clock_brackets_what_the_room_does(
    july: Prepared, january: Prepared, machine: str, month: int, stage: str
) -> None:
    """Repaired (and flooded again) well before the clock's worst case, hardly a plant is lost; not repaired until its
    best case has half of them dead, more than half are. Two ways that share no code: arithmetic, and the rehearsed
    room.
    """
    room = july if month == JULY else january
    pause = room.scenario.reservoirs[0].flood_every_hours
    _, first, half = of_stage(times_left(room.scenario, room.curves, machine, month), stage)
    safe = min((first.worst or 999.0) - pause, 72.0)

    for hour in (0.0, 18.0):
        assert lost_share(room, stage, machine, math.floor(safe), hour) <= FIRST_DIE + 0.03
    if half.best is not None and half.best < 100:
        assert lost_share(room, stage, machine, math.ceil(half.best) + 1, 12.0) >= 0.5


def test_nothing_dies_of_the_dark_or_of_plain_air(july: Prepared) -> None:
    """Lights and CO2: growth at most; heat in January: nothing."""
    for machine, month in (("lights", JULY), ("co2", JULY), ("heat pump", JANUARY)):
        _, first, half = of_stage(times_left(july.scenario, july.curves, machine, month))

        assert (first.worst, half.worst) == (None, None)


def test_the_dark_begins_when_the_timetable_says_light(july: Prepared) -> None:
    """Lights from 6 to 22: an outage at 3 is felt at 6, one at noon at once, one at 22:30 the next morning."""
    hours = [
        course_of(july.scenario, july.curves, "lights", JULY, start).dark_from["lights"] for start in (3.0, 12.0, 22.5)
    ]

    assert hours == pytest.approx([3.0, 0.0, 7.5], abs=0.17)


def test_worst_middle_and_best_are_in_order(july: Prepared) -> None:
    """And plants suffer before the first die, which is before half are dead."""

    def order(line: TimeLeft) -> list[float]:
        return [
            math.inf if hours is None else hours
            for hours in (line.suffer.worst, line.first_die.worst, line.half_dead.worst)
        ]

    lines = times_left(july.scenario, july.curves, "pump", JULY)
    for line in lines:
        for hours in (line.suffer, line.first_die, line.half_dead):
            spread = [math.inf if each is None else each for each in (hours.worst, hours.middle, hours.best)]
            assert spread == sorted(spread)
        assert order(line) == sorted(order(line))


def test_the_share_of_a_dose_turns_the_survival_curve_round() -> None:
    """At that share of the half-way dose exactly one plant in twenty is lost."""
    assert 1.0 - surviving_fraction(dose_share(FIRST_DIE) * 12.0, 12.0) == pytest.approx(FIRST_DIE)
    assert dose_share(0.5) == pytest.approx(1.0)


def test_a_drought_by_hand(july: Prepared) -> None:
    """In the light a plant that drinks d mL a day empties a plug of V mL in 0.8 V / (d x light's share) x 24 hours."""
    crop = july.scenario.crops[1]
    course = course_of(july.scenario, july.curves, "pump", JULY, 6.0, before_hours=4.0)
    lit = (course.thirst["lights"][-1] - course.thirst["lights"][-1 - 6]) * 24  # the rate of an hour, whatever it is
    assert lit > 0
    rate = (course.thirst["lights"][36] - course.thirst["lights"][30]) * 24  # an hour of light, in average hours
    stress, first, half = drought_hours(crop, course, "lights", 0.0, 25.0, 60.0)

    empty = 0.8 * 25.0 / (60.0 * rate) * 24.0
    assert stress == pytest.approx(0.7 * empty, abs=0.2)
    assert first == pytest.approx(empty + dose_share(FIRST_DIE) * crop.dry_half_loss_hours, abs=0.2)
    assert half == pytest.approx(empty + crop.dry_half_loss_hours, abs=0.2)


def test_a_plug_that_was_dry_for_hours_before_leaves_so_much_less(july: Prepared) -> None:
    """An outage just before a flood leaves less time than one just after."""
    crop = july.scenario.crops[1]
    course = course_of(july.scenario, july.curves, "pump", JULY, 12.0, before_hours=5.0)
    just_after = drought_hours(crop, course, "lights", 0.0, 25.0, 60.0)
    just_before = drought_hours(crop, course, "lights", -4.0, 25.0, 60.0)

    assert just_before[0] == pytest.approx((just_after[0] or 0.0) - 4.0, abs=0.2)


def test_the_air_drifts_as_newton_says(july: Prepared) -> None:
    """In a power outage the air goes to the outside temperature and what little heat is left, by Newton's law; the
    closed form of growth.air, which is held to SciPy elsewhere."""
    room, climate = july.scenario.room, july.scenario.climate
    course = course_of(july.scenario, july.curves, "power", JANUARY, 12.0)
    conductance = air.conductance_w_per_k(
        room.heat_loss_w_per_k, room.air_changes_per_hour, room.floor_area_m2 * room.height_m
    )
    equilibrium = room.outdoor_temperature_c[JANUARY] + room.other_heat_w / conductance
    constant = air.time_constant_minutes(room.heat_capacity_kj_per_k, conductance)
    after_10_hours = air.temperature_after(600, held_c(july.scenario, JANUARY), equilibrium, constant)

    assert course.air_c[59] == pytest.approx(after_10_hours)
    assert held_c(july.scenario, JANUARY) == climate.air_temperature_c


def test_the_air_is_that_of_the_rehearsed_room(july: Prepared) -> None:
    """Heat pump dead from six in the morning: within half a degree of the rehearsed air all day."""
    book = trace(struck(july, "heat pump", 24, day=8, hour=6.0), SEED, 0, EVENT)
    begin = (8 * 24 + 6) * 60
    read = {r.minute - begin: r.temperature_c for r in book.of(AirRead) if 0 < r.minute - begin <= 1440}
    course = course_of(july.scenario, july.curves, "heat pump", JULY, 6.0)

    assert len(read) > 12
    assert all(abs(course.air_c[round(minute / 10) - 1] - air_c) < 0.5 for minute, air_c in read.items())


def test_lights_out_keeps_the_room_cooler(july: Prepared) -> None:
    """The first thing to do when the heat pump is dead."""
    lit, dark = air_after(july.scenario, july.curves, JULY)

    assert lit is not None and lit < 12
    assert dark is None


def test_heat_kills_by_degree_hours(july: Prepared) -> None:
    """Hours until the dose that kills half, on the room's own course, added up by hand."""
    crop = july.scenario.crops[0]
    course = course_of(july.scenario, july.curves, "heat pump", JULY, 6.0)
    _, _, half = heat_hours(crop, course)
    assert half is not None
    steps = round(half * 6)
    dose = sum(max(0.0, each - crop.heat_limit_c) for each in course.air_c[:steps]) / 6

    assert dose == pytest.approx(crop.heat_half_loss_degree_hours, rel=0.05)


def test_the_clock_of_the_cold_is_that_of_the_rehearsed_room() -> None:
    """A garage at -10 °C outside, the heater dead for two days in January: what the clock says of the first and of half
    the plants, the rehearsed room's plants do, within two hours. By hand: 73 W/K and 2,000 kJ/K let a difference fall
    to 1/e in 7.6 h; from 20 °C, -10 °C and 100 W ahead, lights out, it freezes after 7.6 ln(28.6 / 8.6) = 9.1 h."""
    raw = tomllib.loads((Path(__file__).parents[1] / "cases" / "garage.toml").read_text(encoding="utf-8"))
    raw["room"] |= {"start_date": dt.date(2031, 1, 6), "closed_days": []}
    for bank in raw["lights"]:
        bank |= {"ppfd_umol_m2_s": 1, "efficacy_umol_j": 5}  # no heat to speak of
    for crop in raw["crops"]:
        crop["growth_rate"] = 1
    raw["outages"] = [{"name": "heater", "machine": "heat pump", "start_day": 12, "start_hour": 6, "hours": 48}]
    raw["power"] = {}
    garage = prepare(scenario_from(raw, "garage.toml")[0])
    plan = RunPlan(15, 42)
    book = trace(garage, SEED, 0, plan)
    begin = (12 * 24 + 6) * 60
    lost = [record for record in book.of(Lost) if record.cause == "cold"]
    standing = sum(record.plants for record in lost)
    halfway = next(
        record.minute for at, record in enumerate(lost) if 2 * sum(each.plants for each in lost[: at + 1]) >= standing
    )
    course = course_of(garage.scenario, garage.curves, "heat pump", JANUARY, 6.0)
    suffer, _, half = cold_hours(garage.scenario.crops[-1], course)

    assert suffer == pytest.approx(9.1, abs=0.5)
    assert half is not None
    assert standing > 200
    assert (halfway - begin) / 60 == pytest.approx(half, abs=2)
    assert not any(record.plants for record in book.standing if record.stage != "blackout" and record.sown_minute < 0)
    assert cold_after(garage.scenario, garage.curves, JANUARY) == pytest.approx(suffer, abs=0.5)
    assert cold_after(garage.scenario, garage.curves, JULY) is None


def test_a_wet_plug_lasts_the_old_and_thirsty_least(july: Prepared) -> None:
    """Heads drink most."""
    (lasts,) = wet_plug_hours(july.scenario, july.curves).values()

    assert lasts["head"] < lasts["leaf"] < lasts["seedling"]
    assert 2 < lasts["head"] < 8
