"""Tables of a rehearsal, ready to be shown: every cell is text with its unit in the heading."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.words import (
    a_period,
    eight_in_ten,
    mass_cell,
    not_seen,
    number,
    of_the_room,
    per_period,
    percent,
    seen,
    sensible,
    small_mass_cell,
    span,
)
from growsim.report.worst import cells_skipped
from growsim.scenario.origin import RoomFigure
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import FATES, HARVESTED, PLANT_LOSSES
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.demand import Prices


@dataclass(frozen=True)
class Table:
    """A table as a reader sees it. The first column is text, the others are set to the right."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


def whose_table(listed: Sequence[RoomFigure]) -> Table:
    """Every figure of a room: what it is, whose, and where it comes from."""
    rows = [(each.key, units.with_unit(each.value, each.unit), each.whose, each.source) for each in listed]
    return Table("Every figure of the room", ("figure", "value", "whose", "source"), tuple(rows))


ANSWER_ROWS = (
    "orders_filled_fraction",
    "weeks_all_orders_met_fraction",
    "kg_handed_out_per_week",
    "kg_packed_per_week",
    "kg_wasted_per_week",
    "sowings_skipped",
    "crew_hours_needed_per_week",
    "crew_hours_present_per_week",
    "cost_per_week",
    "cost_per_kg",
)
"""Figures of a year as the page of an answer has them, in this order, whichever question is asked."""

FURTHER = (
    "plants_harvested_per_week",
    "servings_per_week",
    "shelf_fill_fraction",
    "tasks_on_time_fraction",
    "days_sown_to_harvest_mean",
    "hours_harvest_to_pickup_mean",
    "machine_failures",
    "air_temperature_max_c",
    "kwh_per_kg",
    "liters_per_kg",
    "cost_per_plant",
    "volunteer_value_per_week",
)


def shown(key: str, value: float | None, currency: str) -> str:
    """A catalogue figure as text, in the reader's unit; "–" where it does not exist."""
    return "–" if value is None else between(key, value, value, currency)


def between(key: str, low: float, high: float, currency: str) -> str:
    """Two values of a catalogue figure: "28.1 to 43.0"; one where they read the same."""
    told = told_as(key, low, high)
    one, other = told(low), told(high)
    said = one if one == other else f"{one} to {other}"
    return f"{currency} {said}" if CATALOGUE[key].unit.startswith("money/") else said


def told_as(key: str, *values: float) -> Callable[[float], str]:
    """How such values of a catalogue figure are written side by side: in the reader's unit, which is left out."""
    measure = CATALOGUE[key]
    if measure.unit == "fraction":
        return percent
    decimals = measure.decimals + units.as_shown(measure.unit).more
    if measure.unit.startswith("money/"):
        decimals = 0 if max(abs(units.amount(each, measure.unit)) for each in values) >= 100 else 2
    return lambda value: seen(units.amount(value, measure.unit), decimals)


def priced_in(prices: Prices) -> str:
    """The currency; and that nothing but electricity has a price in the room file, where that is so."""
    others = (
        prices.water_per_m3, prices.nutrient_per_kg, prices.plug_each, prices.packing_per_kg, prices.co2_per_kg,
        prices.fixed_per_week, prices.lead_hour,
    )  # fmt: skip
    return prices.currency if any(others) else f"{prices.currency} (electricity only)"


def row_label(key: str, days: int, currency: str) -> str:
    """The head of a row of the answer's table, with the unit that its cells leave out."""
    return label_with_unit(key, days) + (f", {currency}" if CATALOGUE[key].unit.startswith("money/") else "")


def label_with_unit(key: str, days: int) -> str:
    """The label with its unit, where the label does not say it already."""
    measure = CATALOGUE[key]
    label, unit = units.worded(measure.label), per_period(units.unit(measure.unit), days).removesuffix("/week")
    if unit == "fraction" or unit.startswith("money") or unit.split("/")[0] in label.lower():
        return label
    return f"{label}, {unit}"


def figures_table(keys: Sequence[str], title: str, rehearsal: Rehearsal) -> Table:
    """Catalogue figures with both ranges and the plan on paper."""
    estimates, on_paper, days = rehearsal.estimates, rehearsal.on_paper, rehearsal.plan.days
    currency = rehearsal.scenario.prices.currency
    rows = []
    for key in keys:
        found = estimates.get(key)
        if found is None:
            continue
        average = "–"
        if found.mean_low is not None and found.mean_high is not None:
            average = between(key, found.mean_low, found.mean_high, currency)
        elif found.mean_low is not None:
            average = not_seen(found, days) or f"{shown(key, found.mean_low, currency)} or more"
        rows.append(
            (
                label_with_unit(key, days),
                "–" if found.not_seen else shown(key, found.mean, currency),
                average,
                between(key, found.p10, found.p90, currency),
                eight_in_ten(found.of, days).split()[1],
                shown(key, on_paper.measures.get(key), currency),
            )
        )
    return Table(
        title,
        ("", "on average", "range of the average (95%)", "8 in 10 lie within", "of all", "on paper"),
        tuple(rows),
        "On paper: the same plan with nothing by chance.",
    )


