"""What holds the room back: the rule, on rooms where the answer is plain."""

from __future__ import annotations

import dataclasses
import datetime as dt
from types import ModuleType
from typing import Any

import pytest

from growsim.ledger.outcome import Outcome
from growsim.report.holds_back import HoldsBack, WorstDays, what_holds_back

EASY = {
    "tasks_on_time_fraction": 1.0,
    "orders_filled_fraction": 1.0,
    "slots_waiting_mean": 0.0,
    "shelf_fill_fraction": 0.4,
}


def year(*, due: float = 5.0, present: float = 10.0, slots: float = 3.0, lost: dict[str, int] | None = None) -> Outcome:
    """An even year of the tiny room: 1,000 seeds that germinate, so many hours and slots each week."""
    lost = lost or {}
    weeks = {
        "crew_hours_needed": (due,) * 52,
        "crew_hours_present": (present,) * 52,
        "slots:rack:head": (slots,) * 52,
    }
    fates = {("small head", fate): plants for fate, plants in lost.items()}
    fates["small head", "harvested"] = 1000 - sum(lost.values())
    return Outcome(0, {}, weeks, fates, {})


def judge(made_up: ModuleType, outcome: Outcome, **means: float) -> HoldsBack:
    """The rule on one year of the tiny room."""
    return what_holds_back([outcome], made_up.tiny_room(), EASY | means)


def test_orders_are_the_limit_where_all_is_easy(made_up: ModuleType) -> None:
    """Half-empty shelves, idle hands, orders met: nothing in the room is short."""
    assert judge(made_up, year()).first == "orders"


def test_the_sowing_plan_is_the_limit_where_all_is_easy_and_orders_go_short(made_up: ModuleType) -> None:
    """Half-empty shelves and idle hands while partners go short: sow more."""
    assert judge(made_up, year(), orders_filled_fraction=0.7).first == "plan"


def test_slots_are_the_limit_where_trays_wait(made_up: ModuleType) -> None:
    """Sixteen slots and one tray always waiting."""
    assert judge(made_up, year(), slots_waiting_mean=1.0).first == "slots"


def test_slots_are_the_limit_where_the_rack_is_full(made_up: ModuleType) -> None:
    """All sixteen slots in use, all year."""
    finding = judge(made_up, year(slots=16.0))

    assert finding.first == "slots"
    assert finding.fullest is not None
    assert finding.fullest.share == pytest.approx(1.0)


def test_hands_are_the_limit_where_more_work_falls_due_than_hours(made_up: ModuleType) -> None:
    """Eleven hours of work, ten hours of people."""
    finding = judge(made_up, year(due=11.0))

    assert finding.first == "hands"
    assert len(finding.short_months) >= 12


def test_hands_are_the_limit_where_work_is_late(made_up: ModuleType) -> None:
    """A fifth of the tasks late where the goal allows a twentieth."""
    finding = judge(made_up, year(), tasks_on_time_fraction=0.8)

    assert (finding.first, finding.short_months) == ("hands", ())


def test_machines_are_the_limit_where_plants_dry_out(made_up: ModuleType) -> None:
    """A tenth of the seedlings dry out."""
    assert judge(made_up, year(lost={"dried_out": 100})).first == "machines"


def test_reservoirs_are_the_limit_where_nobody_filled_them(made_up: ModuleType) -> None:
    """A tenth of the seedlings dry out, nine in ten of them because their reservoir ran low: repair pumps saves few."""
    dry = year(lost={"dried_out": 100})
    dry.weeks["lost:dried_out"] = (0.0,) * 40 + (80.0, 20.0) + (0.0,) * 10
    dry.measures["plants_dried_low_reservoir"] = 90
    finding = judge(made_up, dry)

    assert (finding.first, finding.others) == ("reservoirs", ())
    assert finding.strains["reservoirs"] == pytest.approx(0.09 / 0.02)
    assert finding.strains["machines"] == pytest.approx(0.01 / 0.02)


def test_the_days_on_which_most_is_lost_are_found(made_up: ModuleType) -> None:
    """Eight in ten in the week that begins 280 days after the first; it is closed on two of its days."""
    room = made_up.tiny_room()
    first = room.room.start_date + dt.timedelta(days=280)
    closed = (first, first + dt.timedelta(days=6), first + dt.timedelta(days=7))
    room = room.model_copy(update={"room": room.room.model_copy(update={"closed_days": closed})})
    dry = year(lost={"dried_out": 100})
    dry.weeks["lost:dried_out"] = (0.0,) * 40 + (80.0, 20.0) + (0.0,) * 10
    found = what_holds_back([dry], room, EASY).worst_days

    assert found == {"dried_out": WorstDays(first, first + dt.timedelta(days=6), 0.8, 2)}


def test_losses_all_through_the_year_have_no_days_of_their_own(made_up: ModuleType) -> None:
    """Two plants every week."""
    even = year(lost={"dried_out": 104})
    even.weeks["lost:dried_out"] = (2.0,) * 52

    assert judge(made_up, even).worst_days == {}


def test_the_most_strained_cause_is_named_first(made_up: ModuleType) -> None:
    """Ten in a hundred dry out, four in a hundred find no slot: machines, then slots."""
    finding = judge(made_up, year(lost={"dried_out": 100, "no_room": 40}))

    assert (finding.first, finding.others) == ("machines", ("slots",))
    assert finding.strains["machines"] == pytest.approx(5.0)


def test_the_rule_stands_up_to_a_year_in_which_nothing_happens(made_up: ModuleType) -> None:
    """No seeds, no weeks, no hours."""
    empty = Outcome(0, {}, {}, {}, {})

    assert judge(made_up, empty).first == "orders"


def test_the_finding_is_the_same_for_the_same_outcomes(rehearsed: Any) -> None:
    """No chance in it."""
    means = {key: found.mean for key, found in rehearsed.estimates.items()}
    once, again = (what_holds_back(rehearsed.outcomes, rehearsed.scenario, means) for _ in range(2))

    assert dataclasses.asdict(once) == dataclasses.asdict(again)
