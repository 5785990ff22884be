"""What cannot happen in a room, whatever the luck: of that alone a figure of 0 may be stated without a doubt.

Only plain cases, read off the room file. What is not among them may happen, however seldom: a loss to heat in a room
that has never been too warm is not seen, not impossible.
"""

from __future__ import annotations

from typing import Final

from growsim.scenario.crop import Crop
from growsim.scenario.machines import machines_of
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import DRIED_OUT, THINNED, TOO_SMALL, TRANSPLANTING
from growsim.vocabulary.machines import POWER

FAILURES: Final = "machine_failures"
OUTAGES: Final = "power_outages"
FLOODS_MISSED: Final = "floods_missed"
LOW_RESERVOIR: Final = "plants_dried_low_reservoir"


def cannot_happen(scenario: Scenario, *, standing: bool = False) -> frozenset[str]:
    """Keys of the figures (`growsim.ledger.catalogue`) that are 0 in every year of this room.

    standing: whether plants stand there at the start that no line of the plan sows.
    """
    sown = {line.crop for line in scenario.sowing}
    crops = [crop for crop in scenario.crops if standing or crop.name in sown]
    found = set()
    if not any(_may_lose_in_moving(crop) for crop in crops):
        found.add(TRANSPLANTING.measure)
    if all(_is_never_thinned(crop) for crop in crops):
        found.add(THINNED.measure)
    if all(crop.mass_spread_cv == 0.0 for crop in crops):
        found.add(TOO_SMALL.measure)
    if not _machines_fail(scenario):
        found.add(FAILURES)
    if not _power_fails(scenario):
        found.add(OUTAGES)
    if all(reservoir.top_up != "by hand" for reservoir in scenario.reservoirs):
        found.add(LOW_RESERVOIR)
        if not scenario.outages and {FAILURES, OUTAGES} <= found:
            found |= {FLOODS_MISSED, DRIED_OUT.measure}
    return frozenset(found)


def _may_lose_in_moving(crop: Crop) -> bool:
    return any(not stage.loss_fraction.is_fixed or stage.loss_fraction.expected() > 0.0 for stage in crop.stages)


def _is_never_thinned(crop: Crop) -> bool:
    return crop.sown_by != "seed" or crop.seeds_per_cell == 1


def _machines_fail(scenario: Scenario) -> bool:
    """Whether any machine fails by itself, or is made to."""
    by_themselves = any(each.reliability.running_hours_to_failure is not None for each in machines_of(scenario))
    return by_themselves or any(outage.machine != POWER.key for outage in scenario.outages)


def _power_fails(scenario: Scenario) -> bool:
    return scenario.power.outages_per_year > 0.0 or any(each.machine == POWER.key for each in scenario.outages)
