"""What records teach, by pencil: closed forms of the conjugate families, and sums that fit on a slip of paper.

Gelman et al. 2013, Bayesian Data Analysis, 3rd ed.: sections 2.6 (gamma and exponential), 3.3 (normal with unknown mean
and variance); Johnson, Kemp & Kotz 2005, section 6.2 (beta-binomial); all from memory.
"""

from __future__ import annotations

import datetime as dt
import math
from types import SimpleNamespace
from typing import Any

import pytest
from scipy import stats

from growsim.scenario.record.record import AttendanceRow, FaultRow, WorkRow
from growsim.scenario.uncertain import Uncertain
from growsim.study import job_minutes
from growsim.study.learn import machines, minutes, prior, shares

DAY = dt.date(2031, 3, 3)
NIGHT = dt.datetime(2031, 3, 3)


def crew(**figures: Any) -> Any:
    """Two shifts of four, one with a lead, of people who always come."""
    shifts = (SimpleNamespace(lead=True, people=4), SimpleNamespace(lead=False, people=4))
    usual = {"chance_of_coming": (0.5,) * 12, "stay_weeks": 8.0, "shifts_to_learn": 4.0, "beginner_pace": 0.5,
             "shifts": shifts, "piece_minutes": 30.0}  # fmt: skip
    return SimpleNamespace(**(usual | figures))


def work(units: float, people: float, taken: float) -> WorkRow:
    """A piece of work."""
    return WorkRow("work.csv", 2, DAY, "sow", units, people, taken)


def came(*numbers: int) -> list[AttendanceRow]:
    """So many came to each shift."""
    return [AttendanceRow("attendance.csv", n, DAY, "", 9, each) for n, each in enumerate(numbers, 2)]


def test_who_works_and_how_much_longer_they_take() -> None:
    """They stay 8 weeks x 0.5, four shifts, as many as it takes to learn: the sum of 0.5^k / (1 + k) is 2 ln 2. Two and
    four came, and half a lead a shift: three of 3.5 are volunteers. Nobody written down: 0.5 x 4 of 2.5."""
    seen, expected = job_minutes.hands_of(crew(), came(2, 4)), job_minutes.hands_of(crew(), [])

    assert seen.volunteers == pytest.approx(3 / 3.5)
    assert seen.longer == pytest.approx((3 * 2 * math.log(2) + 0.5) / 3.5)
    assert expected.volunteers == pytest.approx(2 / 2.5)
    assert expected.longer == pytest.approx((2 * 2 * math.log(2) + 0.5) / 2.5)
    assert job_minutes.hands_of(crew(shifts=()), []) == job_minutes.Hands(pytest.approx(2 * math.log(2)), 1.0)
    assert job_minutes.hands_of(crew(beginner_pace=1.0), []).longer == pytest.approx(1.0)


def test_minutes_at_a_practiced_pace() -> None:
    """2 people for 40 minutes are 80, three pieces of at most 30: (80 - 0.5 x 3 x 0.8) / 1.25 - 0.5 = 62.54; and half a
    minute is the least that anything takes."""
    hands = job_minutes.Hands(1.25, 0.8)

    assert job_minutes.practiced_minutes(work(100, 2, 40), 30, hands) == pytest.approx(62.54)
    assert job_minutes.practiced_minutes(work(1, 1, 1), 30, hands) == 0.5
    task = SimpleNamespace(fixed_minutes=Uncertain(value=5), minutes_per_unit=Uncertain(value=0.5))
    assert job_minutes.planned_minutes(work(100, 2, 40), task) == 55  # type: ignore[arg-type]
    found = job_minutes.log_ratio(work(100, 2, 40), task, crew(), hands)  # type: ignore[arg-type]
    assert found == pytest.approx(math.log(62.54 / 55))


