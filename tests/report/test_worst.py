"""What went worst, from made-up outcomes: sentence by sentence, and the row of a crop that is never sown."""

from __future__ import annotations

import dataclasses
import datetime as dt
from types import ModuleType

import pytest

from growsim.ledger.outcome import Outcome
from growsim.report import tables
from growsim.report.worst import cells_skipped, empty_weeks, worst

WEEKS = 10


def year(number: int = 0, *, given: tuple[float, ...] = (5.0,) * WEEKS, wasted: float = 0.0) -> Outcome:
    """Ten weeks of the tiny room: 2,000 seeds of cutting leaf sown, 5 kg ordered a week."""
    weeks = {
        "kg_ordered": (5.0,) * WEEKS,
        "kg_to_partners": given,
    }
    measures = {"kg_packed_per_week": 4.0, "kg_wasted_per_week": wasted}
    fates = {("cutting leaf", "harvested"): 40, ("cutting leaf", "overgrown"): 700, ("cutting leaf", "thinned"): 1260}
    return Outcome(number, measures, weeks, fates, {})


def with_skipped(outcome: Outcome, **cells: float) -> Outcome:
    """The same year with cells of crops not sown."""
    held = {(name.replace("_", " "), "sowings skipped", "no slot"): count for name, count in cells.items()}
    return dataclasses.replace(outcome, held_up=held)


def test_where_all_goes_well_nothing_is_said(made_up: ModuleType) -> None:
    """No sentence, and no head for it."""
    assert worst([year()], made_up.tiny_room(), 70) == []


def test_a_crop_that_is_never_sown_is_said_first_and_keeps_its_row(made_up: ModuleType) -> None:
    """Heads: 60 cells in one year and 40 in the other; leaf: 100 cells of 1,100 (2,000 seeds, two a cell)."""
    room = made_up.tiny_room()
    outcomes = [
        with_skipped(year(0), small_head=60.0, cutting_leaf=100.0),
        with_skipped(year(1), small_head=40.0, cutting_leaf=100.0),
    ]

    assert cells_skipped(outcomes) == {"small head": 50.0, "cutting leaf": 100.0}
    assert worst(outcomes, room, 70) == [
        "Small head: never sown, all 50 cells in 70 days are skipped.",
        "Skipped in 70 days: 100 cells of cutting leaf (9% of what was due).",
    ]
    rows = {row[0]: row[1:5] for row in tables.crops(outcomes, room).rows}
    assert rows == {"cutting leaf": ("2,000", "100", "2%", "35%"), "small head": ("0", "50", "–", "–")}


@pytest.mark.parametrize(
    ("wasted", "said"), [(0.07, []), (0.8, ["0.80 kg a week grow too old: 20% of what is packed"])]
)
def test_greens_that_spoil_are_told_from_a_fiftieth_on(made_up: ModuleType, wasted: float, said: list[str]) -> None:
    """4 kg are packed a week."""
    assert worst([year(wasted=wasted)], made_up.tiny_room(), 70) == [f"In the cooler {each}." for each in said]


def test_more_crops_that_are_skipped_come_behind_the_rest(made_up: ModuleType) -> None:
    """One crop never sown, greens that spoil, and then the other crop."""
    outcomes = [with_skipped(year(wasted=0.8), small_head=60.0, cutting_leaf=100.0)]

    assert [said.split()[0] for said in worst(outcomes, made_up.tiny_room(), 70)] == ["Small", "In", "Skipped"]


def test_weeks_with_next_to_nothing_are_counted_and_the_longest_time_named(made_up: ModuleType) -> None:
    """Weeks 3 to 5 in both years, and week 9 in one of them: 3.5 a rehearsal. Half a kilogram is a tenth: enough."""
    room = made_up.tiny_room()
    bad = (5.0, 0.5, 0.4, 0.0, 0.4, 5.0, 5.0, 5.0, 5.0, 5.0)
    worse = (*bad[:8], 0.0, 5.0)
    start = room.room.start_date
    found = empty_weeks([year(0, given=bad), year(1, given=worse)], room)

    assert found.mean == 3.5
    assert found.spells == ((start + dt.timedelta(days=14), start + dt.timedelta(days=34)),)
    assert not found.after_closing
    (said,) = worst([year(0, given=bad), year(1, given=worse)], room, 70)
    assert said.startswith("In 3.5 weeks in 70 days partners get next to nothing of what they order.")
    once = [year(0, given=(0.0, *bad[5:])), *[year(number, given=(5.0,) * 6) for number in (1,)]]
    assert worst(once, room, 42) == ["In fewer than 1 week in 42 days partners get next to nothing of what they order."]
    assert said.endswith("The longest such time, most years, is 20 Jan 2031 to 9 Feb 2031.")


def test_a_closing_before_it_is_named(made_up: ModuleType) -> None:
    """Closed in week 1: what was not sown then is missing in weeks 3 to 5."""
    room = made_up.tiny_room()
    closed = room.room.model_copy(update={"closed_days": (room.room.start_date,)})
    bad = (5.0, 5.0, 0.0, 0.0, 0.0, 5.0, 5.0, 5.0, 5.0, 5.0)

    assert empty_weeks([year(given=bad)], room.model_copy(update={"room": closed})).after_closing
