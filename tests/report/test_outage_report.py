"""The report of an outage study: its files, its pages, its sentences."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import figure_boxes
import pytest
from one_system import foreign
from outage_rooms import PLAN, frail, tiny
from plain_words import of_answer

from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.outage import lead, words
from growsim.report.outage.answer import FIRST_PAGES, WALL_PAGE, write_outages
from growsim.report.outage.event import front, headline, table, why, write_event
from growsim.report.outage.figures import wall
from growsim.report.outage.reservoirs import by_hand
from growsim.report.outage.sheets import sheet_of, sheets
from growsim.report.outage.tables import lost_cell
from growsim.report.outage.to_do import TO_DO
from growsim.report.outage.wall import Urgency, WallRow, by_urgency, wall_rows
from growsim.report.provenance import Provenance
from growsim.report.words import mass_cell
from growsim.run.intervals import Estimate
from growsim.run.prepare import prepare
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.load import load_scenario
from growsim.scenario.machines import undisturbed
from growsim.scenario.plan import RunPlan
from growsim.study.outage.clock import Hours, wet_plug_hours
from growsim.study.outage.event import Effect, OutageEvent, study_event
from growsim.study.outage.protections import Protected
from growsim.study.outage.question import Outages, study_outages
from growsim.study.outage.trials import Trials
from growsim.study.outage.year import MachineRisk, PairWorth, ProtectionWorth, Worth
from growsim.study.pay_back import Range
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, CO2, LEAK, PUMP, TIMER, tried_with

GARAGE = Path(__file__).parents[1] / "cases" / "garage.toml"
PROVENANCE = Provenance("outage", "growsim outage tiny --seed 3", "0" * 64)
SMALL = Trials(hours=(1.0, 8.0, 30.0), start_hours=(0.0, 18.0), plant_replications=2, kg_replications=2)


@pytest.fixture(scope="module")
def studied() -> Outages:
    """The frail room, studied in little."""
    room = frail().model_copy(update={"about": "<b>invented</b> & small"})
    return study_outages(room, seed=3, replications=3, plan=PLAN, trials=SMALL)


@pytest.fixture(scope="module")
def event() -> OutageEvent:
    """A failed pump in the tiny room."""
    given = PlannedOutage(name="given", machine="pump", where="reservoir", start_day=21, start_hour=20, hours=24)
    return study_event(undisturbed(tiny()), given, seed=3, replications=5, plan=RunPlan(70, 56))


@pytest.fixture(scope="module")
def written(studied: Outages, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its report, written once."""
    out = tmp_path_factory.mktemp("outage") / "out"
    write_outages(studied, out, provenance=PROVENANCE)
    return out


def a_worth(kg: Range, net: Range | None, *, cost: float | None = 10.0, plants: float = 5.0) -> ProtectionWorth:
    """A made-up protection."""
    made = Protected("spare pump", True, lambda room: room, frozenset({"pump"}), cost_per_year=cost)
    return ProtectionWorth(made, Worth(kg, Range(plants, None, None), Range(kg.mean * 4, 0.0, kg.mean * 8), 3, 9), net)


