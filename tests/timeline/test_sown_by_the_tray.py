"""Microgreens by the tray and herbs by the pot in the round room (tests/small_rooms.py), worked out by pencil."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import DAY, lived, scenario_of, tables

from growsim.chance.fixed import FixedLuck
from growsim.growth.crops import seedling_dry_g
from growsim.ledger.accounts import accounts_of
from growsim.ledger.events import Germinated, Harvested, Lost, Sown, TaskDone, TaskDue, Transplanted
from growsim.ledger.tallies import fates_of
from growsim.scenario import on_paper
from growsim.scenario.checks.all import faults_of
from growsim.study.week.question import seed_of

PEAS = "2031-01-06/peas/Mondays"


def micro_room(**peas: Any) -> dict[str, Any]:
    """The round room with peas by the tray: four days dark and eight lit, one kind of tray of one place."""
    raw = tables()
    raw["trays"] = [{"name": "flat", "places": 1, "length_cm": 50, "width_cm": 50, "plug_volume_ml": 1000}]
    raw["racks"][0]["shelves"][0]["stages"] = ["dark"]
    raw["racks"][0]["shelves"][1]["stages"] = ["lit"]
    raw["crops"][0] = {
        "name": "peas",
        "sown_by": "tray",
        "seed_g_each": 200,
        "seed_price_per_kg": 10,
        "germination_fraction": 0.8,
        "emergence": {"temperature_c": [10, 20], "days": [3, 3], "relative_fraction": [0.5, 1]},
        "stages": [
            {"name": "dark", "tray": "flat", "days": 4},
            {"name": "lit", "after": "dark", "tray": "flat", "days": 8, "latest_days": 5},
        ],
        "typical_mass_g": 25,
        "dry_matter_fraction": 0.04,
        "days_spread_cv": 0,
        "mass_spread_cv": 0,
        "overgrown_after_days": 10,
        "trimmed_fraction": 0,
        "shelf_life_days": 5,
    } | peas
    raw["sowing"] = [{"name": "Mondays", "crop": "peas", "cells": 2, "weekday": "mon", "every_weeks": 52}]
    raw["partners"][0]["orders"][0]["crop"] = "peas"
    return raw


def of_kind(book: Any, kind: type) -> list[Any]:
    """Records of one kind, in order."""
    return [record for record in book.records if isinstance(record, kind)]


def test_two_trays_from_seed_to_scissors() -> None:
    """Monday day 0: 5 + 2 × 1 = 7 min from 9:00, sown at 547; up three days later at 4,867. Nothing to thin.

    Moving is due on day 4, a Friday; the next shift is Monday day 7 (10,080), 3 + 2 = 5 min from 9:00: 10,625. The
    trays are carried: no washing, and the dark slots are free. Ripe at 0.85 × 25 g × 0.04 = 0.85 g dry, 7.5 days after
    4,867; cut on the Thursday after, day 17 (24,480), 4 + 2 = 6 min from 9:00: 25,026. They are 20,159 / 1,440 =
    13.9993 days old, 0.1 + 1.39993 g dry, 37.498 g fresh a tray: 75 g. Then two trays are washed, once.
    """
    book = lived(micro_room(), 30)

    assert of_kind(book, Sown) == [Sown(547, PEAS, 1, "peas", 2, 2, "rack")]
    assert of_kind(book, Germinated) == [Germinated(4867, PEAS, 1, "peas", 2, 0, 0)]
    assert of_kind(book, Transplanted) == [Transplanted(10625, PEAS, 1, "peas", "lit", 2, 2, "rack", 3, "no shift")]
    assert of_kind(book, Harvested) == [Harvested(25026, PEAS, 1, "peas", 2, 75, 1, 0, 547, "rack")]
    assert not of_kind(book, Lost)
    posted = [(due.task, due.minute, due.units) for due in of_kind(book, TaskDue) if due.task in ("thin", "wash")]
    assert posted == [("wash", 25026, 2)]
    assert fates_of(book, 30 * DAY) == {("peas", "harvested"): 2}


def test_slots_of_carried_trays_are_free_at_once() -> None:
    """Two dark slots; a second sowing a week after the first needs both, and gets them on the minute of the move."""
    raw = micro_room()
    raw["sowing"][0]["every_weeks"] = 1

    book = lived(raw, 12)

    assert [(sown.minute, sown.seeds) for sown in of_kind(book, Sown)] == [(547, 2), (10632, 2)]  # 10,625 + 7 min


class _Half:
    """What draws nothing but that half of a lot's seed germinates."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def beta(self, mean: float, sd: float) -> float:
        return 0.5


class _HalfGerminates(FixedLuck):
    """Luck switched off, but that half of the seed of every lot germinates."""

    def stream(self, name: str) -> Any:
        return _Half(super().stream(name))


def test_a_tray_weighs_as_its_seed_germinates() -> None:
    """Half of the seed is up where 0.8 is usual: five eighths of 37.498 g a tray, 23.436 g, and 46.87 g of two.

    A pot whose typical figures are those of a room at 15 °C, where 0.8 × 0.75 of the seed germinates, is then
    0.5 × 0.75 thick: the same five eighths.
    """
    raw = micro_room()
    cool = micro_room()
    cool["climate"]["air_temperature_c"] = 15

    for room in (raw, cool):
        (cut,) = of_kind(lived(room, 30, luck=_HalfGerminates()), Harvested)
        assert cut.grams == 47


