"""Cross-checks between the tables of a room: what cannot be (a fault) and what is surely not meant (a warning).

Each check is a generator of (key, problem, remedy); the two tuples at the foot name them all.
"""

from __future__ import annotations

import contextlib
from collections.abc import Collection, Iterator
from types import SimpleNamespace
from typing import Any, cast

from pydantic import ValidationError

from growsim.scenario.checks import closings, extremes, figures, slots, sown_whole
from growsim.scenario.checks import crew as check_crew
from growsim.scenario.checks import crops as check_crops
from growsim.scenario.checks import machines as check_machines
from growsim.scenario.checks import promises as check_promises
from growsim.scenario.scenario import Scenario
from growsim.scenario.starter import starter_tables
from growsim.scenario.wording import Finding


def nobody_comes(scenario: Scenario) -> Iterator[Finding]:
    """Warning: no shift at all."""
    if not scenario.crew.shifts:
        yield (
            "crew.shifts",
            "nobody ever comes to work, so it cannot be rehearsed: nothing would be sown, harvested or handed out",
            "add a [[crew.shifts]]",
        )


def nothing_is_sown(scenario: Scenario) -> Iterator[Finding]:
    """Warning: no line of a sowing plan."""
    if not scenario.sowing:
        yield (
            "sowing",
            "nothing is ever sown, so it cannot be rehearsed: there would be nothing to harvest and hand out",
            "add a [[sowing]] line, or let `growsim sow` find a plan",
        )


def faults_of(scenario: Scenario) -> list[Finding]:
    """What cannot be, in a room whose single tables are sound; some of the names it uses may be unknown."""
    return [finding for check in FAULTS for finding in check(scenario)]


def faults_of_the_rest(full: dict[str, Any], faulty: Collection[str]) -> list[Finding]:
    """What cannot be among the tables that are sound by themselves. faulty: keys of those that are not.

    A check that looks at a faulty table says nothing.
    """
    sound = {key: value for key, value in full.items() if key in Scenario.model_fields and key not in faulty}
    try:
        whole = Scenario.model_validate({**starter_tables(), **sound})
    except ValidationError:
        return []
    rest = cast(
        Scenario, SimpleNamespace(**{key: getattr(whole, key) for key in whole.model_fields_set & sound.keys()})
    )
    found: list[Finding] = []
    for check in FAULTS:
        with contextlib.suppress(AttributeError):  # of a table that is not among the rest
            found += check(rest)
    return found


def warnings_of(scenario: Scenario) -> list[Finding]:
    """What is surely not meant, in a room without a fault."""
    return [finding for check in WARNINGS for finding in check(scenario)]


FAULTS = (
    check_crops.stage_lines,
    check_crops.stage_places,
    check_crops.emergence_tables,
    check_crops.spreads,
    check_crops.sowing_fits,
    sown_whole.trays_stay_whole,
    sown_whole.seed_is_measured_once,
    check_machines.racks_have_slots,
    check_machines.reservoirs_can_flood,
    check_machines.air_can_be_held,
    check_machines.outages_have_a_machine,
    check_crew.start_is_in_reach,
    extremes.closings_leave_days,
    extremes.machines_run_for_a_while,
    extremes.air_stays_air,
    check_crew.shifts_end_the_same_day,
    check_crew.somebody_in_a_shift,
    check_crew.months_are_complete,
    check_crew.every_work_is_described,
    check_crew.minutes_by_crop_are_single,
    check_crew.a_lead_for_what_needs_one,
    check_promises.orders_are_single,
    check_promises.orders_fall_due,
)
WARNINGS = (
    nobody_comes,
    nothing_is_sown,
    figures.figures_are_plausible,
    slots.slots_on_every_day,
    check_crops.crops_are_sown,
    check_machines.machines_in_use,
    check_machines.lights_and_heat,
    check_machines.solution_strength,
    check_machines.outages_fall_inside,
    check_crew.room_for_the_crew,
    check_crew.hands_on_the_day,
    closings.closed_days_count,
    closings.two_days_are_no_time,
    closings.something_is_off,
    closings.closed_days_told_to_the_end,
    closings.nothing_is_sown_in_vain,
    check_crew.hours_enough_on_paper,
    check_promises.promises_on_paper,
    check_promises.partners_are_closed,
    check_promises.pickups_follow_cuts,
    check_promises.surplus_waits_for_pickups,
)
