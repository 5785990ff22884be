"""The page of a sowing plan: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, figures, model_text, summaries
from growsim.report import provenance as sources
from growsim.report.page import Behind, Block, Bullets, Caution, Command, Facts, Grid, Page, Picture, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.sow import figures as figures_sow
from growsim.report.sow import tables
from growsim.report.words import counted, number, percent, rehearsals, short_date

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from growsim.study.sow.answer import SowingPlan


def compose(plan: SowingPlan, provenance: Provenance, answer: list[tuple[str, str]], figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario = plan.room.scenario
    last = summaries.last_day(scenario, plan.run.days)
    return Page(
        title=f"{scenario.room.name}: what to sow, and when",
        under_title=(
            f"For standing orders to be met in full in {percent(plan.certainty)} of their weeks, from "
            f"{short_date(scenario.room.start_date)} to {short_date(last)}; proven in "
            f"{rehearsals(len(plan.outcomes), plan.run.days, 'possible')}"
        ),
        notes=tuple(note for note in (scenario.about, scenario.room.note) if note),
        answers=tuple(answer),
        cautions=(cautions.ALWAYS,),
        sections=(
            _the_plan(plan),
            _orders(plan, figure_folder),
            Section("wall", "Every week, for the wall", (Grid(tables.every_week(plan)),)),
            _how(plan),
            Section("model", "How the model works", (Bullets(model_text.LOGIC),)),
            _made_of(plan, provenance),
        ),
    )


def _picture(draw: Callable[[], Figure], folder: Path, name: str, caption: str) -> Picture:
    return Picture(name, caption, figures.for_page(figures.save(draw(), folder, name), name, caption))


def _the_plan(plan: SowingPlan) -> Section:
    blocks: list[Block] = [Grid(tables.the_week(plan))]
    differing = tables.differing(plan)
    if differing.rows:
        blocks.append(Behind(differing) if len(differing.rows) > 12 else Grid(differing))
    blocks.append(
        Text(
            "The file `sowing.toml` beside this page is the plan as a CHANGE file: `growsim compare` lives through the "
            "same years with and without it, and `growsim keep ROOM sowing.toml` writes your room with it, as a new "
            "one; on the page, bring it in under Changes to try and press Make it so."
        )
    )
    blocks.append(Caution(cautions.beside_shelves()))
    return Section("plan", "What to sow", tuple(blocks))


def _orders(plan: SowingPlan, folder: Path) -> Section:
    return Section(
        "orders",
        "How surely the orders are met",
        (
            Grid(tables.plans(plan)),
            _picture(
                lambda: figures_sow.orders_kept(plan),
                folder,
                "orders-kept",
                "Filled mark: this plan, with the range of the average. Hollow mark, in the same years: "
                f"{figures_sow.compared(plan)[0]}. Dashed: the certainty asked for. A square is an order that still "
                "falls short of it.",
            ),
            Grid(tables.orders(plan)),
            _picture(
                lambda: figures_sow.through_the_year(plan),
                folder,
                "through-the-year",
                "Pick-ups met in full, of all orders together, month by month.",
            ),
            Caution(cautions.beside_harvest()),
        ),
    )


def _how(plan: SowingPlan) -> Section:
    asked = percent(plan.certainty)
    return Section(
        "how-sure",
        "How it was found, and how sure it is",
        (
            Bullets(
                (
                    "What is looked for: first, as many pick-ups of standing orders met in full as can be, each order "
                    f"counted up to {asked} of its weeks and no further, so that none is neglected for another's sake; "
                    "of plans alike in that, the one that hands over more of the kilograms ordered; and once every "
                    f"order has its {asked}, the least seed.",
                    "A first plan is worked out on paper: what a cell gives and how surely, the slots its trays need "
                    "for how many days, the hours it takes. The days from sowing to harvest are not taken from paper, "
                    "but from lots rehearsed in this room with the hands it has.",
                    f"Then {counted(plan.tried, 'plan')} were rehearsed in {counted(plan.trial_years, 'year')} of the "
                    "same luck: cells raised and lowered by an eighth of a tray and more, sowings moved to other days, "
                    "until no such move made it better. Another plan that is as good may exist.",
                    f"The best was then proven in {rehearsals(len(plan.outcomes), plan.run.days, 'fresh')} that the "
                    "search had not seen, beside the plan of the room file and sowing the same every week by "
                    "arithmetic; had arithmetic done better there, it would be the answer. All figures here are from "
                    "those years.",
                )
            ),
        ),
    )


def _made_of(plan: SowingPlan, provenance: Provenance) -> Section:
    named = list(sources.sources_given(plan.room.scenario))
    return Section(
        "made-of",
        "Where this report comes from",
        (
            Text(
                "Every figure about the room comes from the room file; where it names a source it is listed here, the "
                "others are the planner's own."
            ),
            Bullets(tuple(named)) if named else Text("The room file names no sources."),
            Text("To make it again:"),
            Command(provenance.repeat_with),
            Facts(
                (
                    ("certainty asked for", percent(plan.certainty)),
                    ("seed", str(plan.seed)),
                    ("fresh years", number(len(plan.outcomes))),
                    ("years in which plans were tried", number(plan.trial_years)),
                    ("days counted", number(plan.run.days)),
                    ("days of warm-up before them", number(plan.run.lead_in_days)),
                    *provenance.rows(),
                )
            ),
        ),
    )
