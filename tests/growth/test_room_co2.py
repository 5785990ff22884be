"""CO2 of a room with plants: the balance against SciPy's root of the same mass balance, and by pencil."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from scipy.optimize import brentq

from growsim.growth import air, lettuce
from growsim.growth.canopy import THINNEST_PPM, canopy_by_bank, planned_co2
from growsim.growth.crops import build_curves
from growsim.growth.pace import environments_at
from growsim.growth.plan_air import canopy_air
from growsim.growth.room_co2 import Leaves, RoomCo2
from growsim.scenario.scenario import Scenario

RoomOf = Callable[..., Scenario]
SOWING = {"name": "Mondays", "crop": "lettuce", "cells": 24, "weekday": "mon"}
LEAK_G_PER_HOUR = 0.3 * 50.0 * 44.01 / 24.055 / 1000.0  # of 20 m² × 2.5 m at 0.3 changes an hour, each ppm


def planned(room_of: RoomOf, **others: Any) -> Scenario:
    """The small room with a plan."""
    made = room_of(**others)
    return made.model_copy(
        update={"sowing": type(made).model_validate(made.model_dump() | {"sowing": [SOWING]}).sowing}
    )


@pytest.mark.parametrize(("ppfd", "temperature_c"), [(150.0, 18.0), (250.0, 22.0), (400.0, 27.0)])
def test_photosynthesis_is_a_hyperbola_of_co2(ppfd: float, temperature_c: float) -> None:
    """(c - compensation) / (c + half) is in proportion to van Henten's photosynthesis at every CO2."""
    par = lettuce.par_w_m2(ppfd)
    response = lettuce.co2_response(par, temperature_c)
    assert response is not None
    least, half = response
    shares = [
        lettuce.rates(par, temperature_c, ppm).gross_g_m2_s / ((ppm - least) / (ppm + half))
        for ppm in (60.0, 150.0, 300.0, 420.0, 1000.0)
        if ppm > least
    ]

    assert shares == pytest.approx([shares[0]] * len(shares), rel=1e-12)
    assert lettuce.co2_response(0.0, temperature_c) is lettuce.co2_response(par, 50.0) is None


@pytest.mark.parametrize(("setpoint", "supply"), [(420.0, 0.0), (800.0, 0.4), (800.0, 9.0)])
def test_the_air_settles_where_the_balance_has_its_root(room_of: RoomOf, setpoint: float, supply: float) -> None:
    """Both banks lit, then one: mean of each over its hours, from SciPy's roots of leak + supply + breath - uptake."""
    room = room_of(co2={"setpoint_ppm": setpoint, "supply_kg_per_day": supply})
    north, south = Leaves(300.0, 46.0, 350.0, 0.15), Leaves(400.0, 46.0, 280.0, 0.1)
    gained = {"north lights": 30.0, "south lights": 20.0}

    def taken(leaves: Leaves, grams: float, hours: float, ppm: float) -> float:
        at = (ppm - leaves.compensation_ppm) / (ppm + leaves.half_ppm)
        planned_at = (leaves.planned_ppm - leaves.compensation_ppm) / (leaves.planned_ppm + leaves.half_ppm)
        return grams / 0.68 * (1.0 + leaves.night) / hours * at / planned_at

    def settled(*, is_north_lit: bool) -> float:
        def left(ppm: float, given: float) -> float:
            came = LEAK_G_PER_HOUR * (420.0 - ppm) + given - taken(south, 20.0, 18.0, ppm)
            return came - taken(north, 30.0, 16.0, ppm) if is_north_lit else came + 30.0 / 0.68 * 0.15 / 8.0

        unfed = float(brentq(left, 46.0, 1e5, args=(0.0,)))
        fed = float(brentq(left, 46.0, 1e5, args=(supply * 1000.0 / 24.0,)))
        return min(unfed, 420.0) if not supply else min(fed, setpoint)

    found = RoomCo2(room, {"north lights": north, "south lights": south}).lit_ppm(gained, is_fed=True)

    assert found["north lights"] == pytest.approx(settled(is_north_lit=True), abs=0.1)
    both, alone = settled(is_north_lit=True), settled(is_north_lit=False)
    assert found["south lights"] == pytest.approx((16.0 * both + 2.0 * alone) / 18.0, abs=0.1)


