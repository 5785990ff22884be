"""What is seldom seen, or lies far out: ranges that say what is not known."""

from __future__ import annotations

import math
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy import optimize, stats

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import summaries
from growsim.report.frame import measures_of
from growsim.report.words import not_seen
from growsim.run.intervals import RULE_OF_THREE, mean_interval, skewed_interval, summarize, weights_of_years
from growsim.scenario.load import load_scenario
from growsim.scenario.never import cannot_happen
from growsim.scenario.scenario import Scenario

ROOM = Path(__file__).parents[2] / "scenarios" / "tiny"
DRIED, FAILURES = "plants_lost_dried_out", "machine_failures"


@pytest.fixture(scope="module")
def tiny() -> Scenario:
    """The tiny room."""
    return load_scenario(ROOM).scenario


def test_the_far_end_is_where_the_cubic_of_hall_is_t() -> None:
    """One bad year in ten: the upper end solves t = √n (S + γS²/3 + γ²S³/27 + γ/6n), S = (mean − end) / sd, with γ the
    skewness G1 (Hall 1992, J. of the Royal Statistical Society B 54:221-228, from memory), here by bisection."""
    values = [0.0] * 9 + [100.0]
    n, sd = len(values), stats.tstd(values)
    skew = stats.skew(values, bias=False)

    def beyond(end: float) -> float:
        s = (10.0 - end) / sd
        return math.sqrt(n) * (s + skew * s**2 / 3 + skew**2 * s**3 / 27 + skew / (6 * n)) + stats.t.ppf(0.975, n - 1)

    mean, low, high = skewed_interval(values)

    assert mean == 10.0
    assert high == pytest.approx(optimize.brentq(beyond, 10.0, 1000.0), rel=1e-9)
    assert low == mean_interval(values)[1]


@pytest.mark.parametrize("values", [[1.0, 2.0, 3.0, 4.0, 5.0], [5.0, 5.0], [2.0] * 30, list(range(40))])
def test_without_skewness_it_is_the_range_of_t(values: list[float]) -> None:
    """Nothing to correct."""
    assert skewed_interval(values) == pytest.approx(mean_interval(values), rel=1e-9)


def test_it_is_never_narrower_than_the_range_of_t() -> None:
    """Whatever the values."""
    luck = np.random.default_rng(4)
    for size in (5, 20, 60):
        for values in (luck.exponential(size=size), -luck.exponential(size=size), luck.normal(size=size)):
            _, low, high = skewed_interval(values.tolist())
            _, t_low, t_high = mean_interval(values.tolist())
            assert low <= t_low  # type: ignore[operator]
            assert high >= t_high  # type: ignore[operator]


def test_ranges_of_rare_losses_hold() -> None:
    """A loss of some 100 plants in one year of 20, studies of 60 years: a t-range covers the mean 84 times in 100; ours
    at least 93. The truth is known by arithmetic: 5 plants a year."""
    luck = np.random.default_rng(8)
    covered, by_t = [], []
    for _ in range(1500):
        values = (luck.random(60) < 0.05) * luck.gamma(4.0, 25.0, 60)
        if not values.any():
            continue
        (_, low, high), (_, t_low, t_high) = skewed_interval(values.tolist()), mean_interval(values.tolist())
        covered.append(low <= 5.0 <= high)  # type: ignore[operator]
        by_t.append(t_low <= 5.0 <= t_high)  # type: ignore[operator]

    assert np.mean(by_t) < 0.88
    assert np.mean(covered) > 0.93


@pytest.mark.parametrize("n", [20, 60, 200])
def test_the_rule_of_three(n: int) -> None:
    """What happens in 3 of n years goes unseen in n years less than once in 20 times, by the binomial (Hanley &
    Lippman-Hand 1983, JAMA 249:1743-1745)."""
    assert stats.binom.pmf(0, n, RULE_OF_THREE / n) < 0.05
    assert stats.binom.pmf(0, n, 0.9 * RULE_OF_THREE / n) > 0.05


def test_what_was_not_seen_has_no_upper_end(fakes: ModuleType) -> None:
    """No plant dried out in 60 years: not "0 (0 to 0)"."""
    years = [fakes.outcome(i, **{DRIED: 0}) for i in range(60)]
    found = summarize(years)[DRIED]

    assert (found.mean, found.mean_low, found.mean_high, found.not_seen) == (0.0, 0.0, None, True)
    assert not_seen(found, 364) == "not seen in 60 rehearsed years: rarer than about once in 20"
    assert not_seen(found, 182) == "not seen in 60 rehearsals of 182 days: rarer than about once in 20 of them"
    assert measures_of({DRIED: found}, 364)[DRIED]["not_seen"] == not_seen(found, 364)


def test_few_years_do_not_say_how_rare(fakes: ModuleType) -> None:
    """Three years without it say next to nothing."""
    found = summarize([fakes.outcome(i, **{DRIED: 0}) for i in range(3)])[DRIED]

    assert not_seen(found, 364) == "not seen in 3 rehearsed years"


def test_one_sighting_gives_a_range(fakes: ModuleType) -> None:
    """Once in 60 years is a frequency with a range."""
    years = [fakes.outcome(i, **{DRIED: 90 if i == 7 else 0}) for i in range(60)]
    found = summarize(years)[DRIED]

    assert (found.not_seen, not_seen(found, 364)) == (False, "")
    assert found.mean_low == 0.0
    assert found.mean_high is not None
    assert found.mean_high > mean_interval([90.0] + [0.0] * 59)[2]  # type: ignore[operator]
    assert "not_seen" not in measures_of({DRIED: found}, 364)[DRIED]


