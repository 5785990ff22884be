"""The thermostat that puts the lights out acts at its temperature, not an hour later."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from pathlib import Path

from growsim.ledger.events import AirRead
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
LIMIT_C = 32.0


def test_the_thermostat_acts_at_once() -> None:
    """A heat pump is down for two days: the lights go out as the air passes the limit, on again 2 °C below."""
    room = load_scenario(TINY).scenario
    dead = PlannedOutage(name="heat pump", machine="heat pump", start_day=2, start_hour=5, hours=48)
    guarded = room.climate.model_copy(update={"lights_off_above_c": LIMIT_C})
    july = room.room.model_copy(update={"start_date": dt.date(2031, 7, 7)})
    warm = room.model_copy(update={"room": july, "climate": guarded, "outages": (dead,)})
    book = trace(prepare(warm), 7, 0, RunPlan(7, 28))

    air = [reading.temperature_c for reading in book.of(AirRead) if reading.minute > (2 * 24 + 6) * 60]

    assert LIMIT_C < max(air) < LIMIT_C + 0.2
    turned = [at for before, at, after in zip(air, air[1:], air[2:], strict=False) if before > at < after]
    assert LIMIT_C - 2.5 < min(turned) <= max(turned) < LIMIT_C - 1.8  # nights are a little cooler
    warming = [later > earlier for earlier, later in pairwise(air)]
    assert warming[0] and (True, False) in pairwise(warming) and (False, True) in pairwise(warming)  # out, and on again
