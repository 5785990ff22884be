"""A plan as lines of the room file: closed days, seasons, and names."""

from __future__ import annotations

import copy
import dataclasses
import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from growsim.ledger.events import Sown
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.checks.closings import nothing_is_sown_in_vain
from growsim.scenario.load import LoadedRoom, load_scenario, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.arithmetic import by_arithmetic, kg_a_week
from growsim.study.sow.plan import Frame, frame_for, steady
from growsim.study.sow.timing import fed_orders, lines_for

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")  # from Monday 6 January 2031
GARAGE = load_scenario(Path(__file__).parents[1] / "cases" / "garage.toml")
RUN = RunPlan(182, 56)
LINES = 4  # leaf and heads, on Mondays and Thursdays


def frame_of(**changes: Any) -> Frame:
    """The frame of the tiny room with tables replaced, no first plan."""
    raw = copy.deepcopy(TINY.raw) | changes
    scenario = scenario_from(raw, "tiny")[0]
    prepared, fed = prepare(scenario), fed_orders(scenario)
    return frame_for(scenario, RUN, [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)], {})


def orders(*tables: dict[str, Any]) -> list[dict[str, Any]]:
    """One partner on Thursdays with these orders."""
    return [{"name": "pantry", "weekday": "thu", "hour": 14, "orders": list(tables)}]


def thursday(frame: Frame, crop: str) -> int:
    """The number of the crop's Thursday line."""
    return next(n for n, line in enumerate(frame.lines) if (line.crop, line.weekday) == (crop, "thu"))


def alone(frame: Frame, number: int, cells: int) -> tuple[int, ...]:
    """A plan of one line."""
    return tuple(cells if n == number else 0 for n in range(len(frame.lines)))


def test_a_steady_plan_is_one_line_a_crop_and_day() -> None:
    """No closed day in reach: no dates, one line, the room file's own names left alone."""
    frame = frame_of(room=TINY.raw["room"] | {"closed_days": []})
    plan = (0, 48, 0, 24)

    assert len(frame.lines) == LINES
    assert frame.steps == (8, 8, 8, 8)  # an eighth of a sheet of 60
    assert [(line.name, line.cells, line.weekday, line.from_date, line.until_date) for line in frame.sowing(plan)] == [
        ("cutting leaf on Thursdays", 48, "thu", None, None),
        ("small head on Thursdays", 24, "thu", None, None),
    ]


def test_nothing_is_sown_for_a_closed_day() -> None:
    """The pick-up of Thursday 27 March is canceled: leaf sown 28 days before it is not wanted."""
    frame = frame_of(room=TINY.raw["room"] | {"closed_days": [dt.date(2031, 3, 27)]})
    number = thursday(frame, "cutting leaf")
    assert frame.lines[number].feeds[0].days == 28

    lines = frame.sowing(alone(frame, number, 48))

    assert [(line.from_date, line.until_date, line.cells) for line in lines] == [
        (None, dt.date(2031, 2, 20), 48),
        (dt.date(2031, 3, 6), None, 48),
    ]
    assert len({line.name for line in lines}) == 2


def lost_by_plan(room: LoadedRoom, days: int) -> dict[str, int]:
    """Warnings of what is sown in vain: of the room file's own plan; of full plans as ordered, steady, by arithmetic
    (spared)."""
    scenario, run = room.scenario, RunPlan(days, 112)
    prepared, fed = prepare(scenario), fed_orders(scenario)
    lines = [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)]
    frame = frame_for(scenario, run, lines, {})
    arithmetic, _ = by_arithmetic(prepared, run, lines)
    plans = {"as ordered": frame, "steady": steady(frame), "arithmetic": arithmetic, "spared": steady(arithmetic)}
    found = {"own": len(list(nothing_is_sown_in_vain(scenario)))}
    for name, each in plans.items():
        assert {line.crop for line in each.lines} == set(kg_a_week(scenario))
        planned = each.planned((48,) * len(each.lines))
        found[name] = len(list(nothing_is_sown_in_vain(planned)))
    return found