def test_plants_get_just_the_carbon_that_comes_in(room_of: RoomOf) -> None:
    """At the CO2 of the plan, leak and breath of the night bring what typical plants take in the day: by pencil.

    Both banks begin at 6; for two hours the second is lit alone.
    """
    room = planned(room_of)
    curves = build_curves(room)
    canopy = canopy_by_bank(room, curves.environments, curves.growth_rate)
    leaves = planned_co2(room)
    found = RoomCo2(room, leaves).lit_ppm(
        {name: exchange.net_g * 0.68 for name, exchange in canopy.items()}, is_fed=True
    )

    assert {name: each.planned_ppm for name, each in leaves.items()} == pytest.approx(found, abs=2.0)
    assert THINNEST_PPM < min(found.values()) < 415.0
    assert canopy_air(room, curves).kept == pytest.approx(1.0, abs=0.01)
    assert {name: e.co2_ppm for name, e in curves.environments.items()} == {
        name: each.planned_ppm for name, each in leaves.items()
    }


def test_a_supply_that_is_off_and_lights_that_are_out(room_of: RoomOf) -> None:
    """Without plants: set-point or outdoor air. A bank that is dark all day takes nothing from the other."""
    room = room_of(co2={"setpoint_ppm": 900, "supply_kg_per_day": 9})
    leaves = {name: Leaves(900.0, 46.0, 350.0, 0.1) for name in environments_at(room)}
    balance = RoomCo2(room, leaves)

    assert balance.lit_ppm({}, is_fed=True)["north lights"] == pytest.approx(900.0)
    assert balance.lit_ppm({}, is_fed=False)["north lights"] == pytest.approx(420.0)
    alone = balance.lit_ppm({"north lights": 30.0}, is_fed=False)["north lights"]
    assert balance.lit_ppm({"north lights": 30.0, "south lights": 20.0}, is_fed=False)["north lights"] < alone < 420.0


def test_what_has_to_be_given_holds_it(room_of: RoomOf) -> None:
    """Leak and uptake at the most: so much supply is just enough."""
    leaves = {name: Leaves(900.0, 46.0, 350.0, 0.1) for name in environments_at(room_of())}
    gained = {"north lights": 30.0, "south lights": 20.0}
    needed = RoomCo2(room_of(), leaves).most_short_g_per_hour(gained, 900.0) * 24.0 / 1000.0

    for factor, holds in ((1.01, True), (0.99, False)):
        room = room_of(co2={"setpoint_ppm": 900, "supply_kg_per_day": needed * factor})
        assert (RoomCo2(room, leaves).lit_ppm(gained, is_fed=True)["north lights"] > 899.5) is holds
    assert needed > 480.0 * air.co2_leak_kg_per_day_per_ppm(0.3, 50.0)


def test_typical_days_that_no_thin_air_allows_are_taken_to_be_of_thicker(room_of: RoomOf) -> None:
    """340 g in 35 days cannot be had at the 200 ppm of a closed room: the pace is found where it can."""
    closed = planned(room_of, typical_mass_g=340)
    closed = closed.model_copy(update={"room": closed.room.model_copy(update={"air_changes_per_hour": 0.01})})
    curves = build_curves(closed)

    assert {each.planned_ppm for each in planned_co2(closed).values()} == {THINNEST_PPM}
    assert {e.co2_ppm for e in curves.environments.values()} <= {250.0, 300.0, 350.0}
    assert canopy_air(closed, curves).kept < 0.9
