"""Cross-checks of racks, reservoirs, lights, air and made-to-happen outages."""

from __future__ import annotations

import math
from collections.abc import Iterator

from growsim.scenario.equipment import Reservoir
from growsim.scenario.machines import names_at
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.units import amount_with_unit
from growsim.vocabulary.machines import BY_KEY, TIMER


def racks_have_slots(scenario: Scenario) -> Iterator[Finding]:
    """A rack has somewhere to put a tray; the room has racks, crops and trays at all."""
    for key, entries in (("racks", scenario.racks), ("crops", scenario.crops), ("trays", scenario.trays)):
        if not entries:
            yield key, "there are none", f"add at least one [[{key}]]"
    for rack in scenario.racks:
        if not sum(group.total_slots for group in rack.shelves):
            yield f"racks.{rack.name}.shelves", "the rack has no slots", "give it shelves, or take the rack out"


def reservoirs_can_flood(scenario: Scenario) -> Iterator[Finding]:
    """A reservoir can flood at least when full, and a flood ends before the next begins."""
    for reservoir in scenario.reservoirs:
        key = f"reservoirs.{reservoir.name}"
        if reservoir.lowest_flood_level_l >= reservoir.capacity_l:
            yield (
                f"{key}.lowest_flood_level_l",
                f"is {reservoir.lowest_flood_level_l:g} L, and the full reservoir holds {reservoir.capacity_l:g} L: "
                "it could never flood",
                "give a level below the capacity",
            )
        if reservoir.flows_always:
            yield from _without_timer(reservoir, key)
        elif not reservoir.flood_minutes:
            yield (
                f"{key}.flood_minutes",
                f"is 0 or left out, and a flood comes every {reservoir.flood_every_hours:g} h",
                "give the minutes of a flood, or flood_every_hours = 0 for a pump that runs all the time",
            )
        elif reservoir.flood_minutes >= reservoir.flood_every_hours * 60:
            yield (
                f"{key}.flood_minutes",
                f"is {reservoir.flood_minutes:g} min, but the next flood begins after "
                f"{reservoir.flood_every_hours * 60:g} min",
                "give shorter floods or longer pauses, or flood_every_hours = 0 for a pump that runs all the time",
            )
        if reservoir.lowest_ec_ms_cm >= reservoir.highest_ec_ms_cm:
            yield (
                f"{key}.lowest_ec_ms_cm",
                f"is {reservoir.lowest_ec_ms_cm:g}, not below highest_ec_ms_cm {reservoir.highest_ec_ms_cm:g}",
                "give a lower figure",
            )


def _without_timer(reservoir: Reservoir, key: str) -> Iterator[Finding]:
    """What a pump that runs all the time has no use for."""
    always = "is given, and the pump runs all the time (flood_every_hours = 0)"
    for name in ("flood_minutes", "first_flood_hour"):
        if getattr(reservoir, name):
            yield f"{key}.{name}", always, "leave it out, or give the hours from one flood to the next"
    if reservoir.timer.reliability.running_hours_to_failure is not None:
        yield f"{key}.timer", always, "leave the timer out: there is none to fail"


def air_can_be_held(scenario: Scenario) -> Iterator[Finding]:
    """Thermostat and heat limits lie above the air that is wanted."""
    climate = scenario.climate
    limit, wanted = climate.lights_off_above_c, amount_with_unit(climate.air_temperature_c, "°C")
    if limit is not None and limit <= climate.air_temperature_c:
        yield (
            "climate.lights_off_above_c",
            f"is {amount_with_unit(limit, '°C')}, not above the air wanted, {wanted}: the lights would stay out",
            "give a higher limit",
        )
    for crop in scenario.crops:
        if crop.heat_limit_c <= climate.air_temperature_c:
            yield (
                f"crops.{crop.name}.heat_limit_c",
                f"is {amount_with_unit(crop.heat_limit_c, '°C')}, not above the air wanted, {wanted}",
                "give a higher limit, or cool the room more",
            )
        if crop.cold_limit_c >= climate.air_temperature_c:
            yield (
                f"crops.{crop.name}.cold_limit_c",
                f"is {amount_with_unit(crop.cold_limit_c, '°C')}, not below the air wanted, {wanted}",
                "give a lower limit, or heat the room more",
            )


