"""What plants, sowings and harvests waited for, as the rehearsed years wrote it down: by obstacle, in kilograms; and
what partners lack, which that may explain or not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from growsim.ledger.outcome import Outcome
from growsim.ledger.tallies import LATE, SKIPPED
from growsim.run.intervals import mean_interval
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.names import ANY_CROP
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.obstacles import is_of_closing

NEARLY: Final = 0.9  # of what is usual


@dataclass(frozen=True)
class Share:
    """A part of a cause. what: the key of a loss, or SKIPPED. count: plants or cells a rehearsal, on average."""

    crop: str
    what: str
    count: float
    kg: float


@dataclass(frozen=True)
class Cause:
    """All that waited for one obstacle, or for several together. kg: what it would have weighed, a rehearsal, with
    every later loss left out. shares: heaviest first. days_late: plants times days, of what came late and was not lost.
    """

    held_up: str
    kg: float
    shares: tuple[Share, ...]
    days_late: float

    @property
    def is_of_closing(self) -> bool:
        """Whether a closing has a part in it: told apart, for a planner moves sowings, not holidays."""
        return is_of_closing(self.held_up)


def causes_of(outcomes: Sequence[Outcome], scenario: Scenario) -> tuple[Cause, ...]:
    """Every cause that was met, the heaviest first; of equals that which made more come late."""
    crops, years = on_paper.crops_by_name(scenario), max(1, len(outcomes))
    counts: dict[str, dict[tuple[str, str], float]] = {}
    for outcome in outcomes:
        for (crop, what, held_up), count in outcome.held_up.items():
            of_cause = counts.setdefault(held_up, {})
            of_cause[crop, what] = of_cause.get((crop, what), 0.0) + count / years
    found = [_cause(held_up, of_cause, crops, scenario) for held_up, of_cause in counts.items()]
    return tuple(sorted(found, key=lambda cause: (-cause.kg, -cause.days_late, cause.held_up)))


def _cause(held_up: str, counts: dict[tuple[str, str], float], crops: dict[str, Crop], scenario: Scenario) -> Cause:
    shares = [
        Share(crop, what, count, _kg(crops[crop], what, count, scenario))
        for (crop, what), count in counts.items()
        if what != LATE
    ]
    shares.sort(key=lambda share: (-share.kg, share.crop, share.what))
    late = math.fsum(count for (_, what), count in counts.items() if what == LATE)
    return Cause(held_up, math.fsum(share.kg for share in shares), tuple(shares), late)


def _kg(crop: Crop, what: str, count: float, scenario: Scenario) -> float:
    """What so many plants, or the plants of so many cells, would have weighed over all their harvests."""
    if what == SKIPPED:
        count = on_paper.plants_harvested(crop, count, scenario.climate.air_temperature_c)
    return on_paper.kg_of_plants(crop, count)


@dataclass(frozen=True)
class Lacking:
    """What partners lack of a crop (or of ANY_CROP), kilograms a rehearsal, in its whole weeks. uneven: as much of what
    is missing as was packed beyond what they got, in other weeks of the same year."""

    crop: str
    ordered: float
    missing: float
    uneven: float

    def lost_over(self, causes: Sequence[Cause]) -> float:
        """As much of what is missing as was lost over these causes."""
        shares = [share for cause in causes for share in cause.shares]
        return min(self.missing, math.fsum(share.kg for share in shares if self.crop in (share.crop, ANY_CROP)))


def lacking_of(outcomes: Sequence[Outcome]) -> tuple[Lacking, ...]:
    """Every crop that is ordered, the one first of which most is missing."""
    start, years = "kg_ordered_of:", max(1, len(outcomes))
    found = []
    for crop in sorted({name.removeprefix(start) for outcome in outcomes for name in outcome.weeks if start in name}):
        packed_as = "kg_packed" if crop == ANY_CROP else f"kg_packed:{crop}"
        ordered = missing = uneven = 0.0
        for outcome in outcomes:
            asked, given, packed, all_packed, all_given = (
                math.fsum(outcome.weeks.get(name, ()))
                for name in (f"{start}{crop}", f"kg_given_of:{crop}", packed_as, "kg_packed", "kg_to_partners")
            )
            ordered += asked / years
            missing += (asked - given) / years
            uneven += max(0.0, min(asked - given, packed - given, all_packed - all_given)) / years
        found.append(Lacking(crop, ordered, missing, uneven))
    return tuple(sorted(found, key=lambda each: (-each.missing, each.crop)))


@dataclass(frozen=True)
class AtFirst:
    """The weeks in which bare shelves fill, and what partners lack in them, kilograms a rehearsal."""

    weeks: int
    missing: float


def missing_at_first(outcomes: Sequence[Outcome]) -> AtFirst:
    """What is missing before the first week whose orders are filled nearly as well as those of the second half."""

    def a_week(name: str) -> list[float]:
        return [math.fsum(kg) / len(outcomes) for kg in zip(*(lived.weeks[name] for lived in outcomes), strict=True)]

    asked, given = a_week("kg_ordered"), a_week("kg_to_partners")
    half = len(asked) // 2
    usual = math.fsum(given[half:]) / (math.fsum(asked[half:]) or 1.0)
    weeks = next((week for week in range(half) if asked[week] and given[week] >= NEARLY * usual * asked[week]), half)
    return AtFirst(weeks, math.fsum(asked[:weeks]) - math.fsum(given[:weeks]))


@dataclass(frozen=True)
class Moved:
    """What a change does to one cause: kilograms that are lost over it more than today, a rehearsal, with the range."""

    held_up: str
    kg: float
    low: float
    high: float


def moved(
    before: Sequence[Outcome], scenario: Scenario, after: Sequence[Outcome], changed: Scenario, doubt: float
) -> tuple[Moved, ...]:
    """Causes over which a change loses more or less for certain, in the same years, the largest first.

    doubt: of all these ranges together.
    """
    years = [
        [{cause.held_up: cause.kg for cause in causes_of([outcome], room)} for outcome in outcomes]
        for outcomes, room in ((before, scenario), (after, changed))
    ]
    held_up = sorted({key for lived in years for year in lived for key in year})
    found = []
    for key in held_up:
        less, more = ([year.get(key, 0.0) for year in lived] for lived in years)
        differences = [now - then for then, now in zip(less, more, strict=True)]
        mean, low, high = mean_interval(differences, 1.0 - doubt / len(held_up))
        if low is not None and high is not None and (low > 0 or high < 0):
            found.append(Moved(key, mean, low, high))
    return tuple(sorted(found, key=lambda each: (-abs(each.kg), each.held_up)))
