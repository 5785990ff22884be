"""A pump that runs all the time, without a timer, in the round room (tests/small_rooms.py), by pencil."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import DAY, lived, scenario_of, tables

from growsim.ledger.events import FloodMissed, Harvested, Lost, MetersRead
from growsim.scenario.checks.all import faults_of
from growsim.scenario.machines import machines_of


def channel_room() -> dict[str, Any]:
    """The round room, its reservoir pumped round all the time."""
    raw = tables()
    reservoir = raw["reservoirs"][0]
    for key in ("first_flood_hour", "flood_minutes"):
        del reservoir[key]
    reservoir["flood_every_hours"] = 0
    return raw


def out(machine: str, day: int, hours: float, where: str = "") -> dict[str, Any]:
    """A machine down from midnight of a day."""
    return {"name": "x", "machine": machine, "where": where, "start_day": day, "start_hour": 0, "hours": hours}


def test_the_clock_starts_as_the_pump_stops() -> None:
    """Dead from day 12, 0:00 (17,280), for 60 h, to 20,880: one stop.

    A plug holds 24 mL, a day's drinking: growth stops after 16.8 h (18,288), it is empty after 24 h (18,720). Half die
    in 48 h: daily, at 20,160, after 24 h, 9 × 0.1591 = 1.4, so 1; when water is back, after 36 h, 9 × 0.3229 = 2.9, so
    3. Six are cut at 35,110, having grown 2,592 min (18,288 to 20,880) less: 27,643 min, 0.1 + 1.91965 g dry: 6 × 0.9 /
    0.04 × 2.01965 = 272.7 g.
    """
    raw = channel_room()
    raw["crops"][0]["dry_half_loss_hours"] = 48
    raw["outages"] = [out("pump", 12, 60, "reservoir")]
    book = lived(raw, 30)

    assert list(book.of(FloodMissed)) == [FloodMissed(17280, "reservoir", "pump")]
    dried = [(lost.minute, lost.plants) for lost in book.of(Lost) if lost.cause == "dried_out"]
    assert dried == [(20160, 1), (20880, 2)]
    assert [(cut.minute, cut.plants, cut.grams) for cut in book.of(Harvested)] == [(35110, 6, 273)]


@pytest.mark.parametrize("every_flood", [False, True])
def test_water_stops_where_the_reservoir_falls_too_low(every_flood: bool) -> None:
    """10 L, pumped down to 9.2 L: 800 mL last nine plants 5,333.3 min from 4,875, to 10,208.3; topped up on Monday at
    10,630. With 0.2 mL in hand on Thursday at 14,967, 5,334.7 min more, to 20,301.7."""
    raw = channel_room()
    raw["reservoirs"][0] |= {"capacity_l": 10, "lowest_flood_level_l": 9.2}

    book = lived(raw, 15, every_flood_an_event=every_flood)

    assert list(book.of(FloodMissed)) == [
        FloodMissed(10209, "reservoir", "low reservoir"),
        FloodMissed(20302, "reservoir", "low reservoir"),
    ]


def test_a_battery_a_second_pump_and_a_leak() -> None:
    """A power outage stops the water when the battery is empty, after three hours; one of two pumps keeps it running; a
    leak stops it."""
    for machine, battery, pumps, missed in (
        ("power", 3, 1, [(180, "power")]),
        ("power", 10, 1, []),
        ("pump", 0, 2, [(0, "pump")]),
        ("reservoir leak", 0, 1, [(0, "reservoir leak")]),
    ):
        raw = channel_room()
        raw["power"] = {"battery_pump_hours": battery}
        raw["reservoirs"][0]["pump"]["count"] = pumps
        raw["outages"] = [out(machine, 12, 10, "" if machine == "power" else "reservoir")]
        found = [(record.minute - 12 * DAY, record.why) for record in lived(raw, 14).of(FloodMissed)]
        assert found == missed, machine


def test_the_pump_uses_power_all_the_time() -> None:
    """40 W for ten days: 9.6 kWh; without it for 60 h: 7.2 kWh."""
    raw = channel_room()
    assert list(lived(raw, 10).of(MetersRead))[-1].kwh_pumps == pytest.approx(9.6)

    raw["outages"] = [out("pump", 3, 60, "reservoir")]
    assert list(lived(raw, 10).of(MetersRead))[-1].kwh_pumps == pytest.approx(7.2)


def test_the_machines_of_a_room_without_a_timer() -> None:
    """Its pump runs day and night; there is no timer."""
    found = {machine.kind: machine.share for machine in machines_of(scenario_of(channel_room()))}

    assert found["pump"] == 1.0
    assert "timer" not in found


def test_what_cannot_be_meant() -> None:
    """Minutes of a flood and its hours go together; a timer there is not cannot fail."""

    def keys(**edit: Any) -> list[str]:
        raw = channel_room()
        raw["reservoirs"][0] |= edit
        return [key for key, _, _ in faults_of(scenario_of(raw)) if key.startswith("reservoirs")]

    assert keys() == []
    assert keys(flood_minutes=5) == ["reservoirs.reservoir.flood_minutes"]
    assert keys(flood_every_hours=4) == ["reservoirs.reservoir.flood_minutes"]
    assert keys(first_flood_hour=5) == ["reservoirs.reservoir.first_flood_hour"]
    fails = {"reliability": {"running_hours_to_failure": {"distribution": "fixed", "value": 5000}}}
    assert keys(timer=fails) == ["reservoirs.reservoir.timer"]

    raw = channel_room()
    raw["outages"] = [out("timer", 12, 10, "reservoir")]
    assert [problem for _, problem, _ in faults_of(scenario_of(raw))] == [
        "the pump of reservoir runs all the time, without a timer"
    ]
