"""A day of the room, drawn and told: boxes, letters that tell crops apart, and words."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.run.replay.day import STATES
from growsim.web import shelves
from growsim.web.days import words as drawn
from growsim.web.days.words import day_in_words

NAMES = st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12)
SVG = "{http://www.w3.org/2000/svg}"


def shelf(rack: str, slots: int = 4, label: str = "top") -> dict[str, Any]:
    """A shelf as the file of days has it."""
    return {"rack": rack, "label": label, "slots": slots, "stages": ["leaf"]}


def parsed(svg: str) -> ElementTree.Element:
    """The picture as a tree: it is whole, and well formed."""
    return ElementTree.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@given(crops=st.lists(NAMES, unique=True, max_size=25))
def test_no_two_crops_have_the_same_letters(crops: list[str]) -> None:
    """Color alone never tells crops apart."""
    codes = shelves.codes_of(crops)

    assert len(set(codes.values())) == len(crops)
    assert all(1 <= len(code) <= 3 for code in codes.values())


def test_letters_are_those_of_the_name() -> None:
    """The first letter, and the first other that is free."""
    assert shelves.codes_of(["butterhead", "basil", "baby leaf", "bok choi"]) == {
        "butterhead": "Bu", "basil": "Ba", "baby leaf": "Bb", "bok choi": "Bo",
    }  # fmt: skip


@given(rack=NAMES, crop=NAMES, label=NAMES)
def test_names_are_text_and_nothing_else(rack: str, crop: str, label: str) -> None:
    """Whatever somebody calls a rack or a crop, the picture stays the picture."""
    trays = [{"shelf": 0, "slots": [1], "state": "growing", "stage": "leaf", "lot": "x", "crop": crop, "days": 9}]
    (one,) = drawn.day_on_shelves([shelf(rack, label=label)], trays, [crop])
    tree = parsed(str(one.svg))

    assert {element.tag for element in tree.iter()} == {f"{SVG}{tag}" for tag in ("svg", "rect", "text", "path")}
    assert next(tree.iter(f"{SVG}text")).text == label
    assert rack in (tree.get("aria-label") or "")


@pytest.mark.parametrize("state", STATES)
def test_every_state_has_its_word(state: str) -> None:
    """What a box stands for is written in it."""
    crop = "" if state == "kept" else "basil"
    trays = [{"shelf": 0, "slots": [0, 2], "state": state, "stage": "leaf", "crop": crop, "days": 12}]
    (one,) = drawn.day_on_shelves([shelf("rack")], trays, ["basil"])
    words = [text.text for text in parsed(str(one.svg)).iter(f"{SVG}text")]

    assert words.count(drawn.STATES[state][0]) == 2
    assert (one.used, one.slots) == (2, 4)
    assert sum(box.get("class") == "s-free" for box in parsed(str(one.svg)).iter(f"{SVG}rect")) == 2


def test_boxes_do_not_overlap_and_stay_inside() -> None:
    """Each slot has its own place, within the picture."""
    shelves = [shelf("rack", 13, "top"), shelf("rack", 3, "lower")]
    (one,) = drawn.day_on_shelves(shelves, [], [])
    tree = parsed(str(one.svg))
    places = [
        tuple(int(box.get(side) or 0) for side in ("x", "y", "width", "height")) for box in tree.iter(f"{SVG}rect")
    ]
    width, height = int(tree.get("width") or 0), int(tree.get("height") or 0)

    assert len(set(places)) == 16
    assert width <= 390 - 2 * 12.8  # a phone, without the margins of page.css: no box is shrunk
    assert all(x >= 0 and y >= 0 and x + w <= width and y + h <= height for x, y, w, h in places)
    assert all(a == b or a[1] != b[1] or a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0] for a in places for b in places)


def test_a_day_in_words() -> None:
    """Who came, what was done and left, what was down, what became of seeds and greens."""
    day = {
        "date": "2031-03-13", "closed": False,
        "trays": [{"shelf": 0, "slots": [0, 1], "state": "growing", "stage": "leaf", "lot": "2031-03-03/basil/Mondays",
                   "crop": "basil", "days": 10, "plants": 90, "stand_trays": 2}],
        "shifts": [{"shift": "Thursday", "signed_up": 5, "came": 4, "in_room": 3, "lead": True, "present_minutes": 600,
                    "worked_minutes": 300}],
        "work": [{"task": "harvest", "people": 2, "minutes": 84, "jobs": 1, "late": 0},
                 {"task": "wash", "people": 1, "minutes": 5, "jobs": 0, "late": 0}],
        "waiting": [{"task": "wash", "jobs": 2, "late": 1}],
        "down": [{"machine": "heat pump", "where": "", "from_minute": 0, "until_minute": 1440, "noticed": "alarm"}],
        "floods_missed": [["north reservoir", "low reservoir", 2]], "warmest_c": 31.5,
        "sown": [{"crop": "basil", "what": "sown", "plants": 120, "grams": 0},
                 {"crop": "cress", "what": "skipped, no slot", "plants": 30, "grams": 0}],
        "harvested": [{"crop": "basil", "what": "harvested", "plants": 1, "grams": 900}],
        "lost": [{"crop": "basil", "what": "dried_out", "plants": 7, "grams": 0}],
        "handed_out_grams": 800, "wasted_grams": 100,
        "orders": [{"partner": "pantry", "crop": "basil", "grams_ordered": 1000, "grams_given": 600}],
    }  # fmt: skip
    words = day_in_words({"hour": 12.0, "shelves": [shelf("rack")]}, day)

    assert words.date == "Thursday 13 March 2031"
    assert words.people == (
        "Thursday: 4 of 5 volunteers came, with a lead; worked 5.0 of 10.0 person-hours; 2 people did not fit into the "
        "room.",
    )
    assert words.work == (
        "harvest: 2 people, 84 minutes; 1 job finished.",
        "wash: 1 person, 5 minutes; not finished yet.",
    )
    assert words.waiting == ("wash: 2 jobs, 1 of them late",)
    assert words.down == (
        "Heat pump down all day; noticed by the alarm.",
        "2 floods of north reservoir missed: the reservoir was too low.",
        "The air was away from its set-point, at most 31.5 °C.",
    )  # fmt: skip
    assert words.cautions[0].startswith("Heat.")
    assert words.greens == (
        "basil: 120 seeds sown.", "cress: 30 cells skipped, no slot.", "basil: 1 plant harvested, 0.90 kg.",
        "basil: 7 dried out.", "0.80 kg handed out.", "0.10 kg grew too old in the cooler.",
        "pantry got 0.40 kg less of basil than ordered.",
    )  # fmt: skip
    assert words.trays == (("rack", "top", "basil", "leaf", "3 Mar 2031", "2", "growing, 10 days old"),)


def test_a_day_without_anybody() -> None:
    """A closed day, and one that has no shift, are told apart."""
    room = {"hour": 12.0, "shelves": []}

    assert day_in_words(room, {"date": "2031-03-13", "closed": True}).people == (
        "Nobody: the room is closed this day.",
    )
    assert day_in_words(room, {"date": "2031-03-13"}).people == ("Nobody: no shift this day.",)