def monthly(outcomes: Sequence[Outcome], scenario: Scenario, weights: Sequence[float] = ()) -> Table:
    """Month by month: greens, orders, hours, late tasks, plants lost. Means a week over all rehearsals."""
    weeks = summaries.week_count(outcomes)
    names = ("kg_packed", "kg_handed_out", "kg_ordered", "kg_to_partners", "crew_hours_needed", "crew_hours_present")
    series = {name: summaries.weekly_mean(outcomes, name) for name in ("tasks_done", "tasks_late")}
    for name in names:
        series[name] = summaries.weekly_mean(outcomes, name, weights if name.startswith("kg_") else ())
    lost = np.sum([summaries.weekly_mean(outcomes, loss.series) for loss in PLANT_LOSSES], axis=0)
    rows = []
    for month in summaries.months(scenario, weeks):
        of_month = list(month.weeks)
        mean = {name: float(values[of_month].mean()) for name, values in series.items()}
        filled = mean["kg_to_partners"] / mean["kg_ordered"] if mean["kg_ordered"] > 0 else None
        has_work = mean["tasks_done"] > 0 and not summaries.is_closed(month, scenario)
        late = mean["tasks_late"] / mean["tasks_done"] if has_work else None
        rows.append(
            (
                month.label,
                mass_cell(mean["kg_packed"]),
                mass_cell(mean["kg_handed_out"]),
                percent(filled) if filled is not None else "–",
                number(mean["crew_hours_needed"], 1),
                number(mean["crew_hours_present"], 1),
                percent(late) if late is not None else "–",
                number(float(lost[of_month].mean()), 1),
            )
        )
    return Table(
        "Month by month (averages a week)",
        (
            "month",
            f"{units.unit('kg')} packed",
            f"{units.unit('kg')} handed out",
            "orders filled",
            "hours of work due",
            "hours present, with the lead",
            "tasks late",
            "plants lost",
        ),
        tuple(rows),
        "A week counts for the month its fourth day falls in. Plants lost: once up, extra seedlings left out.",
    )


def partners(outcomes: Sequence[Outcome], scenario: Scenario, weights: Sequence[float] = ()) -> Table:
    """Partner by partner: ordered, received, share filled, weeks short."""
    rows = []
    for partner in scenario.partners:
        ordered = summaries.matrix(outcomes, f"kg_ordered:{partner.name}")
        received = summaries.matrix(outcomes, f"kg_to:{partner.name}")
        if not ordered.size:
            continue
        asked, got = float(ordered.mean()), float(summaries.mean_over(received, weights).mean())
        short = (received < ordered - 0.0005) & (ordered > 0)
        rows.append(
            (
                partner.name,
                mass_cell(asked),
                mass_cell(got),
                percent(got / asked) if asked > 0 else "–",
                f"{number(float(short.sum(axis=1).mean()), 1)} of {ordered.shape[1]}",
            )
        )
    return Table(
        "Partners (averages a week)",
        ("partner", f"{units.unit('kg')} ordered", f"{units.unit('kg')} received", "share filled", "weeks short"),
        tuple(rows),
        "A week is short where the partner receives less than ordered.",
    )


def crops(outcomes: Sequence[Outcome], scenario: Scenario, weights: Sequence[float] = ()) -> Table:
    """Crop by crop: seeds, share harvested, output, grams a plant. A crop that is never sown keeps its row."""
    rows = []
    skipped, met = cells_skipped(outcomes), summaries.fate_means(outcomes)
    planned_crops = {line.crop for line in scenario.sowing}
    for crop in dict.fromkeys((*met, *(each.name for each in scenario.crops if each.name in planned_crops))):
        fates = met.get(crop, dict.fromkeys((fate.key for fate in FATES), 0.0))
        sown = math.fsum(fates.values())
        packed = summaries.matrix(outcomes, f"kg_packed:{crop}")
        plants = summaries.matrix(outcomes, f"plants_harvested:{crop}")
        kilograms = float(summaries.mean_over(packed, weights).mean()) if packed.size else 0.0
        heads = float(plants.mean()) if plants.size else 0.0
        lost = summaries.lost(fates)
        planned = next((each.typical_days for each in scenario.crops if each.name == crop), None)
        rows.append(
            (
                crop,
                number(sown),
                number(skipped.get(crop, 0.0)),
                percent(fates[HARVESTED.key] / sown) if sown > 0 else "–",
                percent(lost / sown) if sown > 0 else "–",
                number(heads, 1),
                mass_cell(kilograms),
                small_mass_cell(1000 * kilograms / heads) if heads > 0 else "–",
                number(planned, 0) if planned is not None else "–",
            )
        )
    return Table(
        "Crops",
        (
            "crop",
            "seeds sown",
            "cells not sown",
            "harvested",
            "lost once up",
            "plants harvested a week",
            f"{units.unit('kg')} a week",
            f"{units.unit('g')} a plant",
            "days, as planned",
        ),
        tuple(rows),
    )


def machines(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> Table:
    """Machine by machine: failures, how long until noticed and until repaired."""
    spells: dict[str, list[tuple[int, int | None, int | None]]] = {}
    for outcome in outcomes:
        for o in outcome.counted_outages:
            spells.setdefault(of_the_room(BY_KEY[o.machine].at(o.where), scenario), []).append(
                (o.down_minute, o.noticed_minute, o.repaired_minute)
            )
    rows = []
    for name, several in sorted(spells.items()):
        unnoticed = [noticed - down for down, noticed, _ in several if noticed is not None]
        down_for = [repaired - down for down, _, repaired in several if repaired is not None]
        rows.append(
            (
                name,
                sensible(len(several) / len(outcomes)),
                span(sum(unnoticed) / len(unnoticed)) if unnoticed else "–",
                span(sum(down_for) / len(down_for)) if down_for else "–",
                span(max(down_for)) if down_for else "–",
            )
        )
    return Table(
        "Machines that were down",
        ("machine", f"times {a_period(days)}", "until noticed, on average", "until up again, on average", "longest"),
        tuple(rows),
        f"Over all {len(outcomes)} rehearsals; a spell still open at the end counts as a failure but has no length.",
    )
