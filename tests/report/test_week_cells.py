"""The sheets of a made-up week, cell by cell: what a volunteer and a partner read is what was planned."""

from __future__ import annotations

import csv
import datetime as dt
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import icalendar
import pytest
from tables_read import Read, tables_of

from growsim.report.provenance import Provenance
from growsim.report.week import words as week_words
from growsim.report.week.answer import write_sheets
from growsim.scenario.people import Shift
from growsim.study.week.question import PickUp, ShiftSheet, Shortfall, Spread, Supply, WeekPlan
from growsim.study.week.tasks import Line

MONDAY, THURSDAY = dt.date(2031, 3, 3), dt.date(2031, 3, 6)
FILL = "Water and electricity: unplug with dry hands, or at the breaker, before hands go into a reservoir."
ACID = (
    "Nutrients and what sets pH: gloves, eye protection; acid into water, never water into acid; never mix "
    "concentrates."
)
BLEACH = (
    "Sanitizer: bleach never with acid (what lowers pH is one) or ammonia. Gloves, eye protection, fresh air; rinse."
)
LIFT = "Lifting: never a filled reservoir, drain it first; two for what is awkward; a steady step to the top shelf."
GLARE = "Glare: do not look into the lights; shaded glasses, or lights turned down, for close work."
FOOD = "Food: clean hands, knives and crates; nobody who is ill; greens into the cold at once; note lot and date."
ALONE = (
    "No lead comes: nobody works here alone. Wait until there are two, and tell somebody outside when you will be done."
)
DUE = {
    "morning": [FILL, ACID, LIFT, GLARE, FOOD],  # fills the reservoir, harvests, transplants
    "long afternoon": [ALONE, BLEACH, LIFT],  # washes, without a lead
    "idle": [],
}


def spread(mean: float, low: float, high: float) -> Spread:
    """A figure of the week."""
    return Spread(mean, mean - 0.1, mean + 0.1, low, mean, high, 24)


@pytest.fixture(scope="module")
def week(made_up: ModuleType) -> WeekPlan:
    """Three shifts of different lengths, two pick-ups, one order at risk."""
    morning = Shift(name="morning", weekday="mon", start_hour=9.5, hours=2, people=3, lead=True)
    long = Shift(name="long afternoon", weekday="thu", start_hour=13, hours=4.25, people=5, lead=False)
    idle = Shift(name="idle", weekday="thu", start_hour=18, hours=1, people=0, lead=True)
    lot = {"crop": "small head", "sown": "2031-01-27", "lot": "small head 4"}
    sheets = (
        ShiftSheet(MONDAY, morning, 3, 2, (
            Line("top up", where="reservoir", count=1, unit="reservoir", minutes=10, people=1, lead_only=True),
            Line("harvest", **lot, where="rack", count=20, unit="plant", grams=2200, minutes=15, people=2),
            Line("harvest", **lot, where="other rack", count=10, unit="plant", grams=1100, minutes=10, people=2),
            Line("transplant", crop="cutting leaf", sown="2031-02-19", lot="cutting leaf 7", where="rack",
                 to="other rack", stage="leaf", count=44, unit="plant", trays=2, minutes=13, people=1, goes_on=True),
        )),
        ShiftSheet(THURSDAY, long, 5, 4, (
            Line("wash", count=3, unit="tray", trays=3, minutes=12, people=2, carried_on=True),
            Line("wash", count=2, unit="tray", trays=2, minutes=9, people=2),
        )),
        ShiftSheet(THURSDAY, idle, 0, 0, ()),
    )  # fmt: skip
    short = Shortfall(THURSDAY, "pantry", "cutting leaf", 2.0, 0.75, 9, 24)
    return WeekPlan(
        made_up.tiny_room(), MONDAY, 5, 24, sheets,
        (
            PickUp(MONDAY, 15.0, "kitchen", (("small head", 3.0), ("any", 0.5))),
            PickUp(THURSDAY, 17.5, "pantry", (("cutting leaf", 2.0),), (short,)),
        ),
        (Supply("seed of small head", 480, "seeds", 9.6), Supply("fertilizer", 0.4, "kg", 3.2),
         Supply("water", 120.0, "L", 0.36)),
        {"crew_hours_needed": spread(6.4, 5.1, 8.2), "kg_packed": spread(3.9, 2.6, 5.3)},
        days=7, lead_in_days=56,
    )  # fmt: skip


