"""The year's losses by another road: every outage of the rehearsed years, looked up among the single outages.

What one outage of that machine, at that hour and of that length kills on average, summed over the outages that came by
chance; where only the air kills, so that the harm hangs on the month, what the clock says of its length in that month.
It does not see two outages at once, nor a reservoir that happened to be emptier; near enough to the losses counted in
the years themselves, it says that neither is far wrong.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from growsim.growth.stress import AIR_HARMS, surviving_air
from growsim.ledger.measures import WEEKS_A_YEAR
from growsim.ledger.outcome import Outage, Outcome
from growsim.run.prepare import Prepared
from growsim.scenario.calendar import Calendar
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage.air import course_of
from growsim.study.outage.clock import degree_hours
from growsim.study.outage.trials import LossByHours, Strike
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.scenario.crop import Crop


def by_single_outages(
    prepared: Prepared, found: LossByHours, outcomes: Sequence[Outcome], plan: RunPlan
) -> dict[str, float]:
    """Machine -> plants a year, for every machine that went down in the years given and was tried alone."""
    scenario = prepared.scenario
    calendar = Calendar(scenario.room.start_date)
    years = len(outcomes) * plan.days / 7.0 / WEEKS_A_YEAR
    plants: dict[str, float] = {}
    for outcome in outcomes:
        for outage in outcome.outages:
            if outage.down_minute < 0 or outage.repaired_minute is None:
                continue
            if BY_KEY[outage.machine].only_warms:
                killed: float | None = _by_the_clock(prepared, found, outage, calendar)
            else:
                killed = _by_trials(scenario, found, outage)
            if killed is not None:
                plants[outage.machine] = plants.get(outage.machine, 0.0) + killed / years
    return plants


def _by_the_clock(prepared: Prepared, found: LossByHours, outage: Outage, calendar: Calendar) -> float:
    """Plants that this spell of warmth or cold kills, crop by crop, of the plants that usually stand in the room."""
    assert outage.repaired_minute is not None
    standing = next(loss.standing for loss in found.losses if loss.strike.machine == BY_KEY[outage.machine].trial)
    month, hour = calendar.month(outage.down_minute // 1440), outage.down_minute % 1440 / 60.0
    hours = (outage.repaired_minute - outage.down_minute) / 60.0
    course = course_of(prepared.scenario, prepared.curves, outage.machine, month, hour, horizon_hours=hours)
    share = 0.0
    for crop, part in _parts_of_room(prepared.scenario).items():
        doses = [(harm, degree_hours(harm, crop, course)[-1]) for harm in AIR_HARMS]
        share += part * (1.0 - surviving_air(crop, doses))
    return standing * share


def _parts_of_room(scenario: Scenario) -> dict[Crop, float]:
    """Crop -> its part of the plants standing: cells sown a week, times the days they stand."""
    crops = {crop.name: crop for crop in scenario.crops}
    weights: dict[str, float] = {}
    for line in scenario.sowing:
        weight = line.cells / line.every_weeks * crops[line.crop].typical_days
        weights[line.crop] = weights.get(line.crop, 0.0) + weight
    total = math.fsum(weights.values())
    return {crops[name]: weight / total for name, weight in weights.items()}


def _by_trials(scenario: Scenario, found: LossByHours, outage: Outage) -> float | None:
    """Plants that one such outage kills, of the trials; None for what was not tried."""
    assert outage.repaired_minute is not None
    tried = BY_KEY[outage.machine].trial
    hours = (outage.repaired_minute - outage.down_minute) / 60.0
    for strike in found.strikes:
        if strike.machine == tried and _is_like(scenario, strike, outage.where):
            return _of_strike(found, strike, hours, outage.down_minute % 1440 / 60.0)
    return None


def _is_like(scenario: Scenario, strike: Strike, where: str) -> bool:
    """Whether the strike stands for the reservoir or light bank it happened to."""
    if not strike.where:
        return True
    key = strike.row.place.rack

    def held(name: str) -> set[str]:
        racks = [rack for rack in scenario.racks if getattr(rack, key) == name]
        return {stage for rack in racks for group in rack.shelves if group.total_slots for stage in group.stages}

    return held(strike.where) == held(where)


def _of_strike(found: LossByHours, strike: Strike, hours: float, start_hour: float) -> float:
    """Plants killed, straight between the hours tried, at the hour of the day tried that is nearest."""
    losses = found.of(strike)
    starts = sorted({start for _, start in losses})
    start = min(starts, key=lambda tried: min((start_hour - tried) % 24.0, (tried - start_hour) % 24.0))
    points = [(0.0, 0.0)]
    for tried in found.trials.hours:
        loss = losses[tried, start]
        points.append((tried, loss.standing * (loss.lost_share.mean if loss.lost_share else 0.0)))
    for (low, below), (high, above) in pairwise(points):
        if hours <= high:
            return below + (above - below) * (hours - low) / (high - low)
    return points[-1][1]
