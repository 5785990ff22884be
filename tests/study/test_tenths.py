"""A tenth more of each thing is a tenth more of that thing and of nothing else."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario
from growsim.study.tenths import Tenth, tenths_of

ROOMS = Path(__file__).parents[2] / "scenarios"


def of(scenario: Scenario, key: str) -> Tenth:
    """The tenth with this key."""
    (found,) = [tenth for tenth in tenths_of(scenario) if tenth.key == key]
    return found


def slots(scenario: Scenario, stage: str) -> int:
    """Slots that may hold a stage."""
    return sum(group.total_slots for rack in scenario.racks for group in rack.shelves if stage in group.stages)


def without(scenario: Scenario, *tables: str) -> dict[str, object]:
    """The scenario but for some tables."""
    return {name: value for name, value in scenario if name not in tables}


@pytest.mark.parametrize("room", ["tiny", "millrace"])
def test_slots_come_whole_and_their_share_is_told(room: str) -> None:
    """Nearest to a tenth, at least one; only for that stage; nothing else in the room is touched."""
    today = load_scenario(ROOMS / room).scenario
    stages = {stage.name for crop in today.crops for stage in crop.stages}
    for stage in stages:
        tenth, before = of(today, f"slots:{stage}"), slots(today, stage)
        added = slots(tenth.scenario, stage) - before

        assert added == max(1, round(before / 10))
        assert tenth.share == added / before
        assert {other: slots(tenth.scenario, other) for other in stages - {stage}} == {
            other: slots(today, other) for other in stages - {stage}
        }
        assert without(tenth.scenario, "racks") == without(today, "racks")


def test_extra_slots_are_shared_out_as_the_racks_are() -> None:
    """Four wide racks of the same size get the same: 80 finishing slots and two more on each."""
    today = load_scenario(ROOMS / "millrace").scenario
    after = of(today, "slots:finishing").scenario
    areas = [new.area_m2 / old.area_m2 for new, old in zip(after.racks, today.racks, strict=True)]

    assert areas == pytest.approx([1, 1, 1.1, 1.1, 1.1, 1.1])


def test_a_weekday_gets_a_tenth_longer_for_the_same_people(compared: ModuleType) -> None:
    """Only that weekday's shifts, and no more people."""
    today = compared.tiny().scenario
    after = of(today, "hands:thu").scenario.crew.shifts

    assert [(shift.name, shift.hours, shift.people) for shift in after] == [("Monday", 2, 2), ("Thursday", 2.2, 2)]


def test_a_shift_cannot_outlast_the_day(compared: ModuleType) -> None:
    """Till midnight at the latest, and the true share is told; one that ends at midnight already has no tenth."""
    today = compared.tiny().scenario

    def starting(hour: float) -> Scenario:
        late = tuple(shift.model_copy(update={"start_hour": hour}) for shift in today.crew.shifts)
        return today.model_copy(update={"crew": today.crew.model_copy(update={"shifts": late})})

    late = of(starting(21.9), "hands:mon")
    assert (late.share, late.added) == (pytest.approx(0.05), "as far as the day allows")
    assert not [tenth for tenth in tenths_of(starting(22.0)) if tenth.key.startswith("hands:")]


@pytest.mark.parametrize(
    ("key", "table", "before", "after"),
    [
        ("reservoirs", "reservoirs", 120, 132),
        ("light", "lights", 200, 220),
        ("orders", "partners", 2.8, 3.08),
        ("sowing", "sowing", 90, 99),
    ],
)
def test_the_others_grow_by_a_tenth(compared: ModuleType, key: str, table: str, before: float, after: float) -> None:
    """Liters, light, greens ordered, cells."""
    today = compared.tiny().scenario
    tenth = of(today, key)

    def total(scenario: Scenario) -> float:
        return {
            "reservoirs": scenario.reservoirs[0].capacity_l,
            "light": scenario.lights[0].ppfd_umol_m2_s,
            "orders": sum(order.kg for partner in scenario.partners for order in partner.orders),
            "sowing": float(sum(line.cells for line in scenario.sowing)),
        }[key]

    assert (total(today), total(tenth.scenario), tenth.share) == (before, pytest.approx(after), 0.1)
    assert without(tenth.scenario, table) == without(today, table)
