"""Tables and pictures of a made-up rehearsal, cell by cell and line by line.

Three years of eight weeks, the second twice and the third six times the first: middle (2), average (3), paper (10),
lowest and highest tenth (1.2 and 5.2) are then all different. February brings twice January.
"""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType
from typing import Any

import outage_rooms
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from growsim.ledger.outcome import Outage, Outcome
from growsim.report import rehearsed as of_weeks
from growsim.report import summaries, tables
from growsim.report.rehearse import figures
from growsim.report.rehearse import tables as own
from growsim.report.tables import Table
from growsim.report.words import of_the_room
from growsim.run.intervals import Estimate

TIMES = (1, 2, 6)
HOUR = 60


def weeks(base: float, feb: float = 2.0) -> list[float]:
    """Four weeks of January, four of February."""
    return [base] * 4 + [base * feb] * 4


def a_year(number: int, times: float, outages: tuple[Outage, ...] = ()) -> Outcome:
    """One of the three."""
    given = {
        "kg_packed": 1.0, "kg_packed:cutting leaf": 0.25, "kg_packed:small head": 0.75, "kg_handed_out": 0.8,
        "kg_to_partners": 0.25, "kg_to:trial pantry": 0.25, "plants_harvested:cutting leaf": 10.0,
        "plants_harvested:small head": 7.5, "crew_hours_needed": 4.0, "crew_hours_present": 3.0,
        "crew_hours_worked": 2.0, "tasks_done": 10.0, "crew_hours_worked:sow": 0.5, "crew_hours_worked:harvest": 1.5,
        "lost:dried_out": 1.0, "lost:heat": 0.5, "slots:rack:seedling": 0.5, "slots:rack:leaf": 1.0,
        "slots:rack:head": 0.25,
    }  # fmt: skip
    series = {name: tuple(each * times for each in weeks(base)) for name, base in given.items()}
    still = {"kg_ordered": 2.0, "kg_ordered:trial pantry": 2.0, "came:Monday": 1.5, "signed_up:Monday": 2.0,
             "came:Thursday": 0.5, "signed_up:Thursday": 3.0}  # fmt: skip
    series |= {name: tuple(weeks(base, 1.0)) for name, base in still.items()}
    series |= {name: tuple(times * each for each in weeks(2.0, 1.0)) for name in ("tasks_late", "late:sow")}
    fates = {
        ("cutting leaf", "harvested"): 60, ("cutting leaf", "not_emerged"): 30, ("cutting leaf", "thinned"): 90,
        ("cutting leaf", "dried_out"): 20, ("small head", "harvested"): 70, ("small head", "heat"): 10,
        ("small head", "growing_at_end"): 20,
    }  # fmt: skip
    accounts = {"money:seed": 8.0, "money:repairs": 16.0, "kwh:lights": 80.0, "kwh:pumps": 4.0,
                "liters:washing": 24.0}  # fmt: skip
    return Outcome(
        number, {}, series, {key: int(count * times) for key, count in fates.items()},
        {name: amount * times for name, amount in accounts.items()}, outages,
    )  # fmt: skip


@pytest.fixture(scope="module")
def room(made_up: ModuleType) -> Any:
    """The tiny room."""
    return made_up.tiny_room()


@pytest.fixture(scope="module")
def years() -> tuple[Outcome, ...]:
    """With a pump that fails twice, once not repaired, and lights that fail once; a fault of the warm-up counts not."""
    first = (
        Outage("pump", "reservoir", -500, -400, -300),
        Outage("pump", "reservoir", 2 * 10080, 2 * 10080 + HOUR, 2 * 10080 + 3 * HOUR),
        Outage("lights", "lights", 10080, 10080 + 4 * HOUR, 10080 + 72 * HOUR),
        Outage("lights", "lights", 50_000, 50_000 + 2 * HOUR, 50_000 + 24 * HOUR),
    )
    return (
        a_year(0, 1, first),
        a_year(1, 2, (Outage("pump", "reservoir", 8000, None, None),)),
        a_year(2, 6),
    )


