"""The first page: a card for each room, in the order in which people count."""

from __future__ import annotations

import os
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from page_served import served

from growsim.web.folder import Folder
from growsim.web.rooms.cards import MOST_RACKS, SCHEMA_FILE, cards_of, natural

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two rooms with names of their own, one that nobody can read."""
    for name, called in (("a", "Hut 10"), ("b", "hut 9")):
        shutil.copytree(SCENARIOS / "tiny", tmp_path / name)
        file = tmp_path / name / "room.toml"
        text = file.read_text("utf-8").replace('name = "Tiny trial room"', f'name = "{called}"')
        assert called in text
        file.write_text(text, "utf-8")
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "room.toml").write_text("[room\n", "utf-8")
    return tmp_path


def test_numbers_sort_by_their_size() -> None:
    """As people count, whatever the case; a number before a letter."""
    names = ["room 10", "Room 9", "room", "2nd room", "room 9 b", "room 100"]
    assert sorted(names, key=natural) == ["2nd room", "room", "Room 9", "room 9 b", "room 10", "room 100"]


def test_a_room_just_made_is_on_top(folder: Path) -> None:
    """Until a week is over; then it stands where people look for it."""
    with served(folder) as client:
        assert client.post("/new", data={"name": "Zebra Yard"}).status_code == 303
    (made,) = folder.glob(f"*/{SCHEMA_FILE}")
    names = [card.room.name for card in cards_of(Folder(folder))]
    long_ago = made.stat().st_mtime - 8 * 86_400
    os.utime(made, (long_ago, long_ago))

    assert names == [made.parent.name, "broken", "b", "a"]
    assert [card.room.name for card in cards_of(Folder(folder))] == ["broken", "b", "a", made.parent.name]


def test_a_card_has_the_name_that_its_planner_gave(folder: Path) -> None:
    """And the plan; a room that cannot be read has a card all the same."""
    cards = cards_of(Folder(folder))

    assert [(card.room.name, card.called) for card in cards] == [
        ("broken", "broken"), ("b", "hut 9"), ("a", "Hut 10"),
    ]  # fmt: skip
    assert cards[0].plan is None and cards[1].plan is not None
    assert (len(cards[1].plan.racks), cards[1].more_racks, cards[1].last) == (1, 0, None)


def test_many_racks_are_counted_and_some_drawn(tmp_path: Path) -> None:
    """The demo room has six of two kinds; what is alike is drawn once."""
    shutil.copytree(SCENARIOS / "millrace", tmp_path / "millrace")
    (card,) = cards_of(Folder(tmp_path))
    assert card.plan is not None
    assert (card.plan.count, len(card.plan.racks), card.more_racks) == (6, 2, 0)
    many = replace(card, plan=replace(card.plan, racks=card.plan.racks * 3))
    assert many.more_racks == 6 - MOST_RACKS


def test_the_first_page_shows_them(folder: Path) -> None:
    """One sentence of what this does; each room's link, plan and way to a first answer."""
    with served(folder) as client:
        page = client.get("/rooms").text if client.get("/rooms").status_code == 200 else client.get("/").text

    assert "tells you what to expect" in page
    assert re.findall(r'<h2><a href="/rooms/([^"]+)">([^<]+)</a></h2>', page) == [
        ("broken", "broken"), ("b", "hut 9"), ("a", "Hut 10"),
    ]  # fmt: skip
    assert page.count('<div class="card-racks"') == 2
    assert page.count("No answer yet") == 3
