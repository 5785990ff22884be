"""The report of a sowing plan: what it is held against, sowing by arithmetic and the plan of today."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

from sow_plans import ORIGIN, TINY, edited

from growsim.report.sow import tables
from growsim.report.sow.answer import write_sowing_plan
from growsim.report.sow.words import how_sure, other_plan, why_this_plan
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.plan import RunPlan
from growsim.study.sow.answer import SowingPlan, change_tables
from growsim.study.sow.question import sow
from growsim.study.sow.score import kept_orders, score_of


def beside(plan: SowingPlan, met: list[float], **other: Any) -> SowingPlan:
    """The plan beside one by arithmetic that meets such shares of pick-ups in full in the four years."""
    outcomes = []
    for outcome, share in zip(plan.outcomes, met, strict=True):
        weeks = dict(outcome.weeks)
        for number in range(2):
            asked = outcome.weeks[f"order_asked:{number}"]
            full = round(share * len(asked))
            weeks[f"order_given:{number}"] = tuple(kg if week < full else 0.0 for week, kg in enumerate(asked))
        outcomes.append(dataclasses.replace(outcome, weeks=weeks))
    proof = score_of(outcomes, plan.room.scenario, plan.certainty)
    cells = tuple(each + 8 for each in plan.arithmetic.cells)  # another plan than the one found
    other_plan = dataclasses.replace(plan.arithmetic, cells=cells, outcomes=outcomes, proof=proof)
    kept = kept_orders(outcomes, plan.room.scenario, plan.certainty, [0] * 12)
    return dataclasses.replace(plan, arithmetic=other_plan, arithmetic_kept=kept, **other)


def half_met(plan: SowingPlan) -> SowingPlan:
    """The plan, had it met half of its pick-ups or so."""
    worse = beside(plan, [0.5, 0.42, 0.58, 0.5]).arithmetic
    return dataclasses.replace(plan, outcomes=tuple(worse.outcomes), score=worse.proof)


def test_against_arithmetic_the_table_has_the_difference(plan: SowingPlan) -> None:
    """More, fewer, and what may be chance, year by year under the same luck."""
    more = tables.plans(beside(half_met(plan), [0.25, 0.17, 0.33, 0.25])).rows[-1]
    fewer = tables.plans(beside(half_met(plan), [0.75, 0.67, 0.83, 0.75])).rows[-1]
    chance = tables.plans(beside(half_met(plan), [0.33, 0.58, 0.42, 0.5])).rows[-1]

    assert (more[1], more[3]) == ("25.0%", "25.0 of 100")
    assert (fewer[1], fewer[3]) == ("75.0%", "-25.0 of 100")
    assert chance[3] == "4.2 of 100"  # of four years there is no range


def test_where_arithmetic_is_the_answer_it_says_so(plan: SowingPlan) -> None:
    """The plan found is that of arithmetic: no gain is claimed."""
    own = plan.arithmetic
    same = dataclasses.replace(plan, frame=own.frame, cells=own.cells, outcomes=tuple(own.outcomes), score=own.proof)
    bare = dataclasses.replace(same, room=dataclasses.replace(same.room, scenario=same.scenario))

    assert tables.plans(same).rows[-1][3].startswith("0.0 of 100")
    assert how_sure(bare).endswith("that the search had not seen.")
    assert why_this_plan(bare) == (f"Of {plan.tried} plans tried none fills more orders than today's plan.")
    empty = same.room.scenario.model_copy(update={"sowing": ()})
    none = dataclasses.replace(same, room=dataclasses.replace(same.room, scenario=empty))
    assert why_this_plan(none).endswith("tried none fills more orders than a plan of just what is ordered.")


def test_what_arithmetic_sows_is_told(plan: SowingPlan) -> None:
    """The cells worked out by hand in tests/study/test_sow_arithmetic.py, in whole eighths of a sheet."""
    assert "48 cells of cutting leaf and 24 cells of small head every Monday would be sown. " in tables.plans(plan).note


def test_todays_own_plan_is_not_held_against_itself(plan: SowingPlan) -> None:
    """Where the plan found is the room file's there is one row for both, and the marks beside it are arithmetic's."""
    change = LoadedChange(change_tables(plan.room, plan.frame, plan.cells), Path("sowing.toml"), "")
    todays = dataclasses.replace(plan, room=changed_room(TINY, change))

    assert todays.is_todays
    assert [row[0] for row in tables.plans(todays).rows] == [
        "the plan found, which is today's",
        "just what is ordered, by arithmetic",
    ]
    assert "today's plan" not in tables.orders(todays).head
    assert other_plan(todays)[2] == plan.arithmetic_kept
    assert why_this_plan(todays).endswith("none fills more orders than today's plan.")
    assert other_plan(plan)[2] == plan.today_kept


def test_a_room_without_a_plan_is_held_against_arithmetic_alone(tmp_path: Path) -> None:
    """No word, row or mark of a plan of today."""
    found = sow(edited(sowing=[]), run=RunPlan(56, 56), seed=4, replications=3, trial_years=2)

    summary = write_sowing_plan(found, tmp_path / "out", provenance=ORIGIN)

    assert "oday's plan" not in " ".join(summary["answer"])
    assert [each["plan"] for each in summary["plans"]] == ["found", "arithmetic"]
    assert "today's plan" not in tables.orders(found).head
    assert "today's plan" not in (tmp_path / "out" / "figures" / "orders-kept.svg").read_text("utf-8")


def test_why_it_beats_todays_plan_is_what_it_sows_and_whose_order_gains(plan: SowingPlan) -> None:
    """The order with the largest gain; of its crop as much more as seeds were sown, years of both plans alike."""
    today = [dataclasses.replace(each, share=0.5) for each in plan.today_kept]
    kept = [dataclasses.replace(each, share=0.6) for each in plan.kept]
    kept[-1] = dataclasses.replace(kept[-1], share=0.9)
    crop = kept[-1].order.crop
    seeds = f"seeds_sown:{crop}"

    def sowing(each: float) -> tuple[Any, ...]:
        return tuple(
            dataclasses.replace(
                one, weeks=one.weeks | {seeds: [each] * 12}, measures=one.measures | {"seeds_sown": each}
            )
            for one in plan.outcomes
        )

    made = dataclasses.replace(
        plan, kept=tuple(kept), today_kept=tuple(today), outcomes=sowing(50.0), today_outcomes=sowing(40.0)
    )
    whose = f"{kept[-1].order.partner}, {'any greens' if crop == 'any' else crop}"
    assert why_this_plan(made) == (
        f"It sows 25% more {'seed' if crop == 'any' else crop} than today's plan: {whose} is met in full in 90% of its "
        "weeks, not in 50%."
    )
    as_sure = dataclasses.replace(made, kept=tuple(today))
    assert why_this_plan(as_sure).endswith("than today's plan, and fills the orders as surely.")
    fewer = dataclasses.replace(made, outcomes=sowing(40.0), today_outcomes=sowing(50.0))
    assert why_this_plan(fewer).startswith("It sows 20% less ")
    assert " Less seed leaves room" not in why_this_plan(fewer)

    def waiting(outcomes: tuple[Any, ...], trays: float) -> tuple[Any, ...]:
        given = (1.0 + trays * (one.replication + 1) / 10 for one in outcomes)
        return tuple(
            dataclasses.replace(one, measures=one.measures | {"slots_waiting_mean": each})
            for one, each in zip(outcomes, given, strict=True)
        )

    roomy = dataclasses.replace(
        fewer,
        outcomes=tuple(waiting(fewer.outcomes * 2, 0.0)),
        today_outcomes=tuple(waiting(fewer.today_outcomes * 2, 10.0)),
    )
    assert " Less seed leaves room: 1.0 trays wait for a place on the shelves, not " in why_this_plan(roomy)
    alike = dataclasses.replace(made, today_outcomes=made.outcomes)
    assert why_this_plan(alike).startswith(f"It sows small head on Thursday, today's plan on Monday: {whose} ")
    on_thursday = tuple(line.model_copy(update={"weekday": "thu"}) for line in plan.room.scenario.sowing)
    room = dataclasses.replace(plan.room, scenario=plan.room.scenario.model_copy(update={"sowing": on_thursday}))
    assert " in other weeks than today's plan: " in why_this_plan(dataclasses.replace(alike, room=room))
