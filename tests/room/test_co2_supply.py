"""The CO2 supply gives off what leaks out and what the plants take up, and no more than it can."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from small_rooms import DAY, DRY_G_A_DAY, lived, scenario_of, straight_curves, tables

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import Germinated, Harvested, Lost, MetersRead
from growsim.room.crops_here import NotKnown
from growsim.room.model import simulate
from growsim.scenario.plan import RunPlan, ShelfLot

CO2_FOR_DRY = 44.0 / 30.0  # g/g: each mol of CO2 (44 g) becomes a mol of CH2O (30 g)
PLANTS, UP = 9, 4875  # as the round room's first Monday has them: 10 cells, up three days after the shift


def fed(**co2: Any) -> dict[str, Any]:
    """The round room, tight, with a supply of CO2."""
    return tables() | {"co2": {"setpoint_ppm": 1000, "outdoor_ppm": 400, "supply_kg_per_day": 5} | co2}


def given_g(book: Book) -> float:
    """CO2 given off in all."""
    return list(book.of(MetersRead))[-1].co2_g


def grown_g(book: Book, days: int, cuts: int) -> float:
    """Dry mass grown, from the log book alone: plant by plant, 0.1 g a day from germination to its end.

    For lots whose parts all germinate at once.
    """
    up = {came.lot: came.minute for came in book.of(Germinated)}
    plants = Counter({came.lot: came.filled_cells for came in book.of(Germinated)})
    grown = 0.0
    last_cuts = [
        cut for cut in book.of(Harvested) if cut.number == cuts
    ]  # what is harvested before stays and grows again
    for gone in (*book.of(Lost), *last_cuts):
        if isinstance(gone, Lost) and gone.cause in ("not_emerged", "thinned"):
            continue
        plants[gone.lot] -= gone.plants
        grown += gone.plants * DRY_G_A_DAY * (gone.minute - up[gone.lot]) / DAY
    return grown + sum(count * DRY_G_A_DAY * (days * DAY - up[lot]) / DAY for lot, count in plants.items())


def lived_from(raw: dict[str, Any], shelves: tuple[ShelfLot, ...]) -> Book:
    """A day of the room with these plants on its shelves."""
    scenario = scenario_of(raw)
    return simulate(scenario, straight_curves(scenario), FixedLuck(), RunPlan(1, start="shelves", shelves=shelves))


def test_in_a_tight_room_it_gives_what_the_plants_gain() -> None:
    """Nine plants that gain 0.1 g a day from minute 4,875: in ten days 5.95 g of dry mass, 8.7 g of CO2."""
    expected = PLANTS * DRY_G_A_DAY * (10 * DAY - UP) / DAY * CO2_FOR_DRY

    assert given_g(lived(fed(), 10)) == pytest.approx(expected, rel=0.004)  # the model rounds 30/44 to 0.68


def test_it_gives_as_much_where_the_air_outside_is_what_is_wanted() -> None:
    """Nothing leaks out then, but the plants still eat."""
    alike = lived(fed(setpoint_ppm=400), 10)

    assert given_g(alike) == pytest.approx(given_g(lived(fed(), 10)), rel=1e-9)


def test_a_leak_from_outside_spares_the_supply() -> None:
    """Outside has 200 ppm more than is wanted and half an air change an hour brings 110 g a day: nothing is given."""
    raw = fed(setpoint_ppm=200)
    raw["room"]["air_changes_per_hour"] = 0.5

    assert given_g(lived(raw, 10)) == 0.0


def test_leak_and_plants_add_up() -> None:
    """With the leak of an empty room beside it."""
    raw = fed()
    raw["room"]["air_changes_per_hour"] = 0.5
    both, leak = given_g(lived(raw, 10)), given_g(lived(raw | {"sowing": []}, 10))

    assert both - leak == pytest.approx(given_g(lived(fed(), 10)), rel=1e-6)


def test_it_gives_no_more_than_it_can() -> None:
    """Half a gram a day for ten days; the plants would take 8.7 g."""
    assert given_g(lived(fed(supply_kg_per_day=0.0005), 10)) == pytest.approx(5.0)


def test_it_works_while_the_lights_are_on() -> None:
    """Twelve hours of light: half the leak of an empty room, and half of what it can give at most."""
    leaky, scarce = fed(), fed(supply_kg_per_day=0.0005)
    leaky["room"]["air_changes_per_hour"] = 0.5
    leaky["sowing"] = []
    for raw, share in ((leaky, 0.5), (scarce, 0.5)):
        always = given_g(lived(raw, 10))
        raw["lights"][0]["hours_per_day"] = 12

        assert given_g(lived(raw, 10)) == pytest.approx(share * always)


def test_plants_that_weigh_more_take_up_more() -> None:
    """By the factor drawn for the typical mass, which is not known: the same luck with it and without."""
    sure, unsure = fed(), fed()
    unsure["crops"][0]["typical_mass_g"] = {"low": 30, "likely": 60, "high": 90}
    sure["crops"][0]["typical_mass_g"] = 60
    factor = NotKnown(scenario_of(unsure), Luck(5, 0)).mass["lettuce"]

    assert abs(factor - 1.0) > 0.05
    for days in (10, 60):  # before any is harvested, and when many have been
        both = [given_g(lived(raw, days, luck=Luck(5, 0))) for raw in (sure, unsure)]
        assert both[1] == pytest.approx(factor * both[0], rel=1e-9)


def test_while_it_is_out_it_gives_nothing() -> None:
    """Days 6 and 7 of ten, the plants up since before: their growth in the other days."""
    raw = fed()
    raw["outages"] = [{"name": "empty", "machine": "co2", "start_day": 6, "hours": 48}]
    straight = PLANTS * DRY_G_A_DAY * CO2_FOR_DRY / DAY  # g a minute at the set-point

    before, out, after = 6 * DAY - UP, 2 * DAY, 2 * DAY
    whole = given_g(lived(fed(), 10))
    part = given_g(lived(raw, 10))

    assert part == pytest.approx(straight * (before + after), rel=0.004)
    assert whole - part == pytest.approx(straight * out, rel=0.004)


@pytest.mark.parametrize("cuts", [1, 2])
def test_carbon_given_is_carbon_grown(cuts: int) -> None:
    """Lots moved, split for lack of slots, lost, harvested, grown again: all that was gained, from the book's own
    records.
    """
    raw = fed()
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 20}
    raw["racks"][0]["shelves"][0]["slots"] = 4
    raw["crops"][0]["stages"][1]["loss_fraction"] = 0.1
    raw["crops"][0] |= {"harvests": cuts, "regrowth_days": 7}
    book = lived(raw, 70)

    assert {"no_room", "transplanting"} <= {lost.cause for lost in book.of(Lost)} and any(book.of(Harvested))
    assert {cut.number for cut in book.of(Harvested)} == set(range(1, cuts + 1))
    assert given_g(book) == pytest.approx(grown_g(book, 70, cuts) * CO2_FOR_DRY, rel=0.004)


def test_without_a_supply_nothing_is_given() -> None:
    """However much is grown."""
    assert given_g(lived(fed(supply_kg_per_day=0), 10)) == 0.0


def test_plants_found_on_the_shelves_were_not_grown_here() -> None:
    """Four heads that stand there gain 0.1 g each in a day, whatever they weigh already."""
    raw = fed() | {"sowing": []}
    shelves = (ShelfLot("old", "lettuce", "head", 18, 4),)

    assert given_g(lived_from(raw, shelves)) == pytest.approx(4 * DRY_G_A_DAY * CO2_FOR_DRY, rel=0.004)
