"""The page of promises: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, figures, model_text
from growsim.report import provenance as sources
from growsim.report.page import Behind, Block, Bullets, Caution, Command, Facts, Grid, Page, Picture, Section, Text
from growsim.report.promise import figures as figures_promise
from growsim.report.promise import tables
from growsim.report.provenance import Provenance
from growsim.report.words import counted, day_and_date, number, short_date

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from growsim.study.promise.answer import Promises


def compose(promises: Promises, provenance: Provenance, answer: list[tuple[str, str]], figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario = promises.scenario
    last = promises.date + dt.timedelta(days=promises.plan.days - 1)
    return Page(
        title=f"{scenario.room.name}: what can be promised",
        under_title=(
            f"From what stands on the shelves on {day_and_date(promises.date)} to {short_date(last)}, lived through on "
            f"a computer {counted(len(promises.outcomes), 'time')}"
        ),
        notes=tuple(note for note in (scenario.about, scenario.room.note) if note),
        answers=tuple(answer),
        cautions=(cautions.ALWAYS,),
        sections=(
            _amounts(promises, figure_folder),
            *((_orders(promises, figure_folder),) if promises.deliveries else ()),
            *((_saving(promises),) if promises.rescues else ()),
            _how_sure(promises),
            Section("model", "How the model works", (Bullets(model_text.LOGIC),)),
            _made_of(promises, provenance),
        ),
    )


def _picture(draw: Callable[[], Figure], folder: Path, name: str, caption: str) -> Picture:
    return Picture(name, caption, figures.for_page(figures.save(draw(), folder, name), name, caption))


def _amounts(promises: Promises, folder: Path) -> Section:
    blocks: list[Block] = [
        _picture(
            lambda: figures_promise.weeks_ahead(promises),
            folder,
            "weeks-ahead",
            "What there will be to hand out, week by week. Dark: safe, at least that comes in 90 of 100 rehearsals. "
            "Black line: likely, in 50. Top of the pale bar: possible, in 10. Dotted: what standing orders take. "
            "Where the dotted line lies above the dark bar, the order is not safe.",
        ),
        Grid(tables.by_week(promises)),
        *((Grid(tables.given_up(promises)),) if promises.given_up else ()),
        Caution(cautions.beside_harvest()),
    ]
    return Section("amounts", "What there will be, week by week", tuple(blocks))


def _orders(promises: Promises, folder: Path) -> Section:
    return Section(
        "orders",
        "Standing orders",
        (
            _picture(
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
                    f"This rests on {counted(n, 'rehearsal')} of the coming weeks, each with its own luck: seed, "
                    "growth, people, machines, power. Safe is the amount that 90 of 100 give at least; with "
                    f"{counted(n, 'rehearsal')} the 90 is itself known to about {give_or_take} either way.",
                    "The count of the shelves is taken as right, and as made in the morning before any work. Plants "
                    "are taken to be as big as their age says, each lot with its own slowness or speed; what cannot be "
                    "seen from the file (a pump that fails today, trays waiting to be washed) is taken as in order.",
                    "After the weeks that stand on the shelves today, what is promised rests on the sowing plan of the "
                    "room file being kept.",
                    "Greens in the cooler today count only if the shelves file lists them (stage `cooler`).",
                )
            ),
        ),
    )


def _made_of(promises: Promises, provenance: Provenance) -> Section:
    named = list(sources.sources_given(promises.scenario))
    return Section(
        "made-of",
        "Where this report comes from",
        (
            Text(
                "Every figure about the room comes from the room file, what stands today from the shelves file; where "
                "the room file names a source it is listed here, the others are the planner's own."
            ),
            Bullets(tuple(named)) if named else Text("The room file names no sources."),
            Text("To make it again:"),
            Command(provenance.repeat_with),
            Facts(
                (
                    ("today", promises.date.isoformat()),
                    ("lots on the shelves", number(len(promises.today.lots))),
                    ("seed", str(promises.seed)),
                    ("rehearsals", number(len(promises.outcomes))),
                    ("rehearsals of each thing tried", number(promises.rescues[0].n if promises.rescues else 0)),
                    ("days ahead", number(promises.plan.days)),
                    *provenance.rows(),
                )
            ),
        ),
    )
