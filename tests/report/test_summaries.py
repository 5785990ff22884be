"""Many replications brought down to what a picture shows."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import numpy as np
import pytest

from growsim.ledger.outcome import Outcome
from growsim.report import summaries


def outcome(replication: int, kilograms: float, weeks: tuple[float, ...] = ()) -> Outcome:
    """An outcome with an output and nothing else."""
    return Outcome(replication, {"kg_packed_per_week": kilograms}, {"kg_packed": weeks}, {}, {})


def test_every_week_belongs_to_one_month(made_up: ModuleType) -> None:
    """Months share out the weeks, none twice, none left over."""
    months = summaries.months(made_up.tiny_room(), 60)

    assert sorted(week for month in months for week in month.weeks) == list(range(60))


def test_a_week_belongs_to_the_month_its_fourth_day_falls_in(made_up: ModuleType) -> None:
    """The tiny room starts on Monday 6 January 2031: the week from 27 January has its Thursday on the 30th."""
    months = summaries.months(made_up.tiny_room(), 8)

    assert [(month.label, month.weeks) for month in months] == [("Jan 2031", (0, 1, 2, 3)), ("Feb 2031", (4, 5, 6, 7))]


def test_the_band_is_the_middle_eight_in_ten() -> None:
    """Of 0, 1, ... 10 the tenth, fiftieth and ninetieth percentile are 1, 5 and 9 (definition)."""
    band = summaries.band([outcome(i, 0, (float(i),)) for i in range(11)], "kg_packed")

    assert (band.low[0], band.median[0], band.high[0], band.mean[0]) == (1.0, 5.0, 9.0, 5.0)


def test_what_never_happened_in_a_replication_counts_as_nought() -> None:
    """A replication without a series of late tasks had none."""
    with_it = Outcome(0, {}, {"kg_packed": (1.0, 1.0), "late:wash": (4.0, 2.0)}, {}, {})
    without = Outcome(1, {}, {"kg_packed": (1.0, 1.0)}, {}, {})

    assert list(summaries.weekly_mean([with_it, without], "late:wash")) == [2.0, 1.0]


@pytest.mark.parametrize(("kilograms", "typical"), [((5, 1, 3), 2), ((4, 1, 3, 2), 3), ((7,), 0)])
def test_the_typical_replication_has_the_middle_output(kilograms: tuple[float, ...], typical: int) -> None:
    """The median, the lower one of two."""
    outcomes = [outcome(i, value) for i, value in enumerate(kilograms)]

    assert summaries.typical(outcomes).replication == typical


def test_fates_add_up_to_the_seeds_sown(rehearsed: Any) -> None:
    """Conservation: what became of the seeds is all the seeds."""
    fates = summaries.all_crops(summaries.fate_means(rehearsed.outcomes))
    sown = np.mean([outcome.measures["seeds_sown"] for outcome in rehearsed.outcomes])

    assert sum(fates.values()) == pytest.approx(sown)


def test_slots_are_counted_where_a_stage_may_stand(made_up: ModuleType) -> None:
    """The tiny room: four slots for seedlings, twelve for heads, sixteen for leaf (by hand from its file)."""
    room = made_up.tiny_room()

    assert [summaries.slots_for(room, "rack", stage) for stage in ("seedling", "head", "leaf")] == [4, 12, 16]


def test_a_rack_holds_what_its_stages_hold(rehearsed: Any) -> None:
    """Slots in use on a rack are the sum over its stages."""
    used = summaries.slots_used(rehearsed.outcomes, rehearsed.scenario)
    total, slots = summaries.racks_used(used, rehearsed.scenario)["rack"]

    assert slots == 16
    assert total == pytest.approx(sum(used.values()))


@pytest.mark.parametrize(
    ("days", "last"), [(1, "2031-01-06"), (3, "2031-01-08"), (91, "2031-04-06"), (364, "2032-01-04")]
)
def test_the_last_counted_day_is_counted(days: int, last: str, made_up: ModuleType) -> None:
    """From Monday 6 January 2031 by the calendar: 13 weeks end on a Sunday."""
    assert summaries.last_day(made_up.tiny_room(), days).isoformat() == last
