"""The order of racks and shelves in the file decides nothing; what they are called decides next to nothing."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from statistics import fmean
from typing import Any

import pytest
from batches import run_batch
from scipy import stats

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import HandedOut, Lost
from growsim.room.model import simulate
from growsim.run.prepare import Prepared, prepare
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.scenario.short.expand import expand

TESTS = Path(__file__).parents[1]
TINY = TESTS.parent / "scenarios" / "tiny" / "room.toml"
MILLRACE = TESTS.parent / "scenarios" / "millrace" / "room.toml"
TWO_RACKS = TESTS / "cases" / "two_racks.toml"
PLAN = RunPlan(days=182, warm_up_days=56)
STANDING = RunPlan(
    days=56,
    start="shelves",
    shelves=(
        ShelfLot("leaf", "cutting leaf", "leaf", 20, 130),
        ShelfLot("heads", "small head", "head", 25, 30),
        ShelfLot("seedlings", "small head", "seedling", 5, 70),
    ),
)

Tables = dict[str, Any]


def tables(path: Path) -> Tables:
    """A room file as nested tables, in full."""
    return expand(tomllib.loads(path.read_text(encoding="utf-8"))).tables


def room(raw: Tables) -> Prepared:
    """The room of these tables."""
    return prepare(scenario_from(raw, "room.toml")[0])


def records(raw: Tables, plan: RunPlan = PLAN, luck: Luck | None = None) -> Book:
    """What the book of one year has."""
    there = room(raw)
    return simulate(there.scenario, there.curves, luck or Luck(7, 3), plan)


def shelves_turned_round(raw: Tables) -> Tables:
    """The same tables with all racks, and all shelves of a rack, in the opposite order."""
    other = copy.deepcopy(raw)
    other["racks"].reverse()
    for rack in other["racks"]:
        rack["shelves"].reverse()
    return other


@pytest.mark.parametrize(
    ("path", "plan"),
    [(TINY, PLAN), (TINY, STANDING), (TWO_RACKS, PLAN), (TWO_RACKS, STANDING), (MILLRACE, RunPlan(days=91))],
)
def test_the_order_in_the_file_changes_no_bit(path: Path, plan: RunPlan) -> None:
    """Every record of a year is the same with racks and shelves told in the opposite order."""
    raw = tables(path)

    assert records(shelves_turned_round(raw), plan).records == records(raw, plan).records


def called_otherwise(raw: Tables, names: dict[str, str]) -> Tables:
    """The same tables with other names for racks, and for the shelves of each (name -> name, turned round)."""
    other = copy.deepcopy(raw)
    for rack in other["racks"]:
        rack["name"] = names[rack["name"]]
        turned = [shelves["name"] for shelves in reversed(rack["shelves"])]
        for shelves, name in zip(rack["shelves"], turned, strict=True):
            shelves["name"] = name
    return other


def test_names_of_shelves_change_no_bit() -> None:
    """Two kinds of shelves on one rack change names: nothing else does, for no tie is between them."""
    raw = tables(TINY)

    assert records(called_otherwise(raw, {"rack": "rack"})).records == records(raw).records


def test_names_of_twin_racks_only_swap_the_twins() -> None:
    """With luck switched off, twin racks that swap names hand out the same greens on the same days."""
    raw = tables(TWO_RACKS)
    swapped = called_otherwise(raw, {"rack": "rack B", "rack B": "rack"})
    there, same = records(raw, luck=FixedLuck()), records(swapped, luck=FixedLuck())

    assert list(same.of(HandedOut)) == list(there.of(HandedOut))
    assert list(there.of(HandedOut))


def kilograms(raw: Tables, years: int) -> list[float]:
    """Kilograms handed out a week, year by year."""
    return [outcome.measures["kg_handed_out_per_week"] for outcome in run_batch(room(raw), 11, range(years), PLAN)]


def gain(less: list[float], more: list[float]) -> tuple[float, float]:
    """Mean difference of paired years, and the half-width of its 99 % range."""
    differences = [b - a for a, b in zip(less, more, strict=True)]
    return fmean(differences), float(stats.sem(differences) * stats.t.ppf(0.995, len(differences) - 1))


def test_names_of_the_racks_of_the_demo_move_no_kilograms() -> None:
    """Names break ties on the demo; that they do is within luck, and would show were it 2 % of some 36 kg."""
    raw = tables(MILLRACE)
    names = [rack["name"] for rack in raw["racks"]]
    found, half = gain(
        kilograms(raw, 12), kilograms(called_otherwise(raw, dict(zip(names, names[::-1], strict=True))), 12)
    )

    assert abs(found) < half < 0.72


def test_no_twin_runs_dry_beside_an_empty_twin() -> None:
    """Two alike racks with a reservoir each, half full: as many trays on each, and no plant dries out."""
    outcomes = run_batch(room(tables(TWO_RACKS)), 7, range(12), PLAN)

    assert fmean(outcome.measures["plants_lost_dried_out"] for outcome in outcomes) == 0


def test_two_half_full_twins_give_twice_one() -> None:
    """Luck switched off: twice the sowings on two alike racks give twice what one gives, to the gram."""
    twice = tables(TWO_RACKS)
    once = copy.deepcopy(twice)
    for kind, keep in (("racks", 1), ("reservoirs", 1), ("lights", 1), ("sowing", 2)):
        once[kind] = once[kind][:keep]
    for raw in (once, twice):  # as warm with one bank as with two, enough people, nobody who wants a share
        raw["room"]["heat_loss_w_per_k"] = 0
        raw["climate"] |= {"cooling_kw": 100, "heating_kw": 100}
        for shift in raw["crew"]["shifts"]:
            shift |= {"people": 30, "hours": 6}
        raw["partners"] = []
    twice["room"]["floor_area_m2"] *= 2  # as much air for each rack
    one, both = records(once, luck=FixedLuck()), records(twice, luck=FixedLuck())
    grams = [sum(handed.grams for handed in book.of(HandedOut)) for book in (one, both)]

    assert grams[1] == 2 * grams[0] > 0
    assert not list(both.of(Lost)) or {lost.cause for lost in both.of(Lost)} <= {"not_emerged", "thinned", "too_small"}


@pytest.mark.parametrize(("fewer", "more"), [(0, 1), (1, 1), (2, 1), (2, 4)])
def test_more_people_never_give_fewer_kilograms(fewer: int, more: int) -> None:
    """Within the range of the difference, which is narrow enough to see half a kilogram of some 4."""
    raw, helped = tables(TINY), tables(TINY)
    for shift, better in zip(raw["crew"]["shifts"], helped["crew"]["shifts"], strict=True):
        shift["people"], better["people"] = fewer, fewer + more
    found, half = gain(kilograms(raw, 20), kilograms(helped, 20))

    assert found > -half
    assert half < 0.5
