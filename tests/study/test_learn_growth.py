"""What the trays say of growth: the likelihood against brute integration, hours of darkness, ranges read off a grid."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, stats

from growsim.growth.pace import calibrate
from growsim.scenario.load import load_scenario
from growsim.scenario.record.record import FaultRow, PlantingRow
from growsim.scenario.scenario import Scenario
from growsim.study.learn.curve import PlanCurve, curves_by_mass
from growsim.study.learn.growth import (
    APART_LOG_SD,
    APART_SHARE,
    BEFORE_RIPE,
    LATE_CHANCES,
    LOOKS_BACK,
    NEVER,
    PACE_LOG_SD,
    ROUGHNESS,
    SPREAD_LOG_SD,
    Ripening,
    Way,
    learn_growth,
    ripening_of,
)
from growsim.study.learn.light import Dark, Lamps, dark_times
from growsim.study.learn.moves import PROMPT, WorkDays
from growsim.study.learn.pasts import Around, Pasts
from growsim.study.learn.prior import Prior, known_from

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
MONDAY = TINY.room.start_date + dt.timedelta(days=(-TINY.room.start_date.weekday()) % 7)


def seen(speed: float | None, slope: float, ripe_from: list[float]) -> Ripening:
    """A sowing made up for the test; a heavier plant needs more speed, in straight lines."""
    masses = np.array([-0.3, 0.0, 0.3])
    later = [NEVER] * (LOOKS_BACK + 2 - len(ripe_from))
    days = np.array([[*[edge + 0.2 * mass for edge in ripe_from], *later] for mass in masses])
    way = Way(1.0, days, None if speed is None else speed - masses / slope, np.full(3, ROUGHNESS / slope))
    return Ripening(PlantingRow("made up", 1, MONDAY, "leaf"), masses, (way,))


def pasts_of(scenario: Scenario, dark: Dark | None = None) -> Pasts:
    """Of the first crop of a room."""
    crop, work = scenario.crops[0], WorkDays(scenario)
    return Pasts(
        scenario, PlanCurve(scenario, crop, calibrate(crop, scenario)), Around(Lamps(scenario, dark), work, PROMPT)
    )


def brute(sowings: list[tuple[float | None, float, list[float]]], pace: float, spread: float, mass: float) -> float:
    """The likelihood of sowings by numerical integration over the speed of each (scipy.integrate.quad)."""
    sd = math.sqrt(math.log1p(math.exp(2 * spread)))
    usual, apart = (stats.norm(pace - sd**2 / 2, math.hypot(sd, more)) for more in (0.0, APART_LOG_SD))
    whole = 0.0
    for late in LATE_CHANCES:
        product = 1.0
        for speed, slope, ripe_from in sowings:
            edges = [edge + 0.2 * mass for edge in ripe_from]

            def of_speed(
                v: float,
                speed: float | None = speed,
                slope: float = slope,
                edges: list[float] = edges,
                late: float = late,
            ) -> float:
                days = sum(v >= edge for edge in edges) - 1  # harvest days it waited for hands; -1: not ripe
                chance = BEFORE_RIPE + ((1 - late) * late**days if days >= 0 else 0.0)
                log_mass = 1.0 if speed is None else stats.norm.pdf(speed * slope, mass + v * slope, ROUGHNESS)
                speeds = (1 - APART_SHARE) * usual.pdf(v) + APART_SHARE * apart.pdf(v)
                return float(speeds * chance * log_mass)

            points = [*edges, *([] if speed is None else [speed - mass / slope])]
            product *= integrate.quad(of_speed, -0.6, 0.6, points=points, limit=400, epsabs=1e-12)[0]
        whole += product
    return whole


def test_the_likelihood_is_the_integral_over_every_sowings_own_speed() -> None:
    """Ratios of posterior over prior on the grid, at points far apart, against quad."""
    sowings = [(0.02, 3.0, [-0.05, 0.06]), (-0.04, 2.5, [-0.08, 0.01]), (None, 1.0, [0.0, 0.11])]
    priors = Prior(1.0, 0.08, 1.0), Prior(1.0, 0.1, 1.0)
    after, _ = learn_growth([seen(*each) for each in sowings], priors[0], 0.05, priors[1])
    pace_sd, mass_sd = math.sqrt(math.log1p(0.08**2)), math.sqrt(math.log1p(0.1**2))

    def expected(i: int, j: int, k: int) -> float:
        pace, spread, mass = (axis[at] for axis, at in zip(after.axes, (i, j, k), strict=True))
        prior = (
            stats.norm.logpdf(pace, -(pace_sd**2) / 2, pace_sd)
            + stats.norm.logpdf(spread, math.log(0.05), SPREAD_LOG_SD)
            + stats.norm.logpdf(mass, -(mass_sd**2) / 2, mass_sd)
        )
        return math.log(brute(sowings, pace, spread, mass)) + float(prior)

    shape = after.weights.shape
    middle = tuple(n // 2 for n in shape)
    for at in ((6, 3, 8), (14, 5, 15), (9, 6, 12), (12, 2, 10)):
        found = math.log(after.weights[at]) - math.log(after.weights[middle])
        assert found == pytest.approx(expected(*at) - expected(*middle), abs=2e-3)


def test_no_sowings_leave_the_prior() -> None:
    """With nothing harvested, what is known after is what was known before."""
    after, before = learn_growth([], Prior(1.0, PACE_LOG_SD, 1.0), 0.05, Prior(1.0, 0.1, 1.0))

    assert np.array_equal(after.weights, before.weights)
    assert known_from(before.axes[1], before.marginal(1)).sd == pytest.approx(SPREAD_LOG_SD, rel=0.02)


def test_speeds_of_whole_records_come_back() -> None:
    """Sowings of known speeds, put through the room's own curves: pace, spread and mass are found again."""
    crop = TINY.crops[0]
    curves = curves_by_mass(TINY, crop)
    rows = [row_of(TINY, 0.93, number) for number in range(12)]
    sowings = [found for found in (ripening_of(curves, row, pasts_of(TINY)) for row in rows) if found is not None]
    after, _ = learn_growth(sowings, Prior(1.0, 0.08, 1.0), crop.days_spread_cv, Prior(1.0, 0.1, 1.0))
    pace, mass = (known_from(np.exp(after.axes[i]), after.marginal(i)) for i in (0, 2))

    assert len(sowings) == 12
    assert pace.q025 < 0.93 < pace.q975
    assert mass.q025 < 1.0 < mass.q975
    assert pace.width < 0.06


