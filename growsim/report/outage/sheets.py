"""The pages to print: the chart for the wall on one sheet, and a sheet of what to do first for each machine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, figures
from growsim.report.outage import words as outage_words
from growsim.report.outage.to_do import TO_DO
from growsim.report.outage.wall import Urgency, by_urgency, half_lost
from growsim.report.page import environment
from growsim.report.words import upper_first
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, MachineKind, tried_with

if TYPE_CHECKING:
    from growsim.study.outage.question import Outages

HYGIENE = "Clean hands before touching plants or trays; solution from the floor never goes back into a reservoir."
FOOT = (
    "Worked out by growsim from the room's own description: a guide, not a promise, and no safety limit. Follow the "
    "local code; wiring and the heat pump are for licensed people."
)


@dataclass(frozen=True)
class Sheet:
    """One page. time_left: in large letters. facts: what the hours are. steps: in order. afterwards: once it runs."""

    title: str
    time_left: str
    facts: tuple[str, ...]
    steps: tuple[str, ...]
    afterwards: tuple[str, ...]
    cautions: tuple[str, ...]


def sheets(outages: Outages) -> list[Sheet]:
    """A sheet for each machine, the one with least time left first."""
    made: dict[str, Sheet] = {}
    for urgent in by_urgency(outages):
        if urgent.machine not in made:
            made |= {row.key: sheet_of(row, outages, urgent) for row in tried_with(BY_KEY[urgent.machine])}
    return list(made.values())


def sheet_of(row: MachineKind, outages: Outages, urgent: Urgency) -> Sheet:
    """The sheet of one kind of machine; how urgent it is may be told by the kind that was tried in its stead."""
    todo, region = TO_DO[row.key](outages), outages.scenario.room.region
    time_left = _time(urgent, outages)
    facts = _dry_facts(outages, urgent) if row.stops_water else ()
    hygiene = (f"{HYGIENE} {cautions.warm_greens(region)}",) if row.stops_water else ()
    instead = () if row.can_kill else (f"{upper_first(row.instead)}.",)
    return Sheet(
        row.head + todo.also,
        f"{time_left} {todo.warning}".strip(),
        (*facts, *instead, *todo.facts),
        todo.steps,
        todo.afterwards,
        (*cautions.beside(row.dangers, region), *hygiene),
    )


def _time(urgent: Urgency, outages: Outages) -> str:
    """Hours until the first die, and what the chart for the wall says of half of them."""
    when = f" in {MONTHS[urgent.month]}" if urgent.by_month else ""
    if urgent.first_die is None:
        return f"No plant dies within a week, even{when} at worst." if when else "No plant dies within a week."
    first = f"1 plant in 20 is dead {outage_words.after(urgent.first_die)}, at worst{when}."
    half = half_lost(outages, urgent.machine, urgent.month)
    if half is None:
        return first
    name, hours = half
    of = name if name == "all plants" else f"the plants in {name}"
    return f"{first} Repaired only after {outage_words.repaired_after(hours)}, half of {of} are dead, or more."


def _dry_facts(outages: Outages, urgent: Urgency) -> tuple[str, ...]:
    """Stage by stage, the one with least time first."""
    from growsim.study.outage.clock import of_stage

    lines = [line for line in outages.clock if (line.machine, line.month) == (urgent.machine, urgent.month)]
    stages = list(dict.fromkeys(line.stage for line in lines))
    found = {stage: of_stage(lines, stage)[1].worst for stage in stages}
    stages.sort(key=lambda stage: math.inf if found[stage] is None else found[stage] or 0.0)
    said = [f"{stage}: {outage_words.after(found[stage])}" for stage in stages]
    return (f"1 plant in 20 is dead, stage by stage: {'; '.join(said)}.",)


def wall_page(outages: Outages, figure_folder: Path) -> str:
    """The chart for the wall as a page of its own. `figure_folder` holds it."""
    svg = figures.saved(figure_folder, "wall", "How long have we got?")
    return (
        environment()
        .get_template("wall.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            svg=svg,
            caution=cautions.beside(("water and power",), outages.scenario.room.region)[0],
            foot=FOOT,
        )
    )


def first_pages(outages: Outages) -> str:
    """A sheet for each machine, in the order of time left."""
    return (
        environment()
        .get_template("first.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            sheets=sheets(outages),
            foot=FOOT,
        )
    )
