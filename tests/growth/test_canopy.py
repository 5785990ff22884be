"""The canopy of a plan on paper: what it takes up, and what CO2 that leaves in the room."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from growsim.growth import air, lettuce
from growsim.growth.canopy import canopy_by_bank, cut_dry_g
from growsim.growth.crops import build_curves
from growsim.growth.germination import days_to_emerge
from growsim.growth.pace import calibrate, dry_after, environments_at, plan_curve, seedling_dry_g
from growsim.growth.plan_air import canopy_air
from growsim.scenario import on_paper
from growsim.scenario.scenario import Scenario

RoomOf = Callable[..., Scenario]
ALL_COME_UP = {"temperature_c": [20], "days": [3], "relative_fraction": [1]}
SOWING = {"name": "Mondays", "crop": "lettuce", "cells": 70, "weekday": "mon"}


def planned(room_of: RoomOf, *, changes: float = 0.3, cells: int = 24, co2: Any = None, **lettuce: Any) -> Scenario:
    """The small room with a plan, so many air changes an hour and CO2."""
    made = room_of(co2=co2, **lettuce)
    sowing = type(made).model_validate(made.model_dump() | {"sowing": [SOWING | {"cells": cells}]}).sowing
    return made.model_copy(
        update={"sowing": sowing, "room": made.room.model_copy(update={"air_changes_per_hour": changes})}
    )


def test_the_plan_takes_up_its_dry_mass(room_of: RoomOf) -> None:
    """Plants a week × typical mass × dry share × 44/30 over seven days; losses by handling come a little on top."""
    room = planned(room_of)
    (line,) = on_paper.weekly_plan(room)
    dry_g_a_day = line.plants / 7.0 * line.crop.typical_mass_g.expected() * line.crop.dry_matter_fraction

    canopy = canopy_air(room, build_curves(room))

    assert canopy.uptake_kg_per_day == pytest.approx(dry_g_a_day * 44.0 / 30.0 / 1000.0, rel=0.01)


@pytest.mark.parametrize(("sown_on", "cut_after"), [("mon", 31), ("tue", 34), ("wed", 33), ("thu", 32), ("fri", 31)])
def test_plants_are_cut_on_the_first_harvest_day_on_which_they_are_ripe(
    room_of: RoomOf, sown_on: str, cut_after: int
) -> None:
    """Mondays and Thursdays, ripe from the thirtieth day on and all alike: by pencil the day, by the curve the mass."""
    whole = [{"name": "finishing", "tray": "finishing tray", "days": 35}]
    room = room_of(stages=whole, emergence=ALL_COME_UP, days_spread_cv=0)
    line = SOWING | {"weekday": sown_on}
    room = room.model_copy(update={"sowing": type(room).model_validate(room.model_dump() | {"sowing": [line]}).sowing})
    (crop,), environments = room.crops, environments_at(room)
    rate = calibrate(crop, room, environments)
    days_up = days_to_emerge(22.0, crop.emergence.temperature_c, crop.emergence.days)
    curve = plan_curve(crop, room, crop.stages[0], environments)

    def weighs(days: float) -> float:
        return dry_after([(curve, days - days_up)], seedling_dry_g(crop), rate)

    typical_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction
    ripe = room.model_copy(
        update={"crops": (crop.model_copy(update={"harvest_from_mass_fraction": weighs(30.0) / typical_g}),)}
    )

    found = cut_dry_g(ripe, environments, {crop.name: rate})

    assert found == {(crop.name, sown_on): pytest.approx(weighs(cut_after), rel=1e-6)}


def test_slow_and_quick_sowings_are_cut_at_other_masses(room_of: RoomOf) -> None:
    """However they differ, none is cut before it is ripe, and the slow ones wait for another harvest day."""
    alike, unlike = (planned(room_of, days_spread_cv=cv) for cv in (0.0, 0.15))
    crop, environments = alike.crops[0], environments_at(alike)
    rates = {crop.name: calibrate(crop, alike, environments)}
    ripe_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction * crop.harvest_from_mass_fraction

    (one,) = cut_dry_g(alike, environments, rates).values()
    (many,) = cut_dry_g(unlike, environments, rates).values()

    assert ripe_g < one != many > ripe_g
    assert ripe_g < many < 1.3 * ripe_g


def test_a_second_cut_takes_up_more(room_of: RoomOf) -> None:
    """What grows again after a harvest is grown once more."""
    once, twice = (planned(room_of, harvests=harvests, regrowth_days=12) for harvests in (1, 2))
    first, second = (canopy_air(room, build_curves(room)).uptake_kg_per_day for room in (once, twice))

    assert first * 1.3 < second < first * 2.0


def test_what_does_not_fit_takes_up_nothing(room_of: RoomOf) -> None:
    """A plan for a hundred times the shelves is cut down to them: no more than full shelves grow."""
    room = planned(room_of, cells=7000)
    wanted = sum(on_paper.slots_wanted(room).values())
    slots = sum(group.total_slots for group in on_paper.shelf_groups(room))
    crop = room.crops[0]
    all_of_it = 7000 / 7 * crop.typical_mass_g.expected() * crop.dry_matter_fraction * 44.0 / 30.0 / 1000.0

    uptake = canopy_air(room, build_curves(room)).uptake_kg_per_day

    assert wanted > 10 * slots
    assert 0.5 * slots / wanted < uptake / all_of_it < slots / wanted


def test_the_air_settles_where_outside_brings_what_plants_take(room_of: RoomOf) -> None:
    """One bank at all hours: leak × (outside - inside) is the uptake at that photosynthesis, by hand."""
    room = planned(room_of)
    room = room.model_copy(
        update={
            "lights": tuple(bank.model_copy(update={"hours_per_day": 24.0, "on_hour": 0.0}) for bank in room.lights)
        }
    )
    curves = build_curves(room)
    canopy = canopy_air(room, curves)
    brought_g_per_hour = 0.3 * 50.0 * 44.01 / 24.055 / 1000.0 * (420.0 - canopy.lit_ppm)
    taken_g_per_hour = 0.0
    for bank, exchange in canopy_by_bank(room, curves.environments, curves.growth_rate).items():
        e = curves.environments[bank]
        now, then = (
            lettuce.rates(lettuce.par_w_m2(e.ppfd_umol_m2_s), e.air_temperature_c, ppm).gross_g_m2_s
            for ppm in (canopy.lit_ppm, e.co2_ppm)
        )
        taken_g_per_hour += exchange.net_in_light_g / 24.0 * now / then

    assert brought_g_per_hour == pytest.approx(taken_g_per_hour, rel=1e-3)
    assert canopy.lit_ppm < 400.0
    assert 0.5 < canopy.growth < 1.0


@pytest.mark.parametrize(("changes", "low", "high"), [(0.0, 45.0, 60.0), (1000.0, 419.0, 420.0)])
def test_tight_and_open_rooms(room_of: RoomOf, changes: float, low: float, high: float) -> None:
    """Without outside air it falls to where leaves earn nothing (40 ppm at 20 °C); in a gale it is that of outside."""
    room = planned(room_of, changes=changes)

    canopy = canopy_air(room, build_curves(room))

    assert low < canopy.lit_ppm < high


def test_a_supply_holds_its_set_point_or_what_it_can(room_of: RoomOf) -> None:
    """Enough is enough; with half of what leak and plants take it stays below, but above what there is without."""
    room = planned(room_of, co2={"setpoint_ppm": 800, "supply_kg_per_day": 10})
    canopy = canopy_air(room, build_curves(room))
    leak = (800.0 - 420.0) * air.co2_leak_kg_per_day_per_ppm(0.3, 50.0)
    scarce = planned(room_of, co2={"setpoint_ppm": 800, "supply_kg_per_day": leak})

    thin = canopy_air(scarce, build_curves(scarce))

    assert canopy.lit_ppm == pytest.approx(800.0)
    assert canopy.growth == pytest.approx(1.0, abs=1e-6)
    assert thin.reckoned_ppm == pytest.approx(800.0)
    assert canopy_air(planned(room_of), build_curves(planned(room_of))).lit_ppm < thin.lit_ppm < 780.0


def test_without_plants_the_air_is_as_reckoned(room_of: RoomOf) -> None:
    """No sowing, no uptake."""
    room = room_of()

    canopy = canopy_air(room, build_curves(room))

    assert (canopy.uptake_kg_per_day, canopy.lit_ppm, canopy.growth) == (0.0, 420.0, 1.0)


def test_cells_that_stay_empty_take_up_nothing_and_plants_stand_where_they_may(room_of: RoomOf) -> None:
    """One stage, on six slots of one rack and two of the other; half of the seeds germinate."""
    alone = {"name": "finishing", "tray": "finishing tray", "days": 35}
    room = planned(room_of, cells=14, stages=[alone], seeds_per_cell=1, germination_fraction=0.5, emergence=ALL_COME_UP)
    crop = room.crops[0]
    dry_g_a_day = 7 / 7 * crop.typical_mass_g.expected() * crop.dry_matter_fraction

    curves = build_curves(room)
    north, south = (
        canopy_by_bank(room, curves.environments, curves.growth_rate)[bank] for bank in ("north lights", "south lights")
    )

    assert canopy_air(room, curves).uptake_kg_per_day == pytest.approx(dry_g_a_day * 44.0 / 30.0 / 1000.0, rel=0.01)
    assert north.net_g == pytest.approx(3 * south.net_g)


def test_a_set_point_below_outside_holds_when_the_plants_have_gone_so_far(room_of: RoomOf) -> None:
    """Not before: where outside air alone keeps more than that, the supply is not needed."""
    unfed = canopy_air(planned(room_of), build_curves(planned(room_of))).lit_ppm
    for wanted, there in ((unfed + 20.0, unfed + 20.0), (unfed - 20.0, unfed)):
        room = planned(room_of, co2={"setpoint_ppm": wanted, "supply_kg_per_day": 5})

        assert canopy_air(room, build_curves(room)).lit_ppm == pytest.approx(there, abs=3.0)
