"""Figures that are hardly meant: every range lies inside its key's limits, holds the rooms there are, and is asked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest
from wrong_rooms import Edits, edited

from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.checks.figures import plain_lives
from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain

ROOT = Path(__file__).parents[2]


def figures(model: type[Table] = Scenario, at: str = "") -> Iterator[tuple[str, Anatomy]]:
    """Every key with a plausible range."""
    for key, field in model.model_fields.items():
        what = anatomy_of(field)
        if what.plausible is not None:
            yield f"{at}{key}", what
        if what.table is not None and what.table is not Uncertain:
            yield from figures(what.table, f"{at}{key}.")


@pytest.mark.parametrize(("key", "what"), list(figures()), ids=[key for key, _ in figures()])
def test_a_range_is_a_range_and_holds_what_is_taken_when_left_out(key: str, what: Anatomy) -> None:
    """Low below high, both possible, with a reason; a key that may be left out is not asked about then."""
    assert what.plausible is not None
    low, high, why = what.plausible

    assert what.bounds.get("ge", what.bounds.get("gt", -math.inf)) <= low < high
    assert high <= what.bounds.get("le", what.bounds.get("lt", math.inf))
    assert len(why) > 15
    if what.default is not None:
        default = what.default.expected() if isinstance(what.default, Uncertain) else what.default
        assert low <= default <= high


@pytest.mark.parametrize(
    ("edits", "key", "problem", "remedy"),
    [
        ([("heating_kw = 1.5", "heating_kw = 2500")], "climate.heating_kw", "is 2500 kW", "2500 W is 2.5 kW; give"),
        (
            [("typical_mass_g = 110", "typical_mass_g = 0.11")],
            "crops.small head.typical_mass_g",
            "is 0.11 g, far from what such rooms have: a plant of leafy greens weighs",
            "0.11 kg is 110 g; give a figure between 0.4 and 2000 g, or leave it if it is meant",
        ),
        ([("height_m = 2.5", "height_m = 9")], "room.height_m", "is 9 m", "9 ft is 2.743 m"),
        ([("kg = 1.8", "kg = 1800")], "partners.trial pantry.orders.small head.kg", "is 1800 kg", "1800 g is 1.8 kg"),
        ([("power_w = 45", "power_w = 0.045")], "reservoirs.reservoir.pump.power_w", "is 0.045 W", "0.045 kW is 45 W"),
        (
            [("other_heat_w = 80", "other_heat_w = 20001"), ("cooling_kw = 2", "cooling_kw = 30")],
            "room.other_heat_w",
            "is 20001 W",
            "give a figure up to",
        ),
    ],
)
def test_a_figure_that_is_hardly_meant_is_asked_about(
    edits: Edits, key: str, problem: str, remedy: str, tmp_path: Path
) -> None:
    """With the reason, and what it would be in the unit that was perhaps meant."""
    (tmp_path / "room.toml").write_text(edited(edits), encoding="utf-8")
    (said,) = [warning for warning in load_scenario(tmp_path).warnings if warning.key == key]

    assert problem in said.problem
    assert said.remedy.startswith(remedy)


@pytest.mark.parametrize("room", ["cases/garage.toml", "cases/two_racks.toml", "bench/twelve_racks.toml"])
def test_nothing_is_asked_of_a_room_as_it_may_be(room: str) -> None:
    """The rooms that come with growsim have no warning at all (test_warnings); these have no implausible figure."""
    assert not [each for each in load_scenario(ROOT / "tests" / room).warnings if "far from" in each.problem]


def test_a_plain_number_of_hours_is_said_to_be_a_mean() -> None:
    """Where there is one it is named; distributions and lives left out are not."""
    hours = {"running_hours_to_failure": 5000}
    raw = {
        "reservoirs": [
            {"name": "north", "pump": {"reliability": hours}},
            {"name": "south", "pump": {"reliability": {"running_hours_to_failure": {"distribution": "fixed"}}}},
        ],
        "climate": {"reliability": {**hours, "spares": 1}},
    }

    assert "(reservoirs.north.pump and climate) are taken as the mean of a life without memory" in plain_lives(raw)
    assert plain_lives({"climate": {}}) == ""