@pytest.mark.parametrize("days", [84, 364])
def test_no_plan_sows_what_a_closing_would_lose(days: int) -> None:
    """The garage, six weeks closed in summer and two at Christmas, also where fewer days are counted; the tiny room
    with a closed fortnight. `check`, which finds what is sown in vain in its own way, finds it in the plans that know
    of no closing and in no other."""
    fortnight = [dt.date(2031, 4, 7) + dt.timedelta(days=day) for day in range(14)]
    raw = copy.deepcopy(TINY.raw) | {"room": TINY.raw["room"] | {"closed_days": fortnight}}
    closed = dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])

    for room in (GARAGE, closed):
        found = lost_by_plan(room, days)
        assert found["own"] > 0 and found["arithmetic"] > 0
        assert found["as ordered"] == found["steady"] == found["spared"] == 0


def test_before_and_after_a_closing_it_is_sown() -> None:
    """Leaf takes 25 days and is overgrown 8 days later; closed from 7 to 20 April. Sown on Thursday 13 March it would
    be ripe from 7 to 15 April and is lost; a week later to 22 April, and is harvested on Monday 21. (By pencil.)"""
    fortnight = [dt.date(2031, 4, 7) + dt.timedelta(days=day) for day in range(14)]
    frame = steady(frame_of(room=TINY.raw["room"] | {"closed_days": fortnight}))
    sown = dict(frame.cells_on(thursday(frame, "cutting leaf"), 48))

    assert [sown[dt.date(2031, 3, day)] for day in (6, 13, 20, 27)] == [48, 0, 48, 48]


def test_a_seasonal_order_is_sown_for_its_season() -> None:
    """1 kg of leaf all year, another 1 kg in May: half the cells but for what is harvested on the Thursdays of May."""
    fair = {"name": "May fair", "weekday": "thu", "hour": 15}
    in_season = fair | {"orders": [{"crop": "cutting leaf", "kg": 1, "months": [5]}]}
    frame = frame_of(partners=[*orders({"crop": "cutting leaf", "kg": 1}), in_season])
    number = thursday(frame, "cutting leaf")

    sown = dict(frame.cells_on(number, 96))

    in_may = [day for day in sown if (day + dt.timedelta(days=28)).month == 5]
    assert {day: cells for day, cells in sown.items() if cells == 96} == dict.fromkeys(in_may, 96)
    assert set(sown.values()) == {48, 96}


def test_a_crop_nobody_orders_has_no_line() -> None:
    """Only leaf is ordered."""
    assert {line.crop for line in frame_of(partners=orders({"crop": "cutting leaf", "kg": 1})).lines} == {
        "cutting leaf"
    }


def test_part_steps_are_rounded_up_but_never_above_full() -> None:
    """A third of the full demand of 20 cells in steps of 8."""
    frame = frame_of(
        partners=orders({"crop": "small head", "kg": 1, "months": [1, 2, 3]}, {"crop": "cutting leaf", "kg": 1})
    )
    number = thursday(frame, "small head")

    assert {cells for _, cells in frame.cells_on(number, 20)} == {0, 20}


def test_rehearsed_it_is_sown_as_planned() -> None:
    """What the room sows, warm-up and all, is what the plan's days say."""
    frame = frame_of(room=TINY.raw["room"] | {"closed_days": [dt.date(2031, 3, 27)]})
    number = thursday(frame, "cutting leaf")
    scenario: Scenario = frame.planned(alone(frame, number, 48))

    book = trace(prepare(scenario), 3, 0, RUN)

    start = scenario.room.start_date
    sown = {dt.date.fromisoformat(each.lot[:10]): each.cells for each in book.of(Sown)}
    last = start + dt.timedelta(days=RUN.days - 10)
    expected = {day: cells for day, cells in frame.cells_on(number, 48) if cells and day < last}
    assert {day: cells for day, cells in sown.items() if day < last} == expected
    assert min(sown) < start
