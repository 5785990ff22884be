"""Cross-checks against what no room can be, though each figure by itself is possible: closed for good, hot as an oven,
with machines that are never up."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

from growsim.scenario.checks.crew import FIRST_YEAR, LAST_YEAR
from growsim.scenario.machines import machines_of
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.vocabulary.machines import BY_KEY

HOTTEST_C = 80.0  # a room, with its heat pump at work; people and plants have left it long before
HOTTEST_ALONE_C = 1000.0  # without: no figure of a room leads there
AIR_WH_PER_M3_K = 1.2 * 1005.0 / 3600.0  # 1.2 kg/m³ and 1005 J/kg/K, any table of air at 20 °C (from memory)
LEAST_HOURS = 1.0


def closings_leave_days(scenario: Scenario) -> Iterator[Finding]:
    """Closed days are of years the calendar reaches, and somebody may come on some day that counts."""
    room, days = scenario.room, scenario.rehearsal.days
    odd = [day for day in room.closed_days if not FIRST_YEAR <= day.year <= LAST_YEAR]
    if odd:
        yield "room.closed_days", f"has {odd[0].isoformat()}", f"give years from {FIRST_YEAR} to {LAST_YEAR}"
    closed = set(room.closed_days)
    if len(closed) < days or not FIRST_YEAR <= room.start_date.year <= LAST_YEAR:
        return
    if all(room.start_date + dt.timedelta(days=day) in closed for day in range(days)):
        yield (
            "room.closed_days",
            f"the room is closed on all {days} days from {room.start_date.isoformat()} on, so nobody ever works",
            "leave some days open, or begin (start_date) at another time",
        )


def machines_run_for_a_while(scenario: Scenario) -> Iterator[Finding]:
    """A machine runs for an hour or more, on average, before it fails."""
    for machine in machines_of(scenario):
        given = machine.reliability.running_hours_to_failure
        hours = given.expected() * machine.reliability.hours_factor.expected() if given is not None else math.inf
        if hours < LEAST_HOURS:
            row = BY_KEY[machine.kind]
            table = ".".join([*([row.place.entries, machine.where] if row.place.entries else []), *(row.table or ())])
            yield (
                f"{table}.reliability.running_hours_to_failure",
                f"is {hours:.3g} hours on average, which no machine can be used with",
                f"give {LEAST_HOURS:g} or more; leave it out for a machine that never fails",
            )


def air_stays_air(scenario: Scenario) -> Iterator[Finding]:
    """Heat against walls, leaks and the heat pump leads to air that people can stand in a doorway of."""
    room, climate = scenario.room, scenario.climate
    area = {bank.name: 0.0 for bank in scenario.lights}
    for rack in scenario.racks:
        area[rack.lights] = area.get(rack.lights, 0.0) + rack.area_m2
    on_average = [bank.power_w(area[bank.name]) * bank.hours_per_day / 24.0 for bank in scenario.lights]
    lights_w = 0.0 if climate.lights_off_above_c is not None else math.fsum(on_average)
    heat_w = lights_w + room.other_heat_w + climate.fans_w
    lost = room.heat_loss_w_per_k + room.air_changes_per_hour * room.floor_area_m2 * room.height_m * AIR_WH_PER_M3_K
    outside = max(room.outdoor_temperature_c)
    for left_w, hottest in ((heat_w - 1000.0 * climate.cooling_kw, HOTTEST_C), (heat_w, HOTTEST_ALONE_C)):
        if left_w > 0.0 and outside + left_w / max(lost, 1e-9) > hottest:
            told = "room.other_heat_w" if room.other_heat_w > lights_w else "climate.cooling_kw"
            cooling = (
                f"the heat pump takes out {climate.cooling_kw:g} kW" if climate.cooling_kw else "nothing takes it out"
            )
            takes = cooling if hottest == HOTTEST_C or not climate.cooling_kw else "the heat pump may be down for days"
            reached = f"{outside + left_w / lost:,.0f} °C" if lost > 0.0 else "any temperature, since nothing leaves it"
            yield (
                told,
                f"lights, fans and other heat bring {heat_w / 1000.0:.3g} kW on average and {takes}: "
                f"the air would reach {reached}",
                "check heat, walls and leaks; give more cooling, or lights_off_above_c for a thermostat",
            )
            return
