"""Of the sign-ups that are enough, the easiest to recruit: first by the hardest season, then by all months together.

How hard a season is to fill is the people it asks for times how hard one more is to find then. A season asks for no
fewer than bring partners what its floor asks, and for no more than is as hard as the hardest season that cannot be
avoided. In between, people follow the need of each season: its hours of work over the chance that somebody comes. So
steps between months are no larger than the work asks for, and luck moves all of them together or none.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from growsim.study.crew.curves import Curves, Sizes
from growsim.study.crew.goals import ORDERS, Target, floor_of

NO_GAIN = 1e-9


@dataclass(frozen=True)
class Ask:
    """What is asked of a sign-up. targets: of the year. margin: see `goals.floor_of`. aim: how far above the goals of
    the year it is to lie, so that a proof is likely to succeed. hard: by season, of one more person. need: for
    sign-ups, by season, any unit.
    """

    targets: Mapping[str, Target]
    margin: float
    aim: float
    hard: tuple[float, ...]
    need: tuple[float, ...]

    def lacking(self, curves: Curves, sizes: Sequence[float]) -> float:
        """How far the year lies below what is aimed at, all figures together; zero where it is enough."""
        gaps = (
            target.asked_beside(curves.ample(key)) + self.aim - curves.year(key, sizes)
            for key, target in self.targets.items()
        )
        return math.fsum(max(0.0, gap) for gap in gaps)

    def floor(self, curves: Curves, season: int) -> float | None:
        """Share of the orders that a season must fill; None where nothing is ordered."""
        target, ample = self.targets.get(ORDERS), curves.ample(ORDERS, season)
        if target is None or math.isnan(ample):
            return None
        return floor_of(target, curves.ample(ORDERS), ample, self.margin)


def easiest(curves: Curves, ask: Ask) -> Sizes:
    """People a week in each season; as many as an ample crew where fewer are not enough."""
    least, most = int(curves.sizes[0]), int(curves.sizes[-1])
    seasons = range(len(ask.hard))
    floors = [_fewest(least, most, _reaches(curves, ask, season)) for season in seasons]

    def caps(bound: float) -> list[int]:
        return [min(most, int(bound / ask.hard[season] + NO_GAIN)) for season in seasons]

    def enough(bound: float) -> bool:
        within = caps(bound)
        return all(cap >= floor for cap, floor in zip(within, floors, strict=True)) and not ask.lacking(curves, within)

    bounds = sorted({people * hard for people in range(least, most + 1) for hard in ask.hard})
    top = caps(bounds[_fewest(0, len(bounds) - 1, lambda place: enough(bounds[place]))])

    def at(level: float) -> list[int]:
        asked = [math.floor(level * need + 0.5 + NO_GAIN) for need in ask.need]
        return [min(cap, max(floor, people)) for floor, people, cap in zip(floors, asked, top, strict=True)]

    levels = sorted({(people - 0.5) / need for people in range(least, most + 1) for need in ask.need})
    return tuple(at(levels[_fewest(0, len(levels) - 1, lambda place: not ask.lacking(curves, at(levels[place])))]))


def _reaches(curves: Curves, ask: Ask, season: int) -> Callable[[int], bool]:
    floor = ask.floor(curves, season)
    return lambda people: floor is None or curves.season(ORDERS, season, people) >= floor


def _fewest(least: int, most: int, enough: Callable[[int], bool]) -> int:
    """The smallest number from which on it is enough, by halving; `most` where it never is."""
    while least < most:
        middle = (least + most) // 2
        if enough(middle):
            most = middle
        else:
            least = middle + 1
    return most