PAPER = Outcome(-1, {"kg_packed_per_week": 15.0, "kwh_per_kg": 7.25}, {"kg_packed": tuple(weeks(10.0))}, {}, {})


def rows(table: Table) -> list[tuple[str, ...]]:
    """Its rows, each as long as its head."""
    assert {len(row) for row in table.rows} == {len(table.head)}
    return list(table.rows)


def test_month_by_month(years: tuple[Outcome, ...], room: Any) -> None:
    """A week counts for the month its fourth day falls in: four weeks from 6 January, four from 3 February."""
    table = tables.monthly(years, room)

    assert table.head == (
        "month", "kg packed", "kg handed out", "orders filled", "hours of work due",
        "hours present, with the lead", "tasks late",
        "plants lost",
    )  # fmt: skip
    assert rows(table) == [
        ("Jan 2031", "3.0", "2.4", "38%", "12.0", "9.0", "20%", "4.5"),
        ("Feb 2031", "6.0", "4.8", "75%", "24.0", "18.0", "10%", "9.0"),
    ]


def test_weights_weigh_kilograms_only(years: tuple[Outcome, ...], room: Any) -> None:
    """Known luck is taken out of what is weighed; hours and losses are plain averages."""
    assert rows(tables.monthly(years, room, (0.5, 0.5, 0.0)))[0] == (
        "Jan 2031", "1.5", "1.2", "19%", "12.0", "9.0", "20%", "4.5",
    )  # fmt: skip


def test_partners(years: tuple[Outcome, ...], room: Any) -> None:
    """Short: all eight weeks of the first two years, January of the third."""
    table = tables.partners(years, room)

    assert table.head == ("partner", "kg ordered", "kg received", "share filled", "weeks short")
    assert rows(table) == [("trial pantry", "2.0", "1.1", "56%", "6.7 of 8")]
    assert rows(tables.partners(years, room, (0, 0, 1)))[0][1:4] == ("2.0", "2.2", "112%")


def test_crops(years: tuple[Outcome, ...], room: Any) -> None:
    """200 and 100 seeds thrice on average; 12.5 and 100 g a plant... of what was packed and harvested."""
    table = tables.crops(years, room)

    assert table.head == (
        "crop", "seeds sown", "cells not sown", "harvested", "lost once up", "plants harvested a week", "kg a week",
        "g a plant", "days, as planned",
    )  # fmt: skip
    assert rows(table) == [
        ("cutting leaf", "600", "0", "30%", "10%", "45.0", "1.1", "25", "25"),
        ("small head", "300", "0", "70%", "10%", "33.8", "3.4", "100", "35"),
    ]


def test_machines(years: tuple[Outcome, ...]) -> None:
    """Times in a year of all three; lengths of the spells that have one; the longest is no average."""
    room = outage_rooms.tiny()
    table = tables.machines(years, room, 364)

    assert table.head == (
        "machine", "times a year", "until noticed, on average", "until up again, on average", "longest",
    )  # fmt: skip
    assert [row[1:] for row in rows(table)] == [
        ("0.67", "3.0 hours", "2.0 days", "3.0 days"),
        ("0.67", "60 minutes", "3.0 hours", "3.0 hours"),
    ]
    assert tables.machines(years, room, 56).head[1] == "times in 56 days"


def test_what_only_heats_is_a_heater() -> None:
    """No heat pump in a room that cannot be cooled."""
    room = outage_rooms.tiny()
    cools = room.model_copy(update={"climate": room.climate.model_copy(update={"cooling_kw": 2.0, "heating_kw": 2.0})})
    heats = room.model_copy(update={"climate": room.climate.model_copy(update={"cooling_kw": 0.0, "heating_kw": 2.0})})

    assert of_the_room("spare for the heat pump", heats) == "spare for the heater"
    assert of_the_room("the heat pump", cools) == "the heat pump"


