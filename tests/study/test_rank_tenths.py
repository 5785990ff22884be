"""What holds a room back: the ranking of a tenth more of each thing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import ModuleType

import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare_room
from growsim.run.replicate import replicate
from growsim.study.tenths import AT_MOST, rank_room, rank_tenths, replications_for

KG, TO_PARTNERS = "kg_handed_out_per_week", "kg_to_partners_per_week"


def rehearse_as_if(brings: Callable[[Prepared, int], float]) -> Callable[[Prepared, Sequence[int]], list[Outcome]]:
    """A stand-in that gives every room the kilograms that `brings` says."""
    return lambda room, keys: [Outcome(i, {KG: brings(room, i), TO_PARTNERS: 1.0}, {}, {}, {}) for i in keys]


def today(kilograms: Callable[[int], float], n: int = 12) -> list[Outcome]:
    """So many years of the room as it is."""
    return [Outcome(i, {KG: kilograms(i), TO_PARTNERS: 1.0}, {}, {}, {}) for i in range(n)]


def test_the_largest_gain_comes_first_and_is_brought_to_a_tenth(compared: ModuleType) -> None:
    """12 head slots and one more: a twelfth. 2 kg by a twelfth more are 2.4 kg by a tenth."""

    def brings(room: Prepared, i: int) -> float:
        slots = sum(group.total_slots for group in room.scenario.racks[0].shelves if "head" in group.stages)
        liters = room.scenario.reservoirs[0].capacity_l
        return 30.0 + i + 2.0 * (slots - 12) + 0.5 * (liters - 120) / 12 + 0.01 * (i % 3)

    found = rank_tenths(
        prepare_room(compared.tiny()), today(lambda i: 30.0 + i + 0.01 * (i % 3)), rehearse_as_if(brings)
    )
    first, second, *rest = found.gains

    assert (first.key, first.gain.mean, first.share_added) == ("slots:head", pytest.approx(2.4), pytest.approx(1 / 12))
    assert (second.key, second.gain.mean) == ("reservoirs", pytest.approx(0.5))
    assert {gain.gain.mean for gain in rest} == {0.0}
    assert found.first == (first,)
    assert [gain.is_more for gain in found.gains[:3]] == [True, True, False]


def test_what_cannot_be_told_apart_shares_the_first_place(compared: ModuleType) -> None:
    """Two gains whose order luck turns from year to year."""

    def brings(room: Prepared, i: int) -> float:
        swing = 0.4 if i % 2 else -0.4
        if room.scenario.reservoirs[0].capacity_l > 121:
            return 31.0 + swing
        if room.scenario.lights[0].ppfd_umol_m2_s > 201:
            return 31.05 - swing
        return 30.0

    found = rank_tenths(prepare_room(compared.tiny()), today(lambda i: 30.0), rehearse_as_if(brings))

    assert {gain.key for gain in found.first} == {"reservoirs", "light"}


def test_where_nothing_brings_more_nothing_is_first(compared: ModuleType) -> None:
    """A room held back by none of them."""
    found = rank_tenths(
        prepare_room(compared.tiny()), today(lambda i: 30.0), rehearse_as_if(lambda room, i: 30.0 - (i % 2))
    )

    assert found.first == ()
    assert found.kg_per_week == 30.0


def test_a_room_is_ranked_in_the_years_it_was_rehearsed_in(compared: ModuleType) -> None:
    """The same seed and plan: a tenth more orders takes nothing from the greens and adds to the partners' share."""
    prepared = prepare_room(compared.tiny())
    lived = [replicate(prepared, 7, i, compared.PLAN) for i in range(3)]
    found = rank_room(compared.tiny().scenario, lived, seed=7, plan=compared.PLAN)
    orders = next(gain for gain in found.gains if gain.key == "orders")
    frame = found.to_frame()

    assert found.replications == 3
    assert abs(orders.gain.mean) < 1e-9
    assert orders.to_partners.mean > 0
    assert list(frame["key"]) == [gain.key for gain in found.gains]


def test_not_more_years_than_are_worth_it() -> None:
    """As many as the room was rehearsed in, up to the most."""
    assert (replications_for(8), replications_for(10 * AT_MOST)) == (8, AT_MOST)
