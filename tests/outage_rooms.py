"""The tiny invented room with everything in it that can fail, for trials of outages."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from growsim.run.prepare import Prepared, prepare
from growsim.scenario.equipment import PlannedOutage, Reliability
from growsim.scenario.load import load_scenario
from growsim.scenario.people import WalkThrough
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.vocabulary.days import WEEKDAYS

TINY = Path(__file__).parents[1] / "scenarios" / "tiny"
PLAN = RunPlan(84, 56)
EVENT = RunPlan(14, 56)


def tiny() -> Scenario:
    """The tiny room as shipped."""
    return load_scenario(TINY).scenario


def frail() -> Scenario:
    """The tiny room in which pump, timer, lights, heat pump and power fail now and then, some with help at hand."""
    room = tiny()

    def fails(hours: float, **more: object) -> Reliability:
        life = Uncertain(distribution="exponential", mean=hours)
        return Reliability(running_hours_to_failure=life, repair_hours=Uncertain(value=3.0)).model_copy(update=more)

    reservoirs = tuple(
        reservoir.model_copy(
            update={
                "pump": reservoir.pump.model_copy(update={"reliability": fails(60, spares=1)}),
                "timer": reservoir.timer.model_copy(update={"reliability": fails(6000)}),
            }
        )
        for reservoir in room.reservoirs
    )
    lights = tuple(bank.model_copy(update={"reliability": fails(3000)}) for bank in room.lights)
    climate = room.climate.model_copy(
        update={"reliability": fails(5000, alarm_minutes=30.0), "lights_off_above_c": 33.0}
    )
    power = room.power.model_copy(
        update={"outages_per_year": 4.0, "outage_hours": Uncertain(value=9.0), "battery_pump_hours": 2.0}
    )
    crew = room.crew.model_copy(
        update={"walk_throughs": (WalkThrough(name="evening", weekdays=WEEKDAYS[:5], hour=20.0),)}
    )
    return room.model_copy(
        update={"reservoirs": reservoirs, "lights": lights, "climate": climate, "power": power, "crew": crew}
    )


def struck(
    prepared: Prepared, machine: str, hours: float, *, where: str = "", day: int = 8, hour: float = 0.0
) -> Prepared:
    """The room with one outage made to happen, and no other."""
    outage = PlannedOutage.model_validate(
        {"name": "tried", "machine": machine, "where": where, "start_day": day, "start_hour": hour, "hours": hours}
    )
    return replace(prepared, scenario=prepared.scenario.model_copy(update={"outages": (outage,)}))


def prepared_tiny(month: int = 7) -> Prepared:
    """The tiny room with nothing failing, begun in that month."""
    from growsim.scenario.machines import undisturbed

    room = undisturbed(tiny())
    start = room.room.start_date.replace(month=month, day=7)
    return prepare(room.model_copy(update={"room": room.room.model_copy(update={"start_date": start})}))
