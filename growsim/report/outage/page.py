"""The page of an outage study: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions
from growsim.report.frame import Answer, model_section, picture
from growsim.report.outage import figures as drawn
from growsim.report.outage import tables as outage_tables
from growsim.report.outage import words as outage_words
from growsim.report.outage.wall import wall_rows
from growsim.report.page import Behind, Block, Bullets, Caution, Grid, Page, Picture, Section, Text
from growsim.report.words import rehearsals

if TYPE_CHECKING:
    from growsim.study.outage.question import Outages


def compose(outages: Outages, answer: Answer, folder: Path) -> Page:
    """Draw every figure into `folder` and put the page together."""
    trials = outages.by_hours.trials
    return answer.page(
        (
            "What failures cost, how long there is, and what is worth buying; from "
            f"{rehearsals(outages.replications, outages.plan.days)} and simulated single outages"
        ),
        (
            _how_long(outages, folder),
            _one_outage(outages, folder),
            _a_year(outages),
            _protections(outages, folder),
            _how_sure(outages),
            model_section(),
        ),
        shows=_risks(outages, folder),
        facts=[
            (
                "rehearsals of each single outage",
                f"{trials.plant_replications} for plants, {trials.kg_replications} for greens",
            )
        ],
    )


def _how_long(outages: Outages, folder: Path) -> Section:
    rows = wall_rows(outages)
    return Section(
        "how-long",
        "How long have we got?",
        (
            Text("wall.html beside this page prints the chart below on one sheet, for the wall."),
            picture(
                lambda: drawn.wall(rows, outages.by_hours.trials.hours),
                folder,
                "wall",
                "Plants lost of 100 that stand where it strikes, by the hours until it is repaired, at the worst hour "
                "of the day. Right: when 1 plant in 20 is dead.",
                outage_tables.wall_numbers(outages),
            ),
            Text("what-to-do-first.html beside this page has a sheet for each machine, the most urgent first."),
            Grid(outage_tables.clock(outages)),
            Caution(cautions.beside_machines(outages.scenario)),
        ),
    )


def _one_outage(outages: Outages, folder: Path) -> Section:
    trials = outages.by_hours.trials
    several = {s.machine for s in outages.by_hours.strikes if s.month != outages.by_hours.strikes[0].month}
    kilograms = [
        (
            outage_words.struck(strike, strike.machine in several),
            [loss.kg for loss in outages.by_hours.kilograms if loss.strike == strike],
        )
        for strike in outages.by_hours.strikes
    ]
    shown = picture(
        lambda: drawn.kilograms_by_hours(kilograms, trials.hours),
        folder,
        "kilograms-by-hours",
        "Greens handed out less because of one outage, until all is made up that can be. The thick line is the "
        "95% range of the average; below zero is chance.",
        outage_tables.kilograms(outages),
    )
    return Section("one-outage", "What one outage costs", (shown,))


def _risks(outages: Outages, folder: Path) -> Picture | None:
    if not outages.year.machines:
        return None
    return picture(
        lambda: drawn.risks(outages),
        folder,
        "risks",
        "Mark: the average of a year; line: its range. What a line across zero shows may be chance.",
    )


def _a_year(outages: Outages) -> Section:
    dry = outage_words.dry_without_outage(outages)
    told = Grid(outage_tables.machines(outages)) if outages.year.machines else Text("By the room file nothing fails.")
    return Section("a-year", "What it costs in a year", (told, *((Text(dry),) if dry else ())))


def _protections(outages: Outages, folder: Path) -> Section:
    if not outages.year.protections:
        return Section("protections", "What is worth buying", (Text("Nothing that could fail can be protected."),))
    blocks: list[Block] = [
        picture(
            lambda: drawn.protections(outages),
            folder,
            "protections",
            "Greens that each protection keeps in a year. Filled marks: those that could be added. Hollow marks: "
            "those that are there. Line: the range of the average.",
        )
    ]
    blocks += [
        Grid(table) for added in (True, False) if (table := outage_tables.protections(outages, added=added)).rows
    ]
    if outages.year.pairs:
        blocks.append(Grid(outage_tables.pairs(outages)))
    blocks.append(
        Caution(
            (
                "A thermostat, an alarm or a battery is wired by a licensed electrician, to the local code, with "
                "ground-fault protection near water. An alarm helps only if somebody answers it: the model takes it "
                "that repair begins when it rings, by night too.",
            )
        )
    )
    return Section("protections", "What is worth buying", tuple(blocks))


def _how_sure(outages: Outages) -> Section:
    said = (
        "Every comparison is of the same years: the same machines fail at the same minute, as far as the change lets "
        "them.",
        "All is compared in the weeks from an outage until the plants that stood through it have been handed out. What "
        "differs later is chance alone.",
        "The ranges of a table hold for all its lines at once (Bonferroni's inequality); a single line alone would "
        "have a narrower one. More replications narrow them all.",
        "Plants killed in a year are counted twice: in the whole years, and outage by outage among the single "
        "outages. The table has both.",
        "How many hours dry, and degree-hours too warm or too cold, kill half is the planner's own figure. The shape "
        "of the curve is common practice. The hours are a guide, never a promise.",
    )
    return Section("how-sure", "How sure this is", (Bullets(said), Behind(outage_tables.wall_numbers(outages))))
