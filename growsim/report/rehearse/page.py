"""The page of a rehearsal: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, holds_back, summaries, tables
from growsim.report.frame import Answer, model_section
from growsim.report.page import Block, Bullets, Caution, Grid, Page, Picture, Section, Text
from growsim.report.rehearse import figures, find_out
from growsim.report.rehearse import tables as own_tables
from growsim.report.rehearsed import Drawn, money_section, output_picture
from growsim.report.words import rehearsals, short_date
from growsim.vocabulary.dangers import HARVEST, SHELVES
from growsim.vocabulary.losses import PLANT_LOSSES

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.study.doubt import Doubts
    from growsim.study.tried import Held


def compose(rehearsal: Rehearsal, answer: Answer, figure_folder: Path, held: Held, doubts: Doubts) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = rehearsal.scenario, rehearsal.plan
    drawn = Drawn(rehearsal, figure_folder)
    last = summaries.last_day(scenario, plan.days)
    first = output_picture(drawn)
    return answer.page(
        f"{rehearsals(len(rehearsal.outcomes), plan.days)}, from "
        f"{short_date(scenario.room.start_date)} to {short_date(last)}",
        (
            _output(rehearsal, drawn),
            holds_back.section(held, scenario, plan.days),
            find_out.section(doubts, scenario, answer.provenance.figures, plan.days),
            _plants(rehearsal, drawn),
            _shelves(rehearsal, drawn),
            _people(rehearsal, drawn),
            _machines(rehearsal, drawn),
            money_section(rehearsal, drawn),
            _how_sure(rehearsal, drawn),
            model_section(),
        ),
        shows=first if isinstance(first, Picture) else None,
    )


def _output(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    blocks: list[Block] = [
        Grid(tables.figures_table(tables.FURTHER, "Further figures", rehearsal)),
    ]
    if drawn.has_weeks:
        blocks.append(Grid(tables.monthly(outcomes, scenario, rehearsal.weights)))
        if scenario.partners:
            blocks.append(Grid(tables.partners(outcomes, scenario, rehearsal.weights)))
        else:
            blocks.append(Text("No partner has a standing order; everything goes to open distribution."))
    blocks.append(Caution(cautions.beside(HARVEST, rehearsal.scenario.room.region)))
    return Section("output", "What the room gives", tuple(blocks))


def _plants(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    if not any(outcome.fates for outcome in outcomes):
        return Section("plants", "Where every seed went", (Text("No seed is sown in the counted time."),))
    year = summaries.typical(outcomes)
    nothing = not year.counted_outages and not any(any(year.weeks.get(loss.series, ())) for loss in PLANT_LOSSES)
    return Section(
        "plants",
        "Where every seed went",
        (
            drawn.picture(
                "every-seed",
                lambda: figures.every_seed(outcomes),
                "What became of 100 seeds sown in the counted time, on average. Seeds of the last weeks are still "
                "growing when counting ends.",
                lambda: own_tables.every_seed(outcomes),
            ),
            Grid(tables.crops(outcomes, scenario, rehearsal.weights)),
            Text("In the middle year no plant was lost once it was up, and no machine was down.")
            if nothing
            else drawn.picture(
                "losses-and-failures",
                lambda: figures.losses_and_failures(year, scenario),
                f"One year, whose output is the middle one of all {len(outcomes)}: when plants were lost, and which "
                f"machines were down (replication {year.replication}). Other years have other bad days.",
                lambda: own_tables.outages(year, scenario),
            ),
        ),
    )


def _shelves(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    if not any(rack.shelves for rack in scenario.racks):
        return Section("shelves", "The shelves through the year", (Text("The room has no shelves."),))
    return Section(
        "shelves",
        "The shelves through the year",
        (
            drawn.picture(
                "room-map",
                lambda: figures.room_map(outcomes, scenario),
                "Each strip is one stage on one rack, week by week. The number is how many slots (places for a tray) "
                "it fills on average in that month; the last, how many may hold it.",
                lambda: own_tables.room_map(outcomes, scenario),
            ),
            Caution(cautions.beside(SHELVES, rehearsal.scenario.room.region)),
        ),
    )


def _people(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    if not scenario.crew.shifts:
        return Section("people", "People", (Text("No shift is held."),))
    return Section(
        "people",
        "People",
        (
            drawn.picture(
                "crew-hours",
                lambda: figures.crew_hours(outcomes, scenario),
                "Hours in each week. Bars: worked. Stepped line: people are there. Dashed: work due, at a practiced "
                "pace. A triangle marks weeks with more work than hours.",
                lambda: own_tables.crew_hours(outcomes, scenario),
            ),
            *((Grid(own_tables.work_and_shifts(outcomes, scenario)),) if drawn.has_weeks else ()),
        ),
    )


def _machines(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    table = tables.machines(rehearsal.outcomes, rehearsal.scenario, rehearsal.plan.days)
    return Section(
        "machines",
        "Pumps, reservoirs, lights and air",
        (
            Grid(table) if table.rows else Text("No machine was down in any rehearsal."),
            Caution(cautions.beside_machines(rehearsal.scenario)),
        ),
    )


def _how_sure(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    warm_up = rehearsal.warm_up
    said = [
        "More rehearsals narrow the range of an average. Within the other range lie 8 of 10 single weeks or years: "
        "only a steadier room narrows that.",
        warm_up.sentence,
    ]
    blocks: list[Block] = [Bullets(tuple(said))]
    if warm_up.series:
        blocks.append(
            drawn.picture(
                "warm-up",
                lambda: figures.warm_up(warm_up.series, warm_up.truncation_week, rehearsal.plan.lead_in_days / 7),
                "Average output from the first week on: how long the room takes to fill, and whether counting starts "
                "after that (MSER-5).",
            )
        )
    return Section("how-sure", "How sure this is", tuple(blocks))
