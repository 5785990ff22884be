"""What is possible but surely not meant is said, and stops nobody."""

from __future__ import annotations

from pathlib import Path

import pytest
from wrong_rooms import Edits, edited

from growsim.scenario.checks.crops import crops_are_sown
from growsim.scenario.load import load_scenario

ROOT = Path(__file__).parents[2]

ODD_ROOMS: list[tuple[str, Edits, str, str]] = [
    (
        "more promised of a crop than the plan gives",
        [("kg = 1.8", "kg = 18")],
        "partners",
        "18.0 kg of small head a week are promised and the plan gives 2.8 kg",
    ),
    (
        "more promised in all",
        [('crop = "small head"\nkg = 1.8', 'crop = "any"\nkg = 5')],
        "partners",
        "6.0 kg a week are promised in all and the plan gives 4.2 kg",
    ),
    (
        "more people than the room holds",
        [("people = 2", "people = 4")],
        "crew.shifts.Monday.people",
        "5 people with the lead, and only 4 can work",
    ),
    (
        "two shifts that crowd the room",
        [
            ('name = "Thursday"\nweekday = "thu"', 'name = "Thursday"\nweekday = "mon"'),
            ('weekdays = ["thu"]', 'weekdays = ["mon"]'),
        ],
        "crew.shifts.Thursday.start_hour",
        "meets Monday: 6 people together",
    ),
    (
        "harvest day without a shift",
        [('weekdays = ["thu"]', 'weekdays = ["thu", "sun"]')],
        "harvest.weekdays",
        "there is no shift on sun",
    ),
    (
        "sowing day without a shift",
        [('cells = 60\nweekday = "mon"', 'cells = 60\nweekday = "tue"')],
        "sowing.leaf Mondays.weekday",
        "there is no shift on tue",
    ),
    (
        "picked up before the first shift",
        [("hour = 14", "hour = 8.5")],
        "partners.trial pantry.hour",
        "collects at 08:30 on thu, before that day's first shift (09:00)",
    ),
    (
        "picked up when all is old",
        [
            ('weekday = "thu"\nhour = 14', 'weekday = "wed"\nhour = 14'),
            ("shelf_life_days = 8", "shelf_life_days = 5"),
            ("shelf_life_days = 7", "shelf_life_days = 5"),
        ],
        "partners.trial pantry.weekday",
        "6 days after the last harvest day",
    ),
    (
        "given away the day before it is collected",
        [('weekday = "thu"\nhour = 14', 'weekday = "sat"\nhour = 14')],
        "harvest.surplus_weekday",
        "giving away at 17:00 on fri comes before trial pantry collects cutting leaf and small head",
    ),
    (
        "closed on a day of another year",
        [("[2031-05-26]", "[2031-05-26, 2019-01-01]")],
        "room.closed_days",
        "2019-01-01: outside the rehearsal",
    ),
    (
        "closed for the last fortnight",
        [
            ("[2031-05-26]", '["2031-06-16 to 2031-06-29"]'),
            ('cells = 60\nweekday = "mon"', 'cells = 60\nweekday = "mon"\nuntil_date = 2031-05-15'),
            ('cells = 30\nweekday = "mon"', 'cells = 30\nweekday = "mon"\nuntil_date = 2031-05-01'),
        ],
        "room.closed_days",
        "closed for 14 days from 2031-06-16 on",
    ),
    (
        "a crop nobody sows",
        [
            ('crop = "small head"\ncells', 'crop = "cutting leaf"\ncells'),
            ('crop = "small head"\nkg = 1.8', 'crop = "any"\nkg = 0.8'),
        ],
        "crops.small head",
        "never sown",
    ),
    (
        "a reservoir for nothing",
        [
            (
                "[[lights]]",
                '[[reservoirs]]\nname = "old reservoir"\ncapacity_l = 9\n'
                "lowest_flood_level_l = 3\nflood_every_hours = 4\n"
                "flood_minutes = 3\npump = { power_w = 10 }\n\n[[lights]]",
            )
        ],
        "reservoirs.old reservoir",
        "serves no rack",
    ),
    ("lights that overheat the room", [("cooling_kw = 2", "cooling_kw = 0.2")], "climate.cooling_kw", "kW of heat"),
    (
        "CO2 wanted and none given",
        [("[crew]", "[co2]\nsetpoint_ppm = 900\n\n[crew]")],
        "co2.supply_kg_per_day",
        "the 900 ppm wanted is never reached",
    ),
    (
        "solution too strong from the start",
        [("change_every_weeks = 4", "change_every_weeks = 4\nfill_ec_ms_cm = 4.5")],
        "reservoirs.reservoir.fill_ec_ms_cm",
        "is 4.5 mS/cm, outside 0.8 to 3",
    ),
    (
        "an outage after the end",
        [("[rehearsal]", '[[outages]]\nname = "x"\nmachine = "power"\nstart_day = 900\nhours = 2\n\n[rehearsal]')],
        "outages.x.start_day",
        "is day 900, and the rehearsal ends with day 181",
    ),
    (
        "more slots wanted than there are",
        [("cells = 30", "cells = 60")],
        "sowing.heads Mondays.cells",
        "small head finds no free slot of the seedling stage",
    ),
    (
        "more work than hands",
        [("minutes_per_unit = 0.2", "minutes_per_unit = 15")],
        "crew.shifts",
        "hours of work a week",
    ),
    (
        "shelves on which nothing may stand",
        [
            (
                "[[reservoirs]]",
                '[[racks.shelves]]\nname = "spare"\ncount = 1\nslots = 4\nslot_length_cm = 60\nslot_width_cm = 40\n'
                "\n[[reservoirs]]",
            )
        ],
        "racks.rack.shelves.spare.stages",
        "no stage may stand here",
    ),
]


@pytest.mark.parametrize(
    ("edits", "key", "problem"), [room[1:] for room in ODD_ROOMS], ids=[room[0] for room in ODD_ROOMS]
)
def test_an_odd_room_is_read_with_a_warning(edits: Edits, key: str, problem: str, tmp_path: Path) -> None:
    """Exactly one warning, with its key, the matter and a remedy."""
    (tmp_path / "room.toml").write_text(edited(edits), encoding="utf-8")

    warnings = load_scenario(tmp_path).warnings

    assert [warning.key for warning in warnings] == [key]
    assert problem in warnings[0].problem
    assert warnings[0].remedy


@pytest.mark.parametrize("room", ["scenarios/tiny", "scenarios/millrace", "growsim/scenario/starter"])
def test_the_rooms_that_come_with_growsim_are_sound(room: str) -> None:
    """No fault and no warning in what people begin from, and every table says where its figures come from."""
    loaded = load_scenario(ROOT / room)

    assert loaded.warnings == ()
    assert "invented" in loaded.path.read_text(encoding="utf-8").lower()[:300]


def test_a_crop_that_nobody_orders_need_not_be_sown() -> None:
    """A plan for what is ordered leaves the others out, as `growsim sow` does; an order of any crop could take it."""
    room = load_scenario(ROOT / "scenarios" / "tiny").scenario
    (partner,) = room.partners
    heads = [order for order in partner.orders if order.crop == "small head"]
    sown = tuple(line for line in room.sowing if line.crop == "small head")

    def said(*crops: str) -> list[str]:
        orders = tuple(heads[0].model_copy(update={"crop": crop}) for crop in crops)
        partners = (partner.model_copy(update={"orders": orders}),)
        return [key for key, _, _ in crops_are_sown(room.model_copy(update={"sowing": sown, "partners": partners}))]

    assert said("small head") == []
    assert said("small head", "any") == ["crops.cutting leaf"]