def test_the_normal_with_unknown_mean_and_variance() -> None:
    """Prior mean 0 that counts for two records and spread 0.3 that counts for four; records 0.2, 0.4 and 0.6.

    Mean (2 x 0 + 3 x 0.4) / 5 = 0.24; squares 4 x 0.09 + 0.08 + 2 x 3 / 5 x 0.16 = 0.632 over 4 + 3.
    """
    found = minutes.learn_log_mean([0.2, 0.4, 0.6], 0.0, 0.3)

    assert found.mean == pytest.approx(0.24)
    assert found.freedom == 7
    assert found.spread == pytest.approx(math.sqrt(0.632 / 7))
    assert found.sd == pytest.approx(found.spread / math.sqrt(5))
    assert (found.before_mean, found.before_sd) == (0.0, pytest.approx(0.3 / math.sqrt(2)))
    known = found.known(10.0)
    middle = 10 * math.exp(0.24 + found.spread**2 / 2)
    assert known.middle == pytest.approx(middle)
    assert known.high == pytest.approx(middle * math.exp(found.sd * float(stats.t.ppf(0.9, 7))))
    assert known.q025 == pytest.approx(middle * math.exp(found.sd * float(stats.t.ppf(0.025, 7))))
    nothing = minutes.learn_log_mean([], 0.1, 0.3)
    assert (nothing.mean, nothing.spread, nothing.freedom) == (0.1, pytest.approx(0.3), 4)


def fault(down: float, repaired: float | None, where: str = "a") -> FaultRow:
    """A pump down after so many hours, repaired after so many."""
    at = NIGHT + dt.timedelta(hours=down)
    return FaultRow(
        "faults.csv", 2, "pump", where, at, None, None if repaired is None else NIGHT + dt.timedelta(hours=repaired)
    )


def machine(count: int = 1, share: float = 1.0) -> Any:
    """Pumps of a reservoir called a."""
    return SimpleNamespace(kind="pump", where="a", count=count, share=share)


def test_spells_of_work() -> None:
    """100 h, down for 10, 90 h more, down and never repaired; others' faults are theirs. Running a tenth of the day
    makes a tenth of the hours; two pumps take the failures in turn."""
    begin, end = NIGHT, NIGHT + dt.timedelta(hours=300)
    faults = [fault(200, None), fault(100, 110), fault(50, 60, where="b")]

    assert machines.spells(machine(), faults, begin, end) == [(100, True), (90, True), (100, False)]
    assert machines.spells(machine(share=0.1), faults, begin, end) == [
        (pytest.approx(10), True), (pytest.approx(9), True), (pytest.approx(10), False),
    ]  # fmt: skip
    assert machines.spells(machine(count=2), faults, begin, end) == [
        (100, True), (190, False), (200, True), (100, False),
    ]  # fmt: skip


def test_gamma_and_exponential() -> None:
    """Rate gamma(2, b) with b so that the middle of the mean life is the room file's 1,000 h; three failures in 900 h
    make gamma(5, b + 900): the mean life's quantiles are those of its inverse."""
    found = machines.learn_life([(400.0, True), (300.0, True), (150.0, True), (50.0, False)], 1000.0, 1.0)
    b = 1000 * float(stats.gamma.median(2))

    assert (found.failures, found.running_hours) == (3, 900)
    assert found.before.middle == pytest.approx(1000)
    assert found.after.middle == pytest.approx((b + 900) / float(stats.gamma.median(5)))
    assert found.after.high == pytest.approx((b + 900) / float(stats.gamma.ppf(0.1, 5)))
    assert found.after.q025 == pytest.approx((b + 900) / float(stats.gamma.ppf(0.975, 5)))
    squared = machines.learn_life([(10.0, True)], 100.0, 2.0)  # a Weibull life: exponential in its square
    scale = math.gamma(1.5)
    b = float(stats.gamma.median(2)) * (100 / scale) ** 2
    assert squared.after.middle == pytest.approx(scale * math.sqrt((b + 100) / float(stats.gamma.median(3))))