def test_everything_is_written(studied: Outages, written: Path) -> None:
    """Report, pages to print, tables, figures as SVG and PNG, and a summary with what every command states."""
    summary = json.loads((written / "summary.json").read_text(encoding="utf-8"))
    found = {path.relative_to(written).as_posix() for path in written.rglob("*") if path.is_file()}

    figures = ("wall", "kilograms-by-hours", "risks", "protections")
    assert found == {
        ".growsim.json", "answer.csv",
        "report.html", WALL_PAGE, FIRST_PAGES, "summary.json", "machines.csv", "protections.csv", "single_outages.csv",
        "time_left.csv", "measures.csv", "weeks.csv",
        *(f"figures/{name}{end}" for name in figures for end in figure_boxes.FILES),
    }  # fmt: skip
    assert summary.keys() >= {
        "growsim", "command", "room", "room_sha256", "seed", "replications", "days", "warm_up_days", "repeat_with",
        "answer", "measures", "machines", "protections", "pairs", "time_left",
    }  # fmt: skip
    with (written / "protections.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(studied.year.protections) + len(studied.year.pairs)


def test_the_same_study_gives_the_same_bytes(studied: Outages, written: Path, tmp_path: Path) -> None:
    """No date, no name of a computer, no chance in a report."""
    write_outages(studied, tmp_path / "again", provenance=PROVENANCE)
    one, two = (
        {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        for folder in (written, tmp_path / "again")
    )

    assert one == two


@pytest.mark.parametrize("page", ["report.html", WALL_PAGE, FIRST_PAGES])
def test_pages_stand_alone(written: Path, page: str) -> None:
    """Nothing is fetched, no script runs, what a user wrote is escaped, invented data is called so."""
    text = (written / page).read_text(encoding="utf-8")

    assert "default-src 'none'" in text
    assert foreign(text) == []
    assert not re.search(r'(src|href)="(?!#)', text)
    assert "<script" not in text and "<b>invented</b>" not in text
    assert "Invented" in text or "invented" in text
    assert "guarded against earth faults" in text and "local code" in text


def test_the_chart_for_the_wall_is_there_for_a_phone_too(written: Path) -> None:
    """Shrunk to 390 px its letters would be 5 px high: the style sheet shows one of the two."""
    text = (written / WALL_PAGE).read_text(encoding="utf-8")
    assert re.findall(r'<div class="(\w+)"><svg', text) == ["wide", "narrow"]
    assert "@media screen and (max-width: 30rem) { .wide { display: none; } .narrow { display: block; } }" in text


def test_the_wall_never_falls_along_a_row(studied: Outages) -> None:
    """Repaired later is never better on the wall; heads are the first to die; failed lights kill nobody."""
    rows = wall_rows(studied)

    for row in rows:
        known = [share for share in row.shares if share is not None]
        assert known == sorted(known)
    pump = rows[: len(studied.by_hours.strikes[0].stages)]
    assert pump[0].head == "PUMP FAILED, TIMER FAILED, RESERVOIR LEAKING"
    assert max(pump, key=lambda row: row.shares[-1] or 0.0).name == "head"
    assert (rows[-1].head, set(rows[-1].shares), rows[-1].first_die) == ("LIGHTS OUT", {0.0}, "7 days +")


def test_machines_come_in_the_order_of_time_left(studied: Outages) -> None:
    """The pump before the power outage (the dark saves water), the heat pump, then what kills nobody."""
    order = [each.machine for each in by_urgency(studied)]

    assert order[0] in ("pump", "power") and order[-1] in ("lights", "heat pump")
    hours = [float("inf") if each.first_die is None else each.first_die for each in by_urgency(studied)]
    assert hours == sorted(hours)


def test_a_sheet_for_each_machine_with_the_room_s_own_numbers(studied: Outages) -> None:
    """What is on the shelf, how long a part takes, how often to water by hand, and the cautions."""
    made = {sheet.title: sheet for sheet in sheets(studied)}
    pump, timer = made["Pump failed"], made["Timer failed: no flood comes"]

    assert len(made) == 6
    assert "A spare pump is on the shelf" in " ".join(pump.steps)
    assert "There is no spare timer on the shelf: order it now, it takes 3 days" in " ".join(timer.steps)
    assert "3 minutes, then again every 4 hours" in " ".join(timer.steps)
    assert "head, leaf then seedling in this order" in " ".join(pump.steps)
    assert pump.time_left == (
        "1 plant in 20 is dead after 6 hours, at worst. Repaired only after 1 day, half of the plants in head "
        "are dead, or "
        "more."
    )
    assert "The battery runs pumps and timers for 2 hours" in " ".join(made["Power outage"].facts)
    assert any(
        "The thermostat turns the lights off by itself above 33 °C" in fact
        for fact in made["Heat pump failed: loss of cooling"].facts
    )
    assert all(any("Electricity beside water" in caution for caution in sheet.cautions) for sheet in made.values())


def test_chart_and_sheets_agree(studied: Outages) -> None:
    """Machine by machine, as one reads both: the hours until the first die are the fewest of the chart's rows; half
    of a row's plants are lost in the column that the sheet names, and of no row in the column before it."""
    chart: dict[str, list[WallRow]] = {}
    for row in wall_rows(studied):
        chart.setdefault(row.head or list(chart)[-1], []).append(row)
    columns = [words.repaired_after(hours) for hours in studied.by_hours.trials.hours]
    seen = set()
    for urgent in reversed(by_urgency(studied)):  # a machine's worst month comes last
        month = MONTHS[urgent.month].upper() if urgent.by_month else ""
        for kind in tried_with(BY_KEY[urgent.machine]):
            (rows,) = (rows for head, rows in chart.items() if {kind.head.upper(), month} <= {*head.split(", "), ""})
            told = sheet_of(kind, studied, urgent).time_left
            first = re.search(r"1 plant in 20 is dead (?:after )?(.+?), at worst", told)
            half = re.search(r"Repaired only after (.+?), half of (?:the plants in )?(.+?) are dead", told)
            texts = [row.first_die for row in rows if row.first_die != "7 days +"]
            assert (first is None) == (not texts)
            if first:
                assert re.sub("hours?", "h", first[1]) == min(texts, key=hours_of)
            column = columns.index(half[1]) if half else len(columns)
            if half:
                assert next(row.shares[column] or 0.0 for row in rows if row.name == half[2]) >= 0.5
            assert all((row.shares[column - 1] or 0.0) < 0.5 for row in rows if column)
            seen.add((kind.key, half is not None))
    assert {("pump", True), ("lights", False)} <= seen and len(seen) >= 6


def test_a_row_of_the_chart_agrees_with_itself(studied: Outages) -> None:
    """Plants that stood there lived, the clock's worst plant would not, or the other way round: the worse is told, in
    the columns and in the hours until 1 in 20 is dead. (Hours rehearsed: 1, 8 and 30.)"""

    def rows_with(first: float, half: float) -> dict[str, WallRow]:
        """The pump's rows with this clock for every stage."""
        clock = [
            replace(line, first_die=Hours(first, None, None), half_dead=Hours(half, None, None))
            for line in studied.clock
            if line.machine == "pump"
        ]
        others = [line for line in studied.clock if line.machine != "pump"]
        return {row.name: row for row in reversed(wall_rows(replace(studied, clock=(*clock, *others))))}

    early, halved, late = rows_with(6, 40), rows_with(6, 8), rows_with(40, 50)

    assert (early["leaf"].shares, early["leaf"].first_die) == ((0.0, 0.05, 0.05), "6 h")
    assert (halved["leaf"].shares, halved["leaf"].first_die) == ((0.0, 0.5, 0.5), "6 h")
    assert (late["leaf"].shares, late["leaf"].first_die) == ((0.0, 0.0, 0.0), "1.5 days")
    assert late["head"].first_die == "8 h"  # as those that stood there died: 10 of 100 in 8 hours
    assert late["head"].shares[1] == pytest.approx(0.102, abs=5e-4)


def hours_of(text: str) -> float:
    """ "6 h", "1.5 days", "half an h", "at once"."""
    amount = {"at once": 0.0, "half an h": 0.5}.get(text)
    return float(text.split(maxsplit=1)[0]) * (24 if "day" in text else 1) if amount is None else amount


def garage(studied: Outages) -> Outages:
    """The garage with three reservoirs: trays of microgreens, herbs and seedlings, and a channel that always runs."""
    prepared = prepare(load_scenario(GARAGE).scenario)
    thirst = wet_plug_hours(prepared.scenario, prepared.curves)
    return replace(studied, scenario=prepared.scenario, wet_plug_hours=thirst)


def test_each_reservoir_is_watered_as_its_own_plants_want(studied: Outages) -> None:
    """By hand at the minutes and hours of its own timer; what always runs has none; filled with its own solution."""
    timer, pump, leak = (" ".join(TO_DO[kind.key](garage(studied)).steps) for kind in (TIMER, PUMP, LEAK))

    assert (
        "Flood by hand now, by day and by night: micro reservoir (blackout and under lights): switch the pump on for 3 "
        "minutes, then again every 12 hours; rack reservoir (seedling and pots): switch the pump on for 5 "
        "minutes, then "
        "again every 6 hours. Write on the door who does it next."
    ) in timer
    assert "table reservoir" not in timer.split("Flood by hand")[1].split("Write on")[0]
    thirst = garage(studied).wet_plug_hours
    for name in ("micro reservoir", "rack reservoir", "table reservoir"):
        hours = int(min(thirst[name].values())) - 1
        assert re.search(rf"{name} \([a-z ,]+\) every {f'{hours} hours' if hours >= 2 else '(half )?hour'}", pump)
    assert (
        "Back in its place fill it: micro reservoir (blackout and under lights): 60 L at 1.6 mS/cm; rack "
        "reservoir (seedling and pots): 200 L at 1.6 mS/cm; table reservoir (channel): 250 L at 1.6 mS/cm."
    ) in leak


def test_a_part_is_told_place_by_place_where_it_differs(studied: Outages) -> None:
    """Two pumps of three have figures."""
    steps = " ".join(TO_DO[PUMP.key](garage(studied)).steps)

    assert "Micro reservoir: Is there a spare pump on the shelf?" in steps
    assert "Rack reservoir and table reservoir: There is no spare pump on the shelf" in steps


CAUTIONS = {
    "Pump failed": (
        "Unplug it with dry hands before a hand goes into the reservoir. If plug, outlet or floor is wet, "
        "touch none of "
        "them: switch it off at the breaker.",
        "Never lift or drag a filled reservoir: drain it first.",
    ),
    "Timer failed: no flood comes": ("If it trips again, leave it off and call a licensed electrician.",),
    "Reservoir leaking": (
        "Power off first: stand on dry floor, and switch off what hangs over or stands in the water. If you "
        "cannot reach "
        "the switch with dry feet, switch the room off at the panel. Touch no wet plug, cord or outlet.",
        "Repair or replace the reservoir while it is empty: never lift or shift a filled one.",
        "acid into water, never water into acid",
    ),
    "Power outage": (
        "No generator, heater or stove in the room: fumes kill. A generator runs outdoors, and is connected by an "
        "electrician only.",
    ),
    "Heat pump failed: loss of cooling": (
        "Read the thermometer. Above 22 °C and rising: turn all lights off, they are what heats the "
        "room. A day "
        "without light costs a day; heat costs the plants. Below 5 °C: turn them on, or leave them "
        "on; without "
        "them the room only grows colder.",
        "Drink, take breaks and leave when dizzy.",
    ),
    "Lights out": (
        "Only a fixture with a plug is for volunteers. Switch it off, let it cool, unplug it with dry hands. Change it "
        "whole, two people holding it. Open none; drivers and whatever is wired are for a licensed electrician.",
        "Do not look into grow lights; wear shaded glasses when working under them",
    ),
}


def test_every_sheet_says_its_cautions_in_full(studied: Outages) -> None:
    """Each by its words, on the sheet that needs it; none tells to fit a driver or to lift a tub together."""
    made = {sheet.title: " ".join((*sheet.facts, *sheet.steps, *sheet.cautions)) for sheet in sheets(studied)}

    assert set(made) == set(CAUTIONS)
    for title, cautions in CAUTIONS.items():
        for caution in cautions:
            assert caution in made[title], title
    everything = " ".join(made.values())
    assert "spare driver" not in everything and "Two people for a reservoir" not in everything
    assert "on the label" not in everything


def test_co2_is_told_where_it_is_fed(studied: Outages) -> None:
    """Ventilate first, a monitor, never in on an alarm."""
    sheet = sheet_of(CO2, studied, Urgency("co2", 6, "", None, None, None, by_month=False))

    assert (sheet.title, sheet.time_left) == (
        "CO2 supply failed, or its alarm rings", "No plant dies within a week. People can die of it.",
    )  # fmt: skip
    assert "out, everybody" in sheet.steps[0]
    assert any("monitor" in caution for caution in sheet.cautions)


@pytest.mark.parametrize(
    ("kg", "net", "cost", "said"),
    [
        (Range(5.0, 1.0, 9.0), Range(20.0, 3.0, 37.0), 10.0, "worth it"),
        (Range(5.0, 1.0, 9.0), Range(20.0, -3.0, 43.0), 10.0, "may be worth it"),
        (Range(5.0, 1.0, 9.0), None, None, "worth it"),
        (Range(5.0, -1.0, 11.0), Range(20.0, -3.0, 43.0), 10.0, "may be worth it"),
        (Range(1.0, -1.0, 3.0), Range(-20.0, -30.0, -10.0), 40.0, "not worth its price"),
        (Range(-1.0, -3.0, 1.0), Range(-5.0, -30.0, 20.0), 10.0, "cannot be told"),
    ],
)
def test_verdicts(kg: Range, net: Range | None, cost: float | None, said: str) -> None:
    """Worth it only where both ranges lie above zero; not worth its price only where what is left lies below it."""
    assert words.verdict(a_worth(kg, net, cost=cost)) == said


def test_what_never_happened_is_not_judged() -> None:
    """A protection that no year called on is neither good nor bad."""
    nothing = Range(0.0, 0.0, 0.0)
    made = a_worth(nothing, Range(-10.0, -10.0, -10.0), plants=0.0)
    made = replace(made, worth=replace(made.worth, plants=nothing, money=nothing))

    assert words.verdict(made) == "never called on"


def bought(studied: Outages, *each: ProtectionWorth, pairs: tuple[PairWorth, ...] = ()) -> str:
    """What is said to be worth having, of these protections."""
    return lead.worth_having(replace(studied, year=replace(studied.year, protections=each, pairs=pairs)))


def test_the_advice_names_what_to_buy(studied: Outages) -> None:
    """The best by what it leaves; no price: what it may cost; what may be chance is not called likely; nothing: that.

    To the best that is added alone which, tried with it, leaves more than the best by itself.
    """
    good = a_worth(Range(5.0, 1.0, 9.0), Range(20.0, 3.0, 37.0))
    free = a_worth(Range(5.0, 1.0, 9.0), Range(30.0, 13.0, 47.0), cost=0.0)
    unpriced = a_worth(Range(5.0, 1.0, 9.0), None, cost=None)
    likely = a_worth(Range(5.0, -1.0, 9.0), Range(20.0, -3.0, 43.0))
    poor = a_worth(Range(1.0, -1.0, 3.0), Range(-20.0, -30.0, -10.0))
    part = replace(free, protection=replace(free.protection, name="spare for the heat pump"))
    more = PairWorth(part.protection, good.protection, good.worth, Range(45.0, 5.0, 85.0), 10.0)
    less = replace(more, net=Range(25.0, 5.0, 45.0))
    unsure = replace(more, net=Range(45.0, -5.0, 95.0))
    nothing = "Nothing more can be shown to be worth buying in 3 rehearsals of 84 days."

    keeps = "a spare pump for every reservoir. It keeps 5.0 kg of greens a year (1.0 to 9.0), and"
    assert bought(studied, good, poor) == f"Worth buying: {keeps} leaves USD 20 (3 to 37) once paid."
    assert bought(studied, free, likely) == f"Worth doing, at no price: {keeps} leaves USD 30 (13 to 47)."
    assert bought(studied, unpriced) == f"Worth buying: {keeps} may cost up to USD 20 (0 to 40)."
    assert bought(studied, likely, likely) == (
        f"{nothing} The likeliest is {keeps} leaves USD 20 (-3 to 43) once paid.".replace("(1.0 to", "(-1.0 to")
    )
    alone = bought(studied, part, good)
    assert bought(studied, part, good, pairs=(less,)) == bought(studied, part, good, pairs=(unsure,)) == alone
    assert alone.endswith("and leave USD 30 (13 to 47).")
    assert bought(studied, part, good, pairs=(more,)) == (
        f"{alone} Add a spare pump for every reservoir: together they leave USD 45 (5 to 85)."
    )
    assert bought(studied, part).startswith("Worth doing, at no price: spare parts for the heat pump. They keep 5.0 kg")
    assert bought(studied, poor) == nothing
    assert bought(studied) == ""


def test_what_is_there_is_kept_where_it_keeps_greens(studied: Outages) -> None:
    """Against the same years without it; of chance nothing is said."""
    good = a_worth(Range(5.0, 1.0, 9.0), None)
    there = replace(good, protection=replace(good.protection, is_added=False))
    chance = replace(there, worth=replace(there.worth, kg=Range(5.0, -1.0, 11.0)))

    def said(each: ProtectionWorth) -> str:
        return lead.worth_keeping(replace(studied, year=replace(studied.year, protections=(each,))))

    assert said(there) == (
        "Keep the spare pump for every reservoir: without it 5.0 kg of greens a year (1.0 to 9.0) more would be lost."
    )
    assert said(chance) == said(good) == ""


def made_up(studied: Outages, kg: Range, *protections: ProtectionWorth, years_with: int = 12) -> Outages:
    """A year in which pumps alone fail."""
    worth = Worth(kg, Range(9.0, None, None), Range(20.0, 2.0, 38.0), 8, 20)
    risk = MachineRisk("pump", Range(1.24, 0.8, 1.7), 20.0, years_with, worth)
    return replace(studied, year=replace(studied.year, machines=(risk,), protections=protections, pairs=()))


def test_the_headline_says_what_costs_most_and_how_soon_plants_die(studied: Outages) -> None:
    """With its range; of what chance may account for nothing, nor of a greater loss beside it; where nothing fails,
    that."""
    dies = " With a failed pump 1 plant in 20 is dead after 6 hours, at worst."

    assert lead.headline(made_up(studied, Range(7.3, 1.2, 13.4))) == (
        f"Most is lost to pumps: 7.3 kg of greens a year (1.2 to 13.4).{dies}"
    )
    unclear = made_up(studied, Range(9.3, -1.2, 19.8))
    assert lead.headline(unclear) == (
        f"In 3 rehearsals of 84 days outages cost no greens for certain; pumps at most 19.8 kg a year.{dies}"
    )
    both = (*unclear.year.machines, *made_up(studied, Range(7.3, 1.2, 13.4)).year.machines)
    assert lead.headline(replace(unclear, year=replace(unclear.year, machines=both))).startswith(
        "Most is lost to pumps: 7.3 kg"
    )
    assert lead.headline(made_up(studied, Range(-1.0, -4.0, 2.0))).startswith(
        "In 3 rehearsals of 84 days outages cost no greens for certain"
    )
    assert lead.headline(replace(studied, year=replace(studied.year, machines=()))) == (
        f"By the room file no machine ever fails and the power never goes out: nothing is lost to outages.{dies}"
    )


def test_why_is_how_often_and_how_long_it_is_down(studied: Outages) -> None:
    """Beside how long plants last; what was never repaired, or never fails, has no such why."""
    found = made_up(studied, Range(7.3, 1.2, 13.4))
    (risk,) = found.year.machines

    def lasting(hours: float | None) -> str:
        return lead.why(replace(found, year=replace(found.year, machines=(replace(risk, hours_down=hours),))))

    assert lasting(14.2) == "Pumps: 1.2 times a year, for 14 hours on average, longer than plants last at worst."
    assert lasting(5.0) == "Pumps: 1.2 times a year, for 5 hours on average."
    assert lasting(None) == ""
    assert lead.why(replace(studied, year=replace(studied.year, machines=()))) == ""
    assert lead.front(found).why == lead.why(found)


def test_the_table_has_a_line_for_each_kind_of_machine(studied: Outages) -> None:
    """How often, how long there is, what it costs, the best protection by what it leaves; what never fails too."""
    poor = a_worth(Range(1.0, -1.0, 3.0), Range(-20.0, -30.0, -10.0))
    best = a_worth(Range(5.0, 1.0, 9.0), Range(20.0, 3.0, 37.0))
    best = replace(best, protection=replace(best.protection, name="second pump"))
    other = replace(
        best, protection=replace(best.protection, touches=frozenset({"timer"})), net=Range(99.0, 90.0, 108.0)
    )
    made = lead.table(made_up(studied, Range(7.3, 1.2, 13.4), poor, best, other))
    rows = {row.label: [cell.text for cell in row.cells] for row in made.rows}

    assert [column.label for column in made.columns] == [
        "times a year", "1 plant in 20 dead after", "greens lost, kg", "best protection to add",
        "left after its price, USD",
    ]  # fmt: skip
    assert made.columns[2].of == "the room as it is, less the room in which it cannot fail"
    assert made.rows[0].label == "pumps"
    assert rows["pumps"] == ["1.2", "6 hours", "7.3 (1.2 to 13.4)", "a second pump on every reservoir", "20 (3 to 37)"]
    assert rows["lights"] == ["not in the room file", "none dies", "", "", ""]
    assert (made.rows[0].cells[2].mean, made.rows[0].cells[2].low) == (7.3, 1.2)
    unseen = lead.table(made_up(studied, Range(0.0, 0.0, 0.0), years_with=0))
    assert unseen.rows[0].cells[0].text == "not seen in 20 years"
    dear = lead.table(made_up(studied, Range(7.3, 1.2, 13.4), poor))
    assert [cell.text for cell in dear.rows[0].cells[3:]] == ["", ""]


def test_without_any_price_no_column_and_no_sentence_speaks_of_one(studied: Outages) -> None:
    """What a protection keeps can be said; what is worth buying cannot."""
    unpriced = a_worth(Range(5.0, -1.0, 11.0), None, cost=None)
    made = lead.table(made_up(studied, Range(7.3, 1.2, 13.4), unpriced))

    assert [column.label for column in made.columns][-1] == "best protection to add"
    assert made.rows[0].cells[-1].text == "a spare pump for every reservoir"
    assert "price" not in made.note
    assert bought(studied, unpriced) == "Nothing more surely keeps greens in 3 rehearsals of 84 days."


def test_how_sure_names_what_was_seen_too_seldom(studied: Outages) -> None:
    """Fewer than ten years with an outage."""
    start = "From 3 rehearsals of 84 days, the same years with and without, too few for ranges: ask for 5 or more"
    seen = made_up(studied, Range(7.3, 1.2, 13.4))

    assert lead.how_sure(seen) == f"{start}."
    assert lead.how_sure(made_up(studied, Range(7.3, 1.2, 13.4), years_with=4)) == (
        f"{start}. Ask for more years: too few had an outage of pumps."
    )


def test_the_page_is_short(studied: Outages) -> None:
    """At most so many words and numbers before the table."""
    spent = lead.front(studied).spent()
    assert spent[0] <= MOST_WORDS and spent[1] <= MOST_NUMBERS


def test_plants_that_dry_out_while_every_machine_runs_are_told_apart(studied: Outages) -> None:
    """A rehearsal counts 400 plants dried out, this study only those of outages: the rest is named."""
    found = Estimate("plants_dried_low_reservoir", 370.0, 350.0, 390.0, 300.0, 370.0, 440.0, 20, "one year")
    thirsty = replace(studied, estimates=studied.estimates | {"plants_dried_low_reservoir": found})
    none = replace(studied, estimates=studied.estimates | {"plants_dried_low_reservoir": replace(found, mean=0.4)})

    assert words.dry_without_outage(thirsty) == (
        f"370 plants in {studied.plan.days} days dry out because nobody fills their reservoir in time: that is no "
        "outage and not counted here."
    )
    assert words.dry_without_outage(none) == ""


def test_hours_are_rounded_to_the_safe_side() -> None:
    """Down, never up; in the unit a person would use."""
    told = {hours: words.hours_left(hours) for hours in (0.2, 0.8, 1.9, 5.99, 35.9, 47.9, 60.0, None)}

    assert list(told.values()) == [
        "at once", "half an hour", "1 hour", "5 hours", "35 hours", "1.5 days", "2.5 days", "more than a week",
    ]  # fmt: skip


def test_reservoirs_and_lights_that_say_what_they_are_are_not_named_twice(studied: Outages) -> None:
    """The starter room's "reservoir A" and "lights A"; a reservoir called otherwise is called a reservoir."""
    strikes = {strike.machine: replace(strike, like_it=1) for strike in studied.by_hours.strikes}
    pump, lights = strikes["pump"], strikes["lights"]

    assert words.struck(replace(pump, where="reservoir A"), False) == "pump, timer or leak of reservoir A"
    assert words.struck(replace(pump, where="north one"), False) == "pump, timer or leak of the reservoir north one"
    assert words.struck(replace(lights, where="Lights A"), False) == "Lights A"
    assert words.struck(replace(lights, where="left"), False) == "lights left"


def test_the_report_of_one_outage(event: OutageEvent, tmp_path: Path) -> None:
    """Sentence first, with ranges; week by week as a table; what the summary says is what the sentence says."""
    summary: dict[str, Any] = write_event(event, tmp_path / "out", provenance=PROVENANCE)
    text = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")

    assert summary["answer"] == [sentence for _, sentence in front(event).said()]
    assert summary["measures_of"] == "the room with the outage"
    assert foreign(text) == []
    killed = summary["event"]["plants_killed"]
    assert summary["answer"][0].startswith(
        "A failed pump (reservoir) from Monday 27 January 2031, 20:00, for 24 hours, kills "
        f"{killed['mean']:.0f} plants ({killed['mean_low']:.0f} to {killed['mean_high']:.0f}). "
    )
    assert "6 floods do not come; " in summary["answer"][1]
    assert summary["event"]["kg_lost"]["mean_low"] <= summary["event"]["kg_lost"]["mean"]
    assert "guarded against earth faults" in text and summary["answer"][1] in text
    with (tmp_path / "out" / "weeks.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert {row["measure"] for row in rows} == {"plants_lost", "kg_missing", "kg_missing_so_far"}
    assert len(rows) == 3 * 10
    assert (tmp_path / "out" / "figures" / "event.png").exists()
    spent = front(event).spent()
    assert spent[0] <= MOST_WORDS and spent[1] <= MOST_NUMBERS
    assert of_answer(tmp_path / "out") == []


def an_effect(low: float, mean: float, high: float) -> Effect:
    """A made-up effect; a single case brings half as much to twice as much."""
    return Effect(Range(mean, low, high), mean / 2, mean, mean * 2)


def test_what_may_be_chance_is_not_said_to_be_so(event: OutageEvent) -> None:
    """Half a plant, between four fewer and five more, is chance; and lights are more than one."""
    outage = event.outage.model_copy(update={"machine": "lights", "where": ""})
    chance = replace(event, killed=an_effect(-4.0, 0.6, 5.0), kg_lost=an_effect(-1.0, 2.0, 5.0), outage=outage)
    none = replace(chance, killed=an_effect(0.0, 0.0, 0.0), kg_lost=an_effect(0.0, 0.0, 0.0))
    lost = replace(chance, kg_lost=an_effect(1.0, 2.0, 3.0))

    start = "Failed lights from Monday 27 January 2031, 20:00, for 24 hours, kill no plant"
    fewer = replace(chance, kg_lost=an_effect(-3.0, -2.0, -1.0))
    assert headline(chance) == f"{start} for certain. Whether greens are lost for good is not certain: at most 5.0 kg."
    assert headline(fewer).endswith("for certain. No greens are lost for good.")
    assert headline(none) == f"{start}. Not a gram of greens is lost or late."
    assert headline(lost).endswith("2.0 kg of greens are lost for good (1.0 to 3.0 kg).")
    assert why(chance) == ""


def test_the_table_of_one_outage(event: OutageEvent) -> None:
    """Orders first; on average with the range, and what a single case may bring; money saved is below zero."""
    told = replace(
        event,
        killed=an_effect(9.0, 12.0, 15.0),
        lost_otherwise=an_effect(-1.0, 0.0, 1.0),
        kg_lost=an_effect(1.0, 2.0, 3.0),
        kg_short=an_effect(0.5, 1.0, 1.5),
        money=an_effect(-12.0, -10.0, -7.0),
    )
    made = table(told)

    assert [(row.label, [cell.text for cell in row.cells]) for row in made.rows] == [
        ("orders go short of, kg", ["1.0 (0.5 to 1.5)", "0.5 to 2.0"]),
        ("greens lost for good, kg", ["2.0 (1.0 to 3.0)", "1.0 to 4.0"]),
        ("plants killed", ["12 (9 to 15)", "6 to 24"]),
        ("plants lost otherwise", ["0 (-1 to 1)", "0"]),
        ("cost, USD", ["-10 (-12 to -7)", "-5 to -20"]),
    ]
    assert {column.of for column in made.columns} == {"the room with the outage, less the same years without it"}


def test_the_wall_uses_the_width_of_its_sheet_and_says_to_flood_once_repaired(studied: Outages) -> None:
    """A long line of text takes no width from the numbers, which are read from across the room."""
    figure = wall(wall_rows(studied), studied.by_hours.trials.hours)
    figure.canvas.draw()
    (axes,) = figure.axes

    assert axes.get_position().width > 0.9
    assert any("flood by hand at once" in text.get_text() for text in axes.texts)


@pytest.mark.parametrize(("lasts", "often"), [(1.9, "half hour"), (2.9, "hour"), (3.2, "2 hours"), (14.9, "13 hours")])
def test_water_is_poured_before_the_plug_is_dry(studied: Outages, lasts: float, often: str) -> None:
    """Not at the hour at which the first plants die."""
    told = by_hand(replace(studied, wet_plug_hours={"one": {"leaf": lasts}, "other": {"leaf": 40.0}}))
    assert f"one (leaf) every {often}; other (leaf) every 39 hours" in told


def test_a_loss_that_may_be_none_is_not_told_as_a_gain() -> None:
    """Below zero is chance; the numbers behind the words are kept."""
    cell = lost_cell(Range(-1.1, -6.0, 3.7), mass_cell, "kg/year")
    assert (cell.text, cell.mean, cell.low) == ("none clear (up to 3.7)", -1.1, -6.0)
    assert lost_cell(Range(10.6, 6.7, 27.9), mass_cell, "kg/year").text == "10.6 (6.7 to 27.9)"


def test_every_sentence_is_plain(written: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(written) == []
