"""The sentences of a week's sheets: what to do, where, how much. Every one made here."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import TYPE_CHECKING

from growsim import units
from growsim.report import cautions
from growsim.report import shelf_count as count_words
from growsim.report.crop_words import seed_in_each, unit_of
from growsim.report.front import AnswerTable, Cell, Column, Front, Row, in_brackets
from growsim.report.words import (
    counted,
    day_and_date,
    hour_of_day,
    listed,
    mass,
    mass_cell,
    number,
    short_day,
    upper_first,
)
from growsim.scenario.calendar import Calendar
from growsim.scenario.checks.closings import MANY_DAYS, closings, lost_sowings, sown_again
from growsim.scenario.names import ANY_CROP
from growsim.vocabulary.dangers import Danger
from growsim.vocabulary.tasks import TASKS

MOST_NAMED = 2  # orders in the headline; more are more than one takes in

if TYPE_CHECKING:
    from growsim.scenario.scenario import Scenario
    from growsim.study.week.question import PickUp, ShiftSheet, Shortfall, WeekPlan
    from growsim.study.week.tasks import Line


def what(line: Line, scenario: Scenario) -> str:
    """One task in plain words."""
    row = TASKS[line.task]
    crop = line.crop or "plants"
    known = next((known for known in scenario.crops if known.name == line.crop), None)
    says, unit, units, seeds = row.says, row.unit, row.units, counted(known.seeds_per_cell if known else 1, "seed")
    if known is not None and known.is_cut_whole:
        unit, units, seeds = unit_of(known, unit), f"{unit_of(known, unit)}s", seed_in_each(known)
        says = row.says_of_tray if known.sown_by == "tray" and row.says_of_tray else says
    return says.format(
        amount=counted(line.count, unit, units),
        number=number(line.count),
        mass=mass(line.count),
        crop=crop,
        lot=f"{crop}, sown {short_day(dt.date.fromisoformat(line.sown))}" if line.sown else crop,
        seeds=seeds,
        trays=counted(line.trays, "tray"),
        stage=line.stage,
        hoped=f": about {mass(line.grams / 1000.0)}" if line.grams else "",
        where=line.where,
    )


def where(lines: list[Line]) -> list[str]:
    """Racks, each once; from one to others: "narrow two → wide one, wide two"."""
    goes: dict[str, dict[str, None]] = {}
    for line in lines:
        on = goes.setdefault(TASKS[line.task].place or line.where, {})
        if line.to and line.to != line.where:
            on[line.to] = None
    return [
        f"{place} → {', '.join(on)}" if place and on else place or ", ".join(on)
        for place, on in goes.items()
        if place or on
    ]


def briefing(sheet: ShiftSheet, scenario: Scenario, pick_ups: tuple[PickUp, ...]) -> str:
    """What a newcomer needs to hear, in two minutes."""
    hours = sheet.minutes / 60.0
    words = [f"{_hands(sheet)}; the work takes {number(hours, 1)} person-hours on paper."]
    kilograms = sum(line.grams for line in sheet.lines if line.task == "harvest" and not line.carried_on) / 1000.0
    if kilograms:
        words.append(f"About {mass(kilograms)} of greens are harvested, if all is ripe.")
    today = [each for each in pick_ups if each.date == sheet.date]
    for each in today:
        wanted = listed([f"{mass(kg)} {'of any' if crop == 'any' else crop}" for crop, kg in each.orders])
        words.append(f"{each.partner} collects at {hour_of_day(each.hour)}: {wanted}.")
        hangs = [short for short in each.at_risk if _due(sheet, short) and 2 * short.unripe >= short.times]
        likely = [
            f"{mass(short.short)} of {_greens(short.crop)}"
            for short in each.at_risk
            if short.is_likely and short not in hangs
        ]
        words += [f"Likely short: {listed(likely)}."] if likely else []
        words += [f"If the {short.crop} is not ripe, {mass(short.short)} is missing: ring them." for short in hangs]
    left = [line for line in sheet.lines if line.goes_on]
    if left:
        on = "goes on" if len(left) == 1 else "go on"
        words.append(f"{counted(len(left), 'task')} will not be finished and {on} in the next shift.")
    if scenario.room.people_at_once < sheet.people + sheet.shift.lead:
        words.append(f"Only {scenario.room.people_at_once} people fit into the room at once.")
    return " ".join(words)


def _hands(sheet: ShiftSheet) -> str:
    if not sheet.signed_up:
        return "No volunteer is signed up, the lead works alone" if sheet.shift.lead else "Nobody is signed up"
    with_lead = " and the lead" if sheet.shift.lead else ", without a lead"
    return f"{counted(sheet.people, 'volunteer')} of {sheet.signed_up} signed up can be expected{with_lead}"


def cautions_for(sheet: ShiftSheet, scenario: Scenario) -> tuple[str, ...]:
    """Cautions that the shift's tasks call for, a line each; in full they stand once, on the last page."""
    return cautions.in_short(dangers_of(sheet, scenario))


