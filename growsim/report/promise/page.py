"""The page of promises: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions
from growsim.report.frame import Answer, model_section, picture
from growsim.report.page import Behind, Block, Bullets, Caution, Grid, Page, Section, Text
from growsim.report.promise import figures as figures_promise
from growsim.report.promise import tables
from growsim.report.words import counted, day_and_date, number, short_date
from growsim.vocabulary.dangers import HARVEST

if TYPE_CHECKING:
    from growsim.study.promise.answer import Promises


def compose(promises: Promises, answer: Answer, figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    last = promises.date + dt.timedelta(days=promises.plan.days - 1)
    return answer.page(
        (
            f"From what stands on the shelves on {day_and_date(promises.date)} to {short_date(last)}, simulated "
            f"{counted(len(promises.outcomes), 'time')}"
        ),
        (
            _amounts(promises),
            *((_orders(promises, figure_folder),) if promises.deliveries else ()),
            *((_saving(promises),) if promises.rescues else ()),
            _how_sure(promises),
            model_section(),
        ),
        shows=picture(
            lambda: figures_promise.weeks_ahead(promises),
            figure_folder,
            "weeks-ahead",
            "Lower part of a bar: safe. Line across it: likely. Its top: possible. Dotted: what standing orders take. "
            "Where it lies above the lower part, the orders of that week are not all safe together.",
        ),
        facts=(
            ("today", promises.date.isoformat()),
            ("sowings on the shelves", number(len(promises.today.lots))),
            ("rehearsals of each thing tried", number(promises.rescues[0].n if promises.rescues else 0)),
        ),
    )


def _amounts(promises: Promises) -> Section:
    blocks: list[Block] = [
        Grid(tables.by_week(promises)),
        *((Grid(tables.given_up(promises)),) if promises.given_up else ()),
        Caution(cautions.beside(HARVEST, promises.scenario.room.region)),
    ]
    return Section("amounts", "Crop by crop, week by week", tuple(blocks))


def _orders(promises: Promises, folder: Path) -> Section:
    return Section(
        "orders",
        "Standing orders",
        (
            picture(
                lambda: figures_promise.certainty(promises),
                folder,
                "certainty",
                "Each field is one delivery; the number says in how many of 100 rehearsals it is met in full. Hatched "
                "fields are at risk. A week without a field has no pick-up.",
            ),
            Behind(tables.by_partner(promises)),
        ),
    )


def _saving(promises: Promises) -> Section:
    return Section(
        "saving",
        "What would save the deliveries at risk",
        (
            Text(
                "Each thing was tried by itself in the same rehearsals; the best were then tried together. Sowing more "
                "today helps only weeks that lie beyond the crop's days from seed to knife. The folder `changes` "
                "beside this page holds each one that helps as a CHANGE file for `growsim compare` and "
                "`growsim keep`."
            ),
            Grid(tables.tried(promises)),
        ),
    )


def _how_sure(promises: Promises) -> Section:
    n = len(promises.outcomes)
    give_or_take = number(100 * (0.9 * 0.1 / (n + 2)) ** 0.5, 0)
    return Section(
        "how-sure",
        "How sure this is",
        (
            Bullets(
                (
                    f"Safe is the amount that 90 of 100 give at least; with "
                    f"{counted(n, 'rehearsal')} the 90 is itself known to about {give_or_take} either way.",
                    "The count of the shelves is taken as right, and as made in the morning before any work. Plants "
                    "are taken to be as big as their age says. What the file does not show, such as trays to be "
                    "washed, is taken as in order.",
                    "After the weeks that stand on the shelves today, what is promised rests on the sowing plan of the "
                    "room file being kept.",
                    "Greens in the cooler today count only if the shelves file lists them (stage `cooler`).",
                )
            ),
        ),
    )