def outages_have_a_machine(scenario: Scenario) -> Iterator[Finding]:
    """An outage made to happen says where: a reservoir, a light bank, or nothing for the room's own machines."""
    for outage in scenario.outages:
        key, row = f"outages.{outage.name}.where", BY_KEY[outage.machine]
        if not row.place.entries:
            if outage.where:
                yield key, f"the {row.label} serves the whole room", "leave `where` out"
        elif outage.where not in (*names_at(scenario, row.place), *(() if row.place.is_needed else ("",))):
            belongs = f"{row.label} belong" if row.are else f"a {row.label} belongs"
            yield key, f"{belongs} to a {row.place.word}", f"name the {row.place.word}"
        elif row is TIMER and any(each.name == outage.where and each.flows_always for each in scenario.reservoirs):
            yield key, f"the pump of {outage.where} runs all the time, without a timer", "name another, or the pump"


def machines_in_use(scenario: Scenario) -> Iterator[Finding]:
    """Warning: reservoirs and light banks that serve no rack; shelves on which nothing may stand."""
    for key, entries, used in (
        ("reservoirs", scenario.reservoirs, {rack.reservoir for rack in scenario.racks}),
        ("lights", scenario.lights, {rack.lights for rack in scenario.racks}),
    ):
        for entry in entries:
            if entry.name not in used:
                yield f"{key}.{entry.name}", "serves no rack", "name it in a rack, or take it out"
    for rack in scenario.racks:
        for group in rack.shelves:
            if not group.stages:
                yield (
                    f"racks.{rack.name}.shelves.{group.name}.stages",
                    "no stage may stand here",
                    "name the stages that may, or leave the shelves as spare",
                )


def bank_power_w(scenario: Scenario) -> dict[str, float]:
    """Light bank -> electric power while it burns (W), all of which ends as heat in the room."""
    area = {bank.name: 0.0 for bank in scenario.lights}
    for rack in scenario.racks:
        area[rack.lights] += rack.area_m2
    return {bank.name: bank.power_w(area[bank.name]) for bank in scenario.lights}


def lights_heat_kw(scenario: Scenario) -> float:
    """Heat of all lights burning at once (kW)."""
    return math.fsum(bank_power_w(scenario).values()) / 1000.0


def lights_and_heat(scenario: Scenario) -> Iterator[Finding]:
    """Warning: the lights heat more than the heat pump can take out, on the warmest month's mean."""
    room, climate = scenario.room, scenario.climate
    walls_kw = room.heat_loss_w_per_k * (max(room.outdoor_temperature_c) - climate.air_temperature_c) / 1000.0
    heat = lights_heat_kw(scenario) + walls_kw + (room.other_heat_w + climate.fans_w) / 1000.0
    taken = f"the heat pump takes out {climate.cooling_kw:g} kW" if climate.cooling_kw else "nothing takes it out"
    if heat > climate.cooling_kw:
        yield (
            "climate.cooling_kw",
            f"lights, walls and fans bring up to {heat:.1f} kW of heat and {taken}: the room gets warmer than wanted",
            "stagger the lights, or give cooling that takes out as much",
        )
    co2 = scenario.co2
    if co2.setpoint_ppm > co2.outdoor_ppm and co2.supply_kg_per_day == 0:
        yield (
            "co2.supply_kg_per_day",
            f"is 0, so the {co2.setpoint_ppm:g} ppm wanted is never reached",
            "give a supply, or want no more than the air outside has",
        )


def solution_strength(scenario: Scenario) -> Iterator[Finding]:
    """Warning: fresh solution is outside the strength the plants like."""
    for reservoir in scenario.reservoirs:
        if not reservoir.lowest_ec_ms_cm <= reservoir.fill_ec_ms_cm <= reservoir.highest_ec_ms_cm:
            yield (
                f"reservoirs.{reservoir.name}.fill_ec_ms_cm",
                f"is {reservoir.fill_ec_ms_cm:g} mS/cm, outside {reservoir.lowest_ec_ms_cm:g} to "
                f"{reservoir.highest_ec_ms_cm:g}",
                "fill at a strength between the two",
            )


def outages_fall_inside(scenario: Scenario) -> Iterator[Finding]:
    """Warning: an outage made to happen after the rehearsal is over."""
    for outage in scenario.outages:
        if outage.start_day >= scenario.rehearsal.days:
            yield (
                f"outages.{outage.name}.start_day",
                f"is day {outage.start_day}, and the rehearsal ends with day {scenario.rehearsal.days - 1}",
                "give an earlier day, or rehearse longer",
            )
