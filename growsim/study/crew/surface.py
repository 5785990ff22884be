"""What a sign-up would bring, learned from all that were rehearsed: a curve to look where it is worth looking.

A figure's distance above its goal in a season is taken to be

    y(n) = top - exp(a - c sum over shifts of b_i m_i(n_i)),       m_i(n) = people of n expected to get in

top is what ample hands reach; every further helper takes the same share off what is missing from it. a and c are the
season's own; what a helper on one shift is worth beside one on another, b_i, is the same all year. They are found by
least squares over all sign-ups rehearsed in any season; those that miss much by the curve, or lie many places away,
count little. Where a sign-up was rehearsed itself, curve and years are put together by their precision.

It is a guide to what to rehearse next and nothing more: no sign-up is accepted or refused by it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from growsim.study.crew.trial import Trial, variance_of
from growsim.study.rota import SignUp

NEAR = 6.0  # sign-ups so many places away from the one in question count half
NEAR_MISS = 0.03  # and so do those that miss so much of top
HELD = 1.0  # spread of the logarithms of the b_i where nothing was seen
CURVE_SPREAD = 0.012  # how far the curve is usually off (root of the mean square, near the goal)
FARTHEST = 2  # people by which a shift may change from one round to the next
SMALLEST_SPREAD = 0.002
PASSES = 2  # of least squares; the second knows what misses much by the curve rather than by luck

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Shape:
    """What is known of a season beforehand. places: people who get in besides the lead, by shift. chance: of coming.
    top: figure -> how far above its goal ample hands lie."""

    places: tuple[int, ...]
    chance: float
    top: Mapping[str, float]

    def helped(self, sign_up: SignUp) -> Array:
        """m_i of every shift."""
        return np.array([_expected_in(n, self.chance, p) for n, p in zip(sign_up, self.places, strict=True)])


@dataclass(frozen=True)
class _View:
    """What was seen of a figure in a season. helped: a row a sign-up. short: of top, on average. years: seen of each.
    far: places away, in units of NEAR. spread: from year to year."""

    sign_ups: tuple[SignUp, ...]
    helped: Array
    short: Array
    years: Array
    far: Array
    spread: float


def _expected_in(people: int, chance: float, places: int) -> float:
    """Mean of the smaller of those who come and the places there are (binomial)."""
    mean = 0.0
    for came in range(people + 1):
        mean += min(came, places) * math.comb(people, came) * chance**came * (1.0 - chance) ** (people - came)
    return mean


class Surfaces:
    """The curves of all seasons. known: their trials, as they stand whenever a curve is asked for."""

    def __init__(self, shapes: Sequence[Shape], known: Sequence[Mapping[SignUp, Trial]]) -> None:
        self._shapes, self._known = shapes, known
        self._near: dict[int, SignUp] = {}

    def of(self, season: int, near: SignUp) -> Callable[[SignUp], float]:
        """What a season's sign-ups near one would bring: the scarcest figure's distance above its goal."""
        return self._above(season, near, with_years=True)

    def curve_alone(self, season: int, near: SignUp) -> Callable[[SignUp], float]:
        """The same by the curve alone, without the years of the sign-up asked for: says what a step brings.

        Beside a sign-up that did worse than the curve, its neighbors would look better than they are by the curve, and
        a step to one of them like a leap.
        """
        return self._above(season, near, with_years=False)

    def _above(self, season: int, near: SignUp, *, with_years: bool) -> Callable[[SignUp], float]:
        self._near[season] = near
        shape = self._shapes[season]
        curves = {key: self._curve(key, season, with_years=with_years) for key in shape.top}

        def above(sign_up: SignUp) -> float:
            helped = shape.helped(sign_up)
            return min((top - curves[key](sign_up, helped) for key, top in shape.top.items()), default=1.0)

        return above

    def _curve(self, key: str, asked: int, *, with_years: bool) -> Callable[[SignUp, Array], float]:
        """How much of top a sign-up misses, by the curve and, if wanted, by the years it was rehearsed in."""
        seasons = [season for season, shape in enumerate(self._shapes) if key in shape.top]
        views = [self._view(season, key) for season in seasons]
        fits = _fitted(views, len(self._shapes[asked].places))
        place = seasons.index(asked)
        (a, worth), view = fits[place], views[place]
        seen = {each: number for number, each in enumerate(view.sign_ups)} if with_years else {}

        def missing(sign_up: SignUp, helped: Array) -> float:
            by_curve = float(_gaps(a, worth, helped))
            number = seen.get(sign_up)
            if number is None:
                return by_curve
            curve, years = 1.0 / CURVE_SPREAD**2, float(view.years[number]) / view.spread**2
            return (curve * by_curve + years * float(view.short[number])) / (curve + years)

        return missing

    def _view(self, season: int, key: str) -> _View:
        shape, near = self._shapes[season], self._near.get(season)
        found = [
            (sign_up, [year[key] for year in trial.seen.values() if key in year])
            for sign_up, trial in self._known[season].items()
        ]
        found = [(sign_up, values) for sign_up, values in found if values]
        spreads = [variance_of(values) for _, values in found if len(values) > 1]
        spread = math.sqrt(math.fsum(spreads) / len(spreads)) if spreads else SMALLEST_SPREAD
        return _View(
            tuple(sign_up for sign_up, _ in found),
            np.array([shape.helped(sign_up) for sign_up, _ in found]).reshape(len(found), len(shape.places)),
            np.array([shape.top[key] - math.fsum(values) / len(values) for _, values in found]),
            np.array([float(len(values)) for _, values in found]),
            np.array([0.0 if near is None else _apart(sign_up, near) / NEAR for sign_up, _ in found]),
            max(SMALLEST_SPREAD, spread),
        )


def _fitted(views: Sequence[_View], shifts: int) -> list[tuple[float, Array]]:
    """Of every season: a, and c times every b_i."""
    from scipy.optimize import least_squares

    own = 2 * len(views)
    found = np.concatenate([np.tile([0.0, -1.5], len(views)), np.zeros(shifts)])

    def of_season(parameters: Array, place: int) -> tuple[float, Array]:
        return float(parameters[2 * place]), np.exp(parameters[2 * place + 1] + parameters[own:])

    misses = [view.short for view in views]
    for _ in range(PASSES):
        weights = [
            np.sqrt(view.years / (1.0 + view.far**2) / (1.0 + (np.maximum(0.0, miss) / NEAR_MISS) ** 2)) / view.spread
            for view, miss in zip(views, misses, strict=True)
        ]

        def off(parameters: Array, weights: Sequence[Array] = weights) -> Array:
            parts = [
                weight * (_gaps(*of_season(parameters, place), view.helped) - view.short)
                for place, (view, weight) in enumerate(zip(views, weights, strict=True))
            ]
            return np.concatenate([parameters[own:] / HELD, *parts])

        found = np.asarray(least_squares(off, found, max_nfev=200).x, dtype=float)
        misses = [_gaps(*of_season(found, place), view.helped) for place, view in enumerate(views)]
    return [of_season(found, place) for place in range(len(views))]


def _gaps(a: float, worth: Array, helped: Array) -> Array:
    return np.asarray(np.exp(np.clip(a - helped @ worth, -50.0, 3.0)))


def _apart(one: SignUp, other: SignUp) -> float:
    return float(sum(abs(a - b) for a, b in zip(one, other, strict=True)))


def smallest_likely(
    start: SignUp,
    least: SignUp,
    most: SignUp,
    above: Callable[[SignUp], float],
    allowed: Callable[[SignUp], bool],
    wanted: float,
) -> SignUp:
    """From `start`, the smallest sign-up near it that the curve puts `wanted` above the goals, of those allowed.

    One person more where it helps most until it is enough; one fewer where it matters least as long as it is; then two
    fewer and one more elsewhere. No shift moves farther than FARTHEST from where it started.
    """
    lowest = tuple(max(low, n - FARTHEST) for low, n in zip(least, start, strict=True))
    highest = tuple(min(high, n + FARTHEST) for high, n in zip(most, start, strict=True))

    def enough(sign_up: SignUp) -> bool:
        return _within(sign_up, lowest, highest) and allowed(sign_up) and above(sign_up) >= wanted

    now = start
    while not enough(now):
        more = [each for each in _steps(now, 1) if _within(each, lowest, highest)]
        if not more:
            return now
        now = max(more, key=lambda each: (above(each), each))
    while True:
        fewer = [each for each in _steps(now, -1) if enough(each)] or [each for each in shifted(now) if enough(each)]
        if not fewer:
            return now
        now = max(fewer, key=lambda each: (above(each), each))


def shifted(sign_up: SignUp) -> list[SignUp]:
    """Two people fewer and one more on another shift."""
    shifts = range(len(sign_up))
    found = []
    for i, j, k in product(shifts, repeat=3):
        if i <= j and k not in (i, j):
            people = list(sign_up)
            people[i] -= 1
            people[j] -= 1
            people[k] += 1
            found.append(tuple(people))
    return found


def _steps(sign_up: SignUp, by: int) -> list[SignUp]:
    return [tuple(n + by * (i == at) for i, n in enumerate(sign_up)) for at in range(len(sign_up))]


def _within(sign_up: SignUp, least: SignUp, most: SignUp) -> bool:
    return all(low <= n <= high for low, n, high in zip(least, sign_up, most, strict=True))
