"""Whose the figures asked for are: one count for the file and for the page's steps.

Counted by hand on the room that README.md shows; there is no publication to hold it against.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from growsim.scenario.asked import ASKED, Count, count_of, whose_at
from growsim.scenario.begin import begun_by_steps
from growsim.scenario.load import room_from
from growsim.scenario.origin import figures_of
from growsim.scenario.starter import starter_text
from growsim.web.walk.reading import count_of_step
from growsim.web.walk.steps import STEPS

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def first() -> dict[str, Any]:
    """The room file that README.md shows."""
    found = re.search(r"<!-- room -->\n```toml\n(.*?)```", README, re.DOTALL)
    assert found is not None
    return tomllib.loads(found[1])


def test_the_room_of_the_readme_is_the_planners() -> None:
    """By hand: floor, walls, city, heating; racks, shelves, slots; crops; two shifts of four; a partner of four; the
    first day. Left out: air, two leads, what stands there, closed days, power."""
    assert count_of(first()) == Count(4 + 3 + 1 + 2 * 4 + 4 + 1, 21 + 6)
    assert str(count_of(first())) == "21 of 27 are yours"


@pytest.mark.parametrize("text", [begun_by_steps("Garage", "US"), starter_text()], ids=["steps", "starter"])
def test_the_steps_count_as_the_file_does(text: str) -> None:
    """Step by step and all at once, before and after an answer."""
    written = tomllib.loads(text)
    for _ in range(2):
        steps = [count_of_step(step, written) for step in STEPS]
        assert Count(sum(each.yours for each in steps), sum(each.all for each in steps)) == count_of(written)
        written["room"] |= {"floor_area_m2": 21.5, "source": "ours"}
    assert count_of(written).yours > 0


def test_the_steps_ask_for_what_is_counted() -> None:
    """Two lists, one matter."""
    rows = {"shifts": ("crew", "shifts"), "promises": ("partners",)}
    of_partner = ("name", "weekday")
    asked = set()
    for step in STEPS:
        for field in step.inputs():
            keys = tuple(each for each in field.at if isinstance(each, str))
            if step.rows is not None and field.row is not None:
                orders = ("orders",) if step.rows.of == "promises" and keys[0] not in of_partner else ()
                keys = (*rows[step.rows.of], *orders, *keys)
            asked.add(keys)
    assert asked == set(ASKED)


def test_a_key_that_is_written_is_the_planners_unless_the_file_began_from_the_starter() -> None:
    """The same value, in a file of one's own and in one that says it began from the starter."""
    told = tomllib.loads(starter_text())
    at = ("room", "floor_area_m2")
    assert whose_at(told, at) == "invented"
    del told["about"]
    assert whose_at(told, at) == "yours"
    room = room_from(told, Path("room.toml"), "")
    whose = {each.key: each.whose for each in figures_of(room.scenario, room.full, room.usual)}
    assert (whose["room.floor_area_m2"], whose["room.height_m"]) == ("yours", "usual")
    assert whose["racks.rack 1.shelves.shelves.slot_length_cm"] == "usual"
