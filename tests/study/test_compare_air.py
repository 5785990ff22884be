"""What a change does to the room's CO2, and what it brings with that."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from growsim.growth.canopy import canopy_air
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate
from growsim.scenario.plan import RunPlan
from growsim.study.alternatives import Alternative, alternatives_of
from growsim.study.compare.air import air_shift, in_its_air, shifts_of
from growsim.study.compare.question import compare

LEAF, HEAD = "cutting leaf", "small head"
PLAN = RunPlan(days=56, warm_up_days=42)


def alternative(compared: ModuleType, tables: dict[str, Any]) -> tuple[Prepared, Alternative]:
    """The tiny room today and with a change made."""
    room = compared.tiny()
    today = prepare(room.scenario)
    return today, alternatives_of(room, today, [compared.change(tables, Path("it").name)])[0]


def test_more_plants_in_the_same_air_grow_slower(compared: ModuleType) -> None:
    """A second rack and a second sowing: less CO2 for all, by the ratio of growth in the two rooms' air."""
    today, rack = alternative(compared, compared.RACK)
    shift = air_shift(today, rack.prepared)

    assert shift is not None
    assert shift.after.uptake_kg_per_day > 1.2 * shift.before.uptake_kg_per_day
    assert shift.after.lit_ppm < shift.before.lit_ppm - 10
    assert shift.growth == canopy_air(rack.scenario, rack.prepared.curves).growth / shift.before.growth < 0.99


@pytest.mark.parametrize(
    "tables",
    [
        {"crew": {"shifts": [{"name": "Monday", "people": 3}]}},
        {"reservoirs": [{"name": "reservoir", "top_up": "float valve"}]},
        {"lights": [{"name": "lights", "on_hour": 11}]},
    ],
    ids=["hands", "reservoir", "lit at another hour"],
)
def test_what_leaves_canopy_and_air_alone_shifts_nothing(compared: ModuleType, tables: dict[str, Any]) -> None:
    """Then nothing is told, and nothing more is rehearsed."""
    today, changed = alternative(compared, tables)

    assert shifts_of(today, [changed]) == {}


def test_more_outside_air_makes_them_grow_quicker(compared: ModuleType) -> None:
    """Today's plants live on less CO2 than the file says, which is in their typical days already."""
    today, aired = alternative(compared, {"room": {"air_changes_per_hour": 3}})
    shift = air_shift(today, aired.prepared)

    assert shift is not None and shift.growth > 1.05


def test_plants_grow_at_the_speed_of_their_air_unless_it_was_found_in_it(compared: ModuleType) -> None:
    """A crop whose typical mass the change states again weighs that in the changed room, whatever the air."""
    today, rack = alternative(compared, compared.RACK | {"crops": [{"name": HEAD, "typical_mass_g": 100}]})
    shift = air_shift(today, rack.prepared)
    assert shift is not None
    slowed = prepare(in_its_air(rack.prepared, rack.found_anew, shift)).curves.growth_rate

    assert rack.found_anew == (HEAD,)
    assert slowed[HEAD] == rack.prepared.curves.growth_rate[HEAD]
    assert slowed[LEAF] == pytest.approx(today.curves.growth_rate[LEAF] * shift.growth, rel=1e-12)


def test_a_comparison_lives_through_it_once_more(compared: ModuleType) -> None:
    """Its gain is that of the years lived by hand; the comparison's own figures are as if it had not been asked."""
    room = compared.tiny()
    changes = [compared.change(compared.RACK, "rack"), compared.change(compared.DARK, "dim")]
    found = compare(room, changes, plan=PLAN, seed=3, at_most=4)
    today, rack = alternative(compared, compared.RACK)
    shift = found.changes[0].air
    assert shift is not None and shift.gain is not None and found.changes[1].air is not None

    thin = prepare(in_its_air(rack.prepared, rack.found_anew, shift))
    gains = [
        replicate(thin, 3, i, PLAN).measures["kg_handed_out_per_week"]
        - replicate(today, 3, i, PLAN).measures["kg_handed_out_per_week"]
        for i in range(4)
    ]
    assert shift.gain.mean == pytest.approx(sum(gains) / 4)
    assert shift.gain.low is not None and shift.gain.low < shift.gain.mean
    as_reckoned = [replicate(rack.prepared, 3, i, PLAN).measures["kg_handed_out_per_week"] for i in range(4)]
    assert found.changes[0].estimates["kg_handed_out_per_week"].mean == pytest.approx(sum(as_reckoned) / 4)


def test_where_why_is_not_asked_the_air_is_told_and_not_lived_through(compared: ModuleType) -> None:
    """On paper it costs nothing."""
    quick = compare(compared.tiny(), [compared.change(compared.RACK, "rack")], plan=PLAN, seed=3, at_most=2, why=False)

    assert quick.changes[0].air is not None
    assert quick.changes[0].air.gain is None
