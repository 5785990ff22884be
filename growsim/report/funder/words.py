"""The page of the answer to a funder: what was counted, what can be expected, what went worst, what it costs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.report import holds_back, summaries
from growsim.report.front import AnswerTable, Cell, Column, Front, Row, in_brackets
from growsim.report.funder import record as on_record
from growsim.report.tables import priced_in, row_label, told_as
from growsim.report.words import listed, long_date, number, percent, period, rehearsals, short_date, span, too_few
from growsim.report.worst import worst
from growsim.run.intervals import LEVEL, mean_interval
from growsim.scenario.machines import machines_of
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.scenario import Scenario
    from growsim.study.funder.record import RecordSums
    from growsim.study.tried import Held

MOST_WORST = 2  # sentences of what went worst; one beside a record
TO_PARTNERS, WORKED, THERE = "kg_to_partners_per_week", "crew_hours_worked_per_week", "crew_hours_present_per_week"
AS_IT_IS = "the room as it is, with its own sowing plan, as rehearsed"
A_KILOGRAM = ("cost_per_kg", "kwh_per_kg", "liters_per_kg")


def front(rehearsal: Rehearsal, held: Held, record: RecordSums | None = None) -> Front:
    """The page of the answer. held: what holds the room back. record: told before what is expected."""
    told, sure = table(rehearsal, record), how_sure(rehearsal)
    return Front.within(
        headline(rehearsal, record), (holds_back.tried_advice(held),), told, sure, why(rehearsal, held, record)
    )


def why(rehearsal: Rehearsal, held: Held, record: RecordSums | None = None) -> str:
    """Why the record is not as expected; where it is, or there is none, why partners lack what they do."""
    of_record = "" if record is None else on_record.why(record, rehearsal)
    return of_record or holds_back.why(held, rehearsal.scenario, rehearsal.plan.days)


def headline(rehearsal: Rehearsal, record: RecordSums | None = None) -> list[str]:
    """What is on record; what can be expected, with its range; what went worst."""
    bad = worst(rehearsal.outcomes, rehearsal.scenario, rehearsal.plan.days)
    if record is None:
        return [_expected(rehearsal), *bad[:MOST_WORST]]
    return [on_record.food(record, rehearsal.scenario.harvest.serving_g), on_record.beside(record, rehearsal), *bad[:1]]


def _expected(rehearsal: Rehearsal) -> str:
    scenario, days, weeks = rehearsal.scenario, rehearsal.plan.days, rehearsal.plan.days / 7.0
    first = long_date(scenario.room.start_date)
    when = f"A forecast, not a record: in the {period(days)} from {first} the room can be expected to hand out"
    given, filled = (rehearsal.estimates.get(key) for key in ("kg_handed_out_per_week", "orders_filled_fraction"))
    if given is None or given.mean <= 0:
        return f"{when} no greens."
    low, high = (None if end is None else end * weeks for end in (given.mean_low, given.mean_high))
    shown = in_brackets(given.mean * weeks, low, high, on_record.total)
    said = f"{when} {on_record.total(given.mean * weeks)} {units.unit('kg')} of greens{shown}"
    if filled is None or not scenario.partners:
        return f"{said}."
    shares = in_brackets(filled.mean, filled.mean_low, filled.mean_high, percent)
    return f"{said}. It can be expected to fill {percent(filled.mean)} of partners' orders{shares}."


def table(rehearsal: Rehearsal, record: RecordSums | None = None) -> AnswerTable:
    """Orders, food, people's hours, money and energy of the whole time; beside them what is on record."""
    prices, kg = rehearsal.scenario.prices, units.unit("kg")
    first, last = rehearsal.scenario.room.start_date, summaries.last_day(rehearsal.scenario, rehearsal.plan.days)
    worth = None if record is None else record.hours * prices.volunteer_hour_value
    came, hours = (None, None) if record is None else (record.came, record.hours)
    given = [outcome.accounts["hours:volunteers"] for outcome in rehearsal.outcomes]
    busy = [
        outcome.measures[WORKED] / outcome.measures[THERE]
        for outcome in rehearsal.outcomes
        if outcome.measures.get(THERE)
    ]
    ordered = bool(rehearsal.scenario.partners)
    rows = [_measure("orders_filled_fraction", rehearsal) if ordered else None]
    if record is not None:
        rows.append(
            _row(
                f"Greens harvested and packed, {kg}",
                on_record.expected(record, rehearsal),
                on_record.total,
                "kg",
                record.kg,
            )
        )
    rows += [
        _total(f"Greens handed out, {kg}", "kg_handed_out_per_week", on_record.total, "kg", rehearsal),
        _total(f"of them to partners' orders, {kg}", TO_PARTNERS, on_record.total, "kg", rehearsal)
        if ordered
        else None,
        _total("Servings (cup-equivalents of vegetables)", "servings_per_week", number, "servings", rehearsal),
        _total("Times a volunteer came", "volunteers_came_per_week", number, "people", rehearsal, came),
        _row("Volunteers' hours, without the lead", given, number, "h", hours),
        _total(
            f"Worth of these hours, {prices.currency}", "volunteer_value_per_week", number, "money", rehearsal, worth
        ),
        _row("Part of people's hours in which they had work", busy, percent, "fraction"),
        _total(f"Running costs, {prices.currency}", "cost_per_week", number, "money", rehearsal),
        *(_measure(key, rehearsal) for key in A_KILOGRAM),
    ]
    columns = [Column("expected (range)", AS_IT_IS), Column("8 rehearsals in 10", AS_IT_IS)]
    note = "Running costs are without volunteers' hours and without what the equipment cost."
    if record is not None:
        columns.insert(0, Column("on record", f"what was written down, {on_record.span_of_days(record)}"))
        note = " ".join((note, *on_record.left_out(record)))
    plain = [each for each in rows if each is not None]
    if record is None:
        plain = [Row(each.label, each.cells[1:]) for each in plain]
    return AnswerTable(f"{short_date(first)} to {short_date(last)}", tuple(columns), tuple(plain), note)


