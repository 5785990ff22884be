"""Lifting a limit in thought adds people, or room to stand, and nothing that costs or helps otherwise."""

from __future__ import annotations

from types import ModuleType

import pytest

from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.study.relief import relief_of, without_limit


def test_twice_the_people_and_room_for_them(compared: ModuleType) -> None:
    """Every shift, every month."""
    today = compared.tiny().scenario
    seasonal = today.crew.shifts[0].model_copy(update={"people_by_month": tuple(range(12))})
    crew = today.crew.model_copy(update={"shifts": (seasonal, *today.crew.shifts[1:])})
    lifted = without_limit(today.model_copy(update={"crew": crew}), "people")

    assert [shift.people for shift in lifted.crew.shifts] == [4, 4]
    assert lifted.crew.shifts[0].people_by_month == tuple(range(0, 24, 2))
    assert lifted.room.people_at_once > 100


def test_slots_without_end_add_room_and_nothing_else(compared: ModuleType) -> None:
    """No tray waits, and what is not used costs no electricity, heat, water or work of its own."""
    today = compared.tiny().scenario
    lived = replicate(prepare(without_limit(today, "slots")), 7, 0, compared.PLAN)
    as_it_is = replicate(prepare(today), 7, 0, compared.PLAN)

    assert lived.measures["slots_waiting_mean"] == 0.0
    assert lived.measures["plants_lost_no_room"] == 0.0
    for account in ("kwh:lights", "kwh:heat pump", "kwh:fans", "kwh:pumps"):
        assert lived.accounts[account] == pytest.approx(as_it_is.accounts[account], rel=1e-6)


def test_slots_that_nobody_needs_change_nothing(compared: ModuleType) -> None:
    """With little sown nothing waits: the thought shelves stay empty, and every figure of the year is the same."""
    today = compared.tiny().scenario
    light = tuple(line.model_copy(update={"cells": 12, "every_weeks": 4}) for line in today.sowing)
    roomy = today.model_copy(update={"sowing": light})
    before = replicate(prepare(roomy), 7, 1, compared.PLAN)
    after = replicate(prepare(without_limit(roomy, "slots")), 7, 1, compared.PLAN)
    differ = {key for key, value in before.measures.items() if after.measures[key] != pytest.approx(value, rel=1e-9)}

    assert before.measures["slots_waiting_mean"] == 0.0
    assert {key.partition(":")[0] for key in differ} <= {"shelf_fill_fraction"}  # the same trays on more slots


@pytest.mark.parametrize(
    ("lifted", "part", "share"),
    [(6.0, "eats", 0.5), (3.0, "neither", None), (1.0, "helps", None)],
)
def test_what_a_limit_does_to_the_gain(lifted: float, part: str, share: float | None) -> None:
    """A gain of 3 kg that is 6 with the limit lifted is half eaten; one that shrinks was the limit's easing."""
    today = {i: 30.0 + i for i in range(6)}
    changed = {i: kg + 3.0 for i, kg in today.items()}
    today_lifted = {i: kg + 1.0 for i, kg in today.items()}
    changed_lifted = {i: kg + lifted + 0.01 * (i % 2) for i, kg in today_lifted.items()}
    relief = relief_of("people", today, changed, today_lifted, changed_lifted, margin=0.2, doubt=0.05)

    assert (relief.today.mean, relief.lifted.mean) == (pytest.approx(3.0), pytest.approx(1.0))
    assert relief.without.mean == pytest.approx(lifted + 0.005)
    assert relief.part == part
    assert relief.share_eaten == (share if share is None else pytest.approx(share, abs=0.01))