def test_the_shape_of_a_life() -> None:
    """Exponential 1; a Weibull its own; normal with sd half its mean that of a Weibull of the same (2.1013)."""

    def shape(**life: Any) -> float | None:
        return machines.weibull_shape(SimpleNamespace(running_hours_to_failure=Uncertain(**life)))  # type: ignore[arg-type]

    assert shape(distribution="exponential", mean=900) == 1.0
    assert shape(distribution="weibull", mean=900, shape=2.5) == 2.5
    assert shape(value=900) is None
    assert shape(distribution="normal", mean=900, sd=450) == pytest.approx(2.1013, abs=1e-3)


@pytest.mark.parametrize(
    ("figure", "mean", "sd"),
    [
        ({"value": 7.0}, 7.0, 0.0),
        ({"low": 1.0, "likely": 2.0, "high": 6.0}, 3.0, math.sqrt((1 + 4 + 36 - 2 - 6 - 12) / 18)),
        ({"distribution": "uniform", "low": 1.0, "high": 7.0}, 4.0, math.sqrt(3)),
        ({"distribution": "exponential", "mean": 5.0}, 5.0, 5.0),
        ({"distribution": "weibull", "mean": 5.0, "shape": 2.0}, 5.0, 5.0 * math.sqrt(4 / math.pi - 1)),
        ({"distribution": "normal", "mean": 5.0, "sd": 0.5}, 5.0, 0.5),
    ],
)
def test_mean_and_spread_of_a_figure(figure: dict[str, Any], mean: float, sd: float) -> None:
    """Triangle, uniform, exponential, Weibull (sections 8 to 36 of Evans, Hastings & Peacock, from memory)."""
    assert job_minutes.moments(Uncertain(**figure)) == (pytest.approx(mean), pytest.approx(sd))


def test_how_many_records_a_room_file_counts_for() -> None:
    """A bare number: (spread of a record / its doubt)². A range: half as wide again; two records at most."""
    bare = prior.prior_of(Uncertain(value=100.0), 20.0, 10.0)
    wide = prior.prior_of(Uncertain(low=40.0, likely=100.0, high=160.0), 20.0, 10.0)
    narrow = prior.prior_of(Uncertain(low=99.0, likely=100.0, high=101.0), 20.0, 10.0)

    assert (bare.mean, bare.sd, bare.weight) == (100.0, 10.0, pytest.approx(4.0))
    assert wide.sd == pytest.approx(1.5 * 60 / math.sqrt(6))
    assert wide.weight == pytest.approx((20 / wide.sd) ** 2)
    assert narrow.weight == pytest.approx(2.0)
    halved = prior.prior_of(Uncertain(value=100.0), 0.2, 0.1, center=50.0)
    assert (halved.mean, halved.sd) == (2.0, 0.1)


def test_beta_binomial() -> None:
    """With next to no spread between sowings it is the plain beta: prior 0.9 ± 0.03 is beta(89.1, 9.9), and 140 of 200
    more make beta(229.1, 69.9), mean 0.766. A share thinned by warmth to half counts so; two seeds a cell fill more."""
    size = 0.9 * 0.1 / 0.03**2 - 1
    a, b = 0.9 * size, 0.1 * size
    known = shares.learn_share([shares.Hits(100, 70), shares.Hits(100, 70)], prior.Prior(0.9, 0.03, 2.0), 1e-9).mean
    plain = (a + 140) / (a + b + 200)

    assert known.mean == pytest.approx(plain, abs=0.01)
    assert known.sd == pytest.approx(math.sqrt(plain * (1 - plain) / (a + b + 201)), rel=0.2)
    vague = prior.Prior(0.5, 0.25, 0.1)
    halved = shares.learn_share([shares.Hits(400, 160)] * 4, vague, 0.02, relative=0.5).mean
    assert halved.mean == pytest.approx(0.8, abs=0.03)
    pairs = shares.learn_share([shares.Hits(400, 300, tries=2)] * 4, vague, 0.02).mean
    assert pairs.mean == pytest.approx(0.5, abs=0.03)  # 1 - 0.5² of the cells hold a seedling
