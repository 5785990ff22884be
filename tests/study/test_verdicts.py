"""What may be said of a difference, and when there has been enough rehearsing."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest
from scipy import stats

from growsim.ledger.catalogue import CATALOGUE
from growsim.run.intervals import Difference
from growsim.study.verdicts import (
    DOUBT,
    DOUBT_OF_HEADLINES,
    HEADLINES,
    OTHERS,
    differences,
    headline_doubt,
    judge,
    replications_to_decide,
    round_totals,
    shared_luck,
)

KG, COST = "kg_handed_out_per_week", "cost_per_kg"


def difference(low: float, high: float, key: str = KG, n: int = 20) -> Difference:
    """A difference with this range."""
    return Difference(key, (low + high) / 2, low, high, 0.5, n)


@pytest.mark.parametrize(
    ("low", "high", "says", "matters", "is_better"),
    [
        (1.0, 3.0, "more", True, True),
        (-3.0, -1.0, "less", True, False),
        (0.1, 0.4, "more", False, True),
        (-0.4, 0.4, "same", False, None),
        (-0.4, 0.6, "open", True, None),
        (0.0, 0.0, "none", False, None),
        (-1e-15, 2e-15, "none", False, None),
    ],
)
def test_a_range_is_judged_against_nought_and_the_margin(
    low: float, high: float, says: str, matters: bool, is_better: bool | None
) -> None:
    """More, less, too small to matter, none at all, or not decided; rounding in the last bit is no difference."""
    verdict = judge(difference(low, high), margin=0.5)

    assert (verdict.says, verdict.matters, verdict.is_better) == (says, matters, is_better)
    assert verdict.is_decided == (says != "open")


def test_less_cost_is_better() -> None:
    """The catalogue knows which way is better."""
    assert judge(difference(-3, -1, COST), 0.1).is_better is True
    assert judge(difference(1, 3, COST), 0.1).is_better is False


def test_without_a_range_nothing_is_decided() -> None:
    """One rehearsal decides nothing."""
    assert judge(Difference(KG, 1.0, None, None, 1.0, 1), 0.5).says == "open"


@pytest.mark.parametrize(
    ("at_most", "totals"),
    [(60, (10, 20, 40, 60)), (10, (10,)), (4, (4,)), (25, (10, 20, 25)), (160, (10, 20, 40, 80, 160))],
)
def test_rounds_double_up_to_the_most_allowed(at_most: int, totals: tuple[int, ...]) -> None:
    """Ten first, then as many again, never more than allowed."""
    assert round_totals(at_most) == totals


def test_ranges_are_those_of_a_paired_t_test(compared: ModuleType) -> None:
    """The range of a headline is scipy's paired t-interval at its share of the doubt."""
    luck = np.random.default_rng(5)
    before, gain = luck.normal(40, 4, 20), luck.normal(1.5, 1.0, 20)
    today, after = compared.outcomes(before), compared.outcomes(before + gain)
    found = differences(today, {"a": after, "b": after}, looks=3)["a"][KG]
    each = DOUBT_OF_HEADLINES / (3 * 2 * 5)
    reference = stats.ttest_rel(before + gain, before).confidence_interval(1.0 - each)

    assert headline_doubt(2, 3) == pytest.approx(each)
    assert (found.low, found.high) == pytest.approx((reference.low, reference.high))


def test_the_doubt_of_all_ranges_together_is_five_percent() -> None:
    """Headlines, what the change is worth, and every other figure: their shares add up to what is promised."""
    changes, looks = 7, 4
    headlines = changes * looks * (len(HEADLINES) + 1) * headline_doubt(changes, looks)

    assert headlines + (DOUBT - DOUBT_OF_HEADLINES) == pytest.approx(0.05)
    assert {*HEADLINES, *OTHERS} == set(CATALOGUE)


@pytest.mark.parametrize(("low", "high", "expected"), [(-1.0, 3.0, 80), (-2.0, 2.0, 320), (-1.0, 1.2, 152)])
def test_how_many_more_would_do(low: float, high: float, expected: int) -> None:
    """Half-widths shrink with the root of n: till zero is left out, or till all lies within the margin."""
    # By hand, n = 20: (half / distance)^2 x 20, distance = the larger of |mean| and margin - |mean|:
    # (2 / 1)^2, (2 / 0.5)^2, (1.1 / 0.4)^2, the last rounded up.
    assert replications_to_decide(judge(difference(low, high), margin=0.5)) == expected


def test_shared_luck_saves_what_the_variances_say(compared: ModuleType) -> None:
    """var(b - a) against var(a) + var(b), with numpy's variances; opposite luck would cost rather than save."""
    luck = np.random.default_rng(6).normal(40, 4, 30)
    own = np.random.default_rng(7).normal(0, 1, 30)
    found = shared_luck(compared.outcomes(luck), compared.outcomes(luck + own), KG)
    assert found is not None
    expected = (np.var(luck, ddof=1) + np.var(luck + own, ddof=1)) / np.var(own, ddof=1)
    against = shared_luck(compared.outcomes(luck), compared.outcomes(80 - luck), KG)
    assert against is not None and against.ratio is not None

    assert found.ratio == pytest.approx(expected)
    assert against.ratio == pytest.approx(0.5)


def test_no_luck_left_has_no_ratio(compared: ModuleType) -> None:
    """Where every replication differs by the same there is nothing to divide by."""
    found = shared_luck(compared.outcomes([1.0, 2.0]), compared.outcomes([1.0, 2.0]), KG)

    assert found is not None
    assert found.ratio is None
    assert shared_luck(compared.outcomes([1.0]), compared.outcomes([1.0]), KG) is None
