"""Do the ranges hold what they promise on a room? The quick version of coverage_study.py, with its own tolerances.

The full study (a thousand studies) is run by command; its latest figures stand in DEVELOPERS.md.
"""

from __future__ import annotations

import math

import pytest
from theory.coverage_study import (
    BEGIN,
    DEVELOPERS,
    END,
    OTHER_SEED,
    SEED,
    false_alarms,
    lived,
    renamed,
    tiny,
    what_ranges_hold,
)

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.spec.plan import RunPlan

PLAN = RunPlan(days=28, run_in_days=42)
YEARS, SMALL, LARGE = 500, 5, 50


@pytest.fixture(scope="module")
def room() -> Prepared:
    """The tiny room."""
    return tiny()


@pytest.fixture(scope="module")
def here(room: Prepared) -> list[Outcome]:
    """Five hundred short years."""
    return lived(room, SEED, YEARS, PLAN)


def slack(percent: float, studies: int) -> float:
    """Four standard errors of a share among so many studies, in per cent."""
    return 4 * math.sqrt(percent * (100 - percent) / studies)


def test_the_range_of_the_mean_covers_it(here: list[Outcome]) -> None:
    """95 of 100 studies of five years each, within four standard errors; not all of them for every figure."""
    held = what_ranges_hold(here, SMALL, ("kg_cut_per_week", "plants_cut_per_week", "crew_hours_worked_per_week"))

    assert all(abs(one.mean_covered - 95) <= slack(95, YEARS // SMALL) for one in held)
    assert sum(one.mean_covered for one in held) / len(held) < 100


def test_the_range_of_a_week_holds_eight_in_ten_fresh_weeks(here: list[Outcome]) -> None:
    """p10 to p90 of 50 years hold 78 to 82 % of the weeks of the other studies."""
    held = what_ranges_hold(here, LARGE, ("kg_cut_per_week", "crew_hours_worked_per_week"))

    assert {one.of for one in held} == {"one week"}
    assert all(78 <= one.inside <= 82 for one in held)


@pytest.mark.parametrize("like", ["another seed", "renamed"])
def test_a_room_is_seldom_found_better_than_its_like(room: Prepared, here: list[Outcome], like: str) -> None:
    """At most 5 % of comparisons, and four standard errors, see a difference where there is none; some do."""
    there = lived(room, OTHER_SEED, YEARS, PLAN) if like == "another seed" else lived(renamed(room), SEED, YEARS, PLAN)
    alarms = false_alarms(like, here, there, SMALL)

    assert alarms.together <= 5 + slack(5, YEARS // SMALL)
    assert all(alarm <= 5 + slack(5, YEARS // SMALL) for alarm in alarms.single.values())
    assert max(alarms.single.values()) > 0
    assert here[0].measures != there[0].measures


def test_the_latest_figures_are_written_down() -> None:
    """DEVELOPERS.md has them, with date and size of the study, and they are inside their limits."""
    block = DEVELOPERS.read_text(encoding="utf-8").split(BEGIN)[1].split(END)[0]
    rows = [line.split("|")[1:-1] for line in block.splitlines() if "%" in line and not line.startswith("| figure")]
    held = [row for row in rows if len(row) == 3]
    alarms = [row for row in rows if len(row) == 5]

    assert "1,000 studies of 20 years" in block
    assert len(held) == 6
    assert len(alarms) == 2
    assert all(93 <= float(row[1].split()[0]) <= 97 and 78 <= float(row[2].split()[0]) <= 82 for row in held)
    assert all(float(cell.split()[0]) <= 6 for row in alarms for cell in row[1:])
