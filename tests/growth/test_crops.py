"""Crops on the growth model: calibration and the curves of a room."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter
from typing import Any

import pytest

from growsim.growth.crops import build_curves
from growsim.growth.curves import base_curve, paced
from growsim.growth.germination import days_to_emerge
from growsim.growth.pace import (
    calibrate,
    environments_at,
    plants_per_m2,
    reference_environment,
    room_co2_ppm,
)
from growsim.scenario.scenario import Scenario

RoomOf = Callable[..., Scenario]


def grown_g(scenario: Scenario, growth_rate: float) -> float:
    """Fresh mass (g) on the typical day, walked stage by stage on paced curves (not the calibration's own walk)."""
    crop = scenario.crops[0]
    dry, today, up = 0.0011, 0.0, days_to_emerge(22.0, crop.emergence.temperature_c, crop.emergence.days)
    for stage in crop.stages_in_order():
        environment = reference_environment(scenario, stage.name)
        curve = paced(base_curve(plants_per_m2(scenario, stage), 0.0011, environment), growth_rate)
        growing = max(0.0, today + stage.days - max(today, up))
        dry = curve.dry_g(curve.age_days(dry) + growing)
        today += stage.days
    return dry / crop.dry_matter_fraction


@pytest.mark.parametrize("mass_g", [40.0, 140.0, 300.0])
def test_calibrated_plants_weigh_what_the_planner_says(room_of: RoomOf, mass_g: float) -> None:
    """The typical mass on the typical day, to a millionth."""
    scenario = room_of(typical_mass_g=mass_g)

    assert grown_g(scenario, calibrate(scenario.crops[0], scenario)) == pytest.approx(mass_g, rel=1e-6)


def test_an_ordinary_lettuce_needs_little_calibration(room_of: RoomOf) -> None:
    """140 g at 35 days is what the published model nearly gives by itself: a pace between 0.5 and 2."""
    scenario = room_of()

    assert 0.5 < calibrate(scenario.crops[0], scenario) < 2.0


def test_a_heavier_plant_in_the_same_days_needs_a_quicker_clock(room_of: RoomOf) -> None:
    """Pace rises with the mass asked for."""
    rates = [calibrate(room.crops[0], room) for room in (room_of(typical_mass_g=g) for g in (50.0, 100.0, 200.0))]

    assert rates == sorted(rates)
    assert len(set(rates)) == 3


def test_a_mass_given_as_a_range_is_met_at_its_mean(room_of: RoomOf) -> None:
    """Low 100, likely 140, high 180 calibrates as 140."""
    fixed, ranged = room_of(), room_of(typical_mass_g={"low": 100, "likely": 140, "high": 180})

    assert calibrate(ranged.crops[0], ranged) == pytest.approx(calibrate(fixed.crops[0], fixed))


def test_a_pace_the_planner_gives_is_kept(room_of: RoomOf) -> None:
    """So that a change of lamps does not quietly recalibrate the crop."""
    scenario = room_of(growth_rate=1.7)

    assert calibrate(scenario.crops[0], scenario) == 1.7


@pytest.mark.parametrize(
    ("lettuce", "words"),
    [
        ({"typical_mass_g": 5000}, "cannot weigh 5e\\+03 g after 35 days"),
        ({"typical_mass_g": 0.02}, "cannot weigh as little as 0.02 g"),
        (
            {"emergence": {"temperature_c": (20.0,), "days": (40.0,), "relative_fraction": (1.0,)}},
            "lettuce takes 40 days to germinate",
        ),
    ],
)
def test_what_no_pace_can_do_is_said_in_a_sentence(room_of: RoomOf, lettuce: dict[str, Any], words: str) -> None:
    """Crop, what is impossible, where to look."""
    scenario = room_of(**lettuce)

    with pytest.raises(ValueError, match=words):
        calibrate(scenario.crops[0], scenario)


def test_emergence_that_outlasts_the_first_stage_eats_into_the_second(room_of: RoomOf) -> None:
    """Slow seed in a short sheet stage: still calibrated, with less time to grow."""
    stages = [
        {"name": "sheet", "tray": "plug tray", "days": 2},
        {"name": "finishing", "after": "sheet", "tray": "finishing tray", "days": 33},
    ]
    scenario = room_of(stages=stages)
    rate = calibrate(scenario.crops[0], scenario)

    assert grown_g(scenario, rate) == pytest.approx(140.0, rel=1e-6)


def test_reference_light_is_the_mean_over_slots_and_keeps_the_photons(room_of: RoomOf) -> None:
    """6 slots at 250 x 16 h, 2 at 200 x 18 h: 16.5 h, and 3900 µmol h a day."""
    environment = reference_environment(room_of(), "finishing")

    assert environment.light_hours == pytest.approx((6 * 16 + 2 * 18) / 8)
    assert environment.ppfd_umol_m2_s * environment.light_hours == pytest.approx((6 * 4000 + 2 * 3600) / 8)
    assert reference_environment(room_of(), "sheet") == environments_at(room_of())["north lights"]


def test_a_stage_no_shelf_may_hold_is_refused(room_of: RoomOf) -> None:
    """There is nothing to take a mean over."""
    with pytest.raises(ValueError, match="no shelf may hold stage 'attic'"):
        reference_environment(room_of(), "attic")


def test_unknown_trays_are_refused(room_of: RoomOf) -> None:
    """Names must be in the room."""
    scenario = room_of()
    with pytest.raises(ValueError, match="no kind of tray called 'bath'"):
        plants_per_m2(scenario, scenario.crops[0].stages[0].model_copy(update={"tray": "bath"}))


def test_co2_of_the_room_is_what_the_supply_can_hold(room_of: RoomOf) -> None:
    """20 m² x 2.5 m at 0.3 changes an hour: plenty holds 1000 ppm, a trickle does not."""
    assert room_co2_ppm(room_of(co2={"setpoint_ppm": 1000, "supply_kg_per_day": 10})) == 1000.0
    assert 420.0 < room_co2_ppm(room_of(co2={"setpoint_ppm": 1000, "supply_kg_per_day": 0.2})) < 1000.0
    assert room_co2_ppm(room_of()) == 420.0


def test_a_room_gets_a_curve_for_every_place_a_crop_may_stand(room_of: RoomOf) -> None:
    """The south rack holds finishing trays only."""
    curves = build_curves(room_of())

    assert set(curves.curves) == {
        ("lettuce", "sheet", "north lights"),
        ("lettuce", "spaced", "north lights"),
        ("lettuce", "finishing", "north lights"),
        ("lettuce", "finishing", "south lights"),
    }
    assert set(curves.environments) == {"north lights", "south lights"}
    assert curves.seedling_dry_g == {"lettuce": pytest.approx(0.0011)}


def test_four_crops_are_ready_well_within_a_second(room_of: RoomOf, lettuce_table: dict[str, Any]) -> None:
    """Four seeds, each its own curves: 16 curves and 12 of calibration, from a cold start."""
    base_curve.cache_clear()
    more = tuple(lettuce_table | {"name": f"crop {mg}", "seed_mass_mg": mg} for mg in (0.3, 2.0, 5.0))
    scenario = room_of(more_crops=more)

    began = perf_counter()
    build_curves(scenario)

    assert perf_counter() - began < 1.0


def test_the_scenario_is_unchanged_by_drawing_curves(room_of: RoomOf) -> None:
    """Biology reads, never writes."""
    scenario = room_of()
    before = scenario.model_dump_json()

    build_curves(scenario)

    assert scenario.model_dump_json() == before
