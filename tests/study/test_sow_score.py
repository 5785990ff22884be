"""How good a plan is, worked by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from growsim.ledger.outcome import Outcome
from growsim.scenario.load import load_scenario
from growsim.scenario.orders import StandingOrder
from growsim.study.sow.score import Score, kept_orders, score_of

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
LEAF, HEAD = StandingOrder("trial pantry", "cutting leaf"), StandingOrder("trial pantry", "small head")


def year(
    number: int, leaf: tuple[float, ...], head: tuple[float, ...], seeds: float = 100, filled: float = 0.5
) -> Outcome:
    """Four weeks: 1 kg of leaf ordered in each, 2 kg of heads in the first two."""
    weeks = {
        "order_asked:0": (1.0,) * 4,
        "order_given:0": leaf,
        "order_asked:1": (2.0, 2.0, 0.0, 0.0),
        "order_given:1": head,
    }
    return Outcome(number, {"seeds_sown": seeds, "orders_filled_fraction": filled}, weeks, {}, {})


YEARS = [year(0, (1, 1, 0.5, 1), (2, 1.5, 0, 0)), year(1, (1, 1, 1, 1), (2, 1.9999, 0, 0), seeds=120, filled=0.7)]


def test_order_weeks_are_counted() -> None:
    """Leaf 7 of 8, heads 3 of 4 (half a gram is no shortfall); of six order-weeks a year."""
    score = score_of(YEARS, TINY, 0.8)

    assert score.kept == {LEAF: 7 / 8, HEAD: 3 / 4}
    assert score.weeks == {LEAF: 4, HEAD: 2}
    assert score.share_kept == pytest.approx((4 * 7 / 8 + 2 * 3 / 4) / 6)
    assert score.goal == pytest.approx((4 * 0.8 + 2 * 3 / 4) / 6)  # leaf counts up to 0.8
    assert (score.filled, score.seeds, score.is_met) == (0.6, 110, False)


def score(leaf: float, head: float, filled: float, seeds: float) -> Score:
    """A made-up score, 90 % asked for."""
    return Score({LEAF: leaf, HEAD: head}, {LEAF: 10, HEAD: 10}, 0.9, filled, seeds)


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (score(0.9, 0.8, 0.5, 900), score(1.0, 0.7, 0.9, 100)),  # no order for another's sake
        (score(0.9, 0.8, 0.6, 900), score(0.9, 0.8, 0.5, 100)),  # then kilograms
        (score(0.9, 0.8, 0.5, 100), score(0.9, 0.8, 0.5, 110)),  # then seed
        (score(0.9, 0.9, 0.5, 100), score(1.0, 1.0, 1.0, 110)),  # both have it: only seed
        (score(0.9, 0.9, 0.5, 900), score(0.9, 0.89, 1.0, 100)),
    ],
)
def test_what_is_better(better: Score, worse: Score) -> None:
    """Order-weeks met in full, each order up to the certainty; then kilograms; then the least seed."""
    assert better.worth > worse.worth


def test_how_an_order_is_kept() -> None:
    """Heads over two years: 3 of 4 weeks, half a kilogram missing when short, 1.6 kg in nine weeks of ten."""
    leaf, heads = kept_orders(YEARS, TINY, 0.9, (0, 0, 0, 1))

    assert (heads.share, heads.weeks, heads.ordered_kg) == (0.75, 2, 2)
    assert heads.short_kg == pytest.approx(0.5)
    assert heads.filled == pytest.approx(7.4999 / 8)
    assert heads.safe_kg == pytest.approx(1.5 + 0.3 * 0.4999)  # type 7 quantile of 1.5, 1.9999, 2, 2
    assert heads.low is heads.high is None  # two years are too few for a range
    assert heads.worst_month is None
    assert leaf.worst_month == (1, pytest.approx(5 / 6))
