"""The page of a rehearsal: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, figures, stress_des, summaries, tables
from growsim.report import provenance as sources
from growsim.report.holds_back import HoldsBack
from growsim.report.page import Block, Bullets, Caution, Command, Facts, Grid, Model, Page, Picture, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.rehearse import figures as flow
from growsim.report.rehearse import figures as of_room
from growsim.report.rehearse import sentences
from growsim.report.rehearse import tables as own_tables
from growsim.report.tenths import tenths_section
from growsim.report.words import money, number, rehearsals, short_date

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from growsim.run.rehearse import Rehearsal
    from growsim.study.tenths import TenthsMore


def compose(
    rehearsal: Rehearsal,
    provenance: Provenance,
    finding: HoldsBack,
    answer: list[str],
    figure_folder: Path,
    tenths: TenthsMore | None = None,
) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = rehearsal.scenario, rehearsal.plan
    drawn = Drawn(rehearsal, figure_folder)
    last = summaries.last_day(scenario, plan.days)
    notes = tuple(note for note in (scenario.about, scenario.room.note) if note)
    return Page(
        title=f"{scenario.room.name}: the plan, rehearsed",
        under_title=(
            f"{rehearsals(len(rehearsal.outcomes), plan.days, 'possible')}, from "
            f"{short_date(scenario.room.start_date)} to {short_date(last)}, lived through on a computer"
        ),
        notes=notes,
        answers=tuple(zip((*sentences.ANSWER_HEADS, *(("A tenth more",) if tenths else ())), answer, strict=True)),
        cautions=(cautions.ALWAYS,),
        sections=(
            _output(rehearsal, drawn),
            _plants(rehearsal, drawn),
            _shelves(rehearsal, drawn),
            _people(rehearsal, drawn),
            _machines(rehearsal, drawn),
            money_section(rehearsal, drawn),
            *((tenths_section({"today": tenths}, plan.days, figure_folder),) if tenths else ()),
            _how_sure(rehearsal, drawn),
            Section(
                "model",
                "How the model works",
                (
                    Text(
                        "Described by the STRESS-DES checklist, so that somebody else could judge it or build it again."
                    ),
                    Model(stress_des.describe(rehearsal, provenance), stress_des.CITATION),
                ),
            ),
            _made_of(rehearsal, provenance),
        ),
    )


class Drawn:
    """Draws figures and makes pictures of them; leaves out those that need a whole week where there is none."""

    def __init__(self, rehearsal: Rehearsal, folder: Path) -> None:
        self.rehearsal, self.folder = rehearsal, folder
        self.has_weeks = summaries.week_count(rehearsal.outcomes) > 0

    def picture(
        self, name: str, draw: Callable[[], Figure], caption: str, *behind_it: Callable[[], tables.Table]
    ) -> Block:
        """The figure with its caption and tables, or a sentence where there is no whole week to draw."""
        if not self.has_weeks:
            return Text("No whole week was rehearsed, so there is nothing to draw here.")
        svg = figures.save(draw(), self.folder, name)
        made = tuple(table for table in (make() for make in behind_it) if table.rows)
        return Picture(name, caption, figures.for_page(svg, name, caption), made)


def output_picture(drawn: Drawn) -> Block:
    """Greens packed week by week, with their band, the plan on paper and the orders."""
    outcomes, scenario, paper = drawn.rehearsal.outcomes, drawn.rehearsal.scenario, drawn.rehearsal.on_paper
    return drawn.picture(
        "weekly-output",
        lambda: flow.weekly_output(outcomes, paper, scenario),
        "Greens packed in each week. Line: the middle of all rehearsals. Shaded: what a single week may bring, eight "
        "times in ten. Dashed: the plan on paper, with luck switched off. Dotted: what partners order in that week.",
        lambda: own_tables.weekly_output(outcomes, paper, scenario),
    )


def _output(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    blocks: list[Block] = [
        output_picture(drawn),
        Grid(tables.figures_table(tables.AT_A_GLANCE, "The main figures", rehearsal)),
    ]
    if drawn.has_weeks:
        blocks.append(Grid(tables.monthly(outcomes, scenario)))
        if scenario.partners:
            blocks.append(Grid(tables.partners(outcomes, scenario)))
        else:
            blocks.append(Text("No partner has a standing order; everything goes to open distribution."))
    blocks.append(Caution(cautions.beside_harvest()))
    return Section("output", "What the room gives", tuple(blocks))


def _plants(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    outcomes, scenario = rehearsal.outcomes, rehearsal.scenario
    if not any(outcome.fates for outcome in outcomes):
        return Section("plants", "Where every seed went", (Text("No seed is sown in the counted time."),))
    year = summaries.typical(outcomes)
    return Section(
        "plants",
        "Where every seed went",
        (
            drawn.picture(
                "every-seed",
                lambda: flow.every_seed(outcomes),
                "Of 100 seeds sown in the counted time: how many are harvested as plants, and what became of the "
                "others "
                "(average of all rehearsals). Seeds of the last weeks are still growing when counting ends.",
                lambda: own_tables.every_seed(outcomes),
            ),
            Grid(tables.crops(outcomes, scenario)),
            drawn.picture(
                "losses-and-failures",
                lambda: flow.losses_and_failures(year, scenario),
                f"Replication {year.replication}, whose output is the middle one of all {len(outcomes)}: when plants "
                f"were "
                "lost, and which machines were down. Other rehearsals have other bad days.",
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
                lambda: of_room.room_map(outcomes, scenario),
                "Each strip is one stage on one rack, week by week; the number is how many slots it fills on average "
                "in that "
                "month, the last how many slots may hold it. A slot may be open to more than one stage.",
                lambda: own_tables.room_map(outcomes, scenario),
            ),
            Caution(cautions.beside_shelves()),
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
                lambda: of_room.crew_hours(outcomes, scenario),
                "Person-hours in each week. Bars: hours worked. Stepped line: hours people are present. Dashed: "
                "hours of "
                "work falling due at a practiced pace. A triangle marks weeks with more work than hours.",
                lambda: own_tables.crew_hours(outcomes, scenario),
            ),
            *((Grid(own_tables.work_and_shifts(outcomes, scenario)),) if drawn.has_weeks else ()),
        ),
    )


def _machines(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    table = tables.machines(rehearsal.outcomes, rehearsal.plan.days)
    return Section(
        "machines",
        "Pumps, reservoirs, lights and air",
        (
            Grid(table) if table.rows else Text("No machine was down in any rehearsal."),
            Caution(cautions.beside_machines(rehearsal.scenario)),
        ),
    )


def money_section(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    """What it costs and what electricity it takes."""
    scenario, days = rehearsal.scenario, rehearsal.plan.days
    accounts, currency = summaries.accounts_per_week(rehearsal.outcomes, days), scenario.prices.currency
    blocks: list[Block] = [
        drawn.picture(
            "money-and-energy",
            lambda: of_room.money_and_energy(accounts, currency),
            f"Average of all rehearsals. Electricity is counted at "
            f"{money(scenario.prices.electricity_per_kwh, currency)} a "
            "kWh; every price is the room file's.",
            lambda: own_tables.accounts(accounts, currency),
        )
    ]
    value = rehearsal.estimates.get("volunteer_value_per_week")
    if value is not None and value.mean > 0:
        blocks.append(
            Text(
                f"Volunteer hours are worth {money(value.mean, currency)} a week at "
                f"{money(scenario.prices.volunteer_hour_value, currency)} an hour; that is shown beside the cost and "
                f"is "
                "not in it."
            )
        )
    return Section("money", "Money and energy", tuple(blocks))


def _how_sure(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    n, warm_up = len(rehearsal.outcomes), rehearsal.warm_up
    said = [
        f"This rests on {rehearsals(n, rehearsal.plan.days)}, each with its own luck.",
        "Two ranges are given. The range of the average says how well the average is known; more rehearsals narrow it. "
        "The other, within which 8 in 10 lie, says what a single week or year may bring; only a steadier room "
        "narrows it.",
        warm_up.sentence,
    ]
    if n == 1:
        said.insert(1, "With one rehearsal no range of the average can be given: ask for more replications.")
    blocks: list[Block] = [Bullets(tuple(said))]
    if warm_up.series:
        blocks.append(
            drawn.picture(
                "warm-up",
                lambda: of_room.warm_up(warm_up.series, warm_up.truncation_week, rehearsal.plan.lead_in_days / 7),
                "Average output from the first week on; it shows how long the room takes to fill and whether counting "
                "starts after that.",
            )
        )
    return Section("how-sure", "How sure this is", tuple(blocks))


def _made_of(rehearsal: Rehearsal, provenance: Provenance) -> Section:
    scenario, plan = rehearsal.scenario, rehearsal.plan
    named = list(sources.sources_given(scenario))
    own = (
        "Every figure about the room, its crops, people, machines and prices comes from the room file; where the file "
        "names a source it is listed here, the others are the planner's own."
    )
    return Section(
        "made-of",
        "Where this report comes from",
        (
            Text(own),
            Bullets(tuple(named)) if named else Text("The room file names no sources."),
            Text("To make this report again:"),
            Command(provenance.repeat_with),
            Facts(
                (
                    ("seed", str(rehearsal.seed)),
                    ("replications", number(len(rehearsal.outcomes))),
                    ("days counted", number(plan.days)),
                    ("days of warm-up before them", number(plan.lead_in_days)),
                    *provenance.rows(),
                )
            ),
        ),
    )
