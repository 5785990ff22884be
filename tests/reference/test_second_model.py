"""growsim against a second model of the same room, written from the text alone: a process for every plant and person.

The second model (`plain_room`) knows nothing of `growsim/room`: it was written from
growsim/room/MODEL.md, shares only the room file and the biology (`growsim/growth`), and takes its luck from numpy.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from reference.two_models import (
    LOSSES,
    TRAYS,
    Agreement,
    Year,
    busy_room,
    compare,
    table,
    years_of_growsim,
    years_of_plain_room,
)

from growsim.run.prepare import Prepared

REPORT = Path(__file__).parents[2] / "reports" / "second-model" / "agreement.csv"
TRAY_REPORT = REPORT.with_name("agreement-trays.csv")
CUT, HOURS = "plants harvested in the year", "hours worked"


def disagreements(agreements: dict[str, Agreement]) -> list[str]:
    """Figures in which the two models differ by more than luck."""
    return [
        f"{a.figure}: growsim {a.growsim:.2f}, plain {a.plain:.2f} ± {a.half_width:.2f}"
        for a in agreements.values()
        if not a.agrees
    ]


@pytest.fixture(scope="module")
def room() -> Prepared:
    """The room in which everything goes wrong now and then."""
    return busy_room()


@pytest.fixture(scope="module")
def few_years(room: Prepared) -> list[Year]:
    """Some years of growsim."""
    return years_of_growsim(room, 100)


def test_two_models_of_one_room_agree(room: Prepared, few_years: list[Year]) -> None:
    """A few years of each: all figures agree, as far as so few can tell (to 5 % of plants and hours; see the slow
    comparison for 1 %)."""
    agreements = compare(few_years, years_of_plain_room(room, 32))

    assert not disagreements(agreements)
    assert agreements[CUT].sharpness < 0.05 and agreements[HOURS].sharpness < 0.05
    assert agreements["slots in use"].sharpness < 0.03
    assert all(agreements[f"lost: {cause}"].growsim > 0 for cause in LOSSES)  # everything happens in this room


def test_a_difference_would_show(few_years: list[Year]) -> None:
    """A room that gives a tenth more of everything does not pass for the same."""
    other = [{figure: value * 1.1 for figure, value in year.items()} for year in few_years[:16]]

    found = disagreements(compare(few_years, other))

    assert any(line.startswith(CUT) for line in found) and any(line.startswith(HOURS) for line in found)


@pytest.mark.slow
def test_two_models_agree_to_one_per_cent(room: Prepared) -> None:
    """Many years of each, to see a difference of one per cent in plants harvested and in hours; written as a table.

    python -m pytest -m slow tests/reference/test_second_model.py
    """
    agreements = compare(years_of_growsim(room, 2000), years_of_plain_room(room, 400, workers=2))
    REPORT.parent.mkdir(parents=True, exist_ok=True)
    REPORT.write_text(table(agreements), encoding="utf-8")

    assert not disagreements(agreements)
    assert agreements[CUT].sharpness < 0.01
    assert agreements[HOURS].sharpness < 0.01
    for cause in LOSSES:  # what one per cent of the plants sown would be, or less
        assert agreements[f"lost: {cause}"].half_width < 0.01 * agreements["seeds sown"].growsim


def test_two_models_of_a_room_of_trays_agree() -> None:
    """A few years of each of a room of microgreens by the tray and herbs by the pot, with minutes by crop: to 10 %, see
    the slow comparison for 1 %."""
    room = busy_room(TRAYS)

    agreements = compare(years_of_growsim(room, 50), years_of_plain_room(room, 16))

    assert not disagreements(agreements)
    assert agreements[CUT].sharpness < 0.1 and agreements[HOURS].sharpness < 0.1
    assert agreements["lost: thinned"].growsim == agreements["lost: thinned"].plain == 0


@pytest.mark.slow
def test_two_models_of_a_room_of_trays_agree_to_one_per_cent() -> None:
    """The same, as closely as for plants; written as a table.

    python -m pytest -m slow tests/reference/test_second_model.py -k trays
    """
    room = busy_room(TRAYS)
    agreements = compare(years_of_growsim(room, 2000), years_of_plain_room(room, 450, workers=2))
    TRAY_REPORT.parent.mkdir(parents=True, exist_ok=True)
    TRAY_REPORT.write_text(table(agreements), encoding="utf-8")

    assert not disagreements(agreements)
    assert agreements["kg packed"].sharpness < 0.01
    assert agreements[HOURS].sharpness < 0.01