def dangers_of(sheet: ShiftSheet, scenario: Scenario) -> list[Danger]:
    """Dangers of a shift: its tasks', gas in the air, and that nobody leads it."""
    called_for: list[Danger] = ["carbon dioxide"] if scenario.co2.supply_kg_per_day > 0 else []
    called_for += [danger for line in sheet.lines for danger in TASKS[line.task].dangers]
    return called_for if sheet.shift.lead else [*called_for, "alone"]


def every_caution(week: WeekPlan) -> tuple[str, ...]:
    """The cautions of all the week's shifts in full, the general one last."""
    called_for = [danger for sheet in week.sheets for danger in dangers_of(sheet, week.scenario)]
    return (*cautions.beside(called_for, week.scenario.room.region), cautions.ALWAYS)


def front(week: WeekPlan) -> Front:
    """The page of the answer; a closing that would make it too long to take in stands below its table (`below`)."""
    why, ring = hinges(week)
    made = Front(headline(week), (ring,) if ring else (), table(week), how_sure(week), why)
    closing = closing_ahead(week.scenario, week.monday)
    more = replace(made, advice=(*made.advice, closing))
    return more if closing and more.fits else made


def below(week: WeekPlan) -> str:
    """What the page has no room for above its table."""
    closing = closing_ahead(week.scenario, week.monday)
    return "" if closing in front(week).advice else closing


def hinges(week: WeekPlan) -> tuple[str, str]:
    """(why, what to do) of the order that lacks most of those which hang on plants that may not be ripe on their
    harvest day; ("", "") where none does."""
    for each in _worst_first(week):
        plants = sum(_due(sheet, each) for sheet in week.sheets)
        if plants and 2 * each.unripe >= each.times:
            day = day_and_month(each.date)
            return (
                f"{upper_first(each.crop)} may not be ripe on {day}: {number(plants)} plants are on the sheet, "
                f"in {each.unripe} of {each.n} rehearsals none is.",
                f"Look at the {each.crop} before {day}; if it is not ripe, ring {each.partner}.",
            )
    return "", ""


def _due(sheet: ShiftSheet, short: Shortfall) -> float:
    """Plants of a short order's crop that a sheet wants harvested on its day."""
    lines = sheet.lines if sheet.date == short.date else ()
    return math.fsum(line.count for line in lines if line.task == "harvest" and line.crop == short.crop)


def _worst_first(week: WeekPlan) -> list[Shortfall]:
    return sorted(week.at_risk, key=lambda each: -each.times * each.short)


def headline(week: WeekPlan) -> str:
    """Orders that will be short first; then the work of the week as its table sums it, and what it gives."""
    monday = f"the week of {day_and_month(week.monday)}"
    if not week.sheets:
        return f"There is no shift in {monday}."
    hours = math.fsum(_hours(sheet) for sheet in week.sheets)
    said = f"{upper_first(monday)} has {counted(len(week.sheets), 'shift')} with {number(hours, 1)} hours of work"
    if packed := week.spreads.get("kg_packed"):
        ends = in_brackets(packed.p50, packed.p10, packed.p90, mass_cell)
        said += f" and gives {mass(packed.p50)} of packed greens{ends}"
    return f"{too_little(week)} {said}.".strip()


def table(week: WeekPlan) -> AnswerTable:
    """What is due, shift by shift."""
    of = "the room's own plan, for this week"
    if week.counted is not None:
        of += f", from what stood on the shelves on {day_and_date(week.counted)}"
    kilograms = math.fsum(kg for each in week.pick_ups for _, kg in each.orders)
    partners = counted(len({each.partner for each in week.pick_ups}), "partner gets", "partners get")
    note = f"If every order is met, {partners} {mass(kilograms)}." if kilograms else ""
    return AnswerTable(
        "The week for the wall",
        tuple(Column(head, of) for head in ("when", "people", "hours", "what")),
        tuple(
            Row(
                sheet.shift.name,
                (
                    Cell(_when(sheet)),
                    Cell(_who(sheet), float(sheet.people), unit="people"),
                    Cell(number(_hours(sheet), 1), sheet.minutes / 60.0, unit="h"),
                    Cell(in_short(sheet) or "nothing falls due"),
                ),
            )
            for sheet in week.sheets
        ),
        note,
        "shift",
    )


def _hours(sheet: ShiftSheet) -> float:
    """As shown, so that who adds up the table finds the headline's."""
    return round(sheet.minutes / 60.0, 1)


def on_day(date: dt.date, hour: float) -> str:
    """ "Mon 3, 15:00"."""
    return f"{day_and_date(date)[:3]} {date.day}, {hour_of_day(hour)}"