def row_of(scenario: Scenario, speed: float, number: int) -> PlantingRow:
    """A sowing of that speed, harvested on the first harvest day on which it is ripe, as the curve has it."""
    crop = scenario.crops[0]
    curve, pasts = PlanCurve(scenario, crop, calibrate(crop, scenario)), pasts_of(scenario)
    speeds = np.array([speed * (1 + 0.04 * math.sin(3 * number))])
    sown = MONDAY + dt.timedelta(days=7 * number)
    moved = sown + dt.timedelta(days=crop.stages[0].days)
    day = moved
    while True:
        day += dt.timedelta(days=1)
        growing = pasts.growing_days(sown, [moved], dt.datetime.combine(day, dt.time()))
        is_ripe = curve.relative_mass(speeds, growing)[0] >= crop.harvest_from_mass_fraction
        if day in pasts.work.harvest_days(day, 1) and is_ripe:
            break
    at_cut = pasts.growing_days(sown, [moved], pasts.work.at_work(day))
    grams = 1000 * float(curve.relative_mass(speeds, at_cut)[0]) * crop.typical_mass_g.expected()
    return PlantingRow(
        "made up", number, sown, crop.name, transplanted=moved, harvested=day, plants_harvested=1000,
        grams=grams * (1 - crop.trimmed_fraction),
    )  # fmt: skip


def fault(machine: str, down: dt.datetime, hours: float | None, where: str = "lights") -> FaultRow:
    """A row of the table of faults."""
    back = None if hours is None else down + dt.timedelta(hours=hours)
    return FaultRow("made up", 1, machine, where, down, back, back)


def test_recorded_darkness_is_no_time_to_grow() -> None:
    """Two dark days are two days of light less; other machines, rows without an end and doubles change nothing."""
    begin = dt.datetime.combine(MONDAY + dt.timedelta(days=20), dt.time())
    faults = [
        fault("lights", begin, 48.0),
        fault("lights", begin + dt.timedelta(hours=6), 12.0),  # the same outage written down twice
        fault("pump", begin + dt.timedelta(days=3), 24.0, ""),
        fault("lights", begin + dt.timedelta(days=5), None),
    ]
    bright, dark = Lamps(TINY), Lamps(TINY, dark_times(faults, ["lights"]))
    week = begin - dt.timedelta(days=1), begin + dt.timedelta(days=6)

    assert bright.lit_days("lights", *week) == pytest.approx(7.0)
    assert dark.lit_days("lights", *week) == pytest.approx(5.0)
    assert dark.lit_days("lights", begin, begin + dt.timedelta(hours=48)) == 0.0


def test_without_mains_every_lamp_is_dark() -> None:
    """A recorded power outage darkens all banks, once where a bank was out already."""
    cut = dt.datetime.combine(MONDAY, dt.time(6))
    dark = dark_times(
        [fault("lights", cut, 4.0, "one"), fault("power", cut, 10.0, ""), fault("pump", cut, 9.0)], ["one", "two"]
    )

    hours = {bank: sum((back - down).total_seconds() / 3600 for down, back in times) for bank, times in dark.items()}

    assert hours == {"one": 10.0, "two": 10.0}


def test_a_crop_is_not_called_slow_for_lights_that_were_out() -> None:
    """The same trays, with and without a record of dark days: told of them, the crop is taken to be faster."""
    crop = TINY.crops[0]
    rows = [row_of(TINY, 0.9, number) for number in range(10)]
    dark = dark_times(
        [
            fault("lights", dt.datetime.combine(row.sown + dt.timedelta(days=16), dt.time()), 36.0)
            for row in rows
        ],
        ["lights"],
    )  # fmt: skip
    paces = []
    curves = curves_by_mass(TINY, crop)
    for pasts in (pasts_of(TINY), pasts_of(TINY, dark)):
        sowings = [found for found in (ripening_of(curves, row, pasts) for row in rows) if found is not None]
        after, _ = learn_growth(sowings, Prior(1.0, 0.08, 1.0), crop.days_spread_cv, Prior(1.0, 0.1, 1.0))
        paces.append(math.exp(after.mean(0)))

    assert paces[1] > 1.03 * paces[0]


@pytest.mark.parametrize("points", [9, 15, 41])
@pytest.mark.parametrize("falling", [False, True])
def test_ranges_do_not_widen_on_a_coarse_grid(points: int, falling: bool) -> None:
    """A normal distribution on a grid as coarse as 1.1 standard deviations (scipy.stats.norm)."""
    values = np.linspace(-4.5, 4.5, points)
    found = known_from(-values if falling else values, stats.norm.pdf(values))

    for got, p in ((found.q025, 0.025), (found.low, 0.1), (found.middle, 0.5), (found.high, 0.9), (found.q975, 0.975)):
        assert got == pytest.approx(stats.norm.ppf(p), abs=0.04)
    assert found.sd == pytest.approx(1.0, abs=0.02)
