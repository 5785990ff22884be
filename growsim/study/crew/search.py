"""The sign-up that is easiest to recruit, found with few crews: of every size first, then near the answer, then whole.

Crews of the same size all year are rehearsed from the fewest people to ample, a few years each; more years go to
those around the answer. The answer itself lives through the same years, and what it lies off the curves is taken off.
Last, one person less on each shift: who can be spared is not asked for. How far the answer would move with other luck
is found by drawing the years again (bootstrap: B. Efron, Annals of Statistics 7, 1979).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from growsim.chance.streams import Luck
from growsim.ledger.outcome import Outcome
from growsim.run.progress import tell_so_far
from growsim.study.crew.curves import Curves, Sizes, curves_of
from growsim.study.crew.easiest import Ask, easiest
from growsim.study.crew.goals import ORDERS, values_in
from growsim.study.crew.years import Years
from growsim.study.rota import Rota, Season, SignUp

FEW, MANY = 8, 48  # years of a crew of any size, and of those near the answer
LOOKS = (0.5, 0.8, 1.0, 1.3, 1.7, 2.3)  # sizes of crew looked at, as shares of what covers the hours on paper
WINDOWS, SETTLED = 4, 3  # times the crews near the answer are moved, and the answer set right, at most
STEP = 0.12  # between crews near the answer, of their size
SPARED = 24  # years in which one person less is tried
DRAWS = 200
LUCK = (5.0, 95.0)  # percent of the draws between which the answer is said to lie


@dataclass(frozen=True)
class Found:
    """rota: the sign-up. sizes: people a week by season that it began as. low, high: the same with other luck.

    whole: its years. less: shift -> its years with one person less there all year.
    """

    rota: Rota
    sizes: Sizes
    low: Sizes
    high: Sizes
    whole: tuple[Outcome, ...]
    less: Mapping[int, tuple[Outcome, ...]]


@dataclass
class Search:
    """ladders: by season, sign-ups one person larger at each rung, the last ample. guess: people a week that
    cover the hours on paper."""

    years: Years
    ladders: Sequence[Sequence[SignUp]]
    guess: int
    ask: Ask
    year: Season
    curves: Curves | None = None

    @property
    def ends(self) -> tuple[int, int]:
        """The fewest people a week, and an ample crew."""
        first = max(sum(ladder[0]) for ladder in self.ladders)
        return first, first + max(len(ladder) for ladder in self.ladders) - 1

    def rota(self, sizes: Sequence[int]) -> Rota:
        """The sign-up of every season, by its size; where fewer shifts are held, no more than fill them."""
        first, _ = self.ends
        return tuple(
            ladder[min(size - first, len(ladder) - 1)] for ladder, size in zip(self.ladders, sizes, strict=True)
        )

    def flat(self, size: int) -> Rota:
        """The same size all year."""
        return self.rota([size] * len(self.ladders))

    def looked(self) -> list[int]:
        """Crews of every size, an ample crew last."""
        first, last = self.ends
        return sorted({min(last, max(first, round(share * self.guess))) for share in LOOKS} | {first, last})

    def crews(self, sizes: Sequence[int], years: int) -> Curves:
        """What crews of these sizes bring in so many years."""
        lived = self.years.live([self.flat(size) for size in sizes], range(years))
        return curves_of({size: lived[self.flat(size)] for size in sizes}, self.years.seasons)

    @property
    def ample(self) -> Rota:
        """The sign-up of an ample crew."""
        return self.flat(self.ends[1])

    def found(self) -> Found:
        """Search to the end."""
        first = easiest(self.crews(self.looked(), FEW), self.ask)
        people = " to ".join(dict.fromkeys(str(size) for size in (min(first), max(first))))
        tell_so_far(f"about {people} people a week ({FEW} years of each crew)")
        self.curves = self._near(first)
        sizes = self.settled()
        return self._told(self.spared(self.rota(sizes)), sizes)

    def with_more(self, found: Found) -> Found:
        """One person more, in the season where that is easiest; the same where nobody more is of use."""
        _, last = self.ends
        steps = [season for season, size in enumerate(found.sizes) if size < last]
        if not steps:
            return found
        where = min(steps, key=lambda season: ((found.sizes[season] + 1) * self.ask.hard[season], season))
        sizes = tuple(size + (season == where) for season, size in enumerate(found.sizes))
        return self._told(self.rota(sizes), sizes)

    def _told(self, rota: Rota, sizes: Sizes) -> Found:
        low, high = self.luck()
        return replace(self.told_of(rota, self.flat(self.ends[0]), sizes), low=low, high=high)

    def told_of(self, rota: Rota, least: Rota, sizes: Sizes) -> Found:
        """A sign-up that other luck does not change, its years and those with one person less on each shift."""
        whole = self.years.live([rota], range(MANY))[rota]
        less = _one_less(rota, least)
        lived = self.years.live(list(less.values()), range(SPARED))
        return Found(
            rota, sizes, sizes, sizes, tuple(whole), {shift: tuple(lived[fewer]) for shift, fewer in less.items()}
        )

    def _near(self, rough: Sizes) -> Curves:
        """Crews close to each other around the answer, and more as long as it lies outside."""
        first, last = self.ends
        near: set[int] = set()
        for _ in range(WINDOWS):
            step = max(1, round(STEP * float(np.mean(rough))))
            low, high = max(first, min(rough) - step), min(last, max(rough) + step)
            near |= {*range(low, high, step), high}
            curves = self.crews(sorted(near | {last}), MANY)
            rough = easiest(curves, self.ask)
            if (min(rough) > min(near) or min(near) == first) and max(rough) <= max(near):
                break
        return curves

    def settled(self) -> Sizes:
        """The answer, once it brings what the curves said it would: what it is off is taken off them."""
        assert self.curves is not None
        sizes = easiest(self.curves, self.ask)
        for _ in range(SETTLED):
            self.known_off(sizes, self.years.live([self.rota(sizes)], range(MANY))[self.rota(sizes)])
            again = easiest(self.curves, self.ask)
            if again == sizes:
                break
            sizes = again
        return sizes

    def known_off(self, sizes: Sizes, lived: Sequence[Outcome]) -> None:
        """These years with an answer say how far it lies above the curves."""
        assert self.curves is not None
        bare = replace(self.curves, off={})
        off = {key: _mean(self.year, key, lived) - bare.year(key, sizes) for key in self.ask.targets}
        self.curves = replace(bare, off=off)

    def spared(self, rota: Rota) -> Rota:
        """Without those who can be spared: the goals are met as well without one of them on some shift all year."""
        assert self.curves is not None
        trying = _one_less(rota, self.flat(self.ends[0]))
        while trying:
            lived = self.years.live([rota, *trying.values()], range(SPARED))
            enough = {
                shift: lacking
                for shift, fewer in trying.items()
                if (lacking := self._lacking(rota, lived[rota], lived[fewer])) <= 0.0
            }
            if not enough:
                break
            rota = trying[min(enough, key=lambda shift: (enough[shift], shift))]
            trying = {
                shift: fewer for shift, fewer in _one_less(rota, self.flat(self.ends[0])).items() if shift in enough
            }
        return rota

    def _lacking(self, rota: Rota, with_all: Sequence[Outcome], with_fewer: Sequence[Outcome]) -> float:
        """By how much the goals are missed with fewer people, at most; below zero where they are met. Told from many
        years with all of them, and the difference under the same luck."""
        assert self.curves is not None
        whole = self.years.live([rota], range(MANY))[rota]
        gaps = [
            target.asked_beside(self.curves.ample(key)) + self.ask.aim - _mean(self.year, key, whole)
            + _mean(self.year, key, with_all) - _mean(self.year, key, with_fewer)
            for key, target in self.ask.targets.items()
        ]  # fmt: skip
        for number, season in enumerate(self.years.seasons):
            floor = self.ask.floor(self.curves, number)
            if floor is not None:
                lost = _mean(season, ORDERS, with_all) - _mean(season, ORDERS, with_fewer)
                gaps.append(floor - _mean(season, ORDERS, whole) + lost)
        return max(gaps, default=1.0)

    def luck(self) -> tuple[Sizes, Sizes]:
        """Between which numbers of people the answer lies with other luck, by season."""
        assert self.curves is not None
        dice = Luck(self.years.seed, 0).stream("crew: years drawn again")
        drawn = [
            easiest(self.curves.drawn(np.array([int(MANY * dice.random()) for _ in range(MANY)])), self.ask)
            for _ in range(DRAWS)
        ]
        low, high = np.percentile(np.array(drawn), LUCK, axis=0, method="nearest")
        return tuple(int(n) for n in low), tuple(int(n) for n in high)


def _one_less(rota: Rota, least: Rota) -> dict[int, Rota]:
    """Shift -> the sign-up with one person less there in every season, none below the fewest."""
    found = {}
    for shift in range(len(rota[0])):
        fewer = tuple(
            tuple(max(min(n, low[shift]), n - 1) if place == shift else n for place, n in enumerate(sign_up))
            for sign_up, low in zip(rota, least, strict=True)
        )
        if fewer != rota:
            found[shift] = fewer
    return found


def _mean(season: Season, key: str, lived: Sequence[Outcome]) -> float:
    found = [values[key] for outcome in lived if key in (values := values_in(season, outcome))]
    return float(np.mean(found)) if found else 0.0
