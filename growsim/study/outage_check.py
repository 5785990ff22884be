"""The year's losses by another road: every outage of the rehearsed years, looked up among the single outages.

What one outage of that machine, in that month, at that hour and of that length kills on average, summed over the
outages that came by chance. It does not see two outages at once, nor a tub that happened to be emptier; near enough to
the losses counted in the years themselves, it says that neither is far wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from growsim.ledger.measures import WEEKS_A_YEAR
from growsim.ledger.outcome import Outage, Outcome
from growsim.spec.calendar import Calendar
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.study.outage_hours import LossByHours, Strike

AS_PUMP = ("pump", "timer")


def by_single_outages(
    scenario: Scenario, found: LossByHours, outcomes: Sequence[Outcome], plan: RunPlan
) -> dict[str, float]:
    """Machine -> plants a year, for every machine that went down in the years given and was tried alone."""
    calendar = Calendar(scenario.room.start_date)
    years = len(outcomes) * plan.days / 7.0 / WEEKS_A_YEAR
    plants: dict[str, float] = {}
    for outcome in outcomes:
        for outage in outcome.outages:
            if outage.down_minute < 0 or outage.repaired_minute is None:
                continue
            month = calendar.month(outage.down_minute // 1440)
            killed = _killed(scenario, found, outage, month)
            if killed is not None:
                plants[outage.machine] = plants.get(outage.machine, 0.0) + killed / years
    return plants


def _killed(scenario: Scenario, found: LossByHours, outage: Outage, month: int) -> float | None:
    """Plants that one such outage kills; between the warmest and the coldest month by the temperature outside."""
    assert outage.repaired_minute is not None
    kind = "pump" if outage.machine in AS_PUMP else outage.machine
    strikes = [
        strike for strike in found.strikes if strike.machine == kind and _is_like(scenario, strike, outage.where)
    ]
    if not strikes:
        return None
    hours = (outage.repaired_minute - outage.down_minute) / 60.0
    start_hour = outage.down_minute % 1440 / 60.0
    outdoor = scenario.room.outdoor_temperature_c
    by_month = {strike.month: _of_strike(found, strike, hours, start_hour) for strike in strikes}
    if len(by_month) == 1:
        return next(iter(by_month.values()))
    (warm, in_warm), (cold, in_cold) = sorted(by_month.items(), key=lambda each: -outdoor[each[0]])
    share = (outdoor[month] - outdoor[cold]) / (outdoor[warm] - outdoor[cold])
    return in_cold + share * (in_warm - in_cold)


def _is_like(scenario: Scenario, strike: Strike, where: str) -> bool:
    """Whether the strike stands for the tub or light bank it happened to."""
    if not strike.where:
        return True
    key = "tub" if strike.machine == "pump" else "lights"

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
