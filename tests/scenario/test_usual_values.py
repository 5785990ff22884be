"""Usual values: every figure says where it comes from, and each crop can be grown with what is usual.

Where a source is named, the figure is that of the source (see the file's [sources]); the arithmetic of the walls is in
tests/scenario/test_short_rooms.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from short_rooms import first_room

from growsim.run.prepare import prepare_room
from growsim.run.replicate import replicate_on_paper
from growsim.scenario import usual
from growsim.scenario.load import room_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.short.laying import value_at

CROPS = usual.names("crops")
TRAYS = usual.names("trays")
NO_SOURCE = ("common practice", "from memory", "computed", "by definition", "becomes heat")
STRUCTURE = ("like", "name", "after", "tray", "sown_by")  # says what a thing is, not how much


def figures(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Every figure of a profile as its file has it."""
    if isinstance(value, dict) and not ({"value", "low", "mean"} & value.keys()):
        for key, inner in value.items():
            yield from figures(inner, (*path, key))
    elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
        for place, inner in enumerate(value):
            yield from figures(inner, (*path, place))
    else:
        yield path, value


@pytest.mark.parametrize("kind", usual.KINDS)
def test_every_figure_says_where_it_comes_from(kind: str) -> None:
    """By a key of [sources]; and every source named there is used."""
    known, used = usual.sources_of(kind), set()
    for name in usual.names(kind):
        for path, figure in figures(usual.raw_profile(kind, name)):
            if path[-1] in STRUCTURE:
                continue
            assert isinstance(figure, dict), (kind, name, path)
            assert figure.get("source") in known, (kind, name, path)
            used.add(figure["source"])

    assert used == known.keys()


@pytest.mark.parametrize("kind", usual.KINDS)
def test_every_source_can_be_looked_up_or_says_that_there_is_none(kind: str) -> None:
    """A place (an address, a journal, a standard, a rule), or one of the words for having none."""
    places = (".com", ".edu", ".org", ".ca", ".za", ".net", "doi", "PMC", "CFR", "Code", "EN 12831", "ISO", "RdSAP")
    others = ("FAO", "HortScience", "Agronomy", "Harrington and Minges", "UC Davis", "Maximum Yield", "GPN")
    weak = ("Element Library", "growing guide", "reach.dog")
    for key, text in usual.sources_of(kind).items():
        assert text.strip() == text and text, key
        assert any(word in text for word in (*places, *others, *weak, *NO_SOURCE)), (
            key,
            text,
        )


def test_the_usual_things_are_all_there() -> None:
    """Fourteen crops, four makes of wall, garages of two of them with either door, and the machines of a small room."""
    assert len(CROPS) >= 14
    garages = [
        f"garage of {walls}, {door}" for walls in ("stud wall", "brick") for door in ("steel door", "insulated door")
    ]
    assert usual.names("walls") == ["insulated stud wall", "brick", "steel box with foam", "basement", *garages]
    machines = [name for kind in ("pumps", "timers", "lights", "climate") for name in usual.names(kind)]
    assert machines == [
        "small submersible pump",
        "plug-in timer",
        "light bar",
        "heat pump",
        "electric heater",
        "no heating",
        "fan",
        "air pump",
    ]


@pytest.mark.parametrize("crop", CROPS)
def test_each_crop_grows_in_a_usual_room_in_its_typical_days(crop: str) -> None:
    """Nothing is surely not meant, and without chance the first sowing is harvested at the days it is said to take:
    those from the first Tuesday, up to the next of two harvest days a week, or the one after where the crew is late."""
    raw = first_room(crop)
    raw["racks"][0]["shelves"] = [{"count": 5, "slots": 6, "trays": TRAYS}]
    raw["sowing"][0]["cells"] = 200 if "baby leaf" in str(usual.raw_profile("crops", crop)) else 8
    raw["partners"][0]["orders"][0]["kg"] = 0.05
    room = room_from(raw, Path("room.toml"), "")
    prepared = prepare_room(room)

    assert [str(warning) for warning in room.warnings] == []
    packed = replicate_on_paper(prepared, RunPlan(days=140, start="empty")).weeks["kg_packed"]
    first = next(week for week, kilograms in enumerate(packed) if kilograms > 0)
    days = room.scenario.crops[0].typical_days
    assert 1 + days - 2 <= 7 * (first + 1) and 7 * first <= 1 + days + 7, (first, days)


def test_a_usual_value_is_marked_with_its_source() -> None:
    """Path of the figure in the room in full -> the source of the profile; the planner's own are not among them."""
    raw = first_room()
    raw["crops"][0]["shelf_life_days"] = 5
    room = room_from(raw, Path("room.toml"), "")

    assert room.usual["crops", 0, "typical_mass_g"].startswith("142 g (5 oz) a head: Cornell")
    assert room.usual["lights", 1, "ppfd_umol_m2_s"].startswith("215 umol/m2/s for 16 h: Pennisi")
    assert room.usual["room", "heat_loss_w_per_k"].startswith("from the walls")
    assert ("crops", 0, "shelf_life_days") not in room.usual
    assert all(value_at(room.raw, path) is not None for path in room.usual)
