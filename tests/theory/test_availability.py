"""Machines and power against the arithmetic of reliability: share of time up, minutes of outage a year."""

from __future__ import annotations

from typing import Any

import pytest
from checks_table import PublishedChecks
from theory.formulas import availability
from theory.textbook_rooms import machine_share_down, outage_minutes_a_year

from growsim.room.machines import Machine, Mains
from growsim.scenario.people import Crew, WalkThrough
from growsim.vocabulary.days import WEEKDAYS

REPLICATIONS = 30
NOBODY = Crew(chance_of_coming=(1.0,) * 12)
ONCE_A_DAY = Crew(
    chance_of_coming=(1.0,) * 12, walk_throughs=(WalkThrough(name="walk-through", weekdays=WEEKDAYS, hour=18),)
)


@pytest.mark.parametrize(
    ("what", "reliability", "running_share", "mean_up_h", "mean_down_h", "crew"),
    [
        (
            "pure chance, alarm, spare",
            {"running_hours_to_failure": {"distribution": "exponential", "mean": 100.0}, "spares": 99,
             "repair_hours": {"distribution": "exponential", "mean": 10.0}, "alarm_minutes": 0},
            1.0, 100.0, 10.0, NOBODY,
        ),
        (
            "wear (Weibull 2.5), runs half the time",
            {"running_hours_to_failure": {"distribution": "weibull", "mean": 50.0, "shape": 2.5}, "spares": 99,
             "repair_hours": {"distribution": "lognormal", "mean": 10.0, "sd": 8.0}, "alarm_minutes": 0},
            0.5, 100.0, 10.0, NOBODY,
        ),
        (
            "no spare: two days for the part",
            {"running_hours_to_failure": {"distribution": "exponential", "mean": 1000.0}, "spares": 0,
             "delivery_days": 2.0, "repair_hours": 2.0, "alarm_minutes": 0},
            1.0, 1000.0, 50.0, NOBODY,
        ),
        (
            "no alarm: found on the day's walk-through, 12 h later on average",
            {"running_hours_to_failure": {"distribution": "exponential", "mean": 1000.0}, "spares": 99,
             "repair_hours": 2.0},
            1.0, 1000.0, 14.0, ONCE_A_DAY,
        ),
    ],
    ids=["chance", "wear", "delivery", "visit"],
)  # fmt: skip
def test_share_of_the_time_a_machine_is_down(
    published_check: PublishedChecks,
    what: str,
    reliability: dict[str, Any],
    running_share: float,
    mean_up_h: float,
    mean_down_h: float,
    crew: Crew,
) -> None:
    """1 - MTBF / (MTBF + MTTR), where MTTR counts noticing, delivery and repair; 400 failures a replication."""
    days = round(400 * (mean_up_h + mean_down_h) / 24)
    published_check.simulated(
        f"share of time down ({what})", "MTTR / (MTBF + MTTR), standard definition",
        1.0 - availability(mean_up_h, mean_down_h),
        [machine_share_down(reliability, running_share, days, i, crew) for i in range(REPLICATIONS)],
        checks=Machine, sharp=0.05,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("what", "outage_hours"),
    [
        ("outages all alike", {"distribution": "fixed", "value": 4.0}),
        ("outages of any length", {"distribution": "lognormal", "mean": 4.0, "sd": 4.0}),
    ],
    ids=["fixed", "lognormal"],
)
def test_minutes_without_power_a_year(
    published_check: PublishedChecks, what: str, outage_hours: dict[str, Any]
) -> None:
    """SAIFI x CAIDI = SAIDI (IEEE 1366): 1.4 outages of 240 min are 336 min a year.

    1.4 a year: US average of 2017 and 2022, all events (EIA).
    """
    published_check.simulated(
        f"minutes without power a year ({what})", "SAIFI × CAIDI, IEEE 1366; 1.4 a year: EIA",
        1.4 * 240.0, [outage_minutes_a_year(1.4, outage_hours, 150, i) for i in range(REPLICATIONS)], "min",
        checks=Mains, given="1.4 and 240 are the room's input", sharp=0.06,
    )  # fmt: skip
