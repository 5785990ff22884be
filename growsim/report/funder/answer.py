"""The funder's page: a quarter or a year of the room, as a page and a workbook, with honest doubt."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import cautions, summaries, tables
from growsim.report.frame import Answer, measures_of
from growsim.report.front import CSV_COLUMNS, Front
from growsim.report.funder import record as funder_record
from growsim.report.funder import words as funder_words
from growsim.report.page import Bullets, Caution, Grid, Page, Picture, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.rehearsed import Drawn, money_section, output_picture
from growsim.report.words import per_period, rehearsals, short_date
from growsim.report.worst import worst
from growsim.run.writing import write_bytes
from growsim.scenario.spreadsheets import workbook_bytes
from growsim.study.trials import untried
from growsim.vocabulary.dangers import HARVEST
from growsim.vocabulary.losses import FATES, Fate, Loss

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.record.record import Records
    from growsim.study.funder.record import RecordSums
    from growsim.study.tried import Held

    Kept = tuple[RecordSums, Records]

FIGURE_HEADS = (
    "figure", "unit", "average", "average at least", "average at most", "8 in 10 from", "8 in 10 to", "of",
    "rehearsals",
)  # fmt: skip
FIGURES = (
    "kg_handed_out_per_week", "servings_per_week", "plants_harvested_per_week", "orders_filled_fraction",
    "volunteers_came_per_week", "volunteer_value_per_week", "cost_per_week", "cost_per_kg", "cost_per_plant",
    "kwh_per_kg", "liters_per_kg", "machine_failures", "power_outages",
)  # fmt: skip


def write_funder(
    rehearsal: Rehearsal,
    out: Path,
    *,
    provenance: Provenance,
    replace: bool = False,
    held: Held | None = None,
    kept: Kept | None = None,
) -> dict[str, Any]:
    """Write report.html, funder.xlsx, summary.json and the figures into `out`, all or nothing; give the summary.

    held: what holds the room back, and what was tried against it. kept: what the record shows of that time, and the
    record itself; told before what is expected. Raises OutputError where `out` exists (unless `replace`) or cannot be
    written.
    """
    plan, held = rehearsal.plan, held or untried(rehearsal.outcomes, rehearsal.scenario)
    front = funder_words.front(rehearsal, held, kept[0] if kept else None)
    answer = Answer(
        provenance, rehearsal.scenario, rehearsal.seed, len(rehearsal.outcomes), plan.days, plan.lead_in_days,
        front=front,
    )  # fmt: skip

    def files(folder: Path) -> None:
        sheets = workbook_sheets(rehearsal, front)
        if kept:
            sheets["On record"] = funder_record.sheet_rows(kept[0], rehearsal)
        write_bytes(folder / "funder.xlsx", workbook_bytes(sheets))

    summary = answer.summary(
        measures_of(rehearsal.estimates, plan.days),
        done_about_losses=funder_words.protections(rehearsal.scenario),
        accounts_per_week=summaries.accounts_per_week(rehearsal.outcomes, plan.days),
    )
    return answer.write(out, summary, lambda folder: _page(rehearsal, answer, folder, kept), files, replace=replace)


def _page(rehearsal: Rehearsal, answer: Answer, figure_folder: Path, kept: Kept | None) -> Page:
    scenario, plan, outcomes = rehearsal.scenario, rehearsal.plan, rehearsal.outcomes
    drawn = Drawn(rehearsal, figure_folder)
    last = summaries.last_day(scenario, plan.days)
    machines = tables.machines(outcomes, scenario, plan.days)
    monthly = (Grid(tables.monthly(outcomes, scenario, rehearsal.weights)),) if drawn.has_weeks else ()
    partners = (
        (Grid(tables.partners(outcomes, scenario, rehearsal.weights)),) if drawn.has_weeks and scenario.partners else ()
    )
    output = output_picture(drawn)
    told = () if isinstance(output, Picture) else (output,)
    bad = worst(outcomes, scenario, plan.days)
    return answer.page(
        f"From {short_date(scenario.room.start_date)} to {short_date(last)}: what the plan can be expected to "
        f"bring, from {rehearsals(len(outcomes), plan.days)}",
        (
            *((funder_record.section(*kept),) if kept else ()),
            Section(
                "food",
                "Food to be expected" if kept else "Food handed out",
                (*told, *monthly, *partners, Caution(cautions.beside(HARVEST, scenario.room.region))),
            ),
            money_section(rehearsal, drawn),
            Section(
                "losses",
                "Losses, and what is done about them",
                (
                    *((Bullets(tuple(bad)),) if bad else ()),
                    Bullets(tuple(funder_words.protections(scenario))),
                    Grid(_fates(rehearsal)),
                    Grid(machines) if machines.rows else Text("No machine was down in any rehearsal."),
                ),
            ),
            Section(
                "how-sure",
                "How sure this is",
                (
                    Text(
                        f"{'But for what is on record, these' if kept else 'These'} are expectations from a "
                        "simulation of the room, not a record of it. The range of the "
                        "average says how well the average is known; within the other range 8 weeks (or rehearsals) "
                        "in 10 lie."
                    ),
                    Grid(tables.figures_table(FIGURES, "The main figures", rehearsal)),
                    Text(rehearsal.warm_up.sentence),
                ),
            ),
        ),
        shows=output if isinstance(output, Picture) else None,
    )


def _fates(rehearsal: Rehearsal) -> tables.Table:
    """Where the seeds went, on average, and what is done about it."""
    fates = summaries.all_crops(summaries.fate_means(rehearsal.outcomes))
    sown = math.fsum(fates.values())
    rows = tuple(
        (
            f"{fate.label} (what helps: {helps})" if (helps := _helps(fate)) else fate.label,
            f"{fates[fate.key]:,.0f}",
            f"{100 * fates[fate.key] / sown:.1f}",
        )
        for fate in sorted(FATES, key=lambda fate: -fates[fate.key])
        if fates[fate.key] > 0
    )
    return tables.Table("Where every seed went, on average", ("what became of them", "seeds", "of 100 sown"), rows)


def _helps(fate: Fate) -> str:
    return fate.helps if isinstance(fate, Loss) else ""


def workbook_sheets(rehearsal: Rehearsal, front: Front) -> dict[str, list[list[Any]]]:
    """The workbook: sentences, figures with their ranges, weeks, accounts, losses. Numbers are numbers, texts texts."""
    days = rehearsal.plan.days
    figures: list[list[Any]] = [list(FIGURE_HEADS)]
    figures += [
        [
            CATALOGUE[key].label, per_period(CATALOGUE[key].unit, days), found.mean, found.mean_low, found.mean_high,
            found.p10, found.p90, found.of, found.n,
        ]
        for key, found in rehearsal.estimates.items()
    ]  # fmt: skip
    series = ("kg_handed_out", "servings", "kg_to_partners", "kg_ordered", "volunteers_came", "kwh", "liters")
    weekly = {name: summaries.weekly_mean(rehearsal.outcomes, name) for name in series}
    starts = summaries.week_starts(rehearsal.scenario, days // 7)
    weeks: list[list[Any]] = [["week from", *series]]
    weeks += [[start.isoformat(), *(float(weekly[name][row]) for name in series)] for row, start in enumerate(starts)]
    accounts = summaries.accounts_per_week(rehearsal.outcomes, days)
    fates = summaries.all_crops(summaries.fate_means(rehearsal.outcomes))
    return {
        "In words": [["about", "sentence"], *([head, sentence] for head, sentence in front.said())],
        "The answer": [list(CSV_COLUMNS), *front.table.csv_rows()],
        "Figures": figures,
        "Weeks": weeks,
        "Accounts a week": [["account", "a week, on average"], *([name, amount] for name, amount in accounts.items())],
        "Seeds": [
            ["what became of them", "seeds, on average", "what helps"],
            *([fate.label, fates[fate.key], _helps(fate)] for fate in FATES),
        ],
        "Against losses": [["what is done"], *([text] for text in funder_words.protections(rehearsal.scenario))],
    }
