"""Do the learned ranges hold what they promise? Records of rooms whose truth is known, learned from blindly.

Source: simulation-based calibration (Cook, Gelman & Rubin 2006; Talts et al. 2018; from memory). Figures of one room
are not independent, so a family is judged by its rooms: the tolerance is three standard errors of a share of 0.8 of
them.
"""

from __future__ import annotations

import math

import pytest
from theory.learn_rooms import FAMILIES, coverage, demo_rooms, learned_from, room_file, small_rooms

QUICK, ALL = 12, 200
PROMISED = 0.8
# Ranges that may hold the truth more often than promised, never less.
WIDE = ("germination_spread_sd", "handling_loss", "chance_of_coming", "minutes_per_unit")


def check(rooms: int) -> None:
    """Every family holds the truth eight times in ten, within what so many rooms can tell."""
    slack = 3 * math.sqrt(PROMISED * (1 - PROMISED) / rooms)
    found = {name: sum(inside) / len(inside) for name, inside in coverage(range(rooms), small_rooms()).items()}

    assert set(found) == set(FAMILIES)
    too_narrow = {name: share for name, share in found.items() if share < PROMISED - slack}
    too_wide = {name: share for name, share in found.items() if share > PROMISED + slack and name not in WIDE}
    assert (too_narrow, too_wide) == ({}, {})


def test_ranges_hold_the_truth_in_a_few_rooms() -> None:
    """Twelve rooms: a glaring error would show."""
    check(QUICK)


@pytest.mark.slow
def test_ranges_hold_the_truth_in_200_rooms() -> None:
    """Two hundred rooms: `pytest -m slow tests/theory/test_learn_coverage.py`, some minutes."""
    check(ALL)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["millrace", "undated"])
def test_ranges_of_growth_hold_the_truth_in_a_busy_room(kind: str) -> None:
    """Sixteen years of the demo room, four crops each, second moves written down or not: some five minutes each."""
    held = coverage(range(16), demo_rooms(kind))
    slack = 1.5 * math.sqrt(PROMISED * (1 - PROMISED) / 64)

    assert set(held) == {"days_to_typical_mass", "days_spread_cv", "typical_mass_g"}
    assert {
        name: share for name, inside in held.items() if (share := sum(inside) / len(inside)) < PROMISED - slack
    } == {}


def test_a_record_narrows_what_is_known_and_moves_it_to_the_truth() -> None:
    """Sharp enough to fail: ranges are far narrower than before, and far from the room file where the truth is."""
    learning, truth = learned_from(4, room_file())
    taught = [figure for figure in learning.figures if figure.records >= 20 and figure.group != "spreads"]

    assert len(taught) >= 8
    assert all(figure.after.width < 0.6 * figure.before.width for figure in taught)
    for figure in taught:
        if figure.is_clear:
            assert abs(figure.after.middle - truth[figure.key]) < abs(figure.stated - truth[figure.key])
