"""What is done first where the room file does not say: what a partner collects today, then as is usual in the trade."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import DAY, lived, tables

from growsim.ledger.events import HandedOut, Worked
from growsim.vocabulary.tasks import TASKS

CUTTING_DAY = 24  # Thursday; ten plants are ripe


def with_priorities(raw: dict[str, Any], priorities: dict[str, int] | None) -> dict[str, Any]:
    """The same tables with these priorities, or with none."""
    for task in raw["crew"]["tasks"]:
        task.pop("priority", None)
        if priorities:
            task["priority"] = priorities[task["name"]]
    return raw


def worked(raw: dict[str, Any], day: int) -> list[str]:
    """Tasks worked on in a day, in turn, by a lead alone."""
    done = [record for record in lived(raw, day + 1).of(Worked) if day <= record.minute / DAY < day + 1]
    return list(dict.fromkeys(record.task for record in done))


def busy() -> dict[str, Any]:
    """The round room where on day 24 there is a sowing, a harvest, a change of solution and a top-up to do."""
    raw = with_priorities(tables(), None)
    raw["sowing"].append({**raw["sowing"][0], "name": "Thursdays", "weekday": "thu", "first_week": 3})
    raw["racks"][0]["shelves"][0]["slots"] = 6
    raw["crew"]["shifts"][1]["hours"] = 5
    raw["reservoirs"][0]["change_every_weeks"] = 3
    return raw


def test_what_a_partner_collects_today_comes_first() -> None:
    """The pantry comes on Thursday at two: harvest and pack for it, then water, then the rest."""
    assert worked(busy(), CUTTING_DAY) == ["harvest", "pack", "top up", "sow", "wash"]


def test_else_water_comes_first() -> None:
    """Nobody comes on Thursday: top up, then harvest."""
    raw = busy()
    raw["partners"][0]["weekday"] = "wed"

    assert worked(raw, CUTTING_DAY) == ["top up", "harvest", "pack", "sow", "wash"]


@pytest.mark.parametrize("want", ["any", "lettuce"])
def test_what_the_cooler_has_already_is_not_urgent(want: str) -> None:
    """From the first gram the cooler holds enough of it: an order of 0 kg wants nothing."""
    raw = busy()
    raw["partners"][0]["orders"] = [{"crop": want, "kg": 0.0001}]  # less than half a gram

    assert worked(raw, CUTTING_DAY)[0] == "top up"


def test_priorities_given_are_kept() -> None:
    """The usual numbers, written down, are kept to even where a partner waits."""
    raw = with_priorities(busy(), {key: row.turn for key, row in TASKS.items()})

    assert worked(raw, CUTTING_DAY)[0] == "top up"


def test_what_is_left_over_is_urgent_on_the_day_it_is_collected() -> None:
    """Thursday's shift is too short for the harvest; the pantry comes on Monday at ten, an hour into Monday's shift.

    Left over from Thursday, the harvest is taken up on Monday before the reservoir, and handed out at ten.
    """
    raw = busy()
    raw["crew"]["shifts"][1]["hours"] = 0.2
    raw["partners"][0] |= {"weekday": "mon", "hour": 10}
    raw["crew"]["shifts"][0]["hours"] = 5
    day = CUTTING_DAY + 4
    first = worked(raw, day)[0]

    assert first == "harvest"
    assert any(given.partner == "pantry" for given in lived(raw, day + 1).of(HandedOut))