def _row(
    label: str, values: list[float], told: Callable[[float], str], unit: str, recorded: float | None = None
) -> Row | None:
    """What is on record, what is expected with its range, and what eight rehearsals in ten bring."""
    if not values or max(values) <= 0:
        return None
    mean, low, high = mean_interval(values, LEVEL)
    return Row(label, (_recorded(recorded, told, unit), *_cells(mean, low, high, values, told, unit)))


def _total(
    label: str, key: str, told: Callable[[float], str], unit: str, rehearsal: Rehearsal, recorded: float | None = None
) -> Row | None:
    """A figure of a week over the whole time."""
    found, weeks = rehearsal.estimates.get(key), rehearsal.plan.days / 7.0
    values = [outcome.measures[key] * weeks for outcome in rehearsal.outcomes if key in outcome.measures]
    if found is None or not values or found.mean <= 0:
        return None
    low, high = (None if end is None else end * weeks for end in (found.mean_low, found.mean_high))
    return Row(label, (_recorded(recorded, told, unit), *_cells(found.mean * weeks, low, high, values, told, unit)))


def _measure(key: str, rehearsal: Rehearsal) -> Row | None:
    """A figure as it is."""
    found = rehearsal.estimates.get(key)
    values = [outcome.measures[key] for outcome in rehearsal.outcomes if key in outcome.measures]
    if found is None or not values:
        return None

    told, unit = told_as(key, *values), CATALOGUE[key].unit
    cells = _cells(found.mean, found.mean_low, found.mean_high, values, told, unit)
    label = row_label(key, rehearsal.plan.days, priced_in(rehearsal.scenario.prices))
    return Row(label, (_recorded(None, told, unit), *cells))


def _recorded(value: float | None, told: Callable[[float], str], unit: str) -> Cell:
    return Cell("not recorded") if value is None else Cell(told(value), value, unit=unit)


def _cells(
    mean: float, low: float | None, high: float | None, values: list[float], told: Callable[[float], str], unit: str
) -> tuple[Cell, Cell]:
    p10, p50, p90 = summaries.percentiles(values)
    case = Cell.between(p10, p50, p90, told, unit) if len(values) > 1 else Cell("–", p50, p10, p90, unit)
    return Cell.ranged(mean, low, high, told, unit), case


def how_sure(rehearsal: Rehearsal) -> str:
    """What it rests on."""
    n = len(rehearsal.outcomes)
    said = f"Expected: from {rehearsals(n, rehearsal.plan.days)} on a computer{too_few(n)}."
    said += "" if too_few(n) else " Each average lies in its range with 95% confidence."
    return said if rehearsal.warm_up.enough else f"{said} {rehearsal.warm_up.sentence}"


def protections(scenario: Scenario) -> list[str]:
    """What the room has against losses, read from the room file."""
    machines = [(BY_KEY[each.kind].at(each.where), each.reliability) for each in machines_of(scenario)]
    alarmed = [
        f"{name} (after {span(spec.alarm_minutes)})" for name, spec in machines if spec.alarm_minutes is not None
    ]
    spared = [name for name, spec in machines if spec.spares]
    said = []
    if alarmed:
        said.append(f"An alarm watches {listed(alarmed)}.")
    if spared:
        said.append(f"Spare parts lie on the shelf for {listed(spared)}.")
    double = [reservoir.name for reservoir in scenario.reservoirs if reservoir.pump.count > 1]
    if double:
        said.append(f"{listed(double)} {'has' if len(double) == 1 else 'have'} a second pump.")
    if scenario.power.battery_pump_hours:
        said.append(f"A battery keeps the pumps going for {number(scenario.power.battery_pump_hours, 1)} hours.")
    if scenario.climate.lights_off_above_c is not None:
        said.append("A thermostat turns the lights off when the room gets too warm.")
    if scenario.crew.walk_throughs:
        said.append(
            "Somebody able looks in between shifts: "
            f"{listed([walk_through.name for walk_through in scenario.crew.walk_throughs])}."
        )
    return said or ["The room file names no protection; `growsim outage` says which would be worth buying."]