def test_every_machine_that_was_down(years: tuple[Outcome, ...], room: Any) -> None:
    """In order, by the day, with what never was noticed or repaired; what failed in the warm-up is not counted."""
    first, second = own.outages(years[0], room), own.outages(years[1], room)

    assert [row[1:] for row in rows(first)] == [
        ("20 Jan 2031", "60 minutes", "3.0 hours"),
        ("13 Jan 2031", "4.0 hours", "3.0 days"),
        ("9 Feb 2031", "2.0 hours", "24.0 hours"),
    ]
    assert [row[1:] for row in rows(second)] == [("11 Jan 2031", "not noticed", "still down at the end")]
    assert first.head == ("machine", "failed on", "until noticed", "until up again")
    assert "replication 1" in second.title


def test_figures_have_each_range_in_its_column(made_up: ModuleType) -> None:
    """Average, range of the average, eight in ten, of all what, on paper: all different, none swapped."""

    found = {
        "kg_packed_per_week": Estimate("kg_packed_per_week", 4.5, 4.1, 4.9, 2.2, 4.4, 7.7, 3, "one week"),
        "kwh_per_kg": Estimate("kwh_per_kg", 30.0, None, None, 22.0, 29.0, 41.0, 1, "one year"),
        "machine_failures": Estimate("machine_failures", 1.5, 0.5, 2.5, 0.0, 1.0, 4.0, 3, "one year"),
    }
    rehearsal = replace(made_up.rehearsal(replications=1, days=364), estimates=found, on_paper=PAPER)
    table = tables.figures_table((*found, "cost_per_kg"), "A title", rehearsal)

    assert table.head == (
        "", "on average", "range of the average (95%)", "8 in 10 lie within", "of all", "on paper",
    )  # fmt: skip
    assert [row[1:] for row in rows(table)] == [
        ("4.5", "4.1 to 4.9", "2.2 to 7.7", "weeks", "15.0"),
        ("30.0", "–", "22.0 to 41.0", "years", "7.2"),
        ("1.5", "0.5 to 2.5", "0.0 to 4.0", "years", "–"),
    ]
    assert rows(table)[0][0].startswith("Greens packed")


def test_where_every_seed_went(years: tuple[Outcome, ...]) -> None:
    """Plants and share of seeds; seeds sown last."""
    table = own.every_seed(years)
    found = {row[0]: row[1:] for row in rows(table)}

    assert table.head == ("", "cutting leaf", "small head")
    assert found["harvested"] == ("180.0 (30.0%)", "210.0 (70.0%)")
    assert found["thinned out"] == ("270.0 (45.0%)", "0.0 (0.0%)")
    assert found["did not germinate"] == ("90.0 (15.0%)", "0.0 (0.0%)")
    assert found["dried out"] == ("60.0 (10.0%)", "0.0 (0.0%)")
    assert found["lost to heat"] == ("0.0 (0.0%)", "30.0 (10.0%)")
    assert found["still growing at the end"] == ("0.0 (0.0%)", "60.0 (20.0%)")
    assert rows(table)[-1] == ("seeds sown", "600.0", "300.0")


def test_crew_hours_week_by_week(years: tuple[Outcome, ...], room: Any) -> None:
    """Due, present and worked are not each other's."""
    table = own.crew_hours(years, room)

    assert table.head == ("week from", "falling due", "present", "worked")
    assert len(rows(table)) == 8
    assert (rows(table)[0], rows(table)[7]) == (
        ("6 Jan 2031", "12.0", "9.0", "6.0"), ("24 Feb 2031", "24.0", "18.0", "12.0"),
    )  # fmt: skip


