"""Machines that cannot fail and protections, as changes of the room."""

from __future__ import annotations

from dataclasses import replace

import pytest
from outage_rooms import PLAN, frail, tiny

from growsim.ledger.aftermath import killed
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate
from growsim.scenario.equipment import Protection
from growsim.scenario.machines import can_fail, never_failing, undisturbed
from growsim.scenario.people import WalkThrough
from growsim.study.outage.protections import Protected, best_look_in_hour, mean_wait_minutes, protections_for
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.machines import CAN_FAIL, MachineKind

SEED = 11
REPLICATIONS = range(8)


@pytest.fixture(scope="module")
def frail_room() -> Prepared:
    """The frail room, prepared once."""
    return prepare(frail())


@pytest.fixture(scope="module")
def as_it_is(frail_room: Prepared) -> list[Outcome]:
    """Its year, several times."""
    return [replicate(frail_room, SEED, i, PLAN) for i in REPLICATIONS]


def lived(room: Prepared, scenario: object, i: int) -> Outcome:
    """The changed room's year."""
    return replicate(replace(room, scenario=scenario), SEED, i, PLAN)


def untouched(outcomes: list[Outcome], machines: frozenset[str]) -> list[Outcome]:
    """Years in which none of these machines went down, warm-up included."""
    return [each for each in outcomes if not any(outage.machine in machines for outage in each.outages)]


FAILING = [row for row in CAN_FAIL if can_fail(frail(), row)]


@pytest.mark.parametrize("row", FAILING, ids=lambda row: row.key)
def test_a_year_without_its_failure_is_the_same_year(
    frail_room: Prepared, as_it_is: list[Outcome], row: MachineKind
) -> None:
    """A machine that cannot fail changes nothing, cell by cell, in a year in which it does not fail."""
    same = untouched(as_it_is, frozenset({row.key}))
    assert same, "the frail room fails too often for this check"

    for outcome in same[:2]:
        assert lived(frail_room, never_failing(frail_room.scenario, row), outcome.replication) == outcome


@pytest.mark.parametrize("row", FAILING, ids=lambda row: row.key)
def test_a_machine_that_cannot_fail_never_does(frail_room: Prepared, as_it_is: list[Outcome], row: MachineKind) -> None:
    """In a year in which it fails, it no longer does; other machines of pure chance still fail at the same minute."""
    failed = next(each for each in as_it_is if each not in untouched(as_it_is, frozenset({row.key})))
    spared = lived(frail_room, never_failing(frail_room.scenario, row), failed.replication)

    assert row.key not in {outage.machine for outage in spared.outages}
    assert [(o.machine, o.down_minute) for o in failed.outages if o.machine != row.key] == [
        (o.machine, o.down_minute) for o in spared.outages
    ]


@pytest.mark.parametrize(
    "protection", protections_for(frail()), ids=lambda each: f"{'add' if each.is_added else 'take'} {each.name}"
)
def test_a_protection_changes_only_years_it_is_about(
    frail_room: Prepared, as_it_is: list[Outcome], protection: Protected
) -> None:
    """What lets the study skip such years: they are the same to the last plant and cent."""
    assert protection.touches is not None
    same = untouched(as_it_is, protection.touches)

    if not protection.in_any_year:
        for outcome in same[:1]:
            assert lived(frail_room, protection.change(frail_room.scenario), outcome.replication) == outcome
    assert protection.change(frail_room.scenario) != frail_room.scenario


def test_every_kind_of_protection_is_weighed(frail_room: Prepared) -> None:
    """Those to add first, then those that are there; nothing that means nothing here."""
    found = [(each.name, each.is_added) for each in protections_for(frail_room.scenario)]

    assert found == sorted(found, key=lambda each: not each[1])
    assert {name for name, is_added in found if is_added} == {
        "spare timer", "spare for the lights", "spare for the heat pump", "pump alarm", "light alarm",
        "daily walk-through",
        "battery for pumps", "second pump", "thermostat",
    }  # fmt: skip
    assert {name for name, is_added in found if not is_added} == {
        "spare pump", "heat alarm", "daily walk-through", "battery for pumps", "thermostat",
    }  # fmt: skip
    assert protections_for(undisturbed(frail_room.scenario)) == ()


def test_settings_and_prices_come_from_the_room_file(frail_room: Prepared) -> None:
    """A price is spread over the years it lasts; a setting replaces the usual one."""
    battery = Protection(name="battery for pumps", price=600, lasts_years=6, price_per_year=10, setting=12)
    room = frail_room.scenario.model_copy(update={"protections": (battery,)})
    found = next(each for each in protections_for(room) if each.name == "battery for pumps" and each.is_added)

    assert (found.setting, found.was, found.cost_per_year) == (12, 2.0, 110)
    assert found.change(room).power.battery_pump_hours == 12
    assert Protection(name="thermostat").cost_per_year is None


def test_the_thermostat_is_set_below_what_the_tenderest_crop_bears(frail_room: Prepared) -> None:
    """30 °C for crops that bear 32 °C; the one there, at 33 °C, counts as set lower."""
    found = next(each for each in protections_for(frail_room.scenario) if each.name == "thermostat" and each.is_added)

    assert (found.setting, found.was) == (30.0, 33.0)


def test_the_mean_wait_for_a_look_in() -> None:
    """Daily at one hour: half a day. Twice a day, evenly: a quarter. Source: mean residual time, E[gap²]/(2 E[gap])."""
    daily = [day * 1440 + 480 for day in range(7)]

    assert mean_wait_minutes(daily) == 720
    assert mean_wait_minutes([*daily, *(minute + 720 for minute in daily)]) == 360
    assert mean_wait_minutes([100]) == 5040
    with pytest.raises(ValueError, match="nobody"):
        mean_wait_minutes([])


def test_one_more_look_in_goes_where_the_wait_is_longest() -> None:
    """With somebody there every evening at eight and at no other time, the best hour is eight in the morning."""
    room = frail()
    evening = WalkThrough(name="evening", weekdays=WEEKDAYS, hour=20.0)
    crew = room.crew.model_copy(update={"shifts": (), "walk_throughs": (evening,)})

    assert best_look_in_hour(room.model_copy(update={"crew": crew})) == 8.0


def test_a_spare_never_worsens_a_single_failure() -> None:
    """One failure, with and without a pump on the shelf: never more plants killed, and fewer where it mattered."""
    room = tiny()
    alone = undisturbed(room)
    fails = {"running_hours_to_failure": room.reservoirs[0].pump.reliability.running_hours_to_failure.model_copy(
        update={"distribution": "fixed", "value": 30.0, "mean": None})}  # fmt: skip
    killed_by = {}
    for spares in (0, 1):
        reservoir = alone.reservoirs[0]
        pump = reservoir.pump.model_copy(
            update={"reliability": reservoir.pump.reliability.model_copy(update={**fails, "spares": spares})}
        )
        reservoirs = (reservoir.model_copy(update={"pump": pump}),)
        prepared = prepare(alone.model_copy(update={"reservoirs": reservoirs}))
        killed_by[spares] = [killed(replicate(prepared, SEED, i, PLAN)) for i in range(3)]

    assert all(with_one <= without for without, with_one in zip(killed_by[0], killed_by[1], strict=True))
    assert sum(killed_by[1]) < sum(killed_by[0])