@pytest.fixture(scope="module")
def out(week: WeekPlan, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Where it was written."""
    folder = tmp_path_factory.mktemp("week") / "out"
    write_sheets(week, folder, provenance=Provenance("sheet", "growsim sheet somewhere", "ab" * 32))
    return folder


@pytest.fixture(scope="module")
def tables(out: Path) -> list[Read]:
    """The tables of the page."""
    return tables_of((out / "report.html").read_text(encoding="utf-8"))


def test_the_wall_says_who_comes_when_and_what_is_due(tables: list[Read]) -> None:
    """38 + 10 minutes are 0.8 h, 21 are 0.3 (0.35 rounds to even); volunteers expected of those signed up."""
    wall = tables[0]

    assert wall.heads == ["shift", "when", "people", "hours", "what"]
    assert wall.rows == [
        ["morning", "Mon 3, 09:30 to 11:30", "2 of 3 + lead", "0.8",
         "fill the reservoirs; harvest small head (3 kg); transplant cutting leaf"],
        ["long afternoon", "Thu 6, 13:00 to 17:15", "4 of 5", "0.3", "wash 5 trays"],
        ["idle", "Thu 6, 18:00 to 19:00", "the lead alone", "0.0", "nothing falls due"],
    ]  # fmt: skip


def test_partners_are_told_with_what_may_be_short(tables: list[Read]) -> None:
    """Day, hour, what is ordered of what, what is missing how often."""
    partners = tables[1]

    assert partners.rows == [
        ["kitchen", "Mon 3, 15:00", "3.0 kg small head and 0.50 kg any", ""],
        [
            "pantry",
            "Thu 6, 17:30",
            "2.0 kg cutting leaf",
            "cutting leaf: 0.75 kg in 9 of 24 rehearsals",
        ],
    ]


def test_every_task_stands_on_its_shifts_sheet(tables: list[Read]) -> None:
    """In order, with where, minutes, who may do it, what goes on, what to write down; like work put together."""
    morning, afternoon = tables[2:4]

    assert morning.heads == ["done", "in this order", "where", "min", "people", "minutes", "write down"]
    assert morning.rows == [
        ["", "1. Check and fill 1 reservoir; write down the strength and pH (with the lead)", "reservoir", "10", "", "",
         "strength (EC) before ____ after ____ mS/cm pH ____"],
        ["", "2. Harvest 30 plants of small head, sown 27 Jan: about 3.3 kg", "rack and other rack", "25", "", "",
         "harvested ____ grams ______ lost ____ why ________"],
        ["", "3. Transplant 44 plants of cutting leaf, sown 19 Feb, into 2 trays (leaf) (goes on in the next shift)",
         "rack → other rack", "13", "", "", "transplanted ____ lost ____ why ________"],
    ]  # fmt: skip
    assert afternoon.rows == [
        ["", "1. Wash 5 trays and their shelves; then those slots are free (carried on)", "", "21", "", "",
         "trays ____"],
    ]  # fmt: skip


def test_supplies_have_amount_and_price(tables: list[Read], out: Path) -> None:
    """On paper and as a file."""
    assert tables[4].rows == [
        ["seed of small head", "480 seeds", "USD 9.60", ""],
        ["fertilizer", "0.40 kg", "USD 3.20", ""],
        ["water", "120 L", "USD 0.36", ""],
    ]
    with (out / "supplies.csv").open(encoding="utf-8") as file:
        assert [[*row.values()][:3] for row in csv.DictReader(file)] == [
            ["seed of small head", "480", "seeds"], ["fertilizer", "0.4", "kg"], ["water", "120.0", "L"],
        ]  # fmt: skip


def test_every_sheet_has_the_cautions_of_its_tasks(out: Path) -> None:
    """Word for word, before the tasks, and no others; in full they stand on the last page, for all shifts."""
    page = (out / "report.html").read_text(encoding="utf-8")
    sheets = page.split("<h2>")[1:4]

    for (name, due), sheet in zip(DUE.items(), sheets, strict=True):
        assert sheet.startswith(name)
        listed = sheet.partition('aria-label="Caution">')[2].partition("</ul>")[0]
        assert [item.partition("</li>")[0] for item in listed.split("<li>")[1:]] == due
        assert not due or sheet.index(due[0]) < sheet.index("in this order")
    full = page.partition("What can hurt, in full.")[2].partition("</ul>")[0].split("<li>")[1:]
    assert [item.partition(". ")[0] for item in full[:-1]] == [
        "Alone", "Electricity beside water", "Sanitizer", "Nutrient salts, acids and bases", "Lifting", "Glare",
        "Food safety",
    ]  # fmt: skip
    assert full[-1].startswith("Follow the local code and ask a licensed professional.")


def test_a_newcomer_hears_who_comes_what_is_harvested_and_who_collects(out: Path) -> None:
    """Figures of the briefing."""
    morning, afternoon, idle = (out / "report.html").read_text(encoding="utf-8").split('class="brief">')[1:4]

    for said in (
        "2 volunteers of 3 signed up",
        "and the lead",
        "0.8 person-hours",
        "3.3 kg of greens are harvested",
        "kitchen collects at 15:00: 3.0 kg small head and 0.50 kg of any",
        "1 task will not be finished",
    ):
        assert said in morning.partition("</p>")[0]
    told = afternoon.partition("</p>")[0]
    for said in ("4 volunteers of 5", "without a lead", "0.3 person-hours", "pantry collects at 17:30"):
        assert said in told
    assert "Likely short" not in told  # 9 of 24 is not likely
    assert "harvested" not in told and "will not be finished" not in told
    assert "No volunteer is signed up, the lead works alone" in idle.partition("</p>")[0]


def test_the_calendar_has_each_shift_as_long_as_it_is(out: Path) -> None:
    """Begin, end, who is expected, tasks and cautions; pick-ups take half an hour."""
    events = [
        part for part in icalendar.Calendar.from_ical((out / "week.ics").read_bytes()).walk() if part.name == "VEVENT"
    ]
    assert [(str(event["summary"]), event["dtstart"].dt, event["dtend"].dt) for event in events] == [
        ("morning: 2 volunteers expected", dt.datetime(2031, 3, 3, 9, 30), dt.datetime(2031, 3, 3, 11, 30)),
        ("long afternoon: 4 volunteers expected", dt.datetime(2031, 3, 6, 13), dt.datetime(2031, 3, 6, 17, 15)),
        ("idle: the lead alone", dt.datetime(2031, 3, 6, 18), dt.datetime(2031, 3, 6, 19)),
        ("kitchen collects", dt.datetime(2031, 3, 3, 15), dt.datetime(2031, 3, 3, 15, 30)),
        ("pantry collects", dt.datetime(2031, 3, 6, 17, 30), dt.datetime(2031, 3, 6, 18)),
    ]
    for event, due in zip(events, DUE.values(), strict=False):
        told = str(event["description"]).splitlines()
        assert told[len(told) - len(due) :] == due
    assert "- Harvest 30 plants of small head, sown 27 Jan: about 3.3 kg (rack and other rack)" in str(
        events[0]["description"]
    )
    assert str(events[3]["description"]) == "3.0 kg small head\n0.50 kg any"


def test_an_order_that_hangs_on_ripe_plants_tells_one_story_with_its_harvest(week: WeekPlan) -> None:
    """30 plants are on Monday's sheet; of 20 rehearsals in which the order is short, none is ripe in 18."""
    short = Shortfall(MONDAY, "kitchen", "small head", 3.0, 2.9, 20, 24, unripe=18)
    hangs = replace(week, pick_ups=(replace(week.pick_ups[0], at_risk=(short,)), week.pick_ups[1]))
    told = week_words.briefing(hangs.sheets[0], hangs.scenario, hangs.pick_ups)
    made = week_words.front(hangs)

    assert made.why == (
        "Small head may not be ripe on Monday 3 March: 30 plants are on the sheet, in 18 of 24 rehearsals none is."
    )
    assert made.advice == ("Look at the small head before Monday 3 March; if it is not ripe, ring kitchen.",)
    assert "If the small head is not ripe, 2.9 kg is missing: ring them." in told
    assert "Likely short" not in told
    ripe = replace(hangs, pick_ups=(replace(week.pick_ups[0], at_risk=(replace(short, unripe=9),)), week.pick_ups[1]))
    assert week_words.hinges(ripe) == week_words.hinges(week) == ("", "")


def test_what_is_short_and_the_range_stand_in_the_answer(out: Path, week: WeekPlan) -> None:
    """What is short leads, then hours as the table sums them (0.8 + 0.3); the summary keeps each figure."""
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    head = summary["answer"][0]

    assert head == (
        "Pantry may lack 0.75 kg of 2.0 kg of cutting leaf on Thursday 6 March. The week of Monday 3 March has 3 "
        "shifts with 1.1 hours of work and gives 3.9 kg of packed greens (2.6 to 5.3)."
    )
    assert "by chance 5.1 to 8.2 fall due" in summary["answer"][-1]
    assert [(each["signed_up"], each["expected"], each["minutes_of_work"]) for each in summary["shifts"]] == [
        (3, 2, 48), (5, 4, 21), (0, 0, 0),
    ]  # fmt: skip
    for name, given in week.spreads.items():
        told = summary["measures"][name]
        assert [told[key] for key in ("mean", "mean_low", "mean_high", "p10", "p90", "n")] == [
            given.mean, given.mean_low, given.mean_high, given.p10, given.p90, 24,
        ]  # fmt: skip