def _when(sheet: ShiftSheet) -> str:
    end = sheet.shift.start_hour + sheet.shift.hours
    return f"{on_day(sheet.date, sheet.shift.start_hour)} to {hour_of_day(end)}"


def _who(sheet: ShiftSheet) -> str:
    if sheet.shift.lead and not sheet.signed_up:
        return "the lead alone"
    return f"{sheet.people} of {sheet.signed_up}{' + lead' if sheet.shift.lead else ''}"


def how_sure(week: WeekPlan) -> str:
    """What speaks against the count it rests on; else what ranges and chances are of."""
    count = the_count(week)
    if count:
        return count
    said = "As planned: nobody counted the shelves. " if week.counted is None else ""
    said += "Hours are for people who know the work"
    due = week.spreads.get("crew_hours_needed")
    if due is None:
        return f"{said}."
    hours = Cell.between(due.p10, due.p50, due.p90, lambda hours: number(hours, 1), "h").text
    likely = "; likely: in more than half of them" if any(each.is_likely for each in week.at_risk) else ""
    n = counted(due.n, "rehearsal")
    return f"{said}; by chance {hours} fall due. Ranges: eight such weeks in ten, from {n}{likely}."


def closing_ahead(scenario: Scenario, monday: dt.date) -> str:
    """Crops that would be lost in many closed days if sown in this week or the next, with the last day to sow each
    and the day to start again; "" where there is none."""
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    crops = {crop.name: crop for crop in scenario.crops}
    soon, said = monday + dt.timedelta(days=13), []
    for first, last in closings(scenario):
        if (last - first).days + 1 < MANY_DAYS:
            continue
        told = []
        for name in dict.fromkeys(line.crop for line in scenario.sowing):
            for begin, end in _without_gaps(lost_sowings(scenario, calendar, crops[name], first, last)):
                if begin <= soon and end >= monday:
                    again = sown_again(scenario, calendar, crops[name], (first, last), end)
                    until = day_and_month(begin - dt.timedelta(days=1))
                    told.append(f"Sow {name} until {until}, then again from {day_and_month(again)}.")
        if told:
            said += [f"The room is closed from {day_and_date(first)} to {day_and_date(last)}.", *told]
    return " ".join(said)


def _without_gaps(spans: list[tuple[dt.date, dt.date]]) -> list[tuple[dt.date, dt.date]]:
    """Spans of days less than a week apart as one: nobody starts again for a few days."""
    found: list[tuple[dt.date, dt.date]] = []
    for begin, end in spans:
        if found and (begin - found[-1][1]).days <= 7:
            found[-1] = (found[-1][0], end)
        else:
            found.append((begin, end))
    return found


def the_count(week: WeekPlan) -> str:
    """What speaks against the count of the shelves being of its day; "" where nothing does, or none was taken."""
    if week.counted is None:
        return ""
    has_plan = bool(week.scenario.sowing)
    return count_words.the_count(week.days_without_sowing, week.given_up, week.counted, has_plan=has_plan)


def too_little(week: WeekPlan) -> str:
    """The two orders that lack most over all rehearsals, and how many others may be short; "" where none."""
    worst = _worst_first(week)
    named, others = worst[:MOST_NAMED], len(worst[MOST_NAMED:])
    said = [
        f"{upper_first(each.partner)} {'will likely' if each.is_likely else 'may'} lack {lacks(each)}."
        for each in named
    ]
    return " ".join([*said, *([f"{counted(others, 'other order')} may be short too."] if others else [])])


def lacks(each: Shortfall) -> str:
    """What is missing of what, and when: "4.4 kg of 4.5 kg of butterhead on Monday 3 May"."""
    return f"{mass(each.short)} of {mass(each.ordered)} of {_greens(each.crop)} on {day_and_month(each.date)}"


def shortness(each: Shortfall) -> str:
    """The same for a table in which partner, day and order stand already."""
    return f"{_greens(each.crop)}: {mass(each.short)} in {each.times} of {each.n} rehearsals"


def day_and_month(date: dt.date) -> str:
    """ "Monday 3 May"."""
    return day_and_date(date).rsplit(" ", 1)[0].rstrip(",")


def _greens(crop: str) -> str:
    return "any greens" if crop == ANY_CROP else crop


def in_short(sheet: ShiftSheet) -> str:
    """A shift in one line for the wall: "harvest basil and chard (19 kg), pack, transplant chard, wash 20 trays"."""
    said = []
    for task in dict.fromkeys(line.task for line in sheet.lines):
        lines, row = [line for line in sheet.lines if line.task == task], TASKS[task]
        kilograms = sum(line.grams for line in lines) / 1000.0
        words = row.in_short.format(
            amount=counted(math.fsum(line.count for line in lines), row.unit, row.units),
            crops=listed(list(dict.fromkeys(line.crop for line in lines))),
        )
        said.append(f"{words} ({mass_cell(kilograms, 0)} {units.unit('kg')})" if kilograms else words)
    return "; ".join(said)