def test_nothing_comes_up_where_nothing_germinates() -> None:
    """A tray of dead seed counts as one seed that did not germinate."""
    raw = micro_room(emergence={"temperature_c": [20], "days": [3], "relative_fraction": [0]})

    assert fates_of(lived(raw, 30), 30 * DAY) == {("peas", "not_emerged"): 2}


def test_pots_are_moved_into_trays_that_are_washed() -> None:
    """A pinch of six seeds in each of ten cells: ten clumps, moved on like plants, from a sheet that is washed."""
    raw = tables()
    raw["crops"][0] |= {"sown_by": "pot", "seeds_per_cell": 6, "seed_mass_mg": 2}

    book = lived(raw, 40)

    assert of_kind(book, Sown)[0].seeds == 10
    assert of_kind(book, Germinated)[0].filled_cells == 10
    assert of_kind(book, Harvested)[0].plants == 10
    washed = [done.minute for done in of_kind(book, TaskDone) if done.task == "wash"]
    assert len(washed) == 2
    assert not [due for due in of_kind(book, TaskDue) if due.task == "thin"]


def test_seed_is_paid_for_and_bought_as_it_is_measured() -> None:
    """Two trays of 200 g at 10 a kilogram: 4, and no plug. Ten pots of six seeds at 10 a thousand: 0.60."""
    dear = micro_room()
    dear["prices"]["plug_each"] = 1
    assert accounts_of(lived(dear, 30), scenario_of(dear), 30 * DAY)["money:plugs"] == 0
    peas = scenario_of(micro_room())
    raw = tables()
    raw["crops"][0] |= {"sown_by": "pot", "seeds_per_cell": 6}
    pots = scenario_of(raw)

    assert accounts_of(lived(micro_room(), 30), peas, 30 * DAY)["money:seed"] == pytest.approx(4.0)
    assert accounts_of(lived(raw, 30), pots, 30 * DAY)["money:seed"] == pytest.approx(0.6)
    bought = seed_of(peas.crops[0], 2)
    assert (bought.amount, bought.unit, bought.price) == (pytest.approx(0.4), "kg", pytest.approx(4.0))
    counted = seed_of(pots.crops[0], 10)
    assert (counted.amount, counted.unit, counted.price) == (60, "seeds", pytest.approx(0.6))


def test_shoots_start_from_a_twentieth_of_what_they_will_weigh_at_most() -> None:
    """200 g of peas would outweigh the 1 g of dry shoots: 0.05 g. Six seeds of 2 mg are 12 mg of the pot's 2 g."""
    raw = tables()
    raw["crops"][0] |= {"sown_by": "pot", "seeds_per_cell": 6, "seed_mass_mg": 2}

    assert seedling_dry_g(scenario_of(micro_room()).crops[0]) == pytest.approx(0.05)
    assert seedling_dry_g(scenario_of(raw).crops[0]) == pytest.approx(0.012)


def test_on_paper_every_tray_is_cut_and_carried() -> None:
    """Two trays a year-long line of 52 weeks: all are harvested, 50 g; washed once, after the harvest."""
    scenario = scenario_of(micro_room())
    (line,) = on_paper.weekly_plan(scenario)
    crop = scenario.crops[0]

    assert line.plants * 52 == pytest.approx(2)
    assert line.kg * 52 == pytest.approx(0.05)
    minutes = [60 * hours * 52 for hours in on_paper.hours_by_weekday(scenario)]
    sow, move, cut, pack, wash = 5 + 2, 3 + 2, 4 + 2, 2 + 0.5, 1 + 2 * 4
    top_up = 52 * 10 * 2
    assert sum(minutes) == pytest.approx(sow + move + cut + pack + wash + top_up)
    assert on_paper.filled_fraction(crop, 20) == 1.0


@pytest.mark.parametrize(
    ("edit", "key", "problem"),
    [
        ({"seed_g_each": None}, "crops.peas.seed_g_each", "is missing"),
        ({"seeds_per_cell": 3}, "crops.peas.seeds_per_cell", "beside a weight of seed"),
        ({"seed_price_per_1000": 5}, "crops.peas.seed_price_per_1000", "seed goes by weight"),
        ({"sown_by": "seed"}, "crops.peas.seed_g_each", "sown seed by seed"),
        ({"sown_by": "pot", "seed_g_each": None}, "crops.peas.seed_price_per_kg", "no weight of seed"),
    ],
)
def test_seed_that_cannot_be_meant(edit: dict[str, Any], key: str, problem: str) -> None:
    """Seed is counted or weighed, never both, and priced the same way."""
    found = faults_of(scenario_of(micro_room(**edit)))

    assert [(where, problem in what) for where, what, _ in found if where == key] == [(key, True)]


def test_trays_that_cannot_be_meant() -> None:
    """A tray of many places is no tray sown whole, and no plant is moved out of one into another."""
    many = micro_room()
    many["trays"][0]["places"] = 60
    two = micro_room()
    two["trays"].append({**two["trays"][0], "name": "bowl"})
    two["crops"][0]["stages"][1]["tray"] = "bowl"

    assert ["60 places" in what for key, what, _ in faults_of(scenario_of(many)) if key == "crops.peas.stages"] == [
        True
    ]
    assert ["several kinds" in what for key, what, _ in faults_of(scenario_of(two)) if key.startswith("crops")] == [
        True
    ]
    assert not faults_of(scenario_of(micro_room()))