def test_what_cannot_happen_is_0(fakes: ModuleType) -> None:
    """Then 0 is all there is to say."""
    years = [fakes.outcome(i, **{DRIED: 0}) for i in range(60)]
    found = summarize(years, never={DRIED})[DRIED]

    assert (found.mean, found.mean_low, found.mean_high, found.not_seen) == (0.0, 0.0, 0.0, False)


def test_costs_have_no_upper_end_before_a_machine_has_failed(fakes: ModuleType) -> None:
    """What failures cost is not in them; once one has failed it is."""
    years = [fakes.outcome(i, **{FAILURES: 0, "cost_per_kg": 4.0 + i / 100}) for i in range(20)]
    failed = [*years[1:], fakes.outcome(0, **{FAILURES: 1, "cost_per_kg": 6.0})]
    before, after, sure = summarize(years), summarize(failed), summarize(years, never={FAILURES})

    assert before["cost_per_kg"].mean_high is None
    assert measures_of(before, 364)["cost_per_kg"]["without"] == "machine failures"
    assert after["cost_per_kg"].mean_high is not None
    assert sure["cost_per_kg"].mean_high is not None


def test_a_share_that_was_1_in_every_year_may_be_less_in_a_few(fakes: ModuleType) -> None:
    """At most 3 of 60 years are otherwise (rule of three), and a share is 0 at worst."""
    years = [fakes.outcome(i, orders_filled_fraction=1.0) for i in range(60)]
    found = summarize(years)["orders_filled_fraction"]

    assert (found.mean, found.mean_high) == (1.0, 1.0)
    assert found.mean_low == pytest.approx(0.95)


def test_what_cannot_happen_in_the_tiny_room(tiny: Scenario) -> None:
    """It loses none in transplanting and has no power outages; its pumps fail, its reservoir is filled by hand."""
    never = cannot_happen(tiny)

    assert never == {"plants_lost_transplanting", "power_outages"}
    assert never <= set(CATALOGUE)


def test_with_nothing_to_fail_no_flood_is_missed(tiny: Scenario) -> None:
    """A float valve, no failures: nothing dries out. A planned outage brings all of it back."""
    reservoirs = tuple(
        each.model_copy(update={"top_up": "float valve", "pump": type(each.pump)(power_w=45)})
        for each in tiny.reservoirs
    )
    sure = tiny.model_copy(update={"reservoirs": reservoirs})

    assert {FAILURES, "floods_missed", DRIED, "plants_dried_low_reservoir"} <= cannot_happen(sure)
    assert FAILURES in cannot_happen(sure) - cannot_happen(tiny)


def test_parts_add_up_where_known_luck_is_taken_out(fakes: ModuleType) -> None:
    """Greens to partners hardly owe to that luck, what is left over does: both are corrected, as their sum is."""
    dice = np.random.default_rng(3)
    luck = dice.normal(size=60)
    partners, left = 30 + dice.normal(size=60), 10 + 3 * luck + 0.2 * dice.normal(size=60)
    years = [
        fakes.outcome(
            i,
            kg_to_partners_per_week=float(partners[i]),
            kg_surplus_per_week=float(left[i]),
            kg_handed_out_per_week=float(partners[i] + left[i]),
        )
        for i in range(60)
    ]
    found = summarize(years, {"luck": luck.tolist()})
    means = {key: each.mean for key, each in found.items()}

    assert means["kg_handed_out_per_week"] != pytest.approx(partners.mean() + left.mean(), rel=1e-6)
    assert means["kg_to_partners_per_week"] + means["kg_surplus_per_week"] == pytest.approx(
        means["kg_handed_out_per_week"], rel=1e-12
    )


def test_seeds_add_up_though_germination_is_known_luck(fakes: ModuleType) -> None:
    """Where it does not pay for the seeds sown, it is taken out of no fate."""
    dice = np.random.default_rng(3)
    luck = dice.normal(size=60)
    lost = np.round(400 + 50 * luck + dice.normal(size=60))
    cut = np.round(1000 + 300 * dice.normal(size=60))
    years = [
        fakes.outcome(
            i, seeds_sown=int(lost[i] + cut[i]), plants_lost_not_emerged=int(lost[i]), plants_harvested=int(cut[i])
        )
        for i in range(60)
    ]
    found = summarize(years, {"luck": luck.tolist()})

    assert found["plants_lost_not_emerged"].mean == lost.mean()
    assert found["plants_lost_not_emerged"].mean + found["plants_harvested"].mean == pytest.approx(
        found["seeds_sown"].mean
    )


def test_what_is_shown_by_crop_adds_up_to_the_whole(fakes: ModuleType) -> None:
    """Leaf owes to that luck, heads do not; with the years' weights both add up to the figure with luck taken out."""
    dice = np.random.default_rng(5)
    luck = dice.normal(size=60)
    leaf, heads = 20 + 4 * luck + 0.1 * dice.normal(size=60), 9 + 0.3 * dice.normal(size=60)
    years = [
        fakes.outcome(
            i,
            {"kg_packed:leaf": (float(leaf[i]),), "kg_packed:heads": (float(heads[i]),)},
            kg_packed_per_week=float(leaf[i] + heads[i]),
            kg_handed_out_per_week=float(leaf[i] + heads[i]),
        )
        for i in range(60)
    ]
    known = {"luck": luck.tolist()}
    found = summarize(years, known)
    weights = weights_of_years(years, known, found)
    parts = [summaries.weekly_mean(years, f"kg_packed:{crop}", weights)[0] for crop in ("leaf", "heads")]

    assert math.fsum(weights) == pytest.approx(1.0)
    assert sum(parts) == pytest.approx(found["kg_packed_per_week"].mean, rel=1e-12)
    assert sum(parts) != pytest.approx(leaf.mean() + heads.mean(), rel=1e-4)
    assert weights_of_years(years, {}, found) == ()
