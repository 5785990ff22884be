"""The log book of one replication: every happening as a line of a CSV file, its story, and its figures in sentences.

Text is made from the typed records of the ledger, here and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.ledger.book import Book
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.report.frame import Answer, write_summary
from growsim.report.provenance import Provenance
from growsim.report.rehearse.story import story
from growsim.report.tables import shown
from growsim.report.words import per_period
from growsim.run.writing import Cell, write_csv, write_text
from growsim.scenario.calendar import Calendar, day_of
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.losses import PLANT_LOSSES

if TYPE_CHECKING:
    from growsim.scenario.plan import RunPlan

FILE = "logbook.csv"
STORY = "story.txt"
COLUMNS = ("minute", "date", "time", "happening", "about", "details")
_TOLD = (
    "kg_handed_out_per_week",
    "kg_to_partners_per_week",
    "orders_filled_fraction",
    "weeks_all_orders_met_fraction",
    "plants_harvested",
    *(loss.measure for loss in PLANT_LOSSES),
    "tasks_on_time_fraction",
    "machine_failures",
    "power_outages",
    "floods_missed",
)
_ABOUT = (
    "lot",
    "reservoir",
    "machine",
    "partner",
    "shift",
    "task",
    "person",
)  # whom a record is about, first one it has


def lines(book: Book, scenario: Scenario) -> Iterator[tuple[Cell, ...]]:
    """The book, happening by happening, with dates and hours of the day."""
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    for record in book.records:
        fields: dict[str, Any] = record._asdict()
        minute = fields.pop("minute")
        about = next((str(fields.pop(key)) for key in _ABOUT if key in fields), "")
        of_day = minute % MINUTES_PER_DAY
        yield (
            minute,
            calendar.date(day_of(minute)).isoformat(),
            f"{of_day // 60:02d}:{of_day % 60:02d}",
            _in_words(type(record).__name__),
            about,
            "; ".join(f"{key.replace('_', ' ')} {_shown(value)}" for key, value in fields.items() if value != ""),
        )


def summary_of(
    outcome: Outcome, scenario: Scenario, plan: RunPlan, seed: int, provenance: Provenance
) -> dict[str, Any]:
    """summary.json of one replication: its own figures, which are one rehearsed year and no average."""
    said = tuple(("", sentence) for sentence in answer(outcome, scenario, plan.days))
    stated = Answer(provenance, scenario, seed, 1, plan.days, plan.lead_in_days, said)
    measures = {key: _measure_entry(key, value, plan.days) for key, value in outcome.measures.items()}
    return stated.summary(measures, replication=outcome.replication)


def _measure_entry(key: str, value: float, days: int) -> dict[str, Any]:
    """One figure with its name and unit; a key such as shelf_fill_fraction:seedling is the first's, of the second."""
    of_all, _, part = key.partition(":")
    measure = CATALOGUE[of_all]
    label = f"{measure.label} ({part})" if part else measure.label
    return {"label": label, "unit": per_period(measure.unit, days), "value": value}


def answer(outcome: Outcome, scenario: Scenario, days: int) -> list[str]:
    """What came of this one replication, in sentences."""
    first = (
        f"{scenario.room.name}, replication {outcome.replication} alone: one possible run of {days} days, "
        "not an average."
    )
    told = []
    for key in _TOLD:
        if key in outcome.measures:
            measure = CATALOGUE[key]
            value = shown(key, outcome.measures[key], scenario.prices.currency)
            unit = "" if measure.unit == "fraction" else f", {per_period(units.unit(measure.unit), days).split('/')[0]}"
            told.append(f"{units.worded(measure.label)}{unit}: {value}.")
    return [first, *told]


def write(book: Book, scenario: Scenario, folder: Path, summary: dict[str, Any]) -> None:
    """The log book, the story told day by day and the replication's summary, into a folder."""
    write_csv(folder / FILE, COLUMNS, lines(book, scenario))
    write_text(folder / STORY, story(book.records, scenario))
    write_summary(folder, summary)


def _in_words(name: str) -> str:
    """'FloodMissed' as 'flood missed'."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.3f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
