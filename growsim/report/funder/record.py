"""What the record shows, in a funder's words: sentences, tables and sheet rows, beside what was expected."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.report.page import Bullets, Grid, Section
from growsim.report.summaries import percentiles
from growsim.report.tables import Table
from growsim.report.words import counted, listed, mass, mass_cell, number, percent, short_date, upper_first
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.record.record import Records
    from growsim.study.funder.record import RecordSums

MOST_TOLD = 10  # rows that cannot be used
FEW = 10  # rehearsals: fewer do not tell what eight in ten bring


def span_of_days(record: RecordSums) -> str:
    """ "3 Feb 2031 to 4 May 2031"."""
    return f"{short_date(record.first)} to {short_date(record.last)}"


def food(record: RecordSums, serving_g: float) -> str:
    """Kilograms and servings on record."""
    if not record.crops:
        return f"From {span_of_days(record)} the record shows nothing harvested."
    given, servings = f"{total(record.kg)} {units.unit('kg')}", counted(record.kg * 1000.0 / serving_g, "serving")
    return f"From {span_of_days(record)} the record shows {given} of greens harvested, {servings}."


def left_out(record: RecordSums) -> list[str]:
    """What of the record is not in its figures."""
    missing = (
        (record.not_weighed, "harvest without a weight", "harvests without a weight"),
        (record.plantings_unusable, "row of plantings that cannot be used", "rows of plantings that cannot be used"),
        (record.shifts_of_unknown_length, "shift of unknown length", "shifts of unknown length"),
        (record.attendance_unusable, "row of attendance that cannot be used", "rows of attendance that cannot be used"),
    )
    named = [counted(count, one, many) for count, one, many in missing if count]
    return [f"Not in the record's figures: {listed(named)}."] if named else []


def why(record: RecordSums, rehearsal: Rehearsal) -> str:
    """Why the record is not what was expected: it begins late, or the crop that differs most, with its plants and what
    they weigh; "" where it lies within the range."""
    if late := _begins_late(record, rehearsal):
        return late
    if record.first_sown is None or not _lies(record, rehearsal):
        return ""
    kept = {crop.crop: crop for crop in record.crops}
    packed = {crop.name: _expected_of("kg_packed", crop.name, record, rehearsal) for crop in rehearsal.scenario.crops}
    by = {name: (kept[name].kg if name in kept else 0.0) - kilograms for name, kilograms in packed.items()}
    crop = (max if record.kg > math.fsum(packed.values()) else min)(by, key=by.__getitem__)
    said = f"Most of the difference is {crop}: {mass(abs(by[crop]))} {'more' if by[crop] > 0 else 'less'} than expected"
    plants, found = _expected_of("plants_harvested", crop, record, rehearsal), kept.get(crop)
    if found is None:
        return f"{said}, for none is on record."
    if not plants or not found.plants or found.not_weighed:
        return f"{said}."
    heads, heavy = found.plants / plants - 1.0, found.kg / found.plants / (packed[crop] / plants) - 1.0
    clauses = (
        f"{percent(abs(heads))} {'more' if heads > 0 else 'fewer'} plants were harvested",
        f"a plant weighed {percent(abs(heavy))} {'more' if heavy > 0 else 'less'}",
    )
    return f"{said}. {upper_first(listed(clauses))}."


def _expected_of(what: str, crop: str, record: RecordSums, rehearsal: Rehearsal) -> float:
    """Of a crop in as many days, the average of all rehearsals."""
    made = [math.fsum(outcome.weeks.get(f"{what}:{crop}", ())) for outcome in rehearsal.outcomes]
    return math.fsum(made) / len(made) * record.days / rehearsal.plan.days


def expected(record: RecordSums, rehearsal: Rehearsal) -> list[float]:
    """Kilograms packed in as many days, of each rehearsal."""
    return [outcome.accounts["kg:packed"] * record.days / rehearsal.plan.days for outcome in rehearsal.outcomes]


def total(kilograms: float) -> str:
    """Of a whole time, without its unit: to a kilogram where there are many."""
    return mass_cell(kilograms, 0 if kilograms >= 100 else 1)


def beside(record: RecordSums, rehearsal: Rehearsal) -> str:
    """How the record lies beside the same days rehearsed; "" where nothing is on record of what was grown."""
    if record.first_sown is None:
        return ""
    kilograms = expected(record, rehearsal)
    low, _, high = percentiles(kilograms)
    few, where = len(rehearsal.outcomes) < FEW, f"the record lies {_lies(record, rehearsal) or 'within'} that"
    where = "too few rehearsals to say how the record lies" if few else where
    mean = total(math.fsum(kilograms) / len(kilograms))
    between = f"{total(low)} to {total(high)} {units.unit('kg')} in eight rehearsals of ten"
    return f"{mean} {units.unit('kg')} were to be expected ({between}): {where}."


def _lies(record: RecordSums, rehearsal: Rehearsal) -> str:
    """ "below" or "above" what eight rehearsals in ten bring; "" within it, or where too few were made."""
    low, _, high = percentiles(expected(record, rehearsal))
    return "" if len(rehearsal.outcomes) < FEW else "below" if record.kg < low else "above" if record.kg > high else ""


def _begins_late(record: RecordSums, rehearsal: Rehearsal) -> str:
    """That the first harvests of this time cannot be on record, where what they were sown as is not; else ""."""
    longest = dt.timedelta(days=max(crop.typical_days for crop in rehearsal.scenario.crops))
    if record.first_sown is None or record.first_sown + longest <= record.first + dt.timedelta(days=7):
        return ""
    return (
        f"The first sowing on record is of {short_date(record.first_sown)}: harvests of earlier ones are not in it, "
        f"but are in what is expected, until {short_date(record.first_sown + longest)}."
    )


def section(record: RecordSums, records: Records) -> Section:
    """The record in tables, with what was left out of it."""
    asides = [f"{counted(len(records.set_aside), 'row')} of the record could not be used."] if records.set_aside else []
    asides += [str(aside) for aside in records.set_aside[:MOST_TOLD]]
    if len(records.set_aside) > MOST_TOLD:
        asides.append(f"and {len(records.set_aside) - MOST_TOLD} more; `growsim learn` names each of them.")
    blocks: list[Any] = [Grid(_crops(record)), Grid(_months(record)), Grid(_losses(record))]
    if record.machines:
        blocks.append(Grid(_machines(record)))
    if asides:
        blocks.append(Bullets(tuple(asides)))
    return Section("record", "What the record shows", tuple(blocks))


def _crops(record: RecordSums) -> Table:
    return Table(
        "Harvested, by crop",
        ("crop", "harvests", "plants", units.unit("kg")),
        tuple((crop.crop, number(crop.harvests), number(crop.plants), mass_cell(crop.kg)) for crop in record.crops),
    )


def _months(record: RecordSums) -> Table:
    return Table(
        "Month by month",
        ("month", f"{units.unit('kg')} harvested", "volunteers who came"),
        tuple(
            (_month(month), mass_cell(kilograms), number(came)) for month, (kilograms, came) in record.months.items()
        ),
    )


def _month(month: str) -> str:
    first = dt.date.fromisoformat(f"{month}-01")
    return f"{MONTHS[first.month - 1]} {first.year}"


def _losses(record: RecordSums) -> Table:
    cells, emerged = record.sown_emerged
    note = f"Of {counted(cells, 'cell')} sown and counted, {number(emerged)} germinated." if cells else ""
    lost = tuple((why, number(plants)) for why, plants in record.lost.items()) or (
        ("no plant is on record as lost", "0"),
    )
    return Table("Plants lost, and why", ("why", "plants"), lost, note)


def _machines(record: RecordSums) -> Table:
    still = [BY_KEY[machine.machine].label for machine in record.machines if machine.still_down]
    return Table(
        "Machines that were down",
        ("machine", "times", "hours in all"),
        tuple((BY_KEY[m.machine].label, number(m.times), number(m.hours_down, 1)) for m in record.machines),
        f"No repair is on record for {listed(still)}; hours are of the others." if still else "",
    )


def sheet_rows(record: RecordSums, rehearsal: Rehearsal) -> list[list[Any]]:
    """The workbook's sheet: numbers as numbers."""
    kilograms = expected(record, rehearsal)
    low, _, high = percentiles(kilograms)
    rows: list[list[Any]] = [
        ["what", "of", "count", "unit"],
        ["first day", "", record.first.isoformat(), ""],
        ["last day", "", record.last.isoformat(), ""],
    ]
    for crop in record.crops:
        rows += [["harvested", crop.crop, crop.kg, "kg"], ["harvested", crop.crop, crop.plants, "plants"]]
    rows += [["harvested", month, kilograms, "kg"] for month, (kilograms, _) in record.months.items()]
    rows += [["volunteers came", month, came, "people"] for month, (_, came) in record.months.items()]
    rows += [
        ["shifts", "", record.shifts, "shifts"],
        ["volunteers signed up", "", record.signed_up, "people"],
        ["volunteer hours", "", record.hours, "h"],
        ["cells sown and counted", "", record.sown_emerged[0], "cells"],
        ["of those germinated", "", record.sown_emerged[1], "cells"],
    ]
    rows += [["lost", reason, plants, "plants"] for reason, plants in record.lost.items()]
    for machine in record.machines:
        name = BY_KEY[machine.machine].label
        rows += [["was down", name, machine.times, "times"], ["was down", name, machine.hours_down, "h"]]
    rows += [
        ["expected", "average", math.fsum(kilograms) / len(kilograms), "kg"],
        ["expected", "8 in 10 from", low, "kg"],
        ["expected", "8 in 10 to", high, "kg"],
    ]
    return rows