def test_work_and_shifts(years: tuple[Outcome, ...], room: Any) -> None:
    """Hours by kind and shift by shift; shifts of the tiny room last two hours."""
    table = own.work_and_shifts(years, room)

    assert rows(table) == [
        ("work: sow", "2.2 h", "6.00 late"),
        ("work: harvest", "6.8 h", "0.00 late"),
        ("shift: Monday", "3.0 volunteer-hours", "1.5 came of 2.0 signed up"),
        ("shift: Thursday", "1.0 volunteer-hours", "0.5 came of 3.0 signed up"),
    ]


def test_slots_in_use(years: tuple[Outcome, ...], room: Any) -> None:
    """Rack and stages, slots there are, month by month."""
    table = own.room_map(years, room)

    assert table.head == ("rack and stage", "slots", "Jan 2031", "Feb 2031")
    assert rows(table) == [
        ("rack, all", "16", "5.2", "10.5"),
        ("– seedling", "4", "1.5", "3.0"),
        ("– leaf", "16", "3.0", "6.0"),
        ("– head", "12", "0.8", "1.5"),
    ]


def lines(axes: Axes) -> dict[str, list[float]]:
    """What is drawn as a line, by its name in the legend."""
    return {str(line.get_label()): [round(float(y), 3) for y in line.get_ydata()] for line in axes.lines}


def bars(axes: Axes) -> list[tuple[float, float]]:
    """(begin, length) of every bar that lies."""
    return [(round(each.get_x(), 3), round(each.get_width(), 3)) for each in axes.patches]  # type: ignore[attr-defined]


def ticks(axes: Axes) -> list[str]:
    """What stands at the y axis."""
    return [each.get_text() for each in axes.get_yticklabels()]


def panels(figure: Figure) -> list[Axes]:
    """Its drawings."""
    return list(figure.axes)


def test_greens_packed_are_drawn_as_they_are(years: tuple[Outcome, ...], room: Any) -> None:
    """Middle, paper, orders, and the band of eight in ten; the table behind says the same."""
    (axes, *_) = panels(of_weeks.draw_weeks(years, PAPER, room))
    drawn = lines(axes)

    assert drawn["middle of all rehearsals"] == weeks(2.0)
    assert drawn["plan on paper"] == weeks(10.0)
    assert drawn["ordered"] == weeks(2.0, 1.0)
    (band,) = axes.collections
    assert band.get_label() == "8 weeks in 10"
    assert {round(float(y), 3) for y in band.get_paths()[0].vertices[:, 1]} == {1.2, 2.4, 5.2, 10.4}
    table = of_weeks._table_of_weeks(years, PAPER, room)
    assert table.head == ("week from", "1 in 10 below", "middle", "1 in 10 above", "on paper", "ordered")
    assert rows(table)[0] == ("6 Jan 2031", "1.2", "2.0", "5.2", "10.0", "2.0")
    assert rows(table)[-1] == ("24 Feb 2031", "2.4", "4.0", "10.4", "20.0", "2.0")


def test_crew_hours_are_drawn_as_they_are(years: tuple[Outcome, ...], room: Any) -> None:
    """Lines for due and present, bars for worked, a mark over every week with more due than present."""
    (axes, *_) = panels(figures.crew_hours(years, room))
    drawn = lines(axes)

    assert (drawn["falling due"], drawn["present"]) == (weeks(12.0), weeks(9.0))
    assert [round(each.get_height(), 3) for each in axes.patches] == weeks(6.0)  # type: ignore[attr-defined]
    assert len(drawn["more due than present"]) == 8
    assert axes.containers[0].get_label() == "worked"


