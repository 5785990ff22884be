"""Sentences: they read well, carry ranges, and keep the range of the average apart from that of one week."""

from __future__ import annotations

import dataclasses
from types import ModuleType
from typing import Any

import pytest

from growsim.report.rehearse import sentences
from growsim.run.intervals import Estimate
from growsim.vocabulary.losses import PLANT_LOSSES


def estimate(key: str, mean: float, *, n: int = 20, of: Any = "one year", spread: float = 0.1) -> Estimate:
    """An estimate whose average is known ten times as well as one year."""
    close = spread / 10
    low, high = (mean * (1 - close), mean * (1 + close)) if n > 1 else (None, None)
    return Estimate(key, mean, low, high, mean * (1 - spread), mean, mean * (1 + spread), n, of)


def of(*estimates: Estimate) -> dict[str, Estimate]:
    """Estimates by key."""
    return {each.key: each for each in estimates}


def test_a_shortfall_is_not_hidden_by_rounding(made_up: ModuleType) -> None:
    """94.8% against a goal of 95% must not read 95% against 95%."""
    told = sentences.orders(of(estimate("orders_filled_fraction", 0.948)), made_up.tiny_room(), 364)

    assert "receive 94.8%" in told
    assert "short of the goal of 95%" in told


def test_orders_met_are_called_met(made_up: ModuleType) -> None:
    """A share above the goal."""
    told = sentences.orders(of(estimate("orders_filled_fraction", 0.97)), made_up.tiny_room(), 364)

    assert "which meets the goal of 95%" in told


def test_days_without_a_pick_up_are_not_called_a_room_without_orders(made_up: ModuleType) -> None:
    """Three days between two pick-ups: the partner is there, nothing is due."""
    told = sentences.orders(of(estimate("kg_surplus_per_week", 0.0)), made_up.tiny_room(), 3)

    assert told == "No pick-up with an order falls into these days."


def test_a_room_without_partners_says_so(made_up: ModuleType) -> None:
    """No standing order, everything to open distribution."""
    room = made_up.tiny_room().model_copy(update={"partners": ()})
    told = sentences.orders(of(estimate("kg_surplus_per_week", 2.0, of="one week")), room, 364)

    assert told == "No partner has a standing order; 2.0 kg a week on average goes to open distribution."


def test_the_plan_on_paper_is_set_against_ordinary_luck(rehearsed: Any) -> None:
    """40 kg on paper and 30 kg rehearsed is a quarter less."""
    on_paper = dataclasses.replace(rehearsed.on_paper, measures={"kg_packed_per_week": 40.0})
    told = sentences.paper(of(estimate("kg_packed_per_week", 30.0)), on_paper, 364)

    assert told == (
        "On paper, with luck switched off, the same plan gives 40.0 kg a week; with ordinary luck it is 25% less."
    )


def test_greens_given_away_while_partners_go_short_are_told(made_up: ModuleType) -> None:
    """6 of 10 kg ordered arrive, and 3 kg are given away: three quarters of the 4 kg that lack."""
    scarce = of(estimate("orders_filled_fraction", 0.6), estimate("kg_to_partners_per_week", 6.0, of="one week"))
    told = sentences.orders(scarce | of(estimate("kg_surplus_per_week", 3.0, of="one week")), made_up.tiny_room(), 364)

    assert "While partners lack 4.0 kg a week, 3.0 kg are given away on " in told
    assert told.count("given away") == 1


@pytest.mark.parametrize(("filled", "given"), [(0.6, 1.9), (0.96, 3.0)])
def test_little_given_away_or_orders_met_need_no_such_advice(made_up: ModuleType, filled: float, given: float) -> None:
    """Less than half of what lacks is given away; or the goal of 95 in 100 is met."""
    estimates = of(
        estimate("orders_filled_fraction", filled),
        estimate("kg_to_partners_per_week", 6.0, of="one week"),
        estimate("kg_surplus_per_week", given, of="one week"),
    )

    assert "given away" not in sentences.orders(estimates, made_up.tiny_room(), 364)


def test_losses_are_what_the_outcomes_say(rehearsed: Any) -> None:
    """The largest cause by plain counting is the first one named."""
    totals = {
        loss.clause: sum(n for o in rehearsed.outcomes for (_, f), n in o.fates.items() if f == loss.key)
        for loss in PLANT_LOSSES
    }
    largest = max(totals, key=lambda clause: totals[clause])
    plants = f"{totals[largest] / len(rehearsed.outcomes):,.0f} plants"
    told = sentences.losses(rehearsed.estimates, rehearsed.outcomes, rehearsed.on_paper, 364)

    assert f"The largest losses: {plants} a year {largest} (" in told


def test_plants_still_growing_are_not_counted_among_the_lost(rehearsed: Any) -> None:
    """Counted by hand from every outcome's fates: they are told of by themselves."""
    fates = [(fate, n) for outcome in rehearsed.outcomes for (_, fate), n in outcome.fates.items()]
    share = 100 * sum(n for fate, n in fates if fate == "growing_at_end") / sum(n for _, n in fates)
    told = sentences.losses(rehearsed.estimates, rehearsed.outcomes, rehearsed.on_paper, 364)

    assert share > 0.5
    assert f"{share:.0f} still grow when counting ends" in told


def test_the_busiest_shift_is_the_one_with_most_volunteer_hours(rehearsed: Any) -> None:
    """Attendance times hours, counted by hand."""
    hours = {
        shift.name: shift.hours * sum(sum(o.weeks[f"came:{shift.name}"]) for o in rehearsed.outcomes)
        for shift in rehearsed.scenario.crew.shifts
    }
    found = sentences.busiest_shift(rehearsed.outcomes, rehearsed.scenario)

    assert found is not None
    assert hours[found[0]] == max(hours.values())
