"""Figures: the same bytes again, well formed whatever things are called, told apart without color."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any
from xml.etree import ElementTree

import figure_boxes
import pytest

from growsim.report import figures, rehearsed, summaries
from growsim.report.rehearse import figures as figures_room
from growsim.vocabulary.losses import FATES

NAMES = (
    "weekly-output",
    "every-seed",
    "losses-and-failures",
    "room-map",
    "crew-hours",
    "money-and-energy",
    "warm-up",
)


def drawers(rehearsal: Any) -> dict[str, Callable[[], Any]]:
    """Every figure by name."""
    outcomes, room = rehearsal.outcomes, rehearsal.scenario
    return {
        "weekly-output": lambda: rehearsed.draw_weeks(outcomes, rehearsal.on_paper, room),
        "every-seed": lambda: figures_room.every_seed(outcomes),
        "losses-and-failures": lambda: figures_room.losses_and_failures(summaries.typical(outcomes), room),
        "room-map": lambda: figures_room.room_map(outcomes, room),
        "crew-hours": lambda: figures_room.crew_hours(outcomes, room),
        "money-and-energy": lambda: rehearsed.draw_money_and_energy(summaries.accounts_per_week(outcomes, 364), "USD"),
        "warm-up": lambda: figures_room.warm_up(rehearsal.warm_up.series, 5, 8.0),
    }


def test_the_report_has_every_figure_as_svg_and_png(report_folder: Path) -> None:
    """Seven figures, three files each: the picture, the drawing, the drawing for a phone."""
    found = {path.name for path in (report_folder / "figures").iterdir()}

    assert found == {f"{name}{end}" for name in NAMES for end in figure_boxes.FILES}


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_drawn_again_is_the_same_to_the_byte(
    name: str, rehearsed: Any, report_folder: Path, tmp_path: Path
) -> None:
    """No date, no random names, no trace of the computer."""
    figures.save(drawers(rehearsed)[name](), tmp_path, name)

    for ending in ("svg", "png"):
        assert (tmp_path / f"{name}.{ending}").read_bytes() == (
            report_folder / "figures" / f"{name}.{ending}"
        ).read_bytes()


def test_a_figure_fetches_nothing_and_keeps_its_text(report_folder: Path) -> None:
    """Text stays text; the only addresses are names of namespaces."""
    svg = (report_folder / "figures" / "weekly-output.svg").read_text(encoding="utf-8")
    links = [
        value
        for each in ElementTree.fromstring(svg).iter()
        for key, value in each.attrib.items()
        if key.endswith("href")
    ]

    assert "plan on paper</text>" in svg
    assert [link for link in links if not link.startswith("#")] == []


def test_hostile_names_are_drawn_as_they_are(made_up: ModuleType, tmp_path: Path) -> None:
    """A crop called <script> with dollar signs is text in the drawing, not markup and not mathematics."""
    name = "<script>alert('$x_1$')</script>"
    outcome = made_up.outcome(made_up.tiny_room(), 0, 52)
    fates = {(name, fate): count for (_, fate), count in outcome.fates.items()}
    hostile = type(outcome)(0, outcome.measures, outcome.weeks, fates, outcome.accounts)
    svg = figures.save(figures_room.every_seed([hostile]), tmp_path, "hostile")
    texts = [each.text for each in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]

    assert "<script>" not in svg
    assert name in "".join(each or "" for each in texts)


def test_figures_on_one_page_do_not_share_names(page: str) -> None:
    """Every id of the page is there once, so no figure borrows another's hatching."""
    ids = re.findall(r'\bid="([^"]+)"', page)

    assert len(ids) == len(set(ids))


def test_colors_of_a_figure_follow_light_and_dark(page: str) -> None:
    """Every color that a page replaces has a value in the style sheet for light, dark and print; the figure's own file
    has the dark one too."""
    for light, (variable, dark) in figures.RECOLORED.items():
        assert [value.lower() for value in re.findall(rf"{variable}: (#\w+)", page)][:2] == [light, dark]
        assert len(re.findall(rf"{variable}: ", page)) == 3


def test_every_fate_looks_different_without_color() -> None:
    """No two fates share both hatching and gray (luminance weights of ITU-R BT.709, from memory)."""
    looks = []
    for fate in FATES:
        red, green, blue = (int(fate.color[i : i + 2], 16) / 255 for i in (1, 3, 5))
        looks.append((fate.hatch, 0.2126 * red + 0.7152 * green + 0.0722 * blue))
    alike = [
        (one, other)
        for i, one in enumerate(looks)
        for other in looks[i + 1 :]
        if one[0] == other[0] and abs(one[1] - other[1]) < 0.08
    ]

    assert alike == []


def test_many_racks_are_shown_as_a_whole_room(made_up: ModuleType) -> None:
    """Forty racks make three strips and a total, not a hundred and twenty."""
    room = made_up.tiny_room()
    racks = tuple(room.racks[0].model_copy(update={"name": f"rack {i}"}) for i in range(40))
    big = room.model_copy(update={"racks": racks})
    weeks = {f"slots:rack {i}:{stage}": (1.0,) * 8 for i in range(40) for stage in ("seedling", "leaf", "head")}
    outcome = made_up.outcome(room, 0, 8)
    rows = figures_room.shelf_rows([type(outcome)(0, {}, weeks, {}, {})], big)

    assert [(what, float(series[0]), slots) for what, series, slots in rows] == [
        ("whole room, all", 120.0, 640),
        ("– seedling", 40.0, 160),
        ("– leaf", 40.0, 640),
        ("– head", 40.0, 480),
    ]


def test_months_too_narrow_to_write_on_are_not_named(made_up: ModuleType) -> None:
    """A year from 6 January ends with one week of the next January: a name there would run over."""
    named = figures.months_to_name(summaries.months(made_up.tiny_room(), 52))

    assert [month.label for month in named][-1] == "Dec 2031"
