"""Single outages: the longer the worse, what kills nothing, what is the same, and how losses are counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from outage_rooms import EVENT, frail, prepared_tiny, struck

from growsim.ledger.aftermath import killed
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.run.replicate import replicate, trace
from growsim.scenario.machines import undisturbed
from growsim.scenario.plan import RunPlan
from growsim.study.outage.hours import losses_by_hours, runs_for
from growsim.study.outage.trials import ALL, Trials, strikes_for

SEED = 3
HOURS = (1, 2, 4, 6, 9, 13, 19, 28, 41, 60, 90)


@pytest.fixture(scope="module")
def room() -> Prepared:
    """The tiny room in July, nothing failing."""
    return prepared_tiny(7)


def after(room: Prepared, machine: str, hours: float, *, hour: float = 0.0, i: int = 0, where: str = "") -> Outcome:
    """Two weeks with one outage on the ninth day."""
    return replicate(struck(room, machine, hours, where=where, hour=hour), SEED, i, EVENT)


def rises(values: Sequence[float]) -> bool:
    """Whether no value is below the one before it."""
    return list(values) == sorted(values)


@pytest.mark.parametrize("hour", [0.0, 7.5, 13.0, 21.0])
@pytest.mark.parametrize("i", [0, 1])
def test_a_longer_dead_pump_never_kills_fewer(room: Prepared, hour: float, i: int) -> None:
    """One outage, nothing else failing, the same luck: plants killed rise with the hours, plant by plant."""
    found = [killed(after(room, "pump", hours, where="reservoir", hour=hour, i=i)) for hours in HOURS]

    assert rises(found)
    assert found[0] <= 2 and found[-1] > 100


@pytest.mark.parametrize("hour", [0.0, 10.0])
def test_a_longer_dead_heat_pump_never_kills_fewer(room: Prepared, hour: float) -> None:
    """Likewise for heat."""
    found = [killed(after(room, "heat pump", hours, hour=hour)) for hours in HOURS]

    assert rises(found)
    assert found[0] == 0 and found[-1] > 200


def test_pump_timer_and_leak_kill_the_same(room: Prepared) -> None:
    """All three stop the floods; so the pump may stand for them."""
    found = {machine: after(room, machine, 20, where="reservoir") for machine in ("pump", "timer", "reservoir leak")}

    assert killed(found["pump"]) == killed(found["timer"]) == killed(found["reservoir leak"]) > 20
    assert found["pump"].measures == found["timer"].measures


@pytest.mark.parametrize(("machine", "where"), [("co2", ""), ("lights", "lights")])
def test_what_kills_nothing_kills_nothing(room: Prepared, machine: str, where: str) -> None:
    """Neither the dark nor plain air kills a plant."""
    assert killed(after(room, machine, 72, where=where)) == 0


def test_co2_at_the_outdoor_set_point_does_not_matter(room: Prepared) -> None:
    """Its outage changes exactly nothing, not a gram and not a cent; only the log of outages has it."""
    spared, hit = replicate(room, SEED, 0, EVENT), after(room, "co2", 100)

    assert replace(hit, outages=(), measures=spared.measures) == replace(spared, outages=())
    assert {key for key in hit.measures if hit.measures[key] != spared.measures[key]} == {"machine_failures"}


def test_an_outage_that_misses_no_flood_costs_nothing(room: Prepared) -> None:
    """Floods at 2, 6, 10...: a pump that is dead from 3 to 5 is missed by nobody."""
    spared, hit = replicate(room, SEED, 0, EVENT), after(room, "pump", 2, where="reservoir", hour=3.0)

    assert hit.weeks == spared.weeks


def test_standing_plants_are_those_of_the_log_book(room: Prepared) -> None:
    """Living plants: seeds not up and seedlings to be pulled are left out."""
    plan = RunPlan(8, EVENT.warm_up_days)
    book, outcome = trace(room, SEED, 0, plan), replicate(room, SEED, 0, plan)
    found = sum(number for account, number in outcome.aftermath.items() if account.startswith("standing:"))

    assert 0 < found < sum(standing.plants for standing in book.standing)


def test_strikes_are_what_can_stand_still() -> None:
    """Pump and lights; power and heat pump in the month that is worst by the clock and in the coldest; CO2 if fed."""
    found = strikes_for(prepare(frail()))

    assert [(strike.machine, strike.month) for strike in found] == [
        ("pump", 6), ("power", 6), ("power", 0), ("heat pump", 6), ("heat pump", 0), ("lights", 6),
    ]  # fmt: skip
    assert found[0].where == "reservoir" and found[0].stages == ("seedling", "leaf", "head")
    fed = frail().co2.model_copy(update={"setpoint_ppm": 900.0, "supply_kg_per_day": 1.0})
    assert strikes_for(prepare(frail().model_copy(update={"co2": fed})))[-1].machine == "co2"


def test_losses_are_the_difference_that_the_outage_makes() -> None:
    """Every case: nothing at one hour, much at 40; shares within the plants that stood; as many runs as foretold."""
    trials = Trials(hours=(1.0, 40.0), start_hours=(3.0, 15.0), plant_replications=2, kg_replications=2)
    room = prepare(frail())
    strikes = strikes_for(room)
    counted: list[int] = []
    shared = SharedProgress(lambda done, total: counted.append(done), runs_for(strikes, trials))
    with Rehearsers() as rehearsers:
        found = losses_by_hours(room, strikes, rehearsers, SEED, trials, shared)
    pump = found.strikes[0]

    assert counted[-1] == runs_for(strikes, trials)
    assert len(found.losses) == sum(
        (1 + len(s.stages)) * len(trials.hours) * (len(trials.start_hours) if s.row.can_kill else 1)
        for s in found.strikes
    )
    assert len(found.kilograms) == len(found.strikes) * len(trials.hours)
    assert found.worst_share(pump, 1.0) == 0.0
    assert 0.2 < (found.worst_share(pump, 40.0) or 0.0) < 1.0
    assert (found.worst_share(pump, 40.0, "head") or 0.0) > (found.worst_share(pump, 40.0, "leaf") or 0.0)
    of_stages = [next(iter(found.of(pump, stage).values())).standing for stage in pump.stages]
    assert next(iter(found.of(pump, ALL).values())).standing == pytest.approx(sum(of_stages))
    dark = next(strike for strike in found.strikes if strike.machine == "lights")
    assert found.worst_share(dark, 40.0) == 0.0
    kg = {loss.hours: loss.kg.mean for loss in found.kilograms if loss.strike == pump}
    assert kg[1.0] == 0.0 and kg[40.0] > 2.0


def test_the_room_of_a_trial_has_nothing_else_failing() -> None:
    """Nothing fails in it and nothing is made to fail."""
    calm = undisturbed(frail())
    book = replicate(prepare(calm), SEED, 0, EVENT)

    assert book.outages == ()
