"""The description of the model: every item of the checklist, and the room's own figures in it."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from growsim.report import cautions
from growsim.report.provenance import Provenance, figures_given, sources_given
from growsim.report.stress_des import describe

# Items of STRESS-DES: Monks et al. 2019, Journal of Simulation 13(1):55-67 (numbering from memory; that the list has 24
# items is confirmed by published evaluations of models against it).
ITEMS = [
    *("1.1", "1.2", "1.3"),
    *("2.1", "2.2", "2.3", "2.4", "2.5.1", "2.5.2", "2.5.3", "2.5.4", "2.5.5"),
    *("3.1", "3.2", "3.3", "3.4"),
    *("4.1", "4.2", "4.3"),
    *("5.1", "5.2", "5.3", "5.4"),
    "6.1",
]


def said(rehearsal: Any, origin: Provenance) -> dict[str, str]:
    """Item number -> what is said there."""
    return {item.number: " ".join(item.says) for chapter in describe(rehearsal, origin) for item in chapter.items}


def test_every_item_of_the_checklist_has_something_to_say(rehearsed: Any, origin: Provenance) -> None:
    """24 items, in order, none empty."""
    found = said(rehearsed, origin)

    assert list(found) == ITEMS
    assert len(ITEMS) == 24
    assert [number for number, text in found.items() if len(text) < 20] == []


def test_the_description_follows_the_room(rehearsed: Any, origin: Provenance) -> None:
    """Lights, reservoir, crops, shifts and partners as the room file has them; °C with °F, liters with gallons."""
    parameters = said(rehearsed, origin)["3.3"]

    assert "Lights: 200 µmol/m²/s for 16.0 h a day from 06:00." in parameters
    assert "Reservoir: 120 L, a flood of 3.0 min every 4.0 h, topped up by hand." in parameters
    assert "air 22.0 °C" in parameters
    assert "1.8 kg of small head" in parameters
    assert "1 figure is given in the room file as a range or distribution." in parameters


def test_a_crops_way_is_drawn_stage_by_stage(rehearsed: Any, origin: Provenance) -> None:
    """The diagram names each stage in order, between sowing and handing out."""
    flows = {
        flow.name: [step for step, _ in flow.steps]
        for chapter in describe(rehearsed, origin)
        for item in chapter.items
        for flow in item.flows
    }

    assert flows == {
        "cutting leaf": ["sow", "seedling", "leaf", "harvest", "pack", "hand out"],
        "small head": ["sow", "seedling", "head", "harvest", "pack", "hand out"],
    }


def test_figures_in_doubt_are_found_wherever_they_stand(made_up: ModuleType) -> None:
    """The tiny room has one distribution, the pump's life; the walk over its tables finds it."""
    doubtful = [figure for figure in figures_given(made_up.tiny_room()) if not figure.is_fixed]

    assert [(figure.distribution, figure.mean) for figure in doubtful] == [("exponential", 900.0)]


def test_sources_of_the_room_file_are_named_once(made_up: ModuleType) -> None:
    """'invented' is said once, however often the file says it; a published source is kept."""
    sources = list(sources_given(made_up.tiny_room()))

    assert len(sources) == len(set(sources))
    assert "lettuce: Harrington and Minges 1954" in sources


def test_carbon_dioxide_is_warned_of_where_it_is_supplied(made_up: ModuleType) -> None:
    """Only a room with a supply; the limits are those of the NIOSH documentation of May 1994 (5,000 and 40,000 ppm)."""
    room = made_up.tiny_room()
    here = room.room.model_copy(update={"region": "US"})
    supplied = room.model_copy(update={"room": here, "co2": room.co2.model_copy(update={"supply_kg_per_day": 1.0})})

    assert [text for text in cautions.all_for(room) if "arbon dioxide" in text] == []
    (warning,) = [text for text in cautions.beside_machines(supplied) if "arbon dioxide" in text]
    assert "5,000 ppm" in warning
    assert "40,000 ppm" in warning


def test_every_room_is_told_to_follow_the_local_code(made_up: ModuleType) -> None:
    """The general caution comes first, and defers."""
    first = cautions.all_for(made_up.tiny_room())[0]

    assert "local code" in first
    assert "licensed professional" in first
    assert "certifies nothing" in first
