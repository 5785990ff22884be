"""Goals of a season, and which task is late first."""

from __future__ import annotations

import pytest

from growsim.ledger.outcome import Outcome
from growsim.study.crew.goals import ON_TIME, ORDERS, Target, floor_of, targets_of, values_in
from growsim.study.crew.late import last_people, late_first, late_shares, rung_of
from growsim.study.crew.proof import proof_rule
from growsim.study.rota import Season

PROOF = proof_rule(0.01, 20)


def outcome(weeks: dict[str, tuple[float, ...]], **measures: float) -> Outcome:
    """A replication with these weekly series."""
    return Outcome(0, measures, weeks, {}, {"hours:volunteers": 40.0})


def steady(mean: float, n: int = 16) -> list[dict[str, float]]:
    """Years that hardly differ."""
    return [{ORDERS: mean + 0.002 * (-1) ** i} for i in range(n)]


def test_a_season_counts_its_own_weeks() -> None:
    """Shares are of all jobs and of all kilograms of the season, not means of weekly shares."""
    weeks = {
        "tasks_late": (1.0, 9.0, 2.0),
        "tasks_done": (10.0, 10.0, 40.0),
        "kg_to_partners": (5.0, 0.0, 10.0),
        "kg_ordered": (5.0, 5.0, 15.0),
    }
    found = values_in(Season((0,), (0, 2)), outcome(weeks))

    assert found == {ON_TIME: pytest.approx(1 - 3 / 50), ORDERS: pytest.approx(15 / 20)}


def test_nothing_ordered_is_no_goal() -> None:
    """A season without orders has no share of them."""
    weeks = {"tasks_late": (0.0,), "tasks_done": (4.0,), "kg_to_partners": (0.0,), "kg_ordered": (0.0,)}
    found = values_in(Season((0,), (0,)), outcome(weeks))

    assert found == {ON_TIME: 1.0}
    assert targets_of({ON_TIME: 0.9, ORDERS: 0.9}, [found, found], 0.02, PROOF).keys() == {ON_TIME}


def test_a_goal_within_reach_stands() -> None:
    """Ample hands clear it by more than the margin."""
    target = targets_of({ORDERS: 0.9}, steady(0.97), 0.02, PROOF)[ORDERS]

    assert (target.below_ample, target.asked, target.out_of_reach) == (None, 0.9, False)
    assert target.above(0.93, 0.99) == pytest.approx(0.03)


def test_a_goal_out_of_reach_hangs_on_ample_hands() -> None:
    """Even ample hands fill 85 %: asked for is what they reach in the same year, less the margin."""
    target = targets_of({ORDERS: 0.95}, steady(0.85), 0.02, PROOF)[ORDERS]

    assert target.out_of_reach
    assert target.asked == pytest.approx(0.83)
    assert target.above(0.80, 0.83) == pytest.approx(-0.01)


def test_a_goal_that_luck_hides_hangs_on_ample_hands_too() -> None:
    """Where years differ so much that even ample hands could not be proven to meet it, it is not called impossible."""
    years = [{ORDERS: 0.93 + 0.09 * (-1) ** i} for i in range(16)]
    target = targets_of({ORDERS: 0.9}, years, 0.02, PROOF)[ORDERS]

    assert target.below_ample == 0.02
    assert not target.out_of_reach


def test_the_task_late_first_is_the_one_that_rises_first() -> None:
    """Walking down from ample hands: washing rises a little, harvest clearly, and later washing more than harvest."""

    def crew(hours: float, wash: float, cut: float) -> Outcome:
        weeks = {"done:wash": (100.0,), "late:wash": (wash,), "done:harvest": (10.0,), "late:harvest": (cut,)}
        return Outcome(0, {"tasks_on_time_fraction": 0.9}, weeks, {}, {"hours:volunteers": hours})

    rungs = [rung_of((3,), [each], 7) for each in (crew(5, 60, 2), crew(9, 3, 1), crew(12, 2, 0), crew(20, 0, 0))]
    first = late_first(rungs)

    assert late_shares([crew(5, 60, 2)]) == {"wash": 0.6, "harvest": 0.2}
    assert (first.task, first.rung, first.share, first.share_with_ample) == ("harvest", 1, 0.1, 0.0)
    assert [rung.hours for rung in rungs] == [5, 9, 12, 20]


def test_no_task_is_late_first_where_none_becomes_late() -> None:
    """A room with hands to spare has no answer to that."""
    calm = outcome({"done:wash": (10.0,), "late:wash": (0.0,)}, tasks_on_time_fraction=1.0)

    assert late_first([rung_of((1,), [calm], 7)] * 3).task is None


def test_a_season_may_lie_a_margin_below_the_year() -> None:
    """By pencil: 0.9 asked, so 0.87; where a season's ample hands reach 0.91 only, 0.91 - 0.03 - 0.03; where the year
    hangs on ample hands of 0.95, 0.92 is asked and 0.89 of a season with as much."""
    goal, hangs = Target(ORDERS, 0.9, 0.97, 0.98, None), Target(ORDERS, 0.99, 0.95, 0.96, 0.03)

    assert floor_of(goal, 0.97, 0.97, 0.03) == pytest.approx(0.87)
    assert floor_of(goal, 0.97, 0.91, 0.03) == pytest.approx(0.85)
    assert floor_of(hangs, 0.95, 0.95, 0.03) == pytest.approx(0.89)
    assert floor_of(hangs, 0.95, 0.01, 0.03) == 0.0


def test_the_last_people_are_there_for_what_is_late_without_them() -> None:
    """In these weeks alone, what rises most first; what rises by less than a point is not told."""

    def lived(*late: tuple[float, float, float]) -> Outcome:
        weeks = {f"done:{task}": (100.0, 100.0) for task in ("wash", "sow", "pack")}
        weeks |= {f"late:{task}": (each, 0.0) for task, each in zip(("wash", "sow", "pack"), late[0], strict=True)}
        return outcome(weeks)

    found = last_people([lived((10, 5, 0))], [lived((15, 25, 0.5))], (0,))

    assert found == (("sow", 0.05, 0.25), ("wash", 0.10, 0.15))
    assert last_people([lived((10, 5, 0))], [lived((15, 25, 0.5))], (1,)) == ()
