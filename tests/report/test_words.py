"""Numbers as words."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from growsim.report import words
from growsim.scenario.load import load_scenario
from growsim.units import shown_in

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario


def test_a_mass_is_given_in_kilograms_or_in_pounds() -> None:
    """Source: NIST Special Publication 811, appendix B: 1 pound avoirdupois = 0.453 592 37 kg (from memory)."""
    assert words.mass(45.359237) == "45.4 kg"
    assert words.mass_range(0.45359237, 4.5359237) == "0.5 to 4.5 kg"
    with shown_in("us"):
        assert words.mass(45.359237) == "100.0 lb"
        assert words.mass_range(0.45359237, 4.5359237) == "1.0 to 10.0 lb"
        assert words.mass_plus(-0.45359237) == "-1.0"
        assert words.money_per_mass(1.0 / 0.45359237, "USD") == "USD 1.00 a lb"


def test_a_small_mass_keeps_two_decimals() -> None:
    """A quarter of a kilogram is not rounded away."""
    assert words.mass(0.25) == "0.25 kg"
    with shown_in("us"):
        assert words.mass(0.25) == "0.55 lb"
        assert words.down(0.5) == "1.1 lb"


@pytest.mark.parametrize(
    ("celsius", "metric", "us"),
    [(0, "0.0 °C", "32.0 °F"), (100, "100.0 °C", "212.0 °F"), (-40, "-40.0 °C", "-40.0 °F")],
)
def test_a_temperature_is_given_in_the_readers_scale(celsius: float, metric: str, us: str) -> None:
    """Fixed points of the scales: water freezes at 32 °F and boils at 212 °F (common knowledge)."""
    assert words.temperature(celsius) == metric
    with shown_in("us"):
        assert words.temperature(celsius) == us


def test_a_volume_is_given_in_liters_or_us_gallons() -> None:
    """A US gallon is 231 cubic inches of 2.54 cm (definition): 3.785 L."""
    assert words.volume(231 * 2.54**3 / 100) == "38 L"
    with shown_in("us"):
        assert words.volume(231 * 2.54**3 / 100) == "10 gal"


@pytest.mark.parametrize(
    ("fraction", "told"),
    [(0.0, "0%"), (0.004, "under 1%"), (0.12, "12%"), (0.994, "99%"), (0.9999, "over 99%"), (1.0, "100%")],
)
def test_a_share_never_claims_all_or_nothing_by_rounding(fraction: float, told: str) -> None:
    """99.99% of the orders filled is not every order filled."""
    assert words.percent(fraction) == told


def test_counted_things_take_their_form() -> None:
    """One tray, two trays, 1,200 trays."""
    told = [words.counted(count, "tray") for count in (1, 2, 1200)]

    assert told == ["1 tray", "2 trays", "1,200 trays"]


def test_lists_read_like_speech() -> None:
    """Commas, then 'and'."""
    assert [words.listed(items) for items in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]


@pytest.mark.parametrize(
    ("value", "told"), [(0, "0"), (0.0345, "0.035"), (0.5, "0.50"), (5.25, "5.2"), (52.4, "52"), (5234, "5,234")]
)
def test_an_amount_shows_the_digits_that_matter(value: float, told: str) -> None:
    """About two figures, more where the number is large."""
    assert words.sensible(value) == told


def test_no_number_is_minus_nought() -> None:
    """A change too small to show is zero, not minus zero."""
    assert words.number(-0.001, 1) == "0.0"


def test_dates_do_not_depend_on_the_computers_language() -> None:
    """13 March 2031 is a Thursday (perpetual calendar, common knowledge)."""
    thursday = dt.date(2031, 3, 13)
    assert words.day_and_date(thursday) == "Thursday 13 March 2031"
    assert [words.short_date(thursday), words.short_day(thursday)] == ["13 Mar 2031", "13 Mar"]
    with shown_in("us", month_first=True):
        assert words.day_and_date(thursday) == "Thursday, March 13, 2031"
        assert [words.short_date(thursday), words.short_day(thursday)] == ["Mar 13, 2031", "Mar 13"]
        assert [words.long_date(thursday), words.long_day(thursday)] == ["March 13, 2031", "March 13"]


@pytest.mark.parametrize(
    ("minutes", "told"), [(1, "1 minute"), (45, "45 minutes"), (300, "5.0 hours"), (4320, "3.0 days")]
)
def test_a_length_of_time_is_told_in_a_fitting_unit(minutes: float, told: str) -> None:
    """Minutes, hours or days."""
    assert words.span(minutes) == told


def test_figures_of_a_short_rehearsal_do_not_claim_to_be_of_a_year() -> None:
    """'a year' is said of about a year only."""
    assert words.per_period("plants/year", 364) == "plants/year"
    assert words.per_period("plants/year", 90) == "plants/90 days"
    assert words.a_period(90) == "in 90 days"
    assert words.rehearsals(3, 90) == "3 rehearsals of 90 days"


def test_closings_that_lie_outside_the_days_counted_are_told_of() -> None:
    """By hand, the tiny room's year: its own holidays count; those of other years do not, and are told of once."""
    vain = [dt.date(2026, 12, 24), dt.date(2026, 12, 25), dt.date(2028, 5, 1)]
    changed = TINY.model_copy(
        update={"room": TINY.room.model_copy(update={"closed_days": (*TINY.room.closed_days, *vain)})}
    )

    assert words.closed_in_vain(TINY) == ""
    said = "Outside these dates, so without effect: closed 24 Dec 2026 to 25 Dec 2026 and 1 May 2028."
    assert words.closed_in_vain(changed) == words.closed_in_vain(changed, TINY) == said
    assert words.closed_in_vain(changed, changed) == ""
    start = TINY.room.start_date
    assert words.dates(TINY, 364).startswith(f"{start.day} ")