def test_losses_and_failures_are_drawn_as_they_are(years: tuple[Outcome, ...], room: Any) -> None:
    """Plants dried out below those lost to heat, to their height; a bar from failure to repair, or to the end."""
    upper, lower = panels(figures.losses_and_failures(years[0], room))[:2]
    heights = {
        str(each.get_label()): {round(float(y), 3) for y in each.get_paths()[0].vertices[:, 1]}
        for each in upper.collections
    }

    assert heights == {"dried out": {0.0, 1.0, 2.0}, "lost to heat": {1.0, 1.5, 2.0, 3.0}}
    assert [begin for begin, _ in bars(lower)] == [1.5, 0.5, round(50_000 / 10080 - 0.5, 3)]
    assert [length for _, length in bars(lower)] == [0.15, round(72 / 168, 3), 0.15]
    assert len(ticks(lower)) == 2
    (pump,) = bars(panels(figures.losses_and_failures(years[1], room))[1])
    assert pump == (round(8000 / 10080 - 0.5, 3), round(8 - 8000 / 10080, 3))


def test_every_seed_is_drawn_as_it_is(years: tuple[Outcome, ...]) -> None:
    """Of a hundred seeds of each crop, all crops first; shares end to end."""
    (axes, *_) = panels(figures.every_seed(years))
    shares: dict[float, list[float]] = {}
    for each in axes.patches:
        if each.get_width() and round(each.get_height(), 2) == 0.7:  # type: ignore[attr-defined]
            shares.setdefault(round(each.get_y() + 0.35, 2), []).append(round(each.get_width(), 2))  # type: ignore[attr-defined]

    assert ticks(axes) == ["all crops", "cutting leaf", "small head"]
    assert shares[1.0] == [30.0, 10.0, 45.0, 15.0]  # harvested, dried out, thinned, did not germinate
    assert shares[2.0] == [70.0, 20.0, 10.0]  # harvested, still growing, heat
    assert shares[0.0] == [43.33, 6.67, 6.67, 3.33, 30.0, 10.0]


def test_the_room_is_drawn_as_it_is(years: tuple[Outcome, ...], room: Any) -> None:
    """The month's average on each strip, with how many slots there are."""
    (axes, *_) = panels(figures.room_map(years, room))
    said = [each.get_text() for each in axes.texts]

    assert ticks(axes) == ["rack, all", "– seedling", "– leaf", "– head"]
    assert [each for each in said if each.startswith("of ")] == ["of 16", "of 4", "of 16", "of 12"]
    assert [each for each in said if not each.startswith("of ")] == ["5", "10", "2", "3", "3", "6", "1", "2"]


def test_the_warm_up_is_drawn_as_it_was_judged() -> None:
    """Weeks from 1 on; steady after week 3, counted after week 4."""
    (axes, *_) = panels(figures.warm_up([0.0, 1.0, 3.0, 3.5, 3.4], 3, 4.0))

    assert [float(x) for x in axes.lines[0].get_xdata()] == [1, 2, 3, 4, 5]
    assert [float(y) for y in axes.lines[0].get_ydata()] == [0.0, 1.0, 3.0, 3.5, 3.4]
    assert [float(line.get_xdata()[0]) for line in axes.lines[1:3]] == [3.5, 4.5]  # type: ignore[index]
    assert [each.get_text() for each in axes.texts] == ["steady from here on", "counting starts here"]


def test_money_and_energy_are_drawn_as_they_are(years: tuple[Outcome, ...]) -> None:
    """A week, the most first; money on the left, electricity on the right; the table has every account."""
    accounts = summaries.accounts_per_week(years, 56)
    left, right = panels(of_weeks.draw_money_and_energy(accounts, "USD"))[:2]

    assert (ticks(left), [length for _, length in bars(left)]) == (["repairs", "seed"], [6.0, 3.0])
    assert (ticks(right), [length for _, length in bars(right)]) == (["lights", "pumps"], [30.0, 1.5])
    assert (left.get_xlabel(), right.get_xlabel()) == ("USD a week", "kWh a week")
    assert rows(of_weeks._table_of_accounts(accounts, "USD")) == [
        ("seed", "3.0", "USD"), ("repairs", "6.0", "USD"), ("lights", "30", "kWh"), ("pumps", "1.5", "kWh"),
        ("washing", "9.0", "L"),
    ]  # fmt: skip
