"""The report of `growsim sow`: its page, its summary, its tables and figures, and the plan as a CHANGE file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report import holds_back
from growsim.report.frame import Answer, measures_of
from growsim.report.provenance import Provenance
from growsim.report.sow import words
from growsim.report.sow.page import compose
from growsim.report.words import percent
from growsim.run.writing import write_text
from growsim.scenario.change import change_text
from growsim.study.sow.answer import change_tables, compared_plans
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.sow.answer import ComparedPlan, SowingPlan
    from growsim.study.sow.plan import Cells, Frame
    from growsim.study.sow.score import Kept, Score

CHANGE_FILE = BY_NAME["sow"].change_file


def write_sowing_plan(plan: SowingPlan, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, summary.json, sowing.toml, CSV tables and figures into `out`, all or nothing.

    Gives the summary. Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    from growsim.run import results
    from growsim.study.sow.answer import orders_frame, plans_frame

    answer = Answer(
        provenance, plan.room.scenario, plan.seed, len(plan.outcomes), plan.run.days, plan.run.lead_in_days,
        front=words.front(plan),
    )  # fmt: skip

    def files(folder: Path) -> None:
        write_text(folder / CHANGE_FILE, plan_change(plan))
        holds_back.write_tried(plan.held, folder)
        results.write_frame(folder / "sowing.csv", plan.to_frame())
        results.write_frame(folder / "orders.csv", orders_frame(plan))
        results.write_frame(folder / "plans.csv", plans_frame(plan))
        results.write_frame(folder / "measures.csv", results.measures_frame(plan.estimates, plan.run.days))
        results.write_frame(folder / "weeks.csv", results.week_summary_frame(plan.outcomes).round(6))

    summary = answer.summary(measures_of(plan.estimates, answer.days), **_own(plan))
    return answer.write(out, summary, lambda folder: compose(plan, answer, folder), files, replace=replace)


def plan_change(plan: SowingPlan) -> str:
    """The plan as a CHANGE file, with a line on what it is."""
    certain = percent(plan.certainty)
    return change_text(
        change_tables(plan.room, plan.frame, plan.cells),
        {"name": f"sowing plan, {certain} certain"},
        (
            f"A sowing plan for {plan.room.scenario.room.name}, found by `growsim sow`. It meets every "
            f"standing order in full in {certain} of its weeks, or comes as near as was found.",
        ),
    )


def _own(plan: SowingPlan) -> dict[str, Any]:
    """What only a sowing plan has in its summary."""
    return {
        "measures_today": measures_of(plan.today, plan.run.days),
        "differences": {
            key: {"mean": d.mean, "low": d.low, "high": d.high, "n": d.n} for key, d in plan.differences.items()
        },
        "certainty": plan.certainty,
        "is_met": plan.is_met,
        "sowing": _sowing(plan.frame, plan.cells),
        "orders": [_order(each) for each in plan.kept],
        "orders_today": [_order(each) for each in plan.today_kept],
        "orders_arithmetic": [_order(each) for each in plan.arithmetic_kept],
        "impossible": [{"partner": order.partner, "crop": order.crop} for order in plan.impossible],
        "score": _score(plan.score),
        "score_today": _score(plan.today_score),
        "score_arithmetic": _score(plan.arithmetic.proof),
        "sowing_arithmetic": _sowing(plan.arithmetic.frame, plan.arithmetic.cells),
        "plans": [_beside(each) for each in compared_plans(plan)],
        "holds_back": None if plan.held is None else holds_back.entry(plan.held),
        "plans_tried": plan.tried,
        "trial_years": plan.trial_years,
    }


def _sowing(frame: Frame, cells: Cells) -> list[dict[str, Any]]:
    return [
        {"crop": line.crop, "weekday": line.weekday, "cells": each}
        for line, each in zip(frame.lines, cells, strict=True)
        if each > 0
    ]


def _beside(each: ComparedPlan) -> dict[str, Any]:
    """Pick-ups met in full; found_less_it: what the plan found meets more, year by year under the same luck."""
    names = ("mean", "low", "high")
    less = None if each.gain is None else dict(zip(names, each.gain, strict=True))
    return {"plan": each.which, "pick_ups_met": dict(zip(names, each.met, strict=True)), "found_less_it": less}


def _order(each: Kept) -> dict[str, Any]:
    told = asdict(each)
    told.update(told.pop("order"))
    told["worst_month"] = (
        None if each.worst_month is None else {"month": each.worst_month[0], "share": each.worst_month[1]}
    )
    return told


def _score(score: Score) -> dict[str, Any]:
    return {
        "pick_ups_met_in_full": score.share_kept,
        "counted_up_to_the_certainty": score.goal,
        "orders_filled_fraction": score.filled,
        "seeds_sown": score.seeds,
    }
