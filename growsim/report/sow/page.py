"""The page of a sowing plan: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, holds_back, summaries
from growsim.report.frame import Answer, model_section, picture
from growsim.report.page import Behind, Block, Bullets, Caution, Grid, Page, Section, Text
from growsim.report.sow import figures as figures_sow
from growsim.report.sow import tables
from growsim.report.sow.words import other_plan
from growsim.report.words import counted, number, percent, rehearsals, short_date
from growsim.vocabulary.dangers import HARVEST, SHELVES

if TYPE_CHECKING:
    from growsim.study.sow.answer import SowingPlan


def compose(plan: SowingPlan, answer: Answer, figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario = plan.room.scenario
    last = summaries.last_day(scenario, plan.run.days)
    return answer.page(
        (
            f"For standing orders to be met in full in {percent(plan.certainty)} of their weeks, from "
            f"{short_date(scenario.room.start_date)} to {short_date(last)}; confirmed in "
            f"{rehearsals(len(plan.outcomes), plan.run.days)}"
        ),
        (
            _the_plan(plan),
            _orders(plan),
            *([] if plan.held is None else [holds_back.section(plan.held, plan.scenario, plan.run.days)]),
            Section("wall", "Every week, for the wall", (Grid(tables.every_week(plan)),)),
            _how(plan),
            model_section(),
        ),
        shows=picture(
            lambda: figures_sow.orders_kept(plan),
            figure_folder,
            "orders-kept",
            "Filled mark: this plan, with the range of the average. Hollow mark, in the same years: "
            f"{other_plan(plan)[0]}. Dashed: the certainty asked for. A square is an order that still "
            "falls short of it.",
        ),
        facts=(
            ("certainty asked for", percent(plan.certainty)),
            ("years in which plans were tried", number(plan.trial_years)),
        ),
    )


def _the_plan(plan: SowingPlan) -> Section:
    blocks: list[Block] = [Grid(tables.the_week(plan))]
    differing = tables.differing(plan)
    if differing.rows:
        blocks.append(Behind(differing) if len(differing.rows) > 12 else Grid(differing))
    blocks.append(
        Text(
            "`sowing.toml` beside this page is the plan as a CHANGE file. `growsim compare` shows what it changes; "
            "`growsim keep ROOM sowing.toml` writes your room with it, as a new one."
        )
    )
    blocks.append(Caution(cautions.beside(SHELVES, plan.scenario.room.region)))
    return Section("plan", "What to sow", tuple(blocks))


def _orders(plan: SowingPlan) -> Section:
    return Section(
        "orders",
        "How surely the orders are met",
        (
            Grid(tables.plans(plan)),
            Grid(tables.orders(plan)),
            Caution(cautions.beside(HARVEST, plan.scenario.room.region)),
        ),
    )


def _how(plan: SowingPlan) -> Section:
    asked, years = percent(plan.certainty), rehearsals(len(plan.outcomes), plan.run.days)
    return Section(
        "how-sure",
        "How it was found, and how sure it is",
        (
            Bullets(
                (
                    f"Looked for: as many weekly orders met in full as can be, each order counted up to {asked} of its "
                    f"weeks. "
                    "Then more of the greens ordered; then the least seed.",
                    "A first plan is worked out on paper. The days from sowing to harvest are those of lots rehearsed "
                    "in "
                    "this room, with its people.",
                    f"Then {counted(plan.tried, 'plan')} were rehearsed in {counted(plan.trial_years, 'year')}, until "
                    f"no "
                    "change of amount or day made it better. Another plan that is as good may exist.",
                    f"All figures are from {years} that the search had not seen. Had sowing by arithmetic done better "
                    "there, it would be the answer.",
                )
            ),
        ),
    )
