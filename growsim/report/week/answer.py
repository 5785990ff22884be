"""The printed sheets of a week: one page a shift, the week on one page for the wall, the supply list."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.report.frame import Answer
from growsim.report.page import environment
from growsim.report.provenance import Provenance
from growsim.report.week import words
from growsim.report.week.rows import calendar_bytes, rows_of
from growsim.report.words import day_and_date, hour_of_day, listed, mass, money, number
from growsim.run.writing import write_bytes, write_csv
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.week.question import ShiftSheet, Supply, WeekPlan

LABELS = {
    "crew_hours_needed": ("Crew hours of work falling due in the week", "h"),
    "crew_hours_present": ("Crew hours present in the week", "h"),
    "volunteers_came": ("Volunteer attendances in the week", "people"),
    "kg_packed": ("Greens packed in the week", "kg"),
    "plants_harvested": ("Plants harvested in the week", "plants"),
    "tasks_late": ("Tasks done late in the week", "tasks"),
}


def write_sheets(week: WeekPlan, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html (the sheets), week.ics, tasks.csv, supplies.csv and summary.json, all or nothing.

    Gives the summary. Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    from growsim.run.results import write_frame

    answer = Answer(
        provenance, week.scenario, week.seed, week.replications, week.days, week.lead_in_days,
        front=words.front(week),
    )  # fmt: skip

    def files(folder: Path) -> None:
        write_bytes(folder / "week.ics", calendar_bytes(week))
        write_frame(folder / "tasks.csv", week.to_frame())
        write_csv(
            folder / "supplies.csv", ["supply", "amount", "unit", f"price_{week.scenario.prices.currency}"],
            [[each.name, round(each.amount, 3), each.unit, round(each.price, 2)] for each in week.supplies],
        )  # fmt: skip

    measures = {
        key: {"label": LABELS[key][0], "unit": LABELS[key][1], **asdict(spread), "of": "one week"}
        for key, spread in week.spreads.items()
    }
    summary = answer.summary(measures, **_own(week))
    return answer.write(out, summary, lambda _: sheets_html(week, answer), files, replace=replace)


def sheets_html(week: WeekPlan, answer: Answer) -> str:
    """All sheets as one self-contained page that prints one shift to a sheet of paper."""
    scenario = week.scenario
    return (
        environment()
        .get_template("sheets.html")
        .render(
            title=f"{scenario.room.name}: {BY_NAME['sheet'].title} {day_and_date(week.monday)}",
            monday=day_and_date(week.monday),
            notes=answer.notes,
            front=answer.front,
            below=words.below(week),
            shifts=[_shift(sheet, week) for sheet in week.sheets],
            pick_ups=[
                {
                    "when": words.on_day(each.date, each.hour),
                    "partner": each.partner,
                    "orders": listed([f"{mass(kg)} {crop}" for crop, kg in each.orders]),
                    "short": "; ".join(words.shortness(short) for short in each.at_risk),
                }
                for each in week.pick_ups
            ],
            any_short=bool(week.at_risk),
            cautions=words.every_caution(week),
            supplies=[
                (each.name, _amount(each), money(each.price, scenario.prices.currency, 2))
                for each in week.supplies
            ],
            repeat_with=answer.provenance.repeat_with,
            version=answer.provenance.growsim,
        )
    )  # fmt: skip


def _shift(sheet: ShiftSheet, week: WeekPlan) -> dict[str, Any]:
    rows = rows_of(sheet.lines, week.scenario)
    return {
        "name": sheet.shift.name,
        "day": day_and_date(sheet.date),
        "hours": f"{hour_of_day(sheet.shift.start_hour)} to {hour_of_day(sheet.shift.start_hour + sheet.shift.hours)}",
        "signed_up": sheet.signed_up,
        "briefing": words.briefing(sheet, week.scenario, week.pick_ups),
        "rows": [asdict(row) for row in rows],
        "cautions": words.cautions_for(sheet, week.scenario),
    }


def _amount(supply: Supply) -> str:
    if supply.unit == "kg":
        return mass(supply.amount)
    return f"{number(units.amount(supply.amount, supply.unit))} {units.unit(supply.unit)}"


def _own(week: WeekPlan) -> dict[str, Any]:
    """The shifts, tasks and supplies of the week, as its summary has them."""
    return {
        "week_from": week.monday.isoformat(),
        "shifts": [
            {
                "date": sheet.date.isoformat(),
                "shift": sheet.shift.name,
                "signed_up": sheet.signed_up,
                "expected": sheet.people,
                "minutes_of_work": sheet.minutes,
                "tasks": [asdict(row) for row in rows_of(sheet.lines, week.scenario)],
            }
            for sheet in week.sheets
        ],
        "short": [
            {**asdict(each), "date": each.date.isoformat(), "is_likely": each.is_likely} for each in week.at_risk
        ],
        "counted": None if week.counted is None else week.counted.isoformat(),
        "days_without_sowing": week.days_without_sowing,
        "given_up": [asdict(each) for each in week.given_up],
        "supplies": [asdict(each) for each in week.supplies],
    }
